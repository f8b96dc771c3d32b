//! The sheet of climbs: each route with its map, its profile and its climbs.

use maud::{Markup, html};

use super::notes::{cautions, elevations, footer, route_name};
use super::page;
use super::road::RoadFigures;
use crate::output::cautions::cautions as all_cautions;
use crate::output::climbs_text::{uneven_ascents, unsure_climbs};
use crate::output::document::{ClimbEntry, RouteEntry};
use crate::output::drawing::Mark;
use crate::output::drawing::relief::Relief;
use crate::output::text::{Paper, clean};
use crate::prescription::duration_text;
use crate::profile::Profile;

/// A route of the sheet.
#[derive(Debug, Clone, Copy)]
pub struct RouteSheet<'a> {
    /// What was found.
    pub entry: &'a RouteEntry,
    /// Its road.
    pub profile: &'a Profile,
    /// The ground, if its tiles are here.
    pub relief: Option<&'a Relief>,
}

/// The whole page.
pub fn page(routes: &[RouteSheet], paper: &Paper) -> String {
    let title = match routes {
        [one] => format!(
            "Climbs of {}",
            route_name(&one.entry.source, one.entry.name.as_deref())
        ),
        several => format!("Climbs of {} routes", several.len()),
    };
    page::page(&title, &body(routes, paper))
}

/// The page's body, to be framed.
pub fn body(routes: &[RouteSheet], paper: &Paper) -> Markup {
    html! {
        main {
            @for (i, route) in routes.iter().enumerate() { (route_part(route, i + 1, paper)) }
            (cautions(&all_cautions()))
            (footer())
        }
    }
}

fn route_part(route: &RouteSheet, number: usize, paper: &Paper) -> Markup {
    let RouteSheet { entry, profile, .. } = route;
    let marks: Vec<Mark> = entry.climbs.iter().map(Mark::climb).collect();
    let id = format!("road-{number}");
    let road = RoadFigures {
        profile,
        reps: &[],
        climbs: &marks,
        relief: route.relief,
        paper,
        id: &id,
    };
    let shape = if entry.is_loop { "A loop" } else { "A road" };
    html! {
        section data-road="" aria-labelledby=(format!("route-{number}")) {
            h1 id=(format!("route-{number}")) { (route_name(&entry.source, entry.name.as_deref())) }
            p.verdict {
                (shape) " of " (paper.far(entry.length_m)) " with " (paper.short(entry.ascent_m)) " of climbing; "
                @match entry.climbs.len() {
                    0 => { "no steady climb on it." }
                    1 => { "one steady climb." }
                    n => { (n) " steady climbs." }
                }
            }
            (road.profile())
            div.two {
                @if entry.climbs.is_empty() {
                    p.stop { "No stretch of 400 m or more at 3 % or more holds its grade." }
                } @else {
                    (table(entry, paper))
                }
                (road.map())
            }
            ul.list {
                @for told in unsure_climbs(entry).into_iter().chain(uneven_ascents(entry, paper)) { li { (told) } }
                li { (elevations(&entry.elevation, paper)) }
                @for warning in &entry.warnings { li { (clean(warning)) } }
            }
        }
    }
}

fn table(entry: &RouteEntry, paper: &Paper) -> Markup {
    let unit = paper.far_unit();
    let ridden = entry.climbs.iter().find_map(|c| c.ride.as_ref());
    html! {
        table.climbs {
            thead { tr {
                th.left scope="col" { "Climb" }
                th scope="col" { "From " (unit) }
                th scope="col" { "Length" }
                th.more scope="col" { "Gain" }
                th scope="col" { "Grade" }
                th.more scope="col" { "100 m by 100 m" }
                @if let Some(ride) = ridden { th scope="col" { (format!("Time at {:.0} W", ride.power_w)) } th scope="col" { "Gear" } }
            } }
            tbody { @for climb in &entry.climbs { (row(climb, paper)) } }
        }
        p.how { "±: nine times in ten it lies there. 100 m by 100 m: gentlest to steepest." }
    }
}

fn row(climb: &ClimbEntry, paper: &Paper) -> Markup {
    html! {
        tr {
            th.left scope="row" { (climb.id) }
            td { (paper.far_number(climb.start.distance_m)) }
            td { (paper.short(climb.length_m)) }
            td.more { (paper.short(climb.gain_m)) }
            td { (format!("{:.1} ± {:.1} %", climb.grade_pct, (1.645 * climb.grade_se_pct).max(0.05))) @if climb.unsure.is_some() { " ?" } }
            td.more { (format!("{:.1}–{:.1} %", climb.gentlest_100m_pct, climb.steepest_100m_pct)) }
            @if let Some(ride) = &climb.ride {
                td {
                    @if ride.stalls { "walks" } @else {
                        (duration_text(ride.duration_s))
                        small { (duration_text(ride.duration_range_s.low)) "–" (duration_text(ride.duration_range_s.high)) }
                    }
                }
                td { @match ride.gear { Some(gear) => (gear), None => { "–" } } }
            }
        }
    }
}
