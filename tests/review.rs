//! Reps of made rides, whose truth is known, are found where and when they were ridden.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod made_ride;
mod support;

use std::path::Path;
use std::sync::LazyLock;

use made_ride::device::{Device, GOOD, Shown, gpx};
use made_ride::rider::{AS_THE_FILE_SAYS, Between, Ride, ScriptRep, ride};
use made_ride::{World, distance_near_m, lat_lon, world};
use serde_json::Value;
use support::hillwright;

static WORLD: LazyLock<World> = LazyLock::new(|| world().unwrap());
static PLAN: LazyLock<String> = LazyLock::new(|| {
    let run = hillwright()
        .args("plan sample-routes/big-loop.gpx --format json".split(' '))
        .args("--rider sample-routes/rider.toml --set sample-routes/six-by-four.toml".split(' '))
        .assert()
        .success();
    String::from_utf8(run.get_output().stdout.clone()).unwrap()
});

const EASY: Between = Between {
    easy_w: 135.0,
    fastest_ms: 12.5,
    until_m: 60_000.0,
    waits: &[
        (1_420.0, 14.0),
        (12_350.0, 9.0),
        (38_400.0, 21.0),
        (44_050.0, 90.0),
    ],
};

/// The plan's reps as a script.
fn as_planned() -> Vec<ScriptRep> {
    let plan: Value = serde_json::from_str(&PLAN).unwrap();
    let reps = plan["routes"][0]["reps"].as_array().unwrap();
    assert_eq!(reps.len(), 6);
    reps.iter()
        .map(|rep| {
            let start = &rep["start"];
            let number = |v: &Value| v.as_f64().unwrap();
            let gear = number(&rep["gear"]["chainring"]) / number(&rep["gear"]["sprocket"]);
            ScriptRep {
                start_m: distance_near_m(
                    &WORLD,
                    number(&start["lat"]),
                    number(&start["lon"]),
                    number(&start["distance_m"]),
                ),
                duration_s: 240.0,
                development_m: 2.130 * gear,
                rpm: 55.0,
                power_w: (190.0, 225.0),
                halt: None,
            }
        })
        .collect()
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.display().to_string()
}

/// The review of a ride against the plan, as JSON.
fn review(
    ride: &Ride,
    device: &Device,
    against: &[&str],
    seed: u64,
    spoil: impl Fn(usize, &mut Shown),
) -> Value {
    let folder = tempfile::tempdir().unwrap();
    let recording = write(
        folder.path(),
        "ride.gpx",
        &gpx(&WORLD, ride, device, seed, spoil),
    );
    let plan = write(folder.path(), "plan.json", &PLAN);
    let against = against
        .iter()
        .map(|a| if *a == "PLAN" { plan.as_str() } else { a });
    let run = hillwright()
        .arg("review")
        .arg(&recording)
        .args(against)
        .args(["--format", "json"])
        .assert();
    let output = run.get_output();
    let told = String::from_utf8_lossy(&output.stderr);
    serde_json::from_slice(&output.stdout).unwrap_or_else(|e| panic!("{e}: {told}"))
}

const WITH_PLAN: [&str; 4] = ["--plan", "PLAN", "--rider", "sample-routes/rider.toml"];
const WITH_SET: [&str; 4] = [
    "--rider",
    "sample-routes/rider.toml",
    "--set",
    "sample-routes/six-by-four.toml",
];

fn untouched(_: usize, _: &mut Shown) {}

fn ridden(document: &Value) -> Vec<&Value> {
    let reps = document["recordings"][0]["reps"].as_array().unwrap();
    reps.iter().filter(|r| !r["ridden"].is_null()).collect()
}

fn done(rep: &Value) -> String {
    let words = rep["done"].as_array().unwrap().iter();
    words
        .map(|w| w.as_str().unwrap())
        .collect::<Vec<_>>()
        .join(", ")
}

/// What matters of a rep, on a line.
fn row(rep: &Value) -> String {
    let r = &rep["ridden"];
    let [at, lasted, start, power, rpm] = [
        &r["start_time_s"],
        &r["duration_s"],
        &r["start"]["distance_m"],
        &r["held"]["power_w"],
        &r["held"]["cadence_rpm"],
    ];
    format!(
        "{} {}: at {at} s for {lasted} s, {start} m, {power} W, {rpm} rpm",
        rep["rep"], rep["done"]
    )
}

/// Every known rep was found within 3 s, and its places within 10 m: the way of two and a half seconds at a rep's pace. A start into
/// which the rider comes faster is known as much worse as that is faster.
fn assert_found(found: &[&Value], made: &Ride) {
    let rows: Vec<String> = found.iter().map(|r| row(r)).collect();
    assert_eq!(found.len(), made.reps.len(), "{rows:#?}");
    let pace = |i: usize| made.seconds[i + 1].distance_m - made.seconds[i].distance_m;
    for (rep, truth) in found.iter().zip(&made.reps) {
        let ridden = &rep["ridden"];
        let start_s = ridden["start_time_s"].as_f64().unwrap();
        let end_s = start_s + ridden["duration_s"].as_f64().unwrap();
        let apart = |place: &Value, at_m: f64| {
            let (lat, lon) = lat_lon(&WORLD, at_m);
            let north = (place["lat"].as_f64().unwrap() - lat) * 111_120.0;
            let east = (place["lon"].as_f64().unwrap() - lon) * 111_320.0 * lat.to_radians().cos();
            north.hypot(east)
        };
        let off = [
            start_s - truth.start_s,
            end_s - truth.end_s,
            apart(&ridden["start"], truth.start_m),
            apart(&ridden["end"], truth.end_m),
        ];
        let begun = truth.start_s as usize;
        let faster = (pace(begun) / pace(begun + 15)).max(1.0);
        assert!(off[0].abs() <= 3.0 && off[1].abs() <= 3.0, "{off:?}");
        assert!(off[2] <= 10.0 * faster && off[3] <= 10.0, "{off:?}");
    }
}

#[test]
fn six_reps_ridden_as_planned_are_found_as_planned() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 1);
    let document = review(&made, &GOOD, &WITH_PLAN, 101, untouched);
    let found = ridden(&document);
    assert_found(&found, &made);
    for rep in &found {
        assert_eq!(done(rep), "as planned", "{rep:#}");
        assert!(
            rep["ridden"]["cadence_in_band_pct"].as_f64().unwrap() > 85.0,
            "{rep:#}"
        );
    }
    let gears: Vec<&Value> = found
        .iter()
        .map(|r| &r["ridden"]["gears"][0]["gear"])
        .collect();
    let planned: Vec<&Value> = found.iter().map(|r| &r["planned_gear"]).collect();
    assert_eq!(gears, planned);
}

/// Rep 3 broken off after 95 s, rep 4 with a wait of 22 s at a junction, rep 5 not ridden, and one more at the end.
fn untidy() -> Vec<ScriptRep> {
    let mut script = as_planned();
    script[2].duration_s = 95.0;
    script[3].halt = Some((100.0, 22.0));
    script.remove(4);
    let extra_m = EXTRA_M;
    script.push(ScriptRep {
        start_m: extra_m,
        ..script[0]
    });
    script
}

const EXTRA_M: f64 = 55_000.0;

#[test]
fn one_cut_short_one_with_a_halt_one_missing_and_one_extra_are_told_apart() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &untidy(), &EASY, 2);
    let document = review(&made, &GOOD, &WITH_PLAN, 202, untouched);
    let found = ridden(&document);
    assert_found(&found, &made);
    let reps = document["recordings"][0]["reps"].as_array().unwrap();
    let verdicts: Vec<String> = reps.iter().map(done).collect();
    assert_eq!(
        verdicts,
        [
            "as planned",
            "as planned",
            "shorter",
            "as planned",
            "missing",
            "as planned",
            "extra"
        ]
    );
    let halts = reps[3]["ridden"]["halts"].as_array().unwrap();
    assert_eq!(halts.len(), 1);
    let halted_s = halts[0]["duration_s"].as_f64().unwrap();
    assert!((halted_s - 22.0).abs() <= 4.0, "{halts:?}");
    assert!(
        reps[4]["instead"]
            .as_str()
            .unwrap()
            .starts_with("the planned start was passed at")
    );
}

/// Ridden in gears and at cadences other than planned, and from other places, so that many come in above the band and slow down into it.
#[test]
fn nearly_all_starts_are_found_within_three_seconds_however_the_rider_comes_in() {
    let mut off_s = Vec::new();
    for seed in 70..94_usize {
        let mut script = as_planned();
        for (k, rep) in script.iter_mut().enumerate() {
            let n = seed + 3 * k;
            rep.development_m *= [0.88, 0.94, 1.0, 1.07, 1.14][n % 5];
            rep.rpm = [53.0, 55.0, 57.0][n % 3];
            rep.start_m += [0.0, 40.0, -30.0, 80.0][n % 4];
        }
        let made = ride(
            &WORLD.big_loop,
            &AS_THE_FILE_SAYS,
            &script,
            &EASY,
            seed as u64,
        );
        let document = review(&made, &GOOD, &WITH_PLAN, 100 * seed as u64, untouched);
        let found = ridden(&document);
        assert_eq!(found.len(), made.reps.len());
        off_s.extend(found.iter().zip(&made.reps).map(|(rep, truth)| {
            (rep["ridden"]["start_time_s"].as_f64().unwrap() - truth.start_s).abs()
        }));
    }
    let share = |most_s: f64| {
        let near = off_s.iter().filter(|s| **s <= most_s).count();
        near as f64 / off_s.len() as f64
    };
    assert!(share(3.0) >= 0.95 && share(5.0) >= 0.97, "{off_s:?}");
}

#[test]
fn six_reps_are_found_by_the_set_alone() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 3);
    let document = review(&made, &GOOD, &WITH_SET, 303, untouched);
    assert_found(&ridden(&document), &made);
}

#[test]
fn without_a_power_meter_power_is_an_estimate_whose_range_holds_the_truth() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 4);
    let device = Device {
        power: false,
        ..GOOD
    };
    let document = review(&made, &device, &WITH_PLAN, 404, untouched);
    assert_eq!(document["recordings"][0]["power_from"], "estimated");
    let found = ridden(&document);
    assert_found(&found, &made);
    for (rep, truth) in found.iter().zip(&made.reps) {
        let seconds = &made.seconds[truth.start_s as usize..truth.end_s as usize];
        let true_w = seconds.iter().map(|s| s.power_w).sum::<f64>() / seconds.len() as f64;
        let range = &rep["ridden"]["power_range_w"];
        let (low, high) = (
            range["low"].as_f64().unwrap(),
            range["high"].as_f64().unwrap(),
        );
        assert!(
            (low..=high).contains(&true_w),
            "{true_w} in {low} to {high}"
        );
        let said = rep["ridden"]["held"]["power_w"].as_f64().unwrap();
        assert!((said / true_w - 1.0).abs() < 0.05, "{said} {true_w}");
    }
}

#[test]
fn without_cadence_reps_are_found_by_power_and_that_is_told() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 5);
    let device = Device {
        cadence: false,
        ..GOOD
    };
    let document = review(&made, &device, &WITH_PLAN, 505, untouched);
    let paired: Vec<&Value> = ridden(&document)
        .into_iter()
        .filter(|r| !r["rep"].is_null())
        .collect();
    assert_eq!(paired.len(), 6);
    for (rep, truth) in paired.iter().zip(&made.reps) {
        let start_s = rep["ridden"]["start_time_s"].as_f64().unwrap();
        let end_s = start_s + rep["ridden"]["duration_s"].as_f64().unwrap();
        let common_s = end_s.min(truth.end_s) - start_s.max(truth.start_s);
        assert!(common_s > 200.0, "{start_s} to {end_s}, {truth:?}");
    }
    let warnings = document["recordings"][0]["warnings"].to_string();
    assert!(warnings.contains("no cadence"), "{warnings}");
}

#[test]
fn a_recording_that_stops_in_rep_four_says_so() {
    let mut made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 6);
    made.seconds.truncate(made.reps[3].start_s as usize + 120);
    let document = review(&made, &GOOD, &WITH_PLAN, 606, untouched);
    let reps = document["recordings"][0]["reps"].as_array().unwrap();
    let verdicts: Vec<String> = reps.iter().map(done).collect();
    assert_eq!(
        verdicts,
        [
            "as planned",
            "as planned",
            "as planned",
            "shorter, recording ends",
            "missing",
            "missing"
        ]
    );
}

#[test]
fn faulty_sensors_are_told_and_the_reps_found_all_the_same() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 7);
    let (second, fourth) = (made.reps[1].start_s as usize, made.reps[3].start_s as usize);
    let document = review(&made, &GOOD, &WITH_PLAN, 707, |at, shown| {
        if at == 900 {
            shown.power_w = Some(2047.0);
        }
        if (second - 60..second + 400).contains(&at) {
            shown.rpm = shown.rpm.map(|r| 2.0 * r);
        }
        if (fourth + 60..fourth + 90).contains(&at) {
            (shown.power_w, shown.rpm) = (None, None);
        }
        if (6_600..6_700).contains(&at) {
            shown.power_w = Some(171.0);
        }
    });
    let found = ridden(&document);
    assert_eq!(found.len(), made.reps.len());
    for (rep, truth) in found.iter().zip(&made.reps) {
        let start_s = rep["ridden"]["start_time_s"].as_f64().unwrap();
        let end_s = start_s + rep["ridden"]["duration_s"].as_f64().unwrap();
        let off = (start_s - truth.start_s, end_s - truth.end_s);
        assert!(off.0.abs() <= 3.0 && off.1.abs() <= 3.0, "{off:?}");
    }
    let warnings = document["recordings"][0]["warnings"].to_string();
    for told in [
        "reads double",
        "can't be true left out, the first at 15:00",
        "drop-out",
        "power: stuck for 1:39",
    ] {
        assert!(warnings.contains(told), "{told}: {warnings}");
    }
}

/// Runs the program on a recording, and gives its exit status and what it told.
fn told(recording: &str, against: &[&str]) -> (i32, String) {
    let folder = tempfile::tempdir().unwrap();
    let file = write(folder.path(), "ride.gpx", recording);
    let plan = write(folder.path(), "plan.json", &PLAN);
    let other = write(
        folder.path(),
        "other.json",
        &PLAN.replace("hillwright.plan/1", "hillwright.plan/2"),
    );
    let against = against.iter().map(|a| match *a {
        "PLAN" => plan.as_str(),
        "OTHER" => other.as_str(),
        a => a,
    });
    let run = hillwright().arg("review").arg(&file).args(against).assert();
    let output = run.get_output();
    let both = [&output.stdout[..], &output.stderr[..]].concat();
    let text = String::from_utf8_lossy(&both)
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    (output.status.code().unwrap(), text)
}

#[test]
fn what_cannot_be_reviewed_is_told_with_its_reason() {
    let mut made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 8);
    made.seconds.truncate(3_000);
    let recorded = |device: Device| gpx(&WORLD, &made, &device, 808, untouched);
    let (status, text) = told(
        &recorded(Device {
            times: false,
            ..GOOD
        }),
        &WITH_PLAN,
    );
    assert_eq!(status, 3, "{text}");
    assert!(
        text.contains("no times: this is a line, not the recording of a ride"),
        "{text}"
    );
    let standing = recorded(GOOD).split("<time>").enumerate().fold(
        String::new(),
        |text, (i, part)| match part.split_once("</time>") {
            Some((_, rest)) if i > 0 => format!("{text}<time>2023-03-18T19:10:00Z</time>{rest}"),
            _ => text + part,
        },
    );
    let (status, text) = told(&standing, &WITH_PLAN);
    assert_eq!(status, 3, "{text}");
    assert!(text.contains("its 3000 times do not increase"), "{text}");
    let bare = Device {
        power: false,
        cadence: false,
        ..GOOD
    };
    let (status, text) = told(&recorded(bare), &WITH_PLAN);
    assert_eq!(status, 1, "{text}");
    assert!(text.contains("neither cadence nor power"), "{text}");
    let (status, text) = told(&recorded(GOOD), &["--plan", "OTHER"]);
    assert_eq!(status, 3, "{text}");
    assert!(text.contains("hillwright.plan/2"), "{text}");
    let (_, text) = told(
        &recorded(GOOD),
        &["--plan", "PLAN", "--wind", "90", "--wind-from", "250"],
    );
    assert!(text.contains("--wind 90: a gale"), "{text}");
    let flat = Device {
        elevations: false,
        ..GOOD
    };
    let (status, text) = told(
        &recorded(flat),
        &["--plan", "PLAN", "--elevation", "recorded"],
    );
    assert_eq!(status, 0, "{text}");
    assert!(text.contains("without elevations grades"), "{text}");
    assert!(
        text.contains("Stop at knee pain") && text.contains("How do your knees feel"),
        "{text}"
    );
}

#[test]
fn a_plan_of_another_route_is_seen_and_the_reps_told_wherever_they_were() {
    let made = ride(&WORLD.big_loop, &AS_THE_FILE_SAYS, &as_planned(), &EASY, 9);
    let far = PLAN.replace("\"lat\": -44.", "\"lat\": -45.");
    let folder = tempfile::tempdir().unwrap();
    let plan = write(folder.path(), "far.json", &far);
    let document = review(
        &made,
        &GOOD,
        &["--plan", &plan, "--rider", "sample-routes/rider.toml"],
        909,
        untouched,
    );
    assert_eq!(ridden(&document).len(), 6);
    assert!(ridden(&document).iter().all(|r| done(r) == "elsewhere"));
    let warnings = document["recordings"][0]["warnings"].to_string();
    assert!(
        warnings.contains("passes none of the 6 planned starts"),
        "{warnings}"
    );
}
