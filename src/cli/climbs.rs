//! `hillwright climbs`.

use super::arguments::ClimbsArguments;
use super::failure::Failure;
use super::input::Graded;
use super::riding::Riding;
use super::{Outcome, climbs_files, input, print};
use crate::archive::{Question, Survey, same};
use crate::climbs;
use crate::output;
use crate::output::document::RideEntry;
use crate::terrain::Tiles;

pub(super) fn run(arguments: &ClimbsArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &climbs_files::ENDINGS)?;
    let riding = Riding::read(&arguments.riding)?;
    let needs_lines = climbs_files::needs_lines(arguments);
    let found = if riding.is_some() || needs_lines {
        worked_out(arguments, riding.as_ref(), needs_lines)?
    } else {
        remembered(arguments)?
    };
    let (sources, surveys): (Vec<&str>, Vec<&Survey>) =
        found.iter().map(|f| (f.source.as_str(), &f.survey)).unzip();
    let shared = same::climbs(&surveys);
    let shared = shared
        .iter()
        .filter(|climb| climb.seen.len() > 1)
        .map(|climb| output::shared::entry(climb, &sources, &surveys, None))
        .collect();
    let mut lines = Vec::new();
    let mut entries = Vec::new();
    for Found {
        source,
        survey,
        rides,
        line,
    } in found
    {
        entries.push(output::climbs::route_entry(&source, &survey, rides));
        lines.extend(line);
    }
    let any = entries.iter().any(|e| !e.climbs.is_empty());
    let document = output::climbs::document(entries, shared);
    climbs_files::answer(arguments, &document, &lines)?;
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

/// Every route, from the cache where it is there.
fn remembered(arguments: &ClimbsArguments) -> Result<Vec<Found>, Failure> {
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let question = Question::new(arguments.rule.rule(), arguments.elevation.wanted(), &tiles);
    let cache = arguments.cache.cache();
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    let surveys = input::surveys(&inputs, &question, cache.as_ref())?;
    let found = surveys.into_iter().map(|(source, survey)| Found {
        source,
        survey,
        rides: Vec::new(),
        line: None,
    });
    Ok(found.collect())
}

/// Every route worked out anew, its climbs ridden by whoever rides.
fn worked_out(
    arguments: &ClimbsArguments,
    riding: Option<&Riding>,
    needs_lines: bool,
) -> Result<Vec<Found>, Failure> {
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let rule = arguments.rule.rule();
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    input::each(&inputs, &inputs.sources()?, |source| {
        let (routes, mut notes) = input::graded(source, &arguments.elevation, &tiles)?;
        let mut found = Vec::new();
        for graded in routes {
            let profile = &graded.profile;
            let climbs = climbs::find(profile, &rule);
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
    })
}
