//! A ridden rep beside the planned one.

use super::PowerFrom;
use super::measure::{RiddenRep, Rule};
use super::pairing::{self, Difference};
use super::passings::{PASSES_M, apart_m, passes, passings};
use super::planned::{Asked, AskedBlock, PlannedRep};
use super::seconds::Seconds;
use super::segments::Found;
use crate::prescription::duration_text;

/// How a rep was done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// As long as planned, and where.
    AsPlanned,
    /// Shorter than planned.
    Shorter,
    /// Longer than planned.
    Longer,
    /// Started somewhere else than planned.
    Elsewhere,
    /// Not planned.
    Extra,
    /// Planned, not ridden.
    Missing,
    /// The recording ends within it.
    RecordingEnds,
}

impl Done {
    /// As a word in a table.
    pub fn word(self) -> &'static str {
        match self {
            Done::AsPlanned => "as planned",
            Done::Shorter => "shorter",
            Done::Longer => "longer",
            Done::Elsewhere => "elsewhere",
            Done::Extra => "extra",
            Done::Missing => "missing",
            Done::RecordingEnds => "recording ends",
        }
    }
}

/// A rep lasts as planned within this share of its work, or within so many seconds if that is more: a thumb on a button.
const SAME_DURATION: (f64, f64) = (0.04, 8.0);
/// It starts where planned within this, in metres: less is a late shift, more is another piece of road.
pub const SAME_START_M: f64 = 100.0;
/// Of several things that may have been asked, the one whose starts the recording passes most; the first of equals.
pub fn nearest<'a>(asked: &'a [Asked], seconds: &Seconds) -> Option<&'a Asked> {
    if asked.len() < 2 {
        return asked.first();
    }
    let passed = |a: &Asked| {
        let places = a.reps.iter().filter_map(|r| r.place.as_ref());
        places.filter(|p| passes(seconds, p.start)).count()
    };
    // The last of the greatest is taken, so the first comes last.
    asked.iter().rev().max_by_key(|a| passed(a))
}

/// Which found rep is which planned one, numbered from 0.
pub fn pair(asked: &Asked, found: &[Found], seconds: &Seconds) -> Vec<Option<usize>> {
    let passed: Vec<Vec<usize>> = asked
        .reps
        .iter()
        .map(|rep| {
            rep.place
                .as_ref()
                .map_or(Vec::new(), |p| passings(seconds, p))
        })
        .collect();
    pairing::pair(asked.reps.len(), found.len(), |i, j| {
        let planned = &asked.reps[i];
        let (wanted, like) = (&asked.blocks[planned.block], &asked.blocks[found[j].block]);
        let from = found[j].from;
        let passing = (0..passed[i].len()).min_by_key(|k| passed[i][*k].abs_diff(from));
        let place = planned.place.as_ref();
        Difference {
            duration_ratio: (found[j].to - from) as f64 / wanted.work_s,
            apart_m: place.map(|p| apart_m(seconds, from, p.start)),
            other_passing: place.zip(passing).is_some_and(|(p, k)| p.passing != k + 1),
            other_block: wanted.bands != like.bands,
        }
    })
}

/// How a rep that was ridden was done.
pub fn done(
    planned: Option<&PlannedRep>,
    ridden: &RiddenRep,
    block: &AskedBlock,
    start_apart_m: Option<f64>,
    seconds: &Seconds,
) -> Vec<Done> {
    if planned.is_none() {
        return vec![Done::Extra];
    }
    let mut done = Vec::new();
    let within_s = (SAME_DURATION.0 * block.work_s).max(SAME_DURATION.1);
    let longer_s = (ridden.found.to - ridden.found.from) as f64 - block.work_s;
    if longer_s < -within_s {
        done.push(Done::Shorter);
        if ridden.found.to >= seconds.count() {
            done.push(Done::RecordingEnds);
        }
    } else if longer_s > within_s {
        done.push(Done::Longer);
    }
    if start_apart_m.is_some_and(|m| m > SAME_START_M) {
        done.push(Done::Elsewhere);
    }
    if done.is_empty() {
        done.push(Done::AsPlanned);
    }
    done
}

/// What the recording shows where a rep was planned that was not ridden, between two seconds: the planned passing of its start,
/// where no rep found is being ridden; and when that was.
pub fn instead(
    planned: &PlannedRep,
    asked: &Asked,
    (after, before): (usize, usize),
    found: &[Found],
    rule: Rule,
) -> (Option<String>, Option<usize>) {
    let Some(place) = planned.place.as_ref() else {
        return (None, None);
    };
    let seconds = rule.seconds;
    let passed = passings(seconds, place);
    let told = |text: &str| (Some(text.to_owned()), None);
    if passed.is_empty() {
        return told("the recording doesn't pass the planned start");
    }
    let within_rep = |at: usize| found.iter().any(|f| (f.from..f.to).contains(&at));
    let mut free = (1..)
        .zip(passed)
        .filter(|(_, at)| (after..before).contains(at) && !within_rep(*at));
    let first = free.next();
    let due = first
        .into_iter()
        .chain(free)
        .find(|(passing, _)| *passing >= place.passing);
    let Some((_, from)) = due.or(first) else {
        return told(
            "the recording doesn't pass the planned start between the reps before and after it",
        );
    };
    let planned_to = from + asked.blocks[planned.block].work_s as usize;
    if planned_to >= seconds.count() {
        let text = "the recording ends before it could have been over".to_owned();
        return (Some(text), Some(from));
    }
    let next = found.iter().map(|f| f.from).find(|f| *f > from);
    let to = next.map_or(planned_to, |next| planned_to.min(next));
    let held = rule.held(from, to);
    let parts: Vec<String> = [
        held.power_w.map(|p| format!("{p:.0} W")),
        held.cadence_rpm.map(|c| format!("{c:.0} rpm")),
    ]
    .into_iter()
    .flatten()
    .collect();
    let at = duration_text(from as f64);
    let text = format!(
        "the planned start was passed at {at}, then {}",
        parts.join(" at ")
    );
    (Some(text), Some(from))
}

/// What is to be said of the recording as a whole.
pub fn remarks(asked: &Asked, seconds: &Seconds, power_from: PowerFrom) -> Vec<String> {
    let mut told = Vec::new();
    let places: Vec<_> = asked.reps.iter().filter_map(|r| r.place.as_ref()).collect();
    let passed = places.iter().filter(|p| passes(seconds, p.start)).count();
    if !places.is_empty() && passed == 0 {
        told.push(format!(
            "the recording passes none of the {} planned starts within {PASSES_M:.0} m: it is of another route than the plan; \
             reps are told wherever they were ridden",
            places.len()
        ));
    } else if passed < places.len() {
        told.push(format!(
            "the recording passes {passed} of the {} planned starts within {PASSES_M:.0} m",
            places.len()
        ));
    }
    if !seconds.has_cadence() {
        told.push("no cadence: reps are found by power alone, which is less sure, and torque and gear can't be told".to_owned());
    }
    match power_from {
        PowerFrom::Measured => {}
        PowerFrom::Estimated => told.push(
            "no power meter: power is estimated from speed, grade and mass over 17 seconds; the range is what nine in ten lie \
             within, and wind makes most of it"
                .to_owned(),
        ),
        PowerFrom::Nothing => told.push(
            "no power meter, and no rider file or no elevations to estimate power from: reps are found by cadence alone; add --rider"
                .to_owned(),
        ),
    }
    told
}
