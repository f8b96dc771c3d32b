//! The set on a trainer, block by block.

use maud::{Markup, html};

use crate::output::document::{AimedBand, IndoorEntry, PlanDocument};
use crate::output::indoors::warm_up;
use crate::output::text::Paper;
use crate::prescription::duration_text;

/// The table, narrow enough for a phone.
pub(super) fn table(document: &PlanDocument, paper: &Paper) -> Markup {
    html! {
        @if let Some(warm_up) = warm_up(document) { p { (warm_up) } }
        table.reps {
            thead { tr {
                th.left scope="col" { "Work" }
                th scope="col" { "Power" }
                th scope="col" { "Cadence" }
                th scope="col" { "Gear" }
                th.more scope="col" { "Wheel" }
                th scope="col" { "Then easy" }
            } }
            tbody { @for block in &document.indoors { (row(block, paper)) } }
        }
    }
}

fn row(block: &IndoorEntry, paper: &Paper) -> Markup {
    let band = |band: &AimedBand, unit: &str| {
        html! {
            (format!("{:.0} {unit}", band.aim))
            small { (format!("{:.0}–{:.0}", band.from, band.to)) }
        }
    };
    html! {
        tr {
            th.left scope="row" { (block.reps) " × " (duration_text(block.work_s)) }
            @if let Some(held) = &block.held {
                td { (band(&held.power_band_w, "W")) small { (format!("{:.0} N·m", held.torque_nm)) } }
                td { (band(&held.cadence_band_rpm, "rpm")) }
                td { (held.gear) }
                td.more { (paper.speed(held.wheel_speed_kmh)) }
            } @else {
                td { "all out" } td { "–" } td { "–" } td.more { "–" }
            }
            td { (duration_text(block.recovery_at_least_s)) }
        }
    }
}
