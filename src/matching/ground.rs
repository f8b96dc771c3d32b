//! What the ways between reps are measured on: clocks in both directions, and level road.

use super::assign::Mark;
use super::{Clock, Task};
use crate::profile::Profile;
use crate::ride::{Cell, Road, air, gravity};

/// Time for one turn on the road, in seconds: slow down, look, turn, push off (common practice, no source).
pub const TURN_S: f64 = 15.0;
/// Length of road that riding to and fro takes, in metres.
const LEVEL_M: f64 = 200.0;
/// Steepest road on which riding to and fro is easy both ways, rise over run (common practice, no source).
const LEVEL_GRADE: f64 = 0.02;

/// The road between reps.
#[derive(Debug, Clone)]
pub struct Ground {
    /// The road in the route's direction.
    pub road: Road,
    /// The way back, where the rider may turn round.
    pub back: Option<Back>,
    /// Easy riding, as in recoveries.
    pub easy: Clock,
    /// Steady riding, as before the first rep.
    pub steady: Clock,
    /// For each node, where the last level stretch that ends there or before begins, in metres.
    level_before_m: Vec<f64>,
    /// For each node, where the first level stretch that begins there or after ends, in metres.
    level_after_m: Vec<f64>,
}

/// The same road in the other direction.
#[derive(Debug, Clone)]
pub struct Back {
    /// The road.
    pub road: Road,
    easy: Clock,
}

impl Ground {
    /// The ground under a task's route.
    pub fn new(task: &Task) -> Self {
        let road = Road::new(task.profile, &task.drive.system, task.weather);
        let back = task.wishes.turn_round.then(|| {
            let road = Road::new(&reversed(task.profile), &task.drive.system, task.weather);
            let easy = Clock::easy(&road, task.rider, task.drive);
            Back { road, easy }
        });
        let (level_before_m, level_after_m) = level(task.profile);
        let (easy, steady) = rayon::join(
            || Clock::easy(&road, task.rider, task.drive),
            || Clock::steady(&road, task.rider, task.drive, task.warm_up_s),
        );
        Ground {
            easy,
            steady,
            road,
            back,
            level_before_m,
            level_after_m,
        }
    }

    /// A rep's start on all the clocks.
    pub fn start(&self, at_m: f64) -> Mark {
        let node = (at_m / self.road.spacing_m + 1e-6) as usize;
        self.mark(at_m, self.level_before_m[node.min(self.road.cells.len())])
    }

    /// A rep's end on all the clocks.
    pub fn end(&self, at_m: f64) -> Mark {
        let node = (at_m / self.road.spacing_m - 1e-6).ceil() as usize;
        self.mark(at_m, self.level_after_m[node.min(self.road.cells.len())])
    }

    fn mark(&self, at_m: f64, level_m: f64) -> Mark {
        let length_m = self.road.length_m();
        Mark {
            at_m,
            easy_s: self.easy.time_at_s(at_m),
            rest_s: self.easy.rest_at_s(at_m),
            back_s: self.back.as_ref().map_or(0.0, |back| {
                back.easy.time_at_s(length_m) - back.easy.time_at_s(length_m - at_m)
            }),
            level_m,
        }
    }

    /// The distance on the road back of a distance along the route, both in metres.
    pub fn back_m(&self, at_m: f64) -> f64 {
        self.road.length_m() - at_m
    }
}

/// Speed on level road in still air near the route's start, in metres per second.
pub(super) fn level_speed_ms(task: &Task, power_w: f64) -> f64 {
    let efficiency = task.drive.system.resistance.drivetrain_efficiency;
    cell_of_grade(task, 0.0).speed_for_power_ms(power_w, efficiency)
}

/// A metre of road of a grade (rise over run) in still air near the route's start.
pub(super) fn cell_of_grade(task: &Task, grade: f64) -> Cell {
    let elevation_m = task.profile.elevation_at_m(0.0);
    let latitude_rad = task.profile.lat_deg[0].to_radians();
    let density = air::density_kg_m3(elevation_m, task.weather);
    let gravity = gravity::normal_gravity_m_s2(latitude_rad, elevation_m);
    Cell::new(&task.drive.system, 1.0, grade, density, gravity, 0.0)
}

/// A profile as seen by somebody who rides it from its end to its start.
fn reversed(profile: &Profile) -> Profile {
    let mut back = profile.clone();
    for column in [
        &mut back.lat_deg,
        &mut back.lon_deg,
        &mut back.elevation_m,
        &mut back.elevation_se_m,
        &mut back.grade_pct,
        &mut back.grade_se_pct,
    ] {
        column.reverse();
    }
    back.grade_pct.iter_mut().for_each(|g| *g = -*g);
    // A bearing belongs to the step that follows its node.
    let bearings = profile.bearing_rad.iter().rev().skip(1);
    back.bearing_rad = bearings
        .chain(profile.bearing_rad.first())
        .map(|b| b + std::f64::consts::PI)
        .collect();
    back.observations.clear();
    back
}

/// The nearest level stretch before and after each node.
fn level(profile: &Profile) -> (Vec<f64>, Vec<f64>) {
    let (z, step_m) = (&profile.elevation_m, profile.spacing_m);
    let long = (LEVEL_M / step_m).round() as usize;
    let is_level =
        |from: usize| (z[from + long] - z[from]).abs() <= LEVEL_GRADE * long as f64 * step_m;
    let n = z.len();
    let mut before = vec![f64::NEG_INFINITY; n];
    let mut after = vec![f64::INFINITY; n];
    for from in 0..n.saturating_sub(long) {
        if is_level(from) {
            before[from + long] = from as f64 * step_m;
            after[from] = (from + long) as f64 * step_m;
        }
    }
    for i in 1..n {
        before[i] = before[i].max(before[i - 1]);
        after[n - 1 - i] = after[n - 1 - i].min(after[n - i]);
    }
    (before, after)
}
