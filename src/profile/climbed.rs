//! What is climbed between two nodes, and how sure that is.
//!
//! Errors of neighbouring elevations go together, so the error of a climb's gain is not that of its two ends. The filter is run
//! from before the one end to beyond the other with the gain as one more part of the state: it grows with the road between
//! the ends and stays as it is after, while what is recorded beyond still teaches about it.

use super::Profile;
use super::kalman::{Belief, Dynamics, Lesson, Observation, Vector};

/// How far beyond the ends the recording still tells about them, in metres: many times any error's correlation length that
/// leaves a climb worth finding.
const BEYOND_M: f64 = 800.0;

/// Metres climbed between two places, with the variance of that.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Climbed {
    /// In metres.
    pub gain_m: f64,
    /// In m².
    pub variance_m2: f64,
}

/// What is climbed between two nodes, the first before the second, given where the road turns.
pub fn between(profile: &Profile, from: usize, to: usize) -> Climbed {
    let mut dynamics = Dynamics::new(profile.spacing_m, &profile.noise);
    let beyond = (BEYOND_M / profile.spacing_m) as usize;
    let first = from.saturating_sub(beyond);
    let last = (to + beyond).min(profile.nodes() - 1);
    let mut belief = Belief::start(profile.elevation_m[first], &dynamics);
    let next = profile.turns.partition_point(|t| t.node <= first);
    belief.turn(profile.turns[next.max(1) - 1].uneven);
    let mut turns = profile.turns[next..].iter().peekable();
    let mut gain = Gain::default();
    let mut doubts = 0;
    for node in first..=last {
        let seen = &profile.observations[node];
        if node > first {
            dynamics.towards(seen);
            gain.step(&belief, &dynamics, node > from && node <= to);
            belief.step(&dynamics);
        }
        if seen.count > 0
            && let (Some(lesson), _) = belief.weigh(seen, &dynamics, &mut doubts)
        {
            gain.learn(&lesson, seen);
        }
        if let Some(turn) = turns.next_if(|t| t.node == node) {
            belief.turn(turn.uneven);
            gain.with[2] = 0.0;
        }
    }
    Climbed {
        gain_m: gain.mean_m,
        variance_m2: gain.variance_m2.max(0.0),
    }
}

/// The gain as a part of the state.
#[derive(Default)]
struct Gain {
    mean_m: f64,
    variance_m2: f64,
    /// Covariance with the other parts.
    with: Vector,
}

impl Gain {
    /// Follows a step, before the belief takes it; `grows` inside the climb.
    fn step(&mut self, belief: &Belief, d: &Dynamics, grows: bool) {
        let by = if belief.uneven { &d.uneven } else { &d.steady };
        let (h, c) = (d.step_m, by.climbs_m);
        let wander = belief.wander_variance();
        let share = if grows { 1.0 } else { 0.0 };
        let rise = |v: &Vector| h * v[1] + c * v[2];
        self.mean_m += share * rise(&belief.mean);
        let slope = belief.cov.times(&[0.0, h, c, 0.0]);
        let fresh_m2 = belief.fresh_m2(d);
        self.variance_m2 += share * (2.0 * rise(&self.with) + rise(&slope) + fresh_m2);
        // Covariance of the gain with the old state, then with the new one.
        let old: Vector = [0, 1, 2, 3].map(|k| self.with[k] + share * slope[k]);
        self.with = [
            old[0] + rise(&old) + share * fresh_m2,
            old[1],
            by.keeps * old[2] + share * wander * by.fresh_both_m,
            d.error_keeps * old[3],
        ];
    }

    /// Learns from what the belief learned.
    fn learn(&mut self, lesson: &Lesson, seen: &Observation) {
        let across = self.with[0]
            + seen.offset_m * (self.with[1] + self.with[2])
            + seen.error_scale * self.with[3];
        self.mean_m += across / lesson.variance_m2 * lesson.surprise_m;
        self.variance_m2 -= across * across / lesson.variance_m2;
        for (with, gain) in self.with.iter_mut().zip(lesson.gain) {
            *with -= across * gain;
        }
    }
}
