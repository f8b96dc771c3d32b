//! Climbs that follow each other with next to nothing lost between them.

use serde::{Deserialize, Serialize};

use super::pieces::Piece;
use super::steady::{Climb, Rule};
use crate::profile::Profile;

/// One way up: everything between two descents, steady or not.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ascent {
    /// Number in route order, from 1.
    pub id: usize,
    /// Where it starts along the route, in metres.
    pub from_m: f64,
    /// Where it ends along the route, in metres.
    pub to_m: f64,
    /// Metres climbed from start to end.
    pub gain_m: f64,
    /// Numbers of the steady climbs on it; none where nothing on it is steady.
    pub climbs: Vec<usize>,
    /// How its grade goes from bottom to top.
    pub shape: Shape,
}

/// How the grade of an ascent goes from bottom to top.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Shape {
    /// One level throughout.
    Even,
    /// Steeper and steeper.
    Steepening,
    /// Gentler and gentler.
    Easing,
    /// Neither.
    Mixed,
}

/// Grades closer than this are one level, in per cent.
const LEVEL_PCT: f64 = 0.7;
/// An ascent's flat parts that still belong to it are at most this long, in metres; after more, a new one starts.
const LONGEST_FLAT_M: f64 = 1000.0;

/// Groups what goes uphill, pieces and climbs alike, into ascents and gives each climb its ascent's number.
///
/// Where the recording is poor, climbs are what most of many roads have, and need not end where pieces of the likeliest one do.
pub fn group(
    profile: &Profile,
    pieces: &[Piece],
    climbs: &mut [Climb],
    rule: &Rule,
) -> Vec<Ascent> {
    let step_m = profile.spacing_m;
    let node = |at_m: f64| (at_m / step_m).round() as usize;
    let uphill = pieces.iter().filter(|p| 100.0 * p.grade >= rule.grade_pct);
    let mut uphill: Vec<(usize, usize)> = uphill.map(|p| (p.from, p.to)).collect();
    uphill.extend(climbs.iter().map(|c| (node(c.from_m), node(c.to_m))));
    uphill.sort_unstable();
    let mut ascents: Vec<Ascent> = Vec::new();
    for (from, to) in joined(profile, &uphill, rule) {
        let (from_m, to_m) = (from as f64 * step_m, to as f64 * step_m);
        let gain_m = profile.elevation_m[to] - profile.elevation_m[from];
        let id = ascents.len() + 1;
        let inside = |c: &&mut Climb| node(c.from_m) >= from && node(c.to_m) <= to;
        let own = climbs.iter_mut().filter(inside).map(|climb| {
            climb.ascent = id;
            climb.id
        });
        let own: Vec<usize> = own.collect();
        let least_gain_m = rule.length_m * rule.grade_pct / 100.0;
        if own.is_empty() && (gain_m < least_gain_m || to_m - from_m < rule.length_m) {
            continue;
        }
        ascents.push(Ascent {
            id,
            from_m,
            to_m,
            gain_m,
            climbs: own,
            shape: shape(pieces, (from, to), step_m),
        });
    }
    ascents
}

/// Joins stretches that overlap or have at most `rule.descent_m` lost between them; they come in order of their starts.
fn joined(profile: &Profile, uphill: &[(usize, usize)], rule: &Rule) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &(from, to) in uphill {
        match runs.last_mut() {
            Some(run) if from <= run.1 || follows(profile, run.1, from, rule) => {
                run.1 = run.1.max(to);
            }
            _ => runs.push((from, to)),
        }
    }
    runs
}

/// Whether next to nothing is lost from one node to the next way up at another.
fn follows(profile: &Profile, end: usize, start: usize, rule: &Rule) -> bool {
    let between = profile.elevation_m[end..=start].windows(2);
    let lost_m: f64 = between.map(|z| (z[0] - z[1]).max(0.0)).sum();
    let flat_m = (start - end) as f64 * profile.spacing_m;
    lost_m <= rule.descent_m && flat_m <= LONGEST_FLAT_M
}

/// Shape of what of the pieces lies between two nodes, short parts left out.
fn shape(pieces: &[Piece], (from, to): (usize, usize), step_m: f64) -> Shape {
    let inside_m = |p: &Piece| {
        let nodes = p.to.min(to).saturating_sub(p.from.max(from));
        nodes as f64 * step_m
    };
    let long = pieces.iter().filter(|p| inside_m(p) > 100.0);
    let grades: Vec<f64> = long.map(|p| 100.0 * p.grade).collect();
    let steps: Vec<f64> = grades.windows(2).map(|w| w[1] - w[0]).collect();
    let lowest = grades.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = grades.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if steps.is_empty() || highest - lowest <= LEVEL_PCT {
        Shape::Even
    } else if steps.iter().all(|s| *s > 0.0) {
        Shape::Steepening
    } else if steps.iter().all(|s| *s < 0.0) {
        Shape::Easing
    } else {
        Shape::Mixed
    }
}
