//! The fixed-interval smoother: what elevation and grade were at each node, given everything recorded before and after.
//!
//! Forward a Kalman filter, backward the recursion of Bierman (Automatica 9, 1973, 503–511), which inverts no matrix.
//! Linear in nodes.

use super::kalman::{Belief, Dynamics, Lesson, Observation};

/// Smoothed elevation and grade at each node.
#[derive(Debug, Clone, PartialEq)]
pub struct Smooth {
    /// Elevation, in metres.
    pub elevation_m: Vec<f64>,
    /// Its standard error, in metres.
    pub elevation_se_m: Vec<f64>,
    /// Grade, rise over run.
    pub grade: Vec<f64>,
    /// Its standard error.
    pub grade_se: Vec<f64>,
}

/// Smooths the observations of an even line; there must be at least one observation.
pub fn smooth(observations: &[Observation], dynamics: &Dynamics) -> Smooth {
    smooth_with_turns(observations, dynamics, &[], 0.0)
}

/// As [`smooth`], but at each of the `turns` (sorted nodes) the grade may also change at once, by `turn_variance`.
pub fn smooth_with_turns(
    observations: &[Observation],
    dynamics: &Dynamics,
    turns: &[usize],
    turn_variance: f64,
) -> Smooth {
    let forward = filter(observations, dynamics, turns, turn_variance);
    let n = observations.len();
    let mut smooth = Smooth {
        elevation_m: vec![0.0; n],
        elevation_se_m: vec![0.0; n],
        grade: vec![0.0; n],
        grade_se: vec![0.0; n],
    };
    let mut pull = [0.0; 3];
    let mut grip = [[0.0; 3]; 3];
    for i in (0..n).rev() {
        let (belief, lesson) = &forward[i];
        let [mean, var] = settle(belief, &pull, &grip);
        smooth.elevation_m[i] = mean[0];
        smooth.grade[i] = mean[1];
        smooth.elevation_se_m[i] = var[0].max(0.0).sqrt();
        smooth.grade_se[i] = var[1].max(0.0).sqrt();
        if let Some(lesson) = lesson {
            unlearn(&mut pull, &mut grip, lesson, observations[i].offset_m);
        }
        unstep(&mut pull, &mut grip, dynamics);
    }
    smooth
}

fn filter(
    observations: &[Observation],
    dynamics: &Dynamics,
    turns: &[usize],
    turn_variance: f64,
) -> Vec<(Belief, Option<Lesson>)> {
    let first = observations
        .iter()
        .find(|o| o.count > 0)
        .map_or(0.0, |o| o.elevation_m);
    let mut belief = Belief::start(first, dynamics);
    let mut doubts = 0;
    let mut turns = turns.iter().peekable();
    let mut forward = Vec::with_capacity(observations.len());
    for (i, seen) in observations.iter().enumerate() {
        if i > 0 {
            belief.step(dynamics);
        }
        let mut learned = None;
        if seen.count > 0 {
            (learned, _) = belief.weigh(seen, dynamics, &mut doubts);
        }
        forward.push((belief, learned));
        if turns.peek() == Some(&&i) {
            turns.next();
            belief.cov[1][1] += turn_variance;
        }
    }
    forward
}

/// Mean and variance at a node, given what comes after it.
fn settle(belief: &Belief, pull: &[f64; 3], grip: &[[f64; 3]; 3]) -> [[f64; 3]; 2] {
    let mut mean = belief.mean;
    let mut var = [0.0; 3];
    for i in 0..3 {
        let row = belief.cov[i];
        mean[i] -= dot(&row, pull);
        let gripped = [
            dot(&grip[0], &row),
            dot(&grip[1], &row),
            dot(&grip[2], &row),
        ];
        var[i] = belief.cov[i][i] - dot(&row, &gripped);
    }
    [mean, var]
}

/// Backward over an observation: pull = (I − KH)ᵀ pull − Hᵀ surprise/variance, grip likewise.
fn unlearn(pull: &mut [f64; 3], grip: &mut [[f64; 3]; 3], lesson: &Lesson, offset_m: f64) {
    let h = [1.0, offset_m, 1.0];
    let k = lesson.gain;
    let kp = dot(&k, pull);
    let gk = [dot(&grip[0], &k), dot(&grip[1], &k), dot(&grip[2], &k)];
    let kgk = dot(&k, &gk);
    for i in 0..3 {
        pull[i] -= h[i] * (kp + lesson.surprise_m / lesson.variance_m2);
        for j in 0..3 {
            grip[i][j] +=
                h[i] * h[j] * (kgk + 1.0 / lesson.variance_m2) - h[i] * gk[j] - gk[i] * h[j];
        }
    }
}

/// Backward over a step: pull = Fᵀ pull, grip = Fᵀ grip F.
fn unstep(pull: &mut [f64; 3], grip: &mut [[f64; 3]; 3], d: &Dynamics) {
    let h = d.step_m;
    let keep = d.error_keeps;
    *pull = [pull[0], pull[1] + h * pull[0], keep * pull[2]];
    let [[g00, g01, g02], [_, g11, g12], [_, _, g22]] = *grip;
    let n01 = g01 + h * g00;
    let n02 = keep * g02;
    let n11 = g11 + h * (2.0 * g01 + h * g00);
    let n12 = keep * (g12 + h * g02);
    let n22 = keep * keep * g22;
    *grip = [[g00, n01, n02], [n01, n11, n12], [n02, n12, n22]];
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}
