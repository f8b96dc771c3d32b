//! What a review comes to, in sentences. They speak of the session, not of the rider.

use super::document_review::{HeldEntry, ReviewRepEntry, SessionEntry};
use crate::prescription::duration_text;
use crate::review::session::change_pct;

/// A change smaller than this is none, in per cent.
const SAME_PCT: f64 = 3.0;

/// The sentences, most important first.
pub(super) fn findings(session: &SessionEntry, reps: &[ReviewRepEntry]) -> Vec<String> {
    let mut said = vec![counts(session, reps)];
    if session.ridden + session.extra == 0 {
        return said;
    }
    said.extend(in_bands(session));
    said.extend(held(session));
    said.extend(recoveries(session, reps));
    said
}

fn counts(session: &SessionEntry, reps: &[ReviewRepEntry]) -> String {
    let mut text = match (session.as_planned, session.planned) {
        (n, all) if n == all && all == 1 => "The rep was ridden as planned".to_owned(),
        (n, all) if n == all => format!("All {all} reps were ridden as planned"),
        (n, all) => format!("{n} of {all} reps were ridden as planned"),
    };
    for word in ["shorter", "longer", "elsewhere", "missing"] {
        let these: Vec<String> = reps
            .iter()
            .filter(|r| r.done.iter().any(|d| d == word))
            .filter_map(|r| r.rep)
            .map(|n| n.to_string())
            .collect();
        if !these.is_empty() {
            text += &format!("; {word}: {}", these.join(", "));
        }
    }
    match session.extra {
        0 => {}
        1 => text += "; one more that wasn't planned",
        n => text += &format!("; {n} more that weren't planned"),
    }
    text + "."
}

fn in_bands(session: &SessionEntry) -> Option<String> {
    let cadence = session
        .cadence_in_band_pct
        .map(|p| format!("the cadence {p:.0} %"));
    let power = session
        .power_in_band_pct
        .map(|p| format!("the power {p:.0} %"));
    let parts: Vec<String> = [cadence, power].into_iter().flatten().collect();
    (!parts.is_empty()).then(|| {
        format!(
            "In its band after the run-in: {} of the time.",
            parts.join(", ")
        )
    })
}

fn held(session: &SessionEntry) -> Option<String> {
    let (first, last) = (session.first_rep.as_ref()?, session.last_rep.as_ref()?);
    let one = |name: &str, unit: &str, value: &dyn Fn(&HeldEntry) -> Option<f64>| {
        let (from, to) = (value(first)?, value(last)?);
        let change = change_pct(Some(from), Some(to))?;
        let how = if change.abs() < SAME_PCT {
            "held".to_owned()
        } else {
            format!("{change:+.0} %")
        };
        Some(format!("{name} {from:.0} → {to:.0} {unit} ({how})"))
    };
    let parts: Vec<String> = [
        one("torque", "N·m", &|h| h.torque_nm),
        one("cadence", "rpm", &|h| h.cadence_rpm),
        one("power", "W", &|h| h.power_w),
    ]
    .into_iter()
    .flatten()
    .collect();
    (!parts.is_empty()).then(|| {
        format!(
            "From the first whole rep to the last: {}.",
            parts.join(", ")
        )
    })
}

fn recoveries(session: &SessionEntry, reps: &[ReviewRepEntry]) -> Vec<String> {
    if session.recoveries_of == 0 {
        return Vec::new();
    }
    let mut said = vec![match (session.recoveries, session.recoveries_of) {
        (1, 1) => "The recovery was one.".to_owned(),
        (n, all) if n == all => format!("All {all} recoveries were long and easy enough."),
        (n, all) => format!("{n} of {all} recoveries were long and easy enough."),
    }];
    for (i, rep) in reps.iter().enumerate() {
        let Some(recovery) = rep.ridden.as_ref().and_then(|r| r.recovery.as_ref()) else {
            continue;
        };
        let after = rep.rep.map_or_else(
            || format!("the extra one (line {})", i + 1),
            |n| format!("rep {n}"),
        );
        if !recovery.was_one {
            said.push(format!(
                "After {after}: {} of rest in {}, asked for at least {}.",
                duration_text(recovery.rest_s),
                duration_text(recovery.duration_s),
                duration_text(recovery.asked_at_least_s)
            ));
        } else if recovery
            .asked_at_most_s
            .is_some_and(|most| recovery.duration_s > most + 60.0)
        {
            said.push(format!(
                "After {after}: {} to the next, asked for at most {}.",
                duration_text(recovery.duration_s),
                duration_text(recovery.asked_at_most_s.unwrap_or(0.0))
            ));
        }
    }
    said
}
