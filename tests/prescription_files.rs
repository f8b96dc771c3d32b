//! Rider files and set files as a rider writes them, right and wrong.

#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

use hillwright::gearing::{Bike, PowerMeasuredAt, Tyre};
use hillwright::prescription::{
    Band, Block, EXAMPLE_RIDER, EXAMPLE_SET, Effort, Fault, Location, PowerBand, Recovery, Set,
    parse_rider, parse_set,
};
use hillwright::ride::{Resistance, Rider};
use proptest::prelude::*;

const SHORT_RIDER: &str = r#"
[rider]
mass_kg = 68.0
threshold_w = 250
[bike]
tyre = "28-622"
chainrings = [50, 34]
sprockets = [11, 30]
"#;

const SHORT_SET: &str = r#"
[[block]]
reps = 6
work = "4:00"
recovery = { at_least = "4:00", at_most = "9:00" }
power_w = { from = 190, to = 225 }
cadence_rpm = { from = 50, to = 60 }
"#;

fn rider_problems(line: &str, instead: &str) -> String {
    assert!(SHORT_RIDER.contains(line), "{line}");
    parse_rider(&SHORT_RIDER.replace(line, instead))
        .unwrap_err()
        .to_string()
}

fn set_problems(line: &str, instead: &str) -> String {
    assert!(SHORT_SET.contains(line), "{line}");
    parse_set(&SHORT_SET.replace(line, instead))
        .unwrap_err()
        .to_string()
}

#[track_caller]
fn assert_told(told: &str, parts: &[&str]) {
    for part in parts {
        assert!(told.contains(part), "`{part}` is not in:\n{told}");
    }
}

#[test]
fn the_example_rider_is_the_documented_one_and_nothing_is_assumed() {
    let file = parse_rider(EXAMPLE_RIDER).unwrap();
    let rider = Rider {
        mass_kg: 68.0,
        threshold_w: 250.0,
        easy_share: 0.50,
        steady_share: 0.65,
        recovery_ceiling_share: 0.75,
        descent_limit_kmh: 45.0,
    };
    let bike = Bike {
        mass_kg: 8.5,
        kit_kg: 4.0,
        tyre: Tyre::Marked {
            width_mm: 28.0,
            diameter_mm: 622.0,
        },
        chainrings: vec![50, 34],
        sprockets: vec![11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30],
        hub_ratios: Vec::new(),
        crank_mm: 172.5,
        power_measured_at: PowerMeasuredAt::Crank,
    };
    assert_eq!(file.rider, rider);
    assert_eq!(file.bike, bike);
    assert_eq!(
        file.resistance,
        Resistance {
            cda_m2: 0.36,
            crr: 0.005,
            drivetrain_efficiency: 0.977
        }
    );
    assert_eq!(file.notes, Vec::<String>::new());
}

#[test]
fn the_example_set_is_the_documented_one() {
    let effort = Effort::Banded {
        power: Some(PowerBand::ThresholdShare(Band {
            from: 0.76,
            to: 0.90,
            aim: 0.83,
        })),
        cadence_rpm: Some(Band {
            from: 50.0,
            to: 60.0,
            aim: 55.0,
        }),
        torque_nm: None,
    };
    let recovery = Recovery {
        at_least_s: 240.0,
        at_most_s: Some(540.0),
    };
    let block = Block {
        reps: 6,
        work_s: 240.0,
        recovery,
        effort,
    };
    let set = Set {
        name: Some("Six by four, big gear".to_owned()),
        warm_up_s: 1200.0,
        blocks: vec![block],
    };
    assert_eq!(parse_set(EXAMPLE_SET), Ok(set));
}

#[test]
fn the_lines_that_the_examples_comment_out_are_right_too() {
    let rider = EXAMPLE_RIDER
        .replace("# name", "name")
        .replace("tyre = ", "# tyre = ");
    let rider = parse_rider(&rider.replace("# circumference_mm", "circumference_mm")).unwrap();
    assert_eq!(
        rider.bike.tyre,
        Tyre::Measured {
            circumference_mm: 2136.0
        }
    );
    assert_eq!(rider.name.as_deref(), Some("Me, winter bike"));

    let start = EXAMPLE_SET.find("# [[block]]").unwrap();
    let starts = EXAMPLE_SET[start..]
        .replace("\n# ", "\n")
        .replacen("# ", "", 1);
    let set = parse_set(&format!("{}{starts}", &EXAMPLE_SET[..start])).unwrap();
    assert_eq!(set.blocks.len(), 2);
    assert_eq!((set.blocks[1].reps, set.blocks[1].work_s), (4, 10.0));
    assert_eq!(set.blocks[1].effort, Effort::Maximal { from_kmh: 8.0 });
}

#[test]
fn the_examples_say_the_defaults_that_a_short_file_gets() {
    let (short, example) = (
        parse_rider(SHORT_RIDER).unwrap(),
        parse_rider(EXAMPLE_RIDER).unwrap(),
    );
    assert_eq!(short.rider, example.rider);
    assert_eq!(short.resistance, example.resistance);
    assert_eq!(
        Bike {
            sprockets: example.bike.sprockets.clone(),
            ..short.bike
        },
        example.bike
    );
}

#[test]
fn every_value_that_was_assumed_is_noted() {
    let notes = parse_rider(SHORT_RIDER).unwrap().notes;
    assert_eq!(notes.len(), 11, "{notes:#?}");
    assert!(
        notes.contains(&"`bike.crank_mm` is not given: 172.5 mm is assumed".to_owned()),
        "{notes:#?}"
    );
    assert!(
        notes.contains(&"`resistance.cda_m2` is not given: 0.36 m² is assumed".to_owned()),
        "{notes:#?}"
    );
    assert!(
        notes.contains(&"`bike.power_measured_at` is not given: \"crank\" is assumed".to_owned()),
        "{notes:#?}"
    );
}

#[test]
fn an_unusual_value_is_used_and_noted() {
    let file = parse_rider(&format!(
        "{SHORT_RIDER}[resistance]\ncda_m2 = 0.18\ncrr = 0.015\n"
    ))
    .unwrap();
    assert_eq!((file.resistance.cda_m2, file.resistance.crr), (0.18, 0.015));
    assert_told(
        &file.notes.join("\n"),
        &[
            "line 10, key `resistance.cda_m2`: 0.18 m² is unusual",
            "0.015 is unusual",
        ],
    );
    let strong = parse_rider(&SHORT_RIDER.replace("250", "500")).unwrap();
    assert_told(&strong.notes.join("\n"), &["7.4 W/kg"]);
}

#[test]
fn an_unknown_key_is_named_with_its_line_and_the_nearest_known_one() {
    let told = rider_problems("mass_kg = 68.0", "mass_kg = 68.0\nmass_kgs = 68.0");
    assert_told(
        &told,
        &[
            "line 4, key `rider.mass_kgs`: not a known key; did you mean `mass_kg`? known here: name, mass_kg,",
        ],
    );
    assert_told(
        &set_problems("reps = 6", "reps = 6\nrest = '4:00'"),
        &["line 4, key `block[1].rest`", "recovery"],
    );
    assert_told(
        &set_problems("to = 60", "to = 60, aims = 55"),
        &["key `block[1].cadence_rpm.aims`", "`aim`"],
    );
    assert_told(
        &rider_problems("[rider]", "[ridder]"),
        &["line 2, key `ridder`", "did you mean `rider`?"],
    );
}

#[test]
fn all_problems_are_told_at_once_in_the_order_of_the_file() {
    let error = parse_rider(
        "[rider]\nmass_kg = -5\nthreshold = 250\n[bike]\nchainrings = [50, 0]\nsprockets = []\n",
    );
    let error = error.unwrap_err();
    let told = error.to_string();
    assert_told(
        &told,
        &[
            "line 2, key `rider.mass_kg`: `-5` is outside 25 to 250 kg",
            "key `rider.threshold_w`: missing; expected 40 to 600 W",
            "line 3, key `rider.threshold`: not a known key; did you mean `threshold_w`?",
            "line 5, key `bike.chainrings[2]`: `0` is outside 8 to 70 teeth",
            "line 6, key `bike.sprockets`: a list of 0 is not 1 to 16 numbers of teeth",
            "key `bike.tyre`: missing",
        ],
    );
    assert_eq!(told.lines().count(), 6, "{told}");
    let lines = error
        .problems
        .iter()
        .filter_map(|problem| match &problem.location {
            Location::Line { line, .. } => Some(*line),
            _ => None,
        });
    assert!(lines.is_sorted());
}

#[test]
fn an_empty_file_is_told_every_key_that_must_be_there() {
    let told = parse_rider("").unwrap_err().to_string();
    for key in [
        "rider.mass_kg",
        "rider.threshold_w",
        "bike.tyre",
        "bike.chainrings",
        "bike.sprockets",
    ] {
        assert_told(&told, &[&format!("key `{key}`: missing")]);
    }
    assert_told(
        &parse_set("").unwrap_err().to_string(),
        &["key `block`: missing", "[[block]]"],
    );
}

#[test]
fn text_that_is_no_toml_is_told_its_line_and_column() {
    let error = parse_rider("[rider]\nmass_kg = = 68\n").unwrap_err();
    assert!(matches!(error.problems[0].fault, Fault::Syntax { .. }));
    assert_eq!(
        error.problems[0].location,
        Location::Line {
            line: 2,
            column: 11,
            key: None
        }
    );
    assert_told(&error.to_string(), &["line 2, column 11: not valid TOML"]);
    assert_told(
        &rider_problems("mass_kg = 68.0", "mass_kg = 68.0\nmass_kg = 69"),
        &["line 4", "duplicate"],
    );
}

#[test]
fn a_file_that_starts_with_a_byte_order_mark_or_ends_lines_as_on_windows_is_read() {
    assert!(parse_rider(&format!("\u{feff}{SHORT_RIDER}")).is_ok());
    assert!(parse_set(&SHORT_SET.replace('\n', "\r\n")).is_ok());
}

#[test]
fn a_value_of_the_wrong_kind_is_told_what_to_write() {
    assert_told(
        &rider_problems("68.0", "'68'"),
        &["key `rider.mass_kg`: `'68'` is not a number"],
    );
    assert_told(
        &rider_problems("68.0", "nan"),
        &["`nan` is outside 25 to 250 kg"],
    );
    assert_told(
        &rider_problems("[50, 34]", "[50.5]"),
        &["`50.5` is not a whole number, 8 to 70 teeth"],
    );
    assert_told(
        &rider_problems("[50, 34]", "50"),
        &["`50` is not 1 to 3 numbers of teeth, such as [50, 34]"],
    );
    assert_told(&set_problems("[[block]]", "[block]"), &["[[block]]"]);
    assert_told(
        &set_problems("\"4:00\"\n", "240\n"),
        &["`240` is not a duration in quotes"],
    );
    assert_told(
        &set_problems("\"4:00\"\n", "4:00\n"),
        &["line 4", "in quotes: \"4:00\""],
    );
    assert_told(
        &set_problems("{ from = 50, to = 60 }", "55"),
        &["key `block[1].cadence_rpm`: `55` is not a table"],
    );
}

#[test]
fn a_tyre_is_a_marking_or_a_circumference_but_not_both() {
    let both = rider_problems(
        "tyre = \"28-622\"",
        "tyre = \"28-622\"\ncircumference_mm = 2136",
    );
    assert_told(
        &both,
        &["line 7, key `bike.circumference_mm`: given beside `tyre`"],
    );
    assert_told(
        &rider_problems("28-622", "700x28C"),
        &["`\"700x28C\"` is not an ISO 5775 marking", "28-622"],
    );
    assert_told(
        &rider_problems("28-622", "622-28"),
        &[
            "`622` is outside 16 to 130 mm",
            "`28` is outside 200 to 700 mm",
        ],
    );
    assert_told(
        &rider_problems("tyre = \"28-622\"", "circumference_mm = 2.136"),
        &["`2.136` is outside 800 to 2600 mm"],
    );
    let odd = parse_rider(&SHORT_RIDER.replace("28-622", "28-621")).unwrap();
    assert_told(&odd.notes.join("\n"), &["621 mm is no common rim diameter"]);
}

#[test]
fn recoveries_that_could_never_count_are_refused() {
    let told = rider_problems("mass_kg = 68.0", "mass_kg = 68.0\neasy_share = 0.8");
    assert_told(
        &told,
        &["line 4, key `rider.easy_share`: 0.8 is above the `recovery_ceiling_share` of 0.75"],
    );
}

#[test]
fn an_aim_is_the_middle_unless_given_and_lies_in_its_band() {
    let set = parse_set(SHORT_SET).unwrap();
    let Effort::Banded {
        power: Some(PowerBand::Watts(power_w)),
        ..
    } = set.blocks[0].effort
    else {
        panic!("{set:?}")
    };
    assert_eq!(power_w.aim, 207.5);
    assert_told(
        &set_problems("to = 60", "to = 60, aim = 65"),
        &["line 7, key `block[1].cadence_rpm.aim`: 65 lies outside the band from 50 to 60"],
    );
    assert_told(
        &set_problems("from = 50", "from = 70"),
        &["from 70 is above to 60; exchange them"],
    );
}

#[test]
fn two_of_power_cadence_and_torque_are_needed_and_must_hold_together() {
    const TOLD: &str = "any two of power, cadence and torque are needed";
    assert_told(
        &set_problems("cadence_rpm = { from = 50, to = 60 }", ""),
        &["line 2, key `block[1]`", TOLD],
    );
    assert!(
        parse_set(&SHORT_SET.replace(
            "cadence_rpm = { from = 50, to = 60 }",
            "torque_nm = { from = 32, to = 45 }"
        ))
        .is_ok()
    );
    let told = set_problems("reps = 6", "reps = 6\ntorque_nm = { from = 10, to = 12 }");
    assert_told(&told, &["can't be held together"]);
    let told = set_problems(
        "reps = 6",
        "reps = 6\npower_share = { from = 0.76, to = 0.9 }",
    );
    assert_told(
        &told,
        &["key `block[1].power_w`: given beside `power_share`"],
    );
}

#[test]
fn per_cent_in_place_of_a_share_is_refused_with_the_unit() {
    let told = set_problems(
        "power_w = { from = 190, to = 225 }",
        "power_share = { from = 76, to = 90 }",
    );
    assert_told(
        &told,
        &[
            "`76` is outside 0.2 to 3: the power of a rep as a share of threshold, where 0.83 is 83 %",
        ],
    );
}

#[test]
fn a_maximal_block_has_a_speed_and_no_bands() {
    let told = set_problems("reps = 6", "reps = 6\neffort = \"maximal\"");
    assert_told(
        &told,
        &[
            "`block[1].power_w`: a maximal effort has no bands",
            "`block[1].from_kmh`: missing",
        ],
    );
    assert_told(
        &set_problems("reps = 6", "reps = 6\nfrom_kmh = 8"),
        &["only a maximal effort starts from a speed"],
    );
    assert_told(
        &set_problems("reps = 6", "reps = 6\neffort = \"easy\""),
        &["`\"easy\"` is not \"maximal\""],
    );
}

#[test]
fn a_recovery_has_its_ends_in_order_and_the_upper_one_may_be_left_out() {
    let open = parse_set(&SHORT_SET.replace(", at_most = \"9:00\"", "")).unwrap();
    assert_eq!(
        open.blocks[0].recovery,
        Recovery {
            at_least_s: 240.0,
            at_most_s: None
        }
    );
    assert_told(
        &set_problems("9:00", "3:00"),
        &[
            "key `block[1].recovery.at_most`",
            "shorter than its lower end",
        ],
    );
    assert_told(
        &set_problems("at_least = \"4:00\", ", ""),
        &["key `block[1].recovery.at_least`: missing"],
    );
}

#[test]
fn a_set_without_end_is_refused() {
    let told = parse_set(&SHORT_SET.replace("reps = 6", "reps = 200").repeat(3))
        .unwrap_err()
        .to_string();
    assert_told(&told, &["600 reps in all"]);
    assert_told(
        &set_problems("reps = 6", "reps = 0"),
        &["`0` is outside 1 to 200 reps"],
    );
}

#[test]
fn control_characters_of_a_file_are_not_repeated() {
    let hostile = "[rider]\n\"\\u001b[31m\" = 1\nname = \"\\u202eevil\"\n";
    let told = parse_rider(hostile).unwrap_err().to_string();
    assert!(
        !told.contains('\u{1b}') && !told.contains('\u{202e}'),
        "{told}"
    );
    assert_told(&told, &["\\u{1b}[31m", "key `rider.name`"]);
}

#[test]
fn ten_thousand_wrong_keys_are_cut_short() {
    let text: String = (0..10_000)
        .map(|number| format!("key_{number} = 1\n"))
        .collect();
    let told = parse_rider(&text).unwrap_err().to_string();
    assert!(told.lines().count() <= 21);
}

/// A valid file with a few characters exchanged, put in or taken out.
fn mutated(text: &'static str) -> impl Strategy<Value = String> {
    let change = (
        any::<prop::sample::Index>(),
        0..3usize,
        prop_oneof![
            any::<char>(),
            "[-0-9.:\"\\[\\]{}=,# \n]".prop_map(|s| s.chars().next().unwrap_or(' '))
        ],
    );
    prop::collection::vec(change, 1..6).prop_map(move |changes| {
        let mut chars: Vec<char> = text.chars().collect();
        for (index, taken, put) in changes {
            let at = index.index(chars.len());
            let end = (at + taken).min(chars.len());
            chars.splice(at..end, [put]);
        }
        chars.into_iter().collect()
    })
}

fn read_both(text: &str) {
    for error in [parse_rider(text).err(), parse_set(text).err()]
        .into_iter()
        .flatten()
    {
        assert!(!error.problems.is_empty());
        assert!(!error.to_string().is_empty());
    }
}

proptest! {
    #[test]
    fn no_text_panics(text in any::<String>()) {
        read_both(&text);
    }

    #[test]
    fn no_text_that_looks_like_toml_panics(text in "([a-z_.]{1,6} = [-0-9.:\"'\\[\\]{},a-z]{0,12}\n|\\[{1,2}[a-z.]{0,8}\\]{1,2}\n){0,12}") {
        read_both(&text);
    }

    #[test]
    fn no_changed_rider_file_panics(text in mutated(EXAMPLE_RIDER)) {
        read_both(&text);
    }

    #[test]
    fn no_changed_set_file_panics(text in mutated(EXAMPLE_SET)) {
        read_both(&text);
    }
}
