//! A plan as text, as a route to ride, as a picture: the forms that need more than the document.

use super::drawing::profile::{self, ProfilePicture};
use super::drawing::{ALONE, Mark};
use super::files::Ride;
use super::sheet::plan::PlanSheet;
use super::{plan_text, terminal};

impl<'a> PlanSheet<'a> {
    /// For the terminal.
    pub fn text(&self) -> String {
        let picture = match (self.document.routes.first(), &self.best) {
            (Some(entry), Some(best)) => terminal::with_reps(best.profile, &entry.reps, self.paper),
            _ => String::new(),
        };
        plan_text::text(self.document, &picture, self.paper)
    }

    /// The best route, to ride; `None` where there is none.
    pub fn ride(&self) -> Option<Ride<'a>> {
        let (entry, best) = (self.document.routes.first()?, self.best?);
        Some(Ride {
            route: best.route,
            climbs: &entry.climbs,
            reps: &entry.reps,
            laps: entry.laps,
            plan: Some((entry, &self.document.asked)),
            cautions: &self.document.cautions,
        })
    }

    /// The best route's profile as SVG; `None` where there is none.
    pub fn picture(&self) -> Option<String> {
        let (ride, best) = (self.ride()?, self.best?);
        let reps = Mark::reps(ride.reps);
        let climbs: Vec<Mark> = ride.climbs.iter().map(Mark::climb).collect();
        let picture = ProfilePicture {
            profile: best.profile,
            reps: &reps,
            climbs: &climbs,
            paper: self.paper,
            size: ALONE,
            id: "profile",
            heading: Some(&ride.name()),
        };
        Some(profile::file(&[picture], ride.cautions))
    }
}
