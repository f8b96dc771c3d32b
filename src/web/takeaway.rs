//! What can be taken along: every form of the plan, the rider file, the set file.

use std::io;

use maud::{Markup, html};

use super::address::Address;
use super::answer::Shown;
use crate::output::drawing::profile::{self, ProfilePicture};
use crate::output::drawing::relief::Relief;
use crate::output::drawing::{ALONE, Mark};
use crate::output::files::{self, Ride};
use crate::output::sheet::card;
use crate::output::sheet::plan::{self, BestRoute, PlanSheet};
use crate::output::{self, terminal};
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
    Ok(match file.form {
        Form::Sheet => sheet(shown),
        Form::Card => card::page(document, &order.paper),
        Form::Gpx => files::gpx::gpx(&[ride(shown)?])?,
        Form::Kml => files::kml::kml(&[ride(shown)?]),
        Form::GeoJson => files::geojson::geojson(&[ride(shown)?])?,
        Form::Csv => files::csv::reps(document)?,
        Form::Svg => picture(shown)?,
        Form::Text => text(shown),
        Form::Json => serde_json::to_string_pretty(document)? + "\n",
        Form::Rider => rider_text(&order.rider),
        Form::Set => set_text(&order.set),
    })
}

/// The sheet, the relief in it.
fn sheet(shown: &Shown) -> String {
    let order = shown.order;
    let relief = shown.answer.shown.as_ref();
    let relief = relief.and_then(|s| s.ground.relief.clone().map(Relief::held));
    plan::page(&PlanSheet {
        document: &shown.answer.document,
        rider: &order.rider,
        drive: &order.drive,
        set: &order.set,
        demands: &order.demands,
        best: shown.best().map(|best| BestRoute {
            relief: relief.as_ref(),
            ..best
        }),
        paper: &order.paper,
    })
}

fn text(shown: &Shown) -> String {
    let (document, paper) = (&shown.answer.document, &shown.order.paper);
    let picture = match (document.routes.first(), &shown.answer.shown) {
        (Some(entry), Some(planned)) => {
            terminal::with_reps(&planned.ground.profile, &entry.reps, paper)
        }
        _ => String::new(),
    };
    output::plan::text(document, &picture, paper)
}

/// The route that is shown, to ride.
fn ride<'a>(shown: &Shown<'a>) -> io::Result<Ride<'a>> {
    let document = &shown.answer.document;
    let (Some(entry), Some(planned)) = (document.routes.first(), &shown.answer.shown) else {
        return Err(io::Error::other("it holds a route, and none is here"));
    };
    Ok(Ride {
        route: &planned.ground.route,
        climbs: &entry.climbs,
        reps: &entry.reps,
        laps: entry.laps,
        cautions: &document.cautions,
    })
}

fn picture(shown: &Shown) -> io::Result<String> {
    let ride = ride(shown)?;
    let reps = Mark::reps(ride.reps);
    let climbs: Vec<Mark> = ride.climbs.iter().map(Mark::climb).collect();
    let name = ride.name();
    let pictures: Vec<ProfilePicture> = shown
        .answer
        .shown
        .iter()
        .map(|planned| ProfilePicture {
            profile: &planned.ground.profile,
            reps: &reps,
            climbs: &climbs,
            paper: &shown.order.paper,
            size: ALONE,
            id: "profile",
            heading: Some(&name),
        })
        .collect();
    Ok(profile::file(&pictures, ride.cautions))
}
