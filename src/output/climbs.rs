//! The steady climbs on a route.

use super::document::{
    AscentEntry, ClimbEntry, ClimbsDocument, DisagreementEntry, DriftEntry, ElevationEntry,
    GearName, Place, Range, RideEntry, RouteDocument, RouteEntry, SharedEntry, ShiftEntry,
    ShiftingEntry,
};
use super::text::{Paper, plain};
use super::{place, rounded, shared};
use crate::archive::{AscentSeen, Elevations, Survey};
use crate::climbs::{Climb, Shape, doubt};
use crate::gearing::Bands;
use crate::gearing::along::{Along, Cadence, Shifting};
use crate::prescription::duration_text;
use crate::profile::Profile;
use crate::profile::sources::Origin;
use crate::ride::{Pacing, Passage};
use crate::route::Route;

/// A climb ridden, and the gears for it.
#[derive(Debug, Clone, PartialEq)]
pub struct ClimbRide {
    /// How long it takes.
    pub passage: Passage,
    /// What was held.
    pub pacing: Pacing,
    /// Inside which bands.
    pub bands: Bands,
    /// The gear that holds the cadence longest in its band, and where shifts would help.
    pub gear: Option<Along>,
}

/// Puts routes with the climbs found on them into a document.
pub fn document(routes: Vec<RouteEntry>, shared: Vec<SharedEntry>) -> ClimbsDocument {
    ClimbsDocument {
        schema: "hillwright.climbs/1".to_owned(),
        routes,
        shared,
    }
}

/// A route as a document of its own.
pub fn route_document(route: &RouteEntry) -> RouteDocument<'_> {
    RouteDocument {
        schema: "hillwright.route/1",
        route,
    }
}

/// One route of the document; `rides` has one entry a climb, or none at all.
pub fn route_entry(source: &str, survey: &Survey, rides: Vec<RideEntry>) -> RouteEntry {
    let mut rides = rides.into_iter();
    RouteEntry {
        source: source.to_owned(),
        name: survey.name.clone(),
        points: survey.points,
        length_m: rounded(survey.length_m, 1),
        ascent_m: rounded(survey.ascent_m, 0),
        descent_m: rounded(survey.descent_m, 0),
        is_loop: survey.is_loop,
        elevation: elevations(&survey.elevations),
        warnings: survey.warnings.clone(),
        ascents: survey.ascents.iter().map(ascent_entry).collect(),
        climbs: survey
            .climbs
            .iter()
            .map(|seen| {
                let ends = (Place::from(&seen.start), Place::from(&seen.end));
                climb_between(&seen.climb, ends, seen.unsure.clone(), rides.next())
            })
            .collect(),
    }
}

/// Where a profile's elevations are from, and how good they are.
pub fn elevation_entry(profile: &Profile, origin: &Origin) -> ElevationEntry {
    elevations(&Elevations::of(profile, origin))
}

fn elevations(known: &Elevations) -> ElevationEntry {
    let drift = known
        .drift
        .map(|[first_m, again_m, rise_m, twice_m]| DriftEntry {
            first_m: rounded(first_m, 0),
            again_m: rounded(again_m, 0),
            rise_m: rounded(rise_m, 1),
            twice_m: rounded(twice_m, 0),
        });
    let disagreement = |[from_m, to_m, above_m]: &[f64; 3]| DisagreementEntry {
        from_m: rounded(*from_m, 0),
        to_m: rounded(*to_m, 0),
        above_m: rounded(*above_m, 0),
    };
    ElevationEntry {
        source: known.source.clone(),
        looks_like: known.looks_like.clone(),
        step_m: known.step_m,
        grade_error_500m_pct: rounded(known.grade_error_500m_pct, 2),
        together: known.together,
        why: known.why.clone(),
        drift,
        disagreements: known.disagreements.iter().map(disagreement).collect(),
        noise_m: rounded(known.noise_sd_m, 2),
        correlation_m: rounded(known.correlation_m, 0),
        voids: known.voids,
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

fn ascent_entry(seen: &AscentSeen) -> AscentEntry {
    let ascent = &seen.ascent;
    AscentEntry {
        id: ascent.id,
        start: Place::from(&seen.start),
        end: Place::from(&seen.end),
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
pub fn climb_entry(profile: &Profile, climb: &Climb, ride: Option<&ClimbRide>) -> ClimbEntry {
    let ends = (place(profile, climb.from_m), place(profile, climb.to_m));
    let unsure = doubt::about(climb, &profile.noise);
    let ride = ride.map(|r| ride_entry(profile, climb, r));
    climb_between(climb, ends, unsure, ride)
}

fn climb_between(
    climb: &Climb,
    (start, end): (Place, Place),
    unsure: Option<String>,
    ride: Option<RideEntry>,
) -> ClimbEntry {
    ClimbEntry {
        id: climb.id,
        ascent: climb.ascent,
        start,
        end,
        length_m: rounded(climb.length_m(), 1),
        gain_m: rounded(climb.gain_m, 1),
        grade_pct: rounded(climb.grade_pct, 2),
        grade_se_pct: rounded(climb.grade_se_pct, 2),
        grade_sd_pct: rounded(climb.grade_sd_pct, 2),
        steepest_100m_pct: rounded(climb.steepest_100m_pct, 1),
        gentlest_100m_pct: rounded(climb.gentlest_100m_pct, 1),
        unsure,
        ride,
        suits: None,
        why: None,
        costs_more_s: None,
    }
}

/// A ride of a climb as documents have it.
pub fn ride_entry(profile: &Profile, climb: &Climb, ride: &ClimbRide) -> RideEntry {
    let Passage {
        entry_speed_ms,
        duration,
    } = ride.passage;
    let held = ride.gear.as_ref().map(|along| along.held);
    let shifting = ride.gear.as_ref().and_then(|along| along.shifting.as_ref());
    RideEntry {
        power_w: rounded(duration.power_w, 0),
        pacing: ride.pacing.name().to_owned(),
        power_band_w: super::gears::aimed(&ride.bands.power_w),
        cadence_band_rpm: super::gears::aimed(&ride.bands.cadence_rpm),
        entry_speed_kmh: rounded(3.6 * entry_speed_ms, 1),
        duration_s: rounded(duration.mid_s, 1),
        duration_range_s: Range {
            low: rounded(duration.low_s, 0),
            high: rounded(duration.high_s, 0),
        },
        largest_unknown: duration.largest.name().to_owned(),
        stalls: duration.stalls,
        speed_kmh: rounded(3.6 * climb.length_m() / duration.mid_s, 1),
        gear: held.map(|h| GearName::from(&h.gear)),
        crossed: held.map(|h| h.gear.crossed),
        cadence_rpm: held.map(|h| rounded(h.cadence.mean_rpm, 1)),
        cadence_range_rpm: held.map(|h| range(&h.cadence)),
        in_band_pct: held.map(|h| rounded(h.cadence.in_band_pct, 0)),
        shifting: shifting.map(|s| shifting_entry(profile, s)),
    }
}

fn range(cadence: &Cadence) -> Range {
    Range {
        low: rounded(cadence.lowest_rpm, 1),
        high: rounded(cadence.highest_rpm, 1),
    }
}

fn shifting_entry(profile: &Profile, shifting: &Shifting) -> ShiftingEntry {
    ShiftingEntry {
        gear: GearName::from(&shifting.gear),
        shifts: shifting
            .shifts
            .iter()
            .map(|shift| ShiftEntry {
                at: place(profile, shift.at_m),
                sprocket: shift.gear.sprocket,
                hub_ratio: shift.gear.hub_ratio,
            })
            .collect(),
        cadence_rpm: rounded(shifting.cadence.mean_rpm, 1),
        cadence_range_rpm: range(&shifting.cadence),
        in_band_pct: rounded(shifting.cadence.in_band_pct, 0),
    }
}

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
    let shape = if route.is_loop { "loop" } else { "one way" };
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
        out += &unsure_climbs(route, paper);
        for line in shift_lines(route, paper) {
            out += &paper.wrapped(&line, 2);
        }
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

/// What the question marks in the table mean.
fn unsure_climbs(route: &RouteEntry, paper: &Paper) -> String {
    let doubts: Vec<String> = route
        .climbs
        .iter()
        .filter_map(|c| Some(format!("climb {}: {}", c.id, c.unsure.as_deref()?)))
        .collect();
    if doubts.is_empty() {
        return String::new();
    }
    paper.wrapped(&format!("? Unsure. {}.", doubts.join("; ")), 2)
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
