//! What can be taken along: every form of the plan, the rider file, the set file.

use std::io;

use maud::{Markup, html};

use super::address::Address;
use super::answer::Shown;
use crate::output::files;
use crate::output::sheet::card;
use crate::output::sheet::plan::{self, BestRoute, PlanSheet};
use crate::prescription::{rider_text, set_text};

/// A file that can be taken along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Takeaway {
    /// The name that it is asked for by and saved under.
    pub(super) file: &'static str,
    /// What the page calls it.
    words: &'static str,
    /// Its media type.
    pub(super) media: &'static str,
    form: Form,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Form {
    Sheet,
    Card,
    Gpx,
    Kml,
    GeoJson,
    Csv,
    Svg,
    Text,
    Json,
    Rider,
    Set,
}

const fn takeaway(
    form: Form,
    file: &'static str,
    words: &'static str,
    media: &'static str,
) -> Takeaway {
    Takeaway {
        file,
        words,
        media,
        form,
    }
}

/// All of them.
pub(super) const ALL: [Takeaway; 11] = [
    takeaway(Form::Gpx, "plan.gpx", "GPX", "application/gpx+xml"),
    takeaway(
        Form::Sheet,
        "plan.html",
        "sheet to print",
        "text/html; charset=utf-8",
    ),
    takeaway(
        Form::Card,
        "card.html",
        "card for the stem",
        "text/html; charset=utf-8",
    ),
    takeaway(
        Form::Kml,
        "plan.kml",
        "KML",
        "application/vnd.google-earth.kml+xml",
    ),
    takeaway(
        Form::GeoJson,
        "plan.geojson",
        "GeoJSON",
        "application/geo+json",
    ),
    takeaway(Form::Csv, "plan.csv", "CSV", "text/csv; charset=utf-8"),
    takeaway(Form::Svg, "plan.svg", "profile, SVG", "image/svg+xml"),
    takeaway(Form::Text, "plan.txt", "text", "text/plain; charset=utf-8"),
    takeaway(Form::Json, "plan.json", "JSON", "application/json"),
    takeaway(Form::Rider, "rider.toml", "rider file", "application/toml"),
    takeaway(Form::Set, "set.toml", "set file", "application/toml"),
];

/// Links to all of them for an address.
pub(super) fn links(address: &Address) -> Markup {
    let query = address.query();
    html! {
        nav.take aria-label="Take along" {
            span aria-hidden="true" { "Take along:" }
            @for file in ALL {
                a href=(format!("/take/{}?{query}", file.file)) download=(file.file) { (file.words) }
            }
        }
    }
}

/// What is in one of them.
///
/// # Errors
/// It holds a route and none is here, or it can't be written down.
pub(super) fn content(file: Takeaway, shown: &Shown) -> io::Result<String> {
    let order = shown.order;
    let document = &shown.answer.document;
    let sheet = shown.sheet();
    let missing = || io::Error::other("it holds a route, and none is here");
    let ride = || sheet.ride().ok_or_else(missing);
    Ok(match file.form {
        Form::Sheet => page(&sheet),
        Form::Card => card::page(document, &order.paper),
        Form::Gpx => files::gpx::gpx(&[ride()?])?,
        Form::Kml => files::kml::kml(&[ride()?]),
        Form::GeoJson => files::geojson::geojson(&[ride()?])?,
        Form::Csv => files::csv::reps(document)?,
        Form::Svg => sheet.picture().ok_or_else(missing)?,
        Form::Text => sheet.text(),
        Form::Json => serde_json::to_string_pretty(document)? + "\n",
        Form::Rider => rider_text(&order.rider),
        Form::Set => set_text(&order.set),
    })
}

/// The sheet, the relief in it.
fn page(sheet: &PlanSheet) -> String {
    let relief = sheet.best.and_then(|best| best.relief);
    let relief = relief.map(|relief| relief.clone().held());
    plan::page(&PlanSheet {
        best: sheet.best.map(|best| BestRoute {
            relief: relief.as_ref(),
            ..best
        }),
        ..*sheet
    })
}
