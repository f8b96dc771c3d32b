//! What `hillwright climbs` prints and the files that it writes.

use std::path::Path;

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::input::Graded;
use super::shared_arguments::Format;
use super::{climbs_stream, print};
use crate::output::document::ClimbsDocument;
use crate::output::drawing::map::Projection;
use crate::output::drawing::profile::{self, ProfilePicture};
use crate::output::drawing::relief::Relief;
use crate::output::drawing::{ALONE, Mark};
use crate::output::files::{self, Ride};
use crate::output::sheet::climbs::RouteSheet;
use crate::output::{self, Paper, sheet, terminal};
use crate::terrain::Tiles;

/// Endings of the files, besides `.json`.
pub(super) const ENDINGS: [&str; 8] = [
    "html", "gpx", "geojson", "kml", "csv", "svg", "ndjson", "parquet",
];

/// Whether the routes' whole lines are drawn or written. The text of a single route has its profile in it.
pub(super) fn needs_lines(arguments: &ClimbsArguments) -> bool {
    let draws =
        |ending: &str| ENDINGS.contains(&ending) && !climbs_stream::ENDINGS.contains(&ending);
    let alone = matches!(&arguments.routes[..], [one] if !Path::new(one).is_dir());
    let answer = &arguments.answer;
    (alone && answer.format == Format::Text)
        || draws(answer.format.ending())
        || answer.output.iter().any(|path| draws(&print::ending(path)))
}

pub(super) fn answer(
    arguments: &ClimbsArguments,
    document: &ClimbsDocument,
    routes: &[Graded],
) -> Result<(), Failure> {
    let paper = print::paper(&arguments.answer);
    let text = |paper: &Paper| {
        let picture = match (&document.routes[..], routes) {
            ([entry], [graded]) => terminal::with_climbs(&graded.profile, &entry.climbs, paper),
            _ => String::new(),
        };
        output::climbs::text(document, &picture, paper)
    };
    let page = || {
        let tiles = Tiles::open(&arguments.elevation.tiles);
        let ground = |graded: &Graded| Relief::under(&Projection::of(&graded.profile), &tiles);
        let grounds: Vec<Option<Relief>> = routes.iter().map(ground).collect();
        let sheets: Vec<RouteSheet> = document
            .routes
            .iter()
            .zip(routes)
            .zip(&grounds)
            .map(|((entry, graded), ground)| RouteSheet {
                entry,
                profile: &graded.profile,
                relief: ground.as_ref(),
            })
            .collect();
        Ok(sheet::climbs::page(&sheets, &paper))
    };
    let rides: Vec<Ride> = document
        .routes
        .iter()
        .zip(routes)
        .map(|(entry, graded)| Ride {
            route: &graded.route,
            climbs: &entry.climbs,
            reps: &[],
            laps: 1,
            plan: None,
            cautions: &[],
        })
        .collect();
    print::answer(
        document,
        &arguments.answer,
        &text,
        &[
            ("html", &page),
            ("gpx", &|| files::gpx::gpx(&rides).map_err(Failure::Write)),
            ("geojson", &|| {
                files::geojson::geojson(&rides).map_err(Failure::Write)
            }),
            ("kml", &|| Ok(files::kml::kml(&rides))),
            ("csv", &|| {
                files::csv::climbs(document).map_err(Failure::Write)
            }),
            ("svg", &|| Ok(profiles(document, routes, &rides, &paper))),
        ],
    )
}

/// The profiles of all routes, one under the other.
fn profiles(document: &ClimbsDocument, routes: &[Graded], rides: &[Ride], paper: &Paper) -> String {
    let marks: Vec<Vec<Mark>> = document
        .routes
        .iter()
        .map(|entry| entry.climbs.iter().map(Mark::climb).collect())
        .collect();
    let texts: Vec<(String, String)> = rides
        .iter()
        .zip(1..)
        .map(|(ride, number)| (ride.name(), format!("profile-{number}")))
        .collect();
    let pictures: Vec<ProfilePicture> = routes
        .iter()
        .zip(&marks)
        .zip(&texts)
        .map(|((graded, climbs), (name, id))| ProfilePicture {
            profile: &graded.profile,
            reps: &[],
            climbs,
            paper,
            size: ALONE,
            id,
            heading: Some(name),
        })
        .collect();
    profile::file(&pictures, &[])
}
