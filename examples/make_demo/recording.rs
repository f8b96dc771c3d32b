//! What a device on the handlebar makes of a ride.

use super::earth::TangentPlane;
use super::gpx_text::Point;
use super::random::GaussMarkov;
use super::road::Road;

/// A device's errors.
pub(crate) struct Device {
    /// Position error along each axis, in metres, and for how many seconds it stays alike.
    pub(crate) position: (f64, f64),
    /// Elevation error, in metres, and for how many seconds it stays alike.
    pub(crate) elevation: (f64, f64),
    /// Slow drift of the elevation, in metres, and for how many seconds it stays alike.
    pub(crate) drift: (f64, f64),
    /// The elevation comes in steps of this many metres.
    pub(crate) elevation_step_m: f64,
}

/// A device with a barometer.
pub(crate) const BAROMETER: Device = Device {
    position: (2.0, 40.0),
    elevation: (0.35, 12.0),
    drift: (2.5, 3600.0),
    elevation_step_m: 0.2,
};
/// A device that has only satellites.
pub(crate) const SATELLITE_ONLY: Device = Device {
    position: (3.0, 40.0),
    elevation: (4.0, 60.0),
    drift: (0.0, 3600.0),
    elevation_step_m: 0.1,
};

/// The points that a device writes, one a second.
pub(crate) fn record(
    road: &Road,
    distances_m: &[f64],
    device: &Device,
    plane: &TangentPlane,
    start_s: i64,
    seed: u64,
) -> Vec<Point> {
    let noise = |(sd, reach): (f64, f64), number: u64| GaussMarkov::new(sd, reach, seed + number);
    let mut aside = [noise(device.position, 1), noise(device.position, 2)];
    let mut elevation = [noise(device.elevation, 3), noise(device.drift, 4)];
    (start_s..)
        .zip(distances_m)
        .map(|(time_s, &distance_m)| {
            let [x, y] = road.place(distance_m);
            let seen = [x + aside[0].advance(1.0), y + aside[1].advance(1.0)];
            let error_m: f64 = elevation.iter_mut().map(|noise| noise.advance(1.0)).sum();
            let steps =
                ((road.elevation_m(distance_m) + error_m) / device.elevation_step_m).round();
            let elevation_m = steps * device.elevation_step_m;
            Point {
                place: plane.to_geodetic(seen),
                elevation_m,
                time_s: Some(time_s),
            }
        })
        .collect()
}
