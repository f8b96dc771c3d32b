//! `hillwright climbs`.

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::climbs::{self, Climbs};
use crate::gearing::Drive;
use crate::output;
use crate::prescription::{EXAMPLE_RIDER, RiderFile, parse_rider};
use crate::profile::Profile;
use crate::ride::{Pace, Passage, Unknowns, Weather, passages};

pub(super) fn run(arguments: &ClimbsArguments) -> Result<Outcome, Failure> {
    let rider = rider(arguments)?;
    let rule = arguments.rule.rule();
    let routes = input::routes(&arguments.routes, &arguments.elevation)?;
    let entries: Vec<_> = routes
        .iter()
        .map(|graded| {
            let found = climbs::find(&graded.profile, &rule);
            let rides = rider.as_ref().map(|r| {
                times(
                    r,
                    arguments.power.unwrap_or(r.rider.threshold_w),
                    &graded.profile,
                    &found,
                )
            });
            output::climbs::route_entry(
                &graded.route,
                &graded.profile,
                graded.origin,
                &found,
                &rides.unwrap_or_default(),
            )
        })
        .collect();
    let any = entries.iter().any(|e| !e.climbs.is_empty());
    print::answer(
        &output::climbs::document(entries),
        &arguments.answer,
        output::climbs::text,
    )?;
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

fn rider(arguments: &ClimbsArguments) -> Result<Option<RiderFile>, Failure> {
    match (&arguments.rider, arguments.power) {
        (Some(path), _) => input::rider(path).map(Some),
        (None, None) => Ok(None),
        (None, Some(_)) => {
            print::warning(
                "no --rider FILE: times are for the rider of `hillwright example rider`",
            );
            parse_rider(EXAMPLE_RIDER)
                .map(Some)
                .map_err(|source| Failure::Prescription {
                    path: "example rider".to_owned(),
                    source,
                })
        }
    }
}

fn times(file: &RiderFile, power_w: f64, profile: &Profile, found: &Climbs) -> Vec<Passage> {
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let approach = Pace::between_reps(
        &file.rider,
        file.rider.steady_share,
        drive.lowest_development_m(),
    );
    let (weather, unknowns) = (Weather::default(), Unknowns::default());
    passages(
        profile,
        &found.climbs,
        &drive.system,
        &weather,
        &approach,
        power_w,
        &unknowns,
    )
}
