//! The code under test: a recording goes in, its steady climbs come out.

use hillwright::climbs::{self, Climbs, Rule};
use hillwright::profile::Profile;
use hillwright::profile::sources::{self, Wanted};
use hillwright::route::{Recording, Route, clean};
use hillwright::terrain::{Tiles, along};

use super::score::Found;

/// Finds the steady climbs of a recording, as the program would.
pub fn find_climbs(recording: &Recording) -> Vec<Found> {
    let Ok(route) = clean(recording.clone(), "bench") else {
        return Vec::new();
    };
    Profile::from_route(&route).map_or_else(|_| Vec::new(), |profile| climbs_of(&profile))
}

/// The climbs of a recording and the ascents they belong to.
pub fn climbs_and_ascents(recording: &Recording) -> Option<Climbs> {
    let route = clean(recording.clone(), "bench").ok()?;
    let profile = Profile::from_route(&route).ok()?;
    Some(climbs::find(&profile, &Rule::default()))
}

/// How tiles are used.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Using {
    /// As the program chooses.
    Auto,
    /// Tiles alone.
    Tiles,
    /// Both together, whether that is better or not.
    Both,
}

/// Finds the steady climbs of a recording with elevation tiles beside it.
pub fn find_climbs_with(recording: &Recording, tiles: &Tiles, using: Using) -> Vec<Found> {
    let Ok(route) = clean(recording.clone(), "bench") else {
        return Vec::new();
    };
    profile_with(&route, tiles, using).map_or_else(Vec::new, |profile| climbs_of(&profile))
}

fn profile_with(route: &Route, tiles: &Tiles, using: Using) -> Option<Profile> {
    let sourced = match using {
        Using::Auto => sources::profile(route, Wanted::Auto, tiles).ok()?,
        Using::Tiles => sources::profile(route, Wanted::Tiles, tiles).ok()?,
        Using::Both => sources::from_both(route, &along(route, tiles).ok()?).ok()??,
    };
    Some(sourced.profile)
}

fn climbs_of(profile: &Profile) -> Vec<Found> {
    let found = climbs::find(profile, &Rule::default()).climbs;
    found
        .iter()
        .map(|climb| {
            let (start_lat_deg, start_lon_deg) = profile.position_at(climb.from_m);
            let (end_lat_deg, end_lon_deg) = profile.position_at(climb.to_m);
            Found {
                start_lat_deg,
                start_lon_deg,
                end_lat_deg,
                end_lon_deg,
                grade_pct: climb.grade_pct,
                grade_se_pct: Some(climb.grade_se_pct),
            }
        })
        .collect()
}
