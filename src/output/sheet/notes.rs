//! Words that sheets share.

use maud::{Markup, html};

use crate::output::document::ElevationEntry;
use crate::output::text::{Paper, clean};

/// What every plan says.
pub(crate) fn cautions(cautions: &[String]) -> Markup {
    html! {
        section.cautions aria-labelledby="cautions" {
            h2 id="cautions" { "Before you ride" }
            ul.list { @for caution in cautions { li { (caution) } } }
        }
    }
}

/// A route's heading: its name, or the file's.
pub(crate) fn route_name(source: &str, name: Option<&str>) -> String {
    let name = name.map(clean).filter(|n| !n.trim().is_empty());
    name.unwrap_or_else(|| clean(source))
}

/// How good elevations are, in a sentence.
pub(super) fn elevations(elevation: &ElevationEntry, paper: &Paper) -> String {
    let from = if elevation.source == "tiles" {
        "from elevation tiles"
    } else {
        "as recorded"
    };
    let noise = match paper.height_unit() {
        "m" => format!("{:.1} m", elevation.noise_m),
        unit => format!("{:.0} {unit}", paper.height(elevation.noise_m)),
    };
    format!(
        "Elevations are {from}; a single one is within about ±{noise} (one standard deviation), and that error holds over some {:.0} m of road.",
        elevation.correlation_m
    )
}

/// Who made it.
pub(crate) fn footer() -> Markup {
    html! {
        footer { "Made by Hillwright " (env!("CARGO_PKG_VERSION")) ". Numbers are estimates." }
    }
}
