//! The sheet of a plan.

use maud::{Markup, html};

use super::notes::{cautions, elevations, footer, route_name};
use super::road::RoadFigures;
use super::{gears, page, reps, trainer};
use crate::gearing::Drive;
use crate::matching::cost::how_much_worse;
use crate::matching::{Demand, Plan};
use crate::output::document::{AskedEntry, PlanDocument, PlanEntry};
use crate::output::drawing::Mark;
use crate::output::drawing::relief::Relief;
use crate::output::drawing::strip::{self, RepPicture};
use crate::output::plan_reps_text::Reps;
use crate::output::plan_text::{beside, grouped};
use crate::output::plan_words::{fit, turning_offer, unused, worse_legend};
use crate::output::text::{Paper, clean};
use crate::output::{asked, indoors, squad};
use crate::prescription::{RiderFile, Set, duration_text};
use crate::profile::Profile;
use crate::ride::Weather;
use crate::route::Route;

/// What a sheet is made from.
#[derive(Debug, Clone, Copy)]
pub struct PlanSheet<'a> {
    /// The answer.
    pub document: &'a PlanDocument,
    /// Who rides.
    pub rider: &'a RiderFile,
    /// The rider's bike.
    pub drive: &'a Drive,
    /// What was asked for.
    pub set: &'a Set,
    /// The same, block by block, in this rider's watts.
    pub demands: &'a [Demand],
    /// The best route; none where the plan is for indoors.
    pub best: Option<BestRoute<'a>>,
    /// Units.
    pub paper: &'a Paper,
}

/// The best route of a plan.
#[derive(Debug, Clone, Copy)]
pub struct BestRoute<'a> {
    /// The route, as its file has it.
    pub route: &'a Route,
    /// Its road.
    pub profile: &'a Profile,
    /// The weather on it.
    pub weather: &'a Weather,
    /// Its plan.
    pub plan: &'a Plan,
    /// The ground, if its tiles are here.
    pub relief: Option<&'a Relief>,
}

/// The whole page.
pub fn page(sheet: &PlanSheet) -> String {
    page::page(&title(sheet), &body(sheet))
}

fn title(sheet: &PlanSheet) -> String {
    let set = set_name(sheet.set);
    match sheet.document.routes.first() {
        Some(route) => format!(
            "{set} on {}",
            route_name(&route.source, route.name.as_deref())
        ),
        None => set,
    }
}

fn set_name(set: &Set) -> String {
    let name = set.name.as_deref().map(clean);
    name.filter(|n| !n.trim().is_empty())
        .unwrap_or_else(|| match &set.blocks[..] {
            [block] => format!("{} × {}", block.reps, duration_text(block.work_s)),
            blocks => format!("{} blocks", blocks.len()),
        })
}

/// The page's body, to be framed.
pub fn body(sheet: &PlanSheet) -> Markup {
    let best = sheet.document.routes.first();
    html! {
        main {
            (heading(sheet))
            @if let (Some(route), Some(best)) = (best, &sheet.best) {
                (road(sheet, route, best))
                (each_rep(sheet, route, best))
                (gears::section(sheet, route, best))
                (other_climbs(route, sheet.paper))
                (how_sure(sheet, route))
            }
            (other_routes(sheet))
            (without_road(sheet))
            (cautions(&sheet.document.cautions))
            (footer())
        }
    }
}

/// What was asked for, and whether it fits.
pub(crate) fn heading(sheet: &PlanSheet) -> Markup {
    let best = sheet.document.routes.first();
    html! {
        header {
            h1 { (set_name(sheet.set)) }
            @if let Some(route) = best {
                p.over { (route_name(&route.source, route.name.as_deref())) }
                p.verdict { (verdict(route, &sheet.document.asked, sheet.paper)) }
            }
            p.asked { (asked::words(&sheet.document.asked, sheet.paper)) }
        }
    }
}

/// The reps beside the map, and the profile.
pub(crate) fn road(sheet: &PlanSheet, route: &PlanEntry, best: &BestRoute) -> Markup {
    let (paper, asked) = (sheet.paper, &sheet.document.asked);
    let rep_marks = Mark::reps(&route.reps);
    let climb_marks: Vec<Mark> = route.climbs.iter().map(Mark::climb).collect();
    let road = RoadFigures {
        profile: best.profile,
        reps: &rep_marks,
        climbs: &climb_marks,
        relief: best.relief,
        paper,
        id: "road",
    };
    html! {
        div data-road="" {
            section.two aria-label="Reps and map" {
                div {
                    @if !route.reps.is_empty() {
                        (reps::section(&Reps::of(route, asked, paper), true))
                    }
                    (misfit(route, asked, paper))
                }
                (road.map())
            }
            section aria-labelledby="profile" {
                h2 id="profile" { "The road" }
                (road.profile())
            }
        }
    }
}

/// Each rep enlarged.
pub(crate) fn each_rep(sheet: &PlanSheet, route: &PlanEntry, best: &BestRoute) -> Markup {
    html! {
        @if !best.plan.reps.is_empty() {
            section aria-labelledby="enlarged" {
                h2 id="enlarged" { "Each rep" }
                div.strips {
                    @for rep in &best.plan.reps {
                        (enlarged(sheet, route, best, rep))
                    }
                }
                p.how {
                    "Three seconds by three seconds, while the clock runs. Shaded: the band; dotted: the aim. The first 15 s, paler, are a run-in."
                }
            }
        }
    }
}

/// Whether the set fits, the whole ride, and the way home.
pub(crate) fn verdict(route: &PlanEntry, asked: &AskedEntry, paper: &Paper) -> String {
    let all = route.reps.len() + route.unplaced.len();
    let work = if route.reps.is_empty() {
        String::new()
    } else {
        format!(", {} of it work", duration_text(route.total.work_s))
    };
    format!(
        "{}. {} with {} of climbing in about {}{work}.{}",
        fit(&route.reps, all, asked),
        paper.far(route.total.distance_m),
        paper.short(route.total.ascent_m),
        duration_text(route.total.duration_s),
        Reps::of(route, asked, paper).afterwards()
    )
}

/// Why reps have no place, and what would help.
fn misfit(route: &PlanEntry, asked: &AskedEntry, paper: &Paper) -> Markup {
    html! {
        @for (reps, why) in grouped(&route.unplaced) {
            p.stop { strong { "No place for " (reps) ": " } (why) "." }
        }
        @if !route.would_fit_with.is_empty() {
            p.stop { "It would fit with: " (route.would_fit_with.join("; or ")) "." }
        }
        @if let Some((turning, offer)) = Reps::turning(route, asked, paper).zip(turning_offer(route)) {
            div.stop {
                p {
                    "But " (offer) " (add --turn-round, or choose it on the page): "
                    (paper.far(turning.total.distance_m)) " in about " (duration_text(turning.total.duration_s)) "." (turning.afterwards())
                }
                (reps::section(&turning, false))
            }
        }
    }
}

fn enlarged(
    sheet: &PlanSheet,
    route: &PlanEntry,
    best: &BestRoute,
    rep: &crate::matching::PlacedRep,
) -> Markup {
    let Some(entry) = route.reps.iter().find(|r| r.rep == rep.rep) else {
        return html! {};
    };
    let id = format!("rep-{}", rep.rep);
    html! {
        figure id=(id) {
            figcaption {
                h3 { "Rep " (rep.rep) ": " (entry.gear) }
                span.soft { " from " (sheet.paper.far(entry.start.distance_m)) ", " (duration_text(rep.duration_s)) }
            }
            (strip::svg(&RepPicture {
                rep,
                profile: best.profile,
                bands: &sheet.demands[rep.block].bands,
                id: &format!("{id}-strip"),
            }))
        }
    }
}

fn other_climbs(route: &PlanEntry, paper: &Paper) -> Markup {
    let others = unused(route);
    let unit = paper.far_unit();
    html! {
        @if !others.is_empty() {
            section aria-labelledby="others" {
                h2 id="others" { "The other climbs" }
                table.climbs {
                    thead { tr {
                        th.left scope="col" { "Climb" }
                        th scope="col" { "From " (unit) }
                        th scope="col" { "To " (unit) }
                        th scope="col" { "Grade" }
                        th.left scope="col" { "Why no rep is on it" }
                    } }
                    tbody { @for climb in others { tr {
                        th.left scope="row" { (climb.id) }
                        td { (paper.far_number(climb.start.distance_m)) }
                        td { (paper.far_number(climb.end.distance_m)) }
                        td { (format!("{:.1} %", climb.grade_pct)) }
                        td.left { (climb.why.as_deref().unwrap_or("")) }
                    } } }
                }
            }
        }
    }
}

/// How good elevations and grades are, and what is not known.
pub(crate) fn how_sure(sheet: &PlanSheet, route: &PlanEntry) -> Markup {
    let used = route
        .climbs
        .iter()
        .filter(|c| route.reps.iter().any(|r| r.climbs.contains(&c.id)));
    let worst_pct = used.map(|c| 1.645 * c.grade_se_pct).fold(0.0, f64::max);
    html! {
        section aria-labelledby="sure" {
            h2 id="sure" { "How sure this is" }
            ul.list.columns {
                li { (elevations(&route.elevation, sheet.paper)) }
                @if worst_pct > 0.0 {
                    li { (format!("The grades of the climbs used are within ±{:.1} points, nine times in ten.", worst_pct.max(0.05))) }
                }
                li { (asked::air(&sheet.document.asked.weather, sheet.paper)) }
                @if let Some(tie) = &route.near_tie {
                    li { (format!("Two plans are nearly equal: with rep {} on climb {} it is {}.", tie.rep, tie.climb, how_much_worse(tie.more_s))) }
                }
                @for warning in &route.warnings { li { (clean(warning)) } }
                @for note in &sheet.document.session_notes { li { (note) } }
            }
        }
    }
}

/// The routes that are not drawn.
fn other_routes(sheet: &PlanSheet) -> Markup {
    let document = sheet.document;
    let paper = sheet.paper;
    html! {
        @if document.routes.len() > 1 {
            section aria-labelledby="routes" {
                h2 id="routes" { "The other routes" }
                table {
                    thead { tr {
                        th.left scope="col" { "Route" } th scope="col" { "Reps that fit" } th.left scope="col" { "Plan" }
                        th scope="col" { "Length" } th scope="col" { "Climbing" }
                    } }
                    tbody { @for route in &document.routes[1..] { tr {
                        th.left scope="row" { (route_name(&route.source, route.name.as_deref())) }
                        td { (route.reps.len()) " of " (route.reps.len() + route.unplaced.len()) }
                        td.left { (beside(route, &document.routes[0])) }
                        td { (paper.far(route.length_m)) }
                        td { (paper.short(route.total.ascent_m)) }
                    } } }
                }
                p.how { "Plan: beside that of the first route, where both place as many reps. " (worse_legend()) }
            }
        }
    }
}

/// Several riders, the trainer.
pub(crate) fn without_road(sheet: &PlanSheet) -> Markup {
    let document = sheet.document;
    let paper = sheet.paper;
    html! {
        @if let Some(squad) = &document.squad {
            section aria-labelledby="squad" {
                h2 id="squad" { "Several riders" }
                pre tabindex="0" { (squad::squad_text(squad, paper)) }
            }
        }
        @if !document.indoors.is_empty() {
            section aria-labelledby="indoors" {
                h2 id="indoors" { (indoors::heading(document)) }
                (trainer::table(document, paper))
            }
        }
    }
}
