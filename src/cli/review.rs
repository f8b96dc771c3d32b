//! `hillwright review`.

use super::arguments::ReviewArguments;
use super::failure::Failure;
use super::input::Ride;
use super::ride_arguments::WeatherArguments;
use super::{Outcome, input, print};
use crate::gearing::Drive;
use crate::matching::Demand;
use crate::output;
use crate::output::document::ReviewEntry;
use crate::prescription::RiderFile;
use crate::review::planned::Asked;
use crate::review::{Task, review};
use crate::ride::Unknowns;

pub(super) fn run(arguments: &ReviewArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &["csv"])?;
    let rider = arguments.rider.as_deref().map(input::rider).transpose()?;
    let order = Order {
        asked: asked(arguments, rider.as_ref())?,
        drive: rider
            .as_ref()
            .map(|r| Drive::new(&r.rider, &r.bike, &r.resistance)),
        unknowns: arguments
            .unknowns
            .unknowns()
            .map_err(Failure::CommandLine)?,
    };
    let rides = input::rides(&arguments.recordings, &arguments.elevation)?;
    let entries: Vec<ReviewEntry> = rides
        .iter()
        .map(|ride| order.entry(ride, &arguments.weather))
        .collect();
    let any = entries
        .iter()
        .any(|e| !e.climbs.is_empty() || e.reps.iter().any(|r| r.ridden.is_some()));
    let document = output::review::document(entries);
    print::answer(
        &document,
        &arguments.answer,
        &|paper| output::review::text(&document, paper),
        &[("csv", &|| Ok(output::review_csv::csv(&document)))],
    )?;
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

/// What every recording is held against.
struct Order {
    asked: Vec<Asked>,
    drive: Option<Drive>,
    unknowns: Unknowns,
}

impl Order {
    fn entry(&self, ride: &Ride, weather: &WeatherArguments) -> ReviewEntry {
        let profile = ride.profile.as_ref();
        let weather = weather.weather(profile.map_or(0.0, |p| p.elevation_m[0]));
        let task = Task {
            recorded: &ride.recorded,
            profile,
            drive: self.drive.as_ref(),
            asked: &self.asked,
            weather: &weather,
            unknowns: &self.unknowns,
        };
        output::review::review_entry(&ride.recorded, profile, &review(&task))
    }
}

fn asked(arguments: &ReviewArguments, rider: Option<&RiderFile>) -> Result<Vec<Asked>, Failure> {
    if let Some(path) = &arguments.plan {
        return input::plan(path);
    }
    let (Some(path), Some(file)) = (&arguments.set, rider) else {
        return Ok(Vec::new());
    };
    let set = input::set(path)?;
    let demands =
        Demand::of_set(&set, file.rider.threshold_w).map_err(|source| Failure::Demand {
            path: path.display().to_string(),
            source,
        })?;
    Ok(vec![Asked::of_set(&demands, &file.rider)])
}
