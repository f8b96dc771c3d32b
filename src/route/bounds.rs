//! How much one file may hold, whatever its size, so that a small one can't ask for all the memory there is.

use super::RouteError;

/// A file may hold a point for so many bytes of the largest that is read. A recording has a hundred for each, a drawn route forty: only files
/// made for it have so few that this is what stops them.
const BYTES_A_POINT: u64 = 64;
/// A track, a route or an object of JSON takes so many times the memory of a point.
pub(super) const POINTS_A_LINE: usize = 10;
/// And so many metres of road for each mebibyte of the largest that is read: at one point a second that is a third of what it could hold.
const ROAD_M_A_MIB: f64 = 20_000.0;
/// But never less than one route may be long, in metres.
const LEAST_ROAD_M: f64 = 4e6;

/// The most that one file may hold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Points, a track, a route or an object of JSON counting as ten.
    pub points: usize,
    /// Road of all its routes together, in metres.
    pub road_m: f64,
}

impl Bounds {
    /// The bounds that go with the largest file that is read, in bytes: with 2 GiB, 33,554,432 points and 40,960 km.
    pub fn of(input_bytes: u64) -> Bounds {
        Bounds {
            points: usize::try_from(input_bytes / BYTES_A_POINT).unwrap_or(usize::MAX),
            road_m: (ROAD_M_A_MIB * input_bytes as f64 / f64::from(1 << 20)).max(LEAST_ROAD_M),
        }
    }

    /// Refuses what is more than these many.
    pub(super) fn hold(&self, points: usize, lines: usize) -> Result<(), RouteError> {
        if self.have_room(points, lines) {
            return Ok(());
        }
        Err(RouteError::TooManyPoints { most: self.points })
    }

    /// Refuses more road than this, in metres.
    pub(crate) fn hold_road(&self, road_m: f64) -> Result<(), RouteError> {
        if road_m <= self.road_m {
            return Ok(());
        }
        let most_km = (self.road_m / 1000.0) as u64;
        Err(RouteError::TooMuchRoad { most_km })
    }

    fn have_room(&self, points: usize, lines: usize) -> bool {
        points.saturating_add(lines.saturating_mul(POINTS_A_LINE)) <= self.points
    }

    /// Refuses elements that lie in each other deeper than there may be points.
    pub(super) fn hold_depth(&self, depth: usize) -> Result<(), RouteError> {
        if depth <= self.points {
            return Ok(());
        }
        Err(RouteError::TooDeep { most: self.points })
    }
}

impl Default for Bounds {
    /// Those that go with [`Limits::default`](crate::files::Limits::default).
    fn default() -> Self {
        Bounds::of(crate::files::Limits::default().input_bytes)
    }
}
