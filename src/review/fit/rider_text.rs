//! The rider file with the fitted values in it: the user's own text, only the values changed.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::Fit;

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

/// Lightest rider that a rider file may have, in kilograms.
const LIGHTEST_RIDER_KG: f64 = 25.0;

/// The text with mass, drag and rolling resistance as fitted, and comments that say from what.
///
/// The mass goes into the kit's, which nobody weighs; where that would be less than nothing, the rider's takes the rest.
///
/// # Errors
/// [`RiderTextError`] where the text isn't TOML, or the mass isn't a rider's.
pub fn with_fit(
    text: &str,
    masses: &Masses,
    fit: &Fit,
    from: &[String],
) -> Result<String, RiderTextError> {
    let total_kg = fit.mass_kg.value;
    let kit_kg = total_kg - masses.rider_kg - masses.bike_kg;
    let rider_kg = masses.rider_kg + kit_kg.min(0.0);
    if rider_kg < LIGHTEST_RIDER_KG {
        return Err(RiderTextError::TooLight { mass_kg: total_kg });
    }
    let with_error = |decimals: usize, error: Option<f64>| {
        error.map_or("held, could not be told".to_owned(), |e| {
            format!("fitted, ± {e:.decimals$}")
        })
    };
    let mut changed = text.to_owned();
    if kit_kg < 0.0 {
        changed = set(
            &changed,
            "rider",
            "mass_kg",
            &format!("{rider_kg:.2}"),
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
        &format!("{:.2}", kit_kg.max(0.0)),
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
    Ok(head + &changed)
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
    let found = document
        .get_ref()
        .get(table)
        .map(Spanned::get_ref)
        .and_then(|t| match t {
            DeValue::Table(inner) => inner.get(key).map(Spanned::span),
            _ => None,
        });
    if let Some(span) = found {
        let line_end = text[span.end..]
            .find('\n')
            .map_or(text.len(), |n| span.end + n);
        let rest = &text[span.end..line_end];
        // A comment of the user's is replaced, since it speaks of the old value; what else stands on the line stays.
        let is_comment = rest.trim_start().is_empty() || rest.trim_start().starts_with('#');
        let rest = if is_comment {
            format!(" # {comment}")
        } else {
            rest.to_owned()
        };
        return Ok(format!(
            "{}{value}{rest}{}",
            &text[..span.start],
            &text[line_end..]
        ));
    }
    let line = format!("{key} = {value} # {comment}\n");
    let header = format!("[{table}]");
    let mut at = 0;
    for row in text.split_inclusive('\n') {
        at += row.len();
        if row.trim() == header || row.trim_start().starts_with(&format!("{header} #")) {
            let gap = if row.ends_with('\n') { "" } else { "\n" };
            return Ok(format!("{}{gap}{line}{}", &text[..at], &text[at..]));
        }
    }
    let gap = if text.is_empty() || text.ends_with('\n') {
        ""
    } else {
        "\n"
    };
    Ok(format!("{text}{gap}\n{header}\n{line}"))
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
        assert_eq!(file.resistance.cda_m2, 0.3123);
        let error = with_fit(short, &MASSES, &fit(30.0), &[]).unwrap_err();
        assert!(error.to_string().contains("power meter"), "{error}");
    }
}
