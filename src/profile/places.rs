//! Where each turn lies, given the others: the middle of all places that it might have.
//!
//! The search for turns names the single most likely place of each. Where the recording is poor, many places are nearly as
//! likely, mostly to one side, and the most likely one may be far out; the median of them all makes the expected distance
//! least. With the turn left out, one pass forward and one backward give the likelihood of a change of grade at every
//! node at once (de Jong and Penzer, J. Am. Stat. Assoc. 93, 1998, 796–806).

use super::kalman::{Belief, Dynamics, Lesson, Observation, TURN_SD};
use super::noise::Noise;
use super::smoother::{self, Backward};
use super::turns::Turn;

/// How far beyond the next turn the recording still tells about this one, in nodes.
const BEYOND: usize = 20;

/// Moves each turn between two steady pieces to the median of its places.
pub fn settle(observations: &[Observation], spacing_m: f64, noise: &Noise, turns: &mut [Turn]) {
    let dynamics = Dynamics::new(spacing_m, noise);
    // What is a bad fix is told with all turns in; without one of them, good fixes beyond it look bad.
    let believed: Vec<Observation> = smoother::filter(observations, dynamics, turns)
        .iter()
        .zip(observations)
        .map(|((_, lesson), seen)| Observation {
            count: if lesson.is_some() { seen.count } else { 0 },
            ..*seen
        })
        .collect();
    let observations = &believed[..];
    let mut walk = Walk::start(observations, dynamics, turns[0]);
    for k in 1..turns.len() {
        let until = turns.get(k + 1).map_or(observations.len() - 1, |t| t.node);
        if !turns[k].uneven && !turns[k - 1].uneven {
            let end = (until + BEYOND).min(observations.len() - 1);
            if let Some(node) = walk.median(&turns[k + 1..], end, until) {
                turns[k].node = node;
            }
        }
        walk.to(turns[k]);
    }
}

/// What is believed at the turn before.
#[derive(Clone)]
struct Walk<'a> {
    observations: &'a [Observation],
    dynamics: Dynamics,
    belief: Belief,
    node: usize,
}

impl<'a> Walk<'a> {
    fn start(observations: &'a [Observation], dynamics: Dynamics, turn: Turn) -> Self {
        let first = observations
            .iter()
            .find(|o| o.count > 0)
            .map_or(0.0, |o| o.elevation_m);
        let mut walk = Walk {
            observations,
            dynamics,
            belief: Belief::start(first, &dynamics),
            node: turn.node,
        };
        walk.learn();
        walk.belief.turn(turn.uneven);
        walk
    }

    fn step(&mut self) -> Option<Lesson> {
        self.node += 1;
        self.dynamics.towards(&self.observations[self.node]);
        self.belief.step(&self.dynamics);
        self.learn()
    }

    fn learn(&mut self) -> Option<Lesson> {
        let seen = &self.observations[self.node];
        if seen.count == 0 {
            return None;
        }
        let lesson = self.belief.expect(seen, &self.dynamics);
        self.belief.learn(&lesson);
        Some(lesson)
    }

    fn to(&mut self, turn: Turn) {
        while self.node < turn.node {
            self.step();
        }
        self.belief.turn(turn.uneven);
    }

    /// The median of the places at which the road may turn between here and a node, with the later turns given.
    fn median(&self, later: &[Turn], end: usize, until: usize) -> Option<usize> {
        let mut ahead = self.clone();
        let mut later = later.iter().peekable();
        let mut lessons = Vec::with_capacity(end - self.node);
        let mut uneven = Vec::with_capacity(end - self.node);
        let mut turned = Vec::with_capacity(end - self.node);
        while ahead.node < end {
            lessons.push(ahead.step());
            uneven.push(ahead.belief.uneven);
            turned.push(later.peek().is_some_and(|t| t.node == ahead.node));
            if let Some(turn) = later.next_if(|t| t.node == ahead.node) {
                ahead.belief.turn(turn.uneven);
            }
        }
        let mut backward = Backward::default();
        let mut weights = vec![f64::NEG_INFINITY; lessons.len()];
        let mut dynamics = self.dynamics;
        let variance = TURN_SD * TURN_SD;
        for i in (0..lessons.len()).rev() {
            let node = self.node + 1 + i;
            if node < until {
                let held = 1.0 + variance * backward.grip.gg;
                weights[i] = 0.5
                    * (variance * backward.pull[1] * backward.pull[1] / held - held.max(1.0).ln());
            }
            if turned[i] {
                backward.unturn();
            }
            if let Some(lesson) = &lessons[i] {
                backward.unlearn(lesson, &self.observations[node]);
            }
            dynamics.towards(&self.observations[node]);
            backward.unstep(&dynamics, uneven[i]);
        }
        middle(&weights).map(|i| self.node + 1 + i)
    }
}

/// Where half of the weight lies before and half after; weights are logarithms.
fn middle(weights: &[f64]) -> Option<usize> {
    let highest = weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if !highest.is_finite() {
        return None;
    }
    let total: f64 = weights.iter().map(|w| (w - highest).exp()).sum();
    let mut sum = 0.0;
    weights.iter().position(|w| {
        sum += (w - highest).exp();
        sum >= 0.5 * total
    })
}
