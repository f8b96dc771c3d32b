//! The fixed-interval smoother: what elevation and grade were at each node, given everything recorded before and after.
//!
//! Forward a Kalman filter, backward the recursion of Bierman (Automatica 9, 1973, 503–511), which inverts no matrix.
//! Linear in nodes.

use super::kalman::{Belief, Dynamics, Lesson, Observation, Pairs, Vector, without_trace};
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
        } else {
            backward.drop_traces();
        }
        dynamics.towards(&observations[i]);
        if i > 0 {
            backward.unstep(&dynamics, forward[i - 1].0.uneven);
        }
    }
    smooth
}

/// What is believed at each node from what was recorded up to it, the turn there taken, and what the node taught.
fn filter(
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
        } else {
            belief.drop_traces();
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
    let of = |row: &Vector| (dot(row, pull), dot(row, &grip.times(row)));
    let p = &belief.cov;
    let (z_pull, z_grip) = of(&[p.zz, p.zg, p.zw, p.ze]);
    let both = [p.zg + p.zw, p.gg + p.gw, p.gw + p.ww, p.ge + p.we];
    let (g_pull, g_grip) = of(&both);
    Settled {
        elevation_m: belief.mean[0] - z_pull,
        elevation_m2: p.zz - z_grip,
        grade: belief.mean[1] + belief.mean[2] - g_pull,
        grade_variance: both[1] + both[2] - g_grip,
    }
}

/// What is known from the far end back to a node: how it pulls at the belief there, and how firmly.
#[derive(Debug, Clone, Default)]
pub(super) struct Backward {
    pub(super) pull: Vector,
    pub(super) grip: Pairs,
}

impl Backward {
    /// Back over an observation: pull = (I − KH)ᵀ pull − Hᵀ surprise/variance, grip likewise.
    pub(super) fn unlearn(&mut self, lesson: &Lesson, seen: &Observation) {
        let (o, scale) = (seen.offset_m, seen.error_scale);
        let k = lesson.gain;
        let firm = 1.0 / lesson.variance_m2;
        let pulls = dot(&k, &self.pull) + lesson.surprise_m * firm;
        let [z, g, w, e] = self.grip.times(&k);
        let held = z * k[0] + g * k[1] + w * k[2] + e * k[3] + firm;
        for (pull, looks) in self.pull.iter_mut().zip([1.0, o, o, scale]) {
            *pull -= looks * pulls;
        }
        let p = &mut self.grip;
        p.zz += held - 2.0 * z;
        p.zg += o * (held - z) - g;
        p.zw += o * (held - z) - w;
        p.ze += scale * (held - z) - e;
        p.gg += o * (o * held - 2.0 * g);
        p.gw += o * (o * held - g - w);
        p.ge += o * (scale * held - e) - scale * g;
        p.ww += o * (o * held - 2.0 * w);
        p.we += o * (scale * held - e) - scale * w;
        p.ee += scale * (scale * held - 2.0 * e);
    }

    /// As [`Belief::drop_traces`].
    pub(super) fn drop_traces(&mut self) {
        self.pull[2] = without_trace(self.pull[2]);
        self.pull[3] = without_trace(self.pull[3]);
        self.grip.drop_traces();
    }

    /// Back over a turn, which forgets the wander.
    pub(super) fn unturn(&mut self) {
        self.pull[2] = 0.0;
        self.grip = Pairs {
            zw: 0.0,
            gw: 0.0,
            ww: 0.0,
            we: 0.0,
            ..self.grip
        };
    }

    /// Back over a step: pull = Fᵀ pull, grip = Fᵀ grip F.
    pub(super) fn unstep(&mut self, d: &Dynamics, uneven: bool) {
        let by = if uneven { &d.uneven } else { &d.steady };
        let (h, c) = (d.step_m, by.climbs_m);
        let (wk, ek) = (by.keeps, d.error_keeps);
        let [z, g, w, e] = self.pull;
        self.pull = [z, h * z + g, c * z + wk * w, ek * e];
        let p = &self.grip;
        let (zg, zw) = (h * p.zz + p.zg, c * p.zz + wk * p.zw);
        self.grip = Pairs {
            zz: p.zz,
            zg,
            zw,
            ze: ek * p.ze,
            gg: h * (zg + p.zg) + p.gg,
            gw: c * zg + wk * (h * p.zw + p.gw),
            ge: ek * (h * p.ze + p.ge),
            ww: c * (zw + wk * p.zw) + wk * wk * p.ww,
            we: ek * (c * p.ze + wk * p.we),
            ee: ek * ek * p.ee,
        };
    }
}

fn dot(a: &Vector, b: &Vector) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2] + a[3] * b[3]
}
