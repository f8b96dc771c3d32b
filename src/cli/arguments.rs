//! What can be typed.

use std::net::IpAddr;
use std::path::PathBuf;

use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use super::plan_arguments::PlanArguments;
use super::ride_arguments::{
    AirArguments, PacingName, UnknownsArguments, WeatherArguments, elevation,
};
use super::shared_arguments::{
    AnswerArguments, CacheArguments, ElevationArguments, ReadingArguments, RuleArguments,
};
use super::typed::{distance, headwind, place, time};
use crate::route::LatLon;
use crate::terrain::DEFAULT_FOLDER;

/// Finds the climbs on a route that suit hill reps, and says where each rep starts and stops, in which gear,
/// with what recovery.
#[derive(Debug, Parser)]
#[command(name = "hillwright", version, about, disable_help_subcommand = true)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// The steady climbs on each route
    Climbs(ClimbsArguments),
    /// Cadence, torque and pedal force by gear and grade; what the gearing can and cannot do
    Gears(GearsArguments),
    /// Which climb suits each rep; with several routes, the best first
    Plan(Box<PlanArguments>),
    /// What was ridden, rep by rep, against a plan or a set
    Review(Box<ReviewArguments>),
    /// The climbs around a place, over all routes, each once
    Near(NearArguments),
    /// Which elevation tiles routes need, and which are here; --fetch gets the rest
    Tiles(TilesArguments),
    /// What is remembered of the files in folders: where, and how much
    Cache(CacheCommandArguments),
    /// The local page: routes, rider, bike and set with plain controls, and the plan as they change
    Serve(ServeArguments),
    /// A commented file to start from
    Example {
        /// Which file to print
        of: ExampleOf,
    },
    /// Completions for a shell
    Completions {
        /// The shell
        shell: clap_complete::Shell,
    },
    /// The manual, as man reads it: hillwright man plan | man -l -
    Man {
        /// The command; without it, the program
        of: Option<String>,
    },
}

#[derive(Debug, Clone, Copy, ValueEnum)]
pub(super) enum ExampleOf {
    Rider,
    Set,
}

#[derive(Debug, Args)]
pub(super) struct ClimbsArguments {
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required = true, value_name = "ROUTE")]
    pub(super) routes: Vec<PathBuf>,
    #[command(flatten)]
    pub(super) riding: RidingArguments,
    #[command(flatten)]
    pub(super) elevation: ElevationArguments,
    #[command(flatten)]
    pub(super) rule: RuleArguments,
    #[command(flatten)]
    pub(super) cache: CacheArguments,
    #[command(flatten)]
    pub(super) reading: ReadingArguments,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
pub(super) struct NearArguments {
    /// Latitude and longitude in degrees: 45.1,7.2
    #[arg(value_name = "LAT,LON", value_parser = place, allow_hyphen_values = true)]
    pub(super) place: LatLon,
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required = true, value_name = "ROUTE")]
    pub(super) routes: Vec<PathBuf>,
    /// How far from the place climbs may start: 25km, 800m or 10mi
    #[arg(long, value_name = "DISTANCE", default_value = "25km", value_parser = distance)]
    pub(super) within: f64,
    /// Only climbs that take at least this long: 4:00; needs --rider or --power
    #[arg(long, value_name = "TIME", value_parser = time)]
    pub(super) longer_than: Option<f64>,
    #[command(flatten)]
    pub(super) riding: RidingArguments,
    #[command(flatten)]
    pub(super) elevation: ElevationArguments,
    #[command(flatten)]
    pub(super) rule: RuleArguments,
    #[command(flatten)]
    pub(super) cache: CacheArguments,
    #[command(flatten)]
    pub(super) reading: ReadingArguments,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "Who rides the climbs")]
pub(super) struct RidingArguments {
    /// The rider file, to tell how long each climb takes
    #[arg(long, value_name = "FILE")]
    pub(super) rider: Option<PathBuf>,
    /// Power on the climbs: 220 in watts, 85% of the threshold, or a band of it, 190..225; without it the rider's threshold
    #[arg(long, value_name = "W", allow_hyphen_values = true)]
    pub(super) power: Option<String>,
    /// Cadence band for which gears and shifts are named, in turns of the cranks a minute; of one number, five more and less
    #[arg(
        long,
        value_name = "RPM..RPM",
        default_value = "50..60",
        allow_hyphen_values = true
    )]
    pub(super) cadence: String,
    /// What the rider holds; cadence takes a band of --power to flex in
    #[arg(long, value_enum, default_value_t = PacingName::Power)]
    pub(super) pacing: PacingName,
    #[command(flatten)]
    pub(super) weather: WeatherArguments,
    #[command(flatten)]
    pub(super) unknowns: UnknownsArguments,
}

#[derive(Debug, Args)]
pub(super) struct CacheCommandArguments {
    /// Remove everything that is remembered
    #[arg(long)]
    pub(super) clear: bool,
}

#[derive(Debug, Args)]
pub(super) struct GearsArguments {
    /// The rider file
    #[arg(long, value_name = "FILE")]
    pub(super) rider: PathBuf,
    /// Grades in per cent: 6, 3..12 or 4,6.5,8
    #[arg(
        long,
        value_name = "PCT",
        default_value = "3..12",
        allow_hyphen_values = true
    )]
    pub(super) grade: String,
    /// Power band: 190..225 in watts, or 76%..90% of the threshold
    #[arg(long, value_name = "W..W", required_unless_present = "set")]
    pub(super) power: Option<String>,
    /// Cadence band in turns of the cranks a minute: 50..60; of one number, five more and less
    #[arg(long, value_name = "RPM..RPM", required_unless_present = "set")]
    pub(super) cadence: Option<String>,
    /// Elevation above the sea in metres: thin air is faster
    #[arg(long, value_name = "M", default_value_t = 0.0, value_parser = elevation, allow_hyphen_values = true)]
    pub(super) elevation: f64,
    /// Headwind in km/h at the rider's height; negative from behind
    #[arg(long, value_name = "KMH", default_value_t = 0.0, value_parser = headwind, allow_hyphen_values = true)]
    pub(super) headwind: f64,
    #[command(flatten)]
    pub(super) air: AirArguments,
    /// Take the bands of this set file's first block
    #[arg(long, value_name = "FILE", conflicts_with_all = ["power", "cadence"])]
    pub(super) set: Option<PathBuf>,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
pub(super) struct ReviewArguments {
    /// Recordings of rides (GPX, KML), with times; with cadence and power, best both; or - for standard input
    #[arg(required = true, value_name = "RECORDING")]
    pub(super) recordings: Vec<PathBuf>,
    /// The plan, as `hillwright plan … -o plan.json` writes it
    #[arg(long, value_name = "FILE", conflicts_with = "set")]
    pub(super) plan: Option<PathBuf>,
    /// The rider file: for gears, for power where none was measured, and for what the road model says
    #[arg(long, value_name = "FILE", required_unless_present = "plan")]
    pub(super) rider: Option<PathBuf>,
    /// The set file, where there is no plan
    #[arg(long, value_name = "FILE", requires = "rider")]
    pub(super) set: Option<PathBuf>,
    /// Learn effective mass, drag and rolling resistance from the recordings, and write a new rider file beside the old one
    #[arg(long, requires = "rider")]
    pub(super) fit: bool,
    #[command(flatten)]
    pub(super) weather: WeatherArguments,
    #[command(flatten)]
    pub(super) unknowns: UnknownsArguments,
    #[command(flatten)]
    pub(super) elevation: ElevationArguments,
    #[command(flatten)]
    pub(super) reading: ReadingArguments,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
pub(super) struct TilesArguments {
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required = true, value_name = "ROUTE")]
    pub(super) routes: Vec<PathBuf>,
    /// Folder of the elevation tiles (N44W072.hgt, also .hgt.gz and .hgt.zip)
    #[arg(long, value_name = "DIR", default_value = DEFAULT_FOLDER)]
    pub(super) tiles: PathBuf,
    /// Fetch the tiles that are missing or damaged
    #[arg(long)]
    pub(super) fetch: bool,
    /// Where to fetch from, as 'https://example.org/{lat}/{name}.hgt.gz', with {name} for N44W072, {lat} for N44 and {lon} for W072;
    /// or set HILLWRIGHT_TILE_SOURCE
    #[arg(long, value_name = "URL", requires = "fetch")]
    pub(super) tile_source: Option<String>,
    #[command(flatten)]
    pub(super) reading: ReadingArguments,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
pub(super) struct ServeArguments {
    /// Route files (GPX, KML, GeoJSON) or a folder to search, where riders and sets are saved too; without any, a demo
    #[arg(value_name = "ROUTE")]
    pub(super) routes: Vec<PathBuf>,
    /// The rider file to start with
    #[arg(long, value_name = "FILE")]
    pub(super) rider: Option<PathBuf>,
    /// The set file to start with
    #[arg(long, value_name = "FILE")]
    pub(super) set: Option<PathBuf>,
    /// The port to listen at; without it, any that is free
    #[arg(
        long,
        value_name = "PORT",
        default_value_t = 0,
        hide_default_value = true
    )]
    pub(super) port: u16,
    /// Don't open the browser
    #[arg(long)]
    pub(super) no_open: bool,
    /// The address to listen at: this machine's own, which nobody else reaches, unless --allow-remote is given
    #[arg(long, value_name = "ADDRESS", default_value = "127.0.0.1")]
    pub(super) host: IpAddr,
    /// Let others on the network read and change the page
    #[arg(long)]
    pub(super) allow_remote: bool,
    #[command(flatten)]
    pub(super) elevation: ElevationArguments,
}

/// The manual of the program, or of one of its commands, in roff; `None` where there is no such command.
pub(super) fn manual(of: Option<&str>) -> std::io::Result<Option<Vec<u8>>> {
    let mut program = Arguments::command();
    program.build();
    let command = match of {
        None => Some(&program),
        Some(name) => program.find_subcommand(name),
    };
    let Some(command) = command.cloned() else {
        return Ok(None);
    };
    let mut page = Vec::new();
    clap_mangen::Man::new(command).render(&mut page)?;
    Ok(Some(page))
}

/// The completions for a shell, as text.
pub(super) fn completions(shell: clap_complete::Shell) -> String {
    let mut command = Arguments::command();
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut command, "hillwright", &mut script);
    String::from_utf8_lossy(&script).into_owned()
}
