//! Reps or climbs that are marked on a map and on a profile.

use crate::output::document::{ClimbEntry, RepEntry};
use crate::output::plan_text::numbers_text;
use crate::profile::Profile;

/// A numbered stretch of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its number; of several on the same stretch, theirs: `2–6`.
    pub label: String,
    /// Where it starts along the route as given, in metres.
    pub from_m: f64,
    /// Where it ends, likewise.
    pub to_m: f64,
    /// What follows it, if anything: a time in words.
    pub then: Option<String>,
    /// What it is, in words, for those who don't see the picture.
    pub words: String,
}

/// Reps that share this much of the longer one are drawn as one.
const SAME_SHARE: f64 = 0.8;

impl Mark {
    /// Reps, those on the same stretch together.
    pub fn reps(reps: &[RepEntry]) -> Vec<Mark> {
        let mut groups: Vec<(f64, f64, Vec<&RepEntry>)> = Vec::new();
        for rep in reps {
            let (from_m, to_m) = (rep.start.distance_m, rep.end.distance_m);
            let same = |group: &&mut (f64, f64, Vec<&RepEntry>)| {
                let common_m = to_m.min(group.1) - from_m.max(group.0);
                let longer_m = (to_m - from_m).max(group.1 - group.0);
                common_m >= SAME_SHARE * longer_m
            };
            match groups.iter_mut().find(same) {
                Some(group) => group.2.push(rep),
                None => groups.push((from_m, to_m, vec![rep])),
            }
        }
        groups.into_iter().map(Mark::of_group).collect()
    }

    fn of_group((from_m, to_m, reps): (f64, f64, Vec<&RepEntry>)) -> Mark {
        let numbers: Vec<usize> = reps.iter().map(|r| r.rep).collect();
        let label = numbers_text(&numbers);
        let then = match reps[..] {
            [one] => one.recovery_after_s.map(crate::prescription::duration_text),
            _ => None,
        };
        Mark {
            from_m,
            to_m,
            then,
            words: format!("rep {label}"),
            label,
        }
    }

    /// A climb.
    pub fn climb(climb: &ClimbEntry) -> Mark {
        Mark {
            label: climb.id.to_string(),
            from_m: climb.start.distance_m,
            to_m: climb.end.distance_m,
            then: None,
            words: format!("climb {}", climb.id),
        }
    }

    /// The profile's nodes from its start to its end, at least two.
    pub(super) fn nodes(&self, profile: &Profile) -> std::ops::RangeInclusive<usize> {
        let last = profile.nodes() - 1;
        let at = |given_m: f64| profile.given_m.partition_point(|d| *d < given_m);
        let from = at(self.from_m).min(last - 1);
        from..=at(self.to_m).clamp(from + 1, last)
    }
}

/// Puts spans into as few lanes as it takes for no two in a lane to come nearer than a gap; the lane of each, from 0.
pub(in crate::output) fn lanes(spans: &[(f64, f64)], gap: f64) -> Vec<usize> {
    let mut taken: Vec<Vec<(f64, f64)>> = Vec::new();
    spans
        .iter()
        .map(|&(from, to)| {
            let free = |lane: &Vec<(f64, f64)>| {
                lane.iter().all(|&(a, b)| to + gap <= a || b + gap <= from)
            };
            let lane = taken.iter().position(free).unwrap_or_else(|| {
                taken.push(Vec::new());
                taken.len() - 1
            });
            taken[lane].push((from, to));
            lane
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::lanes;

    #[test]
    fn spans_that_touch_get_lanes_of_their_own() {
        let spans = [(0.0, 10.0), (12.0, 20.0), (5.0, 8.0), (30.0, 40.0)];
        assert_eq!(lanes(&spans, 3.0), [0, 1, 1, 0]);
        assert_eq!(lanes(&spans, 2.0), [0, 0, 1, 0]);
    }
}
