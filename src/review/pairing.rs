//! Which found rep is which planned one.
//!
//! Both are in order, and stay so: the pairing is an alignment of two rows. A pair costs by how far its durations, places and
//! blocks differ, a planned rep that was not ridden and a ridden one that was not planned cost a fixed price, and dynamic
//! programming finds the alignment that costs least. Of equals, the first reps found are the first planned: who rides once more
//! than asked rides the extra rep last, and who stops early leaves out the last.

use super::passings::PASSES_M;

/// What a planned rep without a partner costs, and a found one. Two of them cost more than a whole rep ridden elsewhere, and less
/// than two reps ridden elsewhere: where one is missing and one is extra, those between keep their places.
const ALONE: f64 = 2.0;
/// Starts within this are the same place, in metres: those of one climb ridden again by turning round lie some tens of metres apart, and
/// the passing tells them apart.
const SAME_PLACE_M: f64 = PASSES_M;
/// Durations within this are the same, as the logarithm of their ratio: a twentieth, twelve seconds of four minutes.
const SAME_DURATION: f64 = 0.05;
/// What an octave of distance beyond that costs, and the most that distance can cost.
const PLACE_RATE: (f64, f64) = (0.5, 2.5);
/// What being like another block costs.
const OTHER_BLOCK: f64 = 2.0;
/// What a start at another passing of the same place costs than the planned one: it decides between equals. More, and a round of
/// warming up first, which shifts all of them, would leave out the first rep.
const OTHER_PASSING: f64 = 0.1;
/// The most that a difference of durations can cost.
const MOST_FOR_DURATION: f64 = 2.5;

/// How a found rep differs from a planned one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Duration found over duration planned.
    pub duration_ratio: f64,
    /// Distance of the starts, in metres; `None` where the planned one has no place.
    pub apart_m: Option<f64>,
    /// Whether it started at another passing of that place, where the recording passes it.
    pub other_passing: bool,
    /// Whether it is like another block.
    pub other_block: bool,
}

impl Difference {
    fn cost(&self) -> f64 {
        let duration = self
            .duration_ratio
            .max(1e-6)
            .ln()
            .abs()
            .min(MOST_FOR_DURATION);
        let duration = if duration > SAME_DURATION {
            duration
        } else {
            0.0
        };
        let place = self.apart_m.map_or(0.0, |m| {
            let octaves = (m / SAME_PLACE_M).max(1.0).log2();
            (PLACE_RATE.0 * octaves).min(PLACE_RATE.1)
        });
        let priced = |other: bool, price: f64| if other { price } else { 0.0 };
        duration
            + place
            + priced(self.other_passing, OTHER_PASSING)
            + priced(self.other_block, OTHER_BLOCK)
    }
}

/// For each found rep the planned one that it is, both numbered from 0; `None` for one that was not planned.
pub fn pair(
    planned: usize,
    found: usize,
    difference: impl Fn(usize, usize) -> Difference,
) -> Vec<Option<usize>> {
    let wide = found + 1;
    let mut cost = vec![0.0; (planned + 1) * wide];
    for i in 0..=planned {
        for j in 0..=found {
            if i + j == 0 {
                continue;
            }
            let mut least = f64::INFINITY;
            if i > 0 {
                least = least.min(cost[(i - 1) * wide + j] + ALONE);
            }
            if j > 0 {
                least = least.min(cost[i * wide + j - 1] + ALONE);
            }
            if i > 0 && j > 0 {
                least = least.min(cost[(i - 1) * wide + j - 1] + difference(i - 1, j - 1).cost());
            }
            cost[i * wide + j] = least;
        }
    }
    let mut partner = vec![None; found];
    let (mut i, mut j) = (planned, found);
    while i > 0 && j > 0 {
        let here = cost[i * wide + j];
        if here == cost[i * wide + j - 1] + ALONE {
            j -= 1;
        } else if here == cost[(i - 1) * wide + j] + ALONE {
            i -= 1;
        } else {
            partner[j - 1] = Some(i - 1);
            (i, j) = (i - 1, j - 1);
        }
    }
    partner
}

#[cfg(test)]
mod tests {
    use super::*;

    fn by_duration(planned: &[f64], found: &[f64]) -> Vec<Option<usize>> {
        pair(planned.len(), found.len(), |i, j| Difference {
            duration_ratio: found[j] / planned[i],
            apart_m: None,
            other_passing: false,
            other_block: false,
        })
    }

    #[test]
    fn one_cut_short_is_still_itself_where_every_rep_is_needed() {
        let found = by_duration(&[240.0; 4], &[240.0, 90.0, 240.0, 240.0]);
        assert_eq!(found, [Some(0), Some(1), Some(2), Some(3)]);
    }

    #[test]
    fn one_broken_off_and_ridden_again_is_the_extra_one() {
        let found = by_duration(&[240.0; 3], &[240.0, 60.0, 240.0, 240.0]);
        assert_eq!(found, [Some(0), None, Some(1), Some(2)]);
    }

    #[test]
    fn of_equal_reps_the_last_is_the_extra_one_and_the_last_planned_is_the_missing_one() {
        let found = by_duration(&[240.0; 2], &[241.0, 239.0, 240.0]);
        assert_eq!(found, [Some(0), Some(1), None]);
        let found = by_duration(&[240.0; 3], &[238.0, 240.0]);
        assert_eq!(found, [Some(0), Some(1)]);
    }

    #[test]
    fn a_place_tells_which_one_is_missing() {
        let planned_m = [1000.0, 4000.0, 7000.0];
        let found_m: [f64; 2] = [1010.0, 7020.0];
        let partner = pair(3, 2, |i, j| Difference {
            duration_ratio: 1.0,
            apart_m: Some((found_m[j] - planned_m[i]).abs()),
            other_passing: false,
            other_block: false,
        });
        assert_eq!(partner, [Some(0), Some(2)]);
    }

    #[test]
    fn a_passing_tells_which_of_equal_reps_is_missing_and_a_round_before_all_leaves_none_out() {
        let by_passing = |planned: usize, found: &[usize]| {
            pair(planned, found.len(), |i, j| Difference {
                duration_ratio: 1.0,
                apart_m: Some(5.0),
                other_passing: found[j] != i + 1,
                other_block: false,
            })
        };
        assert_eq!(by_passing(3, &[1, 3]), [Some(0), Some(2)]);
        assert_eq!(by_passing(3, &[2, 3]), [Some(1), Some(2)]);
        let shifted: Vec<usize> = (2..14).collect();
        let all: Vec<Option<usize>> = (0..12).map(Some).collect();
        assert_eq!(by_passing(12, &shifted), all);
    }
}
