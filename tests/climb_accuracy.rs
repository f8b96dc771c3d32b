//! Climbs that are known, recorded in five ways, and how well they are found again.

mod truth;

use truth::bench;
use truth::pipeline::find_climbs;
use truth::recording::Kind;
use truth::table::score_table;

/// Roads that nothing is tuned on.
const SEEDS: std::ops::Range<u64> = 5000..5010;

/// What a kind of recording is held to: the least F1, and what nine in ten ends (metres) and grades (points) stay within.
type Bar = (Kind, f64, f64, f64);

/// Where the program is to come. Ends and grades of planner recordings and grades of terrain models can't be told better
/// than the floor of `docs/accuracy.md`; a quarter above that floor stands in their place.
const BARS: [Bar; 5] = [
    (Kind::Planner, 0.97, 64.0, 0.42),
    (Kind::Barometer, 0.97, 40.0, 0.15),
    (Kind::WholeMetre, 0.97, 40.0, 0.20),
    (Kind::SatelliteOnly, 0.80, 165.0, 0.90),
    (Kind::TerrainModel, 0.95, 83.0, 0.44),
];

/// Where it is: what it must not fall behind, some 0.02 of F1 and a seventh of the rest below the scores of a hundred roads.
const REACHED: [Bar; 5] = [
    (Kind::Planner, 0.91, 66.0, 0.42),
    (Kind::Barometer, 0.95, 25.0, 0.16),
    (Kind::WholeMetre, 0.94, 25.0, 0.20),
    (Kind::SatelliteOnly, 0.73, 175.0, 0.90),
    (Kind::TerrainModel, 0.86, 110.0, 0.44),
];

/// Stated 90 % intervals hold this share of the time; on ten roads a share of 0.9 scatters by 0.025.
const LEAST_INSIDE: f64 = 0.80;
const MOST_INSIDE: f64 = 0.98;

fn assert_within(bars: &[Bar; 5]) {
    let tallies = bench::run(SEEDS, find_climbs);
    let table = score_table(&tallies);
    for ((kind, tally), (_, least_f1, most_m, most_pct)) in tallies.iter().zip(bars) {
        let name = kind.name();
        assert!(tally.f1() >= *least_f1, "{name}\n{table}");
        let ends = tally.ends_m().map_or(f64::INFINITY, |e| e.nine_in_ten);
        assert!(ends <= *most_m, "{name}\n{table}");
        let grades = tally.grades_pct().map_or(f64::INFINITY, |g| g.nine_in_ten);
        assert!(grades <= *most_pct, "{name}\n{table}");
        let inside = tally.inside_share().unwrap_or(0.0);
        assert!(
            (LEAST_INSIDE..=MOST_INSIDE).contains(&inside),
            "{name}\n{table}"
        );
    }
}

#[test]
fn climbs_are_found_no_worse_than_before() {
    assert_within(&REACHED);
}

#[test]
#[ignore = "not reached: F1 of planner, whole-metre, satellite-only and terrain-model recordings, ends on terrain models"]
fn climbs_are_found_within_the_bars() {
    assert_within(&BARS);
}
