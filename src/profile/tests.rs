//! Facts about profiles, on roads and errors that are made here.

use super::effort::Effort;
use super::turns::{self, Turn};
use super::{Noise, Observation, Profile, jitter, likelihood};
use crate::route::{Point, Route};

/// Metres in a degree of the meridian at the equator on WGS 84.
const METRES_PER_DEG: f64 = 110_574.3;

/// Numbers that look like draws from a normal distribution, the same each time (sum of twelve uniform ones).
pub(crate) struct Draws(pub(crate) u64);

impl Draws {
    fn uniform(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 53) as f64
    }

    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| self.uniform()).sum::<f64>() - 6.0
    }
}

/// A straight road to the north with a point each 10 m.
pub(crate) fn road(elevation_m: &[f64]) -> Route {
    let points: Vec<Point> = elevation_m
        .iter()
        .enumerate()
        .map(|(i, z)| Point {
            lat_deg: 10.0 * i as f64 / METRES_PER_DEG,
            lon_deg: 0.0,
            distance_m: 10.0 * i as f64,
            elevation_m: Some(*z),
            time_s: None,
        })
        .collect();
    let length_m = points.last().map_or(0.0, |p| p.distance_m);
    Route {
        points,
        length_m,
        ..Route::default()
    }
}

/// An error of so many metres that falls to 1/e over so many.
fn errors_m(count: usize, sd_m: f64, correlation_m: f64, draws: &mut Draws) -> Vec<f64> {
    let keeps = (-10.0 / correlation_m).exp();
    let mut error_m = sd_m * draws.normal();
    (0..count)
        .map(|_| {
            error_m = keeps * error_m + (1.0 - keeps * keeps).sqrt() * sd_m * draws.normal();
            error_m
        })
        .collect()
}

#[test]
fn a_straight_line_is_not_changed() {
    let line: Vec<f64> = (0..600).map(|i| 100.0 + 0.5 * f64::from(i)).collect();
    let profile = Profile::from_route(&road(&line)).unwrap();
    for (i, z) in line.iter().enumerate() {
        assert!(
            (profile.elevation_at_m(10.0 * i as f64) - z).abs() < 0.01,
            "{i}"
        );
    }
    let worst = profile
        .grade_pct
        .iter()
        .map(|g| (g - 5.0).abs())
        .fold(0.0, f64::max);
    assert!(worst < 0.05, "{worst}");
}

#[test]
fn noise_of_known_size_is_found_within_a_third() {
    for (sd_m, correlation_m) in [(0.4, 40.0), (1.5, 100.0), (4.0, 150.0)] {
        let mut draws = Draws(7);
        let errors = errors_m(4000, sd_m, correlation_m, &mut draws);
        // Up and down at 6 % for 2 km each.
        let z: Vec<f64> = errors
            .iter()
            .enumerate()
            .map(|(i, e)| 0.6 * (200.0 - ((i % 400) as f64 - 200.0).abs()) + e)
            .collect();
        let noise = Profile::from_route(&road(&z)).unwrap().noise;
        assert!((noise.sd_m / sd_m).ln().abs() < 0.33, "{sd_m} m: {noise:?}");
        let growth = |sd_m: f64, correlation_m: f64| sd_m * sd_m / correlation_m;
        let ratio = growth(noise.sd_m, noise.correlation_m) / growth(sd_m, correlation_m);
        assert!((0.67..1.5).contains(&ratio), "{sd_m} m: {noise:?}");
    }
}

#[test]
fn odd_elevations_give_numbers() {
    let mut draws = Draws(3);
    let mut three = road(&[0.0; 50]);
    three.points.iter_mut().for_each(|p| p.elevation_m = None);
    for i in [3, 4, 49] {
        three.points[i].elevation_m = Some(7.0);
    }
    let wild: Vec<f64> = (0..500).map(|_| 3000.0 * draws.normal()).collect();
    let cliff: Vec<f64> = (0..500)
        .map(|i| if i < 250 { 0.0 } else { 4000.0 })
        .collect();
    for route in [road(&[12.0; 300]), three, road(&wild), road(&cliff)] {
        let profile = Profile::from_route(&route).unwrap();
        let columns = [
            &profile.elevation_m,
            &profile.elevation_se_m,
            &profile.grade_pct,
            &profile.grade_se_pct,
        ];
        assert!(
            columns
                .iter()
                .all(|column| column.iter().all(|x| x.is_finite()))
        );
    }
}

#[test]
fn jitter_is_taken_out_of_the_length() {
    // 3 m/s to the north for an hour; the fix strays to the side by 0.5 m more each second, and forgets it over 40 s.
    let mut draws = Draws(11);
    let mut side_m = 0.0;
    let mut route = Route::default();
    for second in 0..3600 {
        side_m = (-1.0_f64 / 40.0).exp() * side_m + 0.5 * draws.normal();
        let mut point = Point {
            lat_deg: 3.0 * f64::from(second) / METRES_PER_DEG,
            lon_deg: side_m / 111_319.5,
            distance_m: 0.0,
            elevation_m: Some(0.0),
            time_s: Some(f64::from(second)),
        };
        if let Some(before) = route.points.last() {
            point.distance_m = before.distance_m + crate::route::step_m(before, &point);
        }
        route.points.push(point);
    }
    let given_m = route.points[3599].distance_m;
    let found_m = jitter::distances_m(&route)[3599];
    let true_m = 3.0 * 3599.0;
    assert!(given_m > 1.01 * true_m, "{given_m}");
    assert!((found_m / true_m - 1.0).abs() < 0.003, "{found_m}");
}

#[test]
fn bends_are_not_taken_for_jitter() {
    // 3 m/s round bends of 30 m radius, 60 m to the left and 60 m to the right in turn.
    let mut route = Route::default();
    let (mut north_m, mut east_m, mut bearing) = (0.0, 0.0, 0.0_f64);
    for second in 0..3600 {
        let point = Point {
            lat_deg: north_m / METRES_PER_DEG,
            lon_deg: east_m / 111_319.5,
            distance_m: 3.0 * f64::from(second),
            elevation_m: Some(0.0),
            time_s: Some(f64::from(second)),
        };
        route.points.push(point);
        bearing += if (second / 20) % 2 == 0 { 0.1 } else { -0.1 };
        north_m += 3.0 * bearing.cos();
        east_m += 3.0 * bearing.sin();
    }
    let found_m = jitter::distances_m(&route)[3599];
    assert!((found_m / (3.0 * 3599.0) - 1.0).abs() < 1e-6, "{found_m}");
}

#[test]
fn the_search_for_turns_is_as_good_as_trying_every_three() {
    let noise = Noise {
        sd_m: 0.4,
        correlation_m: 60.0,
        reach: 60.0,
        remainder_sd_m: 0.1,
    };
    let effort = Effort::for_noise(&noise);
    let mut worst: f64 = 0.0;
    for seed in 0..6 {
        let mut draws = Draws(seed);
        let errors = errors_m(34, 0.4, 60.0, &mut draws);
        let mut z = 0.0;
        let observations: Vec<Observation> = (0..34)
            .map(|i| {
                z += if (12..22).contains(&i) { 0.8 } else { 0.1 };
                Observation {
                    elevation_m: z + errors[i],
                    count: 1,
                    lapse: 10.0,
                    offset_m: 0.0,
                    error_scale: 1.0,
                }
            })
            .collect();
        let dynamics = super::Dynamics::new(10.0, &noise);
        let total = |turns: &[Turn]| {
            likelihood::cost(&observations, dynamics, turns)
                + effort.turn_cost * (turns.len() - 1) as f64
                + turns
                    .iter()
                    .map(|t| effort.kind_pays(t.uneven))
                    .sum::<f64>()
        };
        let steady = |node| Turn {
            node,
            uneven: false,
        };
        let mut best = total(&[steady(0)]);
        for a in 1..33 {
            best = best.min(total(&[steady(0), steady(a)]));
            for b in a + 1..33 {
                best = best.min(total(&[steady(0), steady(a), steady(b)]));
                for c in b + 1..33 {
                    best = best.min(total(&[steady(0), steady(a), steady(b), steady(c)]));
                }
            }
        }
        let found = turns::find(&observations, 10.0, &noise, effort);
        worst = worst.max(total(&found) - best);
    }
    // Twice the log-likelihood: a gap of 1 is a factor of 1.6 in likelihood.
    assert!(worst < 1.0, "{worst}");
}
