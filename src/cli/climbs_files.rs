//! What `hillwright climbs` prints and the files that it writes.

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::input::Graded;
use super::print;
use crate::output::document::ClimbsDocument;
use crate::output::drawing::map::Projection;
use crate::output::drawing::relief::Relief;
use crate::output::sheet::climbs::RouteSheet;
use crate::output::{self, sheet};
use crate::terrain::Tiles;

/// Endings of the files, besides `.json`.
pub(super) const ENDINGS: [&str; 1] = ["html"];

pub(super) fn answer(
    arguments: &ClimbsArguments,
    document: &ClimbsDocument,
    routes: &[Graded],
) -> Result<(), Failure> {
    let paper = print::paper(&arguments.answer);
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
    print::answer(
        document,
        &arguments.answer,
        &|paper| output::climbs::text(document, paper),
        &[("html", &page)],
    )
}
