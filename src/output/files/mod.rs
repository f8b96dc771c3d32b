//! Files to ride with and to work with, one a format.

pub mod csv;
pub mod geojson;
pub mod gpx;
pub mod kml;
#[cfg(feature = "parquet")]
pub mod parquet;
mod stretch;
mod waypoints;

use super::document::{AskedEntry, ClimbEntry, PlanEntry, RepEntry};
use super::plan_words::{fit, turning_offer};
use super::text::clean;
use crate::route::Route;

use waypoints::{of_climb, of_reps};

/// A route with what was found on it: what files to ride with hold.
#[derive(Debug, Clone, Copy)]
pub struct Ride<'a> {
    /// The route, its elevations as its file has them.
    pub route: &'a Route,
    /// The climbs.
    pub climbs: &'a [ClimbEntry],
    /// The reps; none where only climbs were asked for.
    pub reps: &'a [RepEntry],
    /// How often the route is ridden.
    pub laps: usize,
    /// The plan and what it was made for; none where only climbs were asked for.
    pub plan: Option<(&'a PlanEntry, &'a AskedEntry)>,
    /// What every plan says; empty where only climbs were asked for.
    pub cautions: &'a [String],
}

/// A place with a name that says all on a small screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Waypoint {
    /// In ASCII, such as `Rep 3 START 50x24 55rpm`.
    pub name: String,
    /// More about it.
    pub about: String,
    /// Where it is.
    pub at: super::document::Place,
}

impl Ride<'_> {
    /// The route's name, or the file's without its folders and ending.
    pub fn name(&self) -> String {
        let name = self.route.name.as_deref().map(clean);
        let stem = || {
            let file = std::path::Path::new(&self.route.source);
            clean(&file.file_stem().unwrap_or_default().to_string_lossy())
        };
        name.filter(|n| !n.trim().is_empty()).unwrap_or_else(stem)
    }

    /// Start, shifts and stop of each rep, reps on the same stretch together; without reps, foot and top of each climb.
    pub fn waypoints(&self) -> Vec<Waypoint> {
        if self.reps.is_empty() {
            return self.climbs.iter().flat_map(of_climb).collect();
        }
        of_reps(self)
    }

    /// What is to be known before it is ridden: how far the set fits, what turning round would bring, the cautions.
    pub fn remarks(&self) -> Vec<String> {
        let verdict = self.plan.map(|(route, asked)| {
            let all = route.reps.len() + route.unplaced.len();
            format!("{}.", fit(&route.reps, all, asked))
        });
        let offer = self.plan.and_then(|(route, _)| turning_offer(route));
        let offer = offer.map(|offer| format!("But {offer}: add --turn-round."));
        verdict
            .into_iter()
            .chain(offer)
            .chain(self.cautions.iter().cloned())
            .collect()
    }
}
