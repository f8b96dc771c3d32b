//! The rider file with the fitted values in it: the user's own text, only the values changed.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Fit;
use crate::prescription::parse_rider;

/// Why the text can't be changed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RiderTextError {
    /// The file isn't TOML; it was, when it was read as a rider file.
    #[error("the rider file is not TOML any more: {0}")]
    NotToml(String),
    /// The fitted mass is less than what rider and bike weigh without kit, even with the rider lighter.
    #[error(
        "a mass of {mass_kg:.1} kg in all leaves nothing for the rider: the power meter reads far too low"
    )]
    TooLight {
        /// The fitted mass, in kilograms.
        mass_kg: f64,
    },
    /// A fitted value is out of the file's bounds, or the file is written in a way that can't be changed.
    #[error("no rider file with the fitted values was written, as it could not be read again: {0}")]
    Unreadable(String),
}

/// What the rider file weighs, in kilograms.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Masses {
    /// The rider.
    pub rider_kg: f64,
    /// The bike.
    pub bike_kg: f64,
    /// Clothes and all that is carried.
    pub kit_kg: f64,
}

impl Masses {
    /// The same where all weighs so much (kg): what is carried takes the difference, and where that would be less than nothing, the rider the rest.
    fn weighing(&self, total_kg: f64) -> Masses {
        let kit_kg = total_kg - self.rider_kg - self.bike_kg;
        Masses {
            rider_kg: self.rider_kg + kit_kg.min(0.0),
            kit_kg: kit_kg.max(0.0),
            ..*self
        }
    }

    /// What there is to mind where all weighs less (kg) than rider and bike.
    pub fn lowered(&self, total_kg: f64) -> Option<String> {
        let now = self.weighing(total_kg);
        (now.rider_kg < self.rider_kg).then(|| {
            format!(
                "the mass is {:.1} kg less than rider and bike weigh, so that the new file has no kit and a rider of {:.1} instead of {:.1} kg; \
                 the power meter may read too low",
                self.rider_kg - now.rider_kg,
                now.rider_kg,
                self.rider_kg
            )
        })
    }
}

/// Lightest rider that a rider file may have, in kilograms.
const LIGHTEST_RIDER_KG: f64 = 25.0;

/// The text with mass, drag and rolling resistance as fitted, and comments that say from what.
///
/// The mass goes into the kit's, which nobody weighs; where that would be less than nothing, the rider's takes the rest.
///
/// # Errors
/// [`RiderTextError`] where the text isn't TOML, the mass isn't a rider's, or the new text isn't a rider file with these values.
pub fn with_fit(
    text: &str,
    masses: &Masses,
    fit: &Fit,
    from: &[String],
) -> Result<String, RiderTextError> {
    let total_kg = fit.mass_kg.value;
    let now = masses.weighing(total_kg);
    if now.rider_kg < LIGHTEST_RIDER_KG {
        return Err(RiderTextError::TooLight { mass_kg: total_kg });
    }
    let with_error = |decimals: usize, error: Option<f64>| {
        error.map_or("held, could not be told".to_owned(), |e| {
            format!("fitted, ± {e:.decimals$}")
        })
    };
    let mut changed = text.to_owned();
    if now.rider_kg < masses.rider_kg {
        changed = set(
            &changed,
            "rider",
            "mass_kg",
            &format!("{:.2}", now.rider_kg),
            "lowered: the fitted mass is less than rider and bike",
        )?;
    }
    let told = format!(
        "fitted so that all weighs {total_kg:.2}{} kg",
        fit.mass_kg
            .error
            .map_or(String::new(), |e| format!(" ± {e:.2}"))
    );
    changed = set(
        &changed,
        "bike",
        "kit_kg",
        &format!("{:.2}", now.kit_kg),
        &told,
    )?;
    changed = set(
        &changed,
        "resistance",
        "cda_m2",
        &format!("{:.4}", fit.cda_m2.value),
        &with_error(4, fit.cda_m2.error),
    )?;
    changed = set(
        &changed,
        "resistance",
        "crr",
        &format!("{:.5}", fit.crr.value),
        &with_error(5, fit.crr.error),
    )?;
    let head: String = std::iter::once(format!(
        "# Mass, drag and rolling resistance fitted to {:.0} minutes of riding by `hillwright review --fit`:",
        fit.kept_s / 60.0
    ))
    .chain(from.iter().map(|name| format!("#   {}", name.replace(char::is_control, " "))))
    .chain(["# The mass is the effective one: an error of the power meter is in it.".to_owned()])
    .map(|line| line + "\n")
    .collect();
    let whole = head + &changed;
    let read = parse_rider(&whole).map_err(|e| RiderTextError::Unreadable(e.to_string()))?;
    let all_kg = read.rider.mass_kg + read.bike.mass_kg + read.bike.kit_kg;
    let off = [
        (all_kg - total_kg, 0.0101),
        (read.resistance.cda_m2 - fit.cda_m2.value, 0.000_051),
        (read.resistance.crr - fit.crr.value, 0.000_005_1),
    ];
    if off.iter().any(|(off, rounding)| off.abs() > *rounding) {
        let told = "it has other values than those that were put in".to_owned();
        return Err(RiderTextError::Unreadable(told));
    }
    Ok(whole)
}

/// The text with one value put in place of what stands there, and the line's comment with it.
fn set(
    text: &str,
    table: &str,
    key: &str,
    value: &str,
    comment: &str,
) -> Result<String, RiderTextError> {
    let document =
        DeTable::parse(text).map_err(|e| RiderTextError::NotToml(e.message().to_owned()))?;
    let Some(entry) = document.get_ref().get(table) else {
        let gap = if text.is_empty() || text.ends_with('\n') {
            ""
        } else {
            "\n"
        };
        return Ok(format!(
            "{text}{gap}\n[{table}]\n{key} = {value} # {comment}\n"
        ));
    };
    let DeValue::Table(inner) = entry.get_ref() else {
        return Err(RiderTextError::Unreadable(format!("`{table}` is no table")));
    };
    if let Some(span) = inner.get(key).map(Spanned::span) {
        let (rest, after) = text[span.end..].split_at(line_length(&text[span.end..]));
        // A comment of the user's is replaced, since it speaks of the old value; what else stands on the line stays.
        let is_comment = rest.trim_start().is_empty() || rest.trim_start().starts_with('#');
        let rest = if is_comment {
            format!(" # {comment}")
        } else {
            rest.to_owned()
        };
        return Ok(format!("{}{value}{rest}{after}", &text[..span.start]));
    }
    let start = entry.span().start;
    if text[start..].starts_with('{') {
        let (before, after) = text.split_at(start + 1);
        let comma = if inner.is_empty() { " " } else { "," };
        return Ok(format!("{before} {key} = {value}{comma}{after}"));
    }
    if text[start..].starts_with('[') {
        let (before, after) = text.split_at(start + line_length(&text[start..]));
        return Ok(format!("{before}\n{key} = {value} # {comment}{after}"));
    }
    // Dotted keys: one more before another of the table, with the same table in front.
    let other = inner.keys().map(|k| k.span().start).min().unwrap_or(start);
    let line = text[..other].rfind('\n').map_or(0, |n| n + 1);
    let (before, after) = text.split_at(line);
    let dotted = &text[line..other];
    Ok(format!(
        "{before}{dotted}{key} = {value} # {comment}\n{after}"
    ))
}

/// Up to the end of the first line, without what ends it.
fn line_length(text: &str) -> usize {
    text.find('\n').unwrap_or(text.len())
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that panics has failed")]
mod tests {
    use std::collections::BTreeMap;

    use super::*;
    use crate::prescription::{EXAMPLE_RIDER, parse_rider};
    use crate::review::fit::Fitted;

    fn fit(mass_kg: f64) -> Fit {
        let one = |value: f64| Fitted {
            value,
            error: Some(0.01 * value),
            before: value,
        };
        Fit {
            mass_kg: one(mass_kg),
            cda_m2: one(0.3123),
            crr: one(0.00456),
            correlations: [None; 3],
            kept_s: 3600.0,
            dropped_s: BTreeMap::new(),
            spread_w: 10.0,
            notes: Vec::new(),
        }
    }

    const MASSES: Masses = Masses {
        rider_kg: 68.0,
        bike_kg: 8.5,
        kit_kg: 4.0,
    };

    #[test]
    fn the_example_with_a_fit_reads_back_with_the_fitted_values() {
        let text = with_fit(EXAMPLE_RIDER, &MASSES, &fit(83.2), &["ride.gpx".to_owned()]).unwrap();
        let file = parse_rider(&text).unwrap();
        let total_kg = file.rider.mass_kg + file.bike.mass_kg + file.bike.kit_kg;
        assert!((total_kg - 83.2).abs() < 0.006);
        assert_eq!(file.rider.mass_kg, 68.0);
        assert_eq!(file.resistance.cda_m2, 0.3123);
        assert_eq!(file.resistance.crr, 0.00456);
        assert!(text.contains("#   ride.gpx") && text.contains("required; kilograms, undressed"));
    }

    #[test]
    fn keys_that_were_not_there_are_added_and_a_light_fit_takes_from_the_rider() {
        let short = "[rider]\nmass_kg = 68\nthreshold_w = 250\n[bike]\ntyre = '28-622'\nchainrings = [50, 34]\nsprockets = [11, 30]";
        let text = with_fit(short, &MASSES, &fit(75.0), &[]).unwrap();
        let file = parse_rider(&text).unwrap();
        assert_eq!((file.rider.mass_kg, file.bike.kit_kg), (66.5, 0.0));
        let told = MASSES.lowered(75.0).unwrap();
        assert!(
            told.contains("1.5 kg less") && told.contains("66.5 instead of 68.0 kg"),
            "{told}"
        );
        assert_eq!(MASSES.lowered(83.2), None);
        assert_eq!(file.resistance.cda_m2, 0.3123);
        let error = with_fit(short, &MASSES, &fit(30.0), &[]).unwrap_err();
        assert!(error.to_string().contains("power meter"), "{error}");
    }

    const BIKE: &str = "tyre = '28-622', chainrings = [50, 34], sprockets = [11, 30]";

    #[test]
    fn every_way_of_writing_a_table_keeps_its_text_and_takes_the_values() {
        let bike = BIKE.replace(", c", "\nc").replace(", s", "\ns");
        let rider = "[rider]\nmass_kg = 68\nthreshold_w = 250\n";
        let dotted: String = BIKE
            .replace(", c", "\nc")
            .replace(", s", "\ns")
            .lines()
            .map(|line| format!("bike.{line}\n"))
            .collect();
        let texts = [
            format!("{rider}[resistance]# as measured\ncda_m2 = 0.4\n[bike]#mine\n{bike}\n"),
            format!("{rider}[ bike ]\n{bike}\n[ 'resistance' ]\n"),
            format!("{rider}[bike] # mine\r\n{bike}\n[resistance]"),
            format!("bike = {{ {BIKE} }}\nresistance = {{}}\n{rider}"),
            format!("bike = {{{BIKE}, kit_kg = 3}}\nresistance = {{ crr = 0.006 }}\n{rider}"),
            format!("{dotted}resistance . crr = 0.006 # rough\n{rider}"),
            format!("  rider.mass_kg = 68\nrider.threshold_w = 250\n{dotted}"),
        ];
        for text in texts {
            for mass_kg in [83.2, 75.0] {
                let fitted = with_fit(&text, &MASSES, &fit(mass_kg), &[]).unwrap();
                let file = parse_rider(&fitted).unwrap();
                let total_kg = file.rider.mass_kg + file.bike.mass_kg + file.bike.kit_kg;
                assert!((total_kg - mass_kg).abs() < 0.006, "{fitted}");
                assert_eq!(file.resistance.cda_m2, 0.3123, "{fitted}");
                assert_eq!(file.resistance.crr, 0.00456, "{fitted}");
            }
        }
    }

    #[test]
    fn a_mass_beyond_what_a_rider_file_may_have_is_an_error() {
        let error = with_fit(EXAMPLE_RIDER, &MASSES, &fit(170.0), &[]).unwrap_err();
        let told = error.to_string();
        assert!(told.contains("kit_kg") && told.contains("80"), "{told}");
    }
}
