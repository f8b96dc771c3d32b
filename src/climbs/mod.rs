//! A profile becomes steady climbs.
//!
//! [`pieces`] cuts it where the road changes its grade, [`stretches`] joins the pieces between those places over kinks that a
//! rider rides through, [`steady`] admits or refuses each stretch by the definition. [`agreement`] does so for each of the roads that
//! the recording allows, and keeps what most of them have; [`ascents`] groups what follows each other uphill. [`find`] runs them.

pub mod agreement;
pub mod ascents;
pub mod doubt;
pub mod pieces;
pub mod steady;
pub mod stretches;

#[cfg(test)]
mod tests;

pub use ascents::{Ascent, Shape};
pub use steady::{Climb, Rule};

use crate::profile::Profile;

/// The climbs of a profile.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Climbs {
    /// Steady climbs in route order; climb 1 is the first.
    pub climbs: Vec<Climb>,
    /// Groups of climbs with next to nothing lost between them.
    pub ascents: Vec<Ascent>,
    /// For each node of the profile, how likely it is that no steady climb lies there; empty where elevations are so fine that it is known.
    pub doubt: Vec<f64>,
    /// What they were found by.
    pub rule: Rule,
}

/// Finds the steady climbs of a profile and the ascents they belong to.
pub fn find(profile: &Profile, rule: &Rule) -> Climbs {
    let (mut climbs, doubt) = agreement::agreed(profile, rule);
    let pieces = pieces::pieces(profile);
    for climb in &mut climbs {
        climb.unsure = doubt::about(climb, rule, &profile.noise);
    }
    let ascents = ascents::group(profile, &pieces, &mut climbs, rule);
    Climbs {
        climbs,
        ascents,
        doubt,
        rule: *rule,
    }
}
