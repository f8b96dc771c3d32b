//! How long it takes to ride from place to place between reps.

use crate::gearing::Drive;
use crate::ride::{Moment, PUSH_OFF_SPEED_MS, Pace, Rider, Road, Until, advance};

/// Time along a route ridden in one way from its start, at each node.
#[derive(Debug, Clone, PartialEq)]
pub struct Clock {
    spacing_m: f64,
    time_s: Vec<f64>,
    rest_s: Vec<f64>,
}

/// More than the slowest rider takes from node to node, in seconds.
const PAST_WARM_UP_S: f64 = 60.0;

impl Clock {
    /// Easy riding, as in recoveries; time above the recovery ceiling does not count as rest.
    pub fn easy(road: &Road, rider: &Rider, drive: &Drive) -> Self {
        let end = Until::Distance(road.length_m());
        Clock::new(road, rider, drive, rider.easy_share, end)
    }

    /// Steady riding, as before the first rep. The clock runs no longer than it takes to tell whether a warm-up (seconds) is over.
    pub fn steady(road: &Road, rider: &Rider, drive: &Drive, warm_up_s: f64) -> Self {
        let over = Until::Time(warm_up_s.max(0.0) + PAST_WARM_UP_S);
        Clock::new(road, rider, drive, rider.steady_share, over)
    }

    fn new(road: &Road, rider: &Rider, drive: &Drive, share: f64, until: Until) -> Self {
        let pace = Pace::between_reps(rider, share, drive.lowest_development_m());
        let ceiling_w = rider.recovery_ceiling_share * rider.threshold_w;
        let start = Moment {
            distance_m: 0.0,
            time_s: 0.0,
            speed_ms: PUSH_OFF_SPEED_MS,
        };
        let mut clock = Clock {
            spacing_m: road.spacing_m,
            time_s: vec![0.0],
            rest_s: vec![0.0],
        };
        let mut rest_s = 0.0;
        advance(road, start, &pace, until, |sample| {
            if sample.power_w <= ceiling_w {
                rest_s += sample.duration_s;
            }
            let node = clock.time_s.len();
            if sample.to.distance_m >= node as f64 * road.spacing_m - 1e-6 {
                clock.time_s.push(sample.to.time_s);
                clock.rest_s.push(rest_s);
            }
        });
        clock
    }

    /// Time from the route's start to a distance along it (metres), in seconds.
    pub fn time_at_s(&self, distance_m: f64) -> f64 {
        self.between(&self.time_s, distance_m)
    }

    /// The part of that time that counts as recovery, in seconds.
    pub fn rest_at_s(&self, distance_m: f64) -> f64 {
        self.between(&self.rest_s, distance_m)
    }

    fn between(&self, column: &[f64], distance_m: f64) -> f64 {
        let last = column.len() - 1;
        let position = (distance_m / self.spacing_m).clamp(0.0, last as f64);
        let i = (position as usize).min(last.saturating_sub(1));
        let next = column[(i + 1).min(last)];
        column[i] + (position - i as f64) * (next - column[i])
    }
}
