//! A recording second by second.

use super::recording::{Recorded, Samples};
use crate::profile::{Profile, jitter};
use crate::ride::motion::STALL_SPEED_MS;

/// A recording at even seconds since its start; every column has one entry a second.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Seconds {
    /// When second 0 was, in seconds since 1970-01-01T00:00:00Z.
    pub start_unix_s: f64,
    /// Distance along the road, in metres.
    pub distance_m: Vec<f64>,
    /// Distance along the recording as given, in metres: more than along the road where the receiver's jitter lengthens it.
    pub given_m: Vec<f64>,
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: Vec<f64>,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: Vec<f64>,
    /// Elevation, smoothed; `None` where the recording has no profile. In metres.
    pub elevation_m: Option<Vec<f64>>,
    /// Speed, over nine seconds, in metres per second.
    pub speed_ms: Vec<f64>,
    /// Whether something was recorded around that second.
    pub known: Vec<bool>,
    /// Whether the rider stands still.
    pub halted: Vec<bool>,
    /// Cadence, in turns of the cranks a minute.
    pub cadence_rpm: Vec<Option<f64>>,
    /// Power as measured, in watts.
    pub power_w: Vec<Option<f64>>,
    /// Heart rate, in beats a minute.
    pub heart_rate_bpm: Vec<Option<f64>>,
}

/// A value stands for the time until the next one, if that is not later than this, in seconds: devices that save room
/// write a point every few seconds.
const HELD_S: f64 = 10.0;
/// A value whose successor is missing stands for this long, in seconds.
const LONE_S: f64 = 1.5;
/// Slower than this, cranks at rest, is standing still, in metres per second: a receiver wanders so fast.
const HALTED_MS: f64 = 0.8;
/// Pace is taken over so many seconds for that.
const STILL_S: usize = 4;
/// Two halts this near are one, in seconds.
const WRIGGLE_S: usize = 4;
/// Pace at which the last metres of a halt are taken, in metres per second: a line cleaned of standing jitter goes on ten
/// metres from where the rider stood.
const PUSH_OFF_MS: f64 = 2.0;
/// Seconds to each side over which the speed is a straight line through the distances.
const SPEED_REACH_S: usize = 4;

impl Seconds {
    /// Lays a recording out second by second.
    pub fn of(recorded: &Recorded, profile: Option<&Profile>) -> Seconds {
        let mut seconds = line(recorded);
        if let Some(profile) = profile {
            let at = |d: &f64| profile.elevation_at_m(*d);
            seconds.elevation_m = Some(seconds.distance_m.iter().map(at).collect());
        }
        seconds.speed_ms = speeds(&seconds.distance_m);
        let samples = &recorded.samples;
        let count = seconds.distance_m.len();
        seconds.cadence_rpm = column(&samples.sensors.cadence_rpm, samples, count);
        seconds.power_w = column(&samples.sensors.power_w, samples, count);
        seconds.heart_rate_bpm = column(&samples.sensors.heart_rate_bpm, samples, count);
        seconds.halted = halts(&seconds);
        seconds
    }

    /// How many seconds there are.
    pub fn count(&self) -> usize {
        self.distance_m.len()
    }

    /// Whether any second has a power.
    pub fn has_power(&self) -> bool {
        self.power_w.iter().any(Option::is_some)
    }

    /// Whether any second has a cadence.
    pub fn has_cadence(&self) -> bool {
        self.cadence_rpm.iter().any(Option::is_some)
    }

    /// The halts of at least `least_s` within a range of seconds, from beginning to end; a wriggle of a receiver's or of a foot's
    /// does not part one in two.
    pub fn halts_between(&self, from: usize, to: usize, least_s: usize) -> Vec<(usize, usize)> {
        let mut halts: Vec<(usize, usize)> = Vec::new();
        for (a, b) in runs(&self.halted[from..to]).map(|(a, b)| (a + from, b + from)) {
            match halts.last_mut() {
                Some((_, until)) if a - *until <= WRIGGLE_S => *until = b,
                _ => halts.push((a, b)),
            }
        }
        halts.retain(|(a, b)| b - a >= least_s);
        halts
    }
}

/// The runs of `true`, as ranges.
pub(super) fn runs(flags: &[bool]) -> impl Iterator<Item = (usize, usize)> + '_ {
    let mut at = 0;
    std::iter::from_fn(move || {
        let from = at + flags[at..].iter().position(|f| *f)?;
        let length = flags[from..].iter().position(|f| !*f);
        at = length.map_or(flags.len(), |n| from + n);
        Some((from, at))
    })
}

/// Places and distances at even seconds, linear between the points of the line.
fn line(recorded: &Recorded) -> Seconds {
    let road_m = jitter::distances_m(&recorded.route);
    let timed: Vec<usize> = (0..recorded.route.points.len())
        .filter(|i| recorded.route.points[*i].time_s.is_some())
        .collect();
    let point = |k: usize| &recorded.route.points[timed[k]];
    let time_s = |k: usize| point(k).time_s.unwrap_or(0.0);
    let last_s = time_s(timed.len() - 1);
    let count = last_s as usize + 1;
    let mut out = Seconds {
        start_unix_s: recorded.samples.start_unix_s,
        ..Seconds::default()
    };
    let mut k = 0;
    for second in 0..count {
        let now_s = second as f64;
        while k + 2 < timed.len() && time_s(k + 1) <= now_s {
            k += 1;
        }
        let (from, to) = (point(k), point(k + 1));
        let gap_s = time_s(k + 1) - time_s(k);
        let step_m = road_m[timed[k + 1]] - road_m[timed[k]];
        let mut share = ((now_s - time_s(k)) / gap_s).clamp(0.0, 1.0);
        let slow = step_m < STALL_SPEED_MS * gap_s;
        if slow && gap_s > HELD_S {
            // A halt: the rider moves on only at its end.
            let left_s = (1.0 - share) * gap_s;
            share = (1.0 - left_s * PUSH_OFF_MS / step_m.max(1e-9)).clamp(0.0, 1.0);
        }
        let between = |a: f64, b: f64| a + share * (b - a);
        let turn = (to.lon_deg - from.lon_deg + 540.0).rem_euclid(360.0) - 180.0;
        out.distance_m
            .push(between(road_m[timed[k]], road_m[timed[k + 1]]));
        out.given_m.push(between(from.distance_m, to.distance_m));
        out.lat_deg.push(between(from.lat_deg, to.lat_deg));
        out.lon_deg.push(from.lon_deg + share * turn);
        out.known.push(slow || gap_s <= HELD_S);
    }
    out
}

/// The slope of the straight line through the distances around each second.
fn speeds(distance_m: &[f64]) -> Vec<f64> {
    let count = distance_m.len();
    (0..count)
        .map(|i| {
            let from = i.saturating_sub(SPEED_REACH_S);
            let to = (i + SPEED_REACH_S).min(count - 1);
            let n = (to - from + 1) as f64;
            let middle = 0.5 * (from + to) as f64;
            let (mut up, mut down) = (0.0, 0.0);
            for (k, d) in distance_m.iter().enumerate().take(to + 1).skip(from) {
                let x = k as f64 - middle;
                up += x * (d - distance_m[from]);
                down += x * x;
            }
            if n < 2.0 { 0.0 } else { (up / down).max(0.0) }
        })
        .collect()
}

/// A sensor's values at even seconds: each stands until the next, if that comes soon.
fn column(values: &[Option<f32>], samples: &Samples, count: usize) -> Vec<Option<f64>> {
    if values.is_empty() {
        return vec![None; count];
    }
    let mut k = 0;
    (0..count)
        .map(|second| {
            let now_s = second as f64 + 1e-3;
            while k + 1 < samples.time_s.len() && samples.time_s[k + 1] <= now_s {
                k += 1;
            }
            let age_s = now_s - samples.time_s[k];
            let next_s = samples
                .time_s
                .get(k + 1)
                .map_or(f64::INFINITY, |t| t - samples.time_s[k]);
            let stands = age_s >= 0.0 && (age_s < LONE_S || next_s <= HELD_S);
            values[k].filter(|_| stands).map(f64::from)
        })
        .collect()
}

fn halts(seconds: &Seconds) -> Vec<bool> {
    let count = seconds.count();
    let is_still = |from: usize| {
        let to = (from + STILL_S).min(count - 1);
        let from = to.saturating_sub(STILL_S);
        let way_m = seconds.distance_m[to] - seconds.distance_m[from];
        way_m < HALTED_MS * (to - from).max(1) as f64
    };
    (0..count)
        .map(|i| {
            // Around a second, before it and after it: a halt begins and ends at once.
            let parts = [0, STILL_S / 2, STILL_S];
            seconds.cadence_rpm[i].unwrap_or(0.0) < 1.0
                && parts.iter().any(|part| is_still(i.saturating_sub(*part)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_halt_lasts_as_long_as_the_rider_stands_and_coasting_to_the_end_is_none() {
        // 5 m/s with cranks at rest, but for the seconds from 100 to 120.
        let mut along_m = 0.0;
        let mut moving = Seconds::default();
        for i in 0..200 {
            moving.distance_m.push(along_m);
            moving.cadence_rpm.push(Some(0.0));
            along_m += if (100..120).contains(&i) { 0.0 } else { 5.0 };
        }
        let halted = halts(&moving);
        let standing: Vec<(usize, usize)> = runs(&halted).collect();
        assert_eq!(standing, [(100, 121)]);
        assert!(halts(&Seconds::default()).is_empty());
    }
}
