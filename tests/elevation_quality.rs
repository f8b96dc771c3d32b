//! What is said of recordings' elevations, and what tiles make of them, on roads that are known.

#![allow(clippy::expect_used, reason = "a test that panics has failed")]

mod truth;

use hillwright::profile::looks::Likeness;
use hillwright::profile::{Looks, Noise, Profile};
use hillwright::route::clean;
use truth::recording::{Kind, record};
use truth::road::Road;
use truth::{bench, table};

/// Roads that nothing is tuned on.
const SEEDS: std::ops::Range<u64> = 6000..6008;

fn looks(road: &Road, kind: Kind) -> (Looks, Noise) {
    let route = clean(record(road, kind).recording, "bench").expect("it is a route");
    let profile = Profile::from_route(&route).expect("it has elevations");
    (profile.looks, profile.noise)
}

/// What each kind is to be called, and the deviation (metres) that it is made with: least and greatest.
fn expected(kind: Kind) -> (Likeness, f64, f64) {
    match kind {
        Kind::Planner => (Likeness::TerrainModel, 1.0, 2.0),
        Kind::Barometer => (Likeness::Barometer, 0.35, 0.35),
        // Rounding to whole metres is off by 0.29 m, so 0.45 m with the barometer's own.
        Kind::WholeMetre => (Likeness::Barometer, 0.35, 0.45),
        Kind::SatelliteOnly => (Likeness::Satellites, 4.0, 4.0),
        Kind::TerrainModel => (Likeness::TerrainModel, 2.0, 2.0),
    }
}

#[test]
fn recordings_are_called_what_they_are() {
    let (mut right, mut all) = (0, 0);
    let (mut confused, mut off) = (Vec::new(), Vec::new());
    for seed in SEEDS {
        let road = Road::draw(seed);
        for kind in Kind::ALL {
            let (looks, noise) = looks(&road, kind);
            let (likeness, least_m, most_m) = expected(kind);
            all += 1;
            if looks.likeness == likeness {
                right += 1;
            } else {
                confused.push(format!(
                    "{} is called {}",
                    kind.name(),
                    looks.in_words(&noise)
                ));
            }
            assert_eq!(looks.step_m, Some(kind.step_m()), "{}", kind.name());
            // Within a factor of two: what is stated also holds the receiver's sideways error on a slope and the road's kinks.
            let error_m = noise.total_sd_m();
            if !(0.5 * least_m..2.0 * most_m).contains(&error_m) {
                off.push(format!("{} of road {seed}: {error_m} m", kind.name()));
            }
        }
    }
    assert!(off.is_empty(), "{off:#?}");
    assert!(20 * right >= 19 * all, "{right} of {all}: {confused:#?}");
}

#[test]
fn satellite_fixes_with_tiles_are_as_good_as_a_terrain_model() {
    let rows = bench::run_with_tiles(SEEDS.take(4)).expect("a temporary folder can be written");
    let plain = bench::run(SEEDS.take(4).map(Road::draw), truth::pipeline::find_climbs);
    let text = table::score_rows(rows.iter().map(|(name, tally)| (*name, tally)));
    let text = text + &table::score_table(&plain);
    let with = &rows[0].1;
    let (_, model) = &plain[Kind::TerrainModel as usize];
    // 60 climbs a kind: a climb or two more or less is chance.
    assert!(with.f1() >= model.f1() - 0.04, "{text}");
    let ends = [with, model].map(|t| t.ends_m().map_or(f64::INFINITY, |e| e.nine_in_ten));
    assert!(ends[0] <= 1.2 * ends[1], "{text}");
    let grades = [with, model].map(|t| t.grades_pct().map_or(f64::INFINITY, |g| g.nine_in_ten));
    assert!(grades[0] <= 1.2 * grades[1], "{text}");
}
