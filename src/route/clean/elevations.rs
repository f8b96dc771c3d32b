//! Elevations that are none, and those that no ground has.

use super::frozen;
use super::line::{Count, Note, median};
use crate::route::RawPoint;
use crate::route::faults::counted;

/// No road lies lower (the Dead Sea's shore is at -430 m) or higher (Umling La, 5800 m; summits end at 8849 m).
const LOWEST_M: f64 = -500.0;
const HIGHEST_M: f64 = 9000.0;
/// A value is a spike if it lies this far above or below the medians of both its sides,
const SPIKE_M: f64 = 25.0;
/// beyond what a grade of 40 % makes over the distance; no paved road is steeper (the steepest have some 35 %),
const SPIKE_GRADE: f64 = 0.4;
/// and this many times the usual step there, so that a path in steep rock, or an elevation that wanders anyhow, is kept.
const SPIKE_STEPS: f64 = 4.0;
/// Values on each side: with the value itself, nine.
const SIDE: usize = 4;
/// At the ends there is one side only, and twice as much must speak against a value.
const END_FACTOR: f64 = 2.0;

/// Takes unusable elevations out, and tells how many are missing.
pub(super) fn clean(points: &mut [RawPoint], distances_m: &[f64], origin: &[usize]) -> Vec<Note> {
    let mut notes = Vec::new();
    let no_elevation = Note {
        text: "it has no elevations: give elevation tiles".into(),
        first: None,
    };
    let missing = take_missing(points, origin);
    if missing.count == points.len() {
        return vec![no_elevation];
    }
    if points.iter().all(|point| {
        point
            .elevation_m
            .is_none_or(|elevation_m| elevation_m == 0.0)
    }) {
        points.iter_mut().for_each(|point| point.elevation_m = None);
        return vec![Note {
            text: "all elevations are 0, which says nothing: give elevation tiles".into(),
            first: None,
        }];
    }
    let share = format!(
        "of {} without an elevation; the ground between the others is assumed there",
        points.len()
    );
    notes.extend(missing.note("point", "points", &share));
    let impossible = drop_where(points, origin, |elevation_m| {
        !(LOWEST_M..=HIGHEST_M).contains(&elevation_m)
    });
    notes.extend(impossible.note(
        "elevation",
        "elevations",
        "below -500 m or above 9000 m left out",
    ));
    notes.extend(drop_zero_runs(points, distances_m, origin));
    notes.extend(frozen::drop_frozen(points, distances_m, origin));
    notes.extend(drop_spikes(points, distances_m, origin));
    if points.iter().all(|point| point.elevation_m.is_none()) {
        notes.push(no_elevation);
    }
    notes
}

fn take_missing(points: &[RawPoint], origin: &[usize]) -> Count {
    let mut missing = Count::default();
    for (point, origin) in points
        .iter()
        .zip(origin)
        .filter(|(point, _)| point.elevation_m.is_none())
    {
        missing.see(usize::from(point.elevation_m.is_none()), *origin);
    }
    missing
}

fn drop_where(points: &mut [RawPoint], origin: &[usize], is_bad: impl Fn(f64) -> bool) -> Count {
    let mut dropped = Count::default();
    for (point, origin) in points.iter_mut().zip(origin) {
        if point.elevation_m.is_some_and(&is_bad) {
            point.elevation_m = None;
            dropped.see(1, *origin);
        }
    }
    dropped
}

/// Whether two elevations are farther apart than the distance between them allows.
pub(super) fn is_cliff(rise_m: f64, along_m: f64, factor: f64) -> bool {
    rise_m.abs() > factor * (SPIKE_M + SPIKE_GRADE * along_m)
}

/// A row of exact zeros with a cliff at each end is what a device writes when it knows no elevation.
fn drop_zero_runs(points: &mut [RawPoint], distances_m: &[f64], origin: &[usize]) -> Option<Note> {
    let known: Vec<usize> = (0..points.len())
        .filter(|i| points[*i].elevation_m.is_some())
        .collect();
    let elevation = |points: &[RawPoint], k: usize| points[known[k]].elevation_m.unwrap_or(0.0);
    let mut dropped = Count::default();
    let mut k = 0;
    while k < known.len() {
        if elevation(points, k) != 0.0 {
            k += 1;
            continue;
        }
        let end = (k..known.len())
            .find(|j| elevation(points, *j) != 0.0)
            .unwrap_or(known.len());
        let cliff = |inside: usize, outside: usize| {
            let along_m = (distances_m[known[outside]] - distances_m[known[inside]]).abs();
            is_cliff(elevation(points, outside), along_m, 1.0)
        };
        let starts = k == 0 || cliff(k, k - 1);
        let ends = end == known.len() || cliff(end - 1, end);
        if starts && ends {
            for i in &known[k..end] {
                points[*i].elevation_m = None;
                dropped.see(1, origin[*i]);
            }
        }
        k = end;
    }
    dropped.note(
        "elevation",
        "elevations",
        "of exactly 0 amid high ground left out",
    )
}

fn drop_spikes(points: &mut [RawPoint], distances_m: &[f64], origin: &[usize]) -> Option<Note> {
    let known: Vec<usize> = (0..points.len())
        .filter(|i| points[*i].elevation_m.is_some())
        .collect();
    let profile: Vec<(f64, f64)> = known
        .iter()
        .map(|i| (distances_m[*i], points[*i].elevation_m.unwrap_or_default()))
        .collect();
    let mut dropped = Count::default();
    for (k, i) in known.iter().enumerate() {
        if is_spike(&profile, k) {
            points[*i].elevation_m = None;
            dropped.see(1, origin[*i]);
        }
    }
    let text = format!(
        "{} far above or below the ground on both sides left out",
        counted(dropped.count, "elevation", "elevations")
    );
    (dropped.count > 0).then_some(Note {
        text,
        first: dropped.first,
    })
}

/// `profile` is distance and elevation.
fn is_spike(profile: &[(f64, f64)], k: usize) -> bool {
    let (along_m, elevation_m) = profile[k];
    let before = &profile[k.saturating_sub(SIDE)..k];
    let after = &profile[k + 1..(k + 1 + SIDE).min(profile.len())];
    // Nearly every value ends here; what follows would say the same.
    if before
        .iter()
        .chain(after)
        .all(|(_, side_m)| (side_m - elevation_m).abs() <= SPIKE_M)
    {
        return false;
    }
    let factor = if before.len() < 2 || after.len() < 2 {
        END_FACTOR
    } else {
        1.0
    };
    // How far the value lies from a side's median: nothing if a slope can explain it, or if there is no such side.
    let off = |side: &[(f64, f64)]| {
        let middle_m = median(side.iter().map(|(_, elevation_m)| *elevation_m).collect())?;
        let reach_m = side
            .iter()
            .map(|(side_m, _)| (side_m - along_m).abs())
            .fold(0.0, f64::max);
        let off_m = elevation_m - middle_m;
        Some(if is_cliff(off_m, reach_m, factor) {
            off_m
        } else {
            0.0
        })
    };
    let sides: Vec<f64> = [before, after]
        .into_iter()
        .filter(|side| side.len() >= 2)
        .filter_map(off)
        .collect();
    let same_way = sides.iter().all(|off_m| *off_m > 0.0) || sides.iter().all(|off_m| *off_m < 0.0);
    let Some(least_m) = sides.iter().map(|off_m| off_m.abs()).reduce(f64::min) else {
        return false;
    };
    same_way && least_m > SPIKE_STEPS * usual_step_m(before).max(usual_step_m(after))
}

/// The median change between neighbours of one side.
fn usual_step_m(side: &[(f64, f64)]) -> f64 {
    median(
        side.windows(2)
            .map(|pair| (pair[1].1 - pair[0].1).abs())
            .collect(),
    )
    .unwrap_or(0.0)
}
