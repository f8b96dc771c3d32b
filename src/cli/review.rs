//! `hillwright review`.

use std::path::{Path, PathBuf};

use super::arguments::ReviewArguments;
use super::failure::Failure;
use super::input::Ride;
use super::ride_arguments::WeatherArguments;
use super::{Outcome, input, print};
use crate::files::write_whole;
use crate::gearing::Drive;
use crate::matching::Demand;
use crate::output;
use crate::output::Paper;
use crate::output::document::{FitEntry, ReviewDocument, ReviewEntry};
use crate::output::sheet::review::ReviewSheet;
use crate::prescription::RiderFile;
use crate::review::fit::rider_text::{Masses, with_fit};
use crate::review::fit::{self, FitRide};
use crate::review::planned::Asked;
use crate::review::{PowerFrom, Review, Task, review};
use crate::ride::{Unknowns, Weather};

pub(super) fn run(arguments: &ReviewArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &["csv", "html"])?;
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
    input::never_over(
        &arguments.answer.output,
        arguments.plan.iter().map(PathBuf::as_path),
    )?;
    let inputs = input::Inputs::new(&arguments.recordings, &arguments.reading, &arguments.answer);
    let rides = input::rides(&inputs, &arguments.elevation)?;
    let reviewed: Vec<(Weather, Review)> = rides
        .iter()
        .map(|ride| order.review(ride, &arguments.weather))
        .collect();
    let entries: Vec<ReviewEntry> = rides
        .iter()
        .zip(&reviewed)
        .map(|(ride, (_, review))| {
            output::review::review_entry(&ride.recorded, ride.profile.as_ref(), review)
        })
        .collect();
    let learnt = match (arguments.fit, &arguments.rider, &rider, &order.drive) {
        (true, Some(path), Some(file), Some(drive)) => {
            Some(learn(path, file, drive, &rides, &reviewed)?)
        }
        _ => None,
    };
    let fitted = matches!(learnt, Some(Ok(_)));
    let any = entries
        .iter()
        .any(|e| !e.climbs.is_empty() || e.reps.iter().any(|r| r.ridden.is_some()));
    let document = output::review::document(entries, learnt);
    print::answer(
        &document,
        &arguments.answer,
        &|paper| output::review::text(&document, paper),
        &[
            ("csv", &|| Ok(output::review_csv::csv(&document))),
            ("html", &|| {
                Ok(sheet(
                    &document,
                    &rides,
                    &reviewed,
                    &print::paper(&arguments.answer),
                ))
            }),
        ],
    )?;
    let answered = if arguments.fit { fitted } else { any };
    Ok(if answered {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

/// The page of all recordings.
fn sheet(
    document: &ReviewDocument,
    rides: &[Ride],
    reviewed: &[(Weather, Review)],
    paper: &Paper,
) -> String {
    let each = document.recordings.iter().zip(rides).zip(reviewed);
    let sheets: Vec<ReviewSheet> = each
        .map(|((entry, ride), (_, review))| ReviewSheet {
            entry,
            review,
            profile: ride.profile.as_ref(),
        })
        .collect();
    output::sheet::review::page(document, &sheets, paper)
}

/// Fits mass and drag, and writes the new rider file beside the old one.
fn learn(
    path: &Path,
    file: &RiderFile,
    drive: &Drive,
    rides: &[Ride],
    reviewed: &[(Weather, Review)],
) -> Result<Result<FitEntry, String>, Failure> {
    let usable: Vec<FitRide> = rides
        .iter()
        .zip(reviewed)
        .filter(|(_, (_, review))| review.power_from == PowerFrom::Measured)
        .filter_map(|(ride, (weather, review))| {
            Some(FitRide {
                seconds: &review.seconds,
                profile: ride.profile.as_ref()?,
                weather,
            })
        })
        .collect();
    if usable.is_empty() {
        return Ok(Err(
            "no recording has measured power and elevations".to_owned()
        ));
    }
    let fitted = match fit::fit(&usable, &drive.system) {
        Ok(fitted) => fitted,
        Err(why) => return Ok(Err(why.to_string())),
    };
    let masses = Masses {
        rider_kg: file.rider.mass_kg,
        bike_kg: file.bike.mass_kg,
        kit_kg: file.bike.kit_kg,
    };
    let from: Vec<String> = rides
        .iter()
        .map(|r| r.recorded.route.source.clone())
        .collect();
    let text = with_fit(&input::text(path)?, &masses, &fitted, &from).map_err(|source| {
        Failure::RiderText {
            path: path.display().to_string(),
            source,
        }
    })?;
    let beside = free_name(path);
    write_whole(&beside, text.as_bytes()).map_err(|source| Failure::Save {
        path: beside.display().to_string(),
        source,
    })?;
    let mut entry = output::review::fit_entry(&fitted);
    entry.notes.extend(masses.lowered(fitted.mass_kg.value));
    entry.rider_file = Some(beside.display().to_string());
    Ok(Ok(entry))
}

/// `rider-fitted.toml` beside `rider.toml`, or `rider-fitted-2.toml` and so on: a name that no file has.
fn free_name(path: &Path) -> PathBuf {
    let stem = path
        .file_stem()
        .map_or("rider".into(), |s| s.to_string_lossy());
    let named = |n: usize| {
        let number = if n > 1 {
            format!("-{n}")
        } else {
            String::new()
        };
        path.with_file_name(format!("{stem}-fitted{number}.toml"))
    };
    let mut n = 1;
    while named(n).exists() {
        n += 1;
    }
    named(n)
}

/// What every recording is held against.
struct Order {
    asked: Vec<Asked>,
    drive: Option<Drive>,
    unknowns: Unknowns,
}

impl Order {
    fn review(&self, ride: &Ride, arguments: &WeatherArguments) -> (Weather, Review) {
        let profile = ride.profile.as_ref();
        let start_m = profile.map_or(0.0, |p| p.elevation_m[0]);
        let weather = arguments.weather(start_m);
        let task = Task {
            recorded: &ride.recorded,
            profile,
            drive: self.drive.as_ref(),
            asked: &self.asked,
            weather: &weather,
            unknowns: &self.unknowns,
        };
        let mut reviewed = review(&task);
        reviewed.warnings.extend(arguments.notes(start_m));
        (weather, reviewed)
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
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let demands =
        Demand::of_set(&set, file.rider.threshold_w, &drive).map_err(|source| Failure::Demand {
            path: path.display().to_string(),
            source,
        })?;
    Ok(vec![Asked::of_set(&demands, &file.rider)])
}
