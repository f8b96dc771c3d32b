//! The climbs around a place.

use super::document::{NearDocument, NearEntry, RideEntry, SeenEntry, SharedEntry};
use super::shared::{grade_cell, halts, seen_on};
use super::text::Paper;
use super::{climbs_text, rounded};
use crate::archive::same::SharedClimb;
use crate::route::{LatLon, bearing_rad};

/// What was asked.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// Around where.
    pub place: LatLon,
    /// How far from it climbs may start, in metres.
    pub within_m: f64,
    /// How long they must take at least, in seconds.
    pub longer_than_s: Option<f64>,
}

/// Puts the climbs around a place into a document, the nearest first.
pub fn document(asked: &Asked, routes: usize, climbs: Vec<NearEntry>) -> NearDocument {
    NearDocument {
        schema: "hillwright.near/1".to_owned(),
        lat: asked.place.lat_deg,
        lon: asked.place.lon_deg,
        within_m: asked.within_m,
        longer_than_s: asked.longer_than_s,
        routes,
        climbs,
    }
}

/// Whether a climb takes as long as was asked for, and can be ridden at all.
pub fn is_long_enough(climb: &SharedEntry, asked: &Asked) -> bool {
    match (&climb.ride, asked.longer_than_s) {
        (Some(ride), Some(least_s)) => !ride.stalls && ride.duration_s >= least_s,
        _ => true,
    }
}

/// One climb of the document.
pub fn entry(
    id: usize,
    asked: &Asked,
    away_m: f64,
    climb: &SharedClimb,
    shared: SharedEntry,
) -> NearEntry {
    let (foot, top) = (climb.start.place(), climb.end.place());
    NearEntry {
        id,
        away_m: rounded(away_m, 0),
        direction_deg: rounded(bearing_rad(asked.place, foot).to_degrees(), 0),
        goes_deg: rounded(bearing_rad(foot, top).to_degrees(), 0),
        climb: shared,
    }
}

/// The document as a table.
pub fn text(document: &NearDocument, paper: &Paper) -> String {
    let count =
        |n: usize, one: &str, many: &str| format!("{n} {}", if n == 1 { one } else { many });
    let mut out = format!(
        "{} within {} of {:.5},{:.5}, from {}\n",
        count(document.climbs.len(), "climb", "climbs"),
        paper.far(document.within_m),
        document.lat,
        document.lon,
        count(document.routes, "route", "routes"),
    );
    if document.climbs.is_empty() {
        return out;
    }
    out.push('\n');
    out += &table(document, paper);
    out += "\nWhere they start:\n";
    out += &starts(document, paper);
    let halted = document.climbs.iter().filter(|c| !c.climb.halts.is_empty());
    for near in halted {
        let line = format!("Climb {}: {}.", near.id, halts(&near.climb, paper));
        out += &paper.wrapped(&line, 2);
    }
    out
}

fn table(document: &NearDocument, paper: &Paper) -> String {
    let timed = document.climbs.iter().find_map(|c| c.climb.ride.as_ref());
    let has_room = paper.width >= 100;
    let mut head = vec!["climb".to_owned(), format!("away {}", paper.far_unit())];
    head.extend(["length", "grade"].map(str::to_owned));
    if let Some(ride) = timed {
        head.push(climbs_text::time_head(ride));
        head.extend(has_room.then(|| "gear".to_owned()));
    }
    head.push("routes".to_owned());
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows = document
        .climbs
        .iter()
        .map(|c| row(c, paper, has_room))
        .collect();
    let mut out = paper.table(&head, rows, &[1]);
    let mut reading =
        "away: to the foot as the crow flies, and where it goes from there. ±".to_owned();
    if timed.is_some() {
        reading += " and times in brackets";
    }
    out += &paper.wrapped(&(reading + ": nine times in ten it lies there."), 0);
    out
}

fn row(near: &NearEntry, paper: &Paper, has_room: bool) -> Vec<String> {
    let climb = &near.climb;
    let mut row = vec![
        near.id.to_string(),
        format!(
            "{} {} → {}",
            paper.far_number(near.away_m),
            point_of_the_compass(near.direction_deg),
            point_of_the_compass(near.goes_deg)
        ),
    ];
    row.push(paper.short(climb.length_m));
    row.push(grade_cell(climb));
    if let Some(ride) = &climb.ride {
        row.push(climbs_text::time_cell(ride));
        row.extend(has_room.then(|| gear_cell(ride)));
    }
    row.push(climb.routes.to_string());
    row
}

/// Each foot as coordinates, and as a distance along a route that goes there.
fn starts(document: &NearDocument, paper: &Paper) -> String {
    let at = format!("at {}", paper.far_unit());
    let head = ["climb", "latitude, longitude", &at, "of", "climb there"];
    let row = |near: &NearEntry| {
        let start = &near.climb.start;
        let reference = near.climb.seen.iter().find(|s| s.is_reference);
        let known = |text: &dyn Fn(&SeenEntry) -> String| reference.map_or(String::new(), text);
        vec![
            near.id.to_string(),
            format!("{:.5},{:.5}", start.lat, start.lon),
            known(&|s| paper.far_number(s.start_m)),
            known(&|s| seen_on(s, 30)),
            known(&|s| s.climb.to_string()),
        ]
    };
    paper.table(&head, document.climbs.iter().map(row).collect(), &[3])
}

fn gear_cell(ride: &RideEntry) -> String {
    ride.gear.map_or("–".to_owned(), |g| g.to_string())
}

pub(super) fn point_of_the_compass(direction_deg: f64) -> &'static str {
    const POINTS: [&str; 8] = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"];
    POINTS[(direction_deg / 45.0).round() as usize % POINTS.len()]
}
