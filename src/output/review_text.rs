//! The review as people read it.

use super::climbs_text::{notes, title};
use super::document_review::{
    ReviewDocument, ReviewEntry, ReviewRepEntry, RiddenClimbEntry, RiddenEntry,
};
use super::review_fit::fit_text;
use super::text::Paper;
use crate::prescription::duration_text;
use crate::review::session::change_pct;

/// The document as text: each recording, then the questions and the cautions.
pub fn text(document: &ReviewDocument, paper: &Paper) -> String {
    let mut out = String::new();
    for recording in &document.recordings {
        if !out.is_empty() {
            out.push('\n');
        }
        out += &recording_text(recording, paper);
    }
    if let Some(fit) = &document.fit {
        out.push('\n');
        out += &fit_text(fit, paper);
    }
    if let Some(why) = &document.no_fit {
        out.push('\n');
        out += &paper.wrapped(&format!("Nothing was fitted: {why}."), 0);
    }
    out += "\nOnly you can tell:\n";
    for question in &document.questions {
        out += &paper.wrapped(&format!("- {question}"), 2);
    }
    out += "\nBefore the next one:\n";
    for caution in &document.cautions {
        out += &paper.wrapped(&format!("- {caution}"), 2);
    }
    out
}

fn recording_text(recording: &ReviewEntry, paper: &Paper) -> String {
    let mut out = title(&recording.source, recording.name.as_deref());
    let began = recording
        .began_at
        .as_ref()
        .map_or(String::new(), |at| format!(", begun {at}"));
    let up = recording
        .ascent_m
        .map_or(String::new(), |m| format!(" with {} up", paper.short(m)));
    out += &paper.wrapped(
        &format!(
            "{}{up} in {}, {} of it standing{began}. Power: {}.",
            paper.far(recording.length_m),
            duration_text(recording.duration_s),
            duration_text(recording.halted_s),
            recording.power_from
        ),
        0,
    );
    if let Some(why) = &recording.no_reps {
        out += &paper.wrapped(&format!("No reps were looked for: {why}."), 0);
    }
    for finding in &recording.findings {
        out += &paper.wrapped(finding, 0);
    }
    if !recording.reps.is_empty() {
        out.push('\n');
        out += &reps_table(&recording.reps, paper);
        out += &paper.wrapped(&reading(recording, paper), 0);
        for rep in &recording.reps {
            for line in details(rep, paper) {
                out += &paper.wrapped(&format!("- {line}"), 2);
            }
        }
    }
    out += &brief(recording, paper);
    if !recording.climbs.is_empty() {
        out += "\nSteady climbs, ridden beside the road model at the power ridden:\n";
        out += &climbs_table(&recording.climbs, paper);
    }
    out + &notes(&recording.warnings, paper)
}

/// Columns that the whole table takes; on narrower paper times of day, bands of power and heart rates are left out.
const WHOLE_TABLE_COLUMNS: u16 = 98;

fn reps_table(reps: &[ReviewRepEntry], paper: &Paper) -> String {
    let whole = paper.width >= WHOLE_TABLE_COLUMNS;
    let start = format!("at {}", paper.far_unit());
    let mut head = vec!["rep", "done"];
    if whole {
        head.push("begun");
    }
    head.extend([start.as_str(), "time", "gear", "rpm", "in", "W"]);
    if whole {
        head.push("in");
    }
    head.extend(["N·m", "held"]);
    head.push("rest");
    let rows = reps.iter().map(|rep| reps_row(rep, paper, whole)).collect();
    let gear = if whole { 5 } else { 4 };
    paper.table(&head, rows, &[1, gear])
}

fn reps_row(rep: &ReviewRepEntry, paper: &Paper, whole: bool) -> Vec<String> {
    let mut row = vec![
        rep.rep.map_or("–".to_owned(), |n| n.to_string()),
        rep.done.join(", "),
    ];
    let Some(ridden) = &rep.ridden else {
        let blanks = if whole { 11 } else { 9 };
        row.extend(std::iter::repeat_n("–".to_owned(), blanks));
        return row;
    };
    let known = |value: Option<f64>| value.map_or("–".to_owned(), |v| format!("{v:.0}"));
    let share = |value: Option<f64>| value.map_or("–".to_owned(), |v| format!("{v:.0} %"));
    if whole {
        row.push(duration_text(ridden.start_time_s));
    }
    row.push(paper.far_number(ridden.start.distance_m));
    row.push(duration_text(ridden.duration_s));
    row.push(gear_text(ridden));
    row.push(known(ridden.held.cadence_rpm));
    row.push(share(ridden.cadence_in_band_pct));
    row.push(match ridden.power_range_w {
        Some(range) => format!(
            "~{} ({:.0}–{:.0})",
            known(ridden.held.power_w),
            range.low,
            range.high
        ),
        None => known(ridden.held.power_w),
    });
    if whole {
        row.push(share(ridden.power_in_band_pct));
    }
    row.push(known(ridden.held.torque_nm));
    let held = change_pct(ridden.first_minute.torque_nm, ridden.last_minute.torque_nm);
    row.push(held.map_or("–".to_owned(), |pct| {
        format!("{:+.0} %", if pct.abs() < 0.5 { 0.0 } else { pct })
    }));
    row.push(ridden.recovery.as_ref().map_or("–".to_owned(), |r| {
        let short = if r.was_one { "" } else { "!" };
        format!("{}{short}", duration_text(r.rest_s))
    }));
    row
}

fn gear_text(ridden: &RiddenEntry) -> String {
    let longest = ridden
        .gears
        .iter()
        .max_by(|a, b| a.duration_s.total_cmp(&b.duration_s));
    longest.map_or("–".to_owned(), |g| g.gear.to_string())
}

fn reading(recording: &ReviewEntry, paper: &Paper) -> String {
    let mut text = String::from(
        "in: share of the time after the first 15 s in the band. held: torque of the last minute against the first. \
         rest: time before the next at no more than the recovery ceiling; ! where it was too little.",
    );
    if paper.width >= WHOLE_TABLE_COLUMNS {
        text = format!("begun: since the recording's start. {text}");
    }
    if recording.power_from == "estimated" {
        text += " Power and torque are estimated from speed, grade and mass.";
    }
    text
}

/// What a rep's row doesn't say.
fn details(rep: &ReviewRepEntry, paper: &Paper) -> Vec<String> {
    let name = rep
        .rep
        .map_or("The extra one".to_owned(), |n| format!("Rep {n}"));
    let mut lines = Vec::new();
    if let Some(instead) = &rep.instead {
        lines.push(format!("{name}: {instead}."));
    }
    let Some(ridden) = &rep.ridden else {
        return lines;
    };
    let mut parts = Vec::new();
    if let Some(apart_m) = ridden.start_apart_m.filter(|m| *m > 30.0) {
        parts.push(format!(
            "started {} from the planned place",
            paper.short(apart_m)
        ));
    }
    if rep.done.iter().any(|d| d == "shorter" || d == "longer") {
        parts.push(format!(
            "{} of {}",
            duration_text(ridden.duration_s),
            duration_text(rep.planned_duration_s)
        ));
    }
    if ridden.from_standing {
        parts.push("started from standing".to_owned());
    }
    for halt in &ridden.halts {
        let at = duration_text(halt.start_time_s - ridden.start_time_s);
        parts.push(format!("a halt of {:.0} s after {at}", halt.duration_s));
    }
    if ridden.coasting_s >= 5.0 {
        parts.push(format!("{:.0} s of coasting", ridden.coasting_s));
    }
    if ridden.gears.len() > 1 {
        let all: Vec<String> = ridden
            .gears
            .iter()
            .map(|g| format!("{} for {}", g.gear, duration_text(g.duration_s)))
            .collect();
        parts.push(all.join(", then "));
    } else if let (Some(planned), Some(only)) = (&rep.planned_gear, ridden.gears.first())
        && *planned != only.gear
    {
        parts.push(format!("{} where {planned} was planned", only.gear));
    }
    if let Some(range) = ridden
        .model_duration_range_s
        .filter(|r| !(r.low..=r.high).contains(&ridden.duration_s))
    {
        parts.push(format!(
            "{} where the model gives {} to {} for that power: wind, shelter, or a rider file that is off",
            duration_text(ridden.duration_s),
            duration_text(range.low),
            duration_text(range.high)
        ));
    }
    if !parts.is_empty() {
        lines.push(format!("{name}: {}.", parts.join("; ")));
    }
    lines
}

fn brief(recording: &ReviewEntry, paper: &Paper) -> String {
    let spans: Vec<String> = recording
        .brief_efforts
        .iter()
        .map(|e| {
            format!(
                "{} at {}",
                duration_text(e.duration_s),
                duration_text(e.start_time_s)
            )
        })
        .collect();
    if spans.is_empty() {
        return String::new();
    }
    let text = format!(
        "In the bands too, but too short to be a rep: {}.",
        spans.join(", ")
    );
    paper.wrapped(&text, 0)
}

fn climbs_table(climbs: &[RiddenClimbEntry], paper: &Paper) -> String {
    let start = format!("start {}", paper.far_unit());
    let rows = climbs
        .iter()
        .map(|c| {
            let off = 100.0 * (c.model_duration_s / c.duration_s - 1.0);
            vec![
                c.climb.to_string(),
                paper.far_number(c.start.distance_m),
                format!("{:.1} %", c.grade_pct),
                format!("{:.0}", c.power_w),
                duration_text(c.duration_s),
                duration_text(c.model_duration_s),
                format!("{off:+.1} %"),
                format!(
                    "{}–{}",
                    duration_text(c.model_duration_range_s.low),
                    duration_text(c.model_duration_range_s.high)
                ),
            ]
        })
        .collect();
    paper.table(
        &[
            "climb",
            &start,
            "grade",
            "W",
            "ridden",
            "model",
            "off",
            "nine in ten",
        ],
        rows,
        &[],
    )
}
