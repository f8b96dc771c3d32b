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
    if squad.riders.is_empty() {
        return out;
    }
    let all: Vec<String> = (0..squad.riders[0].climbs.len())
        .filter(|&i| squad.riders.iter().all(|r| r.climbs[i].fits))
        .map(|i| squad.riders[0].climbs[i].climb.to_string())
        .collect();
    if all.len() > 1 {
        let text = format!("Climbs that suit all: {}.", all.join(", "));
        out += &paper.wrapped(&text, 0);
    }
    let abreast = (usize::from(paper.width).saturating_sub(CLIMB_COLUMNS) / RIDER_COLUMNS).max(1);
    for riders in squad.riders.chunks(abreast) {
        out.push('\n');
        out += &riders_table(riders, paper);
    }
    out += &paper.wrapped(
        &format!(
            "Gear and start ({}) of the first block; +T: fits with a largest sprocket of T teeth; –: does not fit.",
            paper.far_unit()
        ),
        0,
    );
    if squad.climb.is_none() {
        let reasons = reasons(squad);
        for line in reasons.iter().take(MOST_REASONS) {
            out += &paper.wrapped(line, 2);
        }
        if reasons.len() > MOST_REASONS {
            let more = reasons.len() - MOST_REASONS;
            out += &paper.wrapped(&format!("- {more} more reasons are in the JSON."), 2);
        }
    }
    out
}

/// More reasons are not told one by one.
const MOST_REASONS: usize = 8;

/// Why each climb does not fit, for whom; where one sprocket is all it takes the table says so.
fn reasons(squad: &SquadEntry) -> Vec<String> {
    let mut told: Vec<String> = Vec::new();
    for (i, climb) in squad.riders[0].climbs.iter().enumerate() {
        let mut whose: Vec<(&str, Vec<String>)> = Vec::new();
        for rider in &squad.riders {
            let on = &rider.climbs[i];
            if on.fits || on.needed_sprocket.is_some() {
                continue;
            }
            let name = plain(&rider.rider, 40);
            match whose.iter_mut().find(|(why, _)| *why == on.why) {
                Some((_, names)) => names.push(name),
                None => whose.push((&on.why, vec![name])),
            }
        }
        let lines = whose.into_iter().map(|(why, names)| {
            let (names, why) = (names.join(", "), why.trim_end_matches('.'));
            format!("- climb {}, {names}: {why}.", climb.climb)
        });
        told.extend(lines);
    }
    told
}

/// Columns that the climbs' numbers and a rider take in a table, at most.
const CLIMB_COLUMNS: usize = 7;
const RIDER_COLUMNS: usize = 20;

/// Climbs by riders.
fn riders_table(riders: &[SquadRiderEntry], paper: &Paper) -> String {
    let names: Vec<String> = riders
        .iter()
        .map(|r| plain(&r.rider, RIDER_COLUMNS - 2))
        .collect();
    let head: Vec<&str> = ["climb"]
        .into_iter()
        .chain(names.iter().map(String::as_str))
        .collect();
    let rows = (0..riders[0].climbs.len()).map(|i| {
        let number = riders[0].climbs[i].climb.to_string();
        let cells = riders.iter().map(|r| cell(&r.climbs[i], paper));
        [number].into_iter().chain(cells).collect()
    });
    paper.table(&head, rows.collect(), &[])
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
