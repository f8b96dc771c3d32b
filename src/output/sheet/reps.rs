//! The table of reps: where each starts and in which gear, first and largest; and what is ridden between them.

use maud::{Markup, html};

use crate::output::document::RepEntry;
use crate::output::plan_reps_text::Reps;
use crate::output::plan_words::{
    LONG, clock, doubts, easy, is_by_torque, long_limits, odometer_holds, up_the_climb,
};
use crate::prescription::duration_text;
use crate::ride::Pacing;

/// The table, how to read it, and what is ridden between the reps; `linked` where each rep is also enlarged on the page.
pub(super) fn section(told: &Reps, linked: bool) -> Markup {
    html! {
        (table(told, linked))
        (reading(told))
        @for line in told.before_and_between() { p.how { (line) } }
        @for line in doubts(told.reps, told.climbs) { p.stop { (line) } }
    }
}

fn table(told: &Reps, linked: bool) -> Markup {
    let unit = told.paper.far_unit();
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
            tbody { @for rep in told.reps { (row(rep, told, linked)) } }
        }
    }
}

fn row(rep: &RepEntry, told: &Reps, linked: bool) -> Markup {
    let paper = told.paper;
    let cadence = rep.cadence_range_rpm;
    let power = rep.power_range_w;
    let range = format!("{:.0}–{:.0} W", power.low, power.high);
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
                small { "at " (clock(rep.start_time_s)) " h" @if told.laps > 1 { span { ", lap " (rep.lap) } } }
                small.where { (place(rep, told)) }
            }
            td.left {
                span.big { (rep.gear) }
                small {
                    @if rep.maximal { "all out" } @else {
                        (format!("{:.0} rpm", rep.cadence_rpm))
                        @if cadence.low.round() < cadence.high.round() {
                            span.more { (format!(" ({:.0}–{:.0})", cadence.low, cadence.high)) }
                        }
                    }
                }
                // Where there is no room for a column of its own.
                @if !rep.maximal {
                    small.less { (range) }
                    @if is_by_torque(rep, told.asked) { small.less { (format!("{:.0} N·m", rep.torque_nm)) } }
                }
                @for shift in &rep.shifts {
                    small { span { (told.shift_place(rep, shift)) ": " } span { (rep.shifted(shift)) } }
                }
            }
            td.power {
                @if rep.maximal { span.mid { "all out" } } @else {
                    span.mid { (format!("{:.0} W", rep.power_w)) }
                    small { (range) }
                    small { (format!("{:.0} N·m", rep.torque_nm)) }
                }
            }
            td {
                span.mid { (paper.far_number(rep.end.distance_m)) }
                small.more { "after " (duration_text(rep.duration_s)) }
            }
            td {
                span.mid { (easy(rep, told.asked)) }
                @if rep.recovery_after_s.is_some() && rep.recovery_how != "ride on" { small { (rep.recovery_how) } }
            }
        }
    }
}

/// The climbs and the grade; how far up the climb, for who has turned round.
fn place(rep: &RepEntry, told: &Reps) -> Markup {
    let climbs: Vec<String> = rep.climbs.iter().map(usize::to_string).collect();
    let word = if climbs.len() == 1 { "climb" } else { "climbs" };
    let holds = odometer_holds(told.reps, told.total.warm_up_waiting_s, rep);
    let up = (!holds).then(|| up_the_climb(rep, told.climbs, told.paper));
    html! {
        @if let Some(up) = up {
            @match up.split_once(" (") {
                Some((along, above)) => { span { (along) } " " span { "(" (above) ", " } }
                None => { (up) ", " }
            }
        }
        @else if !climbs.is_empty() { span { (word) " " (climbs.join("+")) ", " } }
        span { (format!("{:.1}\u{a0}%", rep.grade_pct)) }
    }
}

/// How to read the table.
fn reading(told: &Reps) -> Markup {
    let word = if told.paper.far_unit() == "km" {
        "kilometre"
    } else {
        "mile"
    };
    let furthest = told
        .reps
        .iter()
        .map(|r| r.end_if_fast.distance_m - r.end.distance_m)
        .fold(0.0, f64::max);
    html! {
        p.how {
            "At 0:00 h: riding time. Shift about 15 s before the start; start the clock there. The clock stops the rep, near the " (word) " given: at most "
            (told.paper.short(furthest)) " further on if you ride as fast as the bands allow."
            @if told.reps.iter().any(|r| !r.maximal && r.pacing == Pacing::Cadence.name()) {
                " Where the cadence is about to leave its band: one sprocket, smaller if the road eases, larger if it steepens."
            }
            @if let Some(limits) = long_limits(told.reps, told.asked) {
                " " (LONG) ": a recovery longer than asked (" (limits) ")."
            }
        }
    }
}
