//! Rider and set files as text: what is written is read back as the same.

use std::fmt::Write;

use super::duration::duration_text;
use super::rider_file::RiderFile;
use super::set::{Band, Block, Effort, PowerBand, Set};
use crate::gearing::{PowerMeasuredAt, Tyre};

/// A rider file, units in its keys, every key given.
///
/// ```
/// use hillwright::prescription::{EXAMPLE_RIDER, parse_rider, rider_text};
///
/// let rider_file = parse_rider(EXAMPLE_RIDER)?;
/// assert_eq!(parse_rider(&rider_text(&rider_file))?, rider_file);
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
#[must_use]
pub fn rider_text(file: &RiderFile) -> String {
    let RiderFile {
        rider,
        bike,
        resistance,
        ..
    } = file;
    let mut lines = Vec::new();
    lines.push("[rider]".to_owned());
    lines.extend(
        file.name
            .as_ref()
            .map(|name| format!("name = {}", toml_text(name))),
    );
    lines.push(noted("mass_kg", rider.mass_kg, "undressed"));
    lines.push(noted(
        "threshold_w",
        rider.threshold_w,
        "the power held for about an hour",
    ));
    lines.push(noted(
        "easy_share",
        rider.easy_share,
        "share of threshold in recoveries",
    ));
    lines.push(noted(
        "steady_share",
        rider.steady_share,
        "before the first rep, and on longer ways between",
    ));
    lines.push(noted(
        "recovery_ceiling_share",
        rider.recovery_ceiling_share,
        "time above this share is not recovery",
    ));
    lines.push(noted(
        "descent_limit_kmh",
        rider.descent_limit_kmh,
        "never planned faster than this downhill",
    ));
    lines.push("\n[bike]".to_owned());
    lines.push(format!("mass_kg = {}", bike.mass_kg));
    lines.push(noted(
        "kit_kg",
        bike.kit_kg,
        "clothes, shoes, helmet, bottles, tools",
    ));
    lines.push(match bike.tyre {
        Tyre::Marked {
            width_mm,
            diameter_mm,
        } => format!("tyre = \"{width_mm}-{diameter_mm}\" # ISO 5775: width-diameter in mm"),
        Tyre::Measured { circumference_mm } => format!("circumference_mm = {circumference_mm}"),
    });
    lines.push(format!("chainrings = {:?}", bike.chainrings));
    lines.push(format!("sprockets = {:?}", bike.sprockets));
    if !bike.hub_ratios.is_empty() {
        lines.push(format!("hub_ratios = {:?}", bike.hub_ratios));
    }
    lines.push(format!("crank_mm = {}", bike.crank_mm));
    lines.push(format!(
        "power_measured_at = \"{}\"",
        measured_at(bike.power_measured_at)
    ));
    lines.push("\n[resistance]".to_owned());
    lines.push(format!("cda_m2 = {}", resistance.cda_m2));
    lines.push(format!("crr = {}", resistance.crr));
    lines.push(format!(
        "drivetrain_efficiency = {}",
        resistance.drivetrain_efficiency
    ));
    lines.join("\n") + "\n"
}

/// A set file.
///
/// ```
/// use hillwright::prescription::{EXAMPLE_SET, parse_set, set_text};
///
/// let set = parse_set(EXAMPLE_SET)?;
/// assert_eq!(parse_set(&set_text(&set))?, set);
/// # Ok::<(), hillwright::prescription::PrescriptionError>(())
/// ```
#[must_use]
pub fn set_text(set: &Set) -> String {
    let mut text = String::new();
    // Writing to a string can't fail.
    if let Some(name) = &set.name {
        let _ = writeln!(text, "name = {}", toml_text(name));
    }
    let warm_up = duration_text(set.warm_up_s);
    let _ = writeln!(
        text,
        "warm_up = \"{warm_up}\" # no rep starts before this much riding"
    );
    for block in &set.blocks {
        text += "\n";
        text += &block_text(block);
    }
    text
}

fn block_text(block: &Block) -> String {
    let mut lines = vec!["[[block]]".to_owned(), format!("reps = {}", block.reps)];
    lines.push(format!("work = \"{}\"", duration_text(block.work_s)));
    let at_least = duration_text(block.recovery.at_least_s);
    lines.push(match block.recovery.at_most_s.map(duration_text) {
        Some(at_most) => {
            format!("recovery = {{ at_least = \"{at_least}\", at_most = \"{at_most}\" }}")
        }
        None => format!("recovery = {{ at_least = \"{at_least}\" }}"),
    });
    match &block.effort {
        Effort::Maximal { from_kmh } => {
            lines.push("effort = \"maximal\"".to_owned());
            lines.push(format!("from_kmh = {from_kmh}"));
        }
        Effort::Banded {
            power,
            cadence_rpm,
            torque_nm,
        } => {
            lines.extend(power.as_ref().map(|power| match power {
                PowerBand::Watts(band) => band_text("power_w", band),
                PowerBand::ThresholdShare(band) => {
                    band_text("power_share", band) + " # of threshold"
                }
            }));
            lines.extend(cadence_rpm.as_ref().map(|b| band_text("cadence_rpm", b)));
            lines.extend(torque_nm.as_ref().map(|b| band_text("torque_nm", b)));
        }
    }
    lines.join("\n") + "\n"
}

fn band_text(key: &str, band: &Band) -> String {
    let Band { from, to, aim } = band;
    format!("{key} = {{ from = {from}, to = {to}, aim = {aim} }}")
}

fn noted(key: &str, value: f64, note: &str) -> String {
    format!("{key} = {value} # {note}")
}

/// The word of a rider file for where power is measured.
#[must_use]
pub fn measured_at(place: PowerMeasuredAt) -> &'static str {
    match place {
        PowerMeasuredAt::Crank => "crank",
        PowerMeasuredAt::Hub => "hub",
    }
}

/// A text as a basic string of TOML 1.0: quoted, with what would end it or is no character of a line escaped.
#[must_use]
pub fn toml_text(text: &str) -> String {
    let mut quoted = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => quoted.extend(['\\', c]),
            c if c.is_control() => {
                let _ = write!(quoted, "\\u{:04X}", u32::from(c));
            }
            c => quoted.push(c),
        }
    }
    quoted.push('"');
    quoted
}

#[cfg(test)]
mod tests {
    use super::super::set::Recovery;
    use super::super::{parse_rider, parse_set};
    use super::*;
    use crate::gearing::Bike;
    use crate::ride::{Resistance, Rider};
    use proptest::prelude::*;

    fn any_rider() -> impl Strategy<Value = RiderFile> {
        let rider = (40.0..120.0f64, 80.0..280.0f64, 0.3..0.6f64, 20.0..80.0f64);
        let tyre = prop_oneof![
            (18u32..75).prop_map(|width| Tyre::Marked {
                width_mm: f64::from(width),
                diameter_mm: 622.0
            }),
            (1200.0..2400.0f64).prop_map(|circumference_mm| Tyre::Measured { circumference_mm }),
        ];
        let hub = prop::collection::vec(0.2..4.0f64, 0..4);
        let name = prop::option::of("[a-zA-Zäß\"\\\\#' ]{1,20}");
        (rider, tyre, hub, name, any::<bool>()).prop_map(|(rider, tyre, hub_ratios, name, hub)| {
            RiderFile {
                name: name.filter(|n| !n.trim().is_empty()),
                rider: Rider {
                    mass_kg: rider.0,
                    threshold_w: rider.1,
                    easy_share: rider.2,
                    steady_share: 0.65,
                    recovery_ceiling_share: 0.75,
                    descent_limit_kmh: rider.3,
                },
                bike: Bike {
                    mass_kg: 8.5,
                    kit_kg: 4.0,
                    tyre,
                    chainrings: vec![50, 34],
                    sprockets: vec![11, 13, 30],
                    hub_ratios,
                    crank_mm: 172.5,
                    power_measured_at: if hub {
                        PowerMeasuredAt::Hub
                    } else {
                        PowerMeasuredAt::Crank
                    },
                },
                resistance: Resistance {
                    cda_m2: 0.36,
                    crr: 0.005,
                    drivetrain_efficiency: 0.977,
                },
                notes: Vec::new(),
            }
        })
    }

    fn any_block() -> impl Strategy<Value = Block> {
        let band = |low: f64, high: f64| {
            (low..high, low..high, 0.0..1.0f64).prop_map(|(a, b, at)| {
                let (from, to) = (a.min(b), a.max(b));
                let aim = (from + at * (to - from)).clamp(from, to);
                Band { from, to, aim }
            })
        };
        let power = prop_oneof![
            band(0.4, 1.2).prop_map(PowerBand::ThresholdShare),
            band(150.0, 300.0).prop_map(PowerBand::Watts),
        ];
        let effort = prop_oneof![
            (3.0..60.0f64).prop_map(|from_kmh| Effort::Maximal { from_kmh }),
            (power, band(40.0, 90.0)).prop_map(|(power, cadence)| Effort::Banded {
                power: Some(power),
                cadence_rpm: Some(cadence),
                torque_nm: None,
            }),
            (band(40.0, 90.0), band(20.0, 60.0)).prop_map(|(cadence, torque)| Effort::Banded {
                power: None,
                cadence_rpm: Some(cadence),
                torque_nm: Some(torque),
            }),
        ];
        let recovery = (0u32..3600, prop::option::of(0u32..3600));
        (1u32..20, 1u32..7200, recovery, effort).prop_map(
            |(reps, work, (at_least, more), effort)| Block {
                reps,
                work_s: f64::from(work),
                recovery: Recovery {
                    at_least_s: f64::from(at_least),
                    at_most_s: more.map(|more| f64::from(at_least + more)),
                },
                effort,
            },
        )
    }

    proptest! {
        #[test]
        fn a_rider_file_that_is_written_is_read_back(file in any_rider()) {
            let read = parse_rider(&rider_text(&file)).unwrap();
            prop_assert_eq!((read.name, read.rider, read.bike, read.resistance), (file.name, file.rider, file.bike, file.resistance));
        }

        #[test]
        fn a_set_that_is_written_is_read_back(blocks in prop::collection::vec(any_block(), 1..4), warm_up in 0u32..14_400) {
            let set = Set { name: Some("Big gear, \"slow\" \\ steady".to_owned()), warm_up_s: f64::from(warm_up), blocks };
            prop_assert_eq!(parse_set(&set_text(&set)).unwrap(), set);
        }

        #[test]
        fn no_text_breaks_out_of_its_quotes(text in "\\PC{0,30}|[\\x00-\\x7f]{0,30}") {
            let line = format!("key = {}\n", toml_text(&text));
            let table: toml::Table = line.parse().unwrap();
            prop_assert_eq!(table["key"].as_str(), Some(text.as_str()));
        }
    }
}
