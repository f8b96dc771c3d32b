//! `hillwright climbs`.

use super::arguments::ClimbsArguments;
use super::climbs_stream::Stream;
use super::failure::Failure;
use super::input::Graded;
use super::riding::Riding;
use super::{Outcome, climbs_files, input, print};
use crate::archive::{Question, Survey, same};
use crate::climbs;
use crate::output;
use crate::output::document::{RideEntry, RouteEntry};
use crate::terrain::Tiles;

pub(super) fn run(arguments: &ClimbsArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &climbs_files::ENDINGS)?;
    let riding = Riding::read(&arguments.riding)?;
    let mut stream = Stream::open(&arguments.answer)?;
    let mut kept = Vec::new();
    let mut any = false;
    each(arguments, riding.as_ref(), |found| {
        let entry = output::climbs::route_entry(&found.source, &found.survey, found.rides);
        any |= !entry.climbs.is_empty();
        let goes_on = stream.route(&entry, &found.survey)?;
        if !stream.is_all() {
            kept.push((entry, found.survey, found.line));
        }
        Ok(goes_on)
    })?;
    let is_all = stream.is_all();
    stream.finish()?;
    if !is_all {
        answer(arguments, kept)?;
    }
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

/// A route looked through.
struct Found {
    source: String,
    survey: Survey,
    /// One entry a climb, or none at all.
    rides: Vec<RideEntry>,
    /// The whole line, where it is drawn.
    line: Option<Graded>,
}

/// What needs all routes at once.
fn answer(
    arguments: &ClimbsArguments,
    kept: Vec<(RouteEntry, Survey, Option<Graded>)>,
) -> Result<(), Failure> {
    let (sources, surveys): (Vec<&str>, Vec<&Survey>) = kept
        .iter()
        .map(|(entry, survey, _)| (entry.source.as_str(), survey))
        .unzip();
    let shared = same::climbs(&surveys);
    let shared = shared
        .iter()
        .filter(|climb| climb.seen.len() > 1)
        .map(|climb| output::shared::entry(climb, &sources, &surveys, None))
        .collect();
    let mut lines = Vec::new();
    let mut entries = Vec::new();
    for (entry, _, line) in kept {
        entries.push(entry);
        lines.extend(line);
    }
    let document = output::climbs::document(entries, shared);
    climbs_files::answer(arguments, &document, &lines)
}

/// Every route in turn, from the cache where it is there and enough.
fn each(
    arguments: &ClimbsArguments,
    riding: Option<&Riding>,
    mut take: impl FnMut(Found) -> Result<bool, Failure> + Send,
) -> Result<(), Failure> {
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    let needs_lines = climbs_files::needs_lines(arguments);
    if riding.is_some() || needs_lines {
        let find =
            |source: &input::Source| worked_out(arguments, riding, needs_lines, source, &tiles);
        return input::one_by_one(&inputs, &inputs.sources()?, find, take);
    }
    let question = Question::new(arguments.rule.rule(), arguments.elevation.wanted(), &tiles);
    let cache = arguments.cache.cache();
    input::surveyed(&inputs, &question, cache.as_ref(), |source, survey| {
        take(Found {
            source,
            survey,
            rides: Vec::new(),
            line: None,
        })
    })
}

/// The routes of a source worked out anew, their climbs ridden by whoever rides.
fn worked_out(
    arguments: &ClimbsArguments,
    riding: Option<&Riding>,
    needs_lines: bool,
    source: &input::Source,
    tiles: &Tiles,
) -> input::Made<Found> {
    let (routes, mut notes) = input::graded(source, &arguments.elevation, tiles)?;
    let mut found = Vec::new();
    for graded in routes {
        let profile = &graded.profile;
        let climbs = climbs::find(profile, &arguments.rule.rule());
        notes.extend(riding.into_iter().flat_map(|r| r.notes(profile)));
        let rides = riding.map(|r| r.entries(profile, &climbs.climbs));
        found.push(Found {
            source: source.name.clone(),
            survey: Survey::of(&graded.route, profile, &graded.origin, &climbs),
            rides: rides.unwrap_or_default(),
            line: needs_lines.then_some(graded),
        });
    }
    Ok((found, notes))
}
