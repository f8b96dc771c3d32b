//! What a set asks for, block after block, of one rider.

use crate::gearing::{Band, Bands, Drive};
use crate::prescription::{Effort, PrescriptionError, Set, resolve};

/// What a block of equal reps asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// How many reps.
    pub reps: u32,
    /// How long each lasts, in seconds.
    pub work_s: f64,
    /// Shortest recovery after each, in seconds.
    pub recovery_at_least_s: f64,
    /// Longest recovery after each that costs nothing, in seconds; where none is given, [`Demand::longest_recovery_s`] has one.
    pub recovery_at_most_s: Option<f64>,
    /// Power, cadence, torque during the work; for a maximal start, what is to be expected.
    pub bands: Bands,
    /// Where the work is a maximal start: how it begins.
    pub start: Option<Start>,
}

/// How a maximal start begins.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Start {
    /// Speed of the roll, in metres per second.
    pub from_ms: f64,
}

/// Power over a maximal start of some ten seconds, as a share of the threshold: least, most, and a mean one, that places are
/// worked out with (common practice, no source). It moves the stop by a few metres and no more.
const START_POWER_SHARES: (f64, f64, f64) = (1.5, 5.0, 3.0);
/// Cadence at the end of a start, at most, and in its middle, in turns a minute (common practice, no source).
const START_CADENCE_RPM: (f64, f64) = (140.0, 70.0);

/// Why a set can't be matched to climbs.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DemandError {
    /// The bands of a block don't go together.
    #[error("block {block}: {source}")]
    Bands {
        /// Which block, from 1.
        block: usize,
        /// What is wrong with them.
        source: PrescriptionError,
    },
}

/// Where a set gives no longest recovery: so many times the shortest, and at least so many seconds, cost nothing. Without an end the
/// reps of a set would be spread over a day on the road (common practice, no source: recoveries as long as the work, or longer where the
/// road decides).
const LONGEST_OF_SHORTEST: f64 = 3.0;
const LEAST_LONGEST_S: f64 = 600.0;

impl Demand {
    /// The longest recovery that costs nothing, in seconds: as given, or three times the shortest and no less than ten minutes.
    pub fn longest_recovery_s(&self) -> f64 {
        self.recovery_at_most_s
            .unwrap_or((LONGEST_OF_SHORTEST * self.recovery_at_least_s).max(LEAST_LONGEST_S))
    }

    /// What each block of a set asks of a rider with a threshold (watts) on a bike.
    ///
    /// # Errors
    /// [`DemandError`] where a block has no bands or they don't go together.
    pub fn of_set(set: &Set, threshold_w: f64, drive: &Drive) -> Result<Vec<Demand>, DemandError> {
        set.blocks
            .iter()
            .zip(1..)
            .map(|(block, number)| {
                let bands = resolve(block, threshold_w, drive.crank_per_measured);
                let bands = bands.map_err(|source| DemandError::Bands {
                    block: number,
                    source,
                })?;
                let start = match block.effort {
                    Effort::Maximal { from_kmh } => Some(Start {
                        from_ms: from_kmh / 3.6,
                    }),
                    Effort::Banded { .. } => None,
                };
                Ok(Demand {
                    reps: block.reps,
                    work_s: block.work_s,
                    recovery_at_least_s: block.recovery.at_least_s,
                    recovery_at_most_s: block.recovery.at_most_s,
                    bands: bands.unwrap_or_else(|| start_bands(threshold_w)),
                    start,
                })
            })
            .collect()
    }
}

/// What a maximal start is expected to take.
fn start_bands(threshold_w: f64) -> Bands {
    let (from, to, aim) = START_POWER_SHARES;
    let power = Band { from, to, aim };
    Bands {
        power_w: power.scaled(threshold_w),
        cadence_rpm: Band {
            from: 0.0,
            to: START_CADENCE_RPM.0,
            aim: START_CADENCE_RPM.1,
        },
        torque_nm: None,
    }
}
