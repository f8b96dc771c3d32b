//! The JSON document of reviews.

use schemars::JsonSchema;
use serde::Serialize;

use super::document::{AskedBlockEntry, GearName, Place, Range};

/// `hillwright.review/1`: recordings held against a plan or a set.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReviewDocument {
    /// Always `hillwright.review/1`.
    pub schema: String,
    /// The recordings, in the order given.
    pub recordings: Vec<ReviewEntry>,
    /// What the recordings teach of mass and drag; null where that was not asked for, or could not be told.
    pub fit: Option<FitEntry>,
    /// Why there is no fit though one was asked for; null otherwise.
    pub no_fit: Option<String>,
    /// What only the rider can tell.
    pub questions: Vec<String>,
    /// What every review says.
    pub cautions: Vec<String>,
}

/// A recording, reviewed.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReviewEntry {
    /// The file it came from.
    pub source: String,
    /// The name the file gives it.
    pub name: Option<String>,
    /// When it began, in Coordinated Universal Time.
    pub began_at: Option<String>,
    /// From its first second to its last, in seconds.
    pub duration_s: f64,
    /// What of that was standing still, in seconds.
    pub halted_s: f64,
    /// Length as given, in metres.
    pub length_m: f64,
    /// Metres climbed; null where there are no elevations.
    pub ascent_m: Option<f64>,
    /// `measured`, `estimated` from speed, grade and mass, or `none`.
    pub power_from: String,
    /// Whether there is a cadence.
    pub has_cadence: bool,
    /// The plan's route that it is held against; null for a set alone.
    pub plan_route: Option<String>,
    /// The blocks that it is held against.
    pub blocks: Vec<AskedBlockEntry>,
    /// Why no reps were looked for; null where they were.
    pub no_reps: Option<String>,
    /// The reps, ridden and missing, in order.
    pub reps: Vec<ReviewRepEntry>,
    /// The session as a whole; null where no reps were looked for.
    pub session: Option<SessionEntry>,
    /// The same in sentences.
    pub findings: Vec<String>,
    /// Efforts in the bands that are too short to be a rep.
    pub brief_efforts: Vec<SpanEntry>,
    /// The steady climbs that were ridden in one go with measured power, for a known rider.
    pub climbs: Vec<RiddenClimbEntry>,
    /// Everything that was dropped, corrected or guessed.
    pub warnings: Vec<String>,
}

/// A stretch of time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct SpanEntry {
    /// When it began, in seconds since the recording's start.
    pub start_time_s: f64,
    /// How long it lasted, in seconds.
    pub duration_s: f64,
}

/// A rep of the plan, of the ride, or of both.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ReviewRepEntry {
    /// Which planned rep, from 1 over all blocks; null for an extra one.
    pub rep: Option<usize>,
    /// Which block it belongs to, or is like, from 1.
    pub block: usize,
    /// `as planned`, or one or more of `shorter`, `recording ends`, `longer`, `elsewhere`; `extra`; `missing`.
    pub done: Vec<String>,
    /// How long it was to last, in seconds.
    pub planned_duration_s: f64,
    /// Where it was to start, along the plan's route, in metres; null without a place.
    pub planned_start_m: Option<f64>,
    /// The gear that was planned.
    pub planned_gear: Option<GearName>,
    /// As it was ridden; null for a missing one.
    pub ridden: Option<RiddenEntry>,
    /// For a missing one: what the recording shows where it was planned.
    pub instead: Option<String>,
}

/// A rep as it was ridden.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RiddenEntry {
    /// When it began, in seconds since the recording's start.
    pub start_time_s: f64,
    /// How long it lasted, in seconds.
    pub duration_s: f64,
    /// Where it began, along the recording.
    pub start: Place,
    /// Where it ended, along the recording.
    pub end: Place,
    /// How far its start is from the planned one, in metres along the road, in a straight line where the recording does not pass
    /// that; null without one.
    pub start_apart_m: Option<f64>,
    /// Mean speed, in kilometres per hour.
    pub speed_kmh: f64,
    /// Mean grade, in per cent; null where there are no elevations.
    pub grade_pct: Option<f64>,
    /// Halts within it.
    pub halts: Vec<SpanEntry>,
    /// Rolling with cranks at rest, in seconds.
    pub coasting_s: f64,
    /// Whether it was started from standing.
    pub from_standing: bool,
    /// All of it.
    pub held: HeldEntry,
    /// Where the power is estimated: the 90 % interval of its mean, in watts.
    pub power_range_w: Option<Range>,
    /// The first minute after a run-in of 15 s, or the first half if it is shorter.
    pub first_minute: HeldEntry,
    /// The last minute, or the last half.
    pub last_minute: HeldEntry,
    /// Share of the moving time after the run-in with the three-second cadence in its band, in per cent.
    pub cadence_in_band_pct: Option<f64>,
    /// Share of it with the ten-second power in its band, in per cent.
    pub power_in_band_pct: Option<f64>,
    /// The gears, in order; none where cadence or bike are not known.
    pub gears: Vec<RiddenGearEntry>,
    /// The time that the road model gives for this stretch at the mean power ridden, in seconds; null without measured power, without a
    /// rider file, and where there was a halt.
    pub model_duration_s: Option<f64>,
    /// The 90 % interval of that, in seconds.
    pub model_duration_range_s: Option<Range>,
    /// The times that it gives at the two ends of the power band, in seconds.
    pub band_duration_range_s: Option<Range>,
    /// The easy riding to the next rep; null after the last.
    pub recovery: Option<RecoveryEntry>,
}

/// What a rider held.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct HeldEntry {
    /// Mean power, in watts.
    pub power_w: Option<f64>,
    /// Mean cadence while the cranks turn, in turns a minute.
    pub cadence_rpm: Option<f64>,
    /// Mean torque at the cranks while they turn, in newton metres.
    pub torque_nm: Option<f64>,
    /// Mean heart rate, in beats a minute.
    pub heart_rate_bpm: Option<f64>,
}

/// A gear that was ridden.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RiddenGearEntry {
    /// The gear.
    pub gear: GearName,
    /// Another gear that gives the same.
    pub or: Option<GearName>,
    /// For how long, in seconds.
    pub duration_s: f64,
    /// Measured metres per turn of the cranks.
    pub development_m: f64,
}

/// The easy riding after a rep.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RecoveryEntry {
    /// To the next rep's start, in seconds.
    pub duration_s: f64,
    /// What of that was at no more than the recovery ceiling, or standing, in seconds.
    pub rest_s: f64,
    /// Mean power, in watts.
    pub power_w: Option<f64>,
    /// Standing still, in seconds.
    pub halted_s: f64,
    /// Shortest recovery asked for, in seconds.
    pub asked_at_least_s: f64,
    /// Longest recovery asked for, in seconds; null where none was named.
    pub asked_at_most_s: Option<f64>,
    /// Whether the rest was as long as asked.
    pub was_one: bool,
}

/// The session as a whole.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SessionEntry {
    /// How many reps were planned.
    pub planned: usize,
    /// How many of them were ridden, however.
    pub ridden: usize,
    /// How many were ridden as planned.
    pub as_planned: usize,
    /// How many were ridden that were not planned.
    pub extra: usize,
    /// Work in all reps, in seconds.
    pub work_s: f64,
    /// Share of the reps' time with the cadence in its band, in per cent.
    pub cadence_in_band_pct: Option<f64>,
    /// Share of it with the power in its band, in per cent.
    pub power_in_band_pct: Option<f64>,
    /// What the first whole rep held; null with fewer than two.
    pub first_rep: Option<HeldEntry>,
    /// What the last whole rep held.
    pub last_rep: Option<HeldEntry>,
    /// How many of the easy ridings between reps were recoveries.
    pub recoveries: usize,
    /// Of how many.
    pub recoveries_of: usize,
}

/// A steady climb as it was ridden.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RiddenClimbEntry {
    /// The climb's number.
    pub climb: usize,
    /// Where it starts, along the recording.
    pub start: Place,
    /// Where it ends.
    pub end: Place,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// Mean power, in watts.
    pub power_w: f64,
    /// How long it took, in seconds.
    pub duration_s: f64,
    /// How long the road model says that it takes at that power, in seconds.
    pub model_duration_s: f64,
    /// The 90 % interval of that, in seconds.
    pub model_duration_range_s: Range,
}

/// Mass, drag and rolling resistance as the recordings have them.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct FitEntry {
    /// Effective mass of rider, bike and kit, in kilograms.
    pub mass_kg: FittedEntry,
    /// Drag area, in square metres.
    pub cda_m2: FittedEntry,
    /// Rolling resistance coefficient.
    pub crr: FittedEntry,
    /// Correlation of the errors of mass and drag; null where one of them was held.
    pub correlation_mass_cda: Option<f64>,
    /// Correlation of the errors of mass and rolling resistance.
    pub correlation_mass_crr: Option<f64>,
    /// Correlation of the errors of drag and rolling resistance.
    pub correlation_cda_crr: Option<f64>,
    /// Riding that it was fitted to, in seconds.
    pub kept_s: f64,
    /// Riding that was left out, by reason.
    pub dropped: Vec<DroppedEntry>,
    /// Spread of a half-minute's mean power about the balance, in watts.
    pub spread_w: f64,
    /// What to mind.
    pub notes: Vec<String>,
    /// The new rider file.
    pub rider_file: Option<String>,
}

/// A fitted value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct FittedEntry {
    /// As fitted, or as the rider file has it.
    pub value: f64,
    /// Its standard error; null where it could not be told and was held.
    pub standard_error: Option<f64>,
    /// What the rider file had.
    pub before: f64,
}

/// Riding that was left out.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DroppedEntry {
    /// Why.
    pub why: String,
    /// How much, in seconds.
    pub duration_s: f64,
}
