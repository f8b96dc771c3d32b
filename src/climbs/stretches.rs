//! Pieces of road joined over kinks.
//!
//! A hairpin's flat bend or a culvert is a piece of its own between two turns, but a rider rides through it. Stretches are
//! chosen so that their number, the kinks passed over, and the disagreement of the grades they join cost least in
//! all; the choice is exact, by dynamic programming over the pieces.

use super::pieces::Piece;
use super::steady::Rule;
use crate::profile::Profile;
use crate::profile::kalman::wander_m2;

/// What a stretch pays, in units of twice the log-likelihood. Tuned on the truth bench's seeds 0 to 20: with half of it climbs fall
/// apart, with twice of it two climbs that meet at a step of two points are taken for one.
const STRETCH_COST: f64 = 5.0;
/// What passing over a kink pays: two turns that come as a pair are commoner than two that don't, by about e².
const KINK_COST: f64 = 4.0;
/// Pieces of one climb may differ by this share of the rule's tolerance at little cost. At a half, two equal pieces that each stray from
/// their mean as far as the rule allows cost as much joined as apart.
const SLACK_SHARE: f64 = 0.5;
/// A kink's ends are known no better than this in the best of recordings, in metres: a level change is drawn out by the
/// road's own rounding, and a piece ends on a node.
const KINK_BLUR_M: f64 = 15.0;
/// Where the recording errs they are known no better, both together, than to this at most, in metres: a flat run is longer.
const MOST_BLUR_M: f64 = 30.0;
/// More pieces than this are never joined into one stretch.
const MOST_PIECES: usize = 40;

/// Consecutive pieces taken as one.
#[derive(Debug, Clone, PartialEq)]
pub struct Joined {
    /// Node where it starts.
    pub from: usize,
    /// Node where it ends.
    pub to: usize,
    /// Kinks that are passed over, as pairs of nodes.
    pub kinks: Vec<(usize, usize)>,
    /// Whether it is a piece of uneven road.
    pub uneven: bool,
}

/// Pieces that nothing joins.
pub fn apart(pieces: &[Piece]) -> Vec<Joined> {
    let alone = |piece: &Piece| Joined {
        from: piece.from,
        to: piece.to,
        kinks: Vec::new(),
        uneven: piece.uneven,
    };
    pieces.iter().map(alone).collect()
}

/// Joins pieces over kinks.
pub fn join(profile: &Profile, pieces: &[Piece], rule: &Rule) -> Vec<Joined> {
    let step_m = profile.spacing_m;
    let list = pieces;
    let n = list.len();
    let kink_m = rule.kink_m + KINK_BLUR_M;
    let length_m = |i: usize| (list[i].to - list[i].from) as f64 * step_m;
    let mut cost = vec![f64::INFINITY; n + 1];
    let mut back: Vec<usize> = vec![0; n + 1];
    cost[0] = 0.0;
    for first in 0..n {
        let mut fit = Agreement::default();
        let mut open_kink_m = 0.0;
        let mut kinks = 0.0;
        for last in first..n.min(first + MOST_PIECES) {
            if last == first
                || (!list[first].uneven
                    && !list[last].uneven
                    && joins(&fit, list[last].grade, rule))
            {
                if open_kink_m > 0.0 {
                    kinks += 1.0;
                }
                open_kink_m = 0.0;
                let var = list[last].grade_se.powi(2)
                    + profile.noise.place_m2() / length_m(last).powi(2)
                    + wander_m2(list[last].grade, length_m(last)) / length_m(last).powi(2)
                    + (SLACK_SHARE * rule.tolerance(list[last].grade)).powi(2);
                fit.add(list[last].grade, var);
                let total = cost[first] + STRETCH_COST + KINK_COST * kinks + fit.disagreement();
                if total < cost[last + 1] {
                    cost[last + 1] = total;
                    back[last + 1] = first;
                }
            } else if open_kink_m + length_m(last)
                <= kink_m + blur_m(&fit, list[last].grade, profile)
            {
                open_kink_m += length_m(last);
            } else {
                break;
            }
        }
    }
    let mut stretches = Vec::new();
    let mut end = n;
    while end > 0 {
        let first = back[end];
        stretches.push(as_joined(pieces, first, end - 1, rule));
        end = first;
    }
    stretches.reverse();
    stretches
}

/// By how much a kink of a grade looks longer than it is, in metres: its ends are where its change of grade outgrows the recording's error.
fn blur_m(fit: &Agreement, grade: f64, profile: &Profile) -> f64 {
    let depth = (grade - fit.mean()).abs().max(1e-3);
    (2.0 * profile.noise.place_m2().sqrt() / depth).min(MOST_BLUR_M)
}

/// Whether a grade is near enough to what was joined so far to be the same road.
fn joins(fit: &Agreement, grade: f64, rule: &Rule) -> bool {
    (grade - fit.mean()).abs() <= 2.0 * rule.tolerance(fit.mean())
}

fn as_joined(pieces: &[Piece], first: usize, last: usize, rule: &Rule) -> Joined {
    let list = pieces;
    let level = list[first].grade;
    let mut kinks: Vec<(usize, usize)> = Vec::new();
    for piece in &list[first..=last] {
        if (piece.grade - level).abs() <= rule.tolerance(level) {
            continue;
        }
        match kinks.last_mut() {
            Some(kink) if kink.1 == piece.from => kink.1 = piece.to,
            _ => kinks.push((piece.from, piece.to)),
        }
    }
    Joined {
        from: list[first].from,
        to: list[last].to,
        kinks,
        uneven: list[first].uneven,
    }
}

/// Weighted mean of grades, and how much they disagree with it.
#[derive(Default)]
struct Agreement {
    weight: f64,
    sum: f64,
    sum_of_squares: f64,
}

impl Agreement {
    fn add(&mut self, grade: f64, variance: f64) {
        let weight = 1.0 / variance.max(1e-12);
        self.weight += weight;
        self.sum += weight * grade;
        self.sum_of_squares += weight * grade * grade;
    }

    fn mean(&self) -> f64 {
        self.sum / self.weight
    }

    fn disagreement(&self) -> f64 {
        (self.sum_of_squares - self.sum * self.sum / self.weight).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::road;
    use proptest::prelude::*;

    const SPACING_M: f64 = 10.0;

    fn flat_profile() -> Profile {
        let mut profile = Profile::from_route(&road(&[100.0; 200])).unwrap();
        profile.spacing_m = SPACING_M;
        profile.noise.sd_m = 0.4;
        profile
    }

    /// What pieces cost as one stretch, from the stated rule alone; nothing where they are none. The first leads; an even piece within twice
    /// the tolerance of the mean so far belongs to it; others are kinks, short enough all together until the next that belongs.
    fn cost_of(pieces: &[Piece], profile: &Profile, rule: &Rule) -> Option<f64> {
        let grade_variance = |piece: &Piece| {
            let run_m = (piece.to - piece.from) as f64 * SPACING_M;
            let errors_m2 = profile.noise.place_m2() + wander_m2(piece.grade, run_m);
            let slack = SLACK_SHARE * rule.tolerance(piece.grade);
            piece.grade_se * piece.grade_se + errors_m2 / (run_m * run_m) + slack * slack
        };
        let mean = |held: &[&Piece]| {
            let weight: f64 = held.iter().map(|p| 1.0 / grade_variance(p)).sum();
            let sum: f64 = held.iter().map(|p| p.grade / grade_variance(p)).sum();
            sum / weight
        };
        let mut held = vec![&pieces[0]];
        let (mut kinks, mut open_m) = (0.0, 0.0);
        for piece in &pieces[1..] {
            let so_far = mean(&held);
            let even = !pieces[0].uneven && !piece.uneven;
            if even && (piece.grade - so_far).abs() <= 2.0 * rule.tolerance(so_far) {
                kinks += if open_m > 0.0 { 1.0 } else { 0.0 };
                open_m = 0.0;
                held.push(piece);
            } else {
                open_m += (piece.to - piece.from) as f64 * SPACING_M;
                let error_m = profile.noise.place_m2().sqrt();
                let blur_m = 2.0 * error_m / (piece.grade - so_far).abs().max(1e-3);
                if open_m > rule.kink_m + KINK_BLUR_M + blur_m.min(MOST_BLUR_M) {
                    return None;
                }
            }
        }
        let middle = mean(&held);
        let squares = held
            .iter()
            .map(|p| (p.grade - middle).powi(2) / grade_variance(p));
        (open_m == 0.0).then(|| STRETCH_COST + KINK_COST * kinks + squares.sum::<f64>())
    }

    /// Cost of the pieces cut after each whose bit is set.
    fn total(pieces: &[Piece], cuts: u32, profile: &Profile, rule: &Rule) -> Option<f64> {
        let mut first = 0;
        let mut sum = 0.0;
        for last in 0..pieces.len() {
            if last + 1 == pieces.len() || cuts >> last & 1 == 1 {
                sum += cost_of(&pieces[first..=last], profile, rule)?;
                first = last + 1;
            }
        }
        Some(sum)
    }

    proptest! {
        #[test]
        fn no_other_way_of_joining_pieces_costs_less(
            drawn in prop::collection::vec((1_usize..30, -2_i32..9, 0_u8..8), 1..9),
        ) {
            let (profile, rule) = (flat_profile(), Rule::default());
            let mut to = 0;
            let pieces: Vec<Piece> = drawn
                .iter()
                .map(|&(nodes, grade_pct, character)| {
                    let from = to;
                    to += nodes;
                    // No two grades differ by twice a tolerance to the last bit: there rounding would decide.
                    let grade = f64::from(grade_pct) * 0.010_73;
                    Piece { from, to, grade, grade_se: 0.002, uneven: character == 0 }
                })
                .collect();
            let joined = join(&profile, &pieces, &rule);
            let cuts = joined.iter().fold(0, |cuts, stretch| {
                let last = pieces.iter().position(|p| p.to == stretch.to).unwrap();
                cuts | 1 << last
            });
            let found = total(&pieces, cuts, &profile, &rule).unwrap();
            let best = (0..1_u32 << (pieces.len() - 1))
                .filter_map(|cuts| total(&pieces, cuts, &profile, &rule))
                .fold(f64::INFINITY, f64::min);
            prop_assert!((found - best).abs() < 1e-9, "{found} {best}");
        }
    }
}
