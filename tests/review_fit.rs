//! Mass and drag of made rides, whose truth is known, are found again; and the solver is held against scipy's.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod made_ride;
mod support;

use std::path::Path;
use std::sync::LazyLock;

use approx::assert_relative_eq;
use hillwright::review::energy::Terms;
use hillwright::review::fit::solve::solve;
use hillwright::review::fit::stretches::Stretch;
use made_ride::device::{Device, GOOD, gpx};
use made_ride::rider::{Between, Truth, ride};
use made_ride::{World, world};
use serde_json::Value;
use support::{hillwright, list, number, reference, root};

static WORLD: LazyLock<World> = LazyLock::new(|| world().unwrap());

/// Not what the rider file says: 80.5 kg, 0.36 m², 0.005.
const TRUTH: Truth = Truth {
    mass_kg: 83.4,
    cda_m2: 0.325,
    crr: 0.0043,
    efficiency: 0.977,
    wind: (0.0, 0.0),
};

/// Ridden easy by even seeds, briskly by odd ones: level road at one speed can't part drag and rolling.
const PACES_W: [f64; 2] = [125.0, 205.0];

const BRISK: Between = Between {
    easy_w: PACES_W[1],
    fastest_ms: 12.5,
    until_m: 96_000.0,
    waits: &[
        (1_420.0, 14.0),
        (12_350.0, 9.0),
        (38_400.0, 21.0),
        (44_050.0, 180.0),
    ],
};

/// Rides with these seeds, recorded, in a folder with the demo's rider file.
fn folder_of_rides(
    truth: &Truth,
    device: &Device,
    seeds: &[u64],
) -> (tempfile::TempDir, Vec<String>) {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(
        root().join("sample-routes/rider.toml"),
        folder.path().join("rider.toml"),
    )
    .unwrap();
    let files = seeds
        .iter()
        .map(|seed| {
            let pace = Between {
                easy_w: PACES_W[*seed as usize % 2],
                ..BRISK
            };
            let made = ride(&WORLD.big_loop, truth, &[], &pace, *seed);
            let path = folder.path().join(format!("ride-{seed}.gpx"));
            std::fs::write(&path, gpx(&WORLD, &made, device, 1000 + seed, |_, _| {})).unwrap();
            path.display().to_string()
        })
        .collect();
    (folder, files)
}

fn review(folder: &Path, rider: &str, more: &[&str], files: &[String]) -> Value {
    let run = hillwright()
        .arg("review")
        .args(files)
        .arg("--rider")
        .arg(folder.join(rider))
        .args(more)
        .args(["--format", "json"])
        .assert()
        .success();
    serde_json::from_slice(&run.get_output().stdout).unwrap()
}

fn share_off(entry: &Value, truth: f64) -> f64 {
    number(entry, "value") / truth - 1.0
}

#[test]
fn known_mass_and_drag_are_found_and_predict_a_ride_that_the_fit_has_not_seen() {
    let (folder, files) = folder_of_rides(&TRUTH, &GOOD, &[11, 12, 13]);
    let before = std::fs::read(folder.path().join("rider.toml")).unwrap();
    let document = review(folder.path(), "rider.toml", &["--fit"], &files[..2]);
    let fit = &document["fit"];
    assert!(
        share_off(&fit["mass_kg"], TRUTH.mass_kg).abs() < 0.015,
        "{fit:#}"
    );
    assert!(
        share_off(&fit["cda_m2"], TRUTH.cda_m2).abs() < 0.05,
        "{fit:#}"
    );
    assert_eq!(
        std::fs::read(folder.path().join("rider.toml")).unwrap(),
        before
    );
    let unseen = review(folder.path(), "rider-fitted.toml", &[], &files[2..]);
    let climbs = unseen["recordings"][0]["climbs"].as_array().unwrap();
    assert!(climbs.len() >= 10, "{}", climbs.len());
    for climb in climbs {
        let off = number(climb, "model_duration_s") / number(climb, "duration_s") - 1.0;
        assert!(off.abs() < 0.03, "{climb:#}");
    }
    review(folder.path(), "rider.toml", &["--fit"], &files[..1]);
    assert!(folder.path().join("rider-fitted-2.toml").exists());
}

#[test]
fn a_power_meter_that_reads_high_shows_as_mass_and_drag() {
    let fit_of = |power_bias: f64| {
        let device = Device { power_bias, ..GOOD };
        let (folder, files) = folder_of_rides(&TRUTH, &device, &[21, 22]);
        review(folder.path(), "rider.toml", &["--fit"], &files)["fit"].clone()
    };
    let (good, high) = (fit_of(1.0), fit_of(1.04));
    let ratio = |name: &str| number(&high[name], "value") / number(&good[name], "value");
    assert!((ratio("mass_kg") - 1.04).abs() < 0.01, "{good:#} {high:#}");
    assert!((ratio("cda_m2") - 1.04).abs() < 0.03, "{good:#} {high:#}");
    let notes = high["notes"].to_string();
    assert!(
        notes.contains("the power meter reads so much high"),
        "{notes}"
    );
}

#[test]
fn a_wind_that_is_given_is_taken_out_of_the_drag() {
    let windy = Truth {
        wind: (3.0, 250.0),
        ..TRUTH
    };
    let (folder, files) = folder_of_rides(&windy, &GOOD, &[31, 32]);
    let wind = [
        "--fit",
        "--wind",
        "10.8",
        "--wind-from",
        "250",
        "--shelter",
        "none",
    ];
    let fit = &review(folder.path(), "rider.toml", &wind, &files)["fit"];
    assert!(
        share_off(&fit["cda_m2"], TRUTH.cda_m2).abs() < 0.05,
        "{fit:#}"
    );
    assert!(
        share_off(&fit["mass_kg"], TRUTH.mass_kg).abs() < 0.015,
        "{fit:#}"
    );
}

#[test]
fn the_solver_agrees_with_scipy() {
    let document = reference("fit.json");
    let three = |value: &Value| -> [f64; 3] { std::array::from_fn(|k| value[k].as_f64().unwrap()) };
    for case in list(&document, "cases") {
        let stretches: Vec<Stretch> = list(case, "stretches")
            .iter()
            .map(|row| {
                let at = |k: usize| row[k].as_f64().unwrap();
                Stretch {
                    terms: Terms {
                        duration_s: 30.0,
                        run_m: at(0),
                        rise_m: at(1),
                        air_j_per_m2: at(2),
                        bearing_j: at(3),
                        half_dv2_m2_s2: at(4),
                        gravity_m_s2: number(&document, "gravity_m_s2"),
                        work_j: 0.0,
                        missing_s: 0.0,
                    },
                    wheel_work_j: at(5),
                    error_j: at(6),
                    wheel_radius_m: number(&document, "wheel_radius_m"),
                    joined: row[7].as_bool().unwrap(),
                }
            })
            .collect();
        let start = three(&document["start"]);
        let known = case["known_crr_error"]
            .as_f64()
            .map(|error| (start[2], error));
        let found = solve(&stretches, start, [true; 3], known).unwrap();
        let (values, errors, correlations) = (
            three(&case["values"]),
            three(&case["errors"]),
            three(&case["correlations"]),
        );
        for k in 0..3 {
            assert_relative_eq!(found.values[k], values[k], max_relative = 1e-6);
            assert_relative_eq!(found.errors[k], errors[k], max_relative = 1e-4);
            assert_relative_eq!(found.correlations[k], correlations[k], epsilon = 1e-4);
        }
    }
}
