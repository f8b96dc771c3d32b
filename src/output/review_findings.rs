//! What a review comes to, in sentences. They speak of the session, not of the rider.

use super::document_review::{HeldEntry, ReviewRepEntry, SessionEntry};
use crate::prescription::duration_text;
use crate::review::session::change_pct;

/// A change smaller than this is none, in per cent.
const SAME_PCT: f64 = 3.0;
/// A recovery is told as longer than asked for if it is by this, in seconds.
const LONGER_BY_S: f64 = 60.0;

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

/// One sentence: how many of the recoveries were ones, which were not, and which were longer than asked.
fn recoveries(session: &SessionEntry, reps: &[ReviewRepEntry]) -> Option<String> {
    let mut text = match (session.recoveries, session.recoveries_of) {
        (_, 0) => return None,
        (1, 1) => "The recovery was long and easy enough".to_owned(),
        (0, 1) => "The recovery was too short or not easy enough".to_owned(),
        (n, all) if n == all => format!("All {all} recoveries were long and easy enough"),
        (n, all) => format!("{n} of {all} recoveries were long and easy enough"),
    };
    for (i, rep) in reps.iter().enumerate() {
        let Some(recovery) = rep.ridden.as_ref().and_then(|r| r.recovery.as_ref()) else {
            continue;
        };
        let after = rep.rep.map_or_else(
            || format!("the extra one (line {})", i + 1),
            |n| format!("rep {n}"),
        );
        let (lasted, rest) = (
            duration_text(recovery.duration_s),
            duration_text(recovery.rest_s),
        );
        let longest_s = recovery
            .asked_at_most_s
            .filter(|most| recovery.duration_s > most + LONGER_BY_S);
        if !recovery.was_one {
            let least = duration_text(recovery.asked_at_least_s);
            text += &format!(
                "; after {after} only {rest} of rest in {lasted}, asked for at least {least}"
            );
        } else if let Some(most_s) = longest_s {
            let most = duration_text(most_s);
            text += &format!(
                "; after {after} longer than asked for, {lasted} where {most} was the most"
            );
        }
    }
    Some(text + ".")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::document::Place;
    use crate::output::document_review::{RecoveryEntry, RiddenEntry};

    fn held() -> HeldEntry {
        HeldEntry {
            power_w: None,
            cadence_rpm: None,
            torque_nm: None,
            heart_rate_bpm: None,
        }
    }

    fn rep(number: usize, rest_s: f64, duration_s: f64) -> ReviewRepEntry {
        let place = || Place {
            distance_m: 0.0,
            lat: 0.0,
            lon: 0.0,
            elevation_m: 0.0,
        };
        let recovery = RecoveryEntry {
            duration_s,
            rest_s,
            power_w: None,
            halted_s: 0.0,
            asked_at_least_s: 240.0,
            asked_at_most_s: Some(540.0),
            was_one: rest_s >= 240.0,
        };
        ReviewRepEntry {
            rep: Some(number),
            block: 1,
            done: vec!["as planned".to_owned()],
            planned_duration_s: 240.0,
            planned_start_m: None,
            planned_gear: None,
            ridden: Some(RiddenEntry {
                start_time_s: 0.0,
                duration_s: 240.0,
                start: place(),
                end: place(),
                start_apart_m: None,
                speed_kmh: 12.0,
                grade_pct: None,
                halts: Vec::new(),
                coasting_s: 0.0,
                from_standing: false,
                held: held(),
                power_range_w: None,
                first_minute: held(),
                last_minute: held(),
                cadence_in_band_pct: None,
                power_in_band_pct: None,
                gears: Vec::new(),
                model_duration_s: None,
                model_duration_range_s: None,
                band_duration_range_s: None,
                recovery: Some(recovery),
            }),
            instead: None,
        }
    }

    fn said(reps: &[ReviewRepEntry]) -> Option<String> {
        let ones = |r: &&ReviewRepEntry| {
            let recovery = r.ridden.as_ref().and_then(|r| r.recovery.as_ref());
            recovery.is_some_and(|r| r.was_one)
        };
        let session = SessionEntry {
            planned: reps.len(),
            ridden: reps.len(),
            as_planned: reps.len(),
            extra: 0,
            work_s: 0.0,
            cadence_in_band_pct: None,
            power_in_band_pct: None,
            first_rep: None,
            last_rep: None,
            recoveries: reps.iter().filter(ones).count(),
            recoveries_of: reps.len(),
        };
        recoveries(&session, reps)
    }

    #[test]
    fn recoveries_that_were_too_long_are_told_in_the_sentence_that_counts_them() {
        let reps = [rep(1, 300.0, 320.0), rep(2, 1000.0, 1655.0)];
        let expected = "All 2 recoveries were long and easy enough; after rep 2 longer than asked for, 27:35 where 9:00 was the most.";
        assert_eq!(said(&reps).as_deref(), Some(expected));
        let reps = [rep(1, 130.0, 320.0), rep(2, 300.0, 330.0)];
        let expected = "1 of 2 recoveries were long and easy enough; after rep 1 only 2:10 of rest in 5:20, asked for at least 4:00.";
        assert_eq!(said(&reps).as_deref(), Some(expected));
        assert_eq!(said(&[]), None);
    }
}
