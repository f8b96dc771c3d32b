//! What was to be ridden.

use crate::gearing::Bands;
use crate::matching::Demand;
use crate::ride::Rider;
use crate::route::LatLon;

/// A set with, where there is a plan, a place for each rep.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The plan's route, as the plan names it; `None` for a set alone.
    pub route: Option<String>,
    /// Time above this power is not recovery, in watts.
    pub recovery_ceiling_w: f64,
    /// Threshold power, in watts.
    pub threshold_w: f64,
    /// The blocks, in order.
    pub blocks: Vec<AskedBlock>,
    /// The reps, in order.
    pub reps: Vec<PlannedRep>,
}

/// Equal reps that follow one another.
#[derive(Debug, Clone, PartialEq)]
pub struct AskedBlock {
    /// How long each lasts, in seconds.
    pub work_s: f64,
    /// Shortest recovery after each, in seconds.
    pub recovery_at_least_s: f64,
    /// Longest recovery after each that is as asked, in seconds.
    pub recovery_at_most_s: Option<f64>,
    /// Power, cadence, torque during the work.
    pub bands: Bands,
    /// Whether the reps are maximal starts; then the bands are what is to be expected.
    pub maximal: bool,
}

/// A rep that was to be ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedRep {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Which block, from 0.
    pub block: usize,
    /// Where; `None` for a set alone, and for reps that the plan found no place for.
    pub place: Option<PlannedPlace>,
}

/// Where a rep was to be ridden, and how.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedPlace {
    /// Where it was to start.
    pub start: LatLon,
    /// Where the clock was expected to stop it.
    pub end: LatLon,
    /// Start, along the plan's route, in metres.
    pub start_m: f64,
    /// Expected stop, along the plan's route, in metres.
    pub end_m: f64,
    /// Stop if ridden as fast as the bands allow, along the plan's route, in metres.
    pub end_if_fast_m: f64,
    /// At which passing of the start it is to be ridden, from 1, of those that go the rep's way.
    pub passing: usize,
    /// Teeth of the chainring and of the sprocket, and the hub's ratio.
    pub gear: (u32, u32, Option<f64>),
    /// The cadence aimed for, in turns a minute.
    pub aim_rpm: f64,
    /// Expected mean power, in watts.
    pub power_w: f64,
}

impl Asked {
    /// A set alone, for a rider.
    pub fn of_set(demands: &[Demand], rider: &Rider) -> Asked {
        let blocks: Vec<AskedBlock> = demands
            .iter()
            .map(|d| AskedBlock {
                work_s: d.work_s,
                recovery_at_least_s: d.recovery_at_least_s,
                recovery_at_most_s: d.recovery_at_most_s,
                bands: d.bands,
                maximal: d.start.is_some(),
            })
            .collect();
        let counts: Vec<u32> = demands.iter().map(|d| d.reps).collect();
        Asked {
            route: None,
            recovery_ceiling_w: rider.recovery_ceiling_share * rider.threshold_w,
            threshold_w: rider.threshold_w,
            blocks,
            reps: reps_of_blocks(&counts),
        }
    }
}

/// The reps of blocks with these counts, without places.
pub(super) fn reps_of_blocks(counts: &[u32]) -> Vec<PlannedRep> {
    let blocks = counts.iter().enumerate();
    blocks
        .flat_map(|(block, count)| std::iter::repeat_n(block, *count as usize))
        .zip(1..)
        .map(|(block, rep)| PlannedRep {
            rep,
            block,
            place: None,
        })
        .collect()
}
