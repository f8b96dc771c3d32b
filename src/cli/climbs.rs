//! `hillwright climbs`.

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::climbs::{self, Climbs};
use crate::gearing::Drive;
use crate::gearing::along::nearest_gear;
use crate::output;
use crate::output::climbs::ClimbRide;
use crate::prescription::{EXAMPLE_RIDER, RiderFile, parse_rider};
use crate::profile::Profile;
use crate::ride::{Pace, Road, passages};

pub(super) fn run(arguments: &ClimbsArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &[])?;
    let rider = rider(arguments)?;
    let rule = arguments.rule.rule();
    let routes = input::routes(&arguments.routes, &arguments.elevation)?;
    let entries: Vec<_> = routes
        .iter()
        .map(|graded| {
            let found = climbs::find(&graded.profile, &rule);
            let rides = rider
                .as_ref()
                .map(|r| rides(r, arguments, &graded.profile, &found));
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
        &[],
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

fn rides(
    file: &RiderFile,
    arguments: &ClimbsArguments,
    profile: &Profile,
    found: &Climbs,
) -> Vec<ClimbRide> {
    let power_w = arguments.power.unwrap_or(file.rider.threshold_w);
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let approach = Pace::between_reps(
        &file.rider,
        file.rider.steady_share,
        drive.lowest_development_m(),
    );
    let (weather, unknowns) = (arguments.weather.weather(), arguments.unknowns.unknowns());
    let road = Road::new(profile, &drive.system, &weather);
    passages(
        profile,
        &found.climbs,
        &drive.system,
        &weather,
        &approach,
        power_w,
        &unknowns,
    )
    .into_iter()
    .zip(&found.climbs)
    .map(|(passage, climb)| {
        let (from, to) = (profile.node_at(climb.from_m), profile.node_at(climb.to_m));
        let gear = nearest_gear(&drive, &road, from, to, power_w, arguments.cadence);
        ClimbRide { passage, gear }
    })
    .collect()
}
