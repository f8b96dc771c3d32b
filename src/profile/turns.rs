//! Where the road turns: the places at which its grade changes from one level to another.
//!
//! The model: between turns the grade is constant but for the wander that a steady road has; at a turn it jumps; the
//! recording errs as the noise estimate says. The set of turns that makes the recording most likely, each turn paying
//! [`TURN_COST`], is sought by dynamic programming along the road. One hypothesis is kept for each place of the last turn
//! (with the best history before it), as in the optimal-partitioning recursion of Jackson et al. (IEEE Signal Processing
//! Letters 12, 2005, 105–108), pruned as by Killick, Fearnhead and Eckley (J. Am. Stat. Assoc. 107, 2012, 1590–1598).
//! Since a history matters to what follows only through the belief at the turn, keeping one history a place is nearly
//! exact; `docs/method.md` states the gap against trying every set of turns on small cases.

use super::kalman::{Belief, Dynamics, Observation};
use super::noise::Noise;

/// What a turn pays, in units of twice the log-likelihood: a road turns about every 500 m, so one 10 m step in 50 holds
/// a turn, and −2 ln(1/50) is 7.8. A third of it cuts wander into pieces, thrice of it misses steps of two points.
pub const TURN_COST: f64 = 7.8;
/// What an uneven piece pays more than a steady one, in the same units. With half of it a third of the climbs in recordings
/// that err by metres are taken for uneven road, with twice of it rows of lumps are taken for climbs there.
const UNEVEN_COST: f64 = 7.5;

/// What a history that disbelieves what it sees may yet have to pay, in the same units: a few bad fixes' worth.
const MOST_PUT_OFF: f64 = 100.0;

/// How many histories are followed at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// A hypothesis this much worse than the best, beyond a turn's cost, is dropped.
    slack: f64,
    /// More hypotheses than this are not followed.
    most: usize,
}

impl Effort {
    /// Enough where a turn shows within some tens of metres.
    const FINE: Effort = Effort {
        slack: 3.0,
        most: 24,
    };
    /// Enough where it takes hundreds: fewer lose one turn in fifty there.
    const COARSE: Effort = Effort {
        slack: 6.0,
        most: 64,
    };

    /// What a recording needs.
    pub fn for_noise(noise: &Noise) -> Effort {
        if noise.total_sd_m() < FINE_M {
            Self::FINE
        } else {
            Self::COARSE
        }
    }
}

/// Elevations better than this are fine, in metres.
const FINE_M: f64 = 0.65;

/// A place where the road turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// The node.
    pub node: usize,
    /// Whether the road is uneven from here on, rather than steady.
    pub uneven: bool,
}

struct Hypothesis {
    belief: Belief,
    cost: f64,
    last_turn: usize,
    doubts: u32,
}

/// The places at which the road turns, in order; the first is the route's start.
pub fn find(
    observations: &[Observation],
    spacing_m: f64,
    noise: &Noise,
    effort: Effort,
) -> Vec<Turn> {
    let mut dynamics = Dynamics::new(spacing_m, noise);
    let first = observations
        .iter()
        .find(|o| o.count > 0)
        .map_or(0.0, |o| o.elevation_m);
    // Each entry is a turn and the entry of the turn before it.
    let mut history: Vec<(Turn, usize)> = Vec::new();
    let mut live = Vec::new();
    for uneven in [false, true] {
        let mut belief = Belief::start(first, &dynamics);
        belief.turn(uneven);
        history.push((Turn { node: 0, uneven }, usize::from(uneven)));
        let cost = if uneven { UNEVEN_COST } else { 0.0 };
        live.push(Hypothesis {
            belief,
            cost,
            last_turn: usize::from(uneven),
            doubts: 0,
        });
    }
    for (node, seen) in observations.iter().enumerate() {
        dynamics.towards(seen);
        for hypothesis in &mut live {
            if node > 0 {
                hypothesis.belief.step(&dynamics);
            }
            if seen.count > 0 {
                hypothesis.cost += hypothesis
                    .belief
                    .weigh(seen, &dynamics, &mut hypothesis.doubts)
                    .1;
            }
        }
        let Some(best) = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost)) else {
            break;
        };
        if node == 0 {
            continue;
        }
        let lowest = best.cost;
        let (before, doubts, last_turn) = (best.belief, best.doubts, best.last_turn);
        // A history that is putting off what it can't believe will pay for it: until then the others are kept.
        let put_off = if doubts > 0 { MOST_PUT_OFF } else { 0.0 };
        live.retain(|h| h.cost <= lowest + TURN_COST + effort.slack + put_off);
        if live.len() + 2 > effort.most {
            live.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            live.truncate(effort.most - 2);
        }
        for uneven in [false, true] {
            if uneven && before.uneven {
                continue;
            }
            let mut belief = before;
            belief.turn(uneven);
            history.push((Turn { node, uneven }, last_turn));
            let cost = lowest + TURN_COST + if uneven { UNEVEN_COST } else { 0.0 };
            live.push(Hypothesis {
                belief,
                cost,
                last_turn: history.len() - 1,
                doubts,
            });
        }
    }
    let mut entry = live
        .iter()
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
        .map_or(0, |h| h.last_turn);
    let mut found = Vec::new();
    loop {
        let (turn, before) = history[entry];
        if turn.node == 0 || turn.node + 1 < observations.len() {
            found.push(turn);
        }
        if turn.node == 0 {
            break;
        }
        entry = before;
    }
    found.reverse();
    found
}
