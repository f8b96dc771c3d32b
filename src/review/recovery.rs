//! The easy riding between reps, and whether it was a recovery.

use super::ReviewedRep;
use super::measure::mean;
use super::planned::Asked;
use super::seconds::Seconds;
use crate::prescription::duration_text;

/// The easy riding after a rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recovery {
    /// To the next rep's start, in seconds.
    pub duration_s: f64,
    /// What of that was ridden at no more than the recovery ceiling, or standing, in seconds.
    pub rest_s: f64,
    /// Mean power, in watts.
    pub power_w: Option<f64>,
    /// Standing still, in seconds.
    pub halted_s: f64,
    /// Shortest recovery asked for, in seconds.
    pub asked_at_least_s: f64,
    /// Longest recovery asked for, in seconds.
    pub asked_at_most_s: Option<f64>,
    /// Whether the rest was as long as asked.
    pub was_one: bool,
}

/// A recovery that is this much short is still one, in seconds.
const SHORT_BY_S: f64 = 10.0;
/// Power is judged on means over so many seconds: a push over a rise is not the end of a recovery.
const POWER_MEAN_S: usize = 10;

/// Works out the recovery after each ridden rep but the last.
pub(super) fn fill(reps: &mut [ReviewedRep], asked: &Asked, seconds: &Seconds) {
    let mut next_start = None;
    for rep in reps.iter_mut().rev() {
        let Some(ridden) = &rep.ridden else { continue };
        let block = &asked.blocks[rep.planned.as_ref().map_or(ridden.found.block, |p| p.block)];
        if let Some(to) = next_start {
            let from = ridden.found.to;
            let rest_s = rest_s(seconds, from, to, asked.recovery_ceiling_w);
            rep.recovery = Some(Recovery {
                duration_s: (to - from) as f64,
                rest_s,
                power_w: mean(seconds.power_w[from..to].iter().flatten().copied()),
                halted_s: seconds.halted[from..to].iter().filter(|h| **h).count() as f64,
                asked_at_least_s: block.recovery_at_least_s,
                asked_at_most_s: block.recovery_at_most_s,
                was_one: rest_s + SHORT_BY_S >= block.recovery_at_least_s,
            });
        }
        next_start = Some(ridden.found.from);
    }
}

fn rest_s(seconds: &Seconds, from: usize, to: usize, ceiling_w: f64) -> f64 {
    let half = POWER_MEAN_S / 2;
    let easy = |i: usize| {
        let around = i.saturating_sub(half).max(from)..(i + half).min(to);
        seconds.halted[i]
            || mean(seconds.power_w[around].iter().flatten().copied())
                .is_none_or(|p| p <= ceiling_w)
    };
    (from..to).filter(|i| easy(*i)).count() as f64
}

/// A power of 0 for so long while the cranks turn uphill is a meter that has lost its signal, in seconds.
const SILENT_S: usize = 10;
/// Uphill by at least this, in metres per metre; and with the cranks turning so fast, in turns a minute.
const SILENT_GRADE: f64 = 0.02;
const SILENT_RPM: f64 = 40.0;

/// Takes out powers of 0 where the cranks turn uphill, and tells; cranks at rest, or turning downhill, at 0 W are as they should be.
pub(super) fn silent_power(seconds: &mut Seconds) -> Option<String> {
    let elevation_m = seconds.elevation_m.as_ref()?;
    let count = seconds.count();
    let silent: Vec<bool> = (0..count)
        .map(|i| {
            let to = (i + 5).min(count - 1);
            let way_m = seconds.distance_m[to] - seconds.distance_m[i];
            let uphill = elevation_m[to] - elevation_m[i] > SILENT_GRADE * way_m && way_m > 2.0;
            uphill
                && seconds.power_w[i] == Some(0.0)
                && seconds.cadence_rpm[i].is_some_and(|c| c > SILENT_RPM)
        })
        .collect();
    let long: Vec<(usize, usize)> = super::seconds::runs(&silent)
        .filter(|(a, b)| b - a >= SILENT_S)
        .collect();
    let (first, _) = long.first()?;
    let all: usize = long.iter().map(|(a, b)| b - a).sum();
    let told = format!(
        "power: reads 0 W for {} in all while the cranks turn uphill, first at {}; taken as missing",
        duration_text(all as f64),
        duration_text(*first as f64)
    );
    for (from, to) in long {
        seconds.power_w[from..to].fill(None);
    }
    Some(told)
}
