//! Where the road turns: the places at which its grade changes from one level to another.
//!
//! The model: between turns the grade is constant but for the wander that a steady road has; at a turn it jumps; the
//! recording errs as the noise estimate says. The set of turns that makes the recording most likely, each turn paying
//! [`TURN_COST`], is sought by dynamic programming along the road. One hypothesis is kept for each place of the last turn
//! (with the best history before it), as in the optimal-partitioning recursion of Jackson et al. (IEEE Signal Processing
//! Letters 12, 2005, 105–108), pruned as by Killick, Fearnhead and Eckley (J. Am. Stat. Assoc. 107, 2012, 1590–1598).
//! Since a history matters to what follows only through the belief at the turn, keeping one history a place is nearly
//! exact; `docs/method.md` states the gap against trying every set of turns on small cases.

use crate::profile::smoother::{Smooth, smooth_with_turns};
use crate::profile::{Dynamics, Noise, Profile, kalman::Belief};

/// What a turn pays, in units of twice the log-likelihood: a road turns about every 500 m, so one 10 m step in 50 holds
/// a turn, and −2 ln(1/50) is 7.8. A third of it cuts wander into pieces, thrice of it misses steps of two points.
pub const TURN_COST: f64 = 7.8;
/// Standard deviation of the grade's jump at a turn (rise over run); roads join pieces of up to about ± 8 %.
pub const TURN_SD: f64 = 0.04;
/// Wander of the grade on a steady road, as a share of the grade plus one point (a quarter of what the definition allows).
pub const WANDER_SHARE: f64 = 0.05;
/// Distance over which that wander is correlated, in metres.
pub const WANDER_M: f64 = 150.0;
/// On steeper ground than this (rise over run) the wander grows no more.
const STEEPEST_WANDER: f64 = 0.15;
/// A hypothesis this much worse than the best, beyond a turn's cost, is dropped.
const SLACK: f64 = 6.0;
/// More hypotheses than this are never needed at once.
const MOST_HYPOTHESES: usize = 64;

/// A stretch between two turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Node where it starts.
    pub from: usize,
    /// Node where it ends; the next piece starts there.
    pub to: usize,
    /// Mean grade, rise over run.
    pub grade: f64,
    /// Standard error of the mean grade.
    pub grade_se: f64,
}

/// A profile cut at its turns, and smoothed again knowing them.
#[derive(Debug, Clone, PartialEq)]
pub struct Pieces {
    /// The pieces, in route order, without gaps.
    pub pieces: Vec<Piece>,
    /// Elevation and grade that may change at once at the turns, and only there.
    pub smooth: Smooth,
}

/// Cuts a profile at its turns.
pub fn pieces(profile: &Profile) -> Pieces {
    let step_m = profile.spacing_m;
    let turns = turns(profile);
    let dynamics = steady_dynamics(step_m, &profile.noise, TYPICAL_GRADE);
    let smooth = smooth_with_turns(&profile.observations, &dynamics, &turns, TURN_SD * TURN_SD);
    let mut marks = vec![0];
    marks.extend(&turns);
    marks.push(profile.nodes() - 1);
    marks.dedup();
    let pieces = marks
        .windows(2)
        .map(|w| {
            let run_m = (w[1] - w[0]) as f64 * step_m;
            let middle = usize::midpoint(w[0], w[1]);
            Piece {
                from: w[0],
                to: w[1],
                grade: (smooth.elevation_m[w[1]] - smooth.elevation_m[w[0]]) / run_m,
                grade_se: smooth.grade_se[middle],
            }
        })
        .collect();
    Pieces { pieces, smooth }
}

/// Grade for which the wander is taken where a single value has to do (rise over run).
const TYPICAL_GRADE: f64 = 0.05;

/// A road of constant grade but for a steady road's wander.
pub fn steady_dynamics(step_m: f64, noise: &Noise, grade: f64) -> Dynamics {
    let mut dynamics = Dynamics::new(step_m, noise);
    dynamics.grade_drift = 0.0;
    dynamics.elevation_drift_m2 = wander_m2(grade, step_m);
    dynamics
}

/// Variance of elevation that a steady road's wander adds over a run (metres), in m².
pub fn wander_m2(grade: f64, run_m: f64) -> f64 {
    let sd = WANDER_SHARE * (grade.abs().min(STEEPEST_WANDER) + 0.01);
    2.0 * sd * sd * WANDER_M * run_m
}

struct Hypothesis {
    belief: Belief,
    cost: f64,
    last_turn: usize,
    doubts: u32,
}

/// The nodes at which the road turns, in order.
pub fn turns(profile: &Profile) -> Vec<usize> {
    let observations = &profile.observations;
    let mut dynamics = steady_dynamics(profile.spacing_m, &profile.noise, TYPICAL_GRADE);
    let first = observations
        .iter()
        .find(|o| o.count > 0)
        .map_or(0.0, |o| o.elevation_m);
    // Each entry is a turn's node and the entry of the turn before it; entry 0 is the route's start.
    let mut history: Vec<(usize, usize)> = vec![(0, 0)];
    let mut live = vec![Hypothesis {
        belief: Belief::start(first, &dynamics),
        cost: 0.0,
        last_turn: 0,
        doubts: 0,
    }];
    for (node, seen) in observations.iter().enumerate() {
        dynamics.elevation_drift_m2 = wander_m2(profile.grade_pct[node] / 100.0, profile.spacing_m);
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
        let lowest = best.cost;
        let (mut belief, doubts) = (best.belief, best.doubts);
        belief.cov[1][1] += TURN_SD * TURN_SD;
        history.push((node, best.last_turn));
        let turned = Hypothesis {
            belief,
            cost: lowest + TURN_COST,
            last_turn: history.len() - 1,
            doubts,
        };
        live.retain(|h| h.cost <= lowest + TURN_COST + SLACK);
        if live.len() >= MOST_HYPOTHESES {
            live.sort_by(|a, b| a.cost.total_cmp(&b.cost));
            live.truncate(MOST_HYPOTHESES - 1);
        }
        live.push(turned);
    }
    let mut entry = live
        .iter()
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
        .map_or(0, |h| h.last_turn);
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
