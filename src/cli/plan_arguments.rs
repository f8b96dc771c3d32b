//! What can be typed for a plan.

use std::path::PathBuf;

use clap::Args;

use super::ride_arguments::{PacingName, WeatherArguments};
use super::shared_arguments::{
    AnswerArguments, CacheArguments, ElevationArguments, ReadingArguments, RuleArguments,
};
use super::typed::rep_on_climb;
use crate::matching::Wishes;
use crate::prescription::BlockFlags;

#[derive(Debug, Args)]
pub(super) struct PlanArguments {
    /// Route files (GPX, KML, GeoJSON), folders to search, or - for standard input
    #[arg(required_unless_present = "indoors", value_name = "ROUTE")]
    pub(super) routes: Vec<PathBuf>,
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
    #[arg(long, requires = "routes")]
    pub(super) card: bool,
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
#[command(next_help_heading = "One block by flags")]
pub(super) struct BlockArguments {
    /// How many reps
    #[arg(long, value_name = "N")]
    reps: Option<String>,
    /// How long each rep lasts: 4:00
    #[arg(long, value_name = "TIME")]
    work: Option<String>,
    /// Recovery after each: 4:00..9:00; of one time, up to three times that and no less than 10:00 counts as well
    #[arg(long, value_name = "TIME..TIME")]
    rest: Option<String>,
    /// Power band: 190..225 in watts, or 76%..90% of the threshold; of one number, a twentieth more and less
    #[arg(long, value_name = "W..W")]
    power: Option<String>,
    /// Cadence band in turns of the cranks a minute: 50..60; of one number, five more and less
    #[arg(long, value_name = "RPM..RPM")]
    cadence: Option<String>,
    /// Torque band at the cranks in newton metres: 32..45; of one number, a twentieth more and less
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
