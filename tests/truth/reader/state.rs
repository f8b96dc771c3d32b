//! What an explanation believes of the road at one place: a normal distribution, moved along and weighed by a Kalman
//! filter.

use std::f64::consts::TAU;

use super::super::profile::WANDER_REACH_M;
use super::grammar::Level;

/// Height in metres, grade, change of grade a metre, wander of the grade, and the elevation's error in metres.
const SIZE: usize = 5;
const HEIGHT: usize = 0;
const GRADE: usize = 1;
const CHANGE: usize = 2;
const WANDER: usize = 3;
const ERROR: usize = 4;
/// Root mean square of the share of (grade + 1 point) that the grade wanders by, flat between 0.03 and 0.08.
const WANDER_SHARE: f64 = 0.057;
/// Standard deviation of what the first height may be off by, in metres.
const FIRST_HEIGHT_M: f64 = 20.0;

/// The elevation's error.
#[derive(Debug, Clone, Copy)]
pub struct Noise {
    /// Its standard deviation.
    pub sd_m: f64,
    /// Its reach, in the noise's own coordinate: metres or seconds.
    pub reach: f64,
}

/// Means and covariances.
#[derive(Debug, Clone)]
pub struct State {
    mean: [f64; SIZE],
    covariance: [[f64; SIZE]; SIZE],
}

impl State {
    /// At the start of the road.
    pub fn first(height_m: f64, level: &Level, noise: &Noise) -> Self {
        let mut state = Self {
            mean: [height_m, 0.0, 0.0, 0.0, 0.0],
            covariance: [[0.0; SIZE]; SIZE],
        };
        state.covariance[HEIGHT][HEIGHT] = FIRST_HEIGHT_M.powi(2);
        state.covariance[ERROR][ERROR] = noise.sd_m.powi(2);
        state.turn(level, 0.0);
        state
    }

    /// The piece's own grade and its variance.
    pub fn level(&self) -> (f64, f64) {
        (self.mean[GRADE], self.covariance[GRADE][GRADE])
    }

    /// Begins a piece of another level. Where exactly is known to a step only, so the height may be off by the change of
    /// grade over that.
    pub fn turn(&mut self, level: &Level, step_m: f64) {
        let change = level.grade - self.mean[GRADE];
        for (index, mean, variance) in [
            (GRADE, level.grade, level.grade_variance),
            (CHANGE, level.change, level.change_variance),
            (WANDER, 0.0, wander_variance(level.grade)),
        ] {
            for other in 0..SIZE {
                self.covariance[index][other] = 0.0;
                self.covariance[other][index] = 0.0;
            }
            self.mean[index] = mean;
            self.covariance[index][index] = variance;
        }
        self.covariance[HEIGHT][HEIGHT] += (change * step_m).powi(2) / 12.0;
    }

    /// Moves on along the road by `run_m`, and by `lag` in the noise's coordinate.
    pub fn advance(&mut self, run_m: f64, lag: f64, noise: &Noise) {
        if run_m <= 0.0 && lag <= 0.0 {
            return;
        }
        let kept = (-run_m / WANDER_REACH_M).exp();
        let along_m = WANDER_REACH_M * (1.0 - kept);
        let half_m2 = 0.5 * run_m * run_m;
        let error_kept = (-lag / noise.reach).exp();
        let moved = |column: &[f64; SIZE]| {
            [
                column[HEIGHT]
                    + run_m * column[GRADE]
                    + half_m2 * column[CHANGE]
                    + along_m * column[WANDER],
                column[GRADE] + run_m * column[CHANGE],
                column[CHANGE],
                kept * column[WANDER],
                error_kept * column[ERROR],
            ]
        };
        self.mean = moved(&self.mean);
        // The covariance is symmetric: its rows are its columns, before and after the first of the two moves' transpose.
        let mut half = [[0.0; SIZE]; SIZE];
        for (index, row) in self.covariance.iter().enumerate() {
            let row = moved(row);
            for other in 0..SIZE {
                half[other][index] = row[other];
            }
        }
        for (row, from) in self.covariance.iter_mut().zip(&half) {
            *row = moved(from);
        }
        let variance = wander_variance(self.mean[GRADE]);
        let reach_m = WANDER_REACH_M;
        let height_m2 =
            variance * reach_m * reach_m * (2.0 * run_m / reach_m - 3.0 + 4.0 * kept - kept * kept);
        let both_m = variance * reach_m * (1.0 - kept).powi(2);
        self.covariance[HEIGHT][HEIGHT] += height_m2.max(0.0);
        self.covariance[HEIGHT][WANDER] += both_m;
        self.covariance[WANDER][HEIGHT] += both_m;
        self.covariance[WANDER][WANDER] += variance * (1.0 - kept * kept);
        self.covariance[ERROR][ERROR] += noise.sd_m.powi(2) * (1.0 - error_kept * error_kept);
    }

    /// Kinks may have taken some of the rise: a variance in m² for a grade of one.
    pub fn kink(&mut self, variance_m2: f64) {
        self.covariance[HEIGHT][HEIGHT] += variance_m2 * self.mean[GRADE] * self.mean[GRADE];
    }

    /// Learns a recorded height, whose error is `steepness` times the noise besides rounding; the logarithm of its
    /// likelihood.
    pub fn observe(&mut self, height_m: f64, steepness: f64, rounding_m2: f64) -> f64 {
        let gain: [f64; SIZE] = std::array::from_fn(|row| {
            self.covariance[row][HEIGHT] + steepness * self.covariance[row][ERROR]
        });
        let variance_m2 = gain[HEIGHT] + steepness * gain[ERROR] + rounding_m2;
        let off_m = height_m - self.mean[HEIGHT] - steepness * self.mean[ERROR];
        for (mean, gained) in self.mean.iter_mut().zip(&gain) {
            *mean += gained / variance_m2 * off_m;
        }
        for (row, gained) in self.covariance.iter_mut().zip(&gain) {
            let share = gained / variance_m2;
            for (value, other) in row.iter_mut().zip(&gain) {
                *value -= share * other;
            }
        }
        -0.5 * (off_m * off_m / variance_m2 + (TAU * variance_m2).ln())
    }
}

fn wander_variance(grade: f64) -> f64 {
    (WANDER_SHARE * (grade.abs() + 0.01)).powi(2)
}
