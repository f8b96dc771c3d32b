//! What elevation and grade are on average of the roads that a recording allows.
//!
//! Where the recording is poor, many sets of turns are nearly as likely as the likeliest one. Of all of them the mean is expected to be least
//! wrong at each node, and its error is both that of each road and what the roads differ by.

use super::kalman::{Dynamics, Observation};
use super::smoother::{self, Smooth};
use super::turns::Turns;

/// So many roads are averaged. The error of the mean of n grows with the square root of 1 + 1/n: that of all roads would be smaller by a
/// thirtieth.
const ROADS: usize = 16;

/// The mean of some roads, given by where they turn; there is at least one.
pub fn average(observations: &[Observation], dynamics: Dynamics, roads: &[Turns]) -> Smooth {
    let roads = &roads[..roads.len().min(ROADS)];
    let mut elevation = vec![Mean::default(); observations.len()];
    let mut grade = elevation.clone();
    for turns in roads {
        let road = smoother::smooth(observations, dynamics, turns);
        add(&mut elevation, &road.elevation_m, &road.elevation_se_m);
        add(&mut grade, &road.grade, &road.grade_se);
    }
    let count = roads.len() as f64;
    let means = |of: &[Mean]| of.iter().map(|mean| mean.sum / count).collect();
    let errors = |of: &[Mean]| of.iter().map(|mean| mean.error(count)).collect();
    Smooth {
        elevation_m: means(&elevation),
        elevation_se_m: errors(&elevation),
        grade: means(&grade),
        grade_se: errors(&grade),
    }
}

fn add(means: &mut [Mean], values: &[f64], errors: &[f64]) {
    for ((mean, value), error) in means.iter_mut().zip(values).zip(errors) {
        mean.sum += value;
        mean.squares += value * value;
        mean.error_squares += error * error;
    }
}

/// Values of some roads at one node, added up.
#[derive(Clone, Default)]
struct Mean {
    sum: f64,
    squares: f64,
    error_squares: f64,
}

impl Mean {
    /// The mean's standard error: each road's own and what the roads differ by.
    fn error(&self, count: f64) -> f64 {
        let mean = self.sum / count;
        let between = (self.squares / count - mean * mean).max(0.0);
        (between + self.error_squares / count).sqrt()
    }
}
