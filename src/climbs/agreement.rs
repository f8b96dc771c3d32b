//! The climbs that enough of the roads have which the recording allows.
//!
//! A poor recording allows many roads. The profile holds turns drawn from them as likely as they are; each draw is smoothed, cut,
//! joined and judged by the rule as if it were the road. A stretch is then **as likely a climb as draws have a climb
//! that covers it by three quarters of what both cover together**. Of all stretches of all draws, those are reported that
//! make the sum of (that share less some odds) largest without overlapping. That
//! choice is exact, by dynamic programming over the ends (weighted interval scheduling: Kleinberg and Tardos, Algorithm
//! Design, 2005, section 6.1). Each end is the median of those that agree, so that it is expected to be least far out.
//!
//! The odds: reporting what is more likely right than wrong misses more climbs than it reports false ones where few are sure. F1 weighs both
//! alike, and is expected to be largest where the odds are half of the F1 that is then expected (Lipton, Elkan and Naryanaswamy, Optimal
//! Thresholding of Classifiers to Maximize F1 Measure, ECML 2014; from memory), worked out for each recording: 0.42 or so on satellite fixes,
//! nearly one half elsewhere.

use super::pieces;
use super::steady::{self, Climb, Grades, Rule};
use super::stretches::{self, Joined};
use crate::profile::effort::Effort;
use crate::profile::turns::Turns;
use crate::profile::{Dynamics, Profile, smoother};

/// No more is asked of a climb than to be as likely as not,
const EVEN_ODDS: f64 = 0.5;
/// and no less than this, whatever F1 is to be expected: on elevations that tell next to nothing no climb is the answer.
const LEAST_ODDS: f64 = 0.4;
/// The odds are worked out again so often; a third time changes them by less than a hundredth.
const TIMES_AGAIN: usize = 2;
/// Two stretches are the same climb where they share at least this much of what they cover together.
const LEAST_OVERLAP: f64 = 0.75;
/// Among equally likely stretches the one that the draws agree on best; the weight of the mean overlap against one draw's vote.
const CLOSENESS: f64 = 0.1;

/// The steady climbs of a profile, numbered; and for each node how likely it is that none lies there, where that is not known.
pub fn agreed(profile: &Profile, rule: &Rule) -> (Vec<Climb>, Vec<f64>) {
    let draws = &profile.alternatives;
    if draws.is_empty() {
        return (of_one_road(profile, rule), Vec::new());
    }
    let mut all: Vec<Drawn> = draws
        .iter()
        .flat_map(|turns| admitted(profile, turns, rule))
        .collect();
    all.sort_by_key(|drawn| (drawn.stretch.to, drawn.stretch.from));
    let votes = Votes::count(&all, draws.len());
    let climb = |(middle, id): (Middle, usize)| Climb {
        id,
        doubt: 1.0 - middle.share,
        ..steady::describe(profile, &middle.stretch, Some(middle.grades))
    };
    let shortest = ((rule.length_m - 1e-6) / profile.spacing_m).ceil() as usize;
    let odds = votes.odds(&all);
    let likely = votes.likely(&all, shortest, odds).into_iter().zip(1..);
    let doubt = doubt(profile.nodes(), draws.len(), &all);
    (likely.map(climb).collect(), doubt)
}

/// How likely it is at each node that no steady climb lies there: the share of the roads that have none.
fn doubt(nodes: usize, draws: usize, all: &[Drawn]) -> Vec<f64> {
    let mut steady = vec![0.0; nodes];
    for drawn in all {
        let stretch = drawn.stretch.from..=drawn.stretch.to;
        steady[stretch].iter_mut().for_each(|share| *share += 1.0);
    }
    let doubt = |share: f64| (1.0 - share / draws as f64).clamp(0.0, 1.0);
    steady.into_iter().map(doubt).collect()
}

/// The climbs of the most likely road.
fn of_one_road(profile: &Profile, rule: &Rule) -> Vec<Climb> {
    let joined = stretches::join(profile, &pieces::pieces(profile), rule);
    let admitted = joined
        .iter()
        .filter(|stretch| steady::admits(profile, stretch, rule));
    let numbered = admitted.zip(1..);
    numbered
        .map(|(stretch, id)| Climb {
            id,
            ..steady::describe(profile, stretch, None)
        })
        .collect()
}

/// A climb of one of the roads that the recording allows.
struct Drawn {
    stretch: Joined,
    /// Rise over run.
    grade: f64,
}

/// The climbs of one of the roads that the recording allows.
fn admitted(profile: &Profile, turns: &Turns, rule: &Rule) -> Vec<Drawn> {
    let dynamics = Dynamics::new(profile.spacing_m, &profile.noise);
    let smooth = smoother::smooth(&profile.observations, dynamics, turns);
    let percent = |grades: &[f64]| grades.iter().map(|g| 100.0 * g).collect();
    let road = Profile {
        elevation_m: smooth.elevation_m,
        elevation_se_m: smooth.elevation_se_m,
        grade_pct: percent(&smooth.grade),
        grade_se_pct: percent(&smooth.grade_se),
        turns: turns.clone(),
        spacing_m: profile.spacing_m,
        noise: profile.noise,
        lat_deg: Vec::new(),
        lon_deg: Vec::new(),
        bearing_rad: Vec::new(),
        given_m: Vec::new(),
        alternatives: Vec::new(),
        observations: Vec::new(),
        looks: profile.looks,
        drift: None,
        warnings: Vec::new(),
    };
    let pieces = pieces::pieces(&road);
    // Where it was weighed how roads are laid out, two steady pieces differ by more than a climb may stray, and kinks are none: only a wider rule
    // joins any.
    let are_apart = Effort::for_noise(&profile.noise).knows_layout && !rule.is_wider_than_usual();
    let joined = if are_apart {
        stretches::apart(&pieces)
    } else {
        stretches::join(&road, &pieces, rule)
    };
    joined
        .into_iter()
        .filter(|stretch| steady::admits(&road, stretch, rule))
        .map(|stretch| Drawn {
            grade: road.mean_grade(stretch.from, stretch.to),
            stretch,
        })
        .collect()
}

/// What two stretches share of what they cover together.
fn overlap(a: &Joined, b: &Joined) -> f64 {
    let shared = a.to.min(b.to) as f64 - a.from.max(b.from) as f64;
    let together = a.to.max(b.to) as f64 - a.from.min(b.from) as f64;
    shared / together
}

/// Which stretches agree with which; stretches are sorted by their ends.
struct Votes {
    draws: f64,
    /// For each stretch, the ones that agree with it (itself too), and how much they overlap with it in all.
    agreeing: Vec<(Vec<usize>, f64)>,
}

impl Votes {
    fn count(all: &[Drawn], draws: usize) -> Self {
        let agreeing = all.iter().map(|drawn| {
            let stretch = &drawn.stretch;
            // Who agrees ends no further off than a third of the length.
            let reach = (stretch.to - stretch.from) / 3 + 1;
            let from = all.partition_point(|other| other.stretch.to + reach < stretch.to);
            let to = all.partition_point(|other| other.stretch.to <= stretch.to + reach);
            let near = (from..to).map(|k| (k, overlap(stretch, &all[k].stretch)));
            let same: Vec<(usize, f64)> = near.filter(|(_, o)| *o >= LEAST_OVERLAP).collect();
            let sum = same.iter().map(|(_, o)| o).sum();
            (same.into_iter().map(|(k, _)| k).collect(), sum)
        });
        Votes {
            draws: draws as f64,
            agreeing: agreeing.collect(),
        }
    }

    /// Share of the draws that have a stretch.
    fn share(&self, stretch: usize) -> f64 {
        self.agreeing[stretch].0.len() as f64 / self.draws
    }

    /// How likely a climb has to be to be reported.
    fn odds(&self, all: &[Drawn]) -> f64 {
        let there = all.len() as f64 / self.draws;
        let mut odds = EVEN_ODDS;
        for _ in 0..TIMES_AGAIN {
            let reported: Vec<f64> = self
                .best_apart(all, odds)
                .into_iter()
                .map(|i| self.share(i))
                .filter(|share| *share >= odds)
                .collect();
            // Where less than one is reported and there in all, nothing is expected.
            let f1 = 2.0 * reported.iter().sum::<f64>() / (reported.len() as f64 + there).max(1.0);
            odds = (0.5 * f1).clamp(LEAST_ODDS, EVEN_ODDS);
        }
        odds
    }

    /// The stretches apart from each other for which the sum of share less odds, and of how well those overlap that agree, is largest.
    fn best_apart(&self, all: &[Drawn], odds: f64) -> Vec<usize> {
        let mut best = vec![0.0];
        let mut back = Vec::with_capacity(all.len());
        for (i, drawn) in all.iter().enumerate() {
            let from = drawn.stretch.from;
            let before = all[..i].partition_point(|other| other.stretch.to <= from);
            let closeness = CLOSENESS * self.agreeing[i].1 / self.draws;
            let with = best[before] + self.share(i) - odds + closeness;
            back.push((with > best[i]).then_some(before));
            best.push(best[i].max(with));
        }
        let mut chosen = Vec::new();
        let mut at = all.len();
        while at > 0 {
            at = match back[at - 1] {
                Some(before) => {
                    chosen.push(at - 1);
                    before
                }
                None => at - 1,
            };
        }
        chosen.reverse();
        chosen
    }

    /// The stretches that are right most often, as far as they are likely enough; one of which the climb before leaves fewer nodes than
    /// the shortest has is none.
    fn likely(&self, all: &[Drawn], shortest: usize, odds: f64) -> Vec<Middle> {
        let mut likely = Vec::new();
        let mut free_from = 0;
        for chosen in self.best_apart(all, odds) {
            let middle = self.middle(all, chosen, free_from);
            if middle.share >= odds && middle.stretch.to >= middle.stretch.from + shortest {
                free_from = middle.stretch.to;
                likely.push(middle);
            }
        }
        likely
    }

    /// What those that agree on a stretch agree on, from a node on. Where none of them is shorter than the shortest climb, neither is the
    /// stretch between the medians of their ends, unless that node cuts it.
    fn middle(&self, all: &[Drawn], chosen: usize, free_from: usize) -> Middle {
        let agreeing = &self.agreeing[chosen].0;
        let sorted = |end: fn(&Joined) -> usize| {
            let mut ends: Vec<usize> = agreeing.iter().map(|&k| end(&all[k].stretch)).collect();
            ends.sort_unstable();
            ends
        };
        let (starts, ends) = (sorted(|s| s.from), sorted(|s| s.to));
        let from = starts[starts.len() / 2].max(free_from);
        let to = ends[ends.len() / 2];
        let inside = |kink: &&(usize, usize)| kink.0 >= from && kink.1 <= to;
        let grades = || agreeing.iter().map(|&k| all[k].grade);
        let count = agreeing.len() as f64;
        let mean = grades().sum::<f64>() / count;
        Middle {
            share: self.share(chosen),
            grades: Grades {
                mean,
                variance: grades().map(|g| (g - mean) * (g - mean)).sum::<f64>() / count,
            },
            stretch: Joined {
                from,
                to,
                kinks: all[chosen]
                    .stretch
                    .kinks
                    .iter()
                    .filter(inside)
                    .copied()
                    .collect(),
                uneven: false,
            },
        }
    }
}

/// A stretch between the medians of ends.
struct Middle {
    stretch: Joined,
    /// Its grade in those that have it.
    grades: Grades,
    /// Share of the draws that have it: how likely it is a climb.
    share: f64,
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn drawn(ends: &[(usize, usize)]) -> Vec<Drawn> {
        let mut all: Vec<Drawn> = ends
            .iter()
            .map(|&(from, length)| Drawn {
                stretch: Joined {
                    from,
                    to: from + length,
                    kinks: Vec::new(),
                    uneven: false,
                },
                grade: 0.05,
            })
            .collect();
        all.sort_by_key(|drawn| (drawn.stretch.to, drawn.stretch.from));
        all
    }

    /// The stated gain of some stretches, from its words alone; nothing where two of them overlap.
    fn gain(all: &[Drawn], chosen: &[usize], draws: f64) -> Option<f64> {
        let apart = chosen
            .windows(2)
            .all(|pair| all[pair[0]].stretch.to <= all[pair[1]].stretch.from);
        let one = |&i: &usize| {
            let overlaps = all
                .iter()
                .map(|other| overlap(&all[i].stretch, &other.stretch));
            let same: Vec<f64> = overlaps.filter(|o| *o >= LEAST_OVERLAP).collect();
            let closeness = CLOSENESS * same.iter().sum::<f64>();
            (same.len() as f64 + closeness) / draws - EVEN_ODDS
        };
        apart.then(|| chosen.iter().map(one).sum())
    }

    #[test]
    fn doubt_is_what_the_draws_leave_open() {
        let all = drawn(&[(2, 4), (3, 3)]);
        // Of four roads two have a climb from node 3 to 6, one from 2 on.
        let open = [1.0, 1.0, 0.75, 0.5, 0.5, 0.5, 0.5, 1.0];
        assert_eq!(doubt(8, 4, &all), open);
    }

    #[test]
    fn the_odds_are_half_of_the_f1_that_is_to_be_expected() {
        let odds = |ends: &[(usize, usize)]| {
            let all = drawn(ends);
            Votes::count(&all, 4).odds(&all)
        };
        // One climb on each of four roads: found and right for sure.
        approx::assert_relative_eq!(odds(&[(10, 20); 4]), 0.5);
        // One on three of four: 1 is reported, 0.75 are there, 0.75 are right; 2 × 0.75 / 1.75 is 0.857.
        approx::assert_relative_eq!(odds(&[(10, 20); 3]), 0.4286, epsilon = 1e-4);
        // A half would be 0.333, which is too little to go by.
        approx::assert_relative_eq!(odds(&[(10, 20); 2]), 0.4);
        approx::assert_relative_eq!(odds(&[]), 0.4);
    }

    proptest! {
        #[test]
        fn no_other_choice_of_stretches_gains_more(
            ends in prop::collection::vec((0_usize..60, 3_usize..40), 0..10),
        ) {
            let all = drawn(&ends);
            let votes = Votes::count(&all, 4);
            let found = gain(&all, &votes.best_apart(&all, EVEN_ODDS), 4.0).unwrap();
            let best = (0_u32..1 << all.len())
                .filter_map(|set| {
                    let chosen: Vec<usize> = (0..all.len()).filter(|i| set >> i & 1 == 1).collect();
                    gain(&all, &chosen, 4.0)
                })
                .fold(0.0, f64::max);
            prop_assert!((found - best).abs() < 1e-9, "{found} {best}");
        }
    }
}
