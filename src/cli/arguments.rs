//! What can be typed.

use std::net::IpAddr;
use std::path::PathBuf;

use super::ride_arguments::{
    AirArguments, PacingName, UnknownsArguments, WeatherArguments, elevation,
};
use clap::{Args, CommandFactory, Parser, Subcommand, ValueEnum};

use crate::archive::Cache;
use crate::climbs::Rule;
use crate::files::Limits;
use crate::matching::Wishes;
use crate::prescription::BlockFlags;
use crate::profile::sources::Wanted;
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
    pub(super) routes: Vec<String>,
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
    pub(super) routes: Vec<String>,
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
#[command(next_help_heading = "Reading")]
pub(super) struct ReadingArguments {
    /// The most that is read of one file, and that a packed one may unpack to, in MiB
    #[arg(long, value_name = "MIB", default_value_t = 2048, value_parser = clap::value_parser!(u64).range(1..=1 << 20))]
    max_input: u64,
}

impl ReadingArguments {
    pub(super) fn limits(&self) -> Limits {
        let bytes = self.max_input << 20;
        Limits {
            input_bytes: bytes,
            inflated_bytes: bytes,
        }
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
    /// Cadence band in turns of the cranks a minute: 50..60
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
pub(super) struct PlanArguments {
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required_unless_present = "indoors", value_name = "ROUTE")]
    pub(super) routes: Vec<String>,
    /// The rider file; given again and again, the riders share a hill, and the plan is for the first
    #[arg(long, value_name = "FILE", required = true)]
    pub(super) rider: Vec<PathBuf>,
    /// The set file; or give one block by --reps, --work, --rest and two of --power, --cadence and --torque
    #[arg(long, value_name = "FILE", required_unless_present = "reps",
        conflicts_with_all = ["reps", "work", "rest", "power", "cadence", "torque", "warm_up"])]
    pub(super) set: Option<PathBuf>,
    #[command(flatten)]
    pub(super) block: BlockArguments,
    #[command(flatten)]
    pub(super) weather: WeatherArguments,
    #[command(flatten)]
    pub(super) elevation: ElevationArguments,
    #[command(flatten)]
    pub(super) wishes: WishArguments,
    /// Tell the same set for a trainer; needs no route
    #[arg(long)]
    pub(super) indoors: bool,
    /// Tell the plan as a card to tape to the stem, one instruction at a time: in text, and in files that end in .html
    #[arg(long)]
    pub(super) card: bool,
    #[command(flatten)]
    pub(super) rule: RuleArguments,
    #[command(flatten)]
    pub(super) reading: ReadingArguments,
    #[command(flatten)]
    pub(super) answer: AnswerArguments,
}

#[derive(Debug, Args)]
pub(super) struct ReviewArguments {
    /// Recordings of rides (GPX, KML), with times; with cadence and power, best both; or - for standard input
    #[arg(required = true, value_name = "RECORDING")]
    pub(super) recordings: Vec<String>,
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
#[command(next_help_heading = "One block by flags")]
pub(super) struct BlockArguments {
    /// How many reps
    #[arg(long, value_name = "N")]
    reps: Option<String>,
    /// How long each rep lasts: 4:00
    #[arg(long, value_name = "TIME")]
    work: Option<String>,
    /// Recovery after each: 4:00..9:00, or 4:00 without an upper end
    #[arg(long, value_name = "TIME..TIME")]
    rest: Option<String>,
    /// Power band: 190..225 in watts, or 76%..90% of the threshold
    #[arg(long, value_name = "W..W")]
    power: Option<String>,
    /// Cadence band in turns of the cranks a minute: 50..60
    #[arg(long, value_name = "RPM..RPM")]
    cadence: Option<String>,
    /// Torque band at the cranks in newton metres: 32..45
    #[arg(long, value_name = "NM..NM")]
    torque: Option<String>,
    /// No rep starts before this much riding: 20:00
    #[arg(long, value_name = "TIME")]
    warm_up: Option<String>,
}

impl BlockArguments {
    pub(super) fn flags(&self) -> BlockFlags {
        BlockFlags {
            reps: self.reps.clone(),
            work: self.work.clone(),
            rest: self.rest.clone(),
            power: self.power.clone(),
            cadence: self.cadence.clone(),
            torque: self.torque.clone(),
            warm_up: self.warm_up.clone(),
        }
    }
}

#[derive(Debug, Args)]
pub(super) struct TilesArguments {
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required = true, value_name = "ROUTE")]
    pub(super) routes: Vec<String>,
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
    pub(super) routes: Vec<String>,
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

#[derive(Debug, Args)]
#[command(next_help_heading = "What the plan may do")]
pub(super) struct WishArguments {
    /// Turn round after a rep and roll back down, to ride the same climb again
    #[arg(long)]
    turn_round: bool,
    /// Go round a loop up to this often
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=20))]
    pub(super) laps: u32,
    /// Ride this rep on this climb: 3=7; may be given again and again
    #[arg(long, value_name = "REP=CLIMB", value_parser = rep_on_climb)]
    keep: Vec<(usize, usize)>,
    /// Leave this climb alone; may be given again and again
    #[arg(long, value_name = "CLIMB")]
    avoid: Vec<usize>,
    /// What the rider holds in a rep
    #[arg(long, value_enum, default_value_t = PacingName::Cadence)]
    pacing: PacingName,
}

impl WishArguments {
    pub(super) fn wishes(&self) -> Wishes {
        Wishes {
            turn_round: self.turn_round,
            keep: self.keep.clone(),
            avoid: self.avoid.clone(),
            pacing: self.pacing.into(),
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum ElevationName {
    /// The route file's
    Recorded,
    /// The elevation tiles'
    Tiles,
    /// The route file's where it has them, otherwise the tiles'
    Auto,
}

#[derive(Debug, Args)]
#[command(next_help_heading = "What counts as a steady climb")]
pub(super) struct RuleArguments {
    /// Shortest climb in metres
    #[arg(long, value_name = "M", default_value_t = 400.0, value_parser = length)]
    min_length: f64,
    /// Gentlest mean grade in per cent
    #[arg(long, value_name = "PCT", default_value_t = 3.0, value_parser = grade)]
    min_grade: f64,
    /// How far the grade over 100 m may stray, as a share of the mean grade plus one point
    #[arg(long, value_name = "SHARE", default_value_t = 0.2, value_parser = share)]
    stray: f64,
    /// Longest kink that is passed over, in metres
    #[arg(long, value_name = "M", default_value_t = 60.0, value_parser = kink)]
    max_kink: f64,
    /// Most metres of descent within a climb
    #[arg(long, value_name = "M", default_value_t = 2.0, value_parser = kink)]
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

/// The completions for a shell, as text.
pub(super) fn completions(shell: clap_complete::Shell) -> String {
    let mut command = Arguments::command();
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut command, "hillwright", &mut script);
    String::from_utf8_lossy(&script).into_owned()
}

/// A number within bounds; `why` says why beyond them it can't be true.
pub(super) fn bounded(
    text: &str,
    from: f64,
    to: f64,
    unit: &str,
    why: &str,
) -> Result<f64, String> {
    let within = || format!("expected {from} to {to} {unit}: {why}");
    let value: f64 = text.trim().parse().map_err(|_| within())?;
    if (from..=to).contains(&value) {
        Ok(value)
    } else {
        Err(within())
    }
}

fn place(text: &str) -> Result<LatLon, String> {
    let numbers = text
        .split_once(',')
        .and_then(|(lat, lon)| Some((lat.trim().parse().ok()?, lon.trim().parse().ok()?)));
    match numbers {
        Some((lat_deg, lon_deg))
            if (-90.0..=90.0).contains(&lat_deg) && (-180.0..=180.0).contains(&lon_deg) =>
        {
            Ok(LatLon { lat_deg, lon_deg })
        }
        Some(_) => {
            Err("expected a latitude from -90 to 90 and a longitude from -180 to 180".to_owned())
        }
        None => Err("expected a latitude and a longitude in degrees, as 45.1,7.2".to_owned()),
    }
}

/// Metres in a statute mile (the international yard and pound agreement of 1959).
const METRES_PER_MILE: f64 = 1609.344;

fn distance(text: &str) -> Result<f64, String> {
    const UNITS: [(&str, f64); 3] = [("km", 1000.0), ("mi", METRES_PER_MILE), ("m", 1.0)];
    let text = text.trim();
    let expected = || "expected a distance up to 1000 km, as 25km, 800m or 10mi".to_owned();
    let metres = UNITS
        .iter()
        .find_map(|(unit, metres)| Some((text.strip_suffix(unit)?, metres)))
        .and_then(|(number, metres)| Some(number.trim().parse::<f64>().ok()? * metres))
        .ok_or_else(expected)?;
    if metres > 0.0 && metres <= 1e6 {
        Ok(metres)
    } else {
        Err(expected())
    }
}

fn time(text: &str) -> Result<f64, String> {
    crate::prescription::parse_duration(text)
}

fn rep_on_climb(text: &str) -> Result<(usize, usize), String> {
    let numbers = text
        .split_once('=')
        .and_then(|(rep, climb)| Some((rep.trim().parse().ok()?, climb.trim().parse().ok()?)));
    numbers.ok_or_else(|| "expected a rep and a climb, as 3=7".to_owned())
}

fn headwind(text: &str) -> Result<f64, String> {
    bounded(text, -100.0, 100.0, "km/h", "nobody rides in more")
}

fn length(text: &str) -> Result<f64, String> {
    let why = "shorter is a ramp, longer no road climbs";
    bounded(text, 100.0, 100_000.0, "metres", why)
}

fn grade(text: &str) -> Result<f64, String> {
    let why = "gentler is flat, steeper no road is";
    bounded(text, 0.5, 40.0, "per cent", why)
}

fn share(text: &str) -> Result<f64, String> {
    let why = "less no road keeps to, more is no rule";
    bounded(text, 0.02, 2.0, "(a share)", why)
}

fn kink(text: &str) -> Result<f64, String> {
    bounded(
        text,
        0.0,
        500.0,
        "metres",
        "longer is no kink but a road of its own",
    )
}
