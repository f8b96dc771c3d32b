//! The JSON of climbs that several routes go up, and of those around a place.

use schemars::JsonSchema;
use serde::Serialize;

use super::document::{Place, RideEntry};

/// A climb, everywhere it was seen.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SharedEntry {
    /// Its foot; the distance is along the first route of `seen` whose `is_reference` is true.
    pub start: Place,
    /// Its top, likewise.
    pub end: Place,
    /// Length along the road, in metres.
    pub length_m: f64,
    /// Metres climbed, all recordings taken together.
    pub gain_m: f64,
    /// Mean grade, in per cent, all recordings taken together.
    pub grade_pct: f64,
    /// Standard error of the mean grade, in per cent.
    pub grade_se_pct: f64,
    /// Standard deviation of the grade over 100 m about the mean, in per cent.
    pub grade_sd_pct: f64,
    /// How many different routes go up it; a copy of a file is none.
    pub routes: usize,
    /// How many of those are rides, with times.
    pub rides: usize,
    /// Where it was seen.
    pub seen: Vec<SeenEntry>,
    /// Where at least two rides halted, from foot to top.
    pub halts: Vec<HaltEntry>,
    /// How long it takes; only with a rider.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub ride: Option<RideEntry>,
}

/// A climb on one route.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct SeenEntry {
    /// The file.
    pub source: String,
    /// The name the file gives the route.
    pub name: Option<String>,
    /// Number of the climb on it.
    pub climb: usize,
    /// Where its foot is along the route as given, in metres.
    pub start_m: f64,
    /// Whether ends and line are this one's.
    pub is_reference: bool,
}

/// A place where rides halted.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct HaltEntry {
    /// Distance from the foot along the road, in metres.
    pub from_foot_m: f64,
    /// How many rides halted there.
    pub rides: usize,
    /// Of how many that came by.
    pub of: usize,
}

/// `hillwright.near/1`: the climbs around a place.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NearDocument {
    /// Always `hillwright.near/1`.
    pub schema: String,
    /// Latitude of the place, WGS 84, in degrees.
    pub lat: f64,
    /// Longitude of the place, WGS 84, in degrees.
    pub lon: f64,
    /// How far from it climbs may start, in metres.
    pub within_m: f64,
    /// How long they must take at least, in seconds; null where that was not asked.
    pub longer_than_s: Option<f64>,
    /// How many routes were looked through.
    pub routes: usize,
    /// The climbs, the nearest first.
    pub climbs: Vec<NearEntry>,
}

/// A climb near a place.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct NearEntry {
    /// Number in this answer, from 1.
    pub id: usize,
    /// How far its foot is from the place, as the crow flies, in metres.
    pub away_m: f64,
    /// In which direction from the place, in degrees clockwise from north.
    pub direction_deg: f64,
    /// In which direction it goes, from foot to top, in degrees clockwise from north.
    pub goes_deg: f64,
    /// The climb.
    #[serde(flatten)]
    pub climb: SharedEntry,
}
