//! How long each climb of a route takes at one power.

use super::uncertainty::{DurationRange, Stretch, Unknowns, duration_range};
use super::{Moment, Pace, Road, System, Until, Weather, advance};
use crate::climbs::Climb;
use crate::profile::Profile;

/// A climb ridden at one power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    /// Crank power, in watts.
    pub power_w: f64,
    /// Speed on arrival, in metres per second.
    pub entry_speed_ms: f64,
    /// How long it takes.
    pub duration: DurationRange,
}

/// Rides each climb at a power, arriving as fast as the `approach` brings the rider there from the route's start.
pub fn passages(
    profile: &Profile,
    climbs: &[Climb],
    system: &System,
    weather: &Weather,
    approach: &Pace,
    power_w: f64,
    unknowns: &Unknowns,
) -> Vec<Passage> {
    let road = Road::new(profile, system, weather);
    let mut now = Moment {
        distance_m: 0.0,
        time_s: 0.0,
        speed_ms: super::PUSH_OFF_SPEED_MS,
    };
    climbs
        .iter()
        .map(|climb| {
            now = advance(&road, now, approach, Until::Distance(climb.from_m), |_| {});
            let stretch = Stretch {
                from_m: climb.from_m,
                to_m: climb.to_m,
                entry_speed_ms: now.speed_ms,
                power_w,
                grade_se_pct: climb.grade_se_pct,
            };
            let duration = duration_range(profile, system, weather, &stretch, unknowns);
            Passage {
                power_w,
                entry_speed_ms: now.speed_ms,
                duration,
            }
        })
        .collect()
}
