//! How likely the cadence leaves its band on a step of road whose grade is only known with an error.
//!
//! In a gear, the lowest cadence of the band is a speed, and so is the highest. The road may be steeper than it seems by as much as the
//! highest power can still lift at the one, and gentler by as much as the lowest power still needs at the other; how likely it is neither
//! follows from the grade's standard error. So a gear in the middle of what the band allows is worth more than one near an end.

use super::sums::Stretch;
use crate::gearing::{Gear, effort};

/// A step of road in a gear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Risk {
    /// Chance that no power of the band turns a cadence in its band.
    pub(super) out: f64,
    /// Whether none does if the grade is as it seems.
    pub(super) is_out: bool,
}

/// Standard gravity, in m/s²: good enough for a small change of a force.
const GRAVITY_M_S2: f64 = 9.806_65;
/// Grades are never surer than this, rise over run: what a rider's line through a bend changes.
const LEAST_SE: f64 = 1e-4;

/// The risk on each step of a way in a gear.
///
/// What is too short to change the speed is no risk: the force that counts is the one that would hold the speeds at the ends of the
/// power band for good.
pub(super) fn along(way: &Stretch, gear: &Gear) -> Vec<Risk> {
    let (task, road, from, speeds) = (way.task, way.road, way.from, &way.speeds);
    let band = &way.demand.bands.cadence_rpm;
    let low_ms = effort::speed_ms(band.from, gear.development_m).max(1e-3);
    let high_ms = effort::speed_ms(band.to, gear.development_m).max(1e-3);
    let (least_w, most_w) = (
        way.powers_w.0 * road.drivetrain_efficiency,
        way.powers_w.1 * road.drivetrain_efficiency,
    );
    let per_n = 1.0 / (task.drive.system.mass_kg * GRAVITY_M_S2);
    let errors_pct = &task.profile.grade_se_pct[from..];
    let steps = road.cells[from..]
        .iter()
        .zip(speeds.slow.iter().zip(speeds.fast));
    steps
        .zip(errors_pct.windows(2))
        .map(|((cell, (&slow_ms, &fast_ms)), errors_pct)| {
            let se = (0.005 * (errors_pct[0] + errors_pct[1])).max(LEAST_SE);
            let lift = |power_w: f64, at_ms: f64| power_w / at_ms - cell.force_n(at_ms);
            let steeper = (lift(most_w, low_ms) - lift(most_w, fast_ms)) * per_n;
            let gentler = (lift(least_w, slow_ms) - lift(least_w, high_ms)) * per_n;
            Risk {
                out: (upper_tail(steeper / se) + upper_tail(gentler / se)).min(1.0),
                is_out: fast_ms < low_ms - 1e-9 || slow_ms > high_ms + 1e-9,
            }
        })
        .collect()
}

/// The chance that a standard normal variable exceeds a value, within 7.5e-8 (Abramowitz and Stegun, Handbook of Mathematical
/// Functions, 1964, equation 26.2.17); beyond ±5 as good as certain.
fn upper_tail(x: f64) -> f64 {
    if x.abs() > 5.0 {
        return if x > 0.0 { 0.0 } else { 1.0 };
    }
    let t = 1.0 / (1.0 + 0.231_641_9 * x.abs());
    let series = t
        * (0.319_381_530
            + t * (-0.356_563_782
                + t * (1.781_477_937 + t * (-1.821_255_978 + t * 1.330_274_429))));
    let density = (-0.5 * x * x).exp() / (std::f64::consts::TAU).sqrt();
    let tail = density * series;
    if x >= 0.0 { tail } else { 1.0 - tail }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tails_are_those_of_the_table() {
        // Abramowitz and Stegun, table 26.1: P(1) = 0.84134 47461, P(2) = 0.97724 98681, P(0.5) = 0.69146 24613.
        for (x, below) in [
            (1.0, 0.841_344_746_1),
            (2.0, 0.977_249_868_1),
            (0.5, 0.691_462_461_3),
        ] {
            assert!((upper_tail(x) - (1.0 - below)).abs() < 1e-7, "{x}");
            assert!((upper_tail(-x) - below).abs() < 1e-7, "{x}");
        }
        assert!((upper_tail(0.0) - 0.5).abs() < 1e-7);
    }
}
