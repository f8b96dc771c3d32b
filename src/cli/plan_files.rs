//! What `hillwright plan` prints and the files that it writes.

use super::arguments::PlanArguments;
use super::failure::Failure;
use super::plan::{Ground, Order};
use super::print;
use crate::matching::Plan;
use crate::output::document::PlanDocument;
use crate::output::drawing::map::Projection;
use crate::output::drawing::relief::Relief;
use crate::output::sheet::card;
use crate::output::sheet::plan::{BestRoute, PlanSheet};
use crate::output::{self, Paper, sheet};
use crate::terrain::Tiles;

/// Endings of the files, besides `.json`.
pub(super) const ENDINGS: [&str; 1] = ["html"];

/// Answers with a document; `best` is what its first route was made from.
pub(super) fn answer(
    arguments: &PlanArguments,
    order: &Order,
    document: &PlanDocument,
    best: Option<(&Ground, &Plan)>,
) -> Result<(), Failure> {
    let text = |paper: &Paper| {
        if arguments.card {
            card::text(document, paper)
        } else {
            output::plan::text(document, paper)
        }
    };
    let paper = print::paper(&arguments.answer);
    let page = || {
        if arguments.card {
            return Ok(card::page(document, &paper));
        }
        let tiles = Tiles::open(&arguments.elevation.tiles);
        let relief = best
            .and_then(|(ground, _)| Relief::under(&Projection::of(&ground.graded.profile), &tiles));
        Ok(sheet::plan::page(&PlanSheet {
            document,
            rider: &order.rider,
            drive: &order.drive,
            set: &order.set,
            demands: &order.demands,
            best: best.map(|(ground, plan)| BestRoute {
                profile: &ground.graded.profile,
                weather: &ground.weather,
                plan,
                relief: relief.as_ref(),
            }),
            paper: &paper,
        }))
    };
    print::answer(document, &arguments.answer, &text, &[("html", &page)])
}
