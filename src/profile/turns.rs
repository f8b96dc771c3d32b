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
/// A hypothesis this much worse than the best, beyond a turn's cost, is dropped.
const SLACK: f64 = 6.0;
/// More hypotheses than this are never needed at once.
const MOST_HYPOTHESES: usize = 64;

struct Hypothesis {
    belief: Belief,
    cost: f64,
    last_turn: usize,
    doubts: u32,
}

/// The nodes at which the road turns, in order.
pub fn find(observations: &[Observation], spacing_m: f64, noise: &Noise) -> Vec<usize> {
    let mut dynamics = Dynamics::new(spacing_m, noise);
    let first = observations.iter().find(|o| o.count > 0).map_or(0.0, |o| o.elevation_m);
    // Each entry is a turn's node and the entry of the turn before it; entry 0 is the route's start.
    let mut history: Vec<(usize, usize)> = vec![(0, 0)];
    let mut live = vec![Hypothesis { belief: Belief::start(first, &dynamics), cost: 0.0, last_turn: 0, doubts: 0 }];
    for (node, seen) in observations.iter().enumerate() {
        dynamics.towards(seen);
        for hypothesis in &mut live {
            if node > 0 {
                hypothesis.belief.step(&dynamics);
            }
            if seen.count > 0 {
                hypothesis.cost += hypothesis.belief.weigh(seen, &dynamics, &mut hypothesis.doubts).1;
            }
        }
        let Some(best) = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost)) else { break };
        let lowest = best.cost;
        let (mut belief, doubts) = (best.belief, best.doubts);
        belief.turn();
        history.push((node, best.last_turn));
        let turned = Hypothesis { belief, cost: lowest + TURN_COST, last_turn: history.len() - 1, doubts };
        live.retain(|h| h.cost <= lowest + TURN_COST + SLACK);
        if live.len() >= MOST_HYPOTHESES {
            live.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            live.truncate(MOST_HYPOTHESES - 1);
        }
        live.push(turned);
    }
    let mut entry = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost)).map_or(0, |h| h.last_turn);
    let mut found = Vec::new();
    while entry > 0 {
        let (node, before) = history[entry];
        if node > 0 && node + 1 < observations.len() {
            found.push(node);
        }
        entry = before;
    }
    found.reverse();
    found.dedup();
    found
}
