//! The set of reps that a coach prescribes.

pub use crate::gearing::Band;

/// A prescribed session: a warm-up, then blocks of reps.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// What the coach calls it.
    pub name: Option<String>,
    /// No rep starts before this much riding, in seconds.
    pub warm_up_s: f64,
    /// The blocks, in order; never empty.
    pub blocks: Vec<Block>,
}

/// Equal reps that follow one another.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// How many reps; at least one.
    pub reps: u32,
    /// How long each rep lasts, in seconds.
    pub work_s: f64,
    /// The easy riding after each rep.
    pub recovery: Recovery,
    /// What is held during the work.
    pub effort: Effort,
}

/// The easy riding between one rep's end and the next one's start.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recovery {
    /// Never shorter than this, in seconds.
    pub at_least_s: f64,
    /// Longer than this costs, in seconds; where it is `None`, longer than three times the shortest and ten minutes.
    pub at_most_s: Option<f64>,
}

/// What the rider holds during the work.
#[derive(Debug, Clone, PartialEq)]
pub enum Effort {
    /// Power, cadence and torque inside bands. Any two of the three are enough; the third follows.
    Banded {
        /// Power, as a share of threshold or in watts.
        power: Option<PowerBand>,
        /// Cadence, in turns of the cranks a minute.
        cadence_rpm: Option<Band>,
        /// Torque at the cranks, in newton metres.
        torque_nm: Option<Band>,
    },
    /// All out from a slow roll.
    Maximal {
        /// The speed of the roll, in kilometres per hour.
        from_kmh: f64,
    },
}

/// A power band, in watts or as a share of the rider's threshold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PowerBand {
    /// In watts.
    Watts(Band),
    /// As a share of the threshold (0.83 is 83 % of it).
    ThresholdShare(Band),
}
