//! What can be typed for several commands.

use std::path::PathBuf;

use clap::{Args, ValueEnum};

use super::typed::{grade, kink, length, share};
use crate::archive::Cache;
use crate::climbs::Rule;
use crate::files::Limits;
use crate::profile::sources::Wanted;
use crate::terrain::DEFAULT_FOLDER;

#[derive(Debug, Args)]
#[command(next_help_heading = "Reading")]
pub(super) struct ReadingArguments {
    /// The most that is read of one file, and that a packed one may unpack to, in MiB; of points and road as much as goes with it
    #[arg(long, value_name = "MIB", default_value_t = 2048, value_parser = clap::value_parser!(u64).range(1..=1 << 20))]
    max_input: u64,
}

impl ReadingArguments {
    pub(super) fn limits(&self) -> Limits {
        Limits::of(self.max_input << 20)
    }
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Folders")]
pub(super) struct CacheArguments {
    /// Read every file of a folder anew, and remember nothing
    #[arg(long)]
    no_cache: bool,
}

impl CacheArguments {
    pub(super) fn cache(&self) -> Option<Cache> {
        if self.no_cache { None } else { Cache::users() }
    }
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Where elevations are from")]
pub(super) struct ElevationArguments {
    /// Which elevations to use
    #[arg(long, value_enum, value_name = "FROM", default_value_t = ElevationName::Auto)]
    elevation: ElevationName,
    /// Folder of the elevation tiles (N44W072.hgt, also .hgt.gz and .hgt.zip)
    #[arg(long, value_name = "DIR", default_value = DEFAULT_FOLDER)]
    pub(super) tiles: PathBuf,
}

impl ElevationArguments {
    pub(super) fn wanted(&self) -> Wanted {
        match self.elevation {
            ElevationName::Recorded => Wanted::Recorded,
            ElevationName::Tiles => Wanted::Tiles,
            ElevationName::Auto => Wanted::Auto,
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ElevationName {
    /// The route file's
    Recorded,
    /// The elevation tiles'
    Tiles,
    /// Whichever give the surer grades: the route file's, the tiles', or both together
    Auto,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "What counts as a steady climb")]
pub(super) struct RuleArguments {
    /// Shortest climb in metres
    #[arg(long, value_name = "M", default_value_t = Rule::default().length_m, value_parser = length)]
    min_length: f64,
    /// Gentlest mean grade in per cent
    #[arg(long, value_name = "PCT", default_value_t = Rule::default().grade_pct, value_parser = grade)]
    min_grade: f64,
    /// How far the grade over 100 m may stray, as a share of the mean grade plus one point
    #[arg(long, value_name = "SHARE", default_value_t = Rule::default().stray_share, value_parser = share)]
    stray: f64,
    /// Longest kink that is passed over, in metres
    #[arg(long, value_name = "M", default_value_t = Rule::default().kink_m, value_parser = kink)]
    max_kink: f64,
    /// Most metres of descent within a climb
    #[arg(long, value_name = "M", default_value_t = Rule::default().descent_m, value_parser = kink)]
    max_descent: f64,
}

impl RuleArguments {
    pub(super) fn rule(&self) -> Rule {
        Rule {
            length_m: self.min_length,
            grade_pct: self.min_grade,
            stray_share: self.stray,
            kink_m: self.max_kink,
            descent_m: self.max_descent,
        }
    }
}

#[derive(Debug, Args)]
#[command(next_help_heading = "The answer")]
pub(super) struct AnswerArguments {
    /// What to print
    #[arg(long, value_enum, default_value_t = Format::Text)]
    pub(super) format: Format,
    /// Also write the answer to this file, in the format that its ending names; may be given again and again
    #[arg(short, long, value_name = "FILE")]
    pub(super) output: Vec<PathBuf>,
    /// Units in text, pages and pictures; files for programs are always metric
    #[arg(long, value_enum, default_value_t = UnitsName::Metric)]
    pub(super) units: UnitsName,
    /// Text in plain ASCII, as where the locale is not UTF-8
    #[arg(long)]
    pub(super) ascii: bool,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum Format {
    /// For people
    Text,
    /// For programs
    Json,
    /// For spreadsheets
    Csv,
    /// For maps
    Geojson,
    /// For engines: of climbs, a line a route as it is finished
    Ndjson,
}

impl Format {
    /// The ending of files in it.
    pub(super) fn ending(self) -> &'static str {
        match self {
            Format::Text => "txt",
            Format::Json => "json",
            Format::Csv => "csv",
            Format::Geojson => "geojson",
            Format::Ndjson => "ndjson",
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum UnitsName {
    Metric,
    Imperial,
}
