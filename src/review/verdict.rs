//! A ridden rep beside the planned one.

use super::PowerFrom;
use super::measure::{RiddenRep, Rule};
use super::pairing::{self, Difference};
use super::planned::{Asked, AskedBlock, PlannedRep};
use super::seconds::Seconds;
use super::segments::Found;
use crate::prescription::duration_text;
use crate::route::{LatLon, step_m};

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
/// A recording passes a place within this, in metres: a receiver's error, and the other side of a wide road.
const PASSES_M: f64 = 60.0;

/// Metres from a second of the recording to a place.
pub fn apart_m(seconds: &Seconds, second: usize, place: LatLon) -> f64 {
    let here = LatLon {
        lat_deg: seconds.lat_deg[second.min(seconds.count() - 1)],
        lon_deg: seconds.lon_deg[second.min(seconds.count() - 1)],
    };
    step_m(here, place)
}

/// When the recording passes a place first at or after a second: its nearest approach there.
pub fn passes(seconds: &Seconds, place: LatLon, from: usize) -> Option<usize> {
    let mut best: Option<(usize, f64)> = None;
    let mut i = from;
    while i < seconds.count() {
        let apart = apart_m(seconds, i, place);
        match best {
            Some((_, least)) if apart < least => best = Some((i, apart)),
            None if apart <= PASSES_M => best = Some((i, apart)),
            Some(_) if apart > 2.0 * PASSES_M => break,
            _ => {}
        }
        // Nobody covers more than 30 m in a second: far away, seconds can be skipped.
        i += if best.is_none() {
            ((apart - PASSES_M) / 30.0).max(1.0) as usize
        } else {
            1
        };
    }
    best.map(|(i, _)| i)
}

/// Of several things that may have been asked, the one whose starts the recording passes most; the first of equals.
pub fn nearest<'a>(asked: &'a [Asked], seconds: &Seconds) -> Option<&'a Asked> {
    if asked.len() < 2 {
        return asked.first();
    }
    let passed = |a: &Asked| {
        let places = a.reps.iter().filter_map(|r| r.place.as_ref());
        places
            .filter(|p| passes(seconds, p.start, 0).is_some())
            .count()
    };
    // The last of the greatest is taken, so the first comes last.
    asked.iter().rev().max_by_key(|a| passed(a))
}

/// Which found rep is which planned one, numbered from 0.
pub fn pair(asked: &Asked, found: &[Found], seconds: &Seconds) -> Vec<Option<usize>> {
    pairing::pair(asked.reps.len(), found.len(), |i, j| {
        let planned = &asked.reps[i];
        let (wanted, like) = (&asked.blocks[planned.block], &asked.blocks[found[j].block]);
        Difference {
            duration_ratio: (found[j].to - found[j].from) as f64 / wanted.work_s,
            apart_m: planned
                .place
                .as_ref()
                .map(|p| apart_m(seconds, found[j].from, p.start)),
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

/// What the recording shows where a rep was planned that was not ridden.
pub fn instead(
    planned: &PlannedRep,
    asked: &Asked,
    seconds: &Seconds,
    rule: Rule,
) -> Option<String> {
    let place = planned.place.as_ref()?;
    let Some(from) = passes(seconds, place.start, 0) else {
        return Some("the recording doesn't pass the planned start".to_owned());
    };
    let to = from + asked.blocks[planned.block].work_s as usize;
    if to >= seconds.count() {
        return Some("the recording ends before it could have been over".to_owned());
    }
    let held = rule.held(from, to);
    let parts: Vec<String> = [
        held.power_w.map(|p| format!("{p:.0} W")),
        held.cadence_rpm.map(|c| format!("{c:.0} rpm")),
    ]
    .into_iter()
    .flatten()
    .collect();
    let at = duration_text(from as f64);
    Some(format!(
        "the planned start was passed at {at}, then {}",
        parts.join(" at ")
    ))
}

/// What is to be said of the recording as a whole.
pub fn remarks(asked: &Asked, seconds: &Seconds, power_from: PowerFrom) -> Vec<String> {
    let mut told = Vec::new();
    let places: Vec<_> = asked.reps.iter().filter_map(|r| r.place.as_ref()).collect();
    let passed = places
        .iter()
        .filter(|p| passes(seconds, p.start, 0).is_some())
        .count();
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
