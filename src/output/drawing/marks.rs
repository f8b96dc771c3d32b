//! Reps or climbs that are marked on a map and on a profile.

use crate::output::document::{ClimbEntry, RepEntry};
use crate::profile::Profile;

/// A numbered stretch of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Its number.
    pub number: usize,
    /// Where it starts along the route as given, in metres.
    pub from_m: f64,
    /// Where it ends, likewise.
    pub to_m: f64,
    /// What follows it, if anything: a time in words.
    pub then: Option<String>,
    /// What it is, in words, for those who don't see the picture.
    pub words: String,
}

impl Mark {
    /// A rep.
    pub fn rep(rep: &RepEntry) -> Mark {
        Mark {
            number: rep.rep,
            from_m: rep.start.distance_m,
            to_m: rep.end.distance_m,
            then: rep.recovery_after_s.map(crate::prescription::duration_text),
            words: format!("rep {}", rep.rep),
        }
    }

    /// A climb.
    pub fn climb(climb: &ClimbEntry) -> Mark {
        Mark {
            number: climb.id,
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
