//! The steady climbs of a recording: the time they took beside the time the road model gives for the power ridden.

use super::seconds::Seconds;
use crate::climbs::Climbs;
use crate::profile::Profile;
use crate::ride::uncertainty::{Stretch, duration_range};
use crate::ride::{DurationRange, Pace, System, Unknowns, Weather};

/// A climb with more missing powers than this is left out, as a share of its seconds.
const MOST_MISSING_SHARE: f64 = 0.05;
/// A climb that took less says little, in seconds.
const LEAST_S: f64 = 60.0;

/// A steady climb as it was ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiddenClimb {
    /// The climb's number.
    pub climb: usize,
    /// Where it starts along the road, in metres.
    pub from_m: f64,
    /// Where it ends along the road, in metres.
    pub to_m: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// How long it took, in seconds.
    pub ridden_s: f64,
    /// Mean power, in watts.
    pub power_w: f64,
    /// What the model gives for that power and the speed on arrival.
    pub model: DurationRange,
}

/// Every steady climb that was ridden in one go with power.
pub fn ridden_climbs(
    seconds: &Seconds,
    profile: &Profile,
    climbs: &Climbs,
    system: &System,
    weather: &Weather,
    unknowns: &Unknowns,
) -> Vec<RiddenClimb> {
    let ridden = climbs.climbs.iter().filter_map(|climb| {
        let (from_s, to_s) = (
            time_at(seconds, climb.from_m)?,
            time_at(seconds, climb.to_m)?,
        );
        let power_w = mean_power_w(seconds, from_s, to_s)?;
        let stretch = Stretch {
            from_m: climb.from_m,
            to_m: climb.to_m,
            entry_speed_ms: seconds.speed_ms[from_s as usize],
            pace: Pace::constant(power_w),
            grade_se_pct: climb.grade_se_pct,
        };
        Some(RiddenClimb {
            climb: climb.id,
            from_m: climb.from_m,
            to_m: climb.to_m,
            grade_pct: climb.grade_pct,
            ridden_s: to_s - from_s,
            power_w,
            model: duration_range(profile, system, weather, &stretch, unknowns),
        })
    });
    ridden.collect()
}

/// When a distance along the road was passed, in seconds since the start.
pub fn time_at(seconds: &Seconds, distance_m: f64) -> Option<f64> {
    let after = seconds.distance_m.partition_point(|d| *d < distance_m);
    if after == 0 || after >= seconds.count() {
        return None;
    }
    let (a, b) = (seconds.distance_m[after - 1], seconds.distance_m[after]);
    let share = if b > a {
        (distance_m - a) / (b - a)
    } else {
        0.0
    };
    Some(after as f64 - 1.0 + share)
}

/// Mean power of a ride without halts or holes between two times.
fn mean_power_w(seconds: &Seconds, from_s: f64, to_s: f64) -> Option<f64> {
    let (from, to) = (from_s as usize, to_s.ceil() as usize);
    let unbroken =
        !seconds.halted[from..to].contains(&true) && !seconds.known[from..to].contains(&false);
    let powers: Vec<f64> = seconds.power_w[from..to]
        .iter()
        .flatten()
        .copied()
        .collect();
    let missing = (to - from - powers.len()) as f64;
    let usable =
        unbroken && to_s - from_s >= LEAST_S && missing <= MOST_MISSING_SHARE * (to - from) as f64;
    usable.then(|| powers.iter().sum::<f64>() / powers.len() as f64)
}
