//! One gear held along a stretch of road.

use super::{Drive, Gear, effort};
use crate::ride::{Cell, Road};

/// A gear on a stretch ridden at one power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GearAlong {
    /// The gear.
    pub gear: Gear,
    /// Mean cadence, in turns a minute.
    pub cadence_rpm: f64,
    /// The cadence is lower for a twentieth of the time, in turns a minute.
    pub lowest_rpm: f64,
    /// The cadence is higher for a twentieth of the time, in turns a minute.
    pub highest_rpm: f64,
}

/// Share of the time that is left out at each end of a range: the first and last metres of a climb are half flat.
const TAIL_SHARE: f64 = 0.05;

/// The gear whose mean cadence comes nearest to an aim (rpm) on the road's cells `from..to` at a power (watts), each cell
/// at its steady speed; of two equal ratios the larger chainring. `None` on an empty stretch.
pub fn nearest_gear(
    drive: &Drive,
    road: &Road,
    from: usize,
    to: usize,
    power_w: f64,
    aim_rpm: f64,
) -> Option<GearAlong> {
    let cells = road.cells.get(from..to).filter(|cells| !cells.is_empty())?;
    let speed = |cell: &Cell| {
        cell.speed_for_power_ms(power_w, road.drivetrain_efficiency)
            .max(1e-3)
    };
    let speeds: Vec<f64> = cells.iter().map(speed).collect();
    let length_m: f64 = cells.iter().map(|c| c.slope_length_m).sum();
    let time_s: f64 = cells
        .iter()
        .zip(&speeds)
        .map(|(c, v)| c.slope_length_m / v)
        .sum();
    let turned = |gear: &Gear, speed_ms: f64| effort::cadence_rpm(speed_ms, gear.development_m);
    let miss = |gear: &Gear| (turned(gear, length_m / time_s) / aim_rpm).ln().abs();
    let mut timed: Vec<(f64, f64)> = cells
        .iter()
        .zip(&speeds)
        .map(|(c, v)| (*v, c.slope_length_m / v))
        .collect();
    let gear = drive
        .gears
        .iter()
        .min_by(|a, b| miss(a).total_cmp(&miss(b)))?;
    Some(GearAlong {
        gear: *gear,
        cadence_rpm: turned(gear, length_m / time_s),
        lowest_rpm: turned(gear, by_time(&mut timed, TAIL_SHARE * time_s)),
        highest_rpm: turned(gear, by_time(&mut timed, (1.0 - TAIL_SHARE) * time_s)),
    })
}

/// The speed below which the rider is for a time (seconds), of speeds and how long each is ridden.
fn by_time(timed: &mut [(f64, f64)], time_s: f64) -> f64 {
    timed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut passed_s = 0.0;
    for (speed_ms, duration_s) in timed.iter() {
        passed_s += duration_s;
        if passed_s >= time_s {
            return *speed_ms;
        }
    }
    timed.last().map_or(0.0, |last| last.0)
}
