//! What recordings teach of mass and drag.

use super::document_review::{DroppedEntry, FitEntry, FittedEntry};
use super::rounded;
use super::text::Paper;
use crate::prescription::duration_text;
use crate::review::fit::{Fit, Fitted};

/// A fit as documents have it.
pub fn fit_entry(fit: &Fit) -> FitEntry {
    let one = |fitted: &Fitted, decimals: i32| FittedEntry {
        value: rounded(fitted.value, decimals),
        standard_error: fitted.error.map(|e| rounded(e, decimals + 1)),
        before: fitted.before,
    };
    let [mass_cda, mass_crr, cda_crr] = fit.correlations.map(|c| c.map(|c| rounded(c, 2)));
    let dropped = fit.dropped_s.iter();
    FitEntry {
        mass_kg: one(&fit.mass_kg, 2),
        cda_m2: one(&fit.cda_m2, 4),
        crr: one(&fit.crr, 5),
        correlation_mass_cda: mass_cda,
        correlation_mass_crr: mass_crr,
        correlation_cda_crr: cda_crr,
        kept_s: fit.kept_s,
        dropped: dropped
            .map(|(why, s)| DroppedEntry {
                why: why.name().to_owned(),
                duration_s: *s,
            })
            .collect(),
        spread_w: rounded(fit.spread_w, 1),
        notes: fit.notes.clone(),
        rider_file: None,
    }
}

/// The fit as people read it.
pub(super) fn fit_text(fit: &FitEntry, paper: &Paper) -> String {
    let mut out = paper.wrapped(
        &format!(
            "Fitted to {} of riding, in half-minutes that balance within {:.0} W:",
            duration_text(fit.kept_s),
            fit.spread_w
        ),
        0,
    );
    let row = |name: &str, entry: &FittedEntry, decimals: usize| {
        let error = entry
            .standard_error
            .map_or("held".to_owned(), |e| format!("± {e:.decimals$}"));
        vec![
            name.to_owned(),
            format!("{:.decimals$}", entry.value),
            error,
            format!("{:.decimals$}", entry.before),
        ]
    };
    let rows = vec![
        row("effective mass, kg", &fit.mass_kg, 1),
        row("CdA, m²", &fit.cda_m2, 3),
        row("Crr", &fit.crr, 4),
    ];
    out += &paper.table(&["", "fitted", "standard error", "rider file"], rows, &[0]);
    let dropped: Vec<String> = fit
        .dropped
        .iter()
        .map(|d| format!("{} {}", duration_text(d.duration_s), d.why))
        .collect();
    if !dropped.is_empty() {
        out += &paper.wrapped(&format!("Left out: {}.", dropped.join(", ")), 0);
    }
    for note in &fit.notes {
        out += &paper.wrapped(&format!("- {note}."), 2);
    }
    if let Some(path) = &fit.rider_file {
        out += &paper.wrapped(&format!("The rider file with these values: {path}"), 0);
    }
    out
}
