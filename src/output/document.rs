//! The JSON documents. Fields may be added; none may change its meaning without a new number in the schema's name.

use schemars::JsonSchema;
use serde::Serialize;

use crate::gearing::Gear;

pub use super::document_near::*;
pub use super::document_plan::*;
pub use super::document_review::*;

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
    /// Climbs that several of the routes go up, or one of them several times.
    pub shared: Vec<SharedEntry>,
}

/// `hillwright.route/1`: a route and its climbs, one line of NDJSON.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RouteDocument<'a> {
    /// Always `hillwright.route/1`.
    pub schema: &'static str,
    /// The route.
    #[serde(flatten)]
    pub route: &'a RouteEntry,
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
    /// What they look like, in words: `barometer-like, ±0.3 m`.
    pub looks_like: String,
    /// Steps in which they are written, in metres; null where they are finer than 0.1 m, and for tiles.
    pub step_m: Option<f64>,
    /// What nine in ten mean grades of 500 m of steady road are within for this noise alone, in per cent.
    pub grade_error_500m_pct: f64,
    /// Whether the recording's own elevations helped those of tiles.
    pub together: bool,
    /// Why these were taken; null where that was asked for.
    pub why: Option<String>,
    /// How far their level drifts; null where no drift shows.
    pub drift: Option<DriftEntry>,
    /// Where the recording lies farther from the tiles than the errors of both explain; only where tiles were looked at.
    pub disagreements: Vec<DisagreementEntry>,
}

/// The same place comes out at two levels.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DriftEntry {
    /// Where it is passed first, along the route as given, in metres.
    pub first_m: f64,
    /// Where it is passed again, likewise.
    pub again_m: f64,
    /// How much higher it comes out the second time, in metres.
    pub rise_m: f64,
    /// Length of the road that is ridden twice, in metres; 0 where only the ends of a loop meet.
    pub twice_m: f64,
}

/// A stretch where recording and tiles disagree.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct DisagreementEntry {
    /// Where it starts, along the route as given, in metres.
    pub from_m: f64,
    /// Where it ends, likewise.
    pub to_m: f64,
    /// How much the recording lies above the tiles at the worst place, in metres.
    pub above_m: f64,
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
    /// Why it may not be what it seems; null where nothing speaks against it.
    pub unsure: Option<String>,
    /// How long it takes; only with a rider.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ride: Option<RideEntry>,
    /// Whether a rep could be ridden on it; only in plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub suits: Option<bool>,
    /// Which reps use it, or why none does; only in plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub why: Option<String>,
    /// Of a climb that suits and is not needed: what the plan costs more with a rep on it, in seconds; only in plans.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub costs_more_s: Option<f64>,
}

/// A climb ridden.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RideEntry {
    /// Mean power, in watts.
    pub power_w: f64,
    /// What is held: `power`, the cadence following the grade, or `cadence`, the power flexing inside its band.
    pub pacing: String,
    /// The power asked for, in watts.
    pub power_band_w: AimedBand,
    /// The cadence asked for, in turns a minute.
    pub cadence_band_rpm: AimedBand,
    /// Speed on arrival, in kilometres per hour.
    pub entry_speed_kmh: f64,
    /// How long it takes, in seconds.
    pub duration_s: f64,
    /// The 90 % interval of that, in seconds.
    pub duration_range_s: Range,
    /// What makes most of that interval: `wind`, `grade`, `mass`, `drag`, `rolling resistance` or `power meter`.
    pub largest_unknown: String,
    /// Whether the power is too little somewhere, so that the rider comes to walking pace.
    pub stalls: bool,
    /// Mean speed, in kilometres per hour.
    pub speed_kmh: f64,
    /// The gear that holds the cadence longest in its band; of equal ones the nearest to the aim.
    pub gear: Option<GearName>,
    /// Whether the chain runs askew in it.
    pub crossed: Option<bool>,
    /// Mean cadence in that gear, in turns a minute; as the next two, after the first 15 s.
    pub cadence_rpm: Option<f64>,
    /// Cadence in that gear as the grade wanders, nine tenths of the time, in turns a minute.
    pub cadence_range_rpm: Option<Range>,
    /// Share of the time with the cadence in its band, in per cent.
    pub in_band_pct: Option<f64>,
    /// The fewest rear shifts that keep the cadence in its band, each worth at least 6 s; null where one gear does as well.
    pub shifting: Option<ShiftingEntry>,
}

/// A climb ridden with rear shifts.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ShiftingEntry {
    /// The gear at the foot.
    pub gear: GearName,
    /// The shifts, in order.
    pub shifts: Vec<ShiftEntry>,
    /// Mean cadence, in turns a minute; as the next two, after the first 15 s.
    pub cadence_rpm: f64,
    /// Cadence nine tenths of the time, in turns a minute.
    pub cadence_range_rpm: Range,
    /// Share of the time with the cadence in its band, in per cent.
    pub in_band_pct: f64,
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
    /// The grades on which each gear suits, lowest gear first.
    pub windows: Vec<WindowEntry>,
    /// The power aimed for at the cadence aimed for, and at 90 turns a minute.
    pub push: Vec<PushEntry>,
}

/// The grades on which a gear suits.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct WindowEntry {
    /// The gear.
    pub gear: GearName,
    /// Here the least power turns the highest cadence, in per cent.
    pub gentlest_grade_pct: f64,
    /// Here the most power turns the lowest cadence, in per cent.
    pub steepest_grade_pct: f64,
}

/// How hard a power is on the pedals at a cadence.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct PushEntry {
    /// The cadence, in turns a minute.
    pub cadence_rpm: f64,
    /// Mean torque at the cranks, in newton metres.
    pub torque_nm: f64,
    /// That torque per kilogram of rider, in newton metres.
    pub torque_nm_per_kg: f64,
    /// Mean tangential pedal force, both legs together, in newtons.
    pub pedal_force_n: f64,
    /// That force as a share of the rider's weight, in per cent.
    pub pedal_force_body_weight_pct: f64,
    /// Speed of the pedals on their circle, in metres per second.
    pub pedal_speed_ms: f64,
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
    /// Where none suits: gears that would, with one other sprocket or one other chainring.
    pub changes: Vec<ChangeEntry>,
}

/// A gear that the bike does not have.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct ChangeEntry {
    /// `sprocket` or `chainring`: which of the two is new.
    pub new_part: String,
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
}

/// A chainring with a sprocket, and the ratio of the hub where it has gears.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, JsonSchema)]
pub struct GearName {
    /// Teeth of the chainring.
    pub chainring: u32,
    /// Teeth of the sprocket.
    pub sprocket: u32,
    /// Wheel turns per sprocket turn, only with a gear hub.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hub_ratio: Option<f64>,
}

impl From<&Gear> for GearName {
    fn from(gear: &Gear) -> Self {
        GearName {
            chainring: gear.chainring,
            sprocket: gear.sprocket,
            hub_ratio: gear.hub_ratio,
        }
    }
}

impl RepEntry {
    /// The gear after a shift.
    pub fn shifted(&self, shift: &ShiftEntry) -> GearName {
        GearName {
            chainring: self.gear.chainring,
            sprocket: shift.sprocket,
            hub_ratio: shift.hub_ratio,
        }
    }
}

impl std::fmt::Display for GearName {
    /// As riders write it: `34×17`, with a gear hub `42×18 · 1.36`.
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&crate::gearing::gear_name(
            self.chainring,
            self.sprocket,
            self.hub_ratio,
        ))
    }
}

/// What a gear does on a grade.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GearEntry {
    /// The gear.
    #[serde(flatten)]
    pub gear: GearName,
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

/// `hillwright.tiles/1`: which elevation tiles routes need, and which are here.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct TilesDocument {
    /// Always `hillwright.tiles/1`.
    pub schema: String,
    /// The folder that tiles are looked for in.
    pub folder: String,
    /// The routes, in the order given.
    pub routes: Vec<RouteTilesEntry>,
    /// Every tile that any of them needs, from south to north and west to east.
    pub tiles: Vec<TileEntry>,
    /// How many of the tiles are missing or damaged.
    pub missing: usize,
}

/// The tiles that a route needs.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct RouteTilesEntry {
    /// The file it came from.
    pub source: String,
    /// The name the file gives it.
    pub name: Option<String>,
    /// Names of its tiles.
    pub tiles: Vec<String>,
}

/// An elevation tile.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct TileEntry {
    /// Its name: the degrees of its south-west corner, as N44W072.
    pub name: String,
    /// `here`, `missing`, or `damaged` where no file of it can be used.
    pub state: String,
    /// Its first file; null where it is missing.
    pub file: Option<String>,
    /// Whether it was fetched just now.
    pub fetched: bool,
    /// Distance between its samples, in arc seconds; null where it is not here.
    pub spacing_arcsec: Option<usize>,
    /// How many of its samples have no elevation; null where it is not here.
    pub voids: Option<usize>,
    /// What is wrong with it, or why it could not be fetched; null where it is here.
    pub why: Option<String>,
}

/// The JSON Schema of each document, by the document's short name.
pub fn schemas() -> [(&'static str, schemars::Schema); 7] {
    [
        ("climbs", schemars::schema_for!(ClimbsDocument)),
        ("gears", schemars::schema_for!(GearsDocument)),
        ("near", schemars::schema_for!(NearDocument)),
        ("plan", schemars::schema_for!(PlanDocument)),
        ("review", schemars::schema_for!(ReviewDocument)),
        ("route", schemars::schema_for!(RouteDocument)),
        ("tiles", schemars::schema_for!(TilesDocument)),
    ]
}
