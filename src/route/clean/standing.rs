//! Jitter while standing still: a receiver that does not move draws a knot.

use super::line::{Count, Line, Note};
use crate::route::is_within_m;

/// Within this distance of where the rider stopped, about twice the usual error of a satellite fix under open sky.
const RADIUS_M: f64 = 10.0;
/// For at least this long. Even a rider pushing a bike uphill at 2 km/h leaves the circle before.
const LEAST_S: f64 = 30.0;
/// A knot's way is at least this many times what it gets ahead. Someone slow but moving has a way hardly longer than that.
const LEAST_DETOUR: f64 = 2.0;
/// Fixes of a knot, the first among them.
const LEAST_FIXES: usize = 3;

/// Drops all fixes of a stop but the first. Nothing happens where there are no times.
pub(super) fn drop_jitter(line: &mut Line) -> Option<Note> {
    let count = line.points.len();
    let mut kept = vec![true; count];
    let mut dropped = Count::default();
    let mut stops = 0_usize;
    let mut at = 0;
    // The first point that is late enough after `at`; it only ever moves on.
    let mut late = 0;
    while at < count {
        let Some(start_s) = line.points[at].time_s else {
            at += 1;
            continue;
        };
        while late < count
            && line.points[late]
                .time_s
                .is_none_or(|time_s| time_s < start_s + LEAST_S)
        {
            late += 1;
        }
        if late == count {
            break;
        }
        if !is_within_m(&line.points[at], &line.points[late], RADIUS_M) {
            at += 1;
            continue;
        }
        let outside = (at + 1..count)
            .find(|i| line.between_m(at, *i) > RADIUS_M)
            .unwrap_or(count);
        if outside <= late {
            // Half of what was looked at is skipped, so that no point is looked at more than a few times.
            at += ((outside - at) / 2).max(1);
            continue;
        }
        if outside - at >= LEAST_FIXES && is_knot(line, at, outside) {
            kept[at + 1..outside].fill(false);
            dropped.see(outside - at - 1, line.origin[at]);
            stops += 1;
        }
        at = outside;
    }
    if dropped.count > 0 {
        line.keep(&kept);
    }
    let then = format!(
        "recorded while standing still left out, at {stops} stop{}",
        if stops == 1 { "" } else { "s" }
    );
    dropped.note("point", "points", &then)
}

fn is_knot(line: &Line, at: usize, outside: usize) -> bool {
    let way_m: f64 = (at + 1..outside).map(|i| line.between_m(i - 1, i)).sum();
    way_m >= LEAST_DETOUR * line.between_m(at, outside - 1)
}
