//! The fixed-interval smoother: what elevation and grade were at each node, given everything recorded before and after.
//!
//! Forward a Kalman filter, backward the recursion of Bierman (Automatica 9, 1973, 503–511), which inverts no matrix.
//! Linear in nodes.

use super::kalman::{Belief, Dynamics, Lesson, Matrix, Observation, STATE, Vector};
use super::turns::Turn;

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

/// Smooths the observations of an even line; there must be at least one observation. At each of the `turns` (sorted nodes)
/// the grade changes at once, and only there.
pub fn smooth(observations: &[Observation], mut dynamics: Dynamics, turns: &[Turn]) -> Smooth {
    let forward = filter(observations, dynamics, turns);
    let n = observations.len();
    let mut smooth = Smooth {
        elevation_m: vec![0.0; n],
        elevation_se_m: vec![0.0; n],
        grade: vec![0.0; n],
        grade_se: vec![0.0; n],
    };
    let mut backward = Backward::default();
    for i in (0..n).rev() {
        let (belief, lesson) = &forward[i];
        let settled = settle(belief, &backward);
        smooth.elevation_m[i] = settled.elevation_m;
        smooth.grade[i] = settled.grade;
        smooth.elevation_se_m[i] = settled.elevation_m2.max(0.0).sqrt();
        smooth.grade_se[i] = settled.grade_variance.max(0.0).sqrt();
        if turns.binary_search_by_key(&i, |t| t.node).is_ok() {
            backward.unturn();
        }
        if let Some(lesson) = lesson {
            backward.unlearn(lesson, &observations[i]);
        }
        dynamics.towards(&observations[i]);
        if i > 0 {
            backward.unstep(&dynamics, forward[i - 1].0.uneven);
        }
    }
    smooth
}

/// What is believed at each node from what was recorded up to it, the turn there taken, and what the node taught.
pub(super) fn filter(
    observations: &[Observation],
    mut dynamics: Dynamics,
    turns: &[Turn],
) -> Vec<(Belief, Option<Lesson>)> {
    let first = observations
        .iter()
        .find(|o| o.count > 0)
        .map_or(0.0, |o| o.elevation_m);
    let mut belief = Belief::start(first, &dynamics);
    let mut doubts = 0;
    let mut turns = turns.iter().peekable();
    let mut forward = Vec::with_capacity(observations.len());
    for (i, seen) in observations.iter().enumerate() {
        if i > 0 {
            dynamics.towards(seen);
            belief.step(&dynamics);
        }
        let mut learned = None;
        if seen.count > 0 {
            (learned, _) = belief.weigh(seen, &dynamics, &mut doubts);
        }
        if let Some(turn) = turns.next_if(|t| t.node == i) {
            belief.turn(turn.uneven);
        }
        forward.push((belief, learned));
    }
    forward
}

struct Settled {
    elevation_m: f64,
    elevation_m2: f64,
    grade: f64,
    grade_variance: f64,
}

/// Mean and variance at a node, given what comes after it.
fn settle(belief: &Belief, backward: &Backward) -> Settled {
    let Backward { pull, grip } = backward;
    let of = |row: &Vector| {
        let gripped = product(grip, row);
        (dot(row, pull), dot(row, &gripped))
    };
    let cov = &belief.cov;
    let (z_pull, z_grip) = of(&cov[0]);
    let [_, g, w, _] = cov;
    let both = [g[0] + w[0], g[1] + w[1], g[2] + w[2], g[3] + w[3]];
    let (g_pull, g_grip) = of(&both);
    Settled {
        elevation_m: belief.mean[0] - z_pull,
        elevation_m2: cov[0][0] - z_grip,
        grade: belief.mean[1] + belief.mean[2] - g_pull,
        grade_variance: both[1] + both[2] - g_grip,
    }
}

/// What is known from the far end back to a node: how it pulls at the belief there, and how firmly.
#[derive(Debug, Clone, Default)]
pub(super) struct Backward {
    pub(super) pull: Vector,
    pub(super) grip: Matrix,
}

impl Backward {
    /// Back over an observation: pull = (I − KH)ᵀ pull − Hᵀ surprise/variance, grip likewise.
    pub(super) fn unlearn(&mut self, lesson: &Lesson, seen: &Observation) {
        let h = [1.0, seen.offset_m, seen.offset_m, seen.error_scale];
        let k = lesson.gain;
        let grip = &mut self.grip;
        let kp = dot(&k, &self.pull);
        let gk = product(grip, &k);
        let kgk = dot(&k, &gk);
        for i in 0..STATE {
            self.pull[i] -= h[i] * (kp + lesson.surprise_m / lesson.variance_m2);
            for j in 0..STATE {
                grip[i][j] +=
                    h[i] * h[j] * (kgk + 1.0 / lesson.variance_m2) - h[i] * gk[j] - gk[i] * h[j];
            }
        }
    }

    /// Back over a turn, which forgets the wander.
    pub(super) fn unturn(&mut self) {
        self.pull[2] = 0.0;
        for k in 0..STATE {
            self.grip[2][k] = 0.0;
            self.grip[k][2] = 0.0;
        }
    }

    /// Back over a step: pull = Fᵀ pull, grip = Fᵀ grip F.
    pub(super) fn unstep(&mut self, d: &Dynamics, uneven: bool) {
        let by = if uneven { &d.uneven } else { &d.steady };
        let (h, c) = (d.step_m, by.climbs_m);
        let (wk, ek) = (by.keeps, d.error_keeps);
        let back = |v: &Vector| [v[0], h * v[0] + v[1], c * v[0] + wk * v[2], ek * v[3]];
        self.pull = back(&self.pull);
        let [a, b, c, d] = &self.grip;
        let [a, b, c, d] = [back(a), back(b), back(c), back(d)];
        let column = |j: usize| back(&[a[j], b[j], c[j], d[j]]);
        self.grip = [column(0), column(1), column(2), column(3)];
    }
}

fn product(m: &Matrix, v: &Vector) -> Vector {
    let [a, b, c, d] = m;
    [dot(a, v), dot(b, v), dot(c, v), dot(d, v)]
}

fn dot(a: &Vector, b: &Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}
