//! Which climbs to report: those that make the expected F1 largest.
//!
//! F1 is twice the matches over true and found climbs together. The choice that makes a ratio of two expectations largest
//! makes `2 matches - f (true + found)` largest at the ratio `f` that it reaches (Dinkelbach, Management Science
//! 13, 1967, 492–498): each climb reported gains twice its chance of a match less `f`, and climbs do not overlap.

use super::super::score::{FoundClimb, LEAST_OVERLAP};
use super::Believed;

/// A climb that may be reported.
#[derive(Debug, Clone, Copy)]
struct Candidate {
    start_m: f64,
    end_m: f64,
    /// How likely a true climb matches it.
    chance: f64,
    /// What it is expected to share with true climbs, of what they cover together.
    overlap: f64,
}

/// Between climbs that are about as likely matched, the one nearer to the truth is better.
const OVERLAP_COUNTS: f64 = 0.02;

/// What is reported on each road, and the F1 expected of it.
pub fn report(roads: &[Vec<Believed>]) -> (Vec<Vec<FoundClimb>>, f64) {
    let candidates: Vec<Vec<Candidate>> = roads.iter().map(|road| candidates(road)).collect();
    let expected_climbs: f64 = roads.iter().flatten().map(|climb| climb.weight).sum();
    let mut f1 = 0.5;
    let mut chosen = Vec::new();
    for _ in 0..6 {
        chosen = candidates.iter().map(|road| choose(road, f1)).collect();
        let reported: usize = chosen.iter().map(Vec::len).sum();
        let matched: f64 = chosen.iter().flatten().map(|climb| climb.chance).sum();
        f1 = 2.0 * matched / (expected_climbs + reported as f64);
    }
    let found = chosen
        .iter()
        .map(|road| road.iter().map(as_found).collect());
    (found.collect(), f1)
}

fn as_found(climb: &Candidate) -> FoundClimb {
    FoundClimb {
        start_true_m: climb.start_m,
        end_true_m: climb.end_m,
        grade_pct: 0.0,
        grade_se_pct: None,
    }
}

/// Climbs that are as likely matched as not, or nearly, sorted by their ends.
fn candidates(road: &[Believed]) -> Vec<Candidate> {
    let mut candidates: Vec<Candidate> = road
        .iter()
        .filter(|climb| climb.weight >= 5e-4)
        .map(|climb| weighed(climb, road))
        .filter(|climb| climb.chance > 0.2)
        .collect();
    candidates.sort_by(|a, b| a.end_m.total_cmp(&b.end_m));
    candidates
}

fn weighed(climb: &Believed, road: &[Believed]) -> Candidate {
    let (mut chance, mut overlap) = (0.0, 0.0);
    for other in road {
        let shared_m = climb.end_m.min(other.end_m) - climb.start_m.max(other.start_m);
        if shared_m <= 0.0 {
            continue;
        }
        let share = shared_m / (climb.end_m.max(other.end_m) - climb.start_m.min(other.start_m));
        overlap += other.weight * share;
        if share >= LEAST_OVERLAP {
            chance += other.weight;
        }
    }
    Candidate {
        start_m: climb.start_m,
        end_m: climb.end_m,
        chance: chance.min(1.0),
        overlap: overlap.min(1.0),
    }
}

/// The best climbs that do not overlap, by dynamic programming over their ends.
fn choose(candidates: &[Candidate], f1: f64) -> Vec<Candidate> {
    let mut best = vec![(0.0, None); candidates.len() + 1];
    let mut before = Vec::with_capacity(candidates.len());
    for (index, climb) in candidates.iter().enumerate() {
        let fits = candidates.partition_point(|other| other.end_m <= climb.start_m);
        before.push(fits);
        let gain = 2.0 * climb.chance + OVERLAP_COUNTS * (climb.overlap - 1.0) - f1;
        let with = best[fits].0 + gain;
        best[index + 1] = if with > best[index].0 {
            (with, Some(index))
        } else {
            (best[index].0, None)
        };
    }
    let mut chosen = Vec::new();
    let mut end = candidates.len();
    while end > 0 {
        match best[end].1 {
            Some(index) => {
                chosen.push(candidates[index]);
                end = before[index];
            }
            None => end -= 1,
        }
    }
    chosen.reverse();
    chosen
}
