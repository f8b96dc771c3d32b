//! Several riders on one hill.

use super::document::{
    GearName, ShiftEntry, SquadClimbEntry, SquadEntry, SquadPlaceEntry, SquadRiderEntry,
};
use super::text::{Paper, plain};
use super::{place, rounded};
use crate::matching::Candidate;
use crate::matching::squad::{OnClimb, common_climb};
use crate::profile::Profile;

/// Who rides where on a route; `riders` have a name and what each climb is to them.
pub fn squad_entry(
    source: &str,
    profile: &Profile,
    riders: &[(String, Vec<OnClimb>)],
) -> SquadEntry {
    let found: Vec<Vec<OnClimb>> = riders.iter().map(|r| r.1.clone()).collect();
    SquadEntry {
        source: source.to_owned(),
        climb: common_climb(&found),
        riders: riders
            .iter()
            .map(|(name, climbs)| SquadRiderEntry {
                rider: name.clone(),
                climbs: climbs.iter().map(|on| climb_entry(profile, on)).collect(),
            })
            .collect(),
    }
}

fn climb_entry(profile: &Profile, on: &OnClimb) -> SquadClimbEntry {
    SquadClimbEntry {
        climb: on.climb,
        fits: on.fits(),
        places: on.places.iter().map(|c| place_entry(profile, c)).collect(),
        needed_sprocket: on.needed_sprocket,
        why: on.why.clone(),
    }
}

fn place_entry(profile: &Profile, candidate: &Candidate) -> SquadPlaceEntry {
    let shifts = candidate.shifts.iter().map(|shift| ShiftEntry {
        at: place(profile, shift.at_m),
        sprocket: shift.gear.sprocket,
        hub_ratio: shift.gear.hub_ratio,
    });
    SquadPlaceEntry {
        start: place(profile, candidate.start_m),
        end: place(profile, candidate.end_m),
        end_if_fast: place(profile, candidate.end_if_fast_m),
        gear: GearName::from(&candidate.gear),
        shifts: shifts.collect(),
        aim_rpm: rounded(candidate.aim_rpm, 1),
    }
}

/// The hill for all with a line a rider, and the table of climbs by riders.
pub(super) fn squad_text(squad: &SquadEntry, paper: &Paper) -> String {
    let mut out = match squad.climb {
        Some(climb) => format!("One hill for all: climb {climb}.\n"),
        None => "No climb suits all riders.\n".to_owned(),
    };
    for rider in &squad.riders {
        let common = rider.climbs.iter().find(|c| Some(c.climb) == squad.climb);
        for spot in common.iter().flat_map(|c| &c.places) {
            out += &paper.wrapped(&rider_line(&plain(&rider.rider, 40), spot, paper), 2);
        }
    }
    out.push('\n');
    let mut head = vec!["climb"];
    let names: Vec<String> = squad.riders.iter().map(|r| plain(&r.rider, 18)).collect();
    head.extend(names.iter().map(String::as_str));
    let climbs = squad.riders.first().map_or(0, |r| r.climbs.len());
    let rows = (0..climbs).map(|i| {
        let number = squad.riders[0].climbs[i].climb.to_string();
        let cells = squad.riders.iter().map(|r| cell(&r.climbs[i], paper));
        [number].into_iter().chain(cells).collect()
    });
    out += &paper.table(&head, rows.collect(), &[]);
    out += &paper.wrapped(
        &format!(
            "Gear and start ({}) of the first block; +T: fits with a largest sprocket of T teeth; –: does not fit.",
            paper.far_unit()
        ),
        0,
    );
    out
}

fn rider_line(name: &str, spot: &SquadPlaceEntry, paper: &Paper) -> String {
    let ring = spot.gear.chainring;
    let shifts = spot.shifts.iter().map(|shift| {
        let at = paper.far(shift.at.distance_m);
        format!(", at {at} {ring}×{}", shift.sprocket)
    });
    format!(
        "- {name}: start at {}, stop near {} ({} if fast), {ring}×{}{}, {:.0} rpm.",
        paper.far(spot.start.distance_m),
        paper.far(spot.end.distance_m),
        paper.far(spot.end_if_fast.distance_m),
        spot.gear.sprocket,
        shifts.collect::<String>(),
        spot.aim_rpm
    )
}

fn cell(climb: &SquadClimbEntry, paper: &Paper) -> String {
    match (climb.places.first(), climb.needed_sprocket) {
        (Some(spot), _) => format!(
            "{}×{} from {}",
            spot.gear.chainring,
            spot.gear.sprocket,
            paper.far_number(spot.start.distance_m)
        ),
        (None, Some(teeth)) => format!("+{teeth}"),
        (None, None) => "–".to_owned(),
    }
}
