//! The line of a climb, packed: whole numbers of small units, each as the step from the one before.

use serde::{Deserialize, Serialize};

use crate::profile::Profile;
use crate::route::LatLon;

/// Units of a position in a degree: 1.1 cm of latitude.
const PER_DEGREE: f64 = 1e7;
/// Units of an elevation in a metre.
const PER_METRE: f64 = 1000.0;

/// A line with elevations at even steps; six bytes a node in the cache, twelve in memory.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Trace {
    /// Distance between nodes along the road, in metres.
    pub spacing_m: f64,
    /// Latitude and longitude in ten-millionths of a degree and elevation in millimetres: of the first node from 0, of the others
    /// from the node before.
    steps: Vec<(i32, i32, i32)>,
}

/// One node of a trace.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Node {
    /// Where it is.
    pub place: LatLon,
    /// Its elevation, in metres.
    pub elevation_m: f64,
}

impl Trace {
    /// The part of a profile between two distances along its road, in metres, ends moved to the nearest nodes.
    pub fn of(profile: &Profile, from_m: f64, to_m: f64) -> Trace {
        let (first, last) = (profile.node_at(from_m), profile.node_at(to_m));
        let nodes = (first..=last).map(|i| Node {
            place: LatLon {
                lat_deg: profile.lat_deg[i],
                lon_deg: profile.lon_deg[i],
            },
            elevation_m: profile.elevation_m[i],
        });
        Trace::from_nodes(profile.spacing_m, nodes)
    }

    /// Packs nodes at even steps.
    pub fn from_nodes(spacing_m: f64, nodes: impl Iterator<Item = Node>) -> Trace {
        let mut before = (0, 0, 0);
        let steps = nodes.map(|node| {
            let now = (
                (node.place.lat_deg * PER_DEGREE).round() as i32,
                (node.place.lon_deg * PER_DEGREE).round() as i32,
                (node.elevation_m * PER_METRE).round() as i32,
            );
            // Across the antimeridian a step is nearly a full turn, more than 32 bits hold: it wraps, and wraps back.
            let step = (
                now.0.wrapping_sub(before.0),
                now.1.wrapping_sub(before.1),
                now.2.wrapping_sub(before.2),
            );
            before = now;
            step
        });
        Trace {
            spacing_m,
            steps: steps.collect(),
        }
    }

    /// The nodes, from foot to top.
    pub fn nodes(&self) -> impl Iterator<Item = Node> + '_ {
        let mut at = (0_i32, 0_i32, 0_i32);
        self.steps.iter().map(move |step| {
            at = (
                at.0.wrapping_add(step.0),
                at.1.wrapping_add(step.1),
                at.2.wrapping_add(step.2),
            );
            Node {
                place: LatLon {
                    lat_deg: f64::from(at.0) / PER_DEGREE,
                    lon_deg: f64::from(at.1) / PER_DEGREE,
                },
                elevation_m: f64::from(at.2) / PER_METRE,
            }
        })
    }

    /// Number of nodes.
    pub fn len(&self) -> usize {
        self.steps.len()
    }

    /// Whether it has no nodes.
    pub fn is_empty(&self) -> bool {
        self.steps.is_empty()
    }

    /// Length along the road, in metres.
    pub fn length_m(&self) -> f64 {
        self.spacing_m * self.steps.len().saturating_sub(1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn what_is_packed_comes_back_to_the_centimetre(
            nodes in proptest::collection::vec((-90.0_f64..=90.0, -180.0_f64..=180.0, -500.0_f64..9000.0), 0..20)
        ) {
            let node = |&(lat_deg, lon_deg, elevation_m): &(f64, f64, f64)| Node { place: LatLon { lat_deg, lon_deg }, elevation_m };
            let trace = Trace::from_nodes(10.0, nodes.iter().map(node));
            let packed = postcard::to_stdvec(&trace).unwrap();
            let back: Trace = postcard::from_bytes(&packed).unwrap();
            prop_assert_eq!(back.len(), nodes.len());
            for (had, has) in nodes.iter().zip(back.nodes()) {
                prop_assert!((had.0 - has.place.lat_deg).abs() < 0.6 / PER_DEGREE);
                prop_assert!((had.1 - has.place.lon_deg).abs() < 0.6 / PER_DEGREE);
                prop_assert!((had.2 - has.elevation_m).abs() < 0.6 / PER_METRE);
            }
        }
    }
}
