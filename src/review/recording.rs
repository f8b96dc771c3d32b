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
    let (mut route, times_s) = route::clean_with_times(recording, source)?;
    let mut timed = route.points.iter().filter_map(|p| p.time_s);
    let (first_s, last_s) = (timed.clone().next(), timed.next_back());
    let (Some(start_unix_s), Some(span_s), true) = (route.started_s, last_s, first_s != last_s)
    else {
        return Err(no_times(&raw));
    };
    let days = span_s / 86_400.0;
    if days > LONGEST_DAYS {
        return Err(RecordingError::TooLong {
            days,
            most_days: LONGEST_DAYS,
        });
    }
    let samples = samples(&raw, &times_s, start_unix_s);
    route.warnings.extend(left_out(&raw, &times_s));
    Ok(Recorded { route, samples })
}

fn no_times(raw: &Recording) -> RecordingError {
    match raw.points.iter().filter(|p| p.time_s.is_some()).count() {
        0 => RecordingError::NoTimes,
        times => RecordingError::StandingTimes { times },
    }
}

/// The values of the points whose times were kept.
fn samples(raw: &Recording, times_s: &[Option<f64>], start_unix_s: f64) -> Samples {
    let (kept, time_s): (Vec<usize>, Vec<f64>) = times_s
        .iter()
        .enumerate()
        .filter_map(|(i, time_s)| Some((i, (*time_s)? - start_unix_s)))
        .unzip();
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

/// Tells how many points had sensor values that are lost with their times.
fn left_out(raw: &Recording, times_s: &[Option<f64>]) -> Option<String> {
    let sensors = &raw.sensors;
    let columns = [
        &sensors.cadence_rpm,
        &sensors.power_w,
        &sensors.heart_rate_bpm,
    ];
    let valued = |i: usize| {
        columns
            .iter()
            .any(|c| c.get(i).copied().flatten().is_some())
    };
    let lost = (0..times_s.len())
        .filter(|i| raw.points[*i].time_s.is_some() && times_s[*i].is_none() && valued(*i))
        .count();
    let points = if lost == 1 { "point" } else { "points" };
    (lost > 0).then(|| {
        format!(
            "sensor values of {lost} {points} left out: their times do not fit those around them"
        )
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test that panics has failed")]
mod tests {
    use super::*;

    /// A ride of a point a second, three metres apart, whose power is its second; some times are stamped otherwise.
    fn gpx(stamps: &[(usize, i64)], repeated: bool) -> String {
        let mut text = String::from("<gpx version=\"1.1\"><trk><trkseg>");
        for i in 0..200_usize {
            let stamp = stamps.iter().find(|(at, _)| *at == i);
            let unix_s = 1_700_000_000 + stamp.map_or(i as i64, |(_, s)| *s);
            let time = jiff::Timestamp::from_second(unix_s).unwrap();
            let lat = 45.0 + 3e-5 * if repeated { i.max(1) } else { i } as f64;
            text += &format!(
                "<trkpt lat=\"{lat:.6}\" lon=\"7\"><time>{time}</time><extensions><power>{i}</power></extensions></trkpt>"
            );
        }
        text + "</trkseg></trk></gpx>"
    }

    fn powers_of(recorded: &Recorded) -> Vec<(f64, f32)> {
        let samples = &recorded.samples;
        let powers = samples.sensors.power_w.iter().map(|p| p.unwrap());
        samples.time_s.iter().copied().zip(powers).collect()
    }

    #[test]
    fn one_late_time_takes_one_value_and_is_told() {
        let recorded = read(gpx(&[(100, 9_000)], false).as_bytes(), "a")
            .unwrap()
            .remove(0);
        let expected: Vec<(f64, f32)> = (0..200)
            .filter(|i| *i != 100)
            .map(|i| (f64::from(i), i as f32))
            .collect();
        assert_eq!(powers_of(&recorded), expected);
        let told = recorded.route.warnings.join("; ");
        assert!(told.contains("sensor values of 1 point left out"), "{told}");
    }

    #[test]
    fn a_late_time_at_a_first_point_told_twice_moves_no_value() {
        let text = gpx(&[(0, 9_000)], true);
        let recorded = read(text.as_bytes(), "a").unwrap().remove(0);
        let start_s = recorded.samples.start_unix_s - 1_700_000_000.0;
        let expected: Vec<(f64, f32)> = (1..200)
            .map(|i| (f64::from(i) - start_s, i as f32))
            .collect();
        assert_eq!(powers_of(&recorded), expected);
        let first = recorded
            .route
            .points
            .iter()
            .find(|p| p.time_s.is_some())
            .unwrap();
        assert_eq!(first.time_s, Some(0.0));
        assert!((first.lat_deg - (45.0 + 3e-5 * start_s)).abs() < 1e-9);
    }

    #[test]
    fn a_halt_before_the_clock_was_set_leaves_the_values_of_the_ride() {
        let early: Vec<(usize, i64)> = (0..15).map(|i| (i, 5_000 + i as i64)).collect();
        let mut text = gpx(&early, false);
        let standing: String = (0..300)
            .map(|i| {
                let time = jiff::Timestamp::from_second(1_700_004_000 + i).unwrap();
                format!("<trkpt lat=\"45\" lon=\"7\"><time>{time}</time><extensions><power>0</power></extensions></trkpt>")
            })
            .collect();
        text = text.replacen("<trkseg>", &format!("<trkseg>{standing}"), 1);
        let recorded = read(text.as_bytes(), "a").unwrap().remove(0);
        assert_eq!(recorded.samples.time_s.len(), 185);
        assert_eq!(recorded.samples.sensors.power_w[0], Some(15.0));
    }
}
