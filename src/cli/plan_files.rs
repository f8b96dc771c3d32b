//! What `hillwright plan` prints and the files that it writes.

use super::arguments::PlanArguments;
use super::failure::Failure;
use super::plan::{Ground, Order};
use super::print;
use crate::matching::Plan;
use crate::output::document::PlanDocument;
use crate::output::drawing::map::Projection;
use crate::output::drawing::profile::{self, ProfilePicture};
use crate::output::drawing::relief::Relief;
use crate::output::drawing::{ALONE, Mark};
use crate::output::files::{self, Ride};
use crate::output::sheet::card;
use crate::output::sheet::plan::{BestRoute, PlanSheet};
use crate::output::{self, Paper, sheet, terminal};
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
    let answer = Answer {
        arguments,
        order,
        document,
        best,
        paper: &paper,
    };
    print::answer(
        document,
        &arguments.answer,
        &|paper| answer.text(paper),
        &[
            ("html", &|| Ok(answer.page())),
            ("gpx", &|| {
                files::gpx::gpx(&[answer.ride("gpx")?]).map_err(Failure::Write)
            }),
            ("geojson", &|| {
                files::geojson::geojson(&[answer.ride("geojson")?]).map_err(Failure::Write)
            }),
            ("kml", &|| Ok(files::kml::kml(&[answer.ride("kml")?]))),
            ("csv", &|| {
                files::csv::reps(document).map_err(Failure::Write)
            }),
            ("svg", &|| answer.profile()),
        ],
    )
}

struct Answer<'a> {
    arguments: &'a PlanArguments,
    order: &'a Order,
    document: &'a PlanDocument,
    best: Option<(&'a Ground, &'a Plan)>,
    paper: &'a Paper,
}

impl<'a> Answer<'a> {
    fn text(&self, paper: &Paper) -> String {
        if self.arguments.card {
            return card::text(self.document, paper);
        }
        let picture = match (self.document.routes.first(), self.best) {
            (Some(entry), Some((ground, _))) => {
                terminal::with_reps(&ground.graded.profile, &entry.reps, paper)
            }
            _ => String::new(),
        };
        output::plan::text(self.document, &picture, paper)
    }

    fn page(&self) -> String {
        if self.arguments.card {
            return card::page(self.document, self.paper);
        }
        let tiles = Tiles::open(&self.arguments.elevation.tiles);
        let relief = self
            .best
            .and_then(|(ground, _)| Relief::under(&Projection::of(&ground.graded.profile), &tiles));
        sheet::plan::page(&PlanSheet {
            document: self.document,
            rider: &self.order.rider,
            drive: &self.order.drive,
            set: &self.order.set,
            demands: &self.order.demands,
            best: self.best.map(|(ground, plan)| BestRoute {
                profile: &ground.graded.profile,
                weather: &ground.weather,
                plan,
                relief: relief.as_ref(),
            }),
            paper: self.paper,
        })
    }

    /// The best route to ride; an error where the plan is for indoors.
    fn ride(&self, ending: &str) -> Result<Ride<'a>, Failure> {
        let (Some(entry), Some((ground, _))) = (self.document.routes.first(), self.best) else {
            return Err(Failure::CommandLine(format!(
                "a .{ending} file holds a route, and none was given"
            )));
        };
        Ok(Ride {
            route: &ground.graded.route,
            climbs: &entry.climbs,
            reps: &entry.reps,
            laps: entry.laps,
            cautions: &self.document.cautions,
        })
    }

    fn profile(&self) -> Result<String, Failure> {
        let ride = self.ride("svg")?;
        let reps = Mark::reps(ride.reps);
        let climbs: Vec<Mark> = ride.climbs.iter().map(Mark::climb).collect();
        let name = ride.name();
        let pictures: Vec<ProfilePicture> = self
            .best
            .iter()
            .map(|(ground, _)| ProfilePicture {
                profile: &ground.graded.profile,
                reps: &reps,
                climbs: &climbs,
                paper: self.paper,
                size: ALONE,
                id: "profile",
                heading: Some(&name),
            })
            .collect();
        Ok(profile::file(&pictures, ride.cautions))
    }
}
