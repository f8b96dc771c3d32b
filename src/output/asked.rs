//! What a plan was made for: the rider and the blocks of the set.

use super::document::{AimedBand, AskedBlockEntry, AskedEntry};
use super::rounded;
use crate::gearing::Band;
use crate::matching::Demand;
use crate::prescription::RiderFile;

/// The rider and the set, as a plan carries them so that a recording can be held against it later.
pub fn asked_entry(name: &str, file: &RiderFile, warm_up_s: f64, demands: &[Demand]) -> AskedEntry {
    AskedEntry {
        rider: name.to_owned(),
        rider_mass_kg: file.rider.mass_kg,
        threshold_w: file.rider.threshold_w,
        recovery_ceiling_w: rounded(
            file.rider.recovery_ceiling_share * file.rider.threshold_w,
            1,
        ),
        warm_up_s,
        blocks: demands
            .iter()
            .zip(1..)
            .map(|(demand, number)| block_entry(demand, number))
            .collect(),
    }
}

fn block_entry(demand: &Demand, number: usize) -> AskedBlockEntry {
    AskedBlockEntry {
        block: number,
        reps: demand.reps,
        maximal: demand.start.is_some(),
        work_s: demand.work_s,
        recovery_at_least_s: demand.recovery_at_least_s,
        recovery_at_most_s: demand.recovery_at_most_s,
        power_band_w: aimed(&demand.bands.power_w),
        cadence_band_rpm: aimed(&demand.bands.cadence_rpm),
        torque_band_nm: demand.bands.torque_nm.as_ref().map(aimed),
    }
}

/// A band to hold, as documents have it.
pub(super) fn aimed(band: &Band) -> AimedBand {
    AimedBand {
        from: rounded(band.from, 2),
        to: rounded(band.to, 2),
        aim: rounded(band.aim, 2),
    }
}
