//! The steady climbs on a route.

use super::document::{
    AscentEntry, ClimbEntry, ClimbsDocument, ElevationEntry, Range, RideEntry, RouteEntry,
};
use super::text::{Paper, plain};
use super::{place, rounded};
use crate::climbs::{Ascent, Climb, Climbs, Shape};
use crate::prescription::duration_text;
use crate::profile::Profile;
use crate::ride::Passage;
use crate::route::Route;
use crate::terrain::choose::Origin;

/// Puts routes with the climbs found on them into a document.
pub fn document(routes: Vec<RouteEntry>) -> ClimbsDocument {
    ClimbsDocument {
        schema: "hillwright.climbs/1".to_owned(),
        routes,
    }
}

/// One route of the document; `rides` has one entry a climb, or none at all.
pub fn route_entry(
    route: &Route,
    profile: &Profile,
    origin: Origin,
    found: &Climbs,
    rides: &[Passage],
) -> RouteEntry {
    let (ascent_m, descent_m) = profile.ascent_descent_m();
    RouteEntry {
        source: route.source.clone(),
        name: route.name.clone(),
        points: route.points.len(),
        length_m: rounded(route.length_m, 1),
        ascent_m: rounded(ascent_m, 0),
        descent_m: rounded(descent_m, 0),
        is_loop: route.is_loop,
        elevation: elevation_entry(profile, origin),
        warnings: warnings(route, profile),
        ascents: found
            .ascents
            .iter()
            .map(|a| ascent_entry(profile, a))
            .collect(),
        climbs: found
            .climbs
            .iter()
            .enumerate()
            .map(|(i, c)| climb_entry(profile, c, rides.get(i)))
            .collect(),
    }
}

/// Where a profile's elevations are from, and how good they are.
pub fn elevation_entry(profile: &Profile, origin: Origin) -> ElevationEntry {
    ElevationEntry {
        source: origin.source.word().to_owned(),
        noise_m: rounded(profile.noise.total_sd_m(), 2),
        correlation_m: rounded(profile.noise.correlation_m, 0),
        voids: origin.voids,
    }
}

/// Everything that was dropped, filled or guessed on the way from the file to the profile.
pub fn warnings(route: &Route, profile: &Profile) -> Vec<String> {
    route
        .warnings
        .iter()
        .chain(&profile.warnings)
        .cloned()
        .collect()
}

fn ascent_entry(profile: &Profile, ascent: &Ascent) -> AscentEntry {
    AscentEntry {
        id: ascent.id,
        start: place(profile, ascent.from_m),
        end: place(profile, ascent.to_m),
        gain_m: rounded(ascent.gain_m, 1),
        climbs: ascent.climbs.clone(),
        shape: shape_name(ascent.shape).to_owned(),
    }
}

fn shape_name(shape: Shape) -> &'static str {
    match shape {
        Shape::Even => "even",
        Shape::Steepening => "steepening",
        Shape::Easing => "easing",
        Shape::Mixed => "mixed",
    }
}

/// A climb as documents have it.
pub fn climb_entry(profile: &Profile, climb: &Climb, ride: Option<&Passage>) -> ClimbEntry {
    ClimbEntry {
        id: climb.id,
        ascent: climb.ascent,
        start: place(profile, climb.from_m),
        end: place(profile, climb.to_m),
        length_m: rounded(climb.length_m(), 1),
        gain_m: rounded(climb.gain_m, 1),
        grade_pct: rounded(climb.grade_pct, 2),
        grade_se_pct: rounded(climb.grade_se_pct, 2),
        grade_sd_pct: rounded(climb.grade_sd_pct, 2),
        steepest_100m_pct: rounded(climb.steepest_100m_pct, 1),
        gentlest_100m_pct: rounded(climb.gentlest_100m_pct, 1),
        ride: ride.map(|r| ride_entry(climb, r)),
        suits: None,
        why: None,
    }
}

fn ride_entry(climb: &Climb, ride: &Passage) -> RideEntry {
    RideEntry {
        power_w: rounded(ride.power_w, 0),
        entry_speed_kmh: rounded(3.6 * ride.entry_speed_ms, 1),
        duration_s: rounded(ride.duration.mid_s, 1),
        duration_range_s: Range {
            low: rounded(ride.duration.low_s, 0),
            high: rounded(ride.duration.high_s, 0),
        },
        speed_kmh: rounded(3.6 * climb.length_m() / ride.duration.mid_s, 1),
    }
}

/// The document as a table for each route.
pub fn text(document: &ClimbsDocument, paper: &Paper) -> String {
    document
        .routes
        .iter()
        .map(|route| route_text(route, paper))
        .collect::<Vec<_>>()
        .join("\n")
}

fn route_text(route: &RouteEntry, paper: &Paper) -> String {
    let mut out = title(&route.source, route.name.as_deref());
    let shape = if route.is_loop { "loop" } else { "one way" };
    out += &paper.wrapped(
        &format!(
            "{} {shape}, {} up, elevation {} (±{:.1} m)",
            paper.far(route.length_m),
            paper.short(route.ascent_m),
            route.elevation.source,
            route.elevation.noise_m
        ),
        0,
    );
    out.push('\n');
    if route.climbs.is_empty() {
        out += "No steady climb: none of 400 m or more at 3 % or more whose grade holds.\n";
    } else {
        out += &climbs_table(route, paper);
    }
    let uneven: Vec<&AscentEntry> = route
        .ascents
        .iter()
        .filter(|a| a.climbs.is_empty())
        .collect();
    if !uneven.is_empty() {
        let listed: Vec<String> = uneven
            .iter()
            .map(|a| {
                let length_m = a.end.distance_m - a.start.distance_m;
                format!(
                    "{}–{} ({:.1} % {})",
                    paper.far_number(a.start.distance_m),
                    paper.far(a.end.distance_m),
                    100.0 * a.gain_m / length_m,
                    uneven_word(&a.shape)
                )
            })
            .collect();
        out.push('\n');
        out += &paper.wrapped(&format!("Uphill but not steady: {}.", listed.join(", ")), 2);
    }
    out + &notes(&route.warnings, paper)
}

fn uneven_word(shape: &str) -> &str {
    match shape {
        "even" | "mixed" => "uneven",
        other => other,
    }
}

/// Columns that the whole table of climbs takes; on narrower paper the gain is left out.
const WHOLE_TABLE_COLUMNS: u16 = 84;

fn climbs_table(route: &RouteEntry, paper: &Paper) -> String {
    let unit = paper.far_unit();
    let whole = paper.width >= WHOLE_TABLE_COLUMNS;
    let timed = route.climbs.iter().find_map(|c| c.ride.as_ref());
    let mut head = vec![
        "climb".to_owned(),
        format!("from {unit}"),
        format!("to {unit}"),
        "length".to_owned(),
    ];
    head.extend(whole.then(|| "gain".to_owned()));
    head.extend(["grade".to_owned(), "100 m by 100 m".to_owned()]);
    head.extend(timed.map(|r| format!("time at {:.0} W", r.power_w)));
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows = route
        .climbs
        .iter()
        .map(|c| climb_row(c, paper, whole))
        .collect();
    paper.table(&head, rows, &[])
        + &paper.wrapped("100 m by 100 m: gentlest to steepest. ± and brackets: nine times in ten it lies there.", 0)
}

fn climb_row(climb: &ClimbEntry, paper: &Paper, whole: bool) -> Vec<String> {
    let mut row = vec![
        climb.id.to_string(),
        paper.far_number(climb.start.distance_m),
        paper.far_number(climb.end.distance_m),
        paper.short(climb.length_m),
    ];
    row.extend(whole.then(|| paper.short(climb.gain_m)));
    // Half a step of the last digit shown is the least that can be stated.
    let nine_in_ten_pct = (1.645 * climb.grade_se_pct).max(0.05);
    row.push(format!("{:.1} ± {nine_in_ten_pct:.1} %", climb.grade_pct));
    row.push(format!(
        "{:.1}–{:.1} %",
        climb.gentlest_100m_pct, climb.steepest_100m_pct
    ));
    row.extend(climb.ride.as_ref().map(|ride| {
        let range = ride.duration_range_s;
        let clock = duration_text;
        format!(
            "{} ({}–{})",
            clock(ride.duration_s),
            clock(range.low),
            clock(range.high)
        )
    }));
    row
}

/// A route's heading.
pub(super) fn title(source: &str, name: Option<&str>) -> String {
    match name {
        Some(name) => format!("{} ({})\n", plain(name, 60), plain(source, 80)),
        None => format!("{}\n", plain(source, 80)),
    }
}

/// What a rider should know about the data.
pub(super) fn notes(warnings: &[String], paper: &Paper) -> String {
    if warnings.is_empty() {
        return String::new();
    }
    let mut out = "\nAbout the data:\n".to_owned();
    for warning in warnings {
        out += &paper.wrapped(&format!("- {}", plain(warning, 400)), 2);
    }
    out
}
