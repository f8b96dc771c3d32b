//! Fixes far off the line: out and back again, as nobody rides.

use std::cell::LazyCell;
use std::ops::Deref;

use super::line::{Count, Line, Note, median};

/// No rider goes faster (108 km/h), so a step that needs more is wrong.
const IMPOSSIBLE_M_S: f64 = 30.0;
/// Nobody turns on the spot at this speed (36 km/h), so a needle of the track ridden that fast is wrong.
const NO_TURN_M_S: f64 = 10.0;
/// Shorter spikes are left: they are no larger than the ordinary error of a satellite fix between houses, and a road with
/// hairpins has legs of such lengths.
const LEAST_SPIKE_M: f64 = 30.0;
/// At most this many fixes in a row are taken for one spike: a receiver that is lost for longer has left a hole.
const LONGEST_RUN: usize = 10;
/// A needle's legs are at least this long, and this many times the typical step; where there are no times or they allow
/// it, that is what tells it from a hairpin or the end of a road.
const NEEDLE_M: f64 = 100.0;
const NEEDLE_STEPS: f64 = 10.0;
/// The two ends of a needle are at most this share of a leg apart.
const NEEDLE_WIDTH_SHARE: f64 = 0.25;
/// A way out and back along the same road ends where it began, to the metre; then only far longer legs are a needle.
const RETRACED_M: f64 = 2.0;
const RETRACED_NEEDLE_M: f64 = 500.0;
const RETRACED_NEEDLE_STEPS: f64 = 30.0;
/// Out and back again is a stray fix if it makes the way so many times as long, and both legs are ridden so many times as fast
/// as the steps around, and by so much more in metres a second: round a hairpin or a turning place nobody speeds up.
const DETOUR: f64 = 2.5;
/// See [`DETOUR`].
const OUT_OF_PACE: f64 = 2.5;
/// See [`DETOUR`].
const OUT_OF_PACE_M_S: f64 = 2.0;
/// Steps on each side whose median speed is the pace.
const PACE_STEPS: usize = 5;
/// On a mountain road the ends of a hairpin differ in elevation: by more than this share of the way between them, over
/// some error, it is a road. The ends of a needle are two neighbouring fixes on one.
const HAIRPIN_GRADE: f64 = 0.2;
const HAIRPIN_M: f64 = 3.0;

/// Drops spikes of up to ten fixes inside a segment, and a first or last fix that lies impossibly far from the others.
pub(super) fn drop_spikes(line: &mut Line) -> Option<Note> {
    let count = line.points.len();
    if count < 3 {
        return None;
    }
    // Hardly any recording has a step that asks for it.
    let typical_m = LazyCell::new(|| line.typical_step_m());
    let mut kept = vec![true; count];
    let mut spikes = Count::default();
    let mut at = 0;
    if is_far_end(line, 0, 1, 2) && !line.opens[1] {
        kept[0] = false;
        spikes.see(1, line.origin[0]);
        at = 1;
    }
    while at + 2 < count {
        match end_of_spike(line, at, &typical_m) {
            Some(after) => {
                kept[at + 1..after].fill(false);
                spikes.see(after - at - 1, line.origin[at + 1]);
                at = after;
            }
            None => at += 1,
        }
    }
    if count > 3
        && is_far_end(line, count - 1, count - 2, count - 3)
        && !line.opens[count - 1]
        && kept[count - 2]
        && kept[count - 3]
    {
        kept[count - 1] = false;
        spikes.see(1, line.origin[count - 1]);
    }
    if spikes.count > 0 {
        line.keep(&kept);
    }
    spikes.note(
        "point",
        "points",
        "far off the line (out and back faster or sharper than anyone rides) left out",
    )
}

/// The first point after a spike that begins right after `at`.
fn end_of_spike(line: &Line, at: usize, typical_m: &impl Deref<Target = f64>) -> Option<usize> {
    let out_m = line.between_m(at, at + 1);
    if out_m < LEAST_SPIKE_M || line.opens[at + 1] {
        return None;
    }
    let last = (at + 1 + LONGEST_RUN).min(line.points.len() - 1);
    let inside = (at + 2..=last).take_while(|after| !line.opens[*after]);
    let mut ends = inside.filter(|after| line.between_m(after - 1, *after) >= LEAST_SPIKE_M);
    ends.find(|after| {
        is_impossible(line, at, *after)
            || (*after == at + 2 && (is_needle(line, at, typical_m) || is_out_of_pace(line, at)))
    })
}

/// Out and back faster than anyone rides, between two points that are near enough to ride.
fn is_impossible(line: &Line, at: usize, after: usize) -> bool {
    let (Some(out), Some(back), Some(past)) = (
        line.speed_m_s(at, at + 1),
        line.speed_m_s(after - 1, after),
        line.speed_m_s(at, after),
    ) else {
        return false;
    };
    let past_m = line.between_m(at, after);
    out > IMPOSSIBLE_M_S
        && back > IMPOSSIBLE_M_S
        && past <= IMPOSSIBLE_M_S
        && past_m
            < line
                .between_m(at, at + 1)
                .min(line.between_m(after - 1, after))
}

/// One point out and back again at a multiple of the pace around it, between two that are near one another: what a stray fix
/// looks like in a recording with some seconds between points, where no step is impossibly fast.
fn is_out_of_pace(line: &Line, at: usize) -> bool {
    let [a, b, c] = [at, at + 1, at + 2];
    let detour_m = line.between_m(a, b) + line.between_m(b, c);
    if detour_m < DETOUR * line.between_m(a, c) {
        return false;
    }
    let before = at.saturating_sub(PACE_STEPS)..at;
    let after = c..(c + PACE_STEPS).min(line.points.len() - 1);
    let around = before.chain(after).filter(|i| !line.opens[i + 1]);
    let Some(pace) = median(around.filter_map(|i| line.speed_m_s(i, i + 1)).collect()) else {
        return false;
    };
    let least = OUT_OF_PACE * pace + OUT_OF_PACE_M_S;
    [(a, b), (b, c)].iter().all(|(from, to)| {
        line.speed_m_s(*from, *to)
            .is_some_and(|speed| speed > least)
    })
}

/// One point far out between two that are near one another.
fn is_needle(line: &Line, at: usize, typical_m: &impl Deref<Target = f64>) -> bool {
    let [a, b, c] = [at, at + 1, at + 2];
    let leg_m = line.between_m(a, b).min(line.between_m(b, c));
    let width_m = line.between_m(a, c);
    let least_m = if width_m < RETRACED_M {
        RETRACED_NEEDLE_M.max(RETRACED_NEEDLE_STEPS * **typical_m)
    } else {
        NEEDLE_M.max(NEEDLE_STEPS * **typical_m)
    };
    if leg_m < least_m || width_m > NEEDLE_WIDTH_SHARE * leg_m {
        return false;
    }
    let climbs_between = match (line.points[a].elevation_m, line.points[c].elevation_m) {
        (Some(start_m), Some(end_m)) => {
            (end_m - start_m).abs() > HAIRPIN_M + HAIRPIN_GRADE * width_m
        }
        _ => false,
    };
    let is_slow = [(a, b), (b, c)].iter().any(|(from, to)| {
        line.speed_m_s(*from, *to)
            .is_some_and(|speed| speed < NO_TURN_M_S)
    });
    !climbs_between && !is_slow
}

/// Whether the end point is impossibly far from its neighbour, which itself is near the next.
fn is_far_end(line: &Line, end: usize, next: usize, after: usize) -> bool {
    let speed_m_s = |a: usize, b: usize| line.speed_m_s(a.min(b), a.max(b));
    line.between_m(end, next) > NEEDLE_M
        && !line.opens[next.max(after)]
        && speed_m_s(end, next).is_some_and(|speed| speed > IMPOSSIBLE_M_S)
        && speed_m_s(next, after).is_some_and(|speed| speed <= IMPOSSIBLE_M_S)
}
