//! The best guess at a climb's ends and grade: every pair of ends on a grid, weighed by its likelihood, with level and
//! grades integrated out.

use super::definition::LEAST_LENGTH_M;
use super::matrix::{Cholesky, dot};

/// Standard deviation of the change of grade at an end, as the reader expects it. Without it the likelihood would
/// prefer ends beyond the last point, where a turn explains nothing and costs nothing.
const TURN_SD_PCT: f64 = 7.0;

/// What is known of a climb in the end.
pub struct Estimate {
    /// Posterior medians of its start and its end.
    pub ends_m: [f64; 2],
    /// The middle nine tenths of each end's posterior.
    pub ranges_m: [[f64; 2]; 2],
    /// Posterior mean of the realised grade between the ends.
    pub grade_pct: f64,
}

/// Regressors and data after whitening.
pub struct Whitened {
    /// A height of one everywhere.
    pub level: Vec<f64>,
    /// A slope of one everywhere.
    pub slope: Vec<f64>,
    /// The recorded heights.
    pub heights: Vec<f64>,
}

/// A place where the climb may start or end.
pub struct Candidate {
    /// Distance along the window.
    pub end_m: f64,
    /// Length of its vertical curve.
    pub curve_m: f64,
    /// What a change of one in the slope there does to the heights.
    pub turn: Vec<f64>,
    /// The wander's covariance between that place and the heights.
    pub wander: Vec<f64>,
}

/// Height gained by `offset_m` past a turn of one in slope that a vertical curve spreads evenly.
pub fn turned_m(offset_m: f64, curve_m: f64) -> f64 {
    let into_m = (offset_m + 0.5 * curve_m).clamp(0.0, curve_m);
    0.5 * into_m * into_m / curve_m + (offset_m - 0.5 * curve_m).max(0.0)
}

/// Weighs every pair of ends by its likelihood, with level and grades integrated out.
pub fn posterior(whole: &Whitened, sides: &[Vec<Candidate>; 2]) -> Option<Estimate> {
    let mut pairs = Vec::new();
    for (i, start) in sides[0].iter().enumerate() {
        for (j, end) in sides[1].iter().enumerate() {
            if end.end_m - start.end_m >= LEAST_LENGTH_M {
                let (log_weight, grade_pct) = weigh(whole, start, end)?;
                pairs.push((i, j, log_weight, grade_pct));
            }
        }
    }
    let largest = pairs
        .iter()
        .map(|pair| pair.2)
        .fold(f64::NEG_INFINITY, f64::max);
    let mut marginals = [vec![0.0; sides[0].len()], vec![0.0; sides[1].len()]];
    let (mut total, mut grade_pct) = (0.0, 0.0);
    for &(i, j, log_weight, pair_grade_pct) in &pairs {
        let weight = (log_weight - largest).exp();
        marginals[0][i] += weight;
        marginals[1][j] += weight;
        total += weight;
        grade_pct += weight * pair_grade_pct;
    }
    Some(Estimate {
        ends_m: [0, 1].map(|side| quantile_m(&sides[side], &marginals[side], 0.5 * total)),
        ranges_m: [0, 1].map(|side| {
            [0.05, 0.95].map(|share| quantile_m(&sides[side], &marginals[side], share * total))
        }),
        grade_pct: grade_pct / total,
    })
}

/// Logarithm of the likelihood of two ends, and the expected grade between them.
fn weigh(whole: &Whitened, start: &Candidate, end: &Candidate) -> Option<(f64, f64)> {
    let columns = [&whole.level, &whole.slope, &start.turn, &end.turn];
    let turn_precision = (TURN_SD_PCT / 100.0).powi(-2);
    let normal = Cholesky::new(4, |i, j| {
        let known = if i == j && i >= 2 {
            turn_precision
        } else {
            0.0
        };
        dot(columns[i], columns[j]) + known
    })?;
    let right = columns.map(|column| dot(column, &whole.heights));
    let unknowns = normal.solved(&right);
    let explained = dot(&unknowns, &right);
    let log_weight = 0.5 * (explained - normal.log_determinant());
    let residual_with = |wander: &[f64]| {
        let fitted = columns.iter().zip(&unknowns);
        let fitted: f64 = fitted
            .map(|(column, unknown)| unknown * dot(column, wander))
            .sum();
        dot(wander, &whole.heights) - fitted
    };
    let height_m = |at: &Candidate| {
        let turn_m =
            |candidate: &Candidate| turned_m(at.end_m - candidate.end_m, candidate.curve_m);
        unknowns[1] * at.end_m
            + unknowns[2] * turn_m(start)
            + unknowns[3] * turn_m(end)
            + residual_with(&at.wander)
    };
    let grade_pct = 100.0 * (height_m(end) - height_m(start)) / (end.end_m - start.end_m);
    Some((log_weight, grade_pct))
}

/// The place that has so much of the weight before it, straight between grid points.
fn quantile_m(candidates: &[Candidate], weights: &[f64], wanted: f64) -> f64 {
    let last = candidates.len() - 1;
    let step_m = (candidates[last].end_m - candidates[0].end_m) / last.max(1) as f64;
    let mut below = 0.0;
    for (candidate, weight) in candidates.iter().zip(weights) {
        if below + weight >= wanted {
            return candidate.end_m + ((wanted - below) / weight - 0.5) * step_m;
        }
        below += weight;
    }
    candidates[last].end_m
}
