//! The JSON document of plans.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::document::{AimedBand, ClimbEntry, ElevationEntry, GearName, Place, Range};

/// `hillwright.plan/1`: which climb suits each rep; with several routes, the best first.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlanDocument {
    /// Always `hillwright.plan/1`.
    pub schema: String,
    /// The rider and the set that it was made for.
    pub asked: AskedEntry,
    /// The routes, best first.
    pub routes: Vec<PlanEntry>,
    /// With several riders: who rides where; only then.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub squad: Option<SquadEntry>,
    /// The same set on a trainer, block by block, where it was asked for or no route carries any of it; else none.
    pub indoors: Vec<IndoorEntry>,
    /// Remarks about the set, with their sources.
    pub session_notes: Vec<String>,
    /// What every plan says.
    pub cautions: Vec<String>,
}

/// What a plan was made for.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AskedEntry {
    /// The rider's name, or the file's.
    pub rider: String,
    /// Mass of the rider, in kilograms.
    pub rider_mass_kg: f64,
    /// Threshold power, in watts.
    pub threshold_w: f64,
    /// Time above this power is not recovery, in watts.
    pub recovery_ceiling_w: f64,
    /// No rep starts before this much riding, in seconds.
    pub warm_up_s: f64,
    /// The blocks of the set, in order.
    pub blocks: Vec<AskedBlockEntry>,
    /// The weather that was typed.
    pub weather: WeatherEntry,
}

/// What was typed of the weather; null where it was not.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WeatherEntry {
    /// Wind 10 m above open ground, in kilometres per hour.
    pub wind_kmh: Option<f64>,
    /// Where it comes from, in degrees clockwise from north.
    pub wind_from_deg: Option<f64>,
    /// How much of it reaches the road: `open` six tenths, `sheltered` three, `none` all.
    pub shelter: String,
    /// The wind that times suppose on the road, in kilometres per hour; 0 in still air.
    pub road_wind_kmh: f64,
    /// Temperature, in degrees Celsius.
    pub temperature_c: Option<f64>,
    /// Station pressure, in hectopascals.
    pub pressure_hpa: Option<f64>,
    /// Pressure reduced to sea level, in hectopascals.
    pub sea_level_pressure_hpa: Option<f64>,
    /// Relative humidity, in per cent.
    pub humidity_pct: Option<f64>,
    /// Elevation at which temperature, pressure and humidity were measured, in metres; null for that of a route's start.
    pub measured_at_m: Option<f64>,
}

/// A block of the set.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AskedBlockEntry {
    /// Which block, from 1.
    pub block: usize,
    /// How many reps.
    pub reps: u32,
    /// Whether they are maximal starts; then the bands are what is to be expected.
    pub maximal: bool,
    /// Speed that maximal starts begin at, in kilometres per hour; null for other reps, and where it is not known.
    pub from_kmh: Option<f64>,
    /// How long each lasts, in seconds.
    pub work_s: f64,
    /// Shortest recovery after each, in seconds.
    pub recovery_at_least_s: f64,
    /// Longest recovery after each that is as asked, in seconds; null where none is named: then up to three times the
    /// shortest, and no less than ten minutes, is as good.
    pub recovery_at_most_s: Option<f64>,
    /// Power, in watts.
    pub power_band_w: AimedBand,
    /// Cadence, in turns a minute.
    pub cadence_band_rpm: AimedBand,
    /// Torque at the cranks, in newton metres; null where power and cadence say everything.
    pub torque_band_nm: Option<AimedBand>,
}

/// Several riders on one hill, with one set.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SquadEntry {
    /// The route's file.
    pub source: String,
    /// Number of the climb on which all reps of all riders fit at the least cost; null where there is none.
    pub climb: Option<usize>,
    /// The riders, in the order given.
    pub riders: Vec<SquadRiderEntry>,
}

/// One rider of several.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SquadRiderEntry {
    /// The rider's name, or the file's.
    pub rider: String,
    /// Every climb of the route.
    pub climbs: Vec<SquadClimbEntry>,
}

/// What a climb is to one rider of several.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SquadClimbEntry {
    /// The climb's number.
    pub climb: usize,
    /// Whether the reps of every block fit; maximal starts don't count.
    pub fits: bool,
    /// The best place for each block of held reps, in order; none where they don't fit.
    pub places: Vec<SquadPlaceEntry>,
    /// The largest sprocket with which they would fit, where that is all it takes, in teeth.
    pub needed_sprocket: Option<u32>,
    /// Why they don't fit; empty where they do.
    pub why: String,
}

/// Where a rider rides a block's reps on a climb.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SquadPlaceEntry {
    /// Where they start.
    pub start: Place,
    /// Where the clock is expected to stop them.
    pub end: Place,
    /// Where the clock stops them if they are ridden as fast as the bands allow.
    pub end_if_fast: Place,
    /// The gear at the start.
    pub gear: GearName,
    /// Rear shifts on the way.
    pub shifts: Vec<ShiftEntry>,
    /// The cadence to aim for, in turns a minute.
    pub aim_rpm: f64,
}

/// A block of the set on a trainer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct IndoorEntry {
    /// Which block, from 1.
    pub block: usize,
    /// How many reps.
    pub reps: u32,
    /// How long each lasts, in seconds.
    pub work_s: f64,
    /// Shortest recovery after each, in seconds.
    pub recovery_at_least_s: f64,
    /// What to hold; null for maximal starts.
    pub held: Option<IndoorHeldEntry>,
}

/// What to hold on a trainer.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct IndoorHeldEntry {
    /// Power, in watts.
    pub power_band_w: AimedBand,
    /// Cadence, in turns a minute.
    pub cadence_band_rpm: AimedBand,
    /// The gear.
    pub gear: GearName,
    /// Torque at the cranks at the aims, in newton metres.
    pub torque_nm: f64,
    /// Mean tangential pedal force at the aims, both legs together, in newtons.
    pub pedal_force_n: f64,
    /// Speed of the driven wheel's rim at the cadence aimed for, in kilometres per hour.
    pub wheel_speed_kmh: f64,
}

/// A plan on one route.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlanEntry {
    /// The file it came from.
    pub source: String,
    /// The name the file gives it.
    pub name: Option<String>,
    /// Length, in metres.
    pub length_m: f64,
    /// Whether every rep is placed.
    pub fits: bool,
    /// Cost of the placed reps, in seconds of work out of band.
    pub cost_s: f64,
    /// The whole ride.
    pub total: TotalEntry,
    /// The placed reps.
    pub reps: Vec<RepEntry>,
    /// The reps without a place.
    pub unplaced: Vec<UnplacedEntry>,
    /// Where the set does not fit: the nearest changes of it that would, on the first route.
    pub would_fit_with: Vec<String>,
    /// A plan on other climbs that is as good as equal; null where there is none.
    pub near_tie: Option<NearTieEntry>,
    /// How often the route is ridden.
    pub laps: usize,
    /// Where the set does not fit in the route's order: the plan that turns round and rolls back, if it places more reps.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turning_round: Option<TurningEntry>,
    /// Where the elevations are from, and how good they are.
    pub elevation: ElevationEntry,
    /// Everything that was dropped, filled or guessed.
    pub warnings: Vec<String>,
    /// Every climb of the route, with whether it suits and why.
    pub climbs: Vec<ClimbEntry>,
}

/// A plan that rides a rep elsewhere and costs next to nothing more.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NearTieEntry {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// On which other climb.
    pub climb: usize,
    /// What the whole plan costs more, in seconds of work out of band.
    pub more_s: f64,
}

/// The plan for a rider who turns round after a rep and rolls back down.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct TurningEntry {
    /// Whether every rep is placed.
    pub fits: bool,
    /// Cost of the placed reps, in seconds of work out of band.
    pub cost_s: f64,
    /// The whole ride.
    pub total: TotalEntry,
    /// The placed reps.
    pub reps: Vec<RepEntry>,
    /// How often the route is ridden.
    pub laps: usize,
}

/// The whole ride.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct TotalEntry {
    /// How long it takes, in seconds.
    pub duration_s: f64,
    /// How far it is, in metres.
    pub distance_m: f64,
    /// Metres climbed.
    pub ascent_m: f64,
    /// Work in the reps, in seconds.
    pub work_s: f64,
    /// Recoveries beyond the longest asked for, all together, in seconds.
    pub over_recovery_s: f64,
    /// Riding to and fro before the first rep until the warm-up is over, in seconds.
    pub warm_up_waiting_s: f64,
}

/// A placed rep.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RepEntry {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Which block, from 1.
    pub block: usize,
    /// Whether it is a maximal start; then power, cadence and torque are rough estimates.
    pub maximal: bool,
    /// What the rider holds in it: `cadence`, the power flexing inside its band, or `power`, the cadence following the grade.
    pub pacing: String,
    /// Numbers of the climbs it is ridden on.
    pub climbs: Vec<usize>,
    /// In which round of a loop, from 1.
    pub lap: usize,
    /// Where it starts.
    pub start: Place,
    /// Where the clock is expected to stop it.
    pub end: Place,
    /// Where the clock stops it if it is ridden as fast as the bands allow.
    pub end_if_fast: Place,
    /// Time since the ride's start at which it starts, in seconds.
    pub start_time_s: f64,
    /// How long it lasts, in seconds.
    pub duration_s: f64,
    /// Speed on arrival, in kilometres per hour.
    pub entry_speed_kmh: f64,
    /// Mean speed, in kilometres per hour.
    pub speed_kmh: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// The gear.
    pub gear: GearName,
    /// Rear shifts within the rep.
    pub shifts: Vec<ShiftEntry>,
    /// The cadence to aim for, in turns a minute.
    pub aim_rpm: f64,
    /// The parts of its cost by name, in seconds of work out of band.
    pub cost_parts_s: BTreeMap<String, f64>,
    /// Mean power, in watts.
    pub power_w: f64,
    /// Lowest and highest three-second power after the run-in, in watts.
    pub power_range_w: Range,
    /// Mean cadence after the run-in, in turns a minute.
    pub cadence_rpm: f64,
    /// Lowest and highest three-second cadence after the run-in, in turns a minute.
    pub cadence_range_rpm: Range,
    /// Share of the time after the run-in with the cadence in its band, in per cent.
    pub in_band_pct: f64,
    /// Mean torque at the cranks, in newton metres.
    pub torque_nm: f64,
    /// That torque per kilogram of rider, in newton metres.
    pub torque_nm_per_kg: f64,
    /// Mean tangential pedal force, both legs together, in newtons.
    pub pedal_force_n: f64,
    /// Time to the next rep's start, in seconds; null after the last.
    pub recovery_after_s: Option<f64>,
    /// What of that counts as recovery, in seconds; null after the last.
    pub rest_after_s: Option<f64>,
    /// What of it is riding to and fro until the recovery is long enough, in seconds.
    pub waiting_after_s: f64,
    /// `ride on`, `roll back` or `soft pedal`.
    pub recovery_how: String,
    /// The two cheapest other climbs for this rep, the plan around it again the cheapest.
    pub others: Vec<OtherEntry>,
}

/// A rear shift within a rep.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ShiftEntry {
    /// Where.
    pub at: Place,
    /// The sprocket to shift to, in teeth.
    pub sprocket: u32,
    /// The ratio of the hub to shift to, wheel turns per sprocket turn; only with a gear hub.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hub_ratio: Option<f64>,
}

/// Another climb for a rep.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct OtherEntry {
    /// The climb's number.
    pub climb: usize,
    /// What the whole plan costs more, in seconds of work out of band.
    pub more_s: f64,
    /// What speaks for or against it.
    pub why: String,
}

/// A rep without a place.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct UnplacedEntry {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Why.
    pub why: String,
}
