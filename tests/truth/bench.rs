//! A run over many seeds and all kinds.

use hillwright::route::Recording;
use hillwright::terrain::Tiles;

use super::ground::write_tiles;
use super::pipeline::{Using, find_climbs_with};
use super::recording::{Kind, record};
use super::road::Road;
use super::score::{Found, Tally, match_climbs, place_on_road, score};

/// Scores a finder on roads, each recorded in every way.
pub fn run(
    roads: impl Iterator<Item = Road>,
    find: impl Fn(&Recording) -> Vec<Found>,
) -> Vec<(Kind, Tally)> {
    let mut tallies = Kind::ALL.map(|kind| (kind, Tally::default()));
    for road in roads {
        for (kind, tally) in &mut tallies {
            let found = find(&record(&road, *kind).recording);
            tally.add(&score(&road, &place_on_road(&road, &found)));
        }
    }
    tallies.into()
}

/// A kind of recording with tiles beside it, and how they are used.
pub const WITH_TILES: [(&str, Kind, Using); 5] = [
    (
        "satellite-only with tiles",
        Kind::SatelliteOnly,
        Using::Auto,
    ),
    (
        "satellite-only, tiles alone",
        Kind::SatelliteOnly,
        Using::Tiles,
    ),
    ("barometer with tiles", Kind::Barometer, Using::Auto),
    ("barometer, both together", Kind::Barometer, Using::Both),
    ("planner with tiles", Kind::Planner, Using::Auto),
];

/// Scores recordings that have elevation tiles beside them.
///
/// # Errors
/// Those of writing tiles into a temporary folder.
pub fn run_with_tiles(
    seeds: impl Iterator<Item = u64>,
) -> std::io::Result<Vec<(&'static str, Tally)>> {
    let mut tallies = WITH_TILES.map(|(name, ..)| (name, Tally::default()));
    for seed in seeds {
        let road = Road::draw(seed);
        let folder = tempfile::tempdir()?;
        write_tiles(&road, folder.path())?;
        let tiles = Tiles::open(folder.path());
        for ((_, kind, using), (_, tally)) in WITH_TILES.iter().zip(&mut tallies) {
            let found = find_climbs_with(&record(&road, *kind).recording, &tiles, *using);
            tally.add(&score(&road, &place_on_road(&road, &found)));
        }
    }
    Ok(tallies.into())
}

/// What went wrong on one recording, a line each: true climbs that were missed and found ones that are not there.
pub fn complaints(road: &Road, kind: Kind, found: &[Found]) -> Vec<String> {
    let found = place_on_road(road, found);
    let matches = match_climbs(&road.true_climbs, &found);
    let label = format!("road {} {}", road.seed, kind.name());
    let missed = road
        .true_climbs
        .iter()
        .enumerate()
        .filter(|(t, _)| matches.iter().all(|(used, _)| used != t))
        .map(|(_, climb)| ("missed", climb.start_m, climb.end_m, climb.grade_pct));
    let wrong = found
        .iter()
        .enumerate()
        .filter(|(f, _)| matches.iter().all(|(_, used)| used != f))
        .map(|(_, climb)| {
            (
                "not there",
                climb.start_true_m,
                climb.end_true_m,
                climb.grade_pct,
            )
        });
    missed
        .chain(wrong)
        .map(|(what, start_m, end_m, grade_pct)| {
            format!("{label}: {what} {start_m:.0}–{end_m:.0} m at {grade_pct:.1} %")
        })
        .collect()
}
