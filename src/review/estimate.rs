//! Power without a power meter: what speed, grade and mass say.

use super::energy::{Ledger, air_j_per_m2};
use super::seconds::Seconds;
use crate::profile::Profile;
use crate::ride::{System, Unknowns, Weather};

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
    (system, weather, unknowns): (&System, &Weather, &Unknowns),
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
        blown.air_j_per_m2 = air_j_per_m2((from, to), (seconds, profile, weather), w);
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

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that panics has failed")]
mod tests {
    use super::*;
    use crate::profile::tests::road;
    use crate::ride::{Resistance, Wind};

    /// Martin et al. (1998) on level road at the equator, 100 m up, at a constant speed against a headwind.
    fn power_w(v: f64, headwind_ms: f64) -> f64 {
        let density = 1.225 * (1.0_f64 - 2.255_77e-5 * 100.0).powf(4.255_88);
        let rolling_n = 80.0 * 9.780 * 0.005;
        let air_n = 0.5 * density * (0.36 + 0.0044) * (v + headwind_ms).powi(2);
        (rolling_n + air_n + 0.091 + 0.0087 * v) * v / 0.977
    }

    #[test]
    fn the_range_for_the_wind_is_that_of_the_wind_given_and_a_little_more_or_less() {
        let profile = Profile::from_route(&road(&[100.0; 200])).unwrap();
        let v = 5.0;
        let seconds = Seconds {
            distance_m: (0..200).map(|i| v * f64::from(i)).collect(),
            speed_ms: vec![v; 200],
            elevation_m: Some(vec![100.0; 200]),
            power_w: vec![None; 200],
            ..Seconds::default()
        };
        // The road leads to the north.
        let weather = Weather {
            wind: Wind {
                speed_ms: 3.0,
                from_rad: 0.0,
            },
            ..Weather::default()
        };
        let system = System {
            mass_kg: 80.0,
            wheel_radius_m: 0.339,
            resistance: Resistance {
                cda_m2: 0.36,
                crr: 0.005,
                drivetrain_efficiency: 0.977,
            },
        };
        let unknowns = Unknowns {
            mass_kg: 0.0,
            cda_share: 0.0,
            crr_low: 0.005,
            crr_high: 0.005,
            power_share: 0.0,
            wind_ms: 2.0,
        };
        let mut sure = profile;
        sure.elevation_se_m.fill(0.0);
        let ledger = Ledger::new(&seconds, &sure, &weather);
        let known = (&system, &weather, &unknowns);
        let found = power_over((20, 180), (&seconds, &sure, &ledger), known);
        let said = [found.low_w, found.mid_w, found.high_w];
        for (said_w, headwind_ms) in said.into_iter().zip([1.0, 3.0, 5.0]) {
            let expected_w = power_w(v, headwind_ms);
            assert!(
                (said_w / expected_w - 1.0).abs() < 0.001,
                "{said_w} {expected_w}"
            );
        }
    }
}
