//! How the rider doses the power.

use super::Rider;

/// The cadence below which easy riding is no longer easy, in turns of the cranks a minute (common practice, no source).
pub const EASY_CADENCE_FLOOR_RPM: f64 = 60.0;
/// What a rider will push on a wall between reps rather than walk, as a share of the threshold (common practice, no source).
const WALL_POWER_SHARE: f64 = 1.5;

/// The start of a rep or a climb, in seconds, in which the cadence is not judged: the speed of arrival has to go first.
pub const RUN_IN_S: f64 = 15.0;

/// How the rider doses the power in a rep.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Pacing {
    /// The cadence aimed for is held, and the power flexes inside its band; where the band ends, the cadence gives.
    #[default]
    Cadence,
    /// The power is constant, and the cadence follows the grade.
    Power,
}

impl Pacing {
    /// What is held, in a word.
    pub fn name(self) -> &'static str {
        match self {
            Pacing::Cadence => "cadence",
            Pacing::Power => "power",
        }
    }
}

/// A way of riding: a power, a speed that the rider won't fall below as long as it takes no more than some power,
/// and a speed that they won't exceed as long as it takes no less than some power.
///
/// A rep held at a cadence, easy riding with a descent limit, and constant power are all of this shape.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pace {
    /// Power between the two speeds, at the crank, in watts.
    pub power_w: f64,
    /// Speed below which the power rises, in metres per second; 0 for never.
    pub floor_ms: f64,
    /// The most power spent to hold the floor, in watts.
    pub floor_power_w: f64,
    /// Speed above which the power falls, in metres per second; infinite for never.
    pub ceiling_ms: f64,
    /// The least power when the ceiling is reached, in watts; minus infinity where the rider brakes.
    pub ceiling_power_w: f64,
}

impl Pace {
    /// The same power whatever the speed.
    pub fn constant(power_w: f64) -> Self {
        Pace {
            power_w,
            floor_ms: 0.0,
            floor_power_w: power_w,
            ceiling_ms: f64::INFINITY,
            ceiling_power_w: power_w,
        }
    }

    /// One speed, held while the power stays between `from_w` and `to_w`: a cadence held in a gear.
    pub fn held(speed_ms: f64, from_w: f64, to_w: f64) -> Self {
        Pace {
            power_w: 0.5 * (from_w + to_w),
            floor_ms: speed_ms,
            floor_power_w: to_w,
            ceiling_ms: speed_ms,
            ceiling_power_w: from_w,
        }
    }

    /// The same way of riding at a share of each power.
    pub fn scaled(&self, by: f64) -> Self {
        Pace {
            power_w: self.power_w * by,
            floor_power_w: self.floor_power_w * by,
            ceiling_power_w: self.ceiling_power_w * by,
            ..*self
        }
    }

    /// A share of the threshold, braking at the descent limit, and on steep ground whatever turns the lowest gear
    /// (`lowest_development_m`, metres per turn) at [`EASY_CADENCE_FLOOR_RPM`].
    pub fn between_reps(rider: &Rider, share: f64, lowest_development_m: f64) -> Self {
        let power_w = share * rider.threshold_w;
        Pace {
            power_w,
            floor_ms: EASY_CADENCE_FLOOR_RPM / 60.0 * lowest_development_m,
            floor_power_w: (WALL_POWER_SHARE * rider.threshold_w).max(power_w),
            ceiling_ms: rider.descent_limit_kmh / 3.6,
            ceiling_power_w: f64::NEG_INFINITY,
        }
    }
}
