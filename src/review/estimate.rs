//! Power without a power meter: what speed, grade and mass say.

use super::energy::Ledger;
use super::seconds::Seconds;
use crate::profile::Profile;
use crate::ride::{System, Unknowns};

/// Seconds to each side over which the energy balance is taken: over less, a receiver's jitter is most of it.
const REACH_S: usize = 8;

/// An estimate with its 90 % interval, in watts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PowerEstimate {
    /// The lower end.
    pub low_w: f64,
    /// The estimate.
    pub mid_w: f64,
    /// The upper end.
    pub high_w: f64,
}

/// Power at each second, over seventeen seconds, in watts; `None` where nothing was recorded.
pub fn power_by_second(seconds: &Seconds, ledger: &Ledger, system: &System) -> Vec<Option<f64>> {
    let count = ledger.count();
    (0..count)
        .map(|i| {
            let (from, to) = (i.saturating_sub(REACH_S), (i + REACH_S).min(count - 1));
            let usable = seconds.known[i] && to > from;
            usable.then(|| ledger.between(from, to).power_w(system))
        })
        .collect()
}

/// Mean power over a stretch, with the 90 % interval of what is not known: mass, drag, rolling, wind along the road, and the
/// mean grade; added as independent errors are.
pub fn power_over(
    (from, to): (usize, usize),
    (seconds, profile, ledger): (&Seconds, &Profile, &Ledger),
    (system, unknowns): (&System, &Unknowns),
) -> PowerEstimate {
    let mid = ledger.between(from, to);
    let mid_w = mid.power_w(system);
    let with = |change: &dyn Fn(&mut System)| {
        let mut other = *system;
        change(&mut other);
        mid.power_w(&other)
    };
    let headwind = |w: f64| {
        let mut blown = mid;
        // The air's work goes with the square of the air speed; the mean speed stands for all of it.
        let v = mid.run_m / mid.duration_s.max(1.0);
        let still = v.max(0.1);
        blown.air_j_per_m2 *= (still + w).abs() * (still + w) / (still * still);
        blown.power_w(system)
    };
    let graded = |sign: f64| {
        let mut steeper = mid;
        let node = |i: usize| profile.node_at(seconds.distance_m[i]);
        let se_m = profile.elevation_se_m[node(from)].hypot(profile.elevation_se_m[node(to)]);
        steeper.rise_m += sign * 1.645 * se_m;
        steeper.power_w(system)
    };
    let parts = [
        (
            with(&|s| s.mass_kg -= unknowns.mass_kg),
            with(&|s| s.mass_kg += unknowns.mass_kg),
        ),
        (
            with(&|s| s.resistance.cda_m2 *= 1.0 - unknowns.cda_share),
            with(&|s| s.resistance.cda_m2 *= 1.0 + unknowns.cda_share),
        ),
        (
            with(&|s| s.resistance.crr = s.resistance.crr.min(unknowns.crr_low)),
            with(&|s| s.resistance.crr = s.resistance.crr.max(unknowns.crr_high)),
        ),
        (headwind(-unknowns.wind_ms), headwind(unknowns.wind_ms)),
        (graded(-1.0), graded(1.0)),
    ];
    let side = |pick: &dyn Fn(&(f64, f64)) -> f64| {
        parts.iter().map(|p| pick(p).powi(2)).sum::<f64>().sqrt()
    };
    PowerEstimate {
        low_w: (mid_w - side(&|p| (p.0.min(p.1) - mid_w).min(0.0))).max(0.0),
        mid_w,
        high_w: mid_w + side(&|p| (p.0.max(p.1) - mid_w).max(0.0)),
    }
}
