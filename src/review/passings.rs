//! When a recording passes a place, and which passing of several a rep was planned for.
//!
//! Where places repeat, by rounds of a loop or by turning round, the place alone does not tell which rep is which. Both sides
//! are counted alike: how often the start is passed the way the rep goes, in the plan and in the recording.

use super::planned::PlannedPlace;
use super::seconds::Seconds;
use crate::route::{LatLon, step_m};

/// A recording passes a place within this, in metres: a receiver's error, and the other side of a wide road.
pub const PASSES_M: f64 = 60.0;
/// The way that a rep goes is told by a place so far on, in metres, or halfway to its end.
const AHEAD_M: f64 = 300.0;
/// Of a shorter rep it can't be told, in metres: places so near are passed together.
const LEAST_LENGTH_M: f64 = 4.0 * PASSES_M;

/// A passing of a place: the second of the nearest approach, and the last one within [`PASSES_M`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Visit {
    nearest: usize,
    left: usize,
}

/// Metres from a second of the recording to a place.
pub fn apart_m(seconds: &Seconds, second: usize, place: LatLon) -> f64 {
    step_m(place_at(seconds, second), place)
}

fn place_at(seconds: &Seconds, second: usize) -> LatLon {
    let second = second.min(seconds.count() - 1);
    LatLon {
        lat_deg: seconds.lat_deg[second],
        lon_deg: seconds.lon_deg[second],
    }
}

/// Metres from a second of the recording to the planned start of a rep: along the road to the nearest passing, or in a straight line
/// where there is none.
pub fn start_apart_m(seconds: &Seconds, second: usize, place: &PlannedPlace) -> f64 {
    let along_m = |at: &usize| (seconds.distance_m[*at] - seconds.distance_m[second]).abs();
    let passed = passings(seconds, place);
    let nearest_m = passed.iter().map(along_m).min_by(f64::total_cmp);
    nearest_m.unwrap_or_else(|| apart_m(seconds, second, place.start))
}

/// Whether the recording passes a place at all.
pub fn passes(seconds: &Seconds, place: LatLon) -> bool {
    visit(seconds, place, 0).is_some()
}

/// The seconds at which the recording passes the start of a rep the way that the rep goes; whichever way it goes, where that can't be
/// told: of a short rep, or where the recording nowhere rides the rep's length from that start to its end.
pub fn passings(seconds: &Seconds, place: &PlannedPlace) -> Vec<usize> {
    let starts = visits(seconds, place.start);
    let length_m = place.end_m - place.start_m;
    if starts.len() < 2 || length_m < LEAST_LENGTH_M {
        return starts.iter().map(|v| v.nearest).collect();
    }
    let ahead_m = AHEAD_M.min(0.5 * length_m);
    let at_m = |m: f64| seconds.distance_m.partition_point(|d| *d < m);
    let whole = visits(seconds, place.end).into_iter().find_map(|end| {
        let from_m = seconds.distance_m[end.nearest] - length_m;
        (from_m > 0.0 && apart_m(seconds, at_m(from_m), place.start) <= PASSES_M).then_some(from_m)
    });
    let Some(from_m) = whole else {
        return starts.iter().map(|v| v.nearest).collect();
    };
    let ahead = visits(seconds, place_at(seconds, at_m(from_m + ahead_m)));
    let goes_on = |start: &&Visit| {
        let next = ahead.iter().find(|v| v.nearest >= start.left);
        // Who turns round first comes back past the start, at least as far again as a passing reaches.
        next.is_some_and(|v| {
            let way_m = seconds.distance_m[v.nearest] - seconds.distance_m[start.left];
            way_m <= ahead_m + PASSES_M
        })
    };
    starts.iter().filter(goes_on).map(|v| v.nearest).collect()
}

fn visits(seconds: &Seconds, place: LatLon) -> Vec<Visit> {
    let mut from = 0;
    let next = || {
        let (visit, after) = visit(seconds, place, from)?;
        from = after;
        Some(visit)
    };
    std::iter::from_fn(next).collect()
}

/// The first passing of a place at or after a second, and the second after which the next may begin.
fn visit(seconds: &Seconds, place: LatLon, from: usize) -> Option<(Visit, usize)> {
    let mut best: Option<(Visit, f64)> = None;
    let mut i = from;
    while i < seconds.count() {
        let apart = apart_m(seconds, i, place);
        if apart <= PASSES_M {
            let here = |nearest| Visit { nearest, left: i };
            best = Some(match best {
                Some((visit, least)) if apart >= least => (here(visit.nearest), least),
                _ => (here(i), apart),
            });
        } else if best.is_some() && apart > 2.0 * PASSES_M {
            break;
        }
        // Nobody covers more than 30 m in a second: far away, seconds can be skipped.
        i += if best.is_none() {
            ((apart - PASSES_M) / 30.0).max(1.0) as usize
        } else {
            1
        };
    }
    best.map(|(visit, _)| (visit, i))
}

/// For reps in the order in which they are ridden, as (round of a loop from 1, start, end) along a route of a length, in metres:
/// how often each start is passed along the route by then, its own start counted. Who starts behind the last end has turned round.
pub fn planned_passings(reps: &[(usize, f64, f64)], length_m: f64) -> Vec<usize> {
    let unrolled = |lap: usize, m: f64| lap.saturating_sub(1) as f64 * length_m + m;
    // The ways along the route up to each rep, and in it.
    let mut ways: Vec<[(f64, f64); 2]> = Vec::new();
    let mut at_m = 0.0;
    for (lap, start_m, end_m) in reps {
        let (from_m, to_m) = (unrolled(*lap, *start_m), unrolled(*lap, *end_m));
        ways.push([(at_m, from_m), (from_m, to_m)]);
        at_m = to_m;
    }
    let passed = |(from_m, to_m): (f64, f64), place_m: f64| {
        let rounds = |m: f64| ((m - place_m) / length_m.max(1.0)).floor();
        (rounds(to_m) - rounds(from_m)).max(0.0) as usize
    };
    let count = |i: usize| {
        // A start a little before is a passing of this one too.
        let place_m = reps[i].1 + PASSES_M;
        let before = ways[..i].iter().flatten().chain(&ways[i][..1]);
        1 + before.map(|way| passed(*way, place_m)).sum::<usize>()
    };
    (0..reps.len()).map(count).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A road to the north ridden a metre at a time from turn to turn, as distances from its beginning.
    fn ridden(turns_m: &[f64]) -> Seconds {
        let mut seconds = Seconds::default();
        let mut along_m = 0.0;
        for pair in turns_m.windows(2) {
            let steps = (pair[1] - pair[0]).abs() as usize;
            for k in 0..steps {
                let at_m = pair[0] + (pair[1] - pair[0]) * k as f64 / steps as f64;
                seconds.lat_deg.push(lat(at_m));
                seconds.lon_deg.push(7.0);
                seconds.distance_m.push(along_m);
                along_m += 1.0;
            }
        }
        seconds
    }

    fn lat(at_m: f64) -> f64 {
        45.0 + at_m / 111_132.0
    }

    fn hill(start_m: f64, end_m: f64) -> PlannedPlace {
        let place = |m| LatLon {
            lat_deg: lat(m),
            lon_deg: 7.0,
        };
        PlannedPlace {
            start: place(start_m),
            end: place(end_m),
            start_m,
            end_m,
            end_if_fast_m: end_m,
            passing: 1,
            gear: (34, 21, None),
            aim_rpm: 55.0,
            power_w: 200.0,
        }
    }

    fn near(found: &[usize], expected: &[usize]) -> bool {
        let pairs = found.iter().zip(expected);
        found.len() == expected.len() && pairs.into_iter().all(|(a, b)| a.abs_diff(*b) < 5)
    }

    #[test]
    fn only_ways_up_are_passings_of_a_hill_that_is_ridden_up_and_down() {
        // Up from 1000 to 2000, and past it to the top at 2500: three times, the last time only halfway.
        let road = ridden(&[0.0, 2500.0, 800.0, 2500.0, 800.0, 1700.0, 0.0]);
        let found = passings(&road, &hill(1000.0, 2000.0));
        assert!(near(&found, &[1000, 4400, 7800]), "{found:?}");
        // Turned round so near that each passing down is one with the next up.
        let road = ridden(&[0.0, 2000.0, 960.0, 2000.0, 960.0, 2000.0]);
        let found = passings(&road, &hill(1000.0, 2000.0));
        assert_eq!(found.len(), 3, "{found:?}");
    }

    #[test]
    fn a_start_is_as_far_from_the_planned_one_as_the_road_between_is_long() {
        // Over a pass and down the other side to within 150 m of the first place: a hairpin seen from above.
        let mut road = ridden(&[0.0, 2000.0, 1150.0]);
        road.distance_m.iter_mut().for_each(|d| *d *= 1.1);
        let place = hill(1000.0, 2000.0);
        let along_m = start_apart_m(&road, 2840, &place);
        assert!((along_m - 1.1 * 1840.0).abs() < 5.0, "{along_m}");
        let off_road = start_apart_m(&road, 0, &hill(-300.0, 700.0));
        assert!((off_road - 300.0).abs() < 5.0, "{off_road}");
    }

    #[test]
    fn where_no_rep_was_ridden_to_its_end_every_passing_counts() {
        let road = ridden(&[0.0, 1500.0, 0.0]);
        let found = passings(&road, &hill(1000.0, 2000.0));
        assert!(near(&found, &[1000, 2000]), "{found:?}");
    }

    #[test]
    fn a_plan_passes_a_start_once_a_round_and_once_a_turn() {
        let rounds = [(1, 3200.0, 4100.0), (3, 3210.0, 4100.0)];
        assert_eq!(planned_passings(&rounds, 10_000.0), [1, 3]);
        let turns = [
            (1, 3220.0, 4100.0),
            (1, 3210.0, 4100.0),
            (1, 3210.0, 4100.0),
        ];
        assert_eq!(planned_passings(&turns, 10_000.0), [1, 2, 3]);
        // The second rep starts halfway up the first; the third lies farther on.
        let halfway = [
            (1, 3000.0, 4000.0),
            (1, 3500.0, 4500.0),
            (1, 6000.0, 7000.0),
        ];
        assert_eq!(planned_passings(&halfway, 10_000.0), [1, 2, 1]);
    }
}
