//! The noise that makes a recording most likely, given where its road turns.
//!
//! Second differences can't tell a road's bends from an error that is correlated over as many metres; once the road's turns
//! are known, the filter of [`super::kalman`] can: each elevation's surprise and its variance give the likelihood of the
//! noise that was assumed (Harvey, Forecasting, Structural Time Series Models and the Kalman Filter, 1989, section 3.4).

use super::effort::Effort;
use super::kalman::{Belief, Dynamics, Lesson, Observation};
use super::lowest::lowest;
use super::noise::Noise;
use super::turns::{self, Turn};

/// What is believed of a recording before it is looked at, as centre and width of the logarithm: error (m), its reach along
/// the road (m), remainder (m). The data outweigh it by far on any road of some kilometres.
const PRIOR: [(f64, f64); 3] = [
    (0.0, 1.5),  // ln of 1 m
    (4.4, 1.0),  // ln of 80 m
    (-2.5, 1.0), // ln of 0.08 m
];
/// The error is never taken for more than this many times the first guess, however often it is said again: on a few hundred metres of
/// path a whole hill could be taken for error. A satellite fix's is twice what second differences say.
pub const MOST_GROWTH: f64 = 2.5;
/// The estimate is first sought with steps of this size of its logarithm, on some of the chunks: one in so many.
const FIRST_STEP: f64 = 0.4;
/// See [`FIRST_STEP`].
const FIRST_EVERY: usize = 4;
/// Then on all of them with steps from the first to the second of these. What is found with such steps is on average 0.1 off the least of twice
/// the log-likelihood (36 estimates, seeds 3000 to 3003 of the truth bench); chance alone makes three estimated numbers 3 off.
const STEPS: (f64, f64) = (0.2, 0.1);
/// Length of a chunk, in nodes.
const CHUNK_NODES: usize = 300;

/// Estimates the noise again, its error no larger than so many metres, starting from an earlier estimate, which also says where
/// the road turns; the turns are sought with an effort.
pub fn refine(
    observations: &[Observation],
    spacing_m: f64,
    before: &Noise,
    most_m: f64,
    effort: Effort,
) -> Noise {
    let lapse_per_m = before.reach / before.correlation_m;
    // Size and reach are sought as size and size² over reach, which is what short pieces of road show.
    let natural = |logs: &[f64; 3]| [logs[0], 2.0 * logs[0] - logs[1], logs[2]];
    let as_noise = |logs: &[f64; 3]| {
        let [sd, correlation, remainder] = natural(logs).map(f64::exp);
        Noise::within_bounds(sd.min(most_m), correlation, lapse_per_m, remainder)
    };
    let chunks = cut(observations, spacing_m, before, effort);
    let misfit = |logs: &[f64; 3], every: usize| {
        // Whether hidden kinks, or turns between nodes, are thought of must not hang on the noise that is tried.
        let dynamics = Dynamics {
            kinks_m2: 0.0,
            turn_m2: 0.0,
            ..Dynamics::new(spacing_m, &as_noise(logs))
        };
        let data: f64 = chunks
            .iter()
            .step_by(every)
            .map(|chunk| cost(chunk.observations, dynamics, &chunk.turns))
            .sum();
        let open: f64 = natural(logs)
            .iter()
            .zip(&PRIOR)
            .map(|(x, (centre, width))| ((x - centre) / width).powi(2))
            .sum();
        data * every.min(chunks.len()) as f64 + open
    };
    let start = [
        before.sd_m.ln(),
        (before.sd_m * before.sd_m / before.correlation_m).ln(),
        before.remainder_sd_m.ln(),
    ];
    let near = lowest(
        |logs| misfit(logs, FIRST_EVERY),
        start,
        (FIRST_STEP, FIRST_STEP),
    );
    as_noise(&lowest(|logs| misfit(logs, 1), near, STEPS))
}

/// A part of the road, with where it turns counted from its start.
struct Chunk<'a> {
    observations: &'a [Observation],
    turns: Vec<Turn>,
}

/// Cuts a road into chunks and finds the turns of each.
fn cut<'a>(
    observations: &'a [Observation],
    spacing_m: f64,
    noise: &Noise,
    effort: Effort,
) -> Vec<Chunk<'a>> {
    let chunk = |(from, to): (usize, usize)| Chunk {
        observations: &observations[from..to],
        turns: turns::find(&observations[from..to], spacing_m, noise, effort),
    };
    chunks(observations.len(), effort.weighed)
        .into_iter()
        .map(chunk)
        .collect()
}

/// Where the chunks start and end, of at most so many nodes in all.
fn chunks(nodes: usize, most: usize) -> Vec<(usize, usize)> {
    if nodes <= most {
        return vec![(0, nodes)];
    }
    let count = most / CHUNK_NODES;
    let apart = (nodes - CHUNK_NODES) as f64 / (count - 1) as f64;
    (0..count)
        .map(|i| {
            let from = (i as f64 * apart) as usize;
            (from, from + CHUNK_NODES)
        })
        .collect()
}

/// Minus twice the logarithm of the likelihood of observations with the road's turns given, the first of them at the first node.
pub(super) fn cost(observations: &[Observation], dynamics: Dynamics, turns: &[Turn]) -> f64 {
    walk(observations, dynamics, turns, |_, _| {})
}

/// The same, telling at each node what its elevation taught, if it was believed.
pub(super) fn walk(
    observations: &[Observation],
    mut dynamics: Dynamics,
    turns: &[Turn],
    mut tell: impl FnMut(usize, &Lesson),
) -> f64 {
    let first = observations
        .iter()
        .find(|o| o.count > 0)
        .map_or(0.0, |o| o.elevation_m);
    let mut belief = Belief::start(first, &dynamics);
    belief.turn(turns[0].uneven);
    let mut turns = turns[1..].iter().peekable();
    let mut doubts = 0;
    let mut squares = 0.0;
    let mut spread = LogOfProduct::default();
    for (node, seen) in observations.iter().enumerate() {
        if node > 0 {
            dynamics.towards(seen);
            belief.step(&dynamics);
        }
        if seen.count > 0 {
            let (lesson, pays) = belief.weigh(seen, &dynamics, &mut doubts);
            squares += pays.square;
            spread.times(pays.variance_m2);
            if let Some(lesson) = &lesson {
                tell(node, lesson);
            }
        } else {
            belief.drop_traces();
        }
        if let Some(turn) = turns.next_if(|t| t.node == node) {
            belief.turn(turn.uneven);
        }
    }
    squares + spread.ln()
}

/// The logarithm of a product of many positive numbers, of which few logarithms are taken.
struct LogOfProduct {
    sum: f64,
    product: f64,
}

impl Default for LogOfProduct {
    fn default() -> Self {
        LogOfProduct {
            sum: 0.0,
            product: 1.0,
        }
    }
}

impl LogOfProduct {
    /// Neither of two products within these bounds overflows or vanishes when multiplied.
    const BOUNDS: std::ops::Range<f64> = 1e-100..1e100;

    fn times(&mut self, factor: f64) {
        self.product *= factor;
        if !Self::BOUNDS.contains(&self.product) {
            self.sum += self.product.ln();
            self.product = 1.0;
        }
    }

    fn ln(&self) -> f64 {
        self.sum + self.product.ln()
    }
}
