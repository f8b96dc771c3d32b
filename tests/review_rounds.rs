//! Reps of a plan in which places repeat are told apart by the round and by the turn in which they were ridden.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod made_ride;
mod support;

use std::fmt::Write;

use made_ride::{World, world};
use serde_json::Value;
use support::hillwright;

const SET: &str = "[[block]]
reps = 3
work = '4:00'
recovery = { at_least = '12:00' }
power_w = { from = 190, to = 225, aim = 205 }
cadence_rpm = { from = 50, to = 60, aim = 55 }
";
/// Metres a second in a rep and between reps, uphill and down.
const PACES: (f64, f64, f64) = (3.9, 4.6, 8.0);

/// A ride on the demo's there-and-back hill: ways from and to metres along the road, and the distances ridden at which reps of four
/// minutes begin.
fn gpx(world: &World, ways_m: &[(f64, f64)], reps_m: &[f64]) -> String {
    let road = &world.harbour_hill;
    let mut text = String::from("<gpx version=\"1.1\"><trk><trkseg>\n");
    let (mut ridden_m, mut second) = (0.0, 0_i64);
    let mut until_s = -1;
    for (from_m, to_m) in ways_m {
        let (mut at_m, sign) = (*from_m, (to_m - from_m).signum());
        while (to_m - at_m) * sign > 0.0 {
            if reps_m
                .iter()
                .any(|m| (0.0..PACES.0).contains(&(ridden_m - m)))
                && second > until_s
            {
                until_s = second + 240;
            }
            let in_rep = second < until_s;
            let (power_w, rpm) = if in_rep {
                (205 + second % 7, 54 + second % 3)
            } else {
                (120 + second % 9, 83 + second % 3)
            };
            let uphill = sign > 0.0 && at_m < 5200.0;
            let pace = if in_rep {
                PACES.0
            } else if uphill {
                PACES.1
            } else {
                PACES.2
            };
            let [x, y] = road.place(at_m);
            let place = world.plane.to_geodetic([x, y]);
            let time = jiff::Timestamp::from_second(1_700_000_000 + second).unwrap();
            let _ = writeln!(
                text,
                "<trkpt lat=\"{:.6}\" lon=\"{:.6}\"><ele>{:.1}</ele><time>{time}</time><extensions><power>{power_w}</power>\
                 <cad>{rpm}</cad></extensions></trkpt>",
                place.lat,
                place.lon,
                road.elevation_m(at_m)
            );
            at_m += sign * pace;
            ridden_m += pace;
            second += 1;
        }
    }
    text + "</trkseg></trk></gpx>"
}

/// The review of such a ride against the plan that these arguments make of the hill: number, verdict, start in seconds, and what
/// was ridden instead, of each rep.
fn review(how: &[&str], ways_m: &[(f64, f64)], reps_m: &[f64]) -> Vec<(u64, String, f64, String)> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    std::fs::write(path("set.toml"), SET).unwrap();
    std::fs::write(path("ride.gpx"), gpx(&world().unwrap(), ways_m, reps_m)).unwrap();
    let rider = ["--rider", "sample-routes/rider.toml"];
    hillwright()
        .args(["plan", "sample-routes/harbour-hill.gpx", "--format", "json"])
        .args(rider)
        .arg("--set")
        .arg(path("set.toml"))
        .arg("-o")
        .arg(path("plan.json"))
        .args(how)
        .assert()
        .success();
    let run = hillwright()
        .arg("review")
        .arg(path("ride.gpx"))
        .arg("--plan")
        .arg(path("plan.json"))
        .args(rider)
        .args(["--format", "json"])
        .assert()
        .success();
    let document: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    let reps = document["recordings"][0]["reps"].as_array().unwrap();
    reps.iter()
        .map(|rep| {
            let done: Vec<&str> = rep["done"]
                .as_array()
                .unwrap()
                .iter()
                .filter_map(Value::as_str)
                .collect();
            (
                rep["rep"].as_u64().unwrap_or(0),
                done.join(", "),
                rep["ridden"]["start_time_s"].as_f64().unwrap_or(0.0),
                rep["instead"].as_str().unwrap_or_default().to_owned(),
            )
        })
        .collect()
}

/// How far along the hill's road its rep is planned to start, in metres, and how long the road is, there and back.
const START_M: f64 = 3215.0;
const ROUND_M: f64 = 10_399.0;

#[test]
fn a_rep_left_out_in_the_second_of_three_rounds_is_the_second() {
    // The road ends where it begins.
    let rounds = [(0.0, ROUND_M); 3];
    let reps = review(
        &["--laps", "3"],
        &rounds,
        &[START_M, 2.0 * ROUND_M + START_M],
    );
    let told: Vec<(u64, &str)> = reps.iter().map(|r| (r.0, r.1.as_str())).collect();
    assert_eq!(
        told,
        [(1, "as planned"), (2, "missing"), (3, "as planned")],
        "{reps:?}"
    );
    assert!(reps[1].3.contains("then 124 W at 84 rpm"), "{reps:?}");
    assert!(reps[2].2 > 3000.0, "{reps:?}");
}

#[test]
fn a_turn_ridden_easily_is_the_one_that_is_missing() {
    // Up 950 m and down again three times, the second time without a rep.
    let (top_m, foot_m) = (START_M + 1000.0, START_M - 150.0);
    let (up, down) = ((foot_m, top_m), (top_m, foot_m));
    let ways = [(0.0, top_m), down, up, down, up, down];
    let round_m = 2.0 * (top_m - foot_m);
    let reps = review(
        &["--turn-round"],
        &ways,
        &[START_M, START_M + 2.0 * round_m],
    );
    let told: Vec<(u64, &str)> = reps.iter().map(|r| (r.0, r.1.as_str())).collect();
    assert_eq!(
        told,
        [(1, "as planned"), (2, "missing"), (3, "as planned")],
        "{reps:?}"
    );
    let passed = "the planned start was passed at ";
    assert!(
        reps[1].3.starts_with(passed) && reps[1].3.contains(" W at 84 rpm"),
        "{reps:?}"
    );
}
