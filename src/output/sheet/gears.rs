//! The gears of a plan on its sheet: the chart, and what each gear suits.

use maud::{Markup, html};

use super::plan::{BestRoute, PlanSheet};
use crate::gearing::chart;
use crate::output::document::{GearName, GearsDocument, PlanEntry};
use crate::output::{gears, gears_svg};

/// The gear chart for the first block that has bands, around the grades of the climbs.
pub(crate) fn section(sheet: &PlanSheet, route: &PlanEntry, best: &BestRoute) -> Markup {
    let Some(demand) = sheet.demands.iter().find(|d| d.start.is_none()) else {
        return html! {};
    };
    let count = best.profile.nodes() as f64;
    let mean_m = best.profile.elevation_m.iter().sum::<f64>() / count;
    let around = chart::Surroundings::at(mean_m, best.weather);
    let grades: Vec<f64> = (2..=12).map(f64::from).collect();
    let made = chart::chart(sheet.drive, &around, &demand.bands, &grades);
    let document = gears::document(sheet.rider, sheet.drive, &demand.bands, &made);
    let used = gears_used(route);
    let names: Vec<GearName> = used.iter().map(|(gear, _)| *gear).collect();
    html! {
        section aria-labelledby="gears" {
            h2 id="gears" { "The gears" }
            div.two {
                figure {
                    div.wide { (gears_svg::chart(&document, "gears-wide", gears_svg::WIDE, &names)) }
                    div.narrow { (gears_svg::chart(&document, "gears-narrow", gears_svg::NARROW, &names)) }
                    figcaption {
                        (format!("Cadence in each gear at {:.0} W, in still air. Shaded: the band. Thick: the gear suits. Dashed: the chain runs askew.", document.power_band_w.aim))
                    }
                }
                (windows(&document, &used))
            }
        }
    }
}

/// The gears of the plan, each with the reps that use it, lowest first.
fn gears_used(route: &PlanEntry) -> Vec<(GearName, Vec<usize>)> {
    let mut used: Vec<(GearName, Vec<usize>)> = Vec::new();
    for rep in &route.reps {
        let shifted = rep.shifts.iter().map(|s| rep.shifted(s));
        for gear in std::iter::once(rep.gear).chain(shifted) {
            match used.iter_mut().find(|(known, _)| *known == gear) {
                Some((_, reps)) if reps.last() == Some(&rep.rep) => {}
                Some((_, reps)) => reps.push(rep.rep),
                None => used.push((gear, vec![rep.rep])),
            }
        }
    }
    let ratio = |gear: &GearName| f64::from(gear.chainring) / f64::from(gear.sprocket);
    used.sort_by(|a, b| ratio(&a.0).total_cmp(&ratio(&b.0)));
    used
}

/// The gears of the plan, with the grades that they suit.
fn windows(document: &GearsDocument, used: &[(GearName, Vec<usize>)]) -> Markup {
    let window = |gear: &GearName| document.windows.iter().find(|w| w.gear == *gear);
    html! {
        @if !used.is_empty() {
            table {
                thead { tr { th.left scope="col" { "Gear" } th.left scope="col" { "Reps" } th scope="col" { "Suits grades of" } } }
                tbody {
                    @for (gear, reps) in used {
                        tr {
                            th.left scope="row" { (gear) }
                            td.left { (reps.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")) }
                            td { @if let Some(w) = window(gear) { (format!("{:.1}–{:.1} %", w.gentlest_grade_pct, w.steepest_grade_pct)) } @else { "–" } }
                        }
                    }
                }
            }
        }
    }
}
