//! From a list of pieces to the elevation of a road.

use super::pieces::{Kind, Placed};
use super::random::GaussMarkov;

/// Over how many metres a grade's wander stays alike.
const WANDER_REACH_M: f64 = 150.0;
/// Two running means over these lengths round the meeting of two pieces: a change of grade takes their sum.
const ROUNDING_M: [f64; 2] = [24.0, 12.0];

/// The elevation at the nodes of a closed road, one more node than steps, the last as high as the first.
pub(crate) fn closed_profile(
    pieces: &[Placed],
    start_elevation_m: f64,
    step_m: f64,
    seed: u64,
) -> Vec<f64> {
    let mut grades_pct = wandering_grades(pieces, step_m, seed);
    for length_m in ROUNDING_M {
        grades_pct = ring_mean(&grades_pct, (length_m / step_m / 2.0).round() as usize);
    }
    let left_over_pct = grades_pct.iter().sum::<f64>() / grades_pct.len() as f64;
    let mut elevation_m = start_elevation_m;
    std::iter::once(start_elevation_m)
        .chain(grades_pct.iter().map(|grade_pct| {
            elevation_m += (grade_pct - left_over_pct) / 100.0 * step_m;
            elevation_m
        }))
        .collect()
}

fn wandering_grades(pieces: &[Placed], step_m: f64, seed: u64) -> Vec<f64> {
    let mut wander = GaussMarkov::new(1.0, WANDER_REACH_M, seed);
    let mut grades_pct = Vec::new();
    for Placed { piece, start_m, .. } in pieces {
        let steps = (piece.length_m / step_m).round() as usize;
        debug_assert!((grades_pct.len() as f64 * step_m - start_m).abs() < step_m);
        for step in 0..steps {
            let share = (step as f64 + 0.5) / steps as f64;
            let designed_pct = piece.from_pct + share * (piece.to_pct - piece.from_pct);
            grades_pct
                .push(designed_pct + piece.kind.wander_pct(designed_pct) * wander.advance(step_m));
        }
    }
    grades_pct
}

/// The mean of each value and its `half` neighbours on either side, around a ring.
pub(crate) fn ring_mean(values: &[f64], half: usize) -> Vec<f64> {
    let count = values.len();
    let window = 2 * half + 1;
    let mut sum: f64 = (0..window)
        .map(|ahead| values[(count + ahead - half) % count])
        .sum();
    (0..count)
        .map(|centre| {
            let mean = sum / window as f64;
            sum += values[(centre + half + 1) % count] - values[(centre + count - half) % count];
            mean
        })
        .collect()
}

/// All rises added up, in metres.
pub(crate) fn ascent_m(elevations_m: &[f64]) -> f64 {
    elevations_m
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).max(0.0))
        .sum()
}

/// A climb as it was built.
pub(crate) struct TrueClimb {
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    pub(crate) start_m: f64,
    pub(crate) end_m: f64,
}

/// The climbs among the pieces; neighbours with one name are one climb.
pub(crate) fn true_climbs(pieces: &[Placed]) -> Vec<TrueClimb> {
    let mut climbs: Vec<TrueClimb> = Vec::new();
    for Placed {
        piece,
        start_m,
        end_m,
    } in pieces
    {
        if !matches!(piece.kind, Kind::Steady | Kind::Lumpy | Kind::Steepening) {
            continue;
        }
        match climbs.last_mut() {
            Some(last) if last.name == piece.name && last.end_m == *start_m => last.end_m = *end_m,
            _ => climbs.push(TrueClimb {
                name: piece.name,
                kind: piece.kind,
                start_m: *start_m,
                end_m: *end_m,
            }),
        }
    }
    climbs
}
