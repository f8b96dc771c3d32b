//! A recording becomes a route: what can't be the line that was ridden or drawn is taken out, and told.
//!
//! Every rule looks at a bounded number of neighbours, so the time taken grows with the points alone.

mod elevations;
mod frozen;
mod gaps;
mod line;
mod places;
mod spikes;
mod standing;
mod times;

use super::{LatLon, Point, Recording, Route, RouteError, step_m};
use line::{Line, Note};

/// The end may be this far from the start, or [`LOOP_SHARE`] of the length if that is more, to make a loop: a rider stops
/// at the same gate, not on the same spot.
const LOOP_M: f64 = 50.0;
const LOOP_SHARE: f64 = 0.005;
/// But never farther than this, however long the route.
const LOOP_MOST_M: f64 = 250.0;
/// Shorter routes are no loops: their ends are near one another in any case.
const LOOP_LEAST_LENGTH_M: f64 = 1000.0;

/// Cleans a recording into a route.
///
/// In this order: positions at 0, 0 far from the others, repeated points, times that do not increase, position spikes,
/// jitter while standing still, unusable elevations and elevation spikes; then jumps between segments and holes are
/// measured. Each is told in the route's warnings, with the place of the first in km along the cleaned route.
pub fn clean(recording: Recording, source: &str) -> Result<Route, RouteError> {
    let mut line = Line::new(recording);
    let (repeats, notes) = timed(&mut line);
    shaped(line, repeats, notes, source)
}

/// The same, and for each point of the recording its time, `None` where it has none or where that can't be: a time of the line
/// that was left out, or one that does not lie between those of the line.
pub fn clean_with_times(
    recording: Recording,
    source: &str,
) -> Result<(Route, Vec<Option<f64>>), RouteError> {
    let mut times_s: Vec<Option<f64>> = recording.points.iter().map(|p| p.time_s).collect();
    let mut line = Line::new(recording);
    let (repeats, notes) = timed(&mut line);
    times::keep_between(&mut times_s, &line);
    Ok((shaped(line, repeats, notes, source)?, times_s))
}

/// Takes out what has no place, and times that can't be.
fn timed(line: &mut Line) -> (places::Repeats, Vec<Note>) {
    let mut notes = Vec::from_iter(places::drop_zeros(line));
    let repeats = places::merge_repeats(line);
    notes.extend(times::repair(line));
    (repeats, notes)
}

/// The route of a line whose times are repaired.
fn shaped(
    mut line: Line,
    mut repeats: places::Repeats,
    mut notes: Vec<Note>,
    source: &str,
) -> Result<Route, RouteError> {
    notes.extend(spikes::drop_spikes(&mut line));
    notes.extend(standing::drop_jitter(&mut line));
    // What was taken out may have stood between two fixes of the same place.
    repeats.add(places::merge_repeats(&mut line));
    notes.extend(repeats.note());
    if line.points.len() < 2 {
        return Err(RouteError::TooShort {
            distinct: line.points.len(),
        });
    }
    let distances_m = line.distances_m();
    notes.extend(elevations::clean(
        &mut line.points,
        &distances_m,
        &line.origin,
    ));
    notes.extend(gaps::describe(&line, &distances_m));
    Ok(route(line, distances_m, notes, source))
}

fn route(line: Line, distances_m: Vec<f64>, notes: Vec<Note>, source: &str) -> Route {
    let start_s = line.points.iter().find_map(|point| point.time_s);
    let length_m = distances_m.last().copied().unwrap_or(0.0);
    let is_loop = match (line.points.first(), line.points.last()) {
        (Some(first), Some(last)) => is_loop(first.into(), last.into(), length_m),
        _ => false,
    };
    let told = notes
        .iter()
        .map(|note| note.sentence(&line.origin, &distances_m));
    let warnings = line.warnings.iter().cloned().chain(told).collect();
    let points = line
        .points
        .iter()
        .zip(&distances_m)
        .map(|(point, distance_m)| Point {
            lat_deg: point.lat_deg,
            lon_deg: point.lon_deg,
            distance_m: *distance_m,
            elevation_m: point.elevation_m,
            time_s: point
                .time_s
                .zip(start_s)
                .map(|(time_s, start_s)| time_s - start_s),
        });
    Route {
        source: source.to_owned(),
        name: line.name,
        points: points.collect(),
        sensors: line.sensors,
        started_s: start_s,
        length_m,
        is_loop,
        warnings,
    }
}

fn is_loop(start: LatLon, end: LatLon, length_m: f64) -> bool {
    let near_m = (LOOP_SHARE * length_m).clamp(LOOP_M, LOOP_MOST_M);
    length_m > LOOP_LEAST_LENGTH_M && step_m(start, end) <= near_m
}

#[cfg(test)]
#[path = "tests.rs"]
mod tests;
