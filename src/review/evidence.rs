//! How much each second speaks for a rep and against one.
//!
//! A second's evidence is the logarithm of a ratio: how likely its cadence and power are in a rep of the block, over how
//! likely they are in other riding. In a rep both lie in their bands, with blurred ends and some strays; other riding is
//! spread widely. Neighbouring seconds are alike, so that the evidence is scaled down, and no second speaks louder than a bound.

use super::planned::AskedBlock;
use crate::gearing::Band;

/// How the cadence strays beyond its band in a rep, in turns a minute: a device's steps, and a rider's.
const CADENCE_BLUR_RPM: f64 = 4.0;
/// How the power strays beyond its band from second to second in a rep, as a share of the aim.
const POWER_BLUR_SHARE: f64 = 0.12;
/// Share of a rep's seconds that say nothing: a hand off the bar, a bump, a shift.
const STRAY_SHARE: f64 = 0.1;
/// Cadence in other riding: middle and spread, in turns a minute (common practice, no source).
const OTHER_RPM: (f64, f64) = (80.0, 16.0);
/// Power in other riding: middle and spread, as shares of the threshold (common practice, no source).
const OTHER_SHARES: (f64, f64) = (0.58, 0.25);
/// Cadences that any sensor shows lie below this, in turns a minute.
const MOST_RPM: f64 = 160.0;
/// Powers that an hour's riding shows lie below this, as a share of the threshold.
const MOST_SHARE: f64 = 2.0;
/// Share of seconds with cranks at rest: in a rep, and in other riding.
const AT_REST: (f64, f64) = (0.03, 0.2);
/// Neighbouring seconds are alike: so much of each one's evidence is new. With 1, single odd stretches of some seconds would
/// part a rep in two; with 0.2, reps of half a minute would be missed.
const NEW_SHARE: f64 = 0.5;
/// Bounds of a second's evidence, before scaling.
const BOUNDS: (f64, f64) = (-6.0, 4.0);
/// What a second of standing still, and one of rolling with cranks at rest, says: a little against a rep, so that a rep with a
/// wait at a junction in it stays one, and a recovery at the roadside ends it.
const HALTED: f64 = -0.25;
const COASTING: f64 = -0.6;

/// What is known of a second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Second {
    /// Whether something was recorded around it.
    pub known: bool,
    /// Whether the rider stands still.
    pub halted: bool,
    /// Cadence, in turns a minute.
    pub cadence_rpm: Option<f64>,
    /// Power, measured or estimated, in watts.
    pub power_w: Option<f64>,
}

/// The evidence of a second for a rep of a block, for a rider with a threshold (watts).
pub fn evidence(second: &Second, block: &AskedBlock, threshold_w: f64) -> f64 {
    if !second.known || second.halted {
        return HALTED;
    }
    let at_rest = second.cadence_rpm.is_some_and(|c| c < 1.0);
    if at_rest && second.power_w.unwrap_or(0.0) < 10.0 {
        return COASTING;
    }
    let cadence = if block.maximal {
        None
    } else {
        second.cadence_rpm
    };
    let by_cadence = cadence.map_or(0.0, |c| cadence_evidence(c, &block.bands.cadence_rpm));
    let by_power = second.power_w.map_or(0.0, |p| {
        power_evidence(p, &block.bands.power_w, threshold_w)
    });
    NEW_SHARE * (by_cadence + by_power).clamp(BOUNDS.0, BOUNDS.1)
}

fn cadence_evidence(rpm: f64, band: &Band) -> f64 {
    if rpm < 1.0 {
        return (AT_REST.0 / AT_REST.1).ln();
    }
    let rep = banded(rpm, band, CADENCE_BLUR_RPM, MOST_RPM);
    let other = spread(rpm, OTHER_RPM, MOST_RPM);
    (rep * (1.0 - AT_REST.0) / (other * (1.0 - AT_REST.1))).ln()
}

fn power_evidence(power_w: f64, band: &Band, threshold_w: f64) -> f64 {
    if power_w < 1.0 {
        return (AT_REST.0 / AT_REST.1).ln();
    }
    let most_w = (MOST_SHARE * threshold_w).max(1.5 * band.to);
    let rep = banded(power_w, band, POWER_BLUR_SHARE * band.aim, most_w);
    let other = spread(
        power_w,
        (OTHER_SHARES.0 * threshold_w, OTHER_SHARES.1 * threshold_w),
        most_w,
    );
    (rep * (1.0 - AT_REST.0) / (other * (1.0 - AT_REST.1))).ln()
}

/// Density of a band with blurred ends and strays over everything up to `most`.
fn banded(x: f64, band: &Band, blur: f64, most: f64) -> f64 {
    let width = (band.to - band.from).max(0.5 * blur);
    let (from, to) = (band.aim.min(band.from), band.aim.max(band.from + width));
    let inside = (normal_below((x - from) / blur) - normal_below((x - to) / blur)) / (to - from);
    (1.0 - STRAY_SHARE) * inside.max(0.0) + STRAY_SHARE / most
}

/// Density of other riding.
fn spread(x: f64, (middle, sd): (f64, f64), most: f64) -> f64 {
    let z = (x - middle) / sd;
    let bell = (-0.5 * z * z).exp() / (sd * std::f64::consts::TAU.sqrt());
    0.8 * bell + 0.2 / most
}

/// The normal distribution function, by the logistic curve that is nearest to it (within 0.01; Bowling et al., J. Ind. Eng.
/// Manag. 2, 2009, 114–127).
fn normal_below(z: f64) -> f64 {
    1.0 / (1.0 + (-1.702 * z).exp())
}
