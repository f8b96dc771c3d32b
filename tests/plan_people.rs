//! One set for several riders, and on a trainer.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::hillwright;

const TWO: &str = "sample-routes/big-loop.gpx --rider sample-routes/rider.toml --rider tests/support/heavy-rider.toml \
                   --set sample-routes/six-by-four.toml";
const INDOORS: &str =
    "--rider sample-routes/rider.toml --set sample-routes/six-by-four.toml --indoors";

fn stdout(arguments: &str, more: &[&str], status: i32) -> String {
    let run = hillwright()
        .arg("plan")
        .args(arguments.split_whitespace())
        .args(more)
        .assert()
        .code(status);
    String::from_utf8(run.get_output().stdout.clone()).unwrap()
}

fn document(arguments: &str, status: i32) -> Value {
    serde_json::from_str(&stdout(arguments, &["--format", "json"], status)).unwrap()
}

#[test]
fn several_riders_share_a_hill_that_suits_them_all() {
    let squad = document(TWO, 0)["squad"].clone();
    let riders = squad["riders"].as_array().unwrap();
    assert_eq!(riders.len(), 2);
    let common = &squad["climb"];
    for rider in riders {
        let climbs = rider["climbs"].as_array().unwrap();
        assert_eq!(climbs.len(), 17);
        let here = climbs.iter().find(|c| c["climb"] == *common).unwrap();
        assert_eq!(here["fits"], true);
        assert!(here["places"][0]["gear"]["sprocket"].as_u64().unwrap() >= 11);
    }
}

#[test]
fn a_rider_is_told_the_sprocket_that_a_climb_needs() {
    let squad = document(TWO, 0)["squad"].clone();
    let heavy = squad["riders"][1]["climbs"].as_array().unwrap();
    let needed: Vec<u64> = heavy
        .iter()
        .filter_map(|c| c["needed_sprocket"].as_u64())
        .collect();
    assert!(!needed.is_empty());
    assert!(needed.iter().all(|teeth| *teeth > 25), "{needed:?}");
    for climb in heavy.iter().filter(|c| c["fits"] == false) {
        assert!(!climb["why"].as_str().unwrap().is_empty(), "{climb}");
    }
    let text = stdout(TWO, &[], 0);
    assert!(text.contains("One hill for all: climb"), "{text}");
    assert!(
        text.lines().all(|line| line.chars().count() <= 100),
        "{text}"
    );
}

#[test]
fn a_climb_that_comes_before_the_warm_up_is_over_needs_no_sprocket() {
    let hill = TWO.replace("big-loop", "harbour-hill");
    for rider in document(&hill, 1)["squad"]["riders"].as_array().unwrap() {
        let climb = &rider["climbs"][0];
        assert_eq!(climb["needed_sprocket"], Value::Null, "{climb}");
        assert!(
            climb["why"]
                .as_str()
                .unwrap()
                .contains("the warm-up takes 20:00")
        );
    }
    let text = stdout(&hill, &[], 1);
    assert!(text.contains("- climb 1, rider: comes too early"), "{text}");
}

#[test]
fn the_set_is_told_for_a_trainer_without_a_route() {
    let plan = document(INDOORS, 0);
    let held = &plan["indoors"][0]["held"];
    // 83 % of 250 W at 55 rpm: 207.5 / (55 · 2π / 60) = 36.0 N·m.
    assert_eq!(held["power_band_w"]["aim"], 207.5);
    assert_eq!(held["torque_nm"], 36.0);
    assert!(held["wheel_speed_kmh"].as_f64().unwrap() > 5.0);
    assert_eq!(plan["routes"], serde_json::json!([]));
    assert!(stdout(INDOORS, &[], 0).contains("on a trainer"));
}

#[test]
fn where_no_road_carries_the_set_the_trainer_is_offered() {
    let flat = "sample-routes/lagoon-flat.gpx --rider sample-routes/rider.toml --set sample-routes/six-by-four.toml";
    assert_eq!(document(flat, 1)["indoors"][0]["reps"], 6);
    let loop_plan = document(&flat.replace("lagoon-flat", "big-loop"), 0);
    assert_eq!(loop_plan["indoors"], serde_json::json!([]));
}
