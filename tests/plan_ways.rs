//! How a plan gets from one rep to the next, and what the rider may wish of it.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::hillwright;

const SET: &str = "--rider sample-routes/rider.toml --set sample-routes/six-by-four.toml";

fn plan(arguments: &str, status: i32) -> Value {
    let run = hillwright()
        .arg("plan")
        .args(arguments.split_whitespace())
        .args(["--format", "json"])
        .assert()
        .code(status);
    let document: Value = serde_json::from_slice(&run.get_output().stdout).unwrap();
    document["routes"][0].clone()
}

fn reps(route: &Value) -> &[Value] {
    route["reps"].as_array().unwrap()
}

fn seconds(rep: &Value, name: &str) -> f64 {
    rep[name].as_f64().unwrap()
}

#[test]
fn where_the_route_s_order_fails_turning_round_is_offered() {
    let route = plan(&format!("sample-routes/harbour-hill.gpx {SET}"), 1);
    assert_eq!(route["fits"], false);
    let offered = &route["turning_round"];
    assert_eq!(offered["fits"], true);
    assert_eq!(reps(offered).len(), 6);
    assert!(seconds(&reps(offered)[0], "start_time_s") >= 20.0 * 60.0);
    assert!(offered["total"]["warm_up_waiting_s"].as_f64().unwrap() > 0.0);
    for rep in &reps(offered)[..5] {
        assert_eq!(rep["recovery_how"], "roll back");
        assert!(
            (240.0..=540.0).contains(&seconds(rep, "rest_after_s")),
            "{rep}"
        );
        assert!(seconds(rep, "in_band_pct") >= 95.0, "{rep}");
    }
}

#[test]
fn turning_round_when_asked_for_is_the_plan() {
    let route = plan(
        &format!("sample-routes/harbour-hill.gpx {SET} --turn-round"),
        0,
    );
    assert_eq!(route["fits"], true);
    assert!(route["turning_round"].is_null());
    assert!(
        reps(&route)
            .iter()
            .all(|r| r["climbs"] == serde_json::json!([1]))
    );
    let again_m =
        route["total"]["distance_m"].as_f64().unwrap() - route["length_m"].as_f64().unwrap();
    assert!(
        again_m > 5.0 * 2.0 * 800.0,
        "five times down and up 800 m or more: {again_m}"
    );
}

#[test]
fn a_short_loop_is_ridden_as_often_as_the_set_needs() {
    let route = plan(&format!("sample-routes/harbour-hill.gpx {SET} --laps 9"), 0);
    let laps = route["laps"].as_u64().unwrap();
    assert!((4..=7).contains(&laps), "{laps}");
    let of_laps: Vec<u64> = reps(&route)
        .iter()
        .map(|r| r["lap"].as_u64().unwrap())
        .collect();
    assert!(of_laps.is_sorted(), "{of_laps:?}");
    assert_eq!(of_laps.last(), Some(&laps));
    assert!(of_laps[0] >= 2, "the first round is warm-up: {of_laps:?}");
    for rep in reps(&route) {
        assert!(rep["end"]["distance_m"].as_f64().unwrap() < 5300.0, "{rep}");
    }
}

#[test]
fn a_rep_is_ridden_where_it_is_kept_and_nowhere_that_is_avoided() {
    let big = format!("sample-routes/big-loop.gpx {SET}");
    let free = plan(&big, 0);
    let pinned = plan(&format!("{big} --keep 6=17 --avoid 1 --avoid 2"), 0);
    assert_eq!(reps(&pinned)[5]["climbs"], serde_json::json!([17]));
    for rep in reps(&pinned) {
        let climbs = rep["climbs"].as_array().unwrap();
        assert!(climbs.iter().all(|c| *c != 1 && *c != 2), "{rep}");
    }
    assert!(pinned["cost_s"].as_f64().unwrap() >= free["cost_s"].as_f64().unwrap());
}

#[test]
fn a_climb_or_rep_that_is_not_there_is_named() {
    for (wish, words) in [
        ("--keep 3=99", "no climb 99"),
        ("--avoid 40", "climbs 1 to 17"),
        ("--keep 9=1", "reps 1 to 6"),
        ("--keep 9", "3=7"),
        ("--keep 3=4 --keep 3=5", "two climbs, 4 and 5"),
        ("--keep 3=4 --avoid 4", "to be avoided"),
        ("--laps 0", "1..=20"),
    ] {
        let run = hillwright()
            .args(["plan", "sample-routes/big-loop.gpx"])
            .args(SET.split_whitespace())
            .args(wish.split_whitespace())
            .assert()
            .code(2);
        let error = String::from_utf8_lossy(&run.get_output().stderr).into_owned();
        assert!(error.contains(words), "{wish}: {error}");
    }
}

#[test]
fn other_climbs_for_a_rep_are_two_with_what_they_cost() {
    let route = plan(&format!("sample-routes/big-loop.gpx {SET}"), 0);
    for rep in reps(&route) {
        let others = rep["others"].as_array().unwrap();
        assert_eq!(others.len(), 2, "{rep}");
        let more: Vec<f64> = others
            .iter()
            .map(|o| o["more_s"].as_f64().unwrap())
            .collect();
        assert!(more[0] >= 0.0 && more[0] <= more[1]);
        assert!(others.iter().all(|o| o["climb"] != rep["climbs"][0]));
    }
}

#[test]
fn without_a_longest_recovery_the_reps_do_not_spread_over_the_day() {
    let flags = "sample-routes/big-loop.gpx --rider sample-routes/rider.toml --reps 6 --work 4:00 --power 190..225 \
                 --cadence 50..60 --warm-up 20:00";
    let open = plan(&format!("{flags} --rest 4:00"), 0);
    let closed = plan(&format!("{flags} --rest 4:00..12:00"), 0);
    assert_eq!(open["reps"], closed["reps"], "three times 4:00 is 12:00");
    let over: f64 = reps(&open)
        .iter()
        .filter(|r| !r["recovery_after_s"].is_null())
        .map(|r| (seconds(r, "recovery_after_s") - 720.0).max(0.0))
        .sum();
    let told = open["total"]["over_recovery_s"].as_f64().unwrap();
    assert!((told - over).abs() <= 4.0, "{told} {over}");
}

#[test]
fn routes_are_ranked_a_line_each_on_a_narrow_terminal() {
    let run = hillwright()
        .args(["plan", "sample-routes"])
        .args(SET.split_whitespace())
        .env("COLUMNS", "80")
        .assert()
        .code(0);
    let text = String::from_utf8(run.get_output().stdout.clone()).unwrap();
    let lines: Vec<&str> = text.lines().collect();
    assert!(lines[0].contains("rest over"), "{text}");
    for (line, file) in
        lines[2..6]
            .iter()
            .zip(["big-loop", "big-loop", "harbour-hill", "lagoon-flat"])
    {
        assert!(line.chars().count() <= 80 && line.contains(file), "{line}");
    }
    assert!(lines[4].starts_with("0 of 6 (6)"), "{text}");
}
