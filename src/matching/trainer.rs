//! The same set on a trainer.

use super::Demand;
use crate::gearing::{Band, Drive, Gear, chart, effort};

/// A block of the set on a trainer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrainerBlock {
    /// Power where it is measured, in watts.
    pub power_w: Band,
    /// The gear.
    pub gear: Gear,
    /// Cadence, in turns of the cranks a minute.
    pub cadence_rpm: Band,
    /// Torque at the cranks at the aims, in newton metres.
    pub torque_nm: f64,
    /// Mean tangential pedal force at the aims, both legs together, in newtons.
    pub pedal_force_n: f64,
    /// Speed of the driven wheel's rim at the cadence aimed for, in metres per second.
    pub wheel_speed_ms: f64,
}

/// The wheel turns about as fast as on a climb of this grade (rise over run), so that the flywheel carries no more over the dead
/// centres than the bike does uphill (common practice, no source).
const LIKE_GRADE: f64 = 0.05;

/// What each block asks for on a trainer; `None` for maximal starts, which have no power to set, and where there are no gears.
pub fn blocks(drive: &Drive, demands: &[Demand]) -> Vec<Option<TrainerBlock>> {
    demands.iter().map(|demand| block(drive, demand)).collect()
}

fn block(drive: &Drive, demand: &Demand) -> Option<TrainerBlock> {
    if demand.start.is_some() {
        return None;
    }
    let bands = &demand.bands;
    let uphill_ms = uphill_speed_ms(drive, bands.power_w.aim);
    let rim_ms = |g: &Gear| effort::speed_ms(bands.cadence_rpm.aim, g.development_m);
    let off = |g: &Gear| (rim_ms(g) / uphill_ms).ln().abs();
    let straight = drive.gears.iter().filter(|g| !g.crossed);
    let gear = straight.min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let crank_w = bands.power_w.aim * drive.crank_per_measured;
    let torque_nm = effort::torque_nm(crank_w, bands.cadence_rpm.aim);
    Some(TrainerBlock {
        power_w: bands.power_w,
        gear: *gear,
        cadence_rpm: bands.cadence_rpm,
        torque_nm,
        pedal_force_n: effort::pedal_force_n(torque_nm, drive.crank_mm),
        wheel_speed_ms: rim_ms(gear),
    })
}

fn uphill_speed_ms(drive: &Drive, power_w: f64) -> f64 {
    let around = chart::Surroundings::default();
    let (density, gravity) = (around.density_kg_m3, around.gravity_m_s2);
    let cell = crate::ride::Cell::new(&drive.system, 1.0, LIKE_GRADE, density, gravity, 0.0);
    cell.speed_for_power_ms(power_w, drive.system.resistance.drivetrain_efficiency)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};

    #[test]
    fn torque_and_wheel_speed_follow_from_power_gear_and_cadence() {
        let file = parse_rider(EXAMPLE_RIDER).expect("the example is right");
        let set = parse_set(EXAMPLE_SET).expect("the example is right");
        let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
        let demands =
            Demand::of_set(&set, file.rider.threshold_w, &drive).expect("the example is right");
        let block = blocks(&drive, &demands)[0].expect("it has bands");
        // 207.5 W at 55 rpm: 207.5 / (55 · 2π / 60) = 36.03 N·m, over 0.1725 m 208.8 N.
        assert!((block.torque_nm - 36.03).abs() < 0.01);
        assert!((block.pedal_force_n - 208.8).abs() < 0.1);
        let turns_a_second = 55.0 / 60.0;
        let ratio = f64::from(block.gear.chainring) / f64::from(block.gear.sprocket);
        // 28-622: π · 0.678 m = 2.130 m a turn of the wheel.
        assert!((block.wheel_speed_ms - turns_a_second * ratio * 2.130).abs() < 0.001);
    }
}
