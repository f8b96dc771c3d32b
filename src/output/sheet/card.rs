//! The card for a stem or a pocket: strips with one instruction at a time, in large type.

use maud::{Markup, html};

use super::card_steps::{AFTER_EACH, Steps, before, steps};
use super::notes::route_name;
use super::page;
use crate::output::document::{PlanDocument, PlanEntry};
use crate::output::plan_words::turning_offer;
use crate::output::text::Paper;

const STYLE: &str = include_str!("card.css");
/// So many reps go on a strip of 6 × 10 cm.
const REPS_A_STRIP: usize = 2;

/// The card as text.
pub fn text(document: &PlanDocument, paper: &Paper) -> String {
    let Some(route) = document.routes.first() else {
        return "No route, no card.\n".to_owned();
    };
    let mut out = String::new();
    for line in before(route, &document.asked) {
        out += &paper.wrapped(&line, 3);
    }
    out.push('\n');
    for step in steps(route, &document.asked, paper) {
        out += &paper.wrapped(
            &format!("{}  START {}  {}", step.rep, step.start, step.gear),
            3,
        );
        for line in step.lines() {
            out += &paper
                .wrapped(&format!("   {line}"), 3)
                .replacen("", "   ", 1);
        }
        out += &format!("   [ ] {}   [ ] {}\n\n", AFTER_EACH[0], AFTER_EACH[1]);
    }
    for line in missing(route) {
        out += &paper.wrapped(&line, 0);
    }
    for caution in &document.cautions {
        out += &paper.wrapped(caution, 0);
    }
    out
}

/// How many reps have no place, and what turning round would bring.
fn missing(route: &PlanEntry) -> Vec<String> {
    let unplaced = match route.unplaced.len() {
        _ if route.reps.is_empty() => Some("No rep has a place on this road.".to_owned()),
        0 => None,
        1 => Some("One rep has no place on this road.".to_owned()),
        n => Some(format!("{n} reps have no place on this road.")),
    };
    let offer = turning_offer(route).map(|offer| format!("But {offer}: add --turn-round."));
    unplaced.into_iter().chain(offer).collect()
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
                Some(route) => { (strips(document, route, paper)) }
                None => { section.strip { h1 { "No route, no card" } (small_print(document)) } }
            }
        }
    }
}

fn strips(document: &PlanDocument, route: &PlanEntry, paper: &Paper) -> Markup {
    let steps = steps(route, &document.asked, paper);
    html! {
        section.strip.head {
            h1 { (route_name(&route.source, route.name.as_deref())) }
            @for line in before(route, &document.asked) { p { (line) } }
            @for line in missing(route) { p.if { (line) } }
            (small_print(document))
        }
        @for strip in steps.chunks(REPS_A_STRIP) {
            div.strip { @for step in strip { (part(step)) } }
        }
    }
}

/// The cautions, small: they are read before, not on the way.
fn small_print(document: &PlanDocument) -> Markup {
    html! {
        section.small-print aria-label="Before you ride" {
            @for caution in &document.cautions { p { (caution) } }
        }
    }
}

fn part(step: &Steps) -> Markup {
    let id = format!("rep-{}", step.rep);
    html! {
        section.rep aria-labelledby=(id) {
            h2 id=(id) { "Rep " (step.rep) ", " (step.at) }
            ol {
                li { (step.shift) }
                li.start { "START " (step.start) b { (step.gear) } }
                li { (step.hold) }
                @for shift in &step.on_the_way { li { (shift) } }
                @if let Some(off_band) = &step.off_band { li.if { (off_band) } }
                @if let Some(doubt) = &step.doubt { li.if { (doubt) } }
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
