//! What a device or a planner makes of a true road.

use std::f64::consts::TAU;

use hillwright::route::{RawPoint, Recording, Sensors};

use super::plan::shifted;
use super::rider::ride_m;
use super::rng::{GaussMarkov, Rng};
use super::road::Road;

/// The five ways in which a road gets into a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Drawn on a map: a vertex each 8 to 90 m, closer in bends; terrain error of 1 to 2 m correlated over 100 m; 0.1 m steps.
    Planner,
    /// One point a second; 0.35 m correlated over 12 s; 0.2 m steps; a drift of a few metres over an hour.
    Barometer,
    /// As the barometer, in steps of 1 m, a point each 1 to 8 s.
    WholeMetre,
    /// One point a second; 4 m correlated over a minute; 0.1 m steps.
    SatelliteOnly,
    /// A vertex each 8 to 40 m; 2 m correlated over 60 m, more where the ground is steep across the road; 0.1 m steps.
    TerrainModel,
}

impl Kind {
    /// All of them, in the order of the table.
    pub const ALL: [Self; 5] = [
        Self::Planner,
        Self::Barometer,
        Self::WholeMetre,
        Self::SatelliteOnly,
        Self::TerrainModel,
    ];

    /// As the table and the file names have it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Planner => "planner",
            Self::Barometer => "barometer",
            Self::WholeMetre => "whole-metre",
            Self::SatelliteOnly => "satellite-only",
            Self::TerrainModel => "terrain-model",
        }
    }

    /// The kind of this name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|kind| kind.name() == name)
    }

    /// Whether a rider recorded it, rather than somebody drawing it.
    pub fn is_ridden(self) -> bool {
        matches!(
            self,
            Self::Barometer | Self::WholeMetre | Self::SatelliteOnly
        )
    }

    /// Steps in which the elevation is written, in metres.
    pub fn step_m(self) -> f64 {
        match self {
            Self::Barometer => 0.2,
            Self::WholeMetre => 1.0,
            Self::Planner | Self::SatelliteOnly | Self::TerrainModel => 0.1,
        }
    }
}

/// Size and reach of the elevation noise of a ridden kind: metres and seconds.
pub fn clock_noise(kind: Kind) -> (f64, f64) {
    match kind {
        Kind::SatelliteOnly => (4.0, 60.0),
        _ => (0.35, 12.0),
    }
}

/// Reach of the terrain error of a drawn kind, in metres along the road.
pub fn terrain_reach_m(kind: Kind) -> f64 {
    match kind {
        Kind::TerrainModel => 60.0,
        _ => 100.0,
    }
}

/// Sizes of a planner's terrain error and of a terrain model's, in metres; a planner's is drawn once a recording.
pub const PLANNER_ERROR_M: (f64, f64) = (1.0, 2.0);
/// See [`PLANNER_ERROR_M`].
pub const TERRAIN_MODEL_ERROR_M: f64 = 2.0;
/// The slope across the road changes over this length.
const SIDE_SLOPE_REACH_M: f64 = 400.0;
/// Horizontal error along each axis, drawn once a recording, and its reach.
const HORIZONTAL_ERROR_M: (f64, f64) = (2.0, 3.0);
const HORIZONTAL_REACH_S: f64 = 40.0;
/// Standard deviation of the drift's change over an hour, and its two periods in seconds.
const DRIFT_M_AN_HOUR: f64 = 3.0;
const DRIFT_PERIODS_S: [f64; 2] = [7_200.0, 12_600.0];
const HOLE_POINTS: usize = 15;
const SPIKE_M: (f64, f64) = (30.0, 120.0);
const STOP_S: (f64, f64) = (120.0, 300.0);
/// A hole keeps this far from every climb's end: an end that was not recorded has no right answer.
const HOLE_MARGIN_M: f64 = 60.0;
/// Recordings start at 2024-06-01T06:00:00Z.
const START_TIME_S: f64 = 1_717_221_600.0;

/// A recording of a road, with the truth about each of its points.
#[derive(Debug, Clone, PartialEq)]
pub struct TruthRecording {
    /// How it was made.
    pub kind: Kind,
    /// What the file holds.
    pub recording: Recording,
    /// Where on the road each of its points was, in metres from the road's start.
    pub true_distance_m: Vec<f64>,
    /// The error of each point's elevation before rounding and before spikes and holes, in metres.
    pub elevation_error_m: Vec<f64>,
    /// By how much the ground beside the road made each point's error larger or smaller than the kind's own.
    pub steepness: Vec<f64>,
    /// Error of each point's position, north and east in metres, before spikes.
    pub horizontal_error_m: Vec<(f64, f64)>,
    /// Indices of the points that were made spikes.
    pub spikes: Vec<usize>,
}

/// Records a road in one of the five ways; the same seed gives the same recording.
pub fn record(road: &Road, kind: Kind) -> TruthRecording {
    let mut rng = Rng::for_purpose(road.seed, 1 + kind as u64);
    let mut made = if kind.is_ridden() {
        ridden(road, kind, &mut rng)
    } else {
        drawn(road, kind, &mut rng)
    };
    write_points(road, &mut made);
    if kind.is_ridden() {
        cut_hole(road, &mut made, &mut rng);
    } else {
        void_hole(road, &mut made, &mut rng);
    }
    add_spikes(&mut made, &mut rng);
    made
}

fn empty(road: &Road, kind: Kind) -> TruthRecording {
    TruthRecording {
        kind,
        recording: Recording {
            name: Some(format!("Road {} {}", road.seed, kind.name())),
            points: Vec::new(),
            segment_starts: vec![0],
            sensors: Sensors::default(),
            warnings: Vec::new(),
        },
        true_distance_m: Vec::new(),
        elevation_error_m: Vec::new(),
        steepness: Vec::new(),
        horizontal_error_m: Vec::new(),
        spikes: Vec::new(),
    }
}

/// Vertices as far apart as the kind and the bends allow, with an error that follows the road.
fn drawn(road: &Road, kind: Kind, rng: &mut Rng) -> TruthRecording {
    let mut made = empty(road, kind);
    let (longest_m, error_m) = match kind {
        Kind::TerrainModel => (40.0, TERRAIN_MODEL_ERROR_M),
        _ => (90.0, rng.between(PLANNER_ERROR_M.0, PLANNER_ERROR_M.1)),
    };
    let mut noise = GaussMarkov::new(error_m, terrain_reach_m(kind), rng);
    let mut side_slope = GaussMarkov::new(1.0, SIDE_SLOPE_REACH_M, rng);
    let mut at_m = 0.0;
    loop {
        made.true_distance_m.push(at_m);
        made.horizontal_error_m.push((0.0, 0.0));
        let steepness = match kind {
            Kind::TerrainModel => (0.5 + 0.5 * side_slope.value().powi(2)).sqrt(),
            _ => 1.0,
        };
        made.elevation_error_m.push(steepness * noise.value());
        made.steepness.push(steepness);
        if at_m >= road.length_m() {
            return made;
        }
        let step_m = vertex_step_m(road, at_m, longest_m, rng).min(road.length_m() - at_m);
        noise.advance(step_m, rng);
        side_slope.advance(step_m, rng);
        at_m += step_m;
    }
}

/// From 8 m to the longest, and so short in a bend that the chord leaves the road by at most about a metre.
fn vertex_step_m(road: &Road, at_m: f64, longest_m: f64, rng: &mut Rng) -> f64 {
    let wished_m = rng.between(8.0, longest_m);
    let mut step_m = 8.0;
    while step_m < wished_m {
        let radius_m = road.bend_radius_m(at_m + step_m - 8.0);
        if step_m > (8.0 * radius_m).sqrt() {
            break;
        }
        step_m += 1.0;
    }
    step_m.min(wished_m)
}

/// A point each second or so, with a stop, errors of elevation and position that follow the clock.
fn ridden(road: &Road, kind: Kind, rng: &mut Rng) -> TruthRecording {
    let mut made = empty(road, kind);
    let seconds_m = with_stop(ride_m(road, rng), rng);
    let (sd_m, reach_s) = clock_noise(kind);
    let mut noise = GaussMarkov::new(sd_m, reach_s, rng);
    let drift = match kind {
        Kind::SatelliteOnly => [(0.0, 0.0); 2],
        _ => draw_drift(rng),
    };
    let horizontal_sd_m = rng.between(HORIZONTAL_ERROR_M.0, HORIZONTAL_ERROR_M.1);
    let mut north = GaussMarkov::new(horizontal_sd_m, HORIZONTAL_REACH_S, rng);
    let mut east = GaussMarkov::new(horizontal_sd_m, HORIZONTAL_REACH_S, rng);
    let mut second = 0;
    while second < seconds_m.len() {
        made.true_distance_m.push(seconds_m[second]);
        made.elevation_error_m
            .push(noise.value() + drift_m(&drift, second as f64));
        made.steepness.push(1.0);
        made.horizontal_error_m.push((north.value(), east.value()));
        made.recording.points.push(RawPoint {
            lat_deg: 0.0,
            lon_deg: 0.0,
            elevation_m: None,
            time_s: Some(START_TIME_S + second as f64),
        });
        let gap = match kind {
            Kind::WholeMetre => rng.whole(1, 8),
            _ => 1,
        };
        noise.advance(gap as f64, rng);
        north.advance(gap as f64, rng);
        east.advance(gap as f64, rng);
        second += gap;
    }
    made
}

fn with_stop(mut seconds_m: Vec<f64>, rng: &mut Rng) -> Vec<f64> {
    let at = rng.whole(seconds_m.len() / 10, seconds_m.len() * 9 / 10);
    let length = rng.between(STOP_S.0, STOP_S.1) as usize;
    let here_m = seconds_m[at];
    seconds_m.splice(at..at, std::iter::repeat_n(here_m, length));
    seconds_m
}

/// Amplitude and phase for each of the periods.
fn draw_drift(rng: &mut Rng) -> [(f64, f64); 2] {
    DRIFT_PERIODS_S.map(|period_s| {
        // A sine of amplitude A changes over an hour by A sqrt(2) |sin(pi hour / period)| in the mean square.
        let change = 2.0_f64.sqrt() * (0.5 * TAU * 3600.0 / period_s).sin();
        let amplitude_m = DRIFT_M_AN_HOUR / 2.0_f64.sqrt() / change;
        (amplitude_m, rng.between(0.0, TAU))
    })
}

fn drift_m(drift: &[(f64, f64); 2], time_s: f64) -> f64 {
    let waves = drift.iter().zip(DRIFT_PERIODS_S);
    waves
        .map(|(&(amplitude_m, phase_rad), period_s)| {
            amplitude_m * ((TAU * time_s / period_s + phase_rad).sin() - phase_rad.sin())
        })
        .sum()
}

/// Fills in position and elevation of each point as the file would have them.
fn write_points(road: &Road, made: &mut TruthRecording) {
    let step_m = made.kind.step_m();
    let places_per_degree = if made.kind.is_ridden() { 1e7 } else { 1e6 };
    let rounded = |degrees: f64| (degrees * places_per_degree).round() / places_per_degree;
    let count = made.true_distance_m.len();
    made.recording.points.resize(
        count,
        RawPoint {
            lat_deg: 0.0,
            lon_deg: 0.0,
            elevation_m: None,
            time_s: None,
        },
    );
    for (index, point) in made.recording.points.iter_mut().enumerate() {
        let distance_m = made.true_distance_m[index];
        let (lat_deg, lon_deg) = road.position_deg(distance_m);
        let (north_m, east_m) = made.horizontal_error_m[index];
        let (lat_deg, lon_deg) = shifted(lat_deg, lon_deg, north_m, east_m);
        point.lat_deg = rounded(lat_deg);
        point.lon_deg = rounded(lon_deg);
        let elevation_m = road.profile.elevation_at_m(distance_m) + made.elevation_error_m[index];
        // Written as the quotient of whole numbers, so that a file shows 12.3 and not 12.299999.
        let steps_a_metre = (1.0 / step_m).round();
        point.elevation_m = Some((elevation_m * steps_a_metre).round() / steps_a_metre);
    }
}

/// First index of 15 points that lie clear of every climb's ends.
fn hole_place(road: &Road, made: &TruthRecording, rng: &mut Rng) -> usize {
    let last = made.true_distance_m.len() - HOLE_POINTS - 10;
    loop {
        let first = rng.whole(10, last);
        let from_m = made.true_distance_m[first] - HOLE_MARGIN_M;
        let to_m = made.true_distance_m[first + HOLE_POINTS - 1] + HOLE_MARGIN_M;
        let hides_an_end = road.true_climbs.iter().any(|climb| {
            (from_m..to_m).contains(&climb.start_m) || (from_m..to_m).contains(&climb.end_m)
        });
        if !hides_an_end {
            return first;
        }
    }
}

/// A device that lost 15 points.
fn cut_hole(road: &Road, made: &mut TruthRecording, rng: &mut Rng) {
    let first = hole_place(road, made, rng);
    let hole = first..first + HOLE_POINTS;
    made.recording.points.drain(hole.clone());
    made.true_distance_m.drain(hole.clone());
    made.elevation_error_m.drain(hole.clone());
    made.steepness.drain(hole.clone());
    made.horizontal_error_m.drain(hole);
}

/// A planner whose terrain had a void under 15 vertices: the line is there, its elevation is not.
fn void_hole(road: &Road, made: &mut TruthRecording, rng: &mut Rng) {
    let first = hole_place(road, made, rng);
    for point in &mut made.recording.points[first..first + HOLE_POINTS] {
        point.elevation_m = None;
    }
}

/// Two spikes: one of elevation, and on a ridden kind one of position, otherwise a second one of elevation.
fn add_spikes(made: &mut TruthRecording, rng: &mut Rng) {
    for number in 0..2 {
        let index = loop {
            let index = rng.whole(5, made.recording.points.len() - 6);
            let point = &made.recording.points[index];
            if point.elevation_m.is_some() && !made.spikes.contains(&index) {
                break index;
            }
        };
        let size_m = rng.between(SPIKE_M.0, SPIKE_M.1) * if rng.chance(0.5) { -1.0 } else { 1.0 };
        let point = &mut made.recording.points[index];
        if number == 1 && made.kind.is_ridden() {
            let (sine, cosine) = rng.between(0.0, TAU).sin_cos();
            let (lat_deg, lon_deg) =
                shifted(point.lat_deg, point.lon_deg, size_m * cosine, size_m * sine);
            point.lat_deg = (lat_deg * 1e7).round() / 1e7;
            point.lon_deg = (lon_deg * 1e7).round() / 1e7;
        } else if let Some(elevation_m) = &mut point.elevation_m {
            *elevation_m += size_m.round();
        }
        made.spikes.push(index);
    }
}
