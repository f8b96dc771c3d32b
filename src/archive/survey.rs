//! What is kept of a route once it has been looked through.

use serde::{Deserialize, Serialize};

use super::Trace;
use super::halts::{self, Halt};
use crate::climbs::{Ascent, Climb, Climbs};
use crate::profile::Profile;
use crate::profile::sources::{self, Origin};
use crate::route::Route;

/// A route, its climbs, and nothing else of its line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Survey {
    /// The name the file gives it.
    pub name: Option<String>,
    /// How many points were used.
    pub points: usize,
    /// Length along the ellipsoid as given, in metres.
    pub length_m: f64,
    /// Metres climbed.
    pub ascent_m: f64,
    /// Metres descended.
    pub descent_m: f64,
    /// Whether it ends where it starts.
    pub is_loop: bool,
    /// Whether it has times, so that halts would show: a ride, not a drawn line.
    pub is_timed: bool,
    /// Where its elevations are from, and how good they are.
    pub elevations: Elevations,
    /// Everything that was dropped, filled or guessed, in sentences.
    pub warnings: Vec<String>,
    /// The ways up.
    pub ascents: Vec<AscentSeen>,
    /// The steady climbs, in route order.
    pub climbs: Vec<ClimbSeen>,
    /// Where the rider halted.
    pub halts: Vec<Halt>,
}

/// Where a route's elevations are from, and how good they are; distances are along the route as given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Elevations {
    /// `recorded` or `tiles`.
    pub source: String,
    /// Whether the recording's own helped those of tiles.
    pub together: bool,
    /// Why these were taken.
    pub why: Option<String>,
    /// How many were missing and filled.
    pub voids: usize,
    /// What they look like, in words.
    pub looks_like: String,
    /// Steps in which they are written, in metres.
    pub step_m: Option<f64>,
    /// What nine in ten mean grades of 500 m of steady road are within, in per cent.
    pub grade_error_500m_pct: f64,
    /// Standard deviation of a single one, in metres.
    pub noise_sd_m: f64,
    /// Distance along the road over which that error is correlated, in metres.
    pub correlation_m: f64,
    /// Where the same place comes out at two levels: first and again (metres), how much higher (metres), length ridden twice (metres).
    pub drift: Option<[f64; 4]>,
    /// Where recording and tiles disagree: from, to, and how much the recording lies above (metres).
    pub disagreements: Vec<[f64; 3]>,
}

impl Elevations {
    /// What is known of a profile's elevations.
    pub fn of(profile: &Profile, origin: &Origin) -> Elevations {
        let given_m = |along_m: f64| profile.given_at_m(along_m);
        let disagreements = origin.disagreements.iter();
        Elevations {
            source: origin.source.word().to_owned(),
            together: origin.together,
            why: origin.why.clone(),
            voids: origin.voids,
            looks_like: profile.looks.in_words(&profile.noise),
            step_m: profile.looks.step_m,
            grade_error_500m_pct: profile.noise.nine_in_ten_pct(),
            noise_sd_m: profile.noise.total_sd_m(),
            correlation_m: profile.noise.correlation_m,
            drift: profile
                .drift
                .map(|d| [given_m(d.first_m), given_m(d.again_m), d.rise_m, d.twice_m]),
            disagreements: disagreements
                .map(|d| [given_m(d.from_m), given_m(d.to_m), d.above_m])
                .collect(),
        }
    }

    /// Whether no model of the ground went into them.
    pub fn are_only_recorded(&self) -> bool {
        self.source == sources::ElevationSource::Recorded.word() && !self.together
    }
}

/// A place along a route.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Spot {
    /// Distance along the route as given, in metres.
    pub distance_m: f64,
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: f64,
    /// Smoothed elevation, in metres.
    pub elevation_m: f64,
}

/// An ascent and where it lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AscentSeen {
    /// The ascent.
    pub ascent: Ascent,
    /// Its foot.
    pub start: Spot,
    /// Its top.
    pub end: Spot,
}

/// A climb and where it lies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClimbSeen {
    /// The climb.
    pub climb: Climb,
    /// Its foot.
    pub start: Spot,
    /// Its top.
    pub end: Spot,
    /// Its line and elevations.
    pub trace: Trace,
    /// Why it may not be what it seems.
    pub unsure: Option<String>,
}

impl Spot {
    /// The place at a distance along a profile's road, in metres.
    pub fn at(profile: &Profile, distance_m: f64) -> Spot {
        let (lat_deg, lon_deg) = profile.position_at(distance_m);
        Spot {
            distance_m: profile.given_at_m(distance_m),
            lat_deg,
            lon_deg,
            elevation_m: profile.elevation_at_m(distance_m),
        }
    }
}

impl Survey {
    /// What is kept of a route.
    pub fn of(route: &Route, profile: &Profile, origin: &Origin, found: &Climbs) -> Survey {
        let (ascent_m, descent_m) = profile.ascent_descent_m();
        let spot = |distance_m| Spot::at(profile, distance_m);
        let ascents = found.ascents.iter().map(|ascent| AscentSeen {
            start: spot(ascent.from_m),
            end: spot(ascent.to_m),
            ascent: ascent.clone(),
        });
        let climbs = found.climbs.iter().map(|climb| ClimbSeen {
            start: spot(climb.from_m),
            end: spot(climb.to_m),
            trace: Trace::of(profile, climb.from_m, climb.to_m),
            unsure: climb.unsure.clone(),
            climb: climb.clone(),
        });
        Survey {
            name: route.name.clone(),
            points: route.points.len(),
            length_m: route.length_m,
            ascent_m,
            descent_m,
            is_loop: route.is_loop,
            is_timed: route.points.iter().any(|point| point.time_s.is_some()),
            elevations: Elevations::of(profile, origin),
            warnings: route
                .warnings
                .iter()
                .chain(&profile.warnings)
                .cloned()
                .collect(),
            ascents: ascents.collect(),
            climbs: climbs.collect(),
            halts: halts::of(route),
        }
    }
}
