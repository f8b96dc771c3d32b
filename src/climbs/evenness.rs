//! How likely it is that a stretch is a steady climb and not a row of lumps of the same mean grade.
//!
//! Lumps that rise no higher than the recording errs look like a steady climb with an unlucky error. The two are told apart by the
//! likelihood of what was recorded there: on a steady climb the grade has one level, a little wander, and kinks; on a rolling road it
//! swings about its level by some points with a period of some hundred metres (a stochastic cycle: Harvey, Forecasting,
//! Structural Time Series Models and the Kalman Filter, 1989, section 2.3.3). One Kalman filter each, linear in nodes; where
//! elevations are fine, the turns have told the lumps already.

use crate::profile::kalman::{WANDER_M, wander_variance};
use crate::profile::{Dynamics, Profile};

/// What a rolling road pays against a steady one, in units of twice the log-likelihood: one stretch in 90 is so, of those that look
/// steady in poor elevations. With 6 more true climbs are refused there than lumps.
const ROLLING_COST: f64 = 9.0;
/// Standard deviation of a rolling road's grade about its mean (rise over run): lumps of 1 and 8 %.
const ROLLING_SD: f64 = 0.035;
/// Distance over which its swings keep their rhythm, in metres: about one swing.
const ROLLING_MEMORY_M: f64 = 300.0;
/// Lengths of a swing, up and down again, in metres; shorter ones are kinks, longer ones are climbs. All equally likely.
const SWINGS_M: [f64; 3] = [200.0, 280.0, 400.0];
/// Variance of elevation that kinks add for each metre of a steady climb, in m², before it is multiplied by the squared grade: one hairpin or
/// culvert that costs 30 m times the grade every 860 m gives 30² / 860.
const KINKS_M: f64 = 1.05;
/// Standard deviation of the grade where nothing is known of it (rise over run).
const START_GRADE_SD: f64 = 0.1;
/// An elevation further off than this many standard deviations is a bad fix.
const DISBELIEF_SD: f64 = 5.0;

/// Share of the belief that the nodes from one to another, of a mean grade (rise over run), are a steady climb.
pub fn steady_share(profile: &Profile, from: usize, to: usize, grade: f64) -> f64 {
    let kinks_m = KINKS_M * grade * grade;
    let steady = Road {
        variance: wander_variance(grade),
        memory_m: WANDER_M,
        swing_m: None,
        kinks_m,
    };
    let steady_cost = cost(profile, from, to, &steady);
    let rolling: f64 = SWINGS_M
        .iter()
        .map(|&swing_m| {
            let road = Road {
                variance: ROLLING_SD * ROLLING_SD,
                memory_m: ROLLING_MEMORY_M,
                swing_m: Some(swing_m),
                kinks_m,
            };
            let worse = cost(profile, from, to, &road) + ROLLING_COST - steady_cost;
            (-0.5 * worse).exp() / SWINGS_M.len() as f64
        })
        .sum();
    1.0 / (1.0 + rolling)
}

/// How a road's grade goes about its level.
struct Road {
    /// Variance of the grade (rise over run).
    variance: f64,
    /// Distance over which it forgets itself, in metres.
    memory_m: f64,
    /// Length of a swing, in metres, if it swings.
    swing_m: Option<f64>,
    /// Variance that kinks add to the elevation, in m² a metre.
    kinks_m: f64,
}

/// Number of things in the state: elevation (m), level of the grade, where its swing is and how fast it goes (both as grades), recording's error (m).
const STATE: usize = 5;
type Vector = [f64; STATE];
type Matrix = [Vector; STATE];

/// What a step does to the state.
struct Step {
    step_m: f64,
    keeps_sine: f64,
    keeps_cosine: f64,
    error_keeps: f64,
}

impl Step {
    fn of(&self, x: Vector) -> Vector {
        let swing = self.keeps_cosine * x[2] + self.keeps_sine * x[3];
        [
            x[0] + self.step_m * (x[1] + 0.5 * (x[2] + swing)),
            x[1],
            swing,
            self.keeps_cosine * x[3] - self.keeps_sine * x[2],
            self.error_keeps * x[4],
        ]
    }

    /// F P Fᵀ of a symmetric P.
    fn of_both(&self, p: &Matrix) -> Matrix {
        let columns = p.map(|column| self.of(column));
        std::array::from_fn(|i| self.of(std::array::from_fn(|j| columns[j][i])))
    }
}

/// Minus twice the logarithm of the likelihood of what was recorded on a stretch, its first elevation given.
fn cost(profile: &Profile, from: usize, to: usize, road: &Road) -> f64 {
    let mut dynamics = Dynamics::new(profile.spacing_m, &profile.noise);
    let step_m = profile.spacing_m;
    let keeps = (-step_m / road.memory_m).exp();
    let turn_rad = road
        .swing_m
        .map_or(0.0, |swing_m| std::f64::consts::TAU * step_m / swing_m);
    let mut step = Step {
        step_m,
        keeps_sine: keeps * turn_rad.sin(),
        keeps_cosine: keeps * turn_rad.cos(),
        error_keeps: 0.0,
    };
    let fresh = road.variance * (1.0 - keeps * keeps);
    let mut mean = [0.0; STATE];
    let mut cov = [[0.0; STATE]; STATE];
    cov[0][0] = 1e4;
    cov[1][1] = START_GRADE_SD * START_GRADE_SD;
    (cov[2][2], cov[3][3]) = (road.variance, road.variance);
    cov[4][4] = dynamics.error_m2;
    let mut sum = 0.0;
    let mut started = false;
    for node in from..=to {
        let seen = &profile.observations[node];
        if node > from {
            dynamics.towards(seen);
            step.error_keeps = dynamics.error_keeps;
            mean = step.of(mean);
            cov = step.of_both(&cov);
            cov[0][0] += road.kinks_m * step_m + 0.25 * step_m * step_m * fresh;
            cov[0][2] += 0.5 * step_m * fresh;
            cov[2][0] += 0.5 * step_m * fresh;
            cov[2][2] += fresh;
            cov[3][3] += fresh;
            cov[4][4] += (1.0 - step.error_keeps * step.error_keeps) * dynamics.error_m2;
        }
        if seen.count == 0 {
            continue;
        }
        if !started {
            mean[0] = seen.elevation_m;
            started = true;
        }
        let looks = [1.0, seen.offset_m, seen.offset_m, 0.0, seen.error_scale];
        let across = cov.map(|row| dot(&row, &looks));
        let remainder_m2 = dynamics.remainder_m2 / f64::from(seen.count);
        let variance_m2 = dot(&across, &looks) + remainder_m2 + 1e-6;
        let surprise_m = seen.elevation_m - dot(&mean, &looks);
        let square = surprise_m * surprise_m / variance_m2;
        sum += square.min(DISBELIEF_SD * DISBELIEF_SD) + variance_m2.ln();
        if square > DISBELIEF_SD * DISBELIEF_SD {
            continue;
        }
        for i in 0..STATE {
            mean[i] += across[i] * surprise_m / variance_m2;
            for j in 0..STATE {
                cov[i][j] -= across[i] * across[j] / variance_m2;
            }
        }
    }
    sum
}

fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
