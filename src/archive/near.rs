//! The climbs around a place.

use rstar::RTree;

use super::same::{Foot, SharedClimb, from_centre_m};
use super::trace::Node;
use crate::climbs::Climb;
use crate::profile::looks::{Likeness, Looks};
use crate::profile::{Noise, Observation, Profile, Turn};
use crate::route::{LatLon, bearing_rad, step_m};

/// Climbs by where their feet are.
#[derive(Debug)]
pub struct Index<'a> {
    climbs: &'a [SharedClimb],
    feet: RTree<Foot>,
}

/// The sphere that the tree knows and the ellipsoid differ by no more than this share, so that much more is asked of the tree.
const SPHERE_SHARE: f64 = 0.006;

impl<'a> Index<'a> {
    /// Puts climbs into a tree.
    pub fn new(climbs: &'a [SharedClimb]) -> Self {
        let foot =
            |(i, climb): (usize, &SharedClimb)| Foot::new(from_centre_m(climb.start.place()), i);
        Index {
            climbs,
            feet: RTree::bulk_load(climbs.iter().enumerate().map(foot).collect()),
        }
    }

    /// The climbs whose feet are within a distance (metres) of a place, the nearest first, with how far away each is, in metres.
    pub fn within(&self, place: LatLon, within_m: f64) -> Vec<(f64, &'a SharedClimb)> {
        // A chord is never longer than the way over the ground.
        let reach_m = within_m * (1.0 + SPHERE_SHARE);
        let mut near: Vec<(f64, usize)> = self
            .feet
            .locate_within_distance(from_centre_m(place), reach_m * reach_m)
            .map(|foot| {
                let away_m = step_m(place, self.climbs[foot.data].start.place());
                (away_m, foot.data)
            })
            .filter(|(away_m, _)| *away_m <= within_m)
            .collect();
        near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        near.into_iter()
            .map(|(away_m, i)| (away_m, &self.climbs[i]))
            .collect()
    }
}

/// Level road before a climb's foot, in metres: what lies there isn't known, and after so much an easy rider's speed is settled.
const LEAD_M: f64 = 200.0;

/// A climb after a stretch of level road, on which a rider gets going; distances as given are from the foot.
pub fn with_lead(climb: &SharedClimb) -> (Profile, Climb) {
    let spacing_m = climb.trace.spacing_m;
    let lead = (LEAD_M / spacing_m).round() as usize;
    let own: Vec<Node> = climb.trace.nodes().collect();
    let nodes: Vec<Node> = own
        .iter()
        .take(1)
        .cycle()
        .take(lead)
        .chain(&own)
        .copied()
        .collect();
    let count = nodes.len();
    let bearing = |i: usize| {
        let i = i.saturating_sub(lead).min(own.len().saturating_sub(2));
        match own.get(i..i + 2) {
            Some([from, to]) => bearing_rad(from.place, to.place),
            _ => 0.0,
        }
    };
    let elevation_m: Vec<f64> = nodes.iter().map(|n| n.elevation_m).collect();
    let mut grade_pct: Vec<f64> = elevation_m
        .windows(2)
        .map(|pair| 100.0 * (pair[1] - pair[0]) / spacing_m)
        .collect();
    grade_pct.extend(grade_pct.last().copied());
    let profile = Profile {
        spacing_m,
        lat_deg: nodes.iter().map(|n| n.place.lat_deg).collect(),
        lon_deg: nodes.iter().map(|n| n.place.lon_deg).collect(),
        bearing_rad: (0..count).map(bearing).collect(),
        given_m: (0..count)
            .map(|i| (i as f64 - lead as f64) * spacing_m)
            .collect(),
        elevation_m,
        elevation_se_m: vec![0.0; count],
        grade_pct,
        grade_se_pct: vec![climb.grade_se_pct; count],
        turns: vec![Turn {
            node: 0,
            uneven: false,
        }],
        alternatives: Vec::new(),
        observations: vec![Observation::default(); count],
        noise: Noise {
            sd_m: 0.0,
            correlation_m: 0.0,
            reach: 0.0,
            remainder_sd_m: 0.0,
        },
        looks: Looks {
            likeness: Likeness::Barometer,
            step_m: None,
        },
        drift: None,
        warnings: Vec::new(),
    };
    let from_m = lead as f64 * spacing_m;
    let climb = Climb {
        id: 1,
        ascent: 1,
        from_m,
        to_m: profile.length_m(),
        gain_m: climb.gain_m,
        grade_pct: climb.grade_pct,
        grade_se_pct: climb.grade_se_pct,
        grade_sd_pct: climb.grade_sd_pct,
        steepest_100m_pct: climb.grade_pct,
        gentlest_100m_pct: climb.grade_pct,
        kinks_m: Vec::new(),
        doubt: 0.0,
        unsure: None,
    };
    (profile, climb)
}
