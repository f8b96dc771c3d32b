//! What a route planner makes of a road: vertices where the road bends, elevations from a model of the terrain.

use super::earth::TangentPlane;
use super::gpx_text::Point;
use super::random::{GaussMarkov, Random};
use super::road::Road;

/// Vertices are this far apart, in bends and on the straight, in metres.
const SPACING_M: (f64, f64) = (10.0, 40.0);
/// Between two vertices the road bulges about this far where it bends, in metres.
const BULGE_M: f64 = 0.2;
/// The terrain model's error, in metres, and for how many metres it stays alike.
const TERRAIN_ERROR: (f64, f64) = (1.0, 100.0);

/// The vertices of a road as a planner draws it, from its start to its end.
pub(crate) fn vertices(road: &Road, plane: &TangentPlane, seed: u64) -> Vec<Point> {
    let mut spread = Random::new(seed);
    let mut error_m = GaussMarkov::new(TERRAIN_ERROR.0, TERRAIN_ERROR.1, seed + 1);
    let mut points = Vec::new();
    let mut distance_m = 0.0;
    let mut spacing_m = 0.0;
    loop {
        points.push(Point {
            place: plane.to_geodetic(road.place(distance_m)),
            elevation_m: road.elevation_m(distance_m) + error_m.advance(spacing_m),
            time_s: None,
        });
        let left_m = road.length_m() - distance_m;
        if left_m <= 0.0 {
            return points;
        }
        let bend_per_m = road.bend_per_m(distance_m + SPACING_M.0).max(1e-6);
        let suited_m = (8.0 * BULGE_M / bend_per_m).sqrt() * (1.0 + 0.2 * spread.symmetric());
        spacing_m = suited_m.clamp(SPACING_M.0, SPACING_M.1);
        if spacing_m + SPACING_M.0 > left_m {
            spacing_m = left_m;
        }
        distance_m += spacing_m;
    }
}

/// The same vertices there and back.
pub(crate) fn there_and_back(there: &[Point]) -> Vec<Point> {
    there
        .iter()
        .chain(there.iter().rev().skip(1))
        .copied()
        .collect()
}

/// The same vertices around, ending where they started.
pub(crate) fn around(mut points: Vec<Point>) -> Vec<Point> {
    if let [first, .., last] = points.as_mut_slice() {
        *last = *first;
    }
    points
}
