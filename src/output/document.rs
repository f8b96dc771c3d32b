//! The JSON documents. Fields may be added; none may change its meaning without a new number in the schema's name.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

/// A place along a route.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Place {
    /// Distance along the route as given, in metres.
    pub distance_m: f64,
    /// Latitude, WGS 84, in degrees.
    pub lat: f64,
    /// Longitude, WGS 84, in degrees.
    pub lon: f64,
    /// Smoothed elevation, in metres.
    pub elevation_m: f64,
}

/// Two ends of a range, in the unit that the field's name says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct Range {
    /// The lower end.
    pub low: f64,
    /// The upper end.
    pub high: f64,
}

/// A band to hold, in the unit that the field's name says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct AimedBand {
    /// The lower end.
    pub from: f64,
    /// The upper end.
    pub to: f64,
    /// What to aim for.
    pub aim: f64,
}

/// `hillwright.climbs/1`: the steady climbs on each route.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ClimbsDocument {
    /// Always `hillwright.climbs/1`.
    pub schema: String,
    /// The routes, in the order given.
    pub routes: Vec<RouteEntry>,
}

/// A route and its climbs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RouteEntry {
    /// The file it came from.
    pub source: String,
    /// The name the file gives it.
    pub name: Option<String>,
    /// How many points were used.
    pub points: usize,
    /// Length along the ellipsoid, in metres.
    pub length_m: f64,
    /// Metres climbed.
    pub ascent_m: f64,
    /// Metres descended.
    pub descent_m: f64,
    /// Whether it ends where it starts.
    pub is_loop: bool,
    /// Where the elevations are from, and how good they are.
    pub elevation: ElevationEntry,
    /// Everything that was dropped, filled or guessed.
    pub warnings: Vec<String>,
    /// The ways up.
    pub ascents: Vec<AscentEntry>,
    /// The steady climbs.
    pub climbs: Vec<ClimbEntry>,
}

/// Where elevations are from, and how good they are.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ElevationEntry {
    /// `recorded` or `tiles`.
    pub source: String,
    /// Standard deviation of a single elevation, in metres.
    pub noise_m: f64,
    /// Distance along the road over which the error is correlated, in metres.
    pub correlation_m: f64,
    /// Elevations that were missing and filled.
    pub voids: usize,
}

/// One way up.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AscentEntry {
    /// Number in route order, from 1.
    pub id: usize,
    /// Its foot.
    pub start: Place,
    /// Its top.
    pub end: Place,
    /// Metres climbed.
    pub gain_m: f64,
    /// Numbers of the steady climbs on it.
    pub climbs: Vec<usize>,
    /// `even`, `steepening`, `easing` or `mixed`.
    pub shape: String,
}

/// A steady climb.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ClimbEntry {
    /// Number in route order, from 1.
    pub id: usize,
    /// Number of its ascent.
    pub ascent: usize,
    /// Where it starts.
    pub start: Place,
    /// Where it ends.
    pub end: Place,
    /// Length along the route, in metres.
    pub length_m: f64,
    /// Metres climbed.
    pub gain_m: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// Standard error of the mean grade, in per cent.
    pub grade_se_pct: f64,
    /// Standard deviation of the grade over 100 m about the mean, in per cent.
    pub grade_sd_pct: f64,
    /// Steepest 100 m, in per cent.
    pub steepest_100m_pct: f64,
    /// Gentlest 100 m, in per cent.
    pub gentlest_100m_pct: f64,
    /// How long it takes; only with a rider.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ride: Option<RideEntry>,
    /// Whether a rep could be ridden on it; only in plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub suits: Option<bool>,
    /// Which reps use it, or why none does; only in plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
}

/// A climb ridden at one power.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RideEntry {
    /// The power, in watts.
    pub power_w: f64,
    /// Speed on arrival, in kilometres per hour.
    pub entry_speed_kmh: f64,
    /// How long it takes, in seconds.
    pub duration_s: f64,
    /// The 90 % interval of that, in seconds.
    pub duration_range_s: Range,
    /// Mean speed, in kilometres per hour.
    pub speed_kmh: f64,
}

/// `hillwright.gears/1`: what each gear turns on each grade.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GearsDocument {
    /// Always `hillwright.gears/1`.
    pub schema: String,
    /// Name of the rider, where the file has one.
    pub rider: Option<String>,
    /// What cadence is asked for, in turns a minute.
    pub cadence_band_rpm: AimedBand,
    /// What power is asked for, in watts.
    pub power_band_w: AimedBand,
    /// One entry a grade.
    pub grades: Vec<GradeEntry>,
    /// Steepest grade on which some gear suits, in per cent.
    pub steepest_grade_pct: f64,
    /// Gentlest grade on which some gear suits, in per cent.
    pub gentlest_grade_pct: f64,
}

/// A grade and what every gear does there.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GradeEntry {
    /// The grade, in per cent.
    pub grade_pct: f64,
    /// Steady speeds over the power band, in kilometres per hour.
    pub speed_range_kmh: Range,
    /// Every gear, lowest first.
    pub gears: Vec<GearEntry>,
    /// The gear that comes nearest to the aims; null where none suits.
    pub best: Option<GearName>,
}

/// A chainring with a sprocket.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
pub struct GearName {
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
}

/// What a gear does on a grade.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GearEntry {
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
    /// Metres along the road in one turn of the cranks.
    pub development_m: f64,
    /// Cadence over the power band, in turns a minute.
    pub cadence_range_rpm: Range,
    /// Cadence at the power aimed for, in turns a minute.
    pub cadence_rpm: f64,
    /// Mean crank torque over the power band, in newton metres.
    pub torque_range_nm: Range,
    /// Mean tangential pedal force over the power band, both legs together, in newtons.
    pub pedal_force_range_n: Range,
    /// Whether some power in the band gives a cadence in the band.
    pub suits: bool,
    /// Whether the chain runs askew.
    pub crossed: bool,
}

/// `hillwright.plan/1`: which climb suits each rep; with several routes, the best first.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PlanDocument {
    /// Always `hillwright.plan/1`.
    pub schema: String,
    /// The routes, best first.
    pub routes: Vec<PlanEntry>,
    /// Remarks about the set, with their sources.
    pub session_notes: Vec<String>,
    /// What every plan says.
    pub cautions: Vec<String>,
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

/// The JSON Schema of each document, by the document's short name.
pub fn schemas() -> [(&'static str, schemars::Schema); 3] {
    [
        ("climbs", schemars::schema_for!(ClimbsDocument)),
        ("gears", schemars::schema_for!(GearsDocument)),
        ("plan", schemars::schema_for!(PlanDocument)),
    ]
}
