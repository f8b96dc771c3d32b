//! A stretch of a route as positions, cut where it crosses the 180th meridian.

use crate::archive::Trace;
use crate::route::{Point, Route};

/// A position: longitude and latitude in degrees, elevation in metres where it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Position {
    pub(super) lon_deg: f64,
    pub(super) lat_deg: f64,
    pub(super) elevation_m: Option<f64>,
}

impl From<&Point> for Position {
    fn from(point: &Point) -> Self {
        Position {
            lon_deg: point.lon_deg,
            lat_deg: point.lat_deg,
            elevation_m: point.elevation_m,
        }
    }
}

/// The line of a climb.
pub(super) fn of_trace(trace: &Trace) -> Vec<Position> {
    let nodes = trace.nodes().map(|node| Position {
        lon_deg: rounded(node.place.lon_deg),
        lat_deg: rounded(node.place.lat_deg),
        elevation_m: Some(crate::output::rounded(node.elevation_m, 2)),
    });
    nodes.collect()
}

/// The route between two distances (metres), with its own points and interpolated ends.
pub(super) fn between(route: &Route, from_m: f64, to_m: f64) -> Vec<Position> {
    let inside = route
        .points
        .iter()
        .filter(|p| p.distance_m > from_m && p.distance_m < to_m);
    std::iter::once(at(route, from_m))
        .chain(inside.map(Position::from))
        .chain(std::iter::once(at(route, to_m)))
        .collect()
}

fn at(route: &Route, distance_m: f64) -> Position {
    let points = &route.points;
    let next = points
        .partition_point(|p| p.distance_m < distance_m)
        .clamp(1, points.len() - 1);
    let (a, b) = (&points[next - 1], &points[next]);
    let share = ((distance_m - a.distance_m) / (b.distance_m - a.distance_m)).clamp(0.0, 1.0);
    let between = |x: f64, y: f64| x + share * (y - x);
    let east = shorter_way_deg(b.lon_deg - a.lon_deg);
    Position {
        lon_deg: rounded(shorter_way_deg(a.lon_deg + share * east)),
        lat_deg: rounded(between(a.lat_deg, b.lat_deg)),
        elevation_m: a
            .elevation_m
            .zip(b.elevation_m)
            .map(|(x, y)| crate::output::rounded(between(x, y), 2)),
    }
}

/// To a hundredth of a metre.
fn rounded(degrees: f64) -> f64 {
    crate::output::rounded(degrees, 7)
}

fn shorter_way_deg(step: f64) -> f64 {
    (step + 180.0).rem_euclid(360.0) - 180.0
}

/// Parts that don't cross the 180th meridian (RFC 7946, 3.1.9), each with at least two positions.
pub(super) fn parts(line: &[Position]) -> Vec<Vec<Position>> {
    let mut parts = vec![Vec::new()];
    for (i, position) in line.iter().enumerate() {
        let before = i.checked_sub(1).map(|b| line[b]);
        if let Some(before) = before.filter(|b| (b.lon_deg - position.lon_deg).abs() > 180.0) {
            let border = 180f64.copysign(before.lon_deg);
            let step = shorter_way_deg(position.lon_deg - before.lon_deg);
            let share = ((border - before.lon_deg) / step).clamp(0.0, 1.0);
            let between = |x: f64, y: f64| x + share * (y - x);
            let crossing = |lon_deg: f64| Position {
                lon_deg,
                lat_deg: rounded(between(before.lat_deg, position.lat_deg)),
                elevation_m: before
                    .elevation_m
                    .zip(position.elevation_m)
                    .map(|(x, y)| crate::output::rounded(between(x, y), 2)),
            };
            if let Some(part) = parts.last_mut() {
                part.push(crossing(border));
            }
            parts.push(vec![crossing(-border)]);
        }
        if let Some(part) = parts.last_mut() {
            part.push(*position);
        }
    }
    parts
}

/// West, south, east and north of positions in degrees; west is greater than east where they lie across the 180th meridian
/// (RFC 7946, 5.2).
pub(super) fn bounds(line: &[Position]) -> [f64; 4] {
    let first = line.first().map_or(0.0, |p| p.lon_deg);
    let mut east_of_first = (0.0_f64, 0.0_f64);
    let mut lats = (f64::INFINITY, f64::NEG_INFINITY);
    for p in line {
        let east = shorter_way_deg(p.lon_deg - first);
        east_of_first = (east_of_first.0.min(east), east_of_first.1.max(east));
        lats = (lats.0.min(p.lat_deg), lats.1.max(p.lat_deg));
    }
    let lon = |east: f64| rounded(shorter_way_deg(first + east));
    [lon(east_of_first.0), lats.0, lon(east_of_first.1), lats.1]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn position(lon_deg: f64, lat_deg: f64) -> Position {
        Position {
            lon_deg,
            lat_deg,
            elevation_m: None,
        }
    }

    #[test]
    fn a_line_across_the_180th_meridian_is_cut_there() {
        let line = [position(179.9, 10.0), position(-179.9, 10.2)];
        let parts = parts(&line);
        assert_eq!(parts.len(), 2);
        assert_eq!(parts[0][1], position(180.0, 10.1));
        assert_eq!(parts[1][0], position(-180.0, 10.1));
        assert_eq!(bounds(&line), [179.9, 10.0, -179.9, 10.2]);
    }

    #[test]
    fn a_line_elsewhere_stays_whole() {
        let line = [position(7.0, 45.0), position(6.9, 45.1)];
        assert_eq!(parts(&line), [line.to_vec()]);
        assert_eq!(bounds(&line), [6.9, 45.0, 7.0, 45.1]);
    }
}
