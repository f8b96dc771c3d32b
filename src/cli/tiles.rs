//! `hillwright tiles`.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use indicatif::{ProgressBar, ProgressStyle};

use super::arguments::TilesArguments;
use super::failure::Failure;
use super::{Outcome, input, print};
use crate::output;
use crate::route::Route;
use crate::terrain::fetch::{FetchError, Fetcher, Patience};
use crate::terrain::{TileName, TileSource, Tiles, needed};

/// Names the source once and for all.
const SOURCE_VARIABLE: &str = "HILLWRIGHT_TILE_SOURCE";

pub(super) fn run(arguments: &TilesArguments) -> Result<Outcome, Failure> {
    print::check_endings(&arguments.answer, &[])?;
    let fetcher = if arguments.fetch {
        Some(fetcher(arguments)?)
    } else {
        None
    };
    let inputs = input::Inputs::new(&arguments.routes, &arguments.reading, &arguments.answer);
    let routes = input::lines(&inputs)?;
    let outcomes = match &fetcher {
        Some(fetcher) => fetch_unusable(fetcher, &routes, &arguments.tiles)?,
        None => BTreeMap::new(),
    };
    let document = output::tiles::document(&routes, &Tiles::open(&arguments.tiles), &outcomes)
        .map_err(Failure::Tiles)?;
    print::answer(
        &document,
        &arguments.answer,
        &|paper| output::tiles::text(&document, paper),
        &[],
    )?;
    Ok(if document.missing == 0 {
        Outcome::Answer
    } else {
        Outcome::NoAnswer
    })
}

fn fetcher(arguments: &TilesArguments) -> Result<Fetcher, Failure> {
    let from_variable = || {
        std::env::var(SOURCE_VARIABLE)
            .ok()
            .filter(|text| !text.trim().is_empty())
    };
    let (said_by, text) = match (&arguments.tile_source, from_variable()) {
        (Some(text), _) => ("--tile-source", text.clone()),
        (None, Some(text)) => (SOURCE_VARIABLE, text),
        (None, None) => {
            return Err(Failure::CommandLine(format!(
                "--fetch needs a source: add --tile-source 'https://example.org/{{lat}}/{{name}}.hgt.gz', or set {SOURCE_VARIABLE}"
            )));
        }
    };
    let source: TileSource = text
        .parse()
        .map_err(|error| Failure::CommandLine(format!("{said_by}: {error}")))?;
    Ok(Fetcher::new(source, Patience::default()))
}

/// Fetches what is missing or damaged, and tells how each fared.
fn fetch_unusable(
    fetcher: &Fetcher,
    routes: &[Route],
    folder: &Path,
) -> Result<BTreeMap<TileName, Result<(), String>>, Failure> {
    let tiles = Tiles::open(folder);
    let names: BTreeSet<TileName> = routes.iter().flat_map(needed).collect();
    let mut outcomes = BTreeMap::new();
    for name in names {
        tiles.files(name).map_err(Failure::Tiles)?;
        if matches!(tiles.tile(name), Ok(Some(_))) {
            continue;
        }
        let outcome = fetch_one(fetcher, name, folder).map_err(|error| error.to_string());
        if let Err(why) = &outcome {
            print::error(why);
        }
        outcomes.insert(name, outcome);
    }
    Ok(outcomes)
}

fn fetch_one(fetcher: &Fetcher, name: TileName, folder: &Path) -> Result<(), FetchError> {
    // Drawn on standard error, and only where that is a terminal.
    let bar = ProgressBar::no_length().with_prefix(name.to_string());
    if let Ok(style) = ProgressStyle::with_template("{prefix} {wide_bar} {bytes} of {total_bytes}")
    {
        bar.set_style(style);
    }
    let told = &mut |received: u64, announced: Option<u64>| {
        if let Some(announced) = announced {
            bar.set_length(announced);
        }
        bar.set_position(received);
    };
    let outcome = fetcher.fetch(name, folder, told);
    bar.finish_and_clear();
    outcome.map(drop)
}
