//! Where a rep began and ended, to the second.
//!
//! The cut of [`super::segments`] knows the bands, not the rider: one who goes on from 58 rpm at 66 crosses no border that it
//! sees. So each end is moved to where the seconds cease to look like the rep's own last ones, by least (bounded) squares.
//! What is ridden after it may be anything, and is not modelled. Beginnings stand in `approach`.

use super::approach;
use super::seconds::Seconds;
use super::segments::Found;

/// An end moves by at most so many seconds.
const REACH_S: usize = 8;
/// The rep's own level is the middle of so many seconds, after leaving out so many next to the end.
const LEVEL_S: (usize, usize) = (24, 4);
/// How far a second strays from the level in a rep: cadence in turns a minute, power as a share.
pub(super) const STRAY: (f64, f64) = (2.5, 0.12);
/// A second counts for at most this, in squares of strays.
pub(super) const BOUND: f64 = 9.0;
/// What a second outside counts for, in squares of strays: one that strays by more is rather outside.
const OUTSIDE: f64 = 3.0;
/// Shorter reps have no level, in seconds.
const LEAST_S: usize = 60;

/// Moves beginnings and ends of the reps found. Estimated power is too blurred to say anything (`by_power`).
pub fn settle(found: &mut [Found], seconds: &Seconds, by_power: bool) {
    let count = seconds.count();
    for i in 0..found.len() {
        let (from, to) = (found[i].from, found[i].to);
        if to - from < LEAST_S {
            continue;
        }
        let before = i.checked_sub(1).map_or(0, |b| found[b].to);
        found[i].from = approach::start(seconds, (before, from), by_power);
        if to == count {
            continue;
        }
        let next = found.get(i + 1).map_or(count, |f| f.from);
        let near = to - LEVEL_S.0..to - LEVEL_S.1;
        if let Some(level) = Level::of(seconds, near, by_power) {
            found[i].to = end(to - REACH_S, (to + REACH_S).min(next), |k| {
                level.misfit(seconds, k)
            });
        }
    }
}

/// The second until which to be inside costs least, between two bounds.
fn end(first: usize, last: usize, misfit: impl Fn(usize) -> f64) -> usize {
    let (mut best, mut least, mut cost) = (first, 0.0, 0.0);
    for k in first..last {
        cost += misfit(k);
        if cost < least {
            (best, least) = (k + 1, cost);
        }
    }
    best
}

/// What a rep holds towards its end.
struct Level {
    rpm: Option<f64>,
    power_w: Option<f64>,
}

impl Level {
    fn of(seconds: &Seconds, near: std::ops::Range<usize>, by_power: bool) -> Option<Level> {
        let power_w = by_power
            .then(|| middle(seconds.power_w[near.clone()].iter().flatten().copied()))
            .flatten();
        let rpm = middle(seconds.cadence_rpm[near].iter().flatten().copied()).filter(|c| *c > 1.0);
        (rpm.is_some() || power_w.is_some()).then_some(Level { rpm, power_w })
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
        let power_stray_w = STRAY.1 * self.power_w.unwrap_or(1.0);
        one(seconds.cadence_rpm[i], self.rpm, STRAY.0)
            + one(seconds.power_w[i], self.power_w, power_stray_w)
    }
}

pub(super) fn middle(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut known: Vec<f64> = values.collect();
    known.sort_by(f64::total_cmp);
    known.get(known.len() / 2).copied()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Ten minutes in one gear of 3.5 m, by a cadence and a power of each second, settled with a rep found by the bands.
    fn settled(
        rpm: impl Fn(usize) -> f64,
        power_w: impl Fn(usize) -> f64,
        (from, to): (usize, usize),
    ) -> (usize, usize) {
        let seconds = Seconds {
            distance_m: vec![0.0; 600],
            speed_ms: (0..600).map(|i| 3.5 * rpm(i) / 60.0).collect(),
            cadence_rpm: (0..600).map(|i| Some(rpm(i))).collect(),
            power_w: (0..600).map(|i| Some(power_w(i))).collect(),
            ..Seconds::default()
        };
        let mut found = [Found { from, to, block: 0 }];
        settle(&mut found, &seconds, true);
        (found[0].from, found[0].to)
    }

    #[test]
    fn an_end_is_moved_to_where_the_cadence_ceases_to_be_the_rep_s() {
        let rpm = |i: usize| if (100..340).contains(&i) { 58.0 } else { 66.0 };
        assert_eq!(settled(rpm, |_| 205.0, (100, 345)), (100, 340));
    }

    #[test]
    fn a_beginning_is_moved_to_where_the_cadence_begins_to_glide() {
        let rpm = |i: usize| (76.0 - 2.0 * (i as f64 - 100.0)).clamp(56.0, 76.0);
        let power_w = |i: usize| if i < 100 { 250.0 } else { 195.0 };
        let (from, to) = settled(rpm, power_w, (107, 600));
        assert!(from.abs_diff(100) <= 1 && to == 600, "{from} {to}");
        // Harder after the glide than in it: there the rep was not yet ridden.
        let power_w = |i: usize| if i < 107 { 120.0 } else { 205.0 };
        assert_eq!(settled(rpm, power_w, (107, 600)).0, 107);
    }
}
