//! Where riders halted.

use serde::{Deserialize, Serialize};

use crate::route::{LatLon, Route, is_within_m, step_m};

/// Within this distance of where the rider came to rest, about twice the error of a satellite fix that is averaged over some seconds.
const RADIUS_M: f64 = 6.0;
/// For at least this long: a rider who only slows for a bend is away sooner.
const LEAST_S: f64 = 10.0;
/// Whoever is slower than this on the way out of the circle walks, and is not counted as halted for that: 3.6 km/h.
const WALKING_M_S: f64 = 1.0;

/// A place where a rider stood.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Halt {
    /// Distance along the route as given, in metres.
    pub distance_m: f64,
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: f64,
    /// How long it lasted, in seconds.
    pub lasted_s: f64,
}

/// The halts of a recording, in route order; none where it has no times, and none at its start and end.
pub fn of(route: &Route) -> Vec<Halt> {
    let points = &route.points;
    let mut halts = Vec::new();
    let mut at = 0;
    // The first point that is late enough after `at`; it only ever moves on.
    let mut late = 0;
    while at < points.len() {
        let Some(start_s) = points[at].time_s else {
            at += 1;
            continue;
        };
        let near = |i: &usize| is_within_m(&points[at], &points[*i], RADIUS_M);
        let is_early = |time_s: f64| time_s < start_s + LEAST_S;
        while late < points.len() && points[late].time_s.is_none_or(is_early) {
            late += 1;
        }
        // Nearly everywhere the rider is away before that.
        if late > at + 1 && !near(&(late - 1)) {
            at += 1;
            continue;
        }
        let Some(away) = (at + 1..points.len()).find(|i| !near(i)) else {
            break;
        };
        // Cleaning leaves one point of a halt, so the time passes on the step away from it.
        let riding_s = step_m(&points[at], &points[away]) / WALKING_M_S;
        let lasted_s = points[away].time_s.map_or(0.0, |s| s - start_s - riding_s);
        if lasted_s < LEAST_S {
            at += 1;
            continue;
        }
        if at > 0 {
            let place = LatLon::from(&points[at]);
            halts.push(Halt {
                distance_m: points[at].distance_m,
                lat_deg: place.lat_deg,
                lon_deg: place.lon_deg,
                lasted_s,
            });
        }
        at = away;
    }
    halts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route;

    /// A ride north along a meridian at `speed` metres a second, standing for `halt_s` after 500 m.
    fn ride(speed: f64, every_s: f64, halt_s: f64) -> Route {
        let mut text = String::from("<gpx><trk><trkseg>");
        let mut time_s = 0.0;
        let mut along_m = 0.0;
        let mut wobble = 0;
        while along_m < 1000.0 {
            let stands = (500.0 / speed..500.0 / speed + halt_s).contains(&time_s);
            wobble += 1;
            let off_m = if stands { f64::from(wobble % 3) } else { 0.0 };
            let stamp = jiff::Timestamp::from_second(1_700_000_000 + time_s as i64).unwrap();
            text += &format!(
                "<trkpt lat='{:.7}' lon='{:.7}'><ele>100</ele><time>{stamp}</time></trkpt>",
                45.0 + along_m / 111_132.0,
                7.0 + off_m / 78_847.0,
            );
            time_s += every_s;
            if !stands {
                along_m += speed * every_s;
            }
        }
        let file = text + "</trkseg></trk></gpx>";
        route::read(file.as_bytes(), "made").unwrap().remove(0)
    }

    #[test]
    fn a_halt_is_found_where_it_was_whether_short_or_long() {
        for halt_s in [20.0, 90.0] {
            let halts = of(&ride(5.0, 1.0, halt_s));
            assert_eq!(halts.len(), 1, "{halts:?}");
            assert!((halts[0].distance_m - 500.0).abs() < 15.0, "{halts:?}");
            // Cleaning keeps one point of a halt, so up to 20 m on the way out of it count as walked.
            assert!((halts[0].lasted_s - halt_s).abs() < 20.0, "{halts:?}");
        }
    }

    #[test]
    fn riding_slowly_or_recording_seldom_is_no_halt() {
        assert_eq!(of(&ride(1.7, 1.0, 0.0)), []);
        assert_eq!(of(&ride(6.0, 30.0, 0.0)), []);
    }
}
