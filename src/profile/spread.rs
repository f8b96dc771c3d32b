//! Where along the road the elevations err by more than they usually do, and where by less.
//!
//! A terrain model errs more where the ground is steep across the road. How far each elevation surprises the filter, against
//! how far it may, says so: the mean of these squares near a place, drawn to that of the whole road by as much as chance
//! could have made the difference (empirical Bayes: Efron and Morris, J. Am. Stat. Assoc. 68, 1973, 117–130). Where the squares
//! near places differ no more than chance has them differ, nothing is changed.

use super::kalman::{Dynamics, Observation};
use super::likelihood;
use super::turns::Turn;

/// Squares are averaged with weights that fall to 1/e over this distance to either side, in metres: half of a slope across the road
/// that goes on for 300 m, and a dozen vertices of a planned line.
const NEAR_M: f64 = 150.0;
/// How much more the error's variance differs from place to place than its averages over [`NEAR_M`] do, where it changes over 200 m.
const SMOOTHED_AWAY: f64 = 2.5;
/// Averages that differ by less than this share of what chance has them differ by are equal: on planned lines of one error they differ by up to a
/// tenth more than by chance, on terrain models by eight tenths and more (seeds 1000 to 1010).
const LEAST_SHARE: f64 = 0.3;
/// A squared surprise counts for no more than this many times its variance: a kink or a bad fix is no slope.
const MOST_SURPRISE: f64 = 9.0;
/// The error's variance is nowhere taken for less or more of the usual.
const SHARES: std::ops::RangeInclusive<f64> = 0.2..=5.0;

/// Says for each observation how large its error is against the usual one.
pub fn settle(observations: &mut [Observation], dynamics: Dynamics, turns: &[Turn]) {
    let mut surprises = vec![None; observations.len()];
    likelihood::walk(observations, dynamics, turns, |node, lesson| {
        surprises[node] = Some(lesson.pays().square.min(MOST_SURPRISE));
    });
    for (seen, share) in observations
        .iter_mut()
        .zip(shares(&surprises, dynamics.step_m))
    {
        seen.error_scale = share.sqrt();
    }
}

/// The error's variance at each node as a share of the usual one, from squared surprises at some of the nodes.
fn shares(surprises: &[Option<f64>], step_m: f64) -> Vec<f64> {
    let nodes = surprises.len() as f64;
    let known = || surprises.iter().flatten();
    if known().next().is_none() {
        return vec![1.0; surprises.len()];
    }
    let count = known().count() as f64;
    let usual = known().sum::<f64>().max(1e-9) / count;
    let single = known().map(|s| (s / usual - 1.0).powi(2)).sum::<f64>() / count;
    let keeps = (-step_m / NEAR_M).exp();
    let sums = near(surprises, |s| s / usual, keeps);
    let weights = near(surprises, |_| 1.0, keeps);
    let squares = near(surprises, |_| 1.0, keeps * keeps);
    let averages = || {
        let weighed = weights
            .iter()
            .zip(&squares)
            .map(|(w, s)| single * s / (w * w));
        sums.iter()
            .zip(&weights)
            .map(|(sum, w)| sum / w)
            .zip(weighed)
    };
    let by_chance = averages().map(|(_, chance)| chance).sum::<f64>() / nodes;
    let seen = averages()
        .map(|(mean, _)| (mean - 1.0).powi(2))
        .sum::<f64>()
        / nodes;
    if seen - by_chance <= LEAST_SHARE * by_chance {
        return vec![1.0; surprises.len()];
    }
    let real = SMOOTHED_AWAY * (seen - by_chance);
    let drawn = |(mean, chance): (f64, f64)| 1.0 + real / (real + chance) * (mean - 1.0);
    averages()
        .map(|average| drawn(average).clamp(*SHARES.start(), *SHARES.end()))
        .collect()
}

/// For each node the sum of something over all others, each counting less by `keeps` for each step that it is away.
fn near(surprises: &[Option<f64>], of: impl Fn(f64) -> f64, keeps: f64) -> Vec<f64> {
    let value = |i: usize| surprises[i].map_or(0.0, &of);
    let mut sum = 0.0;
    let mut sums: Vec<f64> = (0..surprises.len())
        .map(|i| {
            sum = sum * keeps + value(i);
            sum
        })
        .collect();
    sum = 0.0;
    for i in (0..surprises.len()).rev() {
        sums[i] += sum;
        sum = (sum + value(i)) * keeps;
    }
    // A hundred kilometres from anything known there is nothing left to divide by, nor to divide by its square.
    sums.iter_mut().for_each(|sum| *sum = sum.max(1e-150));
    sums
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::profile::tests::Draws;

    const STEP_M: f64 = 10.0;

    /// Squares of what each third node surprises by, where the variance is four times as large over some of the nodes.
    fn surprises(seed: u64, large: std::ops::Range<usize>) -> Vec<Option<f64>> {
        let mut draws = Draws(seed);
        (0..3000)
            .map(|node| {
                let sd = if large.contains(&node) { 2.0 } else { 1.0 };
                (node % 3 == 0).then(|| (sd * draws.normal()).powi(2))
            })
            .collect()
    }

    #[test]
    fn errors_that_differ_by_chance_alone_are_equal() {
        let unequal = (0..20).filter(|&seed| {
            let shares = shares(&surprises(seed, 0..0), STEP_M);
            shares.iter().any(|share| *share != 1.0)
        });
        // The roads' averages differ by what chance has them differ, give or take a sixth: one in thirty by three tenths more.
        assert!(unequal.count() <= 2);
    }

    #[test]
    fn where_errors_are_larger_is_found() {
        let shares = shares(&surprises(1, 1000..2000), STEP_M);
        let mean = |nodes: std::ops::Range<usize>| {
            let count = nodes.len() as f64;
            shares[nodes].iter().sum::<f64>() / count
        };
        // Away from where they change; a mean of some 300 squares is known within a tenth, and is drawn to the whole road's.
        let ratio = mean(1050..1950) / (0.5 * (mean(0..950) + mean(2050..3000)));
        assert!((3.0..4.6).contains(&ratio), "{ratio}");
        assert!(mean(0..3000) > 0.85 && mean(0..3000) < 1.15);
    }

    #[test]
    fn nothing_is_said_where_nothing_is_known() {
        assert!(
            shares(&[None; 50], STEP_M)
                .iter()
                .all(|share| *share == 1.0)
        );
    }
}
