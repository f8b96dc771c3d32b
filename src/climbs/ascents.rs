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

/// Least gain of an ascent on which nothing is steady, in metres: the least that a steady climb has (400 m at 3 %).
const LEAST_GAIN_M: f64 = 12.0;
/// Grades closer than this are one level, in per cent.
const LEVEL_PCT: f64 = 0.7;
/// An ascent's flat parts that still belong to it are at most this long, in metres; after more, a new one starts.
const LONGEST_FLAT_M: f64 = 1000.0;

/// Groups the uphill pieces of a profile into ascents and gives each climb its ascent's number.
pub fn group(
    profile: &Profile,
    pieces: &[Piece],
    climbs: &mut [Climb],
    rule: &Rule,
) -> Vec<Ascent> {
    let step_m = profile.spacing_m;
    let mut ascents: Vec<Ascent> = Vec::new();
    for run in runs(pieces, step_m, rule) {
        let (Some(first), Some(last)) = (run.first(), run.last()) else {
            continue;
        };
        let (from_m, to_m) = (first.from as f64 * step_m, last.to as f64 * step_m);
        let gain_m = profile.elevation_m[last.to] - profile.elevation_m[first.from];
        let id = ascents.len() + 1;
        let mut own = Vec::new();
        for climb in climbs
            .iter_mut()
            .filter(|c| c.from_m >= from_m - 0.5 * step_m && c.to_m <= to_m + 0.5 * step_m)
        {
            climb.ascent = id;
            own.push(climb.id);
        }
        if own.is_empty() && (gain_m < LEAST_GAIN_M || to_m - from_m < rule.length_m) {
            continue;
        }
        ascents.push(Ascent {
            id,
            from_m,
            to_m,
            gain_m,
            climbs: own,
            shape: shape(&run, step_m),
        });
    }
    ascents
}

/// Runs of pieces that begin and end uphill with at most `rule.descent_m` lost between uphill pieces.
fn runs(pieces: &[Piece], step_m: f64, rule: &Rule) -> Vec<Vec<Piece>> {
    let uphill = |p: &Piece| 100.0 * p.grade >= rule.grade_pct;
    let mut runs: Vec<Vec<Piece>> = Vec::new();
    let mut between: Vec<Piece> = Vec::new();
    for piece in pieces {
        if !uphill(piece) {
            between.push(*piece);
            continue;
        }
        let lost_m: f64 = between
            .iter()
            .map(|p| (-p.grade * (p.to - p.from) as f64 * step_m).max(0.0))
            .sum();
        let flat_m: f64 = between
            .iter()
            .map(|p| (p.to - p.from) as f64 * step_m)
            .sum();
        match runs.last_mut() {
            Some(run) if lost_m <= rule.descent_m && flat_m <= LONGEST_FLAT_M => {
                run.append(&mut between);
                run.push(*piece);
            }
            _ => runs.push(vec![*piece]),
        }
        between.clear();
    }
    runs
}

/// Shape of a run of pieces, short ones left out.
fn shape(run: &[Piece], step_m: f64) -> Shape {
    let long = run
        .iter()
        .filter(|p| (p.to - p.from) as f64 * step_m > 100.0);
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
