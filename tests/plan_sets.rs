//! Sets of several kinds: blocks, maximal starts, shifts within reps; why a set does not fit and what would.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::hillwright;

const LOOP: &str = "sample-routes/big-loop.gpx --rider sample-routes/rider.toml";

fn document(arguments: &str, status: i32) -> Value {
    let run = hillwright()
        .arg("plan")
        .args(arguments.split_whitespace())
        .args(["--format", "json"])
        .assert()
        .code(status);
    serde_json::from_slice(&run.get_output().stdout).unwrap()
}

fn text(arguments: &str, status: i32) -> String {
    let run = hillwright()
        .arg("plan")
        .args(arguments.split_whitespace())
        .assert()
        .code(status);
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn reps(document: &Value) -> Vec<Value> {
    document["routes"][0]["reps"].as_array().unwrap().clone()
}

fn number(value: &Value, name: &str) -> f64 {
    value[name].as_f64().unwrap()
}

#[test]
fn blocks_follow_one_another_each_with_its_own_bands_and_rests() {
    let plan = document(
        &format!("{LOOP} --set tests/support/starts-reps-starts.toml"),
        0,
    );
    let reps = reps(&plan);
    let blocks: Vec<u64> = reps.iter().map(|r| r["block"].as_u64().unwrap()).collect();
    assert_eq!(blocks, [1, 1, 1, 1, 1, 2, 2, 2, 3, 3, 4, 4, 4, 4, 4]);
    assert!(
        reps.windows(2)
            .all(|w| number(&w[0], "start_time_s") < number(&w[1], "start_time_s"))
    );
    let rests = [120.0, 240.0, 360.0, 120.0];
    for rep in &reps[..14] {
        let block = rep["block"].as_u64().unwrap() as usize;
        assert!(number(rep, "rest_after_s") >= rests[block - 1], "{rep}");
    }
    assert!(reps.iter().any(|r| r["recovery_how"] == "soft pedal"));
    for rep in &reps[5..8] {
        assert!((50.0..=60.0).contains(&number(rep, "cadence_rpm")), "{rep}");
    }
    for rep in &reps[8..10] {
        assert!((60.0..=70.0).contains(&number(rep, "cadence_rpm")), "{rep}");
    }
}

#[test]
fn maximal_starts_go_where_the_road_is_gentle() {
    let plan = document(
        &format!("{LOOP} --set tests/support/starts-reps-starts.toml"),
        0,
    );
    for rep in reps(&plan).iter().filter(|r| r["maximal"] == true) {
        assert!((-0.8..=4.3).contains(&number(rep, "grade_pct")), "{rep}");
        assert_eq!(number(rep, "duration_s"), 10.0);
        let rise_m = number(&rep["end"], "elevation_m") - number(&rep["start"], "elevation_m");
        assert!(rise_m > -1.0, "{rep}");
    }
}

/// A power is shown as the rider's meter shows it, wherever that measures: three times the threshold of 250 W.
#[test]
fn the_power_of_a_maximal_start_is_the_meters_own() {
    let folder = tempfile::tempdir().unwrap();
    let rider = std::fs::read_to_string("sample-routes/rider.toml").unwrap();
    for place in ["crank", "hub"] {
        let file = folder.path().join(format!("{place}.toml"));
        let measured = format!("power_measured_at = \"{place}\"");
        assert!(rider.contains("power_measured_at = \"crank\""));
        std::fs::write(
            &file,
            rider.replace("power_measured_at = \"crank\"", &measured),
        )
        .unwrap();
        let arguments = format!(
            "sample-routes/big-loop.gpx --rider {} --set tests/support/starts-reps-starts.toml",
            file.display()
        );
        let reps = reps(&document(&arguments, 0));
        let starts: Vec<&Value> = reps.iter().filter(|r| r["maximal"] == true).collect();
        assert_eq!(starts.len(), 10);
        for start in starts {
            assert!((number(start, "power_w") - 750.0).abs() < 0.1, "{start}");
        }
    }
}

#[test]
fn a_rear_shift_is_made_where_one_gear_can_not_hold_the_band() {
    let plan = document(
        &format!(
            "{LOOP} --reps 1 --work 8:00 --rest 4:00 --power 190..225 --cadence 50..60 --keep 1=12"
        ),
        0,
    );
    let reps = reps(&plan);
    let shifting: Vec<&Value> = reps
        .iter()
        .filter(|r| r["shifts"] != serde_json::json!([]))
        .collect();
    assert!(!shifting.is_empty());
    for rep in shifting {
        let (start, end) = (
            number(&rep["start"], "distance_m"),
            number(&rep["end"], "distance_m"),
        );
        let mut sprocket = rep["gear"]["sprocket"].clone();
        for shift in rep["shifts"].as_array().unwrap() {
            let at = number(&shift["at"], "distance_m");
            assert!(at > start && at < end, "{rep}");
            assert_ne!(shift["sprocket"], sprocket);
            sprocket = shift["sprocket"].clone();
        }
        assert!(number(&rep["cost_parts_s"], "shifts") > 0.0);
    }
    let words = text(
        &format!(
            "{LOOP} --reps 1 --work 8:00 --rest 4:00 --power 190..225 --cadence 50..60 --keep 1=12"
        ),
        0,
    );
    let shift = format!(" km {}×", reps[0]["gear"]["chainring"]);
    assert!(words.contains(&shift), "{shift}: {words}");
}

#[test]
fn what_would_make_a_set_fit_does() {
    let watch = "sample-routes/big-loop-watch.gpx --rider sample-routes/rider.toml --reps 6 --rest 4:00..9:00 \
                 --power 190..225 --cadence 50..60 --warm-up 20:00";
    let plan = document(&format!("{watch} --work 4:00"), 1);
    let changes = plan["routes"][0]["would_fit_with"].as_array().unwrap();
    let shorter = changes
        .iter()
        .find_map(|c| c.as_str().unwrap().strip_prefix("reps of "))
        .unwrap();
    document(&format!("{watch} --work {shorter}"), 0);
    assert!(text(&format!("{watch} --work 4:00"), 1).contains("It would fit with: "));
}

#[test]
fn a_climb_that_is_not_used_says_the_number_that_decides() {
    let words = text(
        &format!("{LOOP} --reps 3 --work 7:00 --rest 4:00 --power 190..225 --cadence 50..60"),
        0,
    );
    assert!(
        words.contains("too short: 2:5") && words.contains(" at 225 W, you need 7:00"),
        "{words}"
    );
    let words = text(
        &format!("{LOOP} --reps 3 --work 3:00 --rest 4:00 --power 190..225 --cadence 65..75"),
        0,
    );
    assert!(words.contains("too steep for the gearing: 1"), "{words}");
    assert!(
        words.contains("rpm in your easiest gear, 34×30; 34×3"),
        "{words}"
    );
}

#[test]
fn the_set_itself_is_looked_at() {
    let plan = document(
        &format!("{LOOP} --reps 8 --work 6:00 --rest 2:00 --power 190..225 --cadence 38..60"),
        0,
    );
    let notes = plan["session_notes"].to_string();
    for words in [
        "down to 38 rpm",
        "48:00 of low-cadence work",
        "Nimmerichter",
        "no gain over free cadence",
    ] {
        assert!(notes.contains(words), "{words}: {notes}");
    }
}

/// The file of a road, a point every ten metres, from the grade after each.
fn road(folder: &std::path::Path, grades: impl Iterator<Item = f64>) -> String {
    let mut height_m = 400.0;
    let mut points = String::new();
    for (i, grade) in grades.chain([0.0]).enumerate() {
        let lat_deg = 45.0 + i as f64 * 10.0 / 111_132.0;
        points.push_str(&format!(
            "<trkpt lat=\"{lat_deg:.7}\" lon=\"7\"><ele>{height_m:.2}</ele></trkpt>"
        ));
        height_m += 10.0 * grade;
    }
    let path = folder.join("road.gpx");
    let file =
        format!("<gpx version=\"1.1\" creator=\"made\"><trk><trkseg>{points}</trkseg></trk></gpx>");
    std::fs::write(&path, file).unwrap();
    path.to_str().unwrap().to_owned()
}

#[test]
fn a_rep_that_the_speed_of_arrival_would_carry_over_the_top_is_not_placed() {
    let folder = tempfile::tempdir().unwrap();
    // Down at 6 % for a kilometre, up at 6 % for another, with next to level road around them.
    let grades = [-0.004, -0.06, 0.06, 0.004].map(|grade| std::iter::repeat_n(grade, 100));
    let route = road(folder.path(), grades.into_iter().flatten());
    // Steady at 200 W the kilometre lasts some 4:25; whoever arrives with 44 km/h is over the top before that.
    let mut placed = Vec::new();
    for (work, status) in [("4:00", 0), ("4:15", 0), ("4:24", 1)] {
        let plan = document(
            &format!(
                "{route} --rider sample-routes/rider.toml --reps 1 --work {work} --rest 1:00 --power 200..201 --cadence 40..90"
            ),
            status,
        );
        placed.push(reps(&plan).len());
        for rep in reps(&plan) {
            assert!(number(&rep["end"], "distance_m") <= 3000.0 + 15.0, "{rep}");
        }
    }
    assert_eq!(placed, [1, 1, 0]);
}

#[test]
fn a_rep_that_the_end_of_the_road_would_cut_short_is_not_placed() {
    let folder = tempfile::tempdir().unwrap();
    let grades = [-0.06, 0.06].map(|grade| std::iter::repeat_n(grade, 100));
    let route = road(folder.path(), grades.into_iter().flatten());
    for (count, work, work_s) in [(2, "2:10", 130.0), (4, "1:05", 65.0), (20, "0:13", 13.0)] {
        // Each begins where the one before ended, and that is further on than a steady speed says.
        let run = hillwright()
            .arg("plan")
            .args(
                format!(
                    "{route} --rider sample-routes/rider.toml --reps {count} --work {work} --rest 0:00 --power 200..201 --cadence 30..110"
                )
                .split_whitespace(),
            )
            .args(["--format", "json"])
            .assert();
        let plan: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
        assert!(!reps(&plan).is_empty());
        for rep in reps(&plan) {
            assert_eq!(number(&rep, "duration_s"), work_s, "{rep}");
        }
    }
}
