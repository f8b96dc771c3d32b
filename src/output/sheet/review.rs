//! The sheet of a review: the ridden road with its reps, each rep over its bands, and what they come to.

use maud::{Markup, html};

use super::notes::{footer, route_name};
use super::page;
use super::road::RoadFigures;
use crate::output::document::{ReviewDocument, ReviewEntry, ReviewRepEntry};
use crate::output::drawing::Mark;
use crate::output::drawing::ridden::{self, RiddenPicture};
use crate::output::text::{Paper, clean};
use crate::prescription::duration_text;
use crate::profile::Profile;
use crate::review::Review;
use crate::review::session::change_pct;

/// A recording of the sheet.
#[derive(Debug, Clone, Copy)]
pub struct ReviewSheet<'a> {
    /// What is told of it.
    pub entry: &'a ReviewEntry,
    /// The recording, second by second, with what was found.
    pub review: &'a Review,
    /// Its profile, where it has elevations.
    pub profile: Option<&'a Profile>,
}

/// The whole page.
pub fn page(document: &ReviewDocument, recordings: &[ReviewSheet], paper: &Paper) -> String {
    let title = match recordings {
        [one] => format!(
            "Review of {}",
            route_name(&one.entry.source, one.entry.name.as_deref())
        ),
        several => format!("Review of {} rides", several.len()),
    };
    page::page(&title, &body(document, recordings, paper))
}

/// The page's body, to be framed.
pub fn body(document: &ReviewDocument, recordings: &[ReviewSheet], paper: &Paper) -> Markup {
    html! {
        main {
            @for (i, recording) in recordings.iter().enumerate() { (part(recording, i + 1, paper)) }
            section aria-labelledby="questions" {
                h2 id="questions" { "Only you can tell" }
                ul.list { @for question in &document.questions { li { (question) } } }
            }
            section.cautions aria-labelledby="cautions" {
                h2 id="cautions" { "Before the next one" }
                ul.list { @for caution in &document.cautions { li { (caution) } } }
            }
            (footer())
        }
    }
}

fn part(recording: &ReviewSheet, number: usize, paper: &Paper) -> Markup {
    let ReviewSheet {
        entry,
        review,
        profile,
    } = recording;
    let heading = format!("ride-{number}");
    let marks = marks(entry);
    html! {
        section data-road="" aria-labelledby=(heading) {
            p.over { "Review" }
            h1 id=(heading) { (route_name(&entry.source, entry.name.as_deref())) }
            @if let Some(why) = &entry.no_reps { p.stop { "No reps were looked for: " (why) "." } }
            @for (i, finding) in entry.findings.iter().enumerate() {
                @if i == 0 { p.verdict { (finding) } } @else { p.asked { (finding) } }
            }
            @if let Some(profile) = profile {
                @let id = format!("ride-{number}-road");
                (RoadFigures { profile, reps: &marks, climbs: &[], relief: None, paper, id: &id }.profile())
            }
            @if !entry.reps.is_empty() {
                div.scroll { (table(entry, paper)) }
                p.how {
                    span.more { "in: share of the time after the first 15 s in the band. held: torque of the last minute against the first. " }
                    "Rest: at no more than the recovery ceiling."
                }
                h2 { "Each rep, ridden over planned" }
                (strips(recording, number))
            }
            ul.list { @for warning in &entry.warnings { li { (clean(warning)) } } }
            @if review.power_from == crate::review::PowerFrom::Estimated {
                p.how { "Power and torque are estimated from speed, grade and mass." }
            }
        }
    }
}

/// What each rep is called: its number in the plan, or `+1`, `+2` for those that were not planned.
fn labels(entry: &ReviewEntry) -> Vec<String> {
    let mut extra = 0;
    let label = |rep: &ReviewRepEntry| {
        rep.rep.map_or_else(
            || {
                extra += 1;
                format!("+{extra}")
            },
            |number| number.to_string(),
        )
    };
    entry.reps.iter().map(label).collect()
}

fn marks(entry: &ReviewEntry) -> Vec<Mark> {
    let labelled = entry.reps.iter().zip(labels(entry));
    labelled
        .filter_map(|(rep, label)| {
            let ridden = rep.ridden.as_ref()?;
            Some(Mark {
                from_m: ridden.start.distance_m,
                to_m: ridden.end.distance_m,
                then: ridden
                    .recovery
                    .as_ref()
                    .map(|r| duration_text(r.duration_s)),
                words: format!("rep {label}, {}", rep.done.join(", ")),
                label,
            })
        })
        .collect()
}

fn table(entry: &ReviewEntry, paper: &Paper) -> Markup {
    html! {
        table.climbs {
            thead { tr {
                th.left scope="col" { "Rep" }
                th.left scope="col" { "Done" }
                th scope="col" { "At " (paper.far_unit()) }
                th scope="col" { "Time" }
                th.more scope="col" { "Gear" }
                th scope="col" { "rpm" }
                th.more scope="col" { "in" }
                th scope="col" { "W" }
                th.more scope="col" { "in" }
                th.more scope="col" { "N·m" }
                th.more scope="col" { "held" }
                th scope="col" { "Rest" }
            } }
            tbody { @for (rep, label) in entry.reps.iter().zip(labels(entry)) { (row(rep, &label, paper)) } }
        }
    }
}

fn row(rep: &ReviewRepEntry, label: &str, paper: &Paper) -> Markup {
    let whole = |value: Option<f64>| value.map_or("–".to_owned(), |v| format!("{v:.0}"));
    let share = |value: Option<f64>| value.map_or("–".to_owned(), |v| format!("{v:.0} %"));
    html! {
        tr {
            th.left scope="row" { (label) }
            td.left { (rep.done.join(", ")) }
            @if let Some(ridden) = &rep.ridden {
                td { (paper.far_number(ridden.start.distance_m)) }
                td { (duration_text(ridden.duration_s)) }
                td.more { @match ridden.gears.iter().max_by(|a, b| a.duration_s.total_cmp(&b.duration_s)) { Some(g) => (g.gear), None => { "–" } } }
                td { (whole(ridden.held.cadence_rpm)) }
                td.more { (share(ridden.cadence_in_band_pct)) }
                td {
                    (whole(ridden.held.power_w))
                    @if let Some(range) = ridden.power_range_w { small { (format!("{:.0}–{:.0}", range.low, range.high)) } }
                }
                td.more { (share(ridden.power_in_band_pct)) }
                td.more { (whole(ridden.held.torque_nm)) }
                td.more { @match change_pct(ridden.first_minute.torque_nm, ridden.last_minute.torque_nm) { Some(pct) => (format!("{pct:+.0} %")), None => { "–" } } }
                td { @match &ridden.recovery { Some(r) => (duration_text(r.rest_s)), None => { "–" } } }
            } @else {
                td.left colspan="10" { (rep.instead.as_deref().unwrap_or("not ridden")) }
            }
        }
    }
}

fn strips(recording: &ReviewSheet, number: usize) -> Markup {
    let ReviewSheet { entry, review, .. } = recording;
    let asked = review.asked.as_ref();
    let each = review
        .reps
        .iter()
        .zip(labels(entry))
        .enumerate()
        .filter_map(|(i, (rep, label))| {
            let ridden = rep.ridden.as_ref()?;
            let block = rep.planned.as_ref().map_or(ridden.found.block, |p| p.block);
            Some((i, label, ridden.found, asked?.blocks.get(block)?))
        });
    html! {
        div.strips {
            @for (i, label, found, block) in each {
                @let name = format!("Rep {label}");
                @let id = format!("ride-{number}-rep-{i}");
                figure {
                    figcaption { (name) }
                    (ridden::svg(&RiddenPicture {
                        name: &name,
                        seconds: &review.seconds,
                        span: (found.from, found.to),
                        planned_s: block.work_s,
                        bands: &block.bands,
                        id: &id,
                    }))
                }
            }
        }
    }
}
