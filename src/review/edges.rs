//! Where a rep began and ended, to the second.
//!
//! The cut of [`super::segments`] knows the bands, not the rider: one who comes from 66 rpm into a rep at 58 crosses no border
//! that it sees. So each edge is moved to where the seconds begin, or cease, to look like the rep's own near that edge, by
//! least (bounded) squares. What is ridden outside may be anything, and is not modelled.

use super::seconds::Seconds;
use super::segments::Found;

/// An edge moves by at most so many seconds.
const REACH_S: usize = 8;
/// A start moves by at most so many seconds, and only to an earlier one: what the bands see late is a rider who comes in fast.
const EARLIER_S: usize = 3;
/// The rep's own level near an edge is the middle of so many seconds, after leaving out so many next to the edge.
const LEVEL_S: (usize, usize) = (24, 4);
/// How far a second strays from the level in a rep: cadence in turns a minute, power as a share.
const STRAY: (f64, f64) = (2.5, 0.12);
/// The same for a cadence that is held against the speed, which is known over nine seconds only.
const GEARED_STRAY_RPM: f64 = 4.0;
/// A second counts for at most this, in squares of strays.
const BOUND: f64 = 9.0;
/// What a second outside counts for, in squares of strays: one that strays by more is rather outside.
const OUTSIDE: f64 = 3.0;
/// Shorter reps have no level, in seconds.
const LEAST_S: usize = 60;

/// Moves the edges of the reps found. Estimated power is too blurred to say anything (`by_power`).
pub fn settle(found: &mut [Found], seconds: &Seconds, by_power: bool) {
    let count = seconds.count();
    for i in 0..found.len() {
        let (from, to) = (found[i].from, found[i].to);
        if to - from < LEAST_S {
            continue;
        }
        let before = if i > 0 { found[i - 1].to } else { 0 };
        let after = found.get(i + 1).map_or(count, |f| f.from);
        let start = from + LEVEL_S.1..(from + LEVEL_S.0).min(to);
        if let Some(level) = Level::of(seconds, start, by_power).and_then(|l| l.geared(seconds)) {
            // Outside up to the edge, inside from it on.
            let first = from.saturating_sub(EARLIER_S).max(before);
            found[i].from = edge(first, from, |k| level.misfit(seconds, k));
        }
        let end = to.saturating_sub(LEVEL_S.0).max(from)..to - LEVEL_S.1;
        if let Some(level) = Level::of(seconds, end, by_power).filter(|_| to < count) {
            let (first, last) = (to - REACH_S, (to + REACH_S).min(after));
            // Read backwards, the end is a beginning.
            let back = |k: usize| level.misfit(seconds, first + last - 1 - k);
            found[i].to = first + last - edge(first, last, back);
        }
    }
}

/// The second from which on to be inside costs least, between two bounds.
fn edge(first: usize, last: usize, misfit: impl Fn(usize) -> f64) -> usize {
    let (mut best, mut least) = (first, 0.0);
    // Cost of an edge at k against one at the first second: what lies between is outside instead of inside.
    let mut cost = 0.0;
    for k in first..last {
        cost -= misfit(k);
        if cost < least {
            (best, least) = (k + 1, cost);
        }
    }
    best
}

/// What a rep holds near one of its edges.
struct Level {
    rpm: Option<f64>,
    /// Metres per turn, where the cadence is to be that of the gear at the speed of the second: a rider's speed settles only
    /// after some seconds of a rep, the gear is the rep's from its first.
    development_m: Option<f64>,
    near: std::ops::Range<usize>,
    power_w: Option<f64>,
}

impl Level {
    fn of(seconds: &Seconds, near: std::ops::Range<usize>, by_power: bool) -> Option<Level> {
        let kept = near.clone();
        let power_w = by_power
            .then(|| middle(&seconds.power_w[near.clone()]))
            .flatten();
        let rpm = middle(&seconds.cadence_rpm[near]).filter(|c| *c > 1.0);
        (rpm.is_some() || power_w.is_some()).then_some(Level {
            rpm,
            power_w,
            development_m: None,
            near: kept,
        })
    }

    /// The same level by its gear; `None` without a cadence.
    fn geared(mut self, seconds: &Seconds) -> Option<Level> {
        let ratios: Vec<Option<f64>> = self
            .near
            .clone()
            .map(|i| {
                let rpm = seconds.cadence_rpm[i].filter(|c| *c > 1.0)?;
                Some(60.0 * seconds.speed_ms[i] / rpm)
            })
            .collect();
        self.development_m = Some(middle(&ratios).filter(|d| *d > 0.5)?);
        Some(self)
    }

    /// How much a second looks unlike the rep: more than 0 is rather outside.
    fn misfit(&self, seconds: &Seconds, i: usize) -> f64 {
        let one = |value: Option<f64>, level: Option<f64>, stray: f64| match (value, level) {
            (Some(x), Some(level)) => {
                let z = (x - level) / stray;
                (z * z).min(BOUND) - OUTSIDE
            }
            _ => 0.0,
        };
        let rpm = match self.development_m {
            Some(development_m) => Some(60.0 * seconds.speed_ms[i] / development_m),
            None => self.rpm,
        };
        let stray = if self.development_m.is_some() {
            GEARED_STRAY_RPM
        } else {
            STRAY.0
        };
        one(seconds.cadence_rpm[i], rpm, stray)
            + one(
                seconds.power_w[i],
                self.power_w,
                STRAY.1 * self.power_w.unwrap_or(1.0),
            )
    }
}

fn middle(values: &[Option<f64>]) -> Option<f64> {
    let mut known: Vec<f64> = values.iter().flatten().copied().collect();
    known.sort_by(f64::total_cmp);
    known.get(known.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_edge_is_moved_to_where_the_cadence_becomes_the_rep_s() {
        let rpm = |i: usize| if (100..340).contains(&i) { 58.0 } else { 66.0 };
        let seconds = Seconds {
            distance_m: vec![0.0; 600],
            cadence_rpm: (0..600).map(|i| Some(rpm(i))).collect(),
            power_w: vec![Some(205.0); 600],
            speed_ms: vec![58.0 / 60.0 * 4.0; 600],
            ..Seconds::default()
        };
        let mut found = [Found {
            from: 102,
            to: 345,
            block: 0,
        }];
        settle(&mut found, &seconds, true);
        assert_eq!((found[0].from, found[0].to), (100, 340));
    }
}
