//! Where each turn lies, given the others: the middle of all places that it might have.
//!
//! The search for turns names the single most likely place of each. Where the recording is poor, many places are nearly as
//! likely, mostly to one side, and the most likely one may be far out; the median of them all makes the expected distance
//! least. With the turn left out, one pass forward and one backward give the likelihood of a change of grade at every
//! node at once (de Jong and Penzer, J. Am. Stat. Assoc. 93, 1998, 796–806).

use super::kalman::{Belief, Dynamics, Lesson, Observation, TURN_SD};
use super::likelihood;
use super::noise::Noise;
use super::smoother::Backward;
use super::turns::Turn;

/// How far beyond the next turn the recording still tells about this one, in nodes.
const BEYOND: usize = 20;

/// Moves each turn between two steady pieces to the median of its places.
pub fn settle(observations: &[Observation], spacing_m: f64, noise: &Noise, turns: &mut [Turn]) {
    let dynamics = Dynamics::new(spacing_m, noise);
    // What is a bad fix is told with all turns in; without one of them, good fixes beyond it look bad.
    let mut believed: Vec<Observation> = observations
        .iter()
        .map(|seen| Observation { count: 0, ..*seen })
        .collect();
    likelihood::walk(observations, dynamics, turns, |node, _| {
        believed[node].count = observations[node].count;
    });
    let observations = &believed[..];
    let mut walk = Walk::start(observations, dynamics, turns[0]);
    for k in 1..turns.len() {
        let until = turns.get(k + 1).map_or(observations.len() - 1, |t| t.node);
        if !turns[k].uneven && !turns[k - 1].uneven {
            walk.look(
                &turns[k + 1..],
                (until + BEYOND).min(observations.len() - 1),
            );
            if let Some(node) = walk.median(until) {
                turns[k].node = node;
            }
        }
        walk.to(turns[k]);
    }
}

/// What is believed at the turn before, and beyond it.
struct Walk<'a> {
    observations: &'a [Observation],
    dynamics: Dynamics,
    belief: Belief,
    node: usize,
    /// At each node after it that was looked at, if the next turn were none.
    ahead: Vec<Ahead>,
}

/// What is known at a node.
struct Ahead {
    /// What is believed there, before the turn there if there is one.
    belief: Belief,
    /// What it taught.
    lesson: Option<Lesson>,
    /// Whether the road turns there.
    turns: bool,
}

impl<'a> Walk<'a> {
    fn start(observations: &'a [Observation], dynamics: Dynamics, turn: Turn) -> Self {
        let first = observations
            .iter()
            .find(|o| o.count > 0)
            .map_or(0.0, |o| o.elevation_m);
        let mut belief = Belief::start(first, &dynamics);
        learn(&mut belief, &observations[turn.node], &dynamics);
        belief.turn(turn.uneven);
        Walk {
            observations,
            dynamics,
            belief,
            node: turn.node,
            ahead: Vec::new(),
        }
    }

    /// Looks on as far as a node, with the turns given.
    fn look(&mut self, turns: &[Turn], end: usize) {
        let mut turns = turns.iter().peekable();
        let mut belief = self.belief;
        for (node, seen) in (self.node + 1..).zip(&self.observations[self.node + 1..=end]) {
            self.dynamics.towards(seen);
            belief.step(&self.dynamics);
            let lesson = learn(&mut belief, seen, &self.dynamics);
            let turn = turns.next_if(|t| t.node == node);
            self.ahead.push(Ahead {
                belief,
                lesson,
                turns: turn.is_some(),
            });
            if let Some(turn) = turn {
                belief.turn(turn.uneven);
            }
        }
    }

    /// Goes on to the next turn.
    fn to(&mut self, turn: Turn) {
        if self.ahead.is_empty() {
            self.look(&[], turn.node);
        }
        self.belief = self.ahead[turn.node - self.node - 1].belief;
        self.belief.turn(turn.uneven);
        self.node = turn.node;
        self.ahead.clear();
    }

    /// The median of the places before a node at which the road may turn, from what is seen ahead.
    fn median(&mut self, until: usize) -> Option<usize> {
        let mut backward = Backward::default();
        let mut weights = vec![f64::NEG_INFINITY; until - self.node - 1];
        let variance = TURN_SD * TURN_SD;
        for (i, ahead) in self.ahead.iter().enumerate().rev() {
            if let Some(weight) = weights.get_mut(i) {
                let held = 1.0 + variance * backward.grip.gg;
                *weight = 0.5
                    * (variance * backward.pull[1] * backward.pull[1] / held - held.max(1.0).ln());
            }
            if ahead.turns {
                backward.unturn();
            }
            let seen = &self.observations[self.node + 1 + i];
            if let Some(lesson) = &ahead.lesson {
                backward.unlearn(lesson, seen);
            } else {
                backward.drop_traces();
            }
            self.dynamics.towards(seen);
            backward.unstep(&self.dynamics, ahead.belief.uneven);
        }
        middle(&weights).map(|i| self.node + 1 + i)
    }
}

/// What an observation teaches.
#[inline(always)]
fn learn(belief: &mut Belief, seen: &Observation, dynamics: &Dynamics) -> Option<Lesson> {
    if seen.count == 0 {
        belief.drop_traces();
        return None;
    }
    let lesson = belief.expect(seen, dynamics);
    belief.take(&lesson, dynamics);
    Some(lesson)
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
