//! What `hillwright plan` prints and the files that it writes.

use super::failure::Failure;
use super::plan::{Ground, Order};
use super::plan_arguments::PlanArguments;
use super::print;
use crate::matching::Plan;
use crate::output::document::PlanDocument;
use crate::output::drawing::map::Projection;
use crate::output::drawing::relief::Relief;
use crate::output::files;
use crate::output::sheet;
use crate::output::sheet::card;
use crate::output::sheet::plan::{BestRoute, PlanSheet};
use crate::terrain::Tiles;

/// Endings of the files, besides `.json`.
pub(super) const ENDINGS: [&str; 6] = ["html", "gpx", "geojson", "kml", "csv", "svg"];

/// Answers with a document; `best` is what its first route was made from.
pub(super) fn answer(
    arguments: &PlanArguments,
    order: &Order,
    document: &PlanDocument,
    best: Option<(&Ground, &Plan)>,
) -> Result<(), Failure> {
    let paper = print::paper(&arguments.answer);
    let sheet = PlanSheet {
        document,
        rider: &order.rider,
        drive: &order.drive,
        set: &order.set,
        demands: &order.demands,
        best: best.map(|(ground, plan)| BestRoute {
            route: &ground.graded.route,
            profile: &ground.graded.profile,
            weather: &ground.weather,
            plan,
            relief: None,
        }),
        paper: &paper,
    };
    let missing = |ending: &str| {
        Failure::CommandLine(format!(
            "a .{ending} file holds a route, and none was given"
        ))
    };
    let ride = |ending: &str| sheet.ride().ok_or_else(|| missing(ending));
    print::answer(
        document,
        &arguments.answer,
        &|paper| match arguments.card {
            true => card::text(document, paper),
            false => PlanSheet { paper, ..sheet }.text(),
        },
        &[
            ("html", &|| Ok(page(&sheet, arguments))),
            ("gpx", &|| {
                files::gpx::gpx(&[ride("gpx")?]).map_err(Failure::Write)
            }),
            ("geojson", &|| {
                files::geojson::geojson(&[ride("geojson")?]).map_err(Failure::Write)
            }),
            ("kml", &|| Ok(files::kml::kml(&[ride("kml")?]))),
            ("csv", &|| {
                files::csv::reps(document).map_err(Failure::Write)
            }),
            ("svg", &|| sheet.picture().ok_or_else(|| missing("svg"))),
        ],
    )
}

/// The sheet or the card, as a page.
fn page(sheet: &PlanSheet, arguments: &PlanArguments) -> String {
    if arguments.card {
        return card::page(sheet.document, sheet.paper);
    }
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let relief = sheet
        .best
        .and_then(|best| Relief::under(&Projection::of(best.profile), &tiles));
    sheet::plan::page(&PlanSheet {
        best: sheet.best.map(|best| BestRoute {
            relief: relief.as_ref(),
            ..best
        }),
        ..*sheet
    })
}
