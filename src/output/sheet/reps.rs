//! The table of reps: where each starts and in which gear, first and largest.

use maud::{Markup, html};

use crate::output::document::RepEntry;
use crate::output::text::Paper;
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// The table; `linked` where each rep is also enlarged on the page.
pub(super) fn table(reps: &[RepEntry], laps: usize, paper: &Paper, linked: bool) -> Markup {
    let unit = paper.far_unit();
    html! {
        table.reps {
            thead {
                tr {
                    th.left scope="col" { "Rep" }
                    th scope="col" { "Start at " (unit) }
                    th.left scope="col" { "Gear" }
                    th.power scope="col" { "Power" }
                    th scope="col" { "Stop near " (unit) }
                    th scope="col" { "Then easy" }
                }
            }
            tbody { @for rep in reps { (row(rep, laps, paper, linked)) } }
        }
    }
}

fn row(rep: &RepEntry, laps: usize, paper: &Paper, linked: bool) -> Markup {
    let cadence = rep.cadence_range_rpm;
    let power = rep.power_range_w;
    html! {
        tr {
            th.left scope="row" {
                @if linked {
                    a.badge href=(format!("#rep-{}", rep.rep)) { (rep.rep) }
                } @else {
                    span.badge { (rep.rep) }
                }
            }
            td {
                span.big { (paper.far_number(rep.start.distance_m)) }
                small { @if laps > 1 { span { "lap " (rep.lap) ", " } } (place(rep)) }
            }
            td.left {
                span.big { (rep.gear) }
                small {
                    @if rep.maximal { "all out" } @else {
                        (format!("{:.0} rpm", rep.cadence_rpm))
                        span.more { (format!(" ({:.0}–{:.0})", cadence.low, cadence.high)) }
                    }
                }
                @for shift in &rep.shifts {
                    small { span { "at " } span { (paper.far_number(shift.at.distance_m)) ": " (rep.shifted(shift)) } }
                }
            }
            td.power {
                @if rep.maximal { span.mid { "all out" } } @else {
                    span.mid { (format!("{:.0} W", rep.power_w)) }
                    small { (format!("{:.0}–{:.0} W, {:.0} N·m", power.low, power.high, rep.torque_nm)) }
                }
            }
            td {
                span.mid { (paper.far_number(rep.end.distance_m)) }
                small.more { "after " (duration_text(rep.duration_s)) }
            }
            td {
                @match rep.recovery_after_s {
                    Some(s) => { span.mid { (duration_text(s)) } },
                    None => { span.mid { "–" } },
                }
                @if rep.recovery_after_s.is_some() && rep.recovery_how != "ride on" { small { (rep.recovery_how) } }
            }
        }
    }
}

/// The climbs and the grade.
fn place(rep: &RepEntry) -> Markup {
    let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
    let word = if climbs.len() == 1 { "climb" } else { "climbs" };
    html! {
        @if !climbs.is_empty() { span { (word) " " (climbs.join("+")) ", " } }
        span { (format!("{:.1} %", rep.grade_pct)) }
    }
}

/// How to read the table.
pub(super) fn reading(reps: &[RepEntry], paper: &Paper) -> Markup {
    let word = if paper.far_unit() == "km" {
        "kilometre"
    } else {
        "mile"
    };
    let furthest = reps
        .iter()
        .map(|r| r.end_if_fast.distance_m - r.end.distance_m)
        .fold(0.0, f64::max);
    html! {
        p.how {
            "Shift about 15 s before the start; start the clock there. The clock stops the rep, near the " (word) " given: at most "
            (paper.short(furthest)) " further on if you ride as fast as the bands allow."
            @if reps.iter().any(|r| !r.maximal && r.pacing == Pacing::Cadence.name()) {
                " Where the cadence comes to an end of its band: one sprocket at the rear."
            }
        }
    }
}
