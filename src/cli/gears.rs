//! `hillwright gears`.

use super::arguments::GearsArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::gearing::{Bands, Drive, chart};
use crate::output::{self, document::GearsDocument};
use crate::prescription::{self, Fault};

/// More grades than this are no chart.
const MOST_GRADES: usize = 60;

pub(super) fn run(arguments: &GearsArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &["svg"])?;
    let file = input::rider(&arguments.rider)?;
    let grades = grades(&arguments.grade)?;
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let bands = bands(arguments, file.rider.threshold_w, &drive)?;
    let notes = arguments.air.notes(arguments.elevation);
    notes.iter().for_each(|n| print::warning(n));
    let around = chart::Surroundings {
        headwind_ms: arguments.headwind / 3.6,
        ..chart::Surroundings::at(
            arguments.elevation,
            &arguments.air.weather(arguments.elevation),
        )
    };
    let chart = chart::chart(&drive, &around, &bands, &grades);
    let any = chart.grades.iter().any(|g| g.best.is_some());
    let document = output::gears::document(&file, &drive, &bands, &chart);
    print::answer(
        &document,
        &arguments.answer,
        &|paper| output::gears::text(&document, paper),
        &[("svg", &|| picture(&document))],
    )?;
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

fn picture(document: &GearsDocument) -> Result<String, Failure> {
    let svg = output::gears_svg::svg(document);
    if svg.is_empty() {
        return Err(Failure::CommandLine(
            "a picture takes at least two grades: --grade 3..12".to_owned(),
        ));
    }
    Ok(svg)
}

fn bands(arguments: &GearsArguments, threshold_w: f64, drive: &Drive) -> Result<Bands, Failure> {
    if let Some(path) = &arguments.set {
        let named = || path.display().to_string();
        let set = input::set(path)?;
        let demands =
            crate::matching::Demand::of_set(&set, threshold_w, drive).map_err(|source| {
                Failure::Demand {
                    path: named(),
                    source,
                }
            })?;
        let held = demands.iter().find(|d| d.start.is_none());
        return held.map(|d| d.bands).ok_or_else(|| {
            let why = "--set: every block is of maximal starts, which no gear chart is for";
            Failure::CommandLine(why.to_owned())
        });
    }
    let in_flag = |flag: &str, fault: Fault| Failure::CommandLine(fault.in_flag(flag).to_string());
    let given = |text: &Option<String>| text.clone().unwrap_or_default();
    let power =
        prescription::parse_power(&given(&arguments.power)).map_err(|f| in_flag("--power", f))?;
    let cadence = prescription::parse_cadence(&given(&arguments.cadence))
        .map_err(|f| in_flag("--cadence", f))?;
    Ok(Bands {
        power_w: power.watts(threshold_w),
        cadence_rpm: cadence,
        torque_nm: None,
    })
}

/// Reads `6`, `3..12` (every whole per cent) or `4,6.5,8`.
fn grades(text: &str) -> Result<Vec<f64>, Failure> {
    let wrong = || {
        Failure::CommandLine(format!(
            "--grade {text}: expected per cent as 6, 3..12 or 4,6.5,8, from -30 to 40, at most {MOST_GRADES} of them"
        ))
    };
    let number = |part: &str| -> Result<f64, Failure> {
        let value: f64 = part.trim().parse().map_err(|_| wrong())?;
        if (-30.0..=40.0).contains(&value) {
            Ok(value)
        } else {
            Err(wrong())
        }
    };
    let grades: Vec<f64> = match text.split_once("..") {
        Some((from, to)) => {
            let (from, to) = (number(from)?, number(to)?);
            (0..MOST_GRADES + 1)
                .map(|i| from + i as f64)
                .take_while(|g| *g <= to + 1e-9)
                .collect()
        }
        None => text.split(',').map(number).collect::<Result<_, _>>()?,
    };
    if grades.is_empty() || grades.len() > MOST_GRADES {
        Err(wrong())
    } else {
        Ok(grades)
    }
}
