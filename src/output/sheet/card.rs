//! The strip for a stem: one instruction at a time, in large type.

use maud::{Markup, html};

use super::notes::route_name;
use super::page;
use crate::output::document::{AimedBand, AskedEntry, PlanDocument, PlanEntry, RepEntry};
use crate::output::text::Paper;
use crate::prescription::duration_text;

const STYLE: &str = include_str!("card.css");
/// How long before the start the gear is in, in seconds.
pub const SHIFT_BEFORE_S: f64 = 15.0;

/// What a rider does at one rep, in order.
#[derive(Debug, Clone, PartialEq)]
pub struct Steps {
    /// Which rep.
    pub rep: usize,
    /// Where to shift (kilometres or miles) and into what; none where that is right at the start.
    pub shift: String,
    /// Where to start the clock.
    pub start: String,
    /// The gear, large.
    pub gear: String,
    /// What to hold.
    pub hold: String,
    /// Shifts on the way.
    pub on_the_way: Vec<String>,
    /// That the clock stops the rep, and about where.
    pub stop: String,
    /// What to do where the cadence comes to an end of its band.
    pub off_band: Option<String>,
    /// What to do if the start was missed.
    pub missed: String,
    /// The rest.
    pub then: String,
}

/// What is asked after each rep.
pub const AFTER_EACH: [&str; 2] = ["knees fine: go on", "not fine: ride home easy"];

/// The instructions of a plan, rep by rep.
pub fn steps(route: &PlanEntry, asked: &AskedEntry, paper: &Paper) -> Vec<Steps> {
    let reps = &route.reps;
    (0..reps.len())
        .map(|i| {
            let block = asked.blocks.iter().find(|b| b.block == reps[i].block);
            one(route, i, block.map(|b| &b.cadence_band_rpm), paper)
        })
        .collect()
}

fn one(route: &PlanEntry, i: usize, band: Option<&AimedBand>, paper: &Paper) -> Steps {
    let rep = &route.reps[i];
    let next = route.reps.get(i + 1);
    let unit = paper.far_unit();
    let lap = if route.laps > 1 {
        format!("lap {}, ", rep.lap)
    } else {
        String::new()
    };
    let shift_m = rep.start.distance_m - SHIFT_BEFORE_S * rep.entry_speed_kmh / 3.6;
    let at = |m: f64| format!("{unit} {}", paper.far_number(m.max(0.0)));
    let range = rep.power_range_w;
    Steps {
        rep: rep.rep,
        shift: format!("{lap}{}: shift to {}", at(shift_m), rep.gear),
        start: format!("{lap}{}", at(rep.start.distance_m)),
        gear: rep.gear.to_string(),
        hold: if rep.maximal {
            "all out".to_owned()
        } else {
            format!(
                "hold {:.0} rpm, {:.0}–{:.0} W",
                rep.aim_rpm, range.low, range.high
            )
        },
        on_the_way: rep
            .shifts
            .iter()
            .map(|s| format!("{}: shift to {}", at(s.at.distance_m), rep.shifted(s)))
            .collect(),
        stop: format!(
            "the clock stops it: {}, near {}",
            duration_text(rep.duration_s),
            at(rep.end.distance_m)
        ),
        off_band: band.filter(|_| !rep.maximal).map(|band| {
            format!(
                "near {:.0} rpm: one smaller sprocket; near {:.0}: one larger",
                band.to, band.from
            )
        }),
        missed: missed(route, rep, next, paper),
        then: then(rep, next, paper),
    }
}

fn missed(route: &PlanEntry, rep: &RepEntry, next: Option<&RepEntry>, paper: &Paper) -> String {
    if let Some(next) = next {
        return format!(
            "missed it: next start {} {}",
            paper.far_unit(),
            paper.far_number(next.start.distance_m)
        );
    }
    let ahead = route
        .climbs
        .iter()
        .find(|c| c.suits == Some(true) && c.start.distance_m > rep.end.distance_m);
    match ahead {
        Some(climb) => format!(
            "missed it: climb {} suits too, from {} {}",
            climb.id,
            paper.far_unit(),
            paper.far_number(climb.start.distance_m)
        ),
        None => "missed it: that was the last; ride home".to_owned(),
    }
}

fn then(rep: &RepEntry, next: Option<&RepEntry>, paper: &Paper) -> String {
    let (Some(rest_s), Some(next)) = (rep.recovery_after_s, next) else {
        return "then easy, and home".to_owned();
    };
    let how = match rep.recovery_how.as_str() {
        "roll back" => ": turn, roll back down",
        "soft pedal" => ": to and fro on the level",
        _ => "",
    };
    format!(
        "then {} easy{how}, to {} {}",
        duration_text(rest_s),
        paper.far_unit(),
        paper.far_number(next.start.distance_m)
    )
}

/// The card as text.
pub fn text(document: &PlanDocument, paper: &Paper) -> String {
    let mut out = String::new();
    let Some(route) = document.routes.first() else {
        return "No route, no card.\n".to_owned();
    };
    for step in steps(route, &document.asked, paper) {
        out += &format!("{}  START {}  {}\n", step.rep, step.start, step.gear);
        let lines = [step.shift, step.hold]
            .into_iter()
            .chain(step.on_the_way)
            .chain([step.stop])
            .chain(step.off_band)
            .chain([step.missed, step.then]);
        for line in lines {
            out += &paper
                .wrapped(&format!("   {line}"), 3)
                .replacen("", "   ", 1);
        }
        out += &format!("   [ ] {}   [ ] {}\n\n", AFTER_EACH[0], AFTER_EACH[1]);
    }
    out += &unplaced(route);
    for caution in &document.cautions {
        out += &paper.wrapped(caution, 0);
    }
    out
}

fn unplaced(route: &PlanEntry) -> String {
    match route.unplaced.len() {
        0 => String::new(),
        1 => "One rep has no place on this road.\n".to_owned(),
        n => format!("{n} reps have no place on this road.\n"),
    }
}

/// The card as a page to print and to cut out.
pub fn page(document: &PlanDocument, paper: &Paper) -> String {
    page::framed("Card for the stem", STYLE, &body(document, paper))
}

/// The card's body, to be framed.
pub fn body(document: &PlanDocument, paper: &Paper) -> Markup {
    html! {
        main.card {
            @match document.routes.first() {
                Some(route) => {
                    h1 { (route_name(&route.source, route.name.as_deref())) }
                    @if route.reps.is_empty() { p { "No rep has a place on this road." } }
                    @for step in steps(route, &document.asked, paper) { (part(&step)) }
                    @if !route.reps.is_empty() && !route.unplaced.is_empty() { p { (unplaced(route)) } }
                }
                None => { h1 { "No route, no card" } }
            }
            section.small-print aria-label="Before you ride" { @for caution in &document.cautions { p { (caution) } } }
        }
    }
}

fn part(step: &Steps) -> Markup {
    html! {
        section aria-labelledby=(format!("rep-{}", step.rep)) {
            h2 id=(format!("rep-{}", step.rep)) { "Rep " (step.rep) }
            ol {
                li { (step.shift) }
                li.start { "START " (step.start) b { (step.gear) } }
                li { (step.hold) }
                @for shift in &step.on_the_way { li { (shift) } }
                @if let Some(off_band) = &step.off_band { li.if { (off_band) } }
                li { (step.stop) }
                li.if { (step.missed) }
                li { (step.then) }
            }
            p.tick {
                @for answer in AFTER_EACH { span { span.box aria-hidden="true" {} (answer) } }
            }
        }
    }
}
