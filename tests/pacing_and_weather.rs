//! What the rider holds, and the weather, as a user types them.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use serde_json::Value;
use support::hillwright;

fn answer(arguments: &[&str]) -> Value {
    let output = hillwright().args(arguments).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn refused(arguments: &[&str]) -> String {
    let output = hillwright().args(arguments).output().unwrap();
    assert_eq!(output.status.code(), Some(2), "{output:?}");
    String::from_utf8(output.stderr).unwrap()
}

const PLAN: [&str; 6] = [
    "plan",
    "sample-routes/big-loop.gpx",
    "--rider=sample-routes/rider.toml",
    "--set=sample-routes/six-by-four.toml",
    "--format=json",
    "--elevation=recorded",
];
const CLIMBS: [&str; 5] = [
    "climbs",
    "sample-routes/big-loop.gpx",
    "--rider=sample-routes/rider.toml",
    "--power=190..225",
    "--format=json",
];

fn with<'a>(command: &[&'a str], more: &[&'a str]) -> Vec<&'a str> {
    [command, more].concat()
}

fn of(entry: &Value, name: &str) -> f64 {
    entry[name].as_f64().unwrap()
}

#[test]
fn at_constant_power_the_power_is_one_and_the_cadence_stays_in_its_band() {
    let plan = answer(&with(&PLAN, &["--pacing=power"]));
    let route = &plan["routes"][0];
    assert_eq!(route["fits"], true);
    for rep in route["reps"].as_array().unwrap() {
        assert_eq!(rep["pacing"], "power");
        let (low, high) = (
            of(&rep["power_range_w"], "low"),
            of(&rep["power_range_w"], "high"),
        );
        assert!((low - high).abs() < 0.11, "{rep}");
        assert!((190.0..=225.0).contains(&low));
        let cadence = &rep["cadence_range_rpm"];
        assert!(of(cadence, "high") - of(cadence, "low") > 0.5, "{rep}");
        assert!(of(rep, "in_band_pct") >= 80.0);
    }
}

#[test]
fn without_a_word_the_cadence_is_held_and_the_power_flexes() {
    let plan = answer(&PLAN);
    let reps = plan["routes"][0]["reps"].as_array().unwrap();
    assert!(reps.iter().all(|r| r["pacing"] == "cadence"));
    let spread = |r: &Value| of(&r["power_range_w"], "high") - of(&r["power_range_w"], "low");
    assert!(reps.iter().map(spread).fold(0.0, f64::max) > 5.0);
}

#[test]
fn thin_warm_air_is_faster_and_a_wind_from_ahead_slower() {
    // The whole demo loop has wind from all sides: 36 km/h costs more against than it gives from behind.
    let time = |more: &[&str]| {
        of(
            &answer(&with(&PLAN, more))["routes"][0]["total"],
            "duration_s",
        )
    };
    let still = time(&[]);
    assert!(time(&["--temperature=38", "--sea-level-pressure=980"]) < still);
    assert!(time(&["--temperature=-5", "--sea-level-pressure=1045"]) > still);
    assert!(time(&["--wind=36", "--wind-from=270", "--shelter=none"]) > still);
}

#[test]
fn climbs_hold_a_cadence_inside_a_band_of_power_too() {
    let document = answer(&with(&CLIMBS, &["--pacing=cadence", "--cadence=55"]));
    for climb in document["routes"][0]["climbs"].as_array().unwrap() {
        let ride = &climb["ride"];
        assert_eq!(ride["pacing"], "cadence");
        assert!((189.9..=225.1).contains(&of(ride, "power_w")), "{ride}");
        assert_eq!(of(&ride["cadence_band_rpm"], "from"), 50.0);
    }
    let told = refused(&["climbs", "x.gpx", "--power=200", "--pacing=cadence"]);
    assert!(told.contains("--power 190..225"), "{told}");
}

#[test]
fn shifts_along_a_climb_keep_the_cadence_longer_in_its_band() {
    let document = answer(&CLIMBS);
    let climbs = document["routes"][0]["climbs"].as_array().unwrap();
    let mut shifting = 0;
    for ride in climbs.iter().map(|c| &c["ride"]) {
        let Some(shifts) = ride["shifting"]["shifts"].as_array() else {
            continue;
        };
        shifting += 1;
        let held = of(ride, "in_band_pct");
        assert!(of(&ride["shifting"], "in_band_pct") >= held, "{ride}");
        assert!(!shifts.is_empty());
        let places: Vec<f64> = shifts.iter().map(|s| of(&s["at"], "distance_m")).collect();
        assert!(places.is_sorted());
    }
    assert!(shifting > 0);
}

#[test]
fn what_cannot_be_is_refused_with_its_bound_and_reason() {
    for (flag, told) in [
        ("--wind=200", "0 to 100 km/h: nobody rides in more"),
        ("--temperature=nan", "-40 to 55 degrees Celsius: nobody"),
        ("--temperature=inf", "-40 to 55 degrees Celsius: nobody"),
        ("--pressure=-5", "300 to 1100 hectopascals: from"),
        (
            "--sea-level-pressure=1e300",
            "850 to 1100 hectopascals: the",
        ),
        ("--humidity=101", "0 to 100 per cent: from dry"),
        ("--wind-from=-1", "0 to 360 degrees: where"),
        ("--measured-at=9999", "-500 to 9000 metres: roads"),
    ] {
        for command in [&PLAN[..], &CLIMBS[..]] {
            let text = refused(&with(command, &[flag]));
            assert!(text.contains(told), "{flag}: {text}");
        }
    }
    for (flag, told) in [
        ("--power=0", "20 to 2500 W"),
        ("--power=NaN", "is not a band"),
        ("--power=-5..200", "20 to 2500 W"),
        ("--cadence=0", "20 to 180 rpm"),
        ("--cadence=inf", "is not a band"),
        ("--mass-within=-1", "0 to 20 kg"),
        ("--cda-within=nan", "0 to 50 per cent"),
        ("--wind-within=99", "0 to 15 m/s"),
        ("--crr-from=0", "0.001 to 0.03"),
        ("--crr-from=0.009", "above --crr-to 0.008"),
    ] {
        let text = refused(&with(&CLIMBS[..3], &[flag]));
        assert!(text.contains(told), "{flag}: {text}");
    }
}

#[test]
fn what_is_unusual_passes_with_a_note() {
    for (flags, told) in [
        (&["--temperature=50"][..], "--temperature 50: unusual"),
        (&["--wind=80", "--wind-from=0"][..], "--wind 80: a gale"),
        (&["--pressure=850"][..], "--pressure 850: unusual at"),
        (
            &["--crr-from=0.006"][..],
            "the rider's crr of 0.005 is outside",
        ),
    ] {
        let output = hillwright().args(with(&CLIMBS, flags)).output().unwrap();
        assert_eq!(output.status.code(), Some(0));
        let noted = String::from_utf8(output.stderr).unwrap();
        assert!(noted.contains(told), "{flags:?}: {noted}");
    }
    let output = hillwright().args(CLIMBS).output().unwrap();
    assert_eq!(String::from_utf8(output.stderr).unwrap(), "");
}
