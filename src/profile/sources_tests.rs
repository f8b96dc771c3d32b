//! Roads and tiles made here: which elevations are taken, how sure they are, and where they disagree.

use super::ground::Disagreement;
use super::sources::{self, ElevationSource, Wanted};
use super::tests::{Draws, road};
use super::{Profile, climbed, together};
use crate::route::Route;
use crate::terrain::{Sampled, TileElevations, Tiles};

/// A series with an error of so many metres that falls to 1/e over so many steps.
fn errors(count: usize, sd: f64, reach: f64, draws: &mut Draws) -> Vec<f64> {
    let keeps = (-1.0 / reach).exp();
    let mut error = sd * draws.normal();
    (0..count)
        .map(|_| {
            error = keeps * error + (1.0 - keeps * keeps).sqrt() * sd * draws.normal();
            error
        })
        .collect()
}

/// Up and down at 6 % for 2 km each, a value each 10 m.
fn hills(count: usize) -> Vec<f64> {
    (0..count)
        .map(|i| 300.0 + 0.6 * (200.0 - ((i % 400) as f64 - 200.0).abs()))
        .collect()
}

fn sum(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + b).collect()
}

/// The road with these elevations, ridden at 5 m/s.
fn ridden(elevation_m: &[f64]) -> Route {
    let mut route = road(elevation_m);
    for (i, point) in route.points.iter_mut().enumerate() {
        point.time_s = Some(2.0 * i as f64);
    }
    route
}

/// Tiles below [`road`] with these elevations, a value each 10 m, and this slope across.
fn tiles_below(elevation_m: &[f64], slope_across: impl Fn(usize) -> f64) -> TileElevations {
    let route = road(elevation_m);
    let samples = route
        .points
        .iter()
        .enumerate()
        .step_by(3)
        .map(|(i, p)| Sampled {
            distance_m: p.distance_m,
            lat_deg: p.lat_deg,
            lon_deg: p.lon_deg,
            elevation_m: p.elevation_m,
            void_filled: false,
            slope_across: slope_across(i),
        });
    TileElevations {
        samples: samples.collect(),
        arc_seconds: 1,
        voids_filled: 0,
        voids_left: 0,
    }
}

/// A barometer's and tiles' elevations of the hills.
fn barometer_and_tiles(seed: u64) -> (Vec<f64>, Vec<f64>) {
    let mut draws = Draws(seed);
    let truth = hills(1501);
    let recorded = sum(&truth, &errors(1501, 0.35, 6.0, &mut draws));
    (recorded, sum(&truth, &errors(1501, 2.0, 8.0, &mut draws)))
}

fn disagreements(recorded: &[f64], tiles: &[f64]) -> Vec<Disagreement> {
    let route = ridden(recorded);
    let sourced = sources::from_tiles(&route, &tiles_below(tiles, |_| 0.0)).unwrap();
    sourced.origin.disagreements
}

#[test]
fn errors_of_the_usual_size_are_no_disagreement() {
    let stretches: usize = (0..20)
        .map(|seed| {
            let (recorded, tiles) = barometer_and_tiles(seed);
            disagreements(&recorded, &tiles).len()
        })
        .sum();
    assert!(stretches <= 1, "{stretches} on 300 km");
}

#[test]
fn a_tunnel_a_cutting_and_a_bridge_are_found_where_they_are() {
    // From and to in steps of 10 m, and how far the ground is above the road.
    for (what, from, to, above_m) in [
        ("tunnel", 420, 520, 60.0),
        ("cutting", 600, 625, 18.0),
        ("bridge", 900, 930, -25.0),
    ] {
        for seed in 0..5 {
            let (recorded, mut tiles) = barometer_and_tiles(seed);
            tiles[from..to].iter_mut().for_each(|z| *z += above_m);
            let found = disagreements(&recorded, &tiles);
            assert_eq!(found.len(), 1, "{what} {seed}: {found:?}");
            let (from_m, to_m) = (10.0 * from as f64, 10.0 * to as f64);
            assert!(
                (found[0].from_m - from_m).abs() <= 40.0,
                "{what}: {found:?}"
            );
            assert!((found[0].to_m - to_m).abs() <= 40.0, "{what}: {found:?}");
            assert!(
                (found[0].above_m + above_m).abs() <= 8.0,
                "{what}: {found:?}"
            );
        }
    }
}

#[test]
fn a_disagreement_is_told_in_kilometres_and_bends_the_grade_less() {
    let truth = hills(1501);
    let (recorded, mut tiles) = barometer_and_tiles(1);
    tiles[420..520].iter_mut().for_each(|z| *z += 60.0);
    let ground = tiles_below(&tiles, |_| 0.0);
    let alone = sources::from_tiles(&road(&[0.0; 1501]), &ground).unwrap();
    let beside = sources::from_tiles(&ridden(&recorded), &ground).unwrap();
    let told = beside.remarks.join("\n");
    assert!(
        told.contains("km 4.18–5.21 (up to 61 m") && told.contains("below the tiles"),
        "{told}"
    );
    let worst_m = |profile: &Profile| {
        (380..560)
            .map(|i| (profile.elevation_m[i] - truth[i]).abs())
            .fold(0.0, f64::max)
    };
    // The road is level with nothing to hold on to for a kilometre: twice the tiles' error and what a 6 % road may stray.
    assert!(worst_m(&alone.profile) > 40.0);
    assert!(
        worst_m(&beside.profile) < 25.0,
        "{}",
        worst_m(&beside.profile)
    );
    let scale = |node: usize| beside.profile.observations[node].error_scale;
    assert!((scale(471) - 10.0).abs() < 1e-9 && (scale(1002) - 1.0).abs() < 1e-9);
}

#[test]
fn the_grade_is_less_sure_where_the_ground_is_steep_across_the_road() {
    let (_, tiles) = barometer_and_tiles(2);
    let steep = |i: usize| if i < 750 { 0.0 } else { 0.6 };
    let ground = tiles_below(&tiles, steep);
    let profile = sources::from_tiles(&road(&tiles), &ground).unwrap().profile;
    let error_m = |from, to| climbed::between(&profile, from, to).variance_m2.sqrt();
    // 2 m and 6.3 m of error, 3.2 times as much. What is known of steady roads keeps the ratio below.
    let ratio = error_m(820, 980) / error_m(20, 180);
    assert!((1.5..3.2).contains(&ratio), "{ratio}");
}

#[test]
fn a_satellite_fix_and_tiles_together_are_no_worse_than_tiles_and_far_better_than_the_fix() {
    let mut off = [0.0; 3];
    let mut inside = 0;
    let mut all = 0;
    for seed in 0..12 {
        let mut draws = Draws(40 + seed);
        let truth = hills(1501);
        let recorded = sum(&truth, &errors(1501, 4.0, 30.0, &mut draws));
        let tiles = tiles_below(&sum(&truth, &errors(1501, 2.0, 8.0, &mut draws)), |_| 0.0);
        let route = ridden(&recorded);
        let profiles = [
            Profile::from_route(&route).unwrap(),
            sources::from_tiles(&route, &tiles).unwrap().profile,
            sources::from_both(&route, &tiles).unwrap().unwrap().profile,
        ];
        for (off, profile) in off.iter_mut().zip(&profiles) {
            *off += (20..1480)
                .map(|i| {
                    let grade_pct = if (i / 200) % 2 == 0 { 6.0 } else { -6.0 };
                    (profile.grade_pct[i] - grade_pct).powi(2)
                })
                .sum::<f64>();
        }
        for i in (50..1450).step_by(50) {
            let both = &profiles[2];
            let grade_pct = if (i / 200) % 2 == 0 { 6.0 } else { -6.0 };
            all += 1;
            inside +=
                usize::from((both.grade_pct[i] - grade_pct).abs() <= 1.645 * both.grade_se_pct[i]);
        }
    }
    // What they gain over tiles alone is where the road turns, not the grade between.
    assert!(off[2] < 0.5 * off[0] && off[2] < 1.05 * off[1], "{off:?}");
    // Nine in ten, less where a turn of the road is looked for within its own error.
    let share = inside as f64 / all as f64;
    assert!(share > 0.8, "{share}");
}

#[test]
fn a_line_drawn_on_the_tiles_says_no_more_together_with_them() {
    let mut draws = Draws(5);
    let ground = sum(&hills(1501), &errors(1501, 2.0, 8.0, &mut draws));
    let tiles = tiles_below(&ground, |_| 0.0);
    assert!(
        sources::from_both(&ridden(&ground), &tiles)
            .unwrap()
            .is_none()
    );
}

#[test]
fn where_tiles_have_no_ground_the_recording_serves() {
    let mut draws = Draws(6);
    let truth = hills(1501);
    let recorded = sum(&truth, &errors(1501, 4.0, 30.0, &mut draws));
    let mut tiles = tiles_below(&sum(&truth, &errors(1501, 2.0, 8.0, &mut draws)), |_| 0.0);
    tiles.samples[100..160]
        .iter_mut()
        .for_each(|s| s.elevation_m = None);
    let route = ridden(&recorded);
    let both = sources::from_both(&route, &tiles).unwrap().unwrap().profile;
    assert!(both.observations[399].count > 0);
    assert!((both.elevation_m[400] - truth[400]).abs() < 12.0);
}

mod choosing {
    use super::*;

    #[test]
    fn a_barometer_is_taken_without_looking_at_tiles() {
        let (recorded, _) = barometer_and_tiles(3);
        // There is no such folder, which would be told if it had been looked for.
        let sourced = sources::profile(
            &ridden(&recorded),
            Wanted::Auto,
            &Tiles::open("no-such-folder"),
        )
        .unwrap();
        assert_eq!(sourced.origin.source, ElevationSource::Recorded);
        assert!(sourced.remarks.is_empty(), "{:?}", sourced.remarks);
        let why = sourced.origin.why.unwrap();
        assert!(
            why.contains("the grade of 500 m to ±0.1") && why.contains("±0.9 at best"),
            "{why}"
        );
    }

    #[test]
    fn satellite_fixes_without_tiles_are_told_what_tiles_would_give() {
        let mut draws = Draws(9);
        let recorded = sum(&hills(1501), &errors(1501, 4.0, 30.0, &mut draws));
        let sourced = sources::profile(
            &ridden(&recorded),
            Wanted::Auto,
            &Tiles::open("no-such-folder"),
        )
        .unwrap();
        assert_eq!(sourced.origin.source, ElevationSource::Recorded);
        let told = sourced.remarks.join("\n");
        assert!(
            told.contains("only to ±") && told.contains("N00E000") && told.contains("--fetch"),
            "{told}"
        );
    }

    #[test]
    fn a_route_without_elevations_names_the_tiles_that_would_help() {
        let mut route = road(&hills(201));
        route.points.iter_mut().for_each(|p| p.elevation_m = None);
        let error = sources::profile(&route, Wanted::Auto, &Tiles::open("no-such-folder"))
            .unwrap_err()
            .to_string();
        let start = "the route has no elevations, and the elevation tile N00E000 is not in";
        assert!(error.starts_with(start), "{error}");
    }
}

#[test]
fn the_error_of_both_has_the_spectrum_of_both() {
    // Two equal errors: half the variance, the same reach.
    let mut draws = Draws(11);
    let truth = hills(3001);
    let recorded = sum(&truth, &errors(3001, 2.0, 8.0, &mut draws));
    let tiles = sum(&truth, &errors(3001, 2.0, 8.0, &mut draws));
    let profile = sources::from_both(&ridden(&recorded), &tiles_below(&tiles, |_| 0.0))
        .unwrap()
        .unwrap()
        .profile;
    assert!(
        (1.1..1.8).contains(&profile.noise.sd_m),
        "{:?}",
        profile.noise
    );
    assert!(
        (50.0..130.0).contains(&profile.noise.correlation_m),
        "{:?}",
        profile.noise
    );
    let none = together::observations(
        &profile.observations,
        &profile.noise,
        &super::ground::Ground {
            spacing_m: 10.0,
            elevation_m: vec![None; profile.nodes()],
            error_m: vec![2.0; profile.nodes()],
        },
    );
    assert!(none.is_none());
}
