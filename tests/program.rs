//! The program as a stranger types it: answers, errors, exit statuses.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::{hillwright, sample};

const PLAN: [&str; 4] = [
    "--rider",
    "sample-routes/rider.toml",
    "--set",
    "sample-routes/six-by-four.toml",
];

fn json(arguments: &[&str], status: i32) -> Value {
    let run = hillwright()
        .args(arguments)
        .args(["--format", "json"])
        .assert()
        .code(status);
    serde_json::from_slice(&run.get_output().stdout).unwrap()
}

/// What the program says on standard error when an input file has this text.
fn refusal(command: &[&str], file_name: &str, text: &[u8], status: i32) -> String {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(file_name);
    std::fs::write(&file, text).unwrap();
    let arguments: Vec<String> = command
        .iter()
        .map(|a| {
            if *a == "FILE" {
                file.display().to_string()
            } else {
                (*a).to_owned()
            }
        })
        .collect();
    let run = hillwright().args(arguments).assert().code(status);
    let error = String::from_utf8(run.get_output().stderr.clone()).unwrap();
    assert!(!error.contains("panicked"), "{error}");
    error
}

fn minutes(rep: &Value, name: &str) -> f64 {
    rep[name].as_f64().unwrap() / 60.0
}

#[test]
fn the_demo_loop_carries_six_fours() {
    let document = json(
        &[&["plan", "sample-routes/big-loop.gpx"], &PLAN[..]].concat(),
        0,
    );
    let route = &document["routes"][0];
    assert_eq!(route["fits"], true);
    let reps = route["reps"].as_array().unwrap();
    assert_eq!(reps.len(), 6);
    let mut last_stop_m = 0.0;
    for rep in reps {
        assert_eq!(rep["duration_s"].as_f64().unwrap(), 240.0);
        assert!(rep["in_band_pct"].as_f64().unwrap() >= 95.0, "{rep}");
        assert!(rep["start"]["distance_m"].as_f64().unwrap() >= last_stop_m);
        last_stop_m = rep["end"]["distance_m"].as_f64().unwrap();
        if !rep["rest_after_s"].is_null() {
            assert!(minutes(rep, "rest_after_s") >= 4.0, "{rep}");
            assert!(minutes(rep, "recovery_after_s") >= minutes(rep, "rest_after_s"));
        }
        assert_inside_one_climb(rep, &route["climbs"]);
    }
    assert!(reps[0]["start_time_s"].as_f64().unwrap() >= 20.0 * 60.0);
    assert!(!document["cautions"].as_array().unwrap().is_empty());
}

fn assert_inside_one_climb(rep: &Value, climbs: &Value) {
    let at = |place: &Value| place["distance_m"].as_f64().unwrap();
    let inside = |climb: &&Value| {
        at(&climb["start"]) <= at(&rep["start"])
            && at(&rep["end_if_fast"]) <= at(&climb["end"]) + 10.0
    };
    assert_eq!(
        climbs.as_array().unwrap().iter().filter(inside).count(),
        1,
        "{rep}"
    );
}

#[test]
fn four_sixes_fit_the_demo_loop_too() {
    let document = json(
        &[
            "plan",
            "sample-routes/big-loop.gpx",
            "--rider",
            "sample-routes/rider.toml",
            "--set",
            "sample-routes/four-by-six.toml",
        ],
        0,
    );
    assert_eq!(document["routes"][0]["reps"].as_array().unwrap().len(), 4);
}

#[test]
fn a_set_by_flags_is_the_set_of_the_file() {
    let by_file = json(
        &[&["plan", "sample-routes/big-loop.gpx"], &PLAN[..]].concat(),
        0,
    );
    let flags = "--rider sample-routes/rider.toml --reps 6 --work 4:00 --rest 4:00..9:00 --power 190..225 \
                 --cadence 50..60 --warm-up 20:00";
    let arguments: Vec<&str> = ["plan", "sample-routes/big-loop.gpx"]
        .into_iter()
        .chain(flags.split_whitespace())
        .collect();
    let by_flags = json(&arguments, 0);
    assert_eq!(
        by_flags["routes"][0]["reps"][0]["start"],
        by_file["routes"][0]["reps"][0]["start"]
    );
}

#[test]
fn a_flat_route_carries_nothing_and_says_why() {
    let document = json(
        &[&["plan", "sample-routes/lagoon-flat.gpx"], &PLAN[..]].concat(),
        1,
    );
    let route = &document["routes"][0];
    assert_eq!(route["fits"], false);
    assert_eq!(route["unplaced"].as_array().unwrap().len(), 6);
    assert!(
        route["unplaced"][0]["why"]
            .as_str()
            .unwrap()
            .contains("no climb")
    );
}

#[test]
fn the_best_route_of_a_folder_comes_first() {
    let document = json(&[&["plan", "sample-routes"], &PLAN[..]].concat(), 0);
    let left_out: Vec<usize> = document["routes"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| r["unplaced"].as_array().unwrap().len())
        .collect();
    assert_eq!(left_out.len(), 4);
    assert!(left_out.is_sorted(), "{left_out:?}");
    assert_eq!(document["routes"][0]["name"], "Skerrowan big loop");
}

#[test]
fn climbs_are_numbered_in_route_order_and_lie_on_their_ascents() {
    let document = json(
        &["climbs", "sample-routes/big-loop.gpx", "--power", "207"],
        0,
    );
    let route = &document["routes"][0];
    assert_eq!(document["schema"], "hillwright.climbs/1");
    let mut last_m = 0.0;
    for (climb, number) in route["climbs"].as_array().unwrap().iter().zip(1..) {
        assert_eq!(climb["id"], number);
        assert!(climb["start"]["distance_m"].as_f64().unwrap() >= last_m);
        last_m = climb["end"]["distance_m"].as_f64().unwrap();
        let ascents = route["ascents"].as_array().unwrap();
        let own = ascents.iter().find(|a| a["id"] == climb["ascent"]).unwrap();
        assert!(own["climbs"].as_array().unwrap().contains(&climb["id"]));
        let ride = &climb["ride"];
        let range = &ride["duration_range_s"];
        assert!(range["low"].as_f64() < ride["duration_s"].as_f64());
        assert!(range["high"].as_f64() > ride["duration_s"].as_f64());
    }
}

#[test]
fn gears_say_which_gear_turns_what() {
    let arguments =
        "gears --rider sample-routes/rider.toml --grade 3..12 --power 190..225 --cadence 50..60";
    let run = hillwright()
        .args(arguments.split_whitespace())
        .assert()
        .code(0);
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    assert!(text.contains("34×30"), "{text}");
    assert!(text.contains("["), "{text}");
    let document = json(&arguments.split_whitespace().collect::<Vec<_>>(), 0);
    assert_eq!(document["grades"].as_array().unwrap().len(), 10);
}

#[test]
fn where_no_gear_suits_the_status_says_so() {
    let arguments =
        "gears --rider sample-routes/rider.toml --grade 20 --power 190..225 --cadence 50..60";
    hillwright()
        .args(arguments.split_whitespace())
        .assert()
        .code(1);
}

#[test]
fn examples_are_accepted_as_they_are() {
    let folder = tempfile::tempdir().unwrap();
    for of in ["rider", "set"] {
        let run = hillwright().args(["example", of]).assert().code(0);
        std::fs::write(folder.path().join(of), &run.get_output().stdout).unwrap();
    }
    hillwright()
        .arg("plan")
        .arg(sample("big-loop.gpx"))
        .arg("--rider")
        .arg(folder.path().join("rider"))
        .arg("--set")
        .arg(folder.path().join("set"))
        .assert()
        .code(0);
}

#[test]
fn a_route_comes_from_standard_input_too() {
    let bytes = std::fs::read(sample("harbour-hill.gpx")).unwrap();
    let run = hillwright()
        .args(["climbs", "-"])
        .write_stdin(bytes)
        .assert()
        .code(0);
    assert!(String::from_utf8_lossy(&run.get_output().stdout).contains("(-)"));
}

#[test]
fn every_plan_carries_the_cautions() {
    let run = hillwright()
        .args(["plan", "sample-routes/lagoon-flat.gpx"])
        .args(PLAN)
        .assert()
        .code(1);
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    for word in [
        "knee",
        "physiotherapist",
        "bike fit",
        "traffic law",
        "medical advice",
    ] {
        assert!(text.contains(word), "{word} in {text}");
    }
}

#[test]
fn text_fits_the_columns_it_is_given() {
    for columns in ["80", "100", "120"] {
        for arguments in [
            &["plan", "sample-routes/big-loop.gpx"][..],
            &["plan", "sample-routes/harbour-hill.gpx", "--laps", "9"],
            &["plan", "sample-routes/harbour-hill.gpx", "--turn-round"],
            &["plan", "sample-routes/big-loop.gpx", "--indoors"],
            &["climbs", "sample-routes/big-loop.gpx"],
        ] {
            let more = if arguments[0] == "plan" {
                &PLAN[..]
            } else {
                &[]
            };
            let run = hillwright()
                .env("COLUMNS", columns)
                .args(arguments)
                .args(more)
                .assert()
                .code(0);
            let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
            for line in text.lines() {
                assert!(
                    line.chars().count() <= columns.parse().unwrap(),
                    "{columns}: {line}"
                );
            }
        }
    }
}

const POINT: &str = r#"<trkpt lat="50" lon="5"><ele>10</ele></trkpt>"#;

fn gpx(inside: &str) -> String {
    format!(
        r#"<gpx version="1.1" creator="t" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>{inside}</trkseg></trk></gpx>"#
    )
}

fn line_of_points(point: impl Fn(usize) -> String) -> String {
    gpx(&(0..200).map(point).collect::<String>())
}

#[test]
fn what_is_no_route_is_refused_with_the_file_s_name() {
    for (name, content) in [
        ("text.gpx", "this is no route".to_owned()),
        ("empty.gpx", String::new()),
        ("one-point.gpx", gpx(POINT)),
        ("page.gpx", "<html><body>not found</body></html>".to_owned()),
        (
            "absurd.gpx",
            line_of_points(|i| format!(r#"<trkpt lat="{}" lon="5"><ele>1</ele></trkpt>"#, 500 + i)),
        ),
        (
            "nan.gpx",
            line_of_points(|_| r#"<trkpt lat="NaN" lon="NaN"><ele>1</ele></trkpt>"#.to_owned()),
        ),
        ("binary.gpx", "\u{0}\u{1}\u{2}".repeat(50)),
        (
            "point.json",
            r#"{"type":"Point","coordinates":[5,50]}"#.to_owned(),
        ),
    ] {
        let error = refusal(&["climbs", "FILE"], name, content.as_bytes(), 3);
        assert!(error.contains(name), "{name}: {error}");
    }
}

#[test]
fn a_route_without_elevation_is_asked_for_tiles() {
    let file =
        line_of_points(|i| format!(r#"<trkpt lat="{:.5}" lon="5"/>"#, 50.0 + i as f64 * 1e-4));
    let error = refusal(&["climbs", "FILE"], "flat.gpx", file.as_bytes(), 3);
    assert!(
        error.contains("no elevations") && error.contains("tiles"),
        "{error}"
    );
}

#[test]
fn a_route_cut_short_gives_what_is_there_with_a_warning() {
    let whole = std::fs::read(sample("harbour-hill.gpx")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("cut.gpx");
    std::fs::write(&file, &whole[..whole.len() * 3 / 4]).unwrap();
    let run = hillwright().arg("climbs").arg(&file).assert().code(0);
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    assert!(
        text.contains("About the data") && text.contains("ends"),
        "{text}"
    );
}

#[test]
fn a_file_that_is_not_there_is_named() {
    let run = hillwright()
        .args(["climbs", "nowhere.gpx"])
        .assert()
        .code(3);
    assert!(String::from_utf8_lossy(&run.get_output().stderr).contains("nowhere.gpx"));
}

#[test]
fn wrong_rider_files_are_told_by_line_and_key() {
    let right = hillwright_sample("rider.toml");
    let plan = [
        "plan",
        "sample-routes/harbour-hill.gpx",
        "--rider",
        "FILE",
        "--set",
        PLAN[3],
    ];
    for (from, to, words) in [
        (
            "mass_kg = 68",
            "mass_kgs = 68",
            &["mass_kgs", "mass_kg", "line"][..],
        ),
        (
            "mass_kg = 68.0",
            "mass_kg = -5.0",
            &["mass_kg", "-5", "line"],
        ),
        (
            "chainrings = [50, 34]",
            "chainrings = [50, 0]",
            &["chainrings", "0", "line"],
        ),
        (
            "threshold_w = 250",
            "threshold_w = nan",
            &["threshold_w", "line"],
        ),
        ("[bike]", "[bike", &["line"]),
    ] {
        assert!(right.contains(from), "{from}");
        let error = refusal(
            &plan,
            "rider.toml",
            right.replacen(from, to, 1).as_bytes(),
            3,
        );
        for word in words {
            assert!(error.contains(word), "{word} in {error}");
        }
    }
}

fn hillwright_sample(name: &str) -> String {
    std::fs::read_to_string(sample(name)).unwrap()
}

#[test]
fn a_wrong_command_line_has_status_two() {
    for arguments in [
        "",
        "nonsense",
        "climbs",
        "plan sample-routes/big-loop.gpx",
        "climbs sample-routes/big-loop.gpx --power -5",
        "gears --rider sample-routes/rider.toml --grade x --power 190..225 --cadence 50..60",
        "gears --rider sample-routes/rider.toml --grade 1..200 --power 190..225 --cadence 50..60",
        "plan sample-routes/big-loop.gpx --rider sample-routes/rider.toml --reps 6 --work 4 --rest 4:00 \
         --power 190..225 --cadence 50..60",
    ] {
        let run = hillwright()
            .args(arguments.split_whitespace())
            .assert()
            .code(2);
        assert!(!run.get_output().stderr.is_empty(), "{arguments}");
    }
}

#[test]
fn a_closed_pipe_is_no_failure() {
    use std::process::{Command, Stdio};
    let mut child = Command::new(assert_cmd::cargo::cargo_bin!("hillwright"))
        .args(["climbs", "sample-routes/big-loop.gpx", "--format", "json"])
        .current_dir(support::root())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(
        output.stderr.is_empty(),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    assert_eq!(output.status.code(), Some(0));
}

#[test]
fn real_recordings_get_climbs_or_a_reason() {
    let shared = std::env::var_os("HILLWRIGHT_SHARED").map_or_else(
        || support::root().join("../shared"),
        std::path::PathBuf::from,
    );
    let Ok(files) = std::fs::read_dir(shared.join("routes")) else {
        return;
    };
    for file in files
        .map(|f| f.unwrap().path())
        .filter(|f| f.extension().is_some_and(|e| e == "gpx"))
    {
        let run = hillwright().arg("plan").arg(&file).args(PLAN).assert();
        let output = run.get_output();
        let error = String::from_utf8_lossy(&output.stderr);
        assert!(
            matches!(output.status.code(), Some(0 | 1 | 3)),
            "{}: {error}",
            file.display()
        );
        assert!(!error.contains("panicked"), "{error}");
        assert!(
            !output.stdout.is_empty() || error.contains("error:"),
            "{}",
            file.display()
        );
    }
}

#[test]
fn files_are_written_by_their_ending() {
    let folder = tempfile::tempdir().unwrap();
    let (svg, json) = (
        folder.path().join("chart.svg"),
        folder.path().join("chart.JSON"),
    );
    let arguments = "gears --rider sample-routes/rider.toml --power 190..225 --cadence 50..60";
    hillwright()
        .args(arguments.split_whitespace())
        .arg("-o")
        .arg(&svg)
        .arg("-o")
        .arg(&json)
        .assert()
        .code(0);
    let picture = std::fs::read_to_string(svg).unwrap();
    assert!(
        picture.starts_with("<svg") && picture.contains("34×30"),
        "{picture}"
    );
    let document: Value = serde_json::from_slice(&std::fs::read(json).unwrap()).unwrap();
    assert_eq!(document["schema"], "hillwright.gears/1");
}

#[test]
fn an_unknown_ending_is_refused_before_any_work_and_the_known_ones_are_listed() {
    let run = hillwright()
        .args(["climbs", "nowhere.gpx", "-o", "climbs.docx"])
        .assert()
        .code(2);
    let error = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
    assert!(
        error.contains("climbs.docx") && error.contains(".json"),
        "{error}"
    );
}

#[test]
fn a_file_that_cannot_be_written_has_status_four() {
    let run = hillwright()
        .args([
            "climbs",
            "sample-routes/harbour-hill.gpx",
            "-o",
            "no-such-folder/climbs.json",
        ])
        .assert()
        .code(4);
    assert!(
        String::from_utf8_lossy(&run.get_output().stderr).contains("no-such-folder/climbs.json")
    );
}

#[test]
fn a_headwind_makes_a_climb_longer_and_a_tailwind_shorter() {
    // Harbour hill is climbed first and descended on the same road, so one of the two winds is a headwind.
    let seconds = |wind: &[&str]| {
        let base = [
            "climbs",
            "sample-routes/harbour-hill.gpx",
            "--rider",
            "sample-routes/rider.toml",
            "--power",
            "207",
        ];
        let document = json(&[&base[..], wind].concat(), 0);
        document["routes"][0]["climbs"][0]["ride"]["duration_s"]
            .as_f64()
            .unwrap()
    };
    let still = seconds(&[]);
    let winds =
        [0, 90, 180, 270].map(|from| seconds(&["--wind", "20", "--wind-from", &from.to_string()]));
    assert!(
        winds.iter().any(|s| *s > still + 1.0) && winds.iter().any(|s| *s < still - 1.0),
        "{still} {winds:?}"
    );
}

#[test]
fn what_cannot_be_weather_is_refused_with_its_bound() {
    for (flags, word) in [
        ("--wind 200 --wind-from 90", "100"),
        ("--wind 20", "--wind-from"),
        ("--temperature 90", "55"),
        ("--pressure 1", "300"),
    ] {
        let run = hillwright()
            .args(["climbs", "sample-routes/harbour-hill.gpx", "--power", "200"])
            .args(flags.split_whitespace())
            .assert()
            .code(2);
        let error = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        assert!(error.contains(word), "{flags}: {error}");
    }
}

#[test]
fn where_the_power_is_too_little_the_rider_walks() {
    let arguments =
        "climbs sample-routes/harbour-hill.gpx --rider sample-routes/rider.toml --power 25";
    let document = json(&arguments.split_whitespace().collect::<Vec<_>>(), 0);
    assert_eq!(document["routes"][0]["climbs"][0]["ride"]["stalls"], true);
    let run = hillwright()
        .args(arguments.split_whitespace())
        .assert()
        .code(0);
    assert!(String::from_utf8_lossy(&run.get_output().stdout).contains("walks"));
}

#[test]
fn a_grade_that_no_gear_suits_is_told_the_sprocket_that_would() {
    // At 14 % and 225 W this rider does about 6.9 km/h = 114.6 m/min; 50 rpm take 2.29 m a turn, and 34×32 on a
    // 28-622 tyre makes 34/32 × 2.130 = 2.26 m, while 34×31 makes 2.34 m.
    let document = json(
        &"gears --rider sample-routes/rider.toml --grade 14,15 --power 190..225 --cadence 50..60"
            .split_whitespace()
            .collect::<Vec<_>>(),
        1,
    );
    let change = &document["grades"][0]["changes"][0];
    assert_eq!(
        (&change["new_part"], &change["sprocket"]),
        (&"sprocket".into(), &32.into())
    );
}

#[test]
fn the_manual_tells_of_the_program_and_of_each_command() {
    let page = |arguments: &[&str]| {
        let run = hillwright().arg("man").args(arguments).assert().success();
        String::from_utf8(run.get_output().stdout.clone()).unwrap()
    };
    let program = page(&[]);
    assert!(program.contains(".TH hillwright 1"), "{program}");
    for command in [
        "climbs", "gears", "plan", "near", "tiles", "review", "serve",
    ] {
        assert!(
            program.contains(&format!("hillwright\\-{command}(1)")),
            "{program}"
        );
        assert!(page(&[command]).contains(&format!(".TH hillwright-{command} 1")));
    }
    assert!(page(&["plan"]).contains("\\-\\-turn\\-round"));
    hillwright().args(["man", "plann"]).assert().code(2);
}
