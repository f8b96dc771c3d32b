//! Who rides the climbs, if anybody.

use super::arguments::RidingArguments;
use super::failure::Failure;
use super::ride_arguments::PacingName;
use super::{input, print};
use crate::climbs::Climb;
use crate::gearing::along::along;
use crate::gearing::{Band, Bands, Drive};
use crate::output::climbs::{ClimbRide, ride_entry};
use crate::output::document::RideEntry;
use crate::prescription::{self, EXAMPLE_RIDER, Fault, RiderFile, parse_rider};
use crate::profile::Profile;
use crate::ride::{Pace, Pacing, Unknowns, passages};

fn rider(arguments: &RidingArguments) -> Result<Option<RiderFile>, Failure> {
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
fn bands(arguments: &RidingArguments, threshold_w: f64) -> Result<Bands, Failure> {
    let in_flag = |flag: &str, fault: Fault| Failure::CommandLine(fault.in_flag(flag).to_string());
    let power_w = match &arguments.power {
        Some(text) => prescription::parse_power(text)
            .map_err(|f| in_flag("--power", f))?
            .watts(threshold_w),
        None => Band::only(threshold_w),
    };
    let cadence =
        prescription::parse_cadence(&arguments.cadence).map_err(|f| in_flag("--cadence", f))?;
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
pub(super) struct Riding<'a> {
    arguments: &'a RidingArguments,
    file: RiderFile,
    drive: Drive,
    bands: Bands,
    unknowns: Unknowns,
}

impl Riding<'_> {
    /// The rider of the flags; none where no flag names one or a power.
    pub(super) fn read(arguments: &RidingArguments) -> Result<Option<Riding<'_>>, Failure> {
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
            arguments,
            drive: Drive::new(&file.rider, &file.bike, &file.resistance),
            bands: bands(arguments, file.rider.threshold_w)?,
            unknowns,
            file,
        }))
    }

    /// What is possible but seldom meant of the weather on a profile.
    pub(super) fn notes(&self, profile: &Profile) -> Vec<String> {
        self.arguments.weather.notes(start_m(profile))
    }

    /// The climbs of a profile ridden, as documents have it.
    pub(super) fn entries(&self, profile: &Profile, climbs: &[Climb]) -> Vec<RideEntry> {
        self.rides(profile, climbs)
            .iter()
            .zip(climbs)
            .map(|(ride, climb)| ride_entry(profile, climb, ride))
            .collect()
    }

    fn rides(&self, profile: &Profile, climbs: &[Climb]) -> Vec<ClimbRide> {
        let arguments = self.arguments;
        let start_m = start_m(profile);
        let rider = &self.file.rider;
        let lowest_m = self.drive.lowest_development_m();
        let approach = Pace::between_reps(rider, rider.steady_share, lowest_m);
        let pacing: Pacing = arguments.pacing.into();
        let mut gears = Vec::with_capacity(climbs.len());
        let passages = passages(
            profile,
            climbs,
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

fn start_m(profile: &Profile) -> f64 {
    profile.elevation_m.first().copied().unwrap_or(0.0)
}
