//! Distance and bearing on the WGS 84 ellipsoid.

use super::{Point, RawPoint};
use geo::{Bearing, Distance, Geodesic};

/// Semi-major axis of WGS 84, in metres (NGA.STND.0036, 2014, table 3.1).
const SEMI_MAJOR_M: f64 = 6_378_137.0;
/// Flattening of WGS 84 (the same table).
const FLATTENING: f64 = 1.0 / 298.257_223_563;
const ECCENTRICITY_SQUARED: f64 = FLATTENING * (2.0 - FLATTENING);

/// Steps that turn or climb by less than this angle, in radians, are measured locally, longer ones by the geodesic.
/// Measured against the geodesic, the local step is out by at most 3.2 parts in a million at this size (at the poles), growing with the
/// square of it; in degrees it is 0.29, some 30 km north or south.
const LOCAL_RAD: f64 = 0.005;

/// A place on the ellipsoid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LatLon {
    /// Latitude, WGS 84, in degrees, north positive, -90 to 90.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees, east positive, -180 to 180.
    pub lon_deg: f64,
}

impl From<&RawPoint> for LatLon {
    fn from(point: &RawPoint) -> Self {
        Self {
            lat_deg: point.lat_deg,
            lon_deg: point.lon_deg,
        }
    }
}

impl From<&Point> for LatLon {
    fn from(point: &Point) -> Self {
        Self {
            lat_deg: point.lat_deg,
            lon_deg: point.lon_deg,
        }
    }
}

impl From<LatLon> for geo::Point<f64> {
    fn from(place: LatLon) -> Self {
        Self::new(place.lon_deg, place.lat_deg)
    }
}

/// Distance between two places along the WGS 84 ellipsoid, in metres, within 1 part in 100 000 of the geodesic everywhere.
///
/// Short steps use the radii of the meridian and of the prime vertical at the middle latitude (Torge and Müller, Geodesy,
/// 2012, section 4.1.3); long ones, and those near a pole, the geodesic (Karney, J. Geodesy 87, 2013, 43–55).
///
/// ```
/// use hillwright::route::{LatLon, step_m};
/// // One degree of the equator is 1/360 of 2 π 6378137 m.
/// let (a, b) = (LatLon { lat_deg: 0.0, lon_deg: 179.5 }, LatLon { lat_deg: 0.0, lon_deg: -179.5 });
/// assert!((step_m(a, b) - 111_319.49).abs() < 0.01);
/// ```
pub fn step_m(a: impl Into<LatLon>, b: impl Into<LatLon>) -> f64 {
    let (a, b) = (a.into(), b.into());
    match local_step(a, b) {
        // Metres to kilometres neither overflow nor vanish when squared, so nothing needs the care of `hypot`.
        Some(step) => (step.north_m * step.north_m + step.east_m * step.east_m).sqrt(),
        None => Geodesic.distance(a.into(), b.into()),
    }
}

/// A degree of latitude is nowhere shorter, in metres (110 574 m at the equator, from the radius of the meridian there).
const LEAST_DEGREE_M: f64 = 110_570.0;

/// Whether two places lie within so many metres of each other, as [`step_m`] says, which is not worked out where one is plainly too far north.
pub fn is_within_m(a: impl Into<LatLon>, b: impl Into<LatLon>, metres: f64) -> bool {
    let (a, b) = (a.into(), b.into());
    (a.lat_deg - b.lat_deg).abs() * LEAST_DEGREE_M <= metres && step_m(a, b) <= metres
}

/// Direction in which a rider leaves `a` for `b`, in radians clockwise from north, 0 up to 2 π; 0 if the places are one.
///
/// ```
/// use hillwright::route::{LatLon, bearing_rad};
/// let (a, b) = (LatLon { lat_deg: 45.0, lon_deg: 7.0 }, LatLon { lat_deg: 45.0, lon_deg: 7.01 });
/// assert!((bearing_rad(a, b) - std::f64::consts::FRAC_PI_2).abs() < 1e-4);
/// ```
pub fn bearing_rad(a: impl Into<LatLon>, b: impl Into<LatLon>) -> f64 {
    let (a, b) = (a.into(), b.into());
    let bearing_rad = match local_step(a, b) {
        Some(step) if step.north_m == 0.0 && step.east_m == 0.0 => 0.0,
        Some(step) => step.east_m.atan2(step.north_m) - step.turn_rad / 2.0,
        None => Geodesic.bearing(a.into(), b.into()).to_radians(),
    };
    let turned = bearing_rad.rem_euclid(std::f64::consts::TAU);
    // A tiny negative angle is rounded to a full turn.
    if turned < std::f64::consts::TAU {
        turned
    } else {
        0.0
    }
}

struct LocalStep {
    north_m: f64,
    east_m: f64,
    /// How much the bearing turns along the step: the convergence of the meridians.
    turn_rad: f64,
}

fn local_step(a: LatLon, b: LatLon) -> Option<LocalStep> {
    let north_rad = (b.lat_deg - a.lat_deg).to_radians();
    let mut east_deg = b.lon_deg - a.lon_deg;
    if east_deg.abs() > 180.0 {
        east_deg -= 360.0_f64.copysign(east_deg);
    }
    let east_rad = east_deg.to_radians();
    if north_rad.abs() > LOCAL_RAD || east_rad.abs() > LOCAL_RAD {
        return None;
    }
    let (sin_lat, cos_lat) = ((a.lat_deg + b.lat_deg) / 2.0).to_radians().sin_cos();
    let shrink = 1.0 - ECCENTRICITY_SQUARED * sin_lat * sin_lat;
    let prime_vertical_m = SEMI_MAJOR_M / shrink.sqrt();
    let meridian_m = prime_vertical_m * (1.0 - ECCENTRICITY_SQUARED) / shrink;
    Some(LocalStep {
        north_m: meridian_m * north_rad,
        east_m: prime_vertical_m * cos_lat * east_rad,
        turn_rad: east_rad * sin_lat,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn place(lat_deg: f64, lon_deg: f64) -> LatLon {
        LatLon { lat_deg, lon_deg }
    }

    fn geodesic_m(a: LatLon, b: LatLon) -> f64 {
        Geodesic.distance(a.into(), b.into())
    }

    #[test]
    fn a_quarter_meridian_is_as_long_as_published() {
        // 10 001 965.729 m: Snyder, Map Projections, USGS 1395 (1987), for WGS 84.
        assert!((step_m(place(0.0, 0.0), place(90.0, 0.0)) - 10_001_965.729).abs() < 0.01);
    }

    #[test]
    fn the_pole_and_the_antimeridian_are_no_edges() {
        assert_eq!(step_m(place(90.0, 0.0), place(90.0, 120.0)), 0.0);
        let (a, b) = (place(-17.0, 179.9999), place(-17.0, -179.9999));
        assert!((step_m(a, b) - geodesic_m(a, b)).abs() < 1e-4);
        assert!((bearing_rad(a, b) - std::f64::consts::FRAC_PI_2).abs() < 1e-4);
    }

    #[test]
    fn bearings_go_clockwise_from_north() {
        let home = place(50.0, 8.0);
        let right_angle = std::f64::consts::FRAC_PI_2;
        for (quarter, to) in [
            (0.0, place(50.01, 8.0)),
            (1.0, place(50.0, 8.01)),
            (2.0, place(49.99, 8.0)),
            (3.0, place(50.0, 7.99)),
        ] {
            assert!(
                (bearing_rad(home, to) - quarter * right_angle).abs() < 1e-3,
                "{quarter}"
            );
        }
        assert_eq!(bearing_rad(home, home), 0.0);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(4000))]

        #[test]
        fn every_step_is_within_one_part_in_a_hundred_thousand(
            lat in -90.0_f64..=90.0, lon in -180.0_f64..=180.0,
            size in -7.0_f64..2.2, north in -1.0_f64..1.0, east in -1.0_f64..1.0,
        ) {
            let degrees = 10.0_f64.powf(size);
            let b = place((lat + north * degrees).clamp(-90.0, 90.0), (lon + east * degrees + 540.0).rem_euclid(360.0) - 180.0);
            let a = place(lat, lon);
            let (ours, exact) = (step_m(a, b), geodesic_m(a, b));
            // The geodesic's own error is some nanometres; a difference of degrees is rounded to a few of them too.
            prop_assert!((ours - exact).abs() <= exact * 1e-5 + 2e-8, "{ours} {exact}");
        }

        #[test]
        fn bearings_are_those_of_the_geodesic(
            lat in -85.0_f64..85.0, lon in -180.0_f64..180.0, angle in 0.0_f64..std::f64::consts::TAU, size in -4.0_f64..1.0,
        ) {
            let degrees = 10.0_f64.powf(size);
            let a = place(lat, lon);
            let b = place((lat + degrees * angle.cos()).clamp(-90.0, 90.0), lon + degrees * angle.sin());
            let exact = Geodesic.bearing(a.into(), b.into()).to_radians();
            let apart = (bearing_rad(a, b) - exact + std::f64::consts::PI).rem_euclid(std::f64::consts::TAU) - std::f64::consts::PI;
            prop_assert!(apart.abs() < 1e-4, "{apart}");
        }

        #[test]
        fn within_is_what_the_distance_says(
            a in (-90.0_f64..90.0, -180.0_f64..180.0), north in -3e-4_f64..3e-4, east in -3e-4_f64..3e-4, metres in 0.0_f64..50.0,
        ) {
            let (a, b) = (place(a.0, a.1), place((a.0 + north).clamp(-90.0, 90.0), a.1 + east));
            prop_assert_eq!(is_within_m(a, b, metres), step_m(a, b) <= metres);
        }

        #[test]
        fn there_and_back_are_equally_far(a in (-90.0_f64..90.0, -180.0_f64..180.0), b in (-90.0_f64..90.0, -180.0_f64..180.0)) {
            let (a, b) = (place(a.0, a.1), place(b.0, b.1));
            prop_assert!((step_m(a, b) - step_m(b, a)).abs() < 1e-6);
        }
    }
}
