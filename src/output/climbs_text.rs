//! The climbs as people read them.

use super::document::{
    AscentEntry, ClimbEntry, ClimbsDocument, ElevationEntry, GearName, RideEntry, RouteEntry,
};
use super::shared;
use super::text::{Paper, plain};
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// The document as a table for each route; the first one has a picture of its profile.
pub fn text(document: &ClimbsDocument, picture: &str, paper: &Paper) -> String {
    let pictures = std::iter::once(picture).chain(std::iter::repeat(""));
    document
        .routes
        .iter()
        .zip(pictures)
        .map(|(route, picture)| route_text(route, picture, paper))
        .collect::<Vec<_>>()
        .join("\n")
        + &shared::table(&document.shared, paper)
}

fn route_text(route: &RouteEntry, picture: &str, paper: &Paper) -> String {
    let mut out = title(&route.source, route.name.as_deref());
    let shape = if route.is_loop {
        "loop"
    } else {
        "point to point"
    };
    out += &paper.wrapped(
        &format!(
            "{} {shape}, {} up; {}",
            paper.far(route.length_m),
            paper.short(route.ascent_m),
            elevation_words(&route.elevation)
        ),
        0,
    );
    out.push('\n');
    if !picture.is_empty() {
        out += picture;
        out.push('\n');
    }
    if route.climbs.is_empty() {
        out += "No steady climb: none of 400 m or more at 3 % or more whose grade holds.\n";
    } else {
        out += &climbs_table(route, paper);
        out += &unsure_climbs(route).map_or(String::new(), |told| paper.wrapped(&told, 2));
        for line in shift_lines(route, paper) {
            out += &paper.wrapped(&line, 2);
        }
    }
    if let Some(uneven) = uneven_ascents(route, paper) {
        out.push('\n');
        out += &paper.wrapped(&uneven, 2);
    }
    out + &notes(&route.warnings, paper)
}

/// Ascents without a steady climb, in a line; none where there are none.
pub(super) fn uneven_ascents(route: &RouteEntry, paper: &Paper) -> Option<String> {
    let uneven = route.ascents.iter().filter(|a| a.climbs.is_empty());
    let one = |a: &AscentEntry| {
        let length_m = a.end.distance_m - a.start.distance_m;
        format!(
            "{}–{} ({:.1} % {})",
            paper.far_number(a.start.distance_m),
            paper.far(a.end.distance_m),
            100.0 * a.gain_m / length_m,
            uneven_word(&a.shape)
        )
    };
    let listed: Vec<String> = uneven.map(one).collect();
    (!listed.is_empty()).then(|| format!("Uphill but not steady: {}.", listed.join(", ")))
}

/// Where elevations are from, and what they look like, in a line.
pub(super) fn elevation_words(elevation: &ElevationEntry) -> String {
    format!("elevation {}: {}", elevation.source, elevation.looks_like)
}

fn uneven_word(shape: &str) -> &str {
    match shape {
        "even" | "mixed" => "uneven",
        other => other,
    }
}

/// What the question marks in the table mean; none where there are none.
pub(super) fn unsure_climbs(route: &RouteEntry) -> Option<String> {
    let doubts: Vec<String> = route
        .climbs
        .iter()
        .filter_map(|c| Some(format!("climb {}: {}", c.id, c.unsure.as_deref()?)))
        .collect();
    (!doubts.is_empty()).then(|| format!("? Unsure. {}.", doubts.join("; ")))
}

/// Which columns a table of climbs has room for.
struct Columns {
    gain: bool,
    by_100_m: bool,
}

impl Columns {
    /// The widths are those of the tables themselves.
    fn on(paper: &Paper, timed: bool) -> Columns {
        let (for_gain, for_by_100_m) = if timed { (104, 95) } else { (66, 57) };
        Columns {
            gain: paper.width >= for_gain,
            by_100_m: paper.width >= for_by_100_m,
        }
    }
}

fn climbs_table(route: &RouteEntry, paper: &Paper) -> String {
    let unit = paper.far_unit();
    let timed = route.climbs.iter().find_map(|c| c.ride.as_ref());
    let columns = Columns::on(paper, timed.is_some());
    let mut head = vec![
        "climb".to_owned(),
        format!("from {unit}"),
        format!("to {unit}"),
        "length".to_owned(),
    ];
    head.extend(columns.gain.then(|| "gain".to_owned()));
    head.push("grade".to_owned());
    head.extend(columns.by_100_m.then(|| "100 m by 100 m".to_owned()));
    if let Some(ride) = timed {
        head.extend([time_head(ride), "gear".to_owned(), "rpm".to_owned()]);
    }
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let rows = route
        .climbs
        .iter()
        .map(|c| climb_row(c, paper, &columns))
        .collect();
    paper.table(&head, rows, &[]) + &paper.wrapped(&reading(route, &columns), 0)
}

fn climb_row(climb: &ClimbEntry, paper: &Paper, columns: &Columns) -> Vec<String> {
    let mut row = vec![
        climb.id.to_string(),
        paper.far_number(climb.start.distance_m),
        paper.far_number(climb.end.distance_m),
        paper.short(climb.length_m),
    ];
    row.extend(columns.gain.then(|| paper.short(climb.gain_m)));
    // Half a step of the last digit shown is the least that can be stated.
    let nine_in_ten_pct = (1.645 * climb.grade_se_pct).max(0.05);
    let unsure = if climb.unsure.is_some() { " ?" } else { "" };
    row.push(format!(
        "{:.1} ± {nine_in_ten_pct:.1} %{unsure}",
        climb.grade_pct
    ));
    let by_100_m = format!(
        "{:.1}–{:.1} %",
        climb.gentlest_100m_pct, climb.steepest_100m_pct
    );
    row.extend(columns.by_100_m.then_some(by_100_m));
    if let Some(ride) = &climb.ride {
        row.push(time_cell(ride));
        row.push(ride.gear.map_or("–".to_owned(), |g| g.to_string()));
        row.push(cadence_cell(ride));
    }
    row
}

pub(super) fn time_head(ride: &RideEntry) -> String {
    let band = ride.power_band_w;
    if ride.pacing == Pacing::Cadence.name() {
        format!("time at {:.0}–{:.0} W", band.from, band.to)
    } else {
        format!("time at {:.0} W", band.aim)
    }
}

/// Where shifts keep the cadence in its band for longer than one gear does, a sentence a climb.
fn shift_lines(route: &RouteEntry, paper: &Paper) -> Vec<String> {
    let shifting = route.climbs.iter().filter_map(|climb| {
        let ride = climb.ride.as_ref()?;
        Some((climb, ride, ride.gear?, ride.shifting.as_ref()?))
    });
    shifting
        .map(|(climb, ride, gear, shifting)| {
            let shifts: Vec<String> = shifting
                .shifts
                .iter()
                .map(|s| {
                    let to = GearName {
                        sprocket: s.sprocket,
                        hub_ratio: s.hub_ratio,
                        ..shifting.gear
                    };
                    format!("{to} at {}", paper.far(s.at.distance_m))
                })
                .collect();
            let count = match shifts.len() {
                0 => "without a shift".to_owned(),
                1 => "with one shift".to_owned(),
                n => format!("with {n} shifts"),
            };
            format!(
                "Climb {}: {gear} holds {:.0}–{:.0} rpm {:.0} % of the time; {count} {:.0} %: {}.",
                climb.id,
                ride.cadence_band_rpm.from,
                ride.cadence_band_rpm.to,
                ride.in_band_pct.unwrap_or(0.0),
                shifting.in_band_pct,
                std::iter::once(shifting.gear.to_string())
                    .chain(shifts)
                    .collect::<Vec<_>>()
                    .join(", ")
            )
        })
        .collect()
}

pub(super) fn time_cell(ride: &RideEntry) -> String {
    if ride.stalls {
        return "walks".to_owned();
    }
    let range = ride.duration_range_s;
    let [mid, low, high] = [ride.duration_s, range.low, range.high].map(duration_text);
    format!("{mid} ({low}–{high})")
}

fn cadence_cell(ride: &RideEntry) -> String {
    match (ride.cadence_rpm, ride.cadence_range_rpm) {
        (Some(mean), Some(range)) => format!("{mean:.0} ({:.0}–{:.0})", range.low, range.high),
        _ => "–".to_owned(),
    }
}

/// How to read the table.
fn reading(route: &RouteEntry, columns: &Columns) -> String {
    let mut text = String::new();
    if columns.by_100_m {
        text += "100 m by 100 m: gentlest to steepest. ";
    }
    text += "±";
    let rides: Vec<&RideEntry> = route
        .climbs
        .iter()
        .filter_map(|c| c.ride.as_ref())
        .collect();
    if rides.is_empty() {
        return text + ": nine times in ten it lies there.";
    }
    text += " and times in brackets: nine times in ten it lies there";
    if let Some(largest) = most_frequent(&rides) {
        text += &format!(" (mostly for not knowing the {largest})");
    }
    text += ". rpm: mean, and range nine tenths of the time, in that gear.";
    if rides.iter().any(|r| r.stalls) {
        text += " walks: the power is too little for the grade.";
    }
    text
}

/// What most often makes most of a time's range.
fn most_frequent<'a>(rides: &[&'a RideEntry]) -> Option<&'a str> {
    let count = |name: &str| rides.iter().filter(|r| r.largest_unknown == name).count();
    rides
        .iter()
        .map(|r| r.largest_unknown.as_str())
        .max_by_key(|name| count(name))
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
