//! The code under test: a recording goes in, its steady climbs come out.

use hillwright::climbs::{self, Rule};
use hillwright::profile::Profile;
use hillwright::route::{Recording, clean};

use super::score::Found;

/// Finds the steady climbs of a recording, as the program would.
pub fn find_climbs(recording: &Recording) -> Vec<Found> {
    let Ok(route) = clean(recording.clone(), "bench") else {
        return Vec::new();
    };
    let Ok(profile) = Profile::from_route(&route) else {
        return Vec::new();
    };
    let found = climbs::find(&profile, &Rule::default()).climbs;
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
