//! Where a rep began and ended, to the second.
//!
//! The cut of [`super::segments`] knows the bands, not the rider: one who goes on from 58 rpm at 66 crosses no border that it
//! sees. So each end is moved to where the seconds cease to look like the rep's own last ones, by least (bounded) squares.
//! What is ridden after it may be anything, and is not modelled. Who comes in fast takes seconds to slow down into the band:
//! a beginning is moved back to where the cadence begins to glide there, in the rep's gear and with its power.

use super::seconds::Seconds;
use super::segments::Found;

/// An end moves by at most so many seconds.
const REACH_S: usize = 8;
/// The rep's own level is the middle of so many seconds, after leaving out so many next to the end.
const LEVEL_S: (usize, usize) = (24, 4);
/// How far a second strays from the level in a rep: cadence in turns a minute, power as a share.
const STRAY: (f64, f64) = (2.5, 0.12);
/// A second counts for at most this, in squares of strays.
const BOUND: f64 = 9.0;
/// What a second outside counts for, in squares of strays: one that strays by more is rather outside.
const OUTSIDE: f64 = 3.0;
/// Slower cranks tell no gear, in turns a minute.
const LEAST_RPM: f64 = 20.0;
/// Shorter reps have no level, in seconds.
const LEAST_S: usize = 60;

/// A glide into the band takes at most so many seconds.
const GLIDE_S: usize = 12;
/// A glide goes on for so many seconds in the band.
const GLIDES_ON_S: usize = 5;
/// The riding before has the cadence and the power of the middle of its last seconds, so many.
const BEFORE_S: usize = 6;
/// The gear and the power that a rep begins with are the middle of so many of its first seconds.
const FIRST_S: (usize, usize) = (8, 12);
/// How far a second strays from an even cadence or from one that glides along a parabola, in turns a minute. Of 288 beginnings of made rides that no
/// constant was chosen on (`tests/made_ride`, gears and places varied), 233 were within 3 s by the bands alone, 280 with glides.
const GLIDE_STRAY_RPM: f64 = 1.5;
/// How far metres per turn of a second stray in one gear, as a share: a receiver's jitter over the nine seconds of a speed.
const GEAR_STRAY: f64 = 0.05;

/// Moves beginnings and ends of the reps found. Estimated power is too blurred to say anything (`by_power`).
pub fn settle(found: &mut [Found], seconds: &Seconds, by_power: bool) {
    let count = seconds.count();
    for i in 0..found.len() {
        let (from, to) = (found[i].from, found[i].to);
        if to - from < LEAST_S {
            continue;
        }
        let before = i.checked_sub(1).map_or(0, |b| found[b].to);
        if from >= before + GLIDE_S + BEFORE_S {
            found[i].from = start(seconds, from, by_power);
        }
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

/// Where a cadence that glides into the band begins to, at most [`GLIDE_S`] before a second; that second, where it comes into it at once.
fn start(seconds: &Seconds, from: usize, by_power: bool) -> usize {
    let Some(approach) = Approach::of(seconds, from, by_power) else {
        return from;
    };
    let (mut best, mut least) = (from, approach.misfit(from));
    for k in (from - GLIDE_S..from).filter(|k| !approach.is_easy_from(*k)) {
        let misfit = approach.misfit(k);
        if misfit < least {
            (best, least) = (k, misfit);
        }
    }
    best
}

/// The seconds around a beginning.
struct Approach<'a> {
    seconds: &'a Seconds,
    /// The beginning by the bands.
    from: usize,
    /// Gear of the rep's first seconds, in metres per turn.
    gear_m: f64,
    /// Power of the rep's first seconds, where it was measured.
    power_w: Option<f64>,
}

impl<'a> Approach<'a> {
    /// `None` where the cranks don't turn all along.
    fn of(seconds: &'a Seconds, from: usize, by_power: bool) -> Option<Approach<'a>> {
        let turning = |i: usize| seconds.cadence_rpm[i].is_some_and(|c| c >= LEAST_RPM);
        if !(from - GLIDE_S - BEFORE_S..from + FIRST_S.1).all(turning) {
            return None;
        }
        let first = from..from + FIRST_S.1;
        Some(Approach {
            seconds,
            from,
            gear_m: middle((from..from + FIRST_S.0).map(|i| development_m(seconds, i)))?,
            power_w: by_power
                .then(|| middle(seconds.power_w[first].iter().flatten().copied()))
                .flatten(),
        })
    }

    /// Whether the power from a second to the beginning by the bands is plainly less than the rep's.
    fn is_easy_from(&self, begun: usize) -> bool {
        let power_w = &self.seconds.power_w;
        let gliding_w = middle((begun..self.from).filter_map(|i| power_w[i]));
        let pair = gliding_w.zip(self.power_w);
        pair.is_some_and(|(gliding_w, own_w)| gliding_w < (1.0 - 2.0 * STRAY.1) * own_w)
    }

    /// How much the seconds are unlike an even approach up to a second and a glide into the rep from it, in squares of strays.
    fn misfit(&self, begun: usize) -> f64 {
        let after = begun..self.from + GLIDES_ON_S;
        let near = begun - BEFORE_S..begun;
        // What was ridden before that may be anything, and each second of it costs what the near ones do.
        let all = 1.0 + (GLIDE_S + begun - self.from) as f64 / BEFORE_S as f64;
        let rpm = |i: usize| self.seconds.cadence_rpm[i].unwrap_or(0.0);
        let even_rpm = middle(near.clone().map(rpm)).unwrap_or(0.0);
        let glide: Vec<f64> = after.clone().map(rpm).collect();
        let off = off_parabola(&glide);
        let cadence = all * sum(near.clone(), |i| (rpm(i) - even_rpm) / GLIDE_STRAY_RPM)
            + sum(0..off.len(), |i| off[i] / GLIDE_STRAY_RPM);
        let gear = sum(begun..self.from, |i| {
            (development_m(self.seconds, i) / self.gear_m).ln() / GEAR_STRAY
        });
        let power_w = &self.seconds.power_w;
        let before_w = middle(near.clone().filter_map(|i| power_w[i]));
        let power = before_w.zip(self.power_w).map_or(0.0, |(before_w, own_w)| {
            let off = |i: usize, level_w: f64| {
                power_w[i].map_or(0.0, |p| (p - level_w) / (STRAY.1 * level_w.max(1.0)))
            };
            all * sum(near, |i| off(i, before_w)) + sum(after, |i| off(i, own_w))
        });
        cadence + gear + power
    }
}

/// The sum of bounded squares.
fn sum(range: std::ops::Range<usize>, strays: impl Fn(usize) -> f64) -> f64 {
    range.map(|i| strays(i).powi(2).min(BOUND)).sum()
}

/// How far each of some values is off their parabola by least squares; fewer than four lie on one.
fn off_parabola(values: &[f64]) -> Vec<f64> {
    let count = values.len() as f64;
    let x = |i: usize| i as f64 - 0.5 * (count - 1.0);
    let mean_square = (0..values.len()).map(|i| x(i) * x(i)).sum::<f64>() / count;
    // Polynomials that are orthogonal on even steps.
    let shapes: [&dyn Fn(usize) -> f64; 3] = [&|_| 1.0, &x, &|i| x(i) * x(i) - mean_square];
    let mut off = values.to_vec();
    for shape in shapes {
        let (up, down) = (0..values.len()).fold((0.0, 1e-9), |(up, down), i| {
            (up + shape(i) * values[i], down + shape(i) * shape(i))
        });
        for (i, off) in off.iter_mut().enumerate() {
            *off -= up / down * shape(i);
        }
    }
    off
}

fn development_m(seconds: &Seconds, i: usize) -> f64 {
    60.0 * seconds.speed_ms[i].max(0.1) / seconds.cadence_rpm[i].unwrap_or(0.0).max(1.0)
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

fn middle(values: impl Iterator<Item = f64>) -> Option<f64> {
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
