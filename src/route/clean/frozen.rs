//! Stretches along which a device wrote one elevation while the road went on.
//!
//! A row of equal elevations was frozen in two cases. Before a cliff, it need only be longer than is usual: the device caught up at
//! once; but after a spike the road is soon where it was before, so the elevation must stay away for some rows. Without a cliff, it must be
//! very long, and the device must make up within a few rows for what it had missed, faster than a road climbs by itself. A device
//! that went on at the level where it stopped missed nothing that anybody could know of; and a canal, a causeway or a dam is as
//! flat as that, in whole metres and in terrain models.

use super::elevations::is_cliff;
use super::line::{Count, Note, median};
use crate::route::RawPoint;

/// A row has at least so many equal elevations.
const FEWEST: usize = 4;
/// Before a cliff it is at least this long, in metres,
const BEFORE_CLIFF_M: f64 = 40.0;
/// and so many times as long as half of the rows in the recording.
const TIMES_BEFORE_CLIFF: f64 = 5.0;
/// So many rows after the cliff the elevation is still as far away.
const STAYS_ROWS: usize = 5;
/// Without a cliff a row is at least this long, in metres,
const LONGEST_M: f64 = 800.0;
/// and so many times as long as half of the rows in the recording.
const TIMES_USUAL: f64 = 30.0;
/// Within so many rows after it the device makes up for what it missed:
const WAKES_ROWS: usize = 3;
/// by a step of at least so many metres,
const WAKES_M: f64 = 3.0;
/// at a grade (rise over run) that no road has,
const WAKES_GRADE: f64 = 0.4;
/// and so many times the usual step between rows.
const WAKES_STEPS: f64 = 4.0;
/// Fewer rows than this say nothing of what is usual.
const FEWEST_ROWS: usize = 50;

/// Equal elevations in a row: indices of the first and the last point, and how far the row reaches.
struct Row {
    first: usize,
    last: usize,
    count: usize,
    length_m: f64,
    elevation_m: f64,
}

/// Drops all of a frozen row but its first elevation, so that the road goes straight to where the device woke up. A row that ends the
/// recording is kept: nothing says that it was frozen, and without it the road would go on as steep as it was before.
pub(super) fn drop_frozen(
    points: &mut [RawPoint],
    distances_m: &[f64],
    origin: &[usize],
) -> Option<Note> {
    let rows = rows(points, distances_m);
    let usual_m = median(rows.iter().map(|row| row.length_m).collect())?;
    let steps = rows
        .windows(2)
        .map(|pair| pair[1].elevation_m - pair[0].elevation_m);
    let usual_step_m = median(steps.map(f64::abs).collect()).unwrap_or(0.0);
    let mut dropped = Count::default();
    let mut length_m = 0.0;
    for (k, row) in rows.iter().enumerate() {
        let rise_m = |to: &Row| to.elevation_m - row.elevation_m;
        let along_m = |to: &Row| distances_m[to.first] - distances_m[row.last];
        // Whether the road stays where a later row is: after a spike it doesn't.
        let stays = |j: usize| {
            let later = rows.get(j..j + STAYS_ROWS);
            later.is_some_and(|later| later.iter().all(|r| rise_m(r) / rise_m(&rows[j]) > 0.5))
        };
        let catches_up = k > 0
            && rows
                .get(k + 1)
                .is_some_and(|next| is_cliff(rise_m(next), along_m(next), 1.0) && stays(k + 1));
        let makes_up = || {
            (k + 1..rows.len().min(k + 1 + WAKES_ROWS)).any(|j| {
                let by_itself_m = (WAKES_M + WAKES_GRADE * along_m(&rows[j]))
                    .max(WAKES_STEPS * usual_step_m * (j - k) as f64);
                rise_m(&rows[j]).abs() > by_itself_m && stays(j)
            })
        };
        let sleeps_m = distances_m[row.last] - distances_m[row.first];
        let frozen = if catches_up {
            sleeps_m >= BEFORE_CLIFF_M.max(TIMES_BEFORE_CLIFF * usual_m)
        } else {
            rows.len() >= FEWEST_ROWS
                && sleeps_m >= LONGEST_M.max(TIMES_USUAL * usual_m)
                && makes_up()
        };
        let ends_it = k + 1 == rows.len();
        if row.count < FEWEST || !frozen || ends_it {
            continue;
        }
        for i in row.first + 1..=row.last {
            let point = &mut points[i];
            dropped.see(usize::from(point.elevation_m.take().is_some()), origin[i]);
        }
        length_m += sleeps_m;
    }
    let then = format!(
        "that did not change over {length_m:.0} m of road, and then jumped, left out: the device was frozen"
    );
    dropped.note("elevation", "elevations", &then)
}

fn rows(points: &[RawPoint], distances_m: &[f64]) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (i, point) in points.iter().enumerate() {
        let Some(elevation_m) = point.elevation_m else {
            continue;
        };
        match rows.last_mut() {
            Some(row) if row.elevation_m == elevation_m => {
                row.last = i;
                row.count += 1;
            }
            last => {
                if let Some(row) = last {
                    row.length_m = distances_m[i] - distances_m[row.first];
                }
                rows.push(Row {
                    first: i,
                    last: i,
                    count: 1,
                    length_m: 0.0,
                    elevation_m,
                });
            }
        }
    }
    rows
}
