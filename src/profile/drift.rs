//! How far a recording's level drifts: the same road, ridden twice, comes out at two levels.

use super::Profile;

/// How much higher the same place came out the second time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Drift {
    /// Where it was passed first, in metres along the road.
    pub first_m: f64,
    /// Where it was passed again, in metres along the road.
    pub again_m: f64,
    /// How much higher the second time, in metres; negative where lower. The median over all road that was ridden twice.
    pub rise_m: f64,
    /// Length of the road that was ridden twice, in metres; 0 where only the ends of a loop meet.
    pub twice_m: f64,
}

/// Every so many nodes the road is looked at.
const EVERY: usize = 5;
/// Side of the cells in which passages are sought, in metres. Passages on both sides of a border are missed, which leaves enough.
const CELL_M: f64 = 200.0;
/// Passages that follow each other within this length are one, in metres.
const APART_M: f64 = 300.0;
/// Passages this near to each other are on the same road, in metres: two fixes, each off by its usual error.
const NEAR_M: f64 = 12.0;
/// And they go the same way or the opposite way within this cosine.
const PARALLEL: f64 = 0.9;
/// Passages in a cell that are compared with one; a track in laps has hundreds.
const MOST_IN_CELL: usize = 24;
/// A drift is told from this size, in metres: pressure changes make 1 to 3 m in an hour (8.3 m a hectopascal, ISO 2533),
const TOLD_M: f64 = 2.0;
/// and from this many standard errors.
const TOLD_SD: f64 = 3.0;
const METRES_PER_DEG: f64 = 111_200.0;

/// The drift of a profile, where it can be told from chance.
pub fn of(profile: &Profile, is_loop: bool) -> Option<Drift> {
    let pairs = passed_twice(profile);
    let error_m = std::f64::consts::SQRT_2 * profile.noise.total_sd_m();
    let told = |drift: &Drift, independent: f64| {
        drift.rise_m.abs() > TOLD_M.max(TOLD_SD * error_m / independent.max(1.0).sqrt())
    };
    let step_m = EVERY as f64 * profile.spacing_m;
    if pairs.len() >= 3 {
        let drift = median(profile, pairs, step_m)?;
        let independent = drift.twice_m / (2.0 * profile.noise.correlation_m);
        return told(&drift, independent).then_some(drift);
    }
    let last = profile.nodes() - 1;
    let drift = Drift {
        first_m: 0.0,
        again_m: profile.length_m(),
        rise_m: profile.elevation_m[last] - profile.elevation_m[0],
        twice_m: 0.0,
    };
    (is_loop && told(&drift, 1.0)).then_some(drift)
}

/// Nodes that lie on the same road, the earlier one first.
fn passed_twice(profile: &Profile) -> Vec<(usize, usize)> {
    let apart = (APART_M / profile.spacing_m) as usize;
    let shrink = profile.lat_deg[0].to_radians().cos();
    let cell = |degrees: f64| (degrees * METRES_PER_DEG / CELL_M).floor() as i32;
    let mut seen: Vec<(i32, i32, usize)> = (0..profile.nodes())
        .step_by(EVERY)
        .map(|i| {
            let (lat, lon) = (profile.lat_deg[i], profile.lon_deg[i]);
            (cell(lat), cell(lon * shrink), i)
        })
        .collect();
    seen.sort_unstable();
    let mut pairs = Vec::new();
    for same in seen.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        for (k, &(_, _, again)) in same.iter().enumerate() {
            let near = same[k.saturating_sub(MOST_IN_CELL)..k]
                .iter()
                .map(|earlier| earlier.2)
                .filter(|first| first + apart < again)
                .flat_map(|first| first.saturating_sub(EVERY / 2)..=first + EVERY / 2)
                .map(|first| (distance_m(profile, first, again), first))
                .filter(|(off_m, _)| *off_m < NEAR_M)
                .min_by(|a, b| a.0.total_cmp(&b.0));
            if let Some((_, first)) = near
                && is_parallel(profile, first, again)
            {
                pairs.push((first, again));
            }
        }
    }
    pairs
}

/// Over a few hundred metres, where the Earth is flat.
fn distance_m(profile: &Profile, a: usize, b: usize) -> f64 {
    let north_m = (profile.lat_deg[b] - profile.lat_deg[a]) * METRES_PER_DEG;
    let east_deg = profile.lon_deg[b] - profile.lon_deg[a];
    north_m.hypot(east_deg * METRES_PER_DEG * profile.lat_deg[a].to_radians().cos())
}

fn is_parallel(profile: &Profile, a: usize, b: usize) -> bool {
    (profile.bearing_rad[b] - profile.bearing_rad[a])
        .cos()
        .abs()
        > PARALLEL
}

/// The pair of the middle rise stands for all.
fn median(profile: &Profile, mut pairs: Vec<(usize, usize)>, step_m: f64) -> Option<Drift> {
    let z = &profile.elevation_m;
    let rise_m = |pair: &(usize, usize)| z[pair.1] - z[pair.0];
    let middle = pairs.len() / 2;
    pairs.sort_by(|a, b| rise_m(a).total_cmp(&rise_m(b)));
    let pair = pairs.get(middle)?;
    Some(Drift {
        first_m: pair.0 as f64 * profile.spacing_m,
        again_m: pair.1 as f64 * profile.spacing_m,
        rise_m: rise_m(pair),
        twice_m: pairs.len() as f64 * step_m,
    })
}

impl Drift {
    /// In a sentence.
    pub(super) fn remark(&self, profile: &Profile) -> String {
        let km = |along_m: f64| profile.given_at_m(along_m) / 1000.0;
        let (size_m, way) = (
            self.rise_m.abs(),
            if self.rise_m > 0.0 { "higher" } else { "lower" },
        );
        if self.twice_m > 0.0 {
            format!(
                "the same road comes out {size_m:.1} m {way} the second time (km {:.2} and {:.2}; {:.1} km are ridden twice): \
                 the elevations drift, which grades hardly feel",
                km(self.first_m),
                km(self.again_m),
                self.twice_m / 1000.0
            )
        } else {
            format!(
                "the loop ends {size_m:.1} m {way} than it starts: the elevations drift, which grades hardly feel"
            )
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{Draws, road};
    use super::*;
    use crate::route::Route;

    /// 6 km out on a hilly road and the same way back, with a drift of so many metres in all and a small error.
    fn out_and_back(drift_m: f64) -> Route {
        let mut draws = Draws(8);
        let hill = |i: usize| 40.0 * (i as f64 / 60.0).sin();
        let elevation_m: Vec<f64> = (0..=1200)
            .map(|i| {
                let place = if i <= 600 { i } else { 1200 - i };
                hill(place) + drift_m * i as f64 / 1200.0 + 0.2 * draws.normal()
            })
            .collect();
        let mut route = road(&elevation_m);
        for i in 601..=1200 {
            route.points[i].lat_deg = route.points[1200 - i].lat_deg;
        }
        route.is_loop = true;
        route
    }

    #[test]
    fn a_road_ridden_out_and_back_shows_the_drift() {
        let drift = Profile::from_route(&out_and_back(12.0))
            .unwrap()
            .drift
            .unwrap();
        // The turning point comes out alike, the start 12 m higher: half of that in the middle.
        assert!((drift.rise_m - 6.0).abs() < 1.0, "{drift:?}");
        assert!(
            (drift.first_m + drift.again_m - 12_000.0).abs() < 60.0,
            "{drift:?}"
        );
        assert!((4500.0..=6000.0).contains(&drift.twice_m), "{drift:?}");
    }

    #[test]
    fn without_drift_and_without_a_second_passage_nothing_is_told() {
        let profile = Profile::from_route(&out_and_back(0.0)).unwrap();
        assert_eq!((profile.drift, profile.warnings.len()), (None, 0));
        let mut once = out_and_back(12.0);
        once.points.truncate(601);
        once.is_loop = false;
        once.length_m = 6000.0;
        assert_eq!(Profile::from_route(&once).unwrap().drift, None);
    }

    #[test]
    fn a_loop_that_does_not_close_is_told() {
        let mut route = road(&(0..400).map(|i| 0.03 * f64::from(i)).collect::<Vec<_>>());
        let turn = std::f64::consts::TAU / 400.0;
        for (i, point) in route.points.iter_mut().enumerate() {
            let (sine, cosine) = (turn * i as f64).sin_cos();
            point.lat_deg = 0.00575 * sine;
            point.lon_deg = 0.00575 * cosine;
        }
        route.is_loop = true;
        let profile = Profile::from_route(&route).unwrap();
        let drift = profile.drift.unwrap();
        assert!(
            (drift.rise_m - 12.0).abs() < 0.5 && drift.twice_m == 0.0,
            "{drift:?}"
        );
        assert!(
            profile.warnings[0].contains("the loop ends 12.0 m higher"),
            "{:?}",
            profile.warnings
        );
    }
}
