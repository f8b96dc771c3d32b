//! Files to ride with and to work with, one a format.

pub mod csv;
pub mod geojson;
pub mod gpx;
pub mod kml;
#[cfg(feature = "parquet")]
pub mod parquet;
mod stretch;

use super::document::{ClimbEntry, GearName, RepEntry};
use super::text::clean;
use crate::route::Route;

/// A route with what was found on it: what files to ride with hold.
#[derive(Debug, Clone, Copy)]
pub struct Ride<'a> {
    /// The route, its elevations as its file has them.
    pub route: &'a Route,
    /// The climbs.
    pub climbs: &'a [ClimbEntry],
    /// The reps; none where only climbs were asked for.
    pub reps: &'a [RepEntry],
    /// How often the route is ridden.
    pub laps: usize,
    /// What every plan says; empty where only climbs were asked for.
    pub cautions: &'a [String],
}

/// A place with a name that says all on a small screen.
#[derive(Debug, Clone, PartialEq)]
pub struct Waypoint {
    /// In ASCII, such as `Rep 3 START 50x24 55rpm`.
    pub name: String,
    /// More about it.
    pub about: String,
    /// Where it is.
    pub at: super::document::Place,
}

impl Ride<'_> {
    /// The route's name, or the file's without its folders and ending.
    pub fn name(&self) -> String {
        let name = self.route.name.as_deref().map(clean);
        let stem = || {
            let file = std::path::Path::new(&self.route.source);
            clean(&file.file_stem().unwrap_or_default().to_string_lossy())
        };
        name.filter(|n| !n.trim().is_empty()).unwrap_or_else(stem)
    }

    /// Start, shifts and stop of each rep; without reps, foot and top of each climb.
    pub fn waypoints(&self) -> Vec<Waypoint> {
        if self.reps.is_empty() {
            return self.climbs.iter().flat_map(of_climb).collect();
        }
        let reps = self.reps.iter();
        reps.flat_map(|rep| of_rep(rep, self.laps)).collect()
    }
}

fn of_rep(rep: &RepEntry, laps: usize) -> Vec<Waypoint> {
    let lap = if laps > 1 {
        format!("Lap {} ", rep.lap)
    } else {
        String::new()
    };
    let title = format!("{lap}Rep {}", rep.rep);
    let gear = |gear: &GearName| {
        let hub = gear
            .hub_ratio
            .map_or(String::new(), |r| format!(" hub {r}"));
        format!("{}x{}{hub}", gear.chainring, gear.sprocket)
    };
    let work = crate::prescription::duration_text(rep.duration_s);
    let (hold, about) = if rep.maximal {
        ("all out".to_owned(), format!("All out for {work}."))
    } else {
        let power = rep.power_range_w;
        (
            format!("{:.0}rpm", rep.aim_rpm),
            format!(
                "Hold {:.0} rpm for {work}, about {:.0} to {:.0} W, on {:.1} %.",
                rep.aim_rpm, power.low, power.high, rep.grade_pct
            ),
        )
    };
    let start = Waypoint {
        name: format!("{title} START {} {hold}", gear(&rep.gear)),
        about,
        at: rep.start.clone(),
    };
    let shifts = rep.shifts.iter().map(|shift| Waypoint {
        name: format!("{title} SHIFT {}", gear(&rep.shifted(shift))),
        about: "Shift at the back here.".to_owned(),
        at: shift.at.clone(),
    });
    let easy = rep.recovery_after_s.map_or(String::new(), |s| {
        format!(" easy {}", crate::prescription::duration_text(s))
    });
    let stop = Waypoint {
        name: format!("{title} STOP {work}{easy}"),
        about: format!("The clock stops the rep after {work}, about here."),
        at: rep.end.clone(),
    };
    std::iter::once(start)
        .chain(shifts)
        .chain(std::iter::once(stop))
        .collect()
}

fn of_climb(climb: &ClimbEntry) -> [Waypoint; 2] {
    let about = format!(
        "{:.0} m at {:.1} %, {:.1} to {:.1} % over 100 m.",
        climb.length_m, climb.grade_pct, climb.gentlest_100m_pct, climb.steepest_100m_pct
    );
    [
        Waypoint {
            name: format!(
                "Climb {} START {:.1}% {:.0}m",
                climb.id, climb.grade_pct, climb.length_m
            ),
            about: about.clone(),
            at: climb.start.clone(),
        },
        Waypoint {
            name: format!("Climb {} END", climb.id),
            about,
            at: climb.end.clone(),
        },
    ]
}
