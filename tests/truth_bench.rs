//! The truth bench, held against what it says of itself: its roads, its recordings, its score and its floor.

mod truth;

use hillwright::route::Recording;
use truth::definition::{SURE_SHARE, boundaries, is_steady, measure};
use truth::layout::Character;
use truth::recording::{Kind, TruthRecording, clock_noise, record, terrain_reach_m};
use truth::road::Road;
use truth::score::{Found, FoundClimb, Tally, score};

/// Seeds for the tests; the accuracy table is made on others.
const SEEDS: [u64; 3] = [1, 2, 3];

/// The climbs as they are, moved along the road, with a grade error and a stated standard error.
fn shifted_truth(road: &Road, by_m: f64, grade_error_pct: f64) -> Vec<FoundClimb> {
    let climbs = road.true_climbs.iter();
    climbs
        .map(|climb| FoundClimb {
            start_true_m: climb.start_m + by_m,
            end_true_m: climb.end_m + by_m,
            grade_pct: climb.grade_pct + grade_error_pct,
            grade_se_pct: Some(0.1),
        })
        .collect()
}

#[test]
fn every_true_climb_obeys_the_definition() {
    for seed in SEEDS {
        let road = Road::draw(seed);
        assert!((12..=20).contains(&road.true_climbs.len()));
        assert!((40_000.0..60_000.0).contains(&road.length_m()));
        for climb in &road.true_climbs {
            let stretch = measure(&road.profile, climb.start_m as usize, climb.end_m as usize);
            assert!(is_steady(&stretch, SURE_SHARE), "{stretch:?}");
        }
    }
}

#[test]
fn the_definition_is_worked_by_hand_on_a_plain_profile() {
    use truth::layout::{Kink, Piece};
    let piece = |grade_pct, kinks| Piece {
        character: Character::Climb,
        length_m: 500.0,
        grade_pct,
        end_grade_pct: grade_pct,
        wander_share: 0.0,
        curve_m: 40.0,
        kinks,
    };
    let kink = Kink {
        from_m: 200.0,
        length_m: 58.0,
        grade_pct: 0.0,
        hairpin: false,
    };
    let pieces = [piece(6.0, vec![kink]), piece(10.0, vec![])];
    let wanders = vec![vec![0.0; 560]; 2];
    let profile = truth::profile::build(&pieces, &wanders, 0.0);
    // The kink takes 6 points off 50 m (42 m flat, two curves of 8 m): 3 m of 30, so 27 m. Half of the vertical
    // curve adds a quarter of 4 points over 20 m: 0.2 m.
    let first = measure(&profile, 0, 500);
    assert!((first.mean_grade_pct - 100.0 * 27.2 / 500.0).abs() < 1e-9);
    // The last 100 m hold those 0.2 m too: 6.2 %, and the other hundreds 6 %.
    assert!((first.worst_share - (6.2 - 5.44) / 6.44).abs() < 1e-9);
    assert!(is_steady(&first, 0.2));
    // Together the mean is about 7.7 %, and the second half 2.3 points off it.
    assert!(!is_steady(&measure(&profile, 0, 1000), 0.2));
}

#[test]
fn kinks_are_short_and_lie_inside() {
    for seed in SEEDS {
        let road = Road::draw(seed);
        for piece in &road.pieces {
            for kink in &piece.kinks {
                assert!(kink.length_m <= 60.0);
                assert!(kink.from_m >= 150.0);
                assert!(kink.from_m + kink.length_m + 150.0 <= piece.length_m);
            }
        }
    }
}

#[test]
fn a_step_a_dip_and_a_flat_part_two_climbs() {
    let mut partings = [0; 3];
    for seed in 1..12 {
        let road = Road::draw(seed);
        for triple in road.pieces.windows(3) {
            let characters = [0, 1, 2].map(|n| triple[n].character);
            match characters {
                [Character::Climb, Character::Climb, _] => partings[0] += 1,
                [Character::Climb, Character::Dip, Character::Climb] => partings[1] += 1,
                [Character::Climb, Character::Flat, Character::Climb] => partings[2] += 1,
                _ => {}
            }
        }
    }
    assert!(partings.iter().all(|&count| count >= 5), "{partings:?}");
}

#[test]
fn roads_lie_in_all_four_quarters_of_the_globe() {
    let mut quarters = [false; 4];
    for seed in 1..25 {
        let (lat_deg, lon_deg) = Road::draw(seed).position_deg(0.0);
        quarters[2 * usize::from(lat_deg > 0.0) + usize::from(lon_deg > 0.0)] = true;
    }
    assert_eq!(quarters, [true; 4]);
}

#[test]
fn a_metre_of_road_is_a_metre_on_the_ellipsoid() {
    use geo::{Distance, Geodesic, Point};
    let road = Road::draw(4);
    for at_m in (0..40_000).step_by(997) {
        let place = |distance_m: f64| {
            let (lat_deg, lon_deg) = road.position_deg(distance_m);
            Point::new(lon_deg, lat_deg)
        };
        let at_m = f64::from(at_m);
        let step_m = Geodesic.distance(place(at_m), place(at_m + 1.0));
        assert!((step_m - 1.0).abs() < 1e-4, "{step_m}");
    }
}

#[test]
fn a_place_on_the_road_is_found_again() {
    let road = Road::draw(2);
    let mut at_m = 3.3;
    while at_m < road.length_m() {
        let (lat_deg, lon_deg) = road.position_deg(at_m);
        let again_m = road.true_distance_m(lat_deg, lon_deg, None);
        assert!((again_m - at_m).abs() < 0.3, "{again_m} is not {at_m}");
        let guessed_m = road.true_distance_m(lat_deg, lon_deg, Some(at_m + 500.0));
        assert!((guessed_m - at_m).abs() < 0.3);
        at_m += 137.7;
    }
}

#[test]
fn the_same_seed_gives_the_same_recording() {
    let road = Road::draw(5);
    assert_eq!(road, Road::draw(5));
    for kind in Kind::ALL {
        assert_eq!(record(&road, kind), record(&road, kind));
    }
}

/// Standard deviation, and correlation at a lag counted in points.
fn size_and_correlation(errors_m: &[f64], lag: usize) -> (f64, f64) {
    let count = errors_m.len() as f64;
    let variance = errors_m
        .iter()
        .map(|error_m| error_m * error_m)
        .sum::<f64>()
        / count;
    let product = errors_m
        .iter()
        .zip(&errors_m[lag..])
        .map(|(a, b)| a * b)
        .sum::<f64>();
    (variance.sqrt(), product / (count - lag as f64) / variance)
}

/// A few recordings of one kind, with the errors of all in a row.
fn recordings(kind: Kind) -> Vec<TruthRecording> {
    (20..26)
        .map(|seed| record(&Road::draw(seed), kind))
        .collect()
}

#[test]
fn satellite_noise_is_four_metres_correlated_over_a_minute() {
    let (sd_m, reach_s) = clock_noise(Kind::SatelliteOnly);
    assert_eq!((sd_m, reach_s), (4.0, 60.0));
    let mut errors_m = Vec::new();
    for made in recordings(Kind::SatelliteOnly) {
        errors_m.extend(made.elevation_error_m);
    }
    // Some 40,000 s hold about 330 independent values: the size is known within 4 %, the correlation within 0.1.
    let (size_m, correlation) = size_and_correlation(&errors_m, 60);
    assert!((size_m / sd_m - 1.0).abs() < 0.12, "{size_m}");
    assert!(
        (correlation - (-1.0_f64).exp()).abs() < 0.15,
        "{correlation}"
    );
}

#[test]
fn barometer_noise_beside_its_drift_is_a_third_of_a_metre_over_twelve_seconds() {
    let mut changes = [Vec::new(), Vec::new()];
    for made in recordings(Kind::Barometer) {
        let errors_m = &made.elevation_error_m;
        for (changes, lag) in changes.iter_mut().zip([12, 60]) {
            changes.extend(errors_m.iter().zip(&errors_m[lag..]).map(|(a, b)| b - a));
        }
    }
    // The change over a lag has the variance 2 sd² (1 - exp(-lag / 12 s)), and the drift adds little in a minute.
    for (changes, lag_s) in changes.iter().zip([12.0_f64, 60.0]) {
        let expected_m = (2.0 * 0.35_f64.powi(2) * (1.0 - (-lag_s / 12.0).exp())).sqrt();
        let (size_m, _) = size_and_correlation(changes, 1);
        assert!(
            (size_m / expected_m - 1.0).abs() < 0.06,
            "{size_m} at {lag_s} s"
        );
    }
}

#[test]
fn a_barometer_drifts_by_a_few_metres_in_an_hour() {
    let mut changes_m = Vec::new();
    for made in recordings(Kind::Barometer) {
        let errors_m = &made.elevation_error_m;
        changes_m.extend(errors_m.iter().zip(&errors_m[3600..]).map(|(a, b)| b - a));
    }
    let (size_m, _) = size_and_correlation(&changes_m, 1);
    assert!((1.5..5.5).contains(&size_m), "{size_m}");
}

#[test]
fn terrain_errors_have_their_size_and_follow_the_road() {
    for (kind, low_m, high_m) in [(Kind::Planner, 1.0, 2.0), (Kind::TerrainModel, 1.7, 2.3)] {
        let reach_m = terrain_reach_m(kind);
        let (mut all_m, mut sum, mut count) = (Vec::new(), 0.0, 0);
        for made in recordings(kind) {
            // Standardised on each recording, since a planner's size differs between them.
            let (size_m, _) = size_and_correlation(&made.elevation_error_m, 1);
            for (i, &at_m) in made.true_distance_m.iter().enumerate() {
                let ahead = made
                    .true_distance_m
                    .partition_point(|&d| d < at_m + reach_m);
                if made
                    .true_distance_m
                    .get(ahead)
                    .is_some_and(|&d| d < at_m + 1.1 * reach_m)
                {
                    let product = made.elevation_error_m[i] * made.elevation_error_m[ahead];
                    sum += product / (size_m * size_m);
                    count += 1;
                }
            }
            all_m.extend(made.elevation_error_m);
        }
        let (size_m, _) = size_and_correlation(&all_m, 1);
        assert!((low_m..high_m).contains(&size_m), "{size_m}");
        let correlation = sum / f64::from(count);
        assert!(
            (correlation - (-1.05_f64).exp()).abs() < 0.08,
            "{kind:?} {correlation}"
        );
    }
}

#[test]
fn horizontal_errors_are_two_to_three_metres_on_each_axis() {
    for made in recordings(Kind::WholeMetre) {
        let north_m: Vec<f64> = made
            .horizontal_error_m
            .iter()
            .map(|error| error.0)
            .collect();
        let (size_m, _) = size_and_correlation(&north_m, 1);
        assert!((1.6..3.4).contains(&size_m), "{size_m}");
    }
    let planned = record(&Road::draw(1), Kind::Planner);
    assert!(
        planned
            .horizontal_error_m
            .iter()
            .all(|&error| error == (0.0, 0.0))
    );
}

#[test]
fn every_recording_has_its_spikes_its_hole_and_when_ridden_its_stop() {
    for kind in Kind::ALL {
        let made = record(&Road::draw(6), kind);
        assert_eq!(made.spikes.len(), 2);
        let points = &made.recording.points;
        assert_eq!(points.len(), made.true_distance_m.len());
        if kind.is_ridden() {
            let longest_s = points
                .windows(2)
                .filter_map(|pair| Some(pair[1].time_s? - pair[0].time_s?))
                .fold(0.0, f64::max);
            assert!((16.0..=128.0).contains(&longest_s), "{longest_s}");
            let standing = made
                .true_distance_m
                .windows(2)
                .filter(|pair| pair[0] == pair[1]);
            assert!(standing.count() >= 20);
        } else {
            let voids = points.iter().filter(|point| point.elevation_m.is_none());
            assert_eq!(voids.count(), 15);
        }
    }
}

#[test]
fn elevations_are_written_in_the_steps_of_their_kind() {
    for kind in Kind::ALL {
        let made = record(&Road::draw(7), kind);
        for point in made
            .recording
            .points
            .iter()
            .filter_map(|point| point.elevation_m)
        {
            let steps = point / kind.step_m();
            assert!((steps - steps.round()).abs() < 1e-6, "{point}");
        }
    }
}

#[test]
fn a_planner_puts_its_vertices_8_to_90_m_apart_and_a_terrain_model_8_to_40() {
    for (kind, longest_m) in [(Kind::Planner, 90.0), (Kind::TerrainModel, 40.0)] {
        let made = record(&Road::draw(8), kind);
        let steps_m: Vec<f64> = made
            .true_distance_m
            .windows(2)
            .map(|p| p[1] - p[0])
            .collect();
        let (last_m, others_m) = steps_m.split_last().unwrap();
        assert!(
            others_m
                .iter()
                .all(|&step_m| (8.0..=longest_m).contains(&step_m))
        );
        assert!(*last_m <= longest_m);
    }
}

#[test]
fn a_perfect_finder_scores_one() {
    for seed in SEEDS {
        let road = Road::draw(seed);
        let tally = score(&road, &shifted_truth(&road, 0.0, 0.0));
        assert_eq!(tally.f1(), 1.0);
        assert_eq!(tally.ends_m().unwrap().nine_in_ten, 0.0);
        assert_eq!(tally.inside_share(), Some(1.0));
    }
}

#[test]
fn a_finder_that_is_ten_metres_off_scores_ten_metres() {
    let road = Road::draw(1);
    let tally = score(&road, &shifted_truth(&road, 10.0, 0.3));
    assert_eq!(tally.f1(), 1.0);
    let ends = tally.ends_m().unwrap();
    assert_eq!((ends.median, ends.nine_in_ten), (10.0, 10.0));
    assert!((tally.grades_pct().unwrap().median - 0.3).abs() < 1e-9);
    // 0.3 points are three standard errors, and ten metres of shift move the mean by less than the other 1.3.
    assert_eq!(tally.inside_share(), Some(0.0));
}

#[test]
fn half_a_climb_is_not_found_and_not_right() {
    let road = Road::draw(1);
    let halves: Vec<FoundClimb> = shifted_truth(&road, 0.0, 0.0)
        .into_iter()
        .map(|climb| FoundClimb {
            end_true_m: 0.5 * (climb.start_true_m + climb.end_true_m),
            ..climb
        })
        .collect();
    let tally = score(&road, &halves);
    assert_eq!((tally.matched, tally.f1()), (0, 0.0));
}

#[test]
fn a_climb_reported_twice_is_right_once() {
    let road = Road::draw(1);
    let mut twice = shifted_truth(&road, 0.0, 0.0);
    twice.extend(shifted_truth(&road, 1.0, 0.0));
    let tally = score(&road, &twice);
    assert_eq!(tally.found_share(), 1.0);
    assert_eq!(tally.right_share(), 0.5);
}

#[test]
fn ends_given_as_places_come_back_as_distances() {
    let road = Road::draw(3);
    let places = |_: &Recording| -> Vec<Found> {
        let climbs = road.true_climbs.iter();
        climbs
            .map(|climb| {
                let (start_lat_deg, start_lon_deg) = road.position_deg(climb.start_m);
                let (end_lat_deg, end_lon_deg) = road.position_deg(climb.end_m);
                Found {
                    start_lat_deg,
                    start_lon_deg,
                    end_lat_deg,
                    end_lon_deg,
                    grade_pct: climb.grade_pct,
                    grade_se_pct: None,
                }
            })
            .collect()
    };
    let made = record(&road, Kind::Planner);
    let tally: Tally = truth::score::score_recording(&road, &made, places);
    assert_eq!(tally.f1(), 1.0);
    assert!(tally.ends_m().unwrap().nine_in_ten < 0.3);
    assert_eq!(tally.inside_share(), None);
}

#[test]
fn the_pieces_of_a_road_add_up_to_its_length() {
    let road = Road::draw(9);
    assert_eq!(
        boundaries(&road.pieces).last(),
        Some(&(road.length_m() as usize))
    );
}

#[test]
fn the_floor_knows_how_sure_it_is() {
    let floors = truth::floor::simulate_all(25);
    assert!(
        floors.iter().all(|floor| floor.found_share > 0.8),
        "{floors:?}"
    );
    // 250 ends: a share of 0.9 is known within 0.02; the ends' prior is a little wider than the truth.
    let inside: f64 = floors.iter().map(|floor| floor.inside_share).sum();
    let inside_share = inside / floors.len() as f64;
    assert!((0.84..0.97).contains(&inside_share), "{floors:?}");
}

#[test]
fn a_cholesky_factor_solves_and_whitens() {
    use truth::matrix::Cholesky;
    // [[4, 2], [2, 5]] has the factor [[2, 0], [1, 2]] and the determinant 16.
    let matrix = [[4.0, 2.0], [2.0, 5.0]];
    let factor = Cholesky::new(2, |i, j| matrix[i][j]).unwrap();
    assert_eq!(factor.whitened(&[2.0, 5.0]), [1.0, 2.0]);
    assert_eq!(factor.solved(&[8.0, 12.0]), [1.0, 2.0]);
    assert!((factor.log_determinant() - 16.0_f64.ln()).abs() < 1e-12);
    assert!(Cholesky::new(1, |_, _| -1.0).is_none());
}

/// What the filter adds up point by point, worked as one normal distribution of all heights.
#[test]
fn the_readers_filter_weighs_heights_as_their_covariance_does() {
    use truth::matrix::Cholesky;
    use truth::profile::WANDER_REACH_M;
    use truth::reader::grammar::Level;
    use truth::reader::state::{Noise, State};
    let noise = Noise {
        sd_m: 1.5,
        reach: 80.0,
    };
    let level = Level {
        grade: 0.05,
        grade_variance: 0.0,
        change: 0.0,
        change_variance: 0.0,
    };
    let at_m = [0.0, 15.0, 40.0, 130.0, 160.0, 400.0_f64];
    let heights_m = [100.7, 99.2, 103.1, 107.9, 106.0, 121.3_f64];
    let steepness = [1.0, 0.8, 1.2, 1.0, 0.7, 1.1_f64];
    let mut state = State::first(100.0, &level, &noise);
    let (mut before_m, mut stepwise) = (0.0, 0.0);
    for ((here_m, height_m), steepness) in at_m.iter().zip(heights_m).zip(steepness) {
        state.advance(here_m - before_m, here_m - before_m, &noise);
        stepwise += state.observe(height_m, steepness, 0.01);
        before_m = *here_m;
    }
    // The grade wanders by 5.7 % of (5 + 1) points, the first height is known to 20 m.
    let wander_m2 = (0.057 * 0.06 * WANDER_REACH_M).powi(2);
    let factor = Cholesky::new(6, |i, j| {
        let (s, t) = (
            at_m[i].min(at_m[j]) / WANDER_REACH_M,
            at_m[i].max(at_m[j]) / WANDER_REACH_M,
        );
        let wandered = 2.0 * s - 1.0 + (-s).exp() + (-t).exp() - (s - t).exp();
        let error = (-(at_m[i] - at_m[j]).abs() / 80.0).exp() * 2.25 * steepness[i] * steepness[j];
        400.0 + wander_m2 * wandered + error + if i == j { 0.01 } else { 0.0 }
    })
    .unwrap();
    let off_m: Vec<f64> = (0..6)
        .map(|i| heights_m[i] - 100.0 - 0.05 * at_m[i])
        .collect();
    let squares: f64 = factor
        .whitened(&off_m)
        .iter()
        .map(|white| white * white)
        .sum();
    let at_once = -0.5 * (squares + factor.log_determinant() + 6.0 * std::f64::consts::TAU.ln());
    assert!((stepwise - at_once).abs() < 1e-9, "{stepwise} {at_once}");
}

#[test]
fn thinning_keeps_the_heavy_and_the_mean_of_the_light() {
    use truth::reader::thinning::thin;
    use truth::rng::Rng;
    let mut rng = Rng::new(5);
    let mut sums = [0.0; 8];
    let weights = [0.5, 0.2, 0.1, 0.08, 0.05, 0.04, 0.02, 0.01];
    for _ in 0..4000 {
        let mut all: Vec<(usize, f64)> = weights.into_iter().enumerate().collect();
        thin(&mut rng, &mut all, 5, |one| &mut one.1);
        assert!((4..=6).contains(&all.len()), "{all:?}");
        assert_eq!(all[..2], [(0, 0.5), (1, 0.2)]);
        for (index, weight) in all {
            sums[index] += weight / 4000.0;
        }
    }
    // Each light one is kept with a chance of its weight over 0.1: within four standard errors of its weight.
    for (sum, weight) in sums.iter().zip(weights) {
        assert!((sum - weight).abs() < 0.004, "{sums:?}");
    }
}

#[test]
fn the_reader_reports_what_is_as_likely_matched_as_its_f1() {
    use truth::reader::Believed;
    use truth::reader::report::report;
    let believed = |start_m, end_m, weight| Believed {
        start_m,
        end_m,
        weight,
    };
    // One climb or its first half: 500 m are no match of 1000 m. A climb that is hardly ever there is left out.
    let road = [
        believed(0.0, 1000.0, 0.7),
        believed(0.0, 500.0, 0.3),
        believed(2000.0, 2500.0, 0.95),
        believed(4000.0, 4500.0, 0.25),
    ];
    let (found, f1) = report(&[road.to_vec()]);
    let ends_m: Vec<[f64; 2]> = found[0]
        .iter()
        .map(|climb| [climb.start_true_m, climb.end_true_m])
        .collect();
    assert_eq!(ends_m, [[0.0, 1000.0], [2000.0, 2500.0]]);
    // 2 (0.7 + 0.95) over 2.2 that are there and 2 that are reported.
    assert!((f1 - 3.3 / 4.2).abs() < 1e-9, "{f1}");
}

#[test]
fn a_reader_who_knows_how_roads_are_made_finds_nearly_all_climbs() {
    use truth::reader::grammar::Knowing;
    let roads: Vec<Road> = SEEDS.into_iter().map(Road::draw).collect();
    for (kind, knowing, least_f1) in [
        (Kind::Planner, Knowing::TheRules, 0.95),
        (Kind::Planner, Knowing::RoadsInGeneral, 0.9),
        (Kind::Planner, Knowing::PiecesAlone, 0.85),
        (Kind::TerrainModel, Knowing::PiecesAlone, 0.8),
        (Kind::SatelliteOnly, Knowing::TheRules, 0.75),
    ] {
        let reached = truth::reader::run(&roads, kind, knowing, 400);
        let f1 = reached.tally.f1();
        assert!(f1 > least_f1, "{kind:?} {knowing:?} {f1}");
        // Some 45 climbs: one of them is 0.02, and a reader who is wrong about itself is off by more than five.
        assert!((f1 - reached.expected_f1).abs() < 0.1, "{reached:?}");
        assert!((1.0 - f1 - reached.confusions.lost()).abs() < 1e-9);
    }
}
