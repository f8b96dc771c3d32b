//! The rider, and what the air and the road take from them.

/// A rider: mass, threshold power, and how they ride between reps.
#[derive(Debug, Clone, PartialEq)]
pub struct Rider {
    /// Body mass without clothes, in kilograms.
    pub mass_kg: f64,
    /// The power the rider holds for about an hour, in watts.
    pub threshold_w: f64,
    /// Power in recoveries, as a share of the threshold.
    pub easy_share: f64,
    /// Power before the first rep and on longer ways between reps, as a share of the threshold.
    pub steady_share: f64,
    /// Time above this share of the threshold does not count as recovery.
    pub recovery_ceiling_share: f64,
    /// The rider is never planned faster than this downhill, in kilometres per hour.
    pub descent_limit_kmh: f64,
}

/// What air, tyres and drivetrain take from the rider.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Resistance {
    /// Drag area (drag coefficient times frontal area), in square metres.
    pub cda_m2: f64,
    /// Rolling resistance coefficient, without unit.
    pub crr: f64,
    /// The share of crank power that reaches the rear wheel, between 0 and 1.
    pub drivetrain_efficiency: f64,
}
