//! Positions that stand for no position, and positions told twice.

use super::line::{Count, Line, Note};
use crate::route::{LatLon, step_m};

/// Fixes within this of 0° N 0° E, in degrees, are what a receiver writes before it knows where it is.
const ZERO_DEG: f64 = 1e-6;
/// Unless the ride itself comes this near to that place.
const ZERO_NEAR_M: f64 = 100_000.0;
/// Points nearer than this are the same place: a tenth of the last digit that any recorder writes.
const SAME_M: f64 = 0.001;

/// Drops fixes at 0, 0 if no other is near there.
pub(super) fn drop_zeros(line: &mut Line) -> Option<Note> {
    let zero = LatLon {
        lat_deg: 0.0,
        lon_deg: 0.0,
    };
    let is_zero: Vec<bool> = line
        .points
        .iter()
        .map(|point| point.lat_deg.abs() < ZERO_DEG && point.lon_deg.abs() < ZERO_DEG)
        .collect();
    let mut found = Count::default();
    for (i, _) in is_zero.iter().enumerate().filter(|(_, is_zero)| **is_zero) {
        found.see(1, line.origin[i]);
    }
    let others = line
        .points
        .iter()
        .zip(&is_zero)
        .filter(|(_, is_zero)| !**is_zero);
    let mut nearest_m = f64::INFINITY;
    for (point, _) in others.filter(|_| found.count > 0) {
        nearest_m = nearest_m.min(step_m(zero, point));
    }
    // Infinite where there is no other point.
    if found.count == 0 || !nearest_m.is_finite() || nearest_m < ZERO_NEAR_M {
        return None;
    }
    line.keep(&is_zero.iter().map(|is_zero| !is_zero).collect::<Vec<_>>());
    found.note(
        "point",
        "points",
        "at latitude 0, longitude 0, far from all others, left out",
    )
}

/// Points that were merged into the one before.
#[derive(Debug, Default)]
pub(super) struct Repeats(Count);

impl Repeats {
    pub(super) fn add(&mut self, other: Self) {
        if let Some(first) = other.0.first {
            self.0.see(other.0.count, first);
        }
    }

    pub(super) fn note(self) -> Option<Note> {
        self.0.note(
            "point",
            "points",
            "in the same place as the one before merged with it",
        )
    }
}

/// Merges each point with the one before if they are in the same place. The first keeps its values (its time is that of
/// arrival); what it lacks is taken from the later ones.
pub(super) fn merge_repeats(line: &mut Line) -> Repeats {
    let mut kept = vec![true; line.points.len()];
    let mut repeats = Count::default();
    let mut last = 0;
    for (i, kept) in kept.iter_mut().enumerate().skip(1) {
        if line.between_m(last, i) > SAME_M {
            last = i;
            continue;
        }
        *kept = false;
        repeats.see(1, line.origin[i]);
        let later = line.points[i];
        let first = &mut line.points[last];
        first.elevation_m = first.elevation_m.or(later.elevation_m);
        first.time_s = first.time_s.or(later.time_s);
        // The segment's start lies in the same place: the line goes on without a jump.
        line.opens[i] = false;
    }
    if repeats.count > 0 {
        line.keep(&kept);
    }
    Repeats(repeats)
}
