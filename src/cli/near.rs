//! `hillwright near`.

use super::arguments::NearArguments;
use super::failure::Failure;
use super::riding::Riding;
use super::{Outcome, input, print};
use crate::archive::{Question, Survey, near, same};
use crate::output;
use crate::output::files;
use crate::output::near::Asked;
use crate::terrain::Tiles;

pub(super) fn run(arguments: &NearArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &["csv", "geojson"])?;
    let riding = Riding::read(&arguments.riding)?;
    if arguments.longer_than.is_some() && riding.is_none() {
        return Err(Failure::CommandLine(
            "--longer-than needs to know who rides: give --rider FILE, --power W or both"
                .to_owned(),
        ));
    }
    let tiles = Tiles::open(&arguments.elevation.tiles);
    let (rule, wanted) = (arguments.rule.rule(), arguments.elevation.wanted());
    let question = Question::new(rule, wanted, &tiles);
    let cache = arguments.cache.cache();
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    let found = input::surveys(&inputs, &question, cache.as_ref())?;
    let (sources, surveys): (Vec<&str>, Vec<&Survey>) = found
        .iter()
        .map(|(name, survey)| (name.as_str(), survey))
        .unzip();
    let asked = Asked {
        place: arguments.place,
        within_m: arguments.within,
        longer_than_s: arguments.longer_than,
    };
    let climbs = same::climbs(&surveys);
    let (mut entries, mut lines) = (Vec::new(), Vec::new());
    for (away_m, climb) in near::Index::new(&climbs).within(asked.place, asked.within_m) {
        let ride = riding.as_ref().and_then(|riding| {
            let (profile, alone) = near::with_lead(climb);
            riding.entries(&profile, &[alone]).pop()
        });
        let shared = output::shared::entry(climb, &sources, &surveys, ride);
        if !output::near::is_long_enough(&shared, &asked) {
            continue;
        }
        let id = entries.len() + 1;
        entries.push(output::near::entry(id, &asked, away_m, climb, shared));
        lines.push(&climb.trace);
    }
    let any = !entries.is_empty();
    let document = output::near::document(&asked, surveys.len(), entries);
    print::answer(
        &document,
        &arguments.answer,
        &|paper| output::near::text(&document, paper),
        &[
            ("csv", &|| {
                files::csv::near(&document).map_err(Failure::Write)
            }),
            ("geojson", &|| {
                files::geojson::near(&document, &lines).map_err(Failure::Write)
            }),
        ],
    )?;
    Ok(if any {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}
