//! `hillwright climbs`.

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::ride_arguments::PacingName;
use super::{Outcome, climbs_files, input, print};
use crate::climbs::{self, Climbs};
use crate::gearing::along::along;
use crate::gearing::{Band, Bands, Drive};
use crate::output;
use crate::output::climbs::ClimbRide;
use crate::prescription::{self, EXAMPLE_RIDER, Fault, RiderFile, parse_rider};
use crate::profile::Profile;
use crate::ride::{Pace, Pacing, Unknowns, passages};

pub(super) fn run(arguments: &ClimbsArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &climbs_files::ENDINGS)?;
    let riding = Riding::read(arguments)?;
    let rule = arguments.rule.rule();
    let routes = input::routes(&arguments.routes, &arguments.elevation)?;
    let entries: Vec<_> = routes
        .iter()
        .map(|graded| {
            let found = climbs::find(&graded.profile, &rule);
            let rides = riding
                .as_ref()
                .map(|r| r.rides(arguments, &graded.profile, &found));
            output::climbs::route_entry(
                &graded.route,
                &graded.profile,
                &graded.origin,
                &found,
                &rides.unwrap_or_default(),
            )
        })
        .collect();
    let any = entries.iter().any(|e| !e.climbs.is_empty());
    let document = output::climbs::document(entries);
    climbs_files::answer(arguments, &document, &routes)?;
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

fn rider(arguments: &ClimbsArguments) -> Result<Option<RiderFile>, Failure> {
    match (&arguments.rider, &arguments.power) {
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

/// What is held on the climbs.
fn bands(arguments: &ClimbsArguments, threshold_w: f64) -> Result<Bands, Failure> {
    let in_flag = |flag: &str, fault: Fault| Failure::CommandLine(fault.in_flag(flag).to_string());
    let power_w = match &arguments.power {
        Some(text) => prescription::parse_power(text)
            .map_err(|f| in_flag("--power", f))?
            .watts(threshold_w),
        None => Band::only(threshold_w),
    };
    let cadence = prescription::parse_cadence_around(&arguments.cadence)
        .map_err(|f| in_flag("--cadence", f))?;
    if arguments.pacing == PacingName::Cadence && power_w.from == power_w.to {
        return Err(Failure::CommandLine(
            "--pacing cadence: the power flexes while the cadence is held, so it takes a band of it: --power 190..225"
                .to_owned(),
        ));
    }
    Ok(Bands {
        power_w,
        cadence_rpm: cadence,
        torque_nm: None,
    })
}

/// Everything that the rides are made from.
struct Riding {
    file: RiderFile,
    drive: Drive,
    bands: Bands,
    unknowns: Unknowns,
}

impl Riding {
    fn read(arguments: &ClimbsArguments) -> Result<Option<Riding>, Failure> {
        let Some(file) = rider(arguments)? else {
            return Ok(None);
        };
        let unknowns = arguments
            .unknowns
            .unknowns()
            .map_err(Failure::CommandLine)?;
        arguments
            .unknowns
            .notes(file.resistance.crr)
            .iter()
            .for_each(|n| print::warning(n));
        Ok(Some(Riding {
            drive: Drive::new(&file.rider, &file.bike, &file.resistance),
            bands: bands(arguments, file.rider.threshold_w)?,
            unknowns,
            file,
        }))
    }

    fn rides(
        &self,
        arguments: &ClimbsArguments,
        profile: &Profile,
        found: &Climbs,
    ) -> Vec<ClimbRide> {
        let start_m = profile.elevation_m.first().copied().unwrap_or(0.0);
        let notes = arguments.weather.notes(start_m);
        notes.iter().for_each(|n| print::warning(n));
        let rider = &self.file.rider;
        let lowest_m = self.drive.lowest_development_m();
        let approach = Pace::between_reps(rider, rider.steady_share, lowest_m);
        let pacing: Pacing = arguments.pacing.into();
        let mut gears = Vec::with_capacity(found.climbs.len());
        let passages = passages(
            profile,
            &found.climbs,
            &self.drive.system,
            &arguments.weather.weather(start_m),
            &approach,
            &self.unknowns,
            |road, climb, entry_speed_ms| {
                let nodes = (profile.node_at(climb.from_m), profile.node_at(climb.to_m));
                let held = along(
                    &self.drive,
                    road,
                    nodes,
                    entry_speed_ms,
                    &self.bands,
                    pacing,
                );
                let constant = Pace::constant(self.bands.power_w.aim);
                let pace = held.as_ref().map_or(constant, |h| h.pace);
                gears.push(held);
                pace
            },
        );
        passages
            .into_iter()
            .zip(gears)
            .map(|(passage, gear)| ClimbRide {
                passage,
                pacing,
                bands: self.bands,
                gear,
            })
            .collect()
    }
}
