//! How long each climb of a route takes.

use super::uncertainty::{DurationRange, Stretch, Unknowns, duration_range};
use super::{Moment, Pace, Road, System, Until, Weather, advance};
use crate::climbs::Climb;
use crate::profile::Profile;

/// A climb ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Passage {
    /// Speed on arrival, in metres per second.
    pub entry_speed_ms: f64,
    /// How long it takes.
    pub duration: DurationRange,
}

/// Rides each climb as `pace` says of it and the speed of arrival (m/s), arriving as fast as the `approach` brings the rider
/// there from the route's start.
pub fn passages(
    profile: &Profile,
    climbs: &[Climb],
    system: &System,
    weather: &Weather,
    approach: &Pace,
    unknowns: &Unknowns,
    mut pace: impl FnMut(&Road, &Climb, f64) -> Pace,
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
                pace: pace(&road, climb, now.speed_ms),
                grade_se_pct: climb.grade_se_pct,
            };
            Passage {
                entry_speed_ms: now.speed_ms,
                duration: duration_range(profile, system, weather, &stretch, unknowns),
            }
        })
        .collect()
}
