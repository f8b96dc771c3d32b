//! Lines on the page, simplified within a part of a pixel.

use std::fmt::Write;

use geo::{Coord, LineString, Simplify};

use super::n;

/// How far a drawn line may stray from the true one, in the picture's units: less than a pixel of a picture shown at twice its size.
pub(super) const TOLERANCE: f64 = 0.4;

/// Points nearer than this share of the tolerance to the one before are left out first: simplifying takes longest over them.
const NEAR_SHARE: f64 = 0.25;

/// The points that are needed to draw a line (Ramer 1972, Douglas and Peucker 1973).
pub(super) fn simplified(points: &[(f64, f64)], tolerance: f64) -> Vec<(f64, f64)> {
    let line: LineString<f64> = thinned(points, NEAR_SHARE * tolerance).collect();
    let line = line.simplify((1.0 - NEAR_SHARE) * tolerance);
    line.0.into_iter().map(|c| (c.x, c.y)).collect()
}

/// The first point, those that lie at least some way from the one kept before, and the last.
fn thinned(points: &[(f64, f64)], apart: f64) -> impl Iterator<Item = Coord<f64>> + '_ {
    let mut kept: Option<(f64, f64)> = None;
    let last = points.len().saturating_sub(1);
    points.iter().enumerate().filter_map(move |(i, &(x, y))| {
        let near = kept.is_some_and(|(a, b)| (x - a).powi(2) + (y - b).powi(2) < apart * apart);
        if near && i != last {
            return None;
        }
        kept = Some((x, y));
        Some(Coord { x, y })
    })
}

/// A line as the data of an SVG path; empty for fewer than two points.
pub(super) fn path(points: &[(f64, f64)]) -> String {
    let mut out = String::new();
    if points.len() < 2 {
        return out;
    }
    for (i, (x, y)) in points.iter().enumerate() {
        let command = if i == 0 { 'M' } else { 'L' };
        // Writing to a string can't fail.
        let _ = write!(out, "{command}{} {}", n(*x), n(*y));
    }
    out
}

/// The area between a line and a level below it.
pub(super) fn area(points: &[(f64, f64)], base_y: f64) -> String {
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return String::new();
    };
    let mut out = path(points);
    if !out.is_empty() {
        let _ = write!(out, "V{}H{}Z", n(base_y), n(first.0.min(last.0)));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_on_a_straight_line_are_left_out_and_corners_kept() {
        let points = [(0.0, 0.0), (1.0, 0.1), (2.0, 0.0), (2.0, 5.0)];
        assert_eq!(
            simplified(&points, TOLERANCE),
            [(0.0, 0.0), (2.0, 0.0), (2.0, 5.0)]
        );
    }

    #[test]
    fn a_path_has_a_tenth_of_a_unit() {
        assert_eq!(path(&[(0.0, 1.26), (10.0, 2.0)]), "M0 1.3L10 2");
        assert_eq!(area(&[(0.0, 1.0), (10.0, 2.0)], 20.0), "M0 1L10 2V20H0Z");
        assert_eq!(path(&[(0.0, 1.0)]), "");
    }
}
