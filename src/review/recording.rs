//! A file becomes recordings: the cleaned line, and beside it what the sensors wrote, point by point as recorded.
//!
//! Cleaning a line takes out the points of a halt; what sensors wrote there still tells when a rider pushed off. So the
//! sensor values are kept with their own times.

use crate::route::{self, Bounds, Recording, Route, RouteError, Sensors};

/// A ride as a device recorded it.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// The cleaned line, with times.
    pub route: Route,
    /// What the sensors wrote.
    pub samples: Samples,
}

/// Sensor values with their times, in the order recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Samples {
    /// When the route's time 0 was, in seconds since 1970-01-01T00:00:00Z.
    pub start_unix_s: f64,
    /// Time of each value since then, in seconds, strictly increasing.
    pub time_s: Vec<f64>,
    /// The values: each column as long as the times, or empty.
    pub sensors: Sensors,
}

/// Why a file holds no ride that can be reviewed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RecordingError {
    /// The file holds no line.
    #[error("{0}")]
    Route(#[from] RouteError),
    /// A line without times is a road, not a ride.
    #[error(
        "no times: this is a line, not the recording of a ride; give the file that the device wrote while riding"
    )]
    NoTimes,
    /// All times are the same, or go backwards.
    #[error(
        "its {times} times do not increase, so that when a place was passed can't be told; give the file that the device wrote while riding"
    )]
    StandingTimes {
        /// How many there are.
        times: usize,
    },
    /// Memory is bounded by the time.
    #[error(
        "the recording spans {days:.0} days; at most {most_days:.0} can be reviewed: cut it into rides"
    )]
    TooLong {
        /// From the first to the last time, in days.
        days: f64,
        /// The most, in days.
        most_days: f64,
    },
}

/// Longest recording, in days: an event of a week.
const LONGEST_DAYS: f64 = 8.0;

/// The rides in a file, in file order.
///
/// # Errors
/// [`RecordingError`] where the file can't be read, or no line in it has times.
pub fn read(bytes: &[u8], source: &str) -> Result<Vec<Recorded>, RecordingError> {
    read_within(bytes, source, &Bounds::default())
}

/// The same, of a file that may hold so much.
///
/// # Errors
/// As [`read`].
pub fn read_within(
    bytes: &[u8],
    source: &str,
    bounds: &Bounds,
) -> Result<Vec<Recorded>, RecordingError> {
    let mut rides: Vec<Recorded> = Vec::new();
    let mut refused = Vec::new();
    let mut road_m = 0.0;
    for recording in route::parse_within(bytes, bounds)? {
        let name = recording.name.clone();
        match ride(recording, source) {
            Ok(ride) => {
                road_m += ride.route.length_m;
                bounds.hold_road(road_m)?;
                rides.push(ride);
            }
            Err(why) => refused.push((name, why)),
        }
    }
    match (rides.first_mut(), refused.first()) {
        (None, Some((_, why))) => return Err(why.clone()),
        (Some(first), _) => {
            for (name, why) in refused {
                let name = name.map_or("a line without a name".to_owned(), |n| format!("\"{n}\""));
                let told = format!("{name} in this file left out: {why}");
                first.route.warnings.push(told);
            }
        }
        (None, None) => {}
    }
    Ok(rides)
}

fn ride(recording: Recording, source: &str) -> Result<Recorded, RecordingError> {
    let raw = recording.clone();
    let route = route::clean(recording, source)?;
    let start_unix_s = start_unix_s(&raw, &route).ok_or_else(|| no_times(&raw))?;
    let samples = samples(&raw, start_unix_s);
    let span_s = route.points.last().and_then(|p| p.time_s).unwrap_or(0.0);
    let days = span_s / 86_400.0;
    if days > LONGEST_DAYS {
        return Err(RecordingError::TooLong {
            days,
            most_days: LONGEST_DAYS,
        });
    }
    Ok(Recorded { route, samples })
}

fn no_times(raw: &Recording) -> RecordingError {
    match raw.points.iter().filter(|p| p.time_s.is_some()).count() {
        0 => RecordingError::NoTimes,
        times => RecordingError::StandingTimes { times },
    }
}

/// The time of the route's first timed point, which is one of the recording's.
fn start_unix_s(raw: &Recording, route: &Route) -> Option<f64> {
    let timed = route.points.iter().filter(|p| p.time_s.is_some());
    let mut timed = timed.take(2);
    let (first, _second) = (timed.next()?, timed.next()?);
    let same = raw
        .points
        .iter()
        .find(|p| p.time_s.is_some() && p.lat_deg == first.lat_deg && p.lon_deg == first.lon_deg)?;
    Some(same.time_s? - first.time_s?)
}

/// The values whose times increase.
fn samples(raw: &Recording, start_unix_s: f64) -> Samples {
    let mut kept = Vec::with_capacity(raw.points.len());
    let mut time_s = Vec::with_capacity(raw.points.len());
    let mut last_s = f64::NEG_INFINITY;
    for (i, point) in raw.points.iter().enumerate() {
        if let Some(at_s) = point.time_s.map(|t| t - start_unix_s)
            && at_s > last_s
        {
            kept.push(i);
            time_s.push(at_s);
            last_s = at_s;
        }
    }
    let cut = |column: &Vec<Option<f32>>| -> Vec<Option<f32>> {
        if column.is_empty() {
            return Vec::new();
        }
        kept.iter()
            .map(|i| column.get(*i).copied().flatten())
            .collect()
    };
    Samples {
        start_unix_s,
        sensors: Sensors {
            cadence_rpm: cut(&raw.sensors.cadence_rpm),
            power_w: cut(&raw.sensors.power_w),
            heart_rate_bpm: cut(&raw.sensors.heart_rate_bpm),
            temperature_c: cut(&raw.sensors.temperature_c),
        },
        time_s,
    }
}
