//! The flat map that the scenario is drawn on, and the WGS 84 ellipsoid under it.

/// WGS 84 semi-major axis, in metres (NGA.STND.0036, table 3.1).
const SEMI_MAJOR_M: f64 = 6_378_137.0;
/// WGS 84 flattening (same table).
const FLATTENING: f64 = 1.0 / 298.257_223_563;
/// First eccentricity squared.
const ECCENTRICITY_2: f64 = FLATTENING * (2.0 - FLATTENING);

/// A place on the ellipsoid, in degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Geodetic {
    pub(crate) lat: f64,
    pub(crate) lon: f64,
}

/// The plane that touches the ellipsoid at an origin: a place is `[east, north]` in metres, and what it stands for is
/// the point of the ellipsoid straight below. Lengths agree with the ellipsoid within (distance / Earth's radius)² / 2,
/// which is 1 part in 300 000 at 16 km.
pub(crate) struct TangentPlane {
    origin: [f64; 3],
    east: [f64; 3],
    north: [f64; 3],
    up: [f64; 3],
}

impl TangentPlane {
    /// The plane that touches at `origin`.
    pub(crate) fn new(origin: Geodetic) -> Self {
        let (sin_lat, cos_lat) = origin.lat.to_radians().sin_cos();
        let (sin_lon, cos_lon) = origin.lon.to_radians().sin_cos();
        Self {
            origin: on_ellipsoid(origin),
            east: [-sin_lon, cos_lon, 0.0],
            north: [-sin_lat * cos_lon, -sin_lat * sin_lon, cos_lat],
            up: [cos_lat * cos_lon, cos_lat * sin_lon, sin_lat],
        }
    }

    /// The place on the ellipsoid below a point of the plane.
    pub(crate) fn to_geodetic(&self, [x, y]: [f64; 2]) -> Geodetic {
        let mut drop_m = (x * x + y * y) / (2.0 * SEMI_MAJOR_M);
        let mut place = Geodetic { lat: 0.0, lon: 0.0 };
        for _ in 0..3 {
            let point = std::array::from_fn(|axis| {
                self.origin[axis] + x * self.east[axis] + y * self.north[axis]
                    - drop_m * self.up[axis]
            });
            let height_m;
            (place, height_m) = near_ellipsoid(point);
            drop_m += height_m;
        }
        place
    }

    /// The point of the plane above a place on the ellipsoid.
    pub(crate) fn to_plane(&self, place: Geodetic) -> [f64; 2] {
        let point = on_ellipsoid(place);
        let along = |direction: &[f64; 3]| {
            (0..3)
                .map(|axis| (point[axis] - self.origin[axis]) * direction[axis])
                .sum()
        };
        [along(&self.east), along(&self.north)]
    }
}

fn on_ellipsoid(place: Geodetic) -> [f64; 3] {
    let (sin_lat, cos_lat) = place.lat.to_radians().sin_cos();
    let (sin_lon, cos_lon) = place.lon.to_radians().sin_cos();
    let across_m = SEMI_MAJOR_M / (1.0 - ECCENTRICITY_2 * sin_lat * sin_lat).sqrt();
    [
        across_m * cos_lat * cos_lon,
        across_m * cos_lat * sin_lon,
        across_m * (1.0 - ECCENTRICITY_2) * sin_lat,
    ]
}

/// Latitude, longitude and height of a point so near the ellipsoid that the latitude of its surface will do.
fn near_ellipsoid([x, y, z]: [f64; 3]) -> (Geodetic, f64) {
    let from_axis_m = x.hypot(y);
    let lat = z.atan2(from_axis_m * (1.0 - ECCENTRICITY_2));
    let across_m = SEMI_MAJOR_M / (1.0 - ECCENTRICITY_2 * lat.sin() * lat.sin()).sqrt();
    let height_m = from_axis_m / lat.cos() - across_m;
    (
        Geodetic {
            lat: lat.to_degrees(),
            lon: y.atan2(x).to_degrees(),
        },
        height_m,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plane_to_ellipsoid_and_back_is_the_same_place() {
        let plane = TangentPlane::new(Geodetic {
            lat: -44.6,
            lon: -129.5,
        });
        let [x, y] = plane.to_plane(plane.to_geodetic([14_000.0, -9_000.0]));
        assert!(
            (x - 14_000.0).abs() < 1e-3 && (y + 9_000.0).abs() < 1e-3,
            "{x} {y}"
        );
    }
}
