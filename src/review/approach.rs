//! Where a rep began into which the cadence glides.
//!
//! Who comes in fast takes seconds to slow down into the band, and the bands see the rep begin after that. Its beginning is moved back to where the cadence
//! begins to glide there, in the rep's gear and with its power, by least (bounded) squares: even riding before, a parabola after.

use super::edges::{BOUND, STRAY, middle};
use super::gear::LEAST;
use super::seconds::Seconds;

/// A glide into the band takes at most so many seconds. These times were chosen on 288 beginnings of made rides (`tests/made_ride`, seeds 20 to 67,
/// gears and places varied); with 8 s, glides from above 80 rpm begin too late.
const GLIDE_S: usize = 12;
/// A glide goes on for so many seconds in the band.
const GLIDES_ON_S: usize = 5;
/// The riding before has the cadence and the power of the middle of its last seconds, so many.
const BEFORE_S: usize = 6;
/// The gear and the power that a rep begins with are the middle of so many of its first seconds.
const FIRST_S: (usize, usize) = (8, 12);
/// How far a second strays from an even cadence or from one that glides along a parabola, in turns a minute. Of 288 other beginnings
/// (seeds 70 to 117), 233 were within 3 s by the bands alone, 276 with glides.
const GLIDE_STRAY_RPM: f64 = 1.5;
/// How far metres per turn of a second stray in one gear, as a share: a receiver's jitter over the nine seconds of a speed.
const GEAR_STRAY: f64 = 0.05;

/// Where a cadence that glides into the band begins to, at most [`GLIDE_S`] before the second from which it is in the band and after the one
/// at which the rep before ended; that second, where it comes into it at once. Estimated power says nothing (`by_power`).
pub(super) fn start(seconds: &Seconds, (after, from): (usize, usize), by_power: bool) -> usize {
    if from < after + GLIDE_S + BEFORE_S {
        return from;
    }
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
        let turning = |i: usize| seconds.cadence_rpm[i].is_some_and(|c| c >= LEAST.1);
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
