//! The smoother against statsmodels' Kalman smoother on the same model, written independently (`tests/reference/smoother.py`).

#![allow(clippy::expect_used, reason = "a test that panics has failed")]

mod support;

use hillwright::profile::smoother::smooth;
use hillwright::profile::{Dynamics, Noise, Observation, Turn};
use serde_json::Value;
use support::{list, number, reference};

fn numbers(case: &Value, name: &str) -> Vec<Option<f64>> {
    list(case, name).iter().map(Value::as_f64).collect()
}

fn at(case: &Value, name: &str, node: usize) -> f64 {
    list(case, name)[node].as_f64().expect("a number")
}

fn observations(case: &Value) -> Vec<Observation> {
    let observation = |node| Observation {
        elevation_m: at(case, "recorded_m", node),
        offset_m: at(case, "offset_m", node),
        count: at(case, "count", node) as u32,
        lapse: at(case, "lapse", node),
        error_scale: at(case, "error_scale", node),
    };
    (0..list(case, "count").len()).map(observation).collect()
}

fn dynamics(case: &Value) -> Dynamics {
    let noise = Noise {
        sd_m: number(case, "sd_m"),
        correlation_m: number(case, "reach"),
        reach: number(case, "reach"),
        remainder_sd_m: number(case, "remainder_sd_m"),
    };
    // Where about a node the road turns is learned from how much it turns, which no linear smoother does.
    Dynamics {
        turn_m2: 0.0,
        ..Dynamics::new(number(case, "step_m"), &noise)
    }
}

fn turns(case: &Value) -> Vec<Turn> {
    let uneven = case["uneven"] == true;
    let node = |turn: &Value| turn.as_u64().expect("a node") as usize;
    let turns = list(case, "turns").iter().map(node);
    turns.map(|node| Turn { node, uneven }).collect()
}

#[track_caller]
fn assert_near(name: &str, found: &[f64], expected: &[Option<f64>], within: f64) {
    assert_eq!(found.len(), expected.len());
    let pairs = found.iter().zip(expected).enumerate();
    for (node, (found, expected)) in pairs.filter_map(|(n, (f, e))| e.map(|e| (n, (f, e)))) {
        assert!(
            (found - expected).abs() <= within,
            "{name}: {found} for {expected} at node {node}"
        );
    }
}

/// The values are rounded to 1e-6 m and 1e-8 of grade; the start, known to 100 m, costs both sides as many digits again.
#[test]
fn elevations_and_grades_with_their_errors_agree_with_statsmodels() {
    for case in list(&reference("smoother.json"), "cases") {
        let smooth = smooth(&observations(case), dynamics(case), &turns(case));
        let name = |what: &str| format!("{}: {what}", case["name"]);
        let of = |key: &str| numbers(case, key);
        assert_near(
            &name("elevation"),
            &smooth.elevation_m,
            &of("elevation_m"),
            1e-5,
        );
        let errors = (&smooth.elevation_se_m, of("elevation_se_m"));
        assert_near(&name("its error"), errors.0, &errors.1, 1e-5);
        assert_near(&name("grade"), &smooth.grade, &of("grade"), 1e-7);
        assert_near(&name("its error"), &smooth.grade_se, &of("grade_se"), 1e-7);
    }
}
