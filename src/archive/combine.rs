//! What several routes say of one climb, taken together.

use super::same::{Beside, Line, SharedClimb, SharedHalt, Sighted, Sighting};
use super::trace::{Node, Trace};
use crate::route::LatLon;

/// Halts nearer to each other than this are at one place, in metres: a queue at a light, and the error of a fix.
const HALT_M: f64 = 40.0;

/// The climb that all of a group are.
pub(super) fn combined(group: &[Sighted]) -> SharedClimb {
    let different = different(group);
    let independent = independent(&different);
    let reference = most_central(&independent);
    let own = reference.climb;
    let line = Line::of(&own.trace);
    let together = together(reference, &independent);
    let trace = together.trace;
    let gain_m = gain_m(&trace);
    let length_m = own.climb.length_m();
    let rides: Vec<Sighted> = different
        .iter()
        .filter(|s| s.own.is_timed)
        .copied()
        .collect();
    let is_reference = |s: &Sighted| s.survey == reference.survey && std::ptr::eq(s.climb, own);
    SharedClimb {
        seen: group
            .iter()
            .map(|s| Sighting {
                survey: s.survey,
                climb: s.climb.climb.id,
            })
            .collect(),
        reference: group.iter().position(is_reference).unwrap_or(0),
        routes: count_surveys(&different),
        rides: count_surveys(&rides),
        start: own.start,
        end: own.end,
        length_m,
        gain_m,
        grade_pct: 100.0 * gain_m / trace.length_m().max(trace.spacing_m),
        grade_se_pct: together.grade_se_pct,
        grade_sd_pct: own.climb.grade_sd_pct,
        halts: halts(&rides, &line, &own.trace),
        trace,
    }
}

/// The group without copies: a line that is equal to the digit is the same recording in another file.
fn different<'a>(group: &[Sighted<'a>]) -> Vec<Sighted<'a>> {
    let mut different: Vec<Sighted<'a>> = Vec::new();
    for sighted in group {
        let is_copy = different
            .iter()
            .any(|d| d.survey != sighted.survey && d.climb.trace == sighted.climb.trace);
        if !is_copy {
            different.push(*sighted);
        }
    }
    different
}

/// One sighting for each independent measurement of the ground. Rides with recorded elevations are that, one a route; drawn lines and elevations
/// from tiles may all come from one model of the ground, so the surest of them counts for all.
fn independent<'a>(different: &[Sighted<'a>]) -> Vec<Sighted<'a>> {
    let is_ride = |s: &Sighted| s.own.is_timed && s.own.elevations.are_only_recorded();
    let mut chosen: Vec<Sighted<'a>> = Vec::new();
    for sighted in different.iter().filter(|s| is_ride(s)) {
        if chosen.iter().all(|c| c.survey != sighted.survey) {
            chosen.push(*sighted);
        }
    }
    let models: Vec<Sighted> = different.iter().filter(|s| !is_ride(s)).copied().collect();
    if !models.is_empty() {
        chosen.push(surest(&models));
    }
    chosen
}

/// The sighting whose grade has the smallest error, the first of equals; of none there is never a group.
fn surest<'a>(sighted: &[Sighted<'a>]) -> Sighted<'a> {
    let mut best = sighted[0];
    for s in &sighted[1..] {
        if s.climb.climb.grade_se_pct < best.climb.climb.grade_se_pct {
            best = *s;
        }
    }
    best
}

/// Sightings whose grade errs by no more than this many times the smallest error may be the reference.
const SURE_ENOUGH: f64 = 1.5;

/// Of the surest sightings the one whose ends lie nearest to the median of all ends: an end that one recording has too early or too late
/// falls out.
fn most_central<'a>(sighted: &[Sighted<'a>]) -> Sighted<'a> {
    let surest = surest(sighted);
    let most_pct = SURE_ENOUGH * surest.climb.climb.grade_se_pct;
    let line = Line::of(&surest.climb.trace);
    let ends = |s: &Sighted| {
        [s.climb.start, s.climb.end]
            .map(|end| line.along_m(end.place(), surest.climb.trace.spacing_m))
    };
    let all_ends: Vec<[f64; 2]> = sighted.iter().map(ends).collect();
    let median = |which: usize| {
        let mut all: Vec<f64> = all_ends.iter().map(|ends| ends[which]).collect();
        all.sort_by(f64::total_cmp);
        0.5 * (all[(all.len() - 1) / 2] + all[all.len() / 2])
    };
    let middle = [median(0), median(1)];
    let off_m = |ends: [f64; 2]| (ends[0] - middle[0]).abs() + (ends[1] - middle[1]).abs();
    let (mut best, mut least_m) = (surest, off_m(ends(&surest)));
    for (s, ends) in sighted.iter().zip(all_ends) {
        if s.climb.climb.grade_se_pct <= most_pct && off_m(ends) < least_m {
            (best, least_m) = (*s, off_m(ends));
        }
    }
    best
}

fn count_surveys(sighted: &[Sighted]) -> usize {
    let mut surveys: Vec<usize> = sighted.iter().map(|s| s.survey).collect();
    surveys.dedup();
    surveys.len()
}

fn gain_m(trace: &Trace) -> f64 {
    let mut nodes = trace.nodes().map(|n| n.elevation_m);
    let foot_m = nodes.next().unwrap_or(0.0);
    nodes.last().unwrap_or(foot_m) - foot_m
}

struct Together {
    trace: Trace,
    grade_se_pct: f64,
}

/// A measurement held against the reference.
struct Held {
    weight: f64,
    /// Elevation above the reference's at each of its nodes, in metres; none beyond the ends.
    above_m: Vec<Option<f64>>,
    /// Mean of the above.
    level_m: f64,
    /// Grade above the reference's, in per cent.
    steeper_pct: f64,
}

/// The reference's line with the elevations of all, each weighted by the inverse square of its grade's error. Levels differ by
/// the barometers' drift; they are evened out before shapes are averaged, so that a line that ends early makes no step.
fn together(reference: Sighted, independent: &[Sighted]) -> Together {
    let own = &reference.climb.trace;
    let held: Vec<Held> = independent.iter().map(|s| held(own, s)).collect();
    let weight: f64 = held.iter().map(|h| h.weight).sum();
    if held.len() < 2 {
        return Together {
            trace: own.clone(),
            grade_se_pct: reference.climb.climb.grade_se_pct,
        };
    }
    let level_m = held.iter().map(|h| h.weight * h.level_m).sum::<f64>() / weight;
    let nodes = own.nodes().enumerate().map(|(i, node)| {
        let (mut sum_m, mut weights) = (0.0, 0.0);
        for h in &held {
            if let Some(above_m) = h.above_m[i] {
                sum_m += h.weight * (above_m - h.level_m);
                weights += h.weight;
            }
        }
        Node {
            elevation_m: node.elevation_m + level_m + sum_m / weights,
            ..node
        }
    });
    let trace = Trace::from_nodes(own.spacing_m, nodes);
    let mean_pct = held.iter().map(|h| h.weight * h.steeper_pct).sum::<f64>() / weight;
    let scatter: f64 = held
        .iter()
        .map(|h| h.weight * (h.steeper_pct - mean_pct).powi(2))
        .sum();
    // Where measurements disagree by more than they admit, all of them are less sure than they say (Birge, Phys. Rev. 40,
    // 1932, 207–227).
    let birge = (scatter / (held.len() - 1) as f64).max(1.0).sqrt();
    let surest_pct = surest(independent).climb.climb.grade_se_pct;
    Together {
        trace,
        grade_se_pct: (birge * birge * (1.0 - COMMON_SHARE) / weight
            + COMMON_SHARE * surest_pct.powi(2))
        .sqrt(),
    }
}

/// Share of a grade's variance that no further ride takes away: all find a climb's ends alike, and a bit of the road beyond is in each. Tuned on
/// the truth bench's roads 7100 to 7107 with a barometer, four rides each, where the error falls to 0.71 of one ride's (without it to 0.5 as stated,
/// and the 90 % interval held 76 %).
const COMMON_SHARE: f64 = 1.0 / 3.0;

/// Grades are never surer than this, in per cent, so that no weight is without bound.
const LEAST_SE_PCT: f64 = 0.01;

fn held(reference: &Trace, sighted: &Sighted) -> Held {
    let beside = Line::of(&sighted.climb.trace).beside(reference);
    let above =
        |(node, beside): (Node, &Option<Beside>)| beside.map(|b| b.elevation_m - node.elevation_m);
    let above_m: Vec<Option<f64>> = reference.nodes().zip(&beside).map(above).collect();
    let known: Vec<(usize, f64)> = above_m
        .iter()
        .enumerate()
        .filter_map(|(i, above)| Some((i, (*above)?)))
        .collect();
    let level_m = known.iter().map(|k| k.1).sum::<f64>() / known.len().max(1) as f64;
    let steeper_pct = match (known.first(), known.last()) {
        (Some(first), Some(last)) if last.0 > first.0 => {
            100.0 * (last.1 - first.1) / ((last.0 - first.0) as f64 * reference.spacing_m)
        }
        _ => 0.0,
    };
    let se_pct = sighted.climb.climb.grade_se_pct.max(LEAST_SE_PCT);
    Held {
        weight: se_pct.powi(-2),
        above_m,
        level_m,
        steeper_pct,
    }
}

/// Places where at least two rides halted.
fn halts(rides: &[Sighted], line: &Line, trace: &Trace) -> Vec<SharedHalt> {
    let spacing_m = trace.spacing_m;
    let mut places: Vec<(f64, usize)> = Vec::new();
    for ride in rides {
        for halt in ride.halts() {
            let place = LatLon {
                lat_deg: halt.lat_deg,
                lon_deg: halt.lon_deg,
            };
            places.push((line.nearest_node(place) as f64 * spacing_m, ride.survey));
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    let of = count_surveys(rides);
    places
        .chunk_by(|a, b| b.0 - a.0 <= HALT_M)
        .filter_map(|place| {
            let mut halted: Vec<usize> = place.iter().map(|p| p.1).collect();
            halted.sort_unstable();
            halted.dedup();
            let from_foot_m = place.iter().map(|p| p.0).sum::<f64>() / place.len() as f64;
            let node = trace
                .nodes()
                .nth((from_foot_m / spacing_m).round() as usize)?;
            (halted.len() >= 2).then_some(SharedHalt {
                from_foot_m,
                place: node.place,
                rides: halted.len(),
                of,
            })
        })
        .collect()
}
