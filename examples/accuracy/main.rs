//! Makes the table of accuracy: known roads, recorded in five ways, and how well their climbs are found again.
//!
//! ```text
//! cargo run --release --example accuracy -- --seeds 1000..1040 --floor 400
//! cargo run --release --example accuracy -- --seeds 1000..1040 --otherwise
//! cargo run --release --example accuracy -- --seeds 1000..1040 --write-gpx folder
//! cargo run --release --example accuracy -- --seeds 1000..1040 --with-tiles
//! cargo run --release --example accuracy -- --score folder/analyst.json
//! cargo run --release --example accuracy -- --seeds 1000..1040 --plans
//! ```
#![allow(clippy::print_stdout, reason = "the table is what this program is for")]

#[path = "../../tests/truth/mod.rs"]
mod truth;

use std::error::Error;
use std::ops::Range;
use std::path::PathBuf;

use clap::Parser;
use hillwright::route::Recording;
use truth::reader::grammar::Knowing;
use truth::score::Found;
use truth::{bench, confusions, exchange, layout, reader, recording, road, score, session, table};

/// Whatever finds climbs.
type Finder = fn(&Recording) -> Vec<Found>;

const FINDER: Finder = truth::pipeline::find_climbs;

/// The climbs that are there, and the climbs that are found.
#[derive(Parser)]
struct Arguments {
    /// Seeds of the roads, as FROM..TO without TO
    #[arg(long, default_value = "1000..1020", value_parser = parse_seeds)]
    seeds: Range<u64>,
    /// On roads that are laid out otherwise than the bench's
    #[arg(long, conflicts_with_all = ["write_gpx", "score", "floor", "plans", "with_tiles", "confusions", "list"])]
    otherwise: bool,
    /// Only write the recordings as GPX, and the truth as JSON, into this folder
    #[arg(long, value_name = "DIR")]
    write_gpx: Option<PathBuf>,
    /// Score the climbs in this JSON file instead of finding them
    #[arg(long, value_name = "FILE")]
    score: Option<PathBuf>,
    /// Also print the floor: of ends and grades from this many simulated climbs a kind, of F1 on the same roads
    #[arg(long, value_name = "CLIMBS")]
    floor: Option<usize>,
    /// Instead of finding climbs, plan a set on each recording and ride the plan on the road itself
    #[arg(long)]
    plans: bool,
    /// Only score recordings that have elevation tiles beside them
    #[arg(long)]
    with_tiles: bool,
    /// Also print what the missed climbs and the false ones lie on
    #[arg(long)]
    confusions: bool,
    /// Also list each climb that was missed and each that is not there
    #[arg(long)]
    list: bool,
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments = Arguments::parse();
    if let Some(folder) = &arguments.write_gpx {
        exchange::write_folder(folder, arguments.seeds)?;
        return Ok(());
    }
    if arguments.plans {
        for asked in session::Asked::ALL {
            let ridden = session::run(arguments.seeds.clone(), asked);
            println!("{}:\n\n{}", asked.name(), session::table(&ridden));
        }
        return Ok(());
    }
    if arguments.with_tiles {
        let rows = bench::run_with_tiles(arguments.seeds)?;
        println!(
            "{}",
            table::score_rows(rows.iter().map(|(name, tally)| (*name, tally)))
        );
        return Ok(());
    }
    let tallies = match &arguments.score {
        Some(file) => exchange::score_file(file)?,
        None => {
            let country = if arguments.otherwise {
                layout::Country::Otherwise
            } else {
                layout::Country::Usual
            };
            let draw = |seed| road::Road::draw_in(country, seed);
            bench::run(arguments.seeds.clone().map(draw), FINDER)
        }
    };
    println!("{}", table::score_table(&tallies));
    if let Some(climbs) = arguments.floor {
        let floors = truth::floor::simulate_all(climbs);
        println!("{}", table::floor_table(&floors, &tallies));
        println!("{}", readers(arguments.seeds.clone(), &tallies));
    }
    if arguments.confusions {
        println!("{}", confused(arguments.seeds.clone()));
    }
    if arguments.list {
        list(arguments.seeds);
    }
    Ok(())
}

/// What readers who know how the roads are made find on them, and what they confuse.
fn readers(seeds: Range<u64>, tallies: &[(recording::Kind, score::Tally)]) -> String {
    let roads: Vec<road::Road> = seeds.map(road::Road::draw).collect();
    let reached = recording::Kind::ALL.map(|kind| {
        Knowing::ALL.map(|knowing| reader::run(&roads, kind, knowing, reader::EXPLANATIONS))
    });
    let mut text = table::reader_table(&reached, tallies);
    for (which, knowing) in Knowing::ALL.into_iter().enumerate() {
        let rows = reached.iter().map(|all| &all[which]);
        let rows: Vec<_> = rows.map(|one| (one.kind, one.confusions.clone())).collect();
        text += &format!(
            "\nA reader {}:\n\n{}",
            knowing.name(),
            confusions::table(&rows)
        );
    }
    text
}

fn confused(seeds: Range<u64>) -> String {
    let mut rows = recording::Kind::ALL.map(|kind| (kind, confusions::Confusions::default()));
    for seed in seeds {
        let road = road::Road::draw(seed);
        for (kind, row) in &mut rows {
            let found = FINDER(&recording::record(&road, *kind).recording);
            row.add(&road, &score::place_on_road(&road, &found));
        }
    }
    confusions::table(&rows)
}

fn list(seeds: Range<u64>) {
    for seed in seeds {
        let road = road::Road::draw(seed);
        for kind in recording::Kind::ALL {
            let found = FINDER(&recording::record(&road, kind).recording);
            for complaint in bench::complaints(&road, kind, &found) {
                println!("{complaint}");
            }
        }
    }
}

fn parse_seeds(text: &str) -> Result<Range<u64>, String> {
    let (from, to) = text.split_once("..").ok_or("seeds are given as FROM..TO")?;
    let number = |part: &str| {
        part.parse()
            .map_err(|_| format!("'{part}' is no whole number"))
    };
    Ok(number(from)?..number(to)?)
}
