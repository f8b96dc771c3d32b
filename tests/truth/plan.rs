//! A road as seen from above: a line on the ellipsoid that winds and never crosses itself.

use std::f64::consts::PI;

use super::rng::Rng;

/// WGS 84: semi-major axis in metres and first eccentricity squared.
const SEMI_MAJOR_M: f64 = 6_378_137.0;
const ECCENTRICITY_SQUARED: f64 = 6.694_379_990_141_317e-3;

/// The bearing never strays further than this from the road's general one, so that the road goes forward for ever.
const WIDEST_RAD: f64 = 75.0 * PI / 180.0;
const HAIRPIN_RADIUS_M: f64 = 11.0;
/// Metres before and after a hairpin's middle in which the road is kept for it.
const BEFORE_HAIRPIN_M: f64 = 120.0;
const AFTER_HAIRPIN_M: f64 = 40.0;

/// Open water in all four quarters of the globe.
const STARTS_DEG: [(f64, f64); 8] = [
    (46.0, -35.0),
    (31.0, -48.0),
    (-33.0, -118.0),
    (-47.0, -25.0),
    (-29.0, 84.0),
    (-52.0, 128.0),
    (38.0, 168.0),
    (8.0, 63.0),
];

/// Positions a metre apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Latitude at each whole metre.
    pub lat_deg: Vec<f64>,
    /// Longitude at each whole metre.
    pub lon_deg: Vec<f64>,
    /// Bearing of the step from each whole metre, clockwise from north.
    pub bearing_rad: Vec<f64>,
}

/// Metres to a radian of latitude and of longitude.
pub fn metres_per_radian(lat_rad: f64) -> (f64, f64) {
    let sine = lat_rad.sin();
    let w_squared = 1.0 - ECCENTRICITY_SQUARED * sine * sine;
    let meridian_m = SEMI_MAJOR_M * (1.0 - ECCENTRICITY_SQUARED) / (w_squared * w_squared.sqrt());
    let parallel_m = SEMI_MAJOR_M / w_squared.sqrt() * lat_rad.cos();
    (meridian_m, parallel_m)
}

/// A position moved by metres north and east.
pub fn shifted(lat_deg: f64, lon_deg: f64, north_m: f64, east_m: f64) -> (f64, f64) {
    let (per_lat_m, per_lon_m) = metres_per_radian(lat_deg.to_radians());
    (
        lat_deg + (north_m / per_lat_m).to_degrees(),
        lon_deg + (east_m / per_lon_m).to_degrees(),
    )
}

/// Draws a plan of so many metres with hairpins at the given distances.
pub fn draw(rng: &mut Rng, length: usize, hairpins_m: &[f64]) -> Plan {
    let (lat_deg, lon_deg) = STARTS_DEG[rng.whole(0, STARTS_DEG.len() - 1)];
    let mut lat_rad = (lat_deg + rng.between(-1.0, 1.0)).to_radians();
    let mut lon_rad = (lon_deg + rng.between(-1.0, 1.0)).to_radians();
    let general_rad = rng.between(0.0, 2.0 * PI);
    let mut plan = Plan {
        lat_deg: vec![lat_rad.to_degrees()],
        lon_deg: vec![lon_rad.to_degrees()],
        bearing_rad: Vec::with_capacity(length),
    };
    for stray_rad in draw_strays(rng, length, hairpins_m) {
        let bearing_rad = general_rad + stray_rad;
        let (per_lat_m, _) = metres_per_radian(lat_rad);
        let step_lat_rad = bearing_rad.cos() / per_lat_m;
        let (_, per_lon_m) = metres_per_radian(lat_rad + 0.5 * step_lat_rad);
        lat_rad += step_lat_rad;
        lon_rad += bearing_rad.sin() / per_lon_m;
        plan.lat_deg.push(lat_rad.to_degrees());
        plan.lon_deg.push(lon_rad.to_degrees());
        plan.bearing_rad.push(bearing_rad);
    }
    plan
}

/// How far the bearing is from the general one, for each metre.
fn draw_strays(rng: &mut Rng, length: usize, hairpins_m: &[f64]) -> Vec<f64> {
    let mut stray_rad = 0.0_f64;
    let mut target_rad = 0.0;
    let mut radius_m = 60.0;
    let mut next_turn_m = rng.between(60.0, 400.0);
    let mut hairpins = hairpins_m.iter().peekable();
    let mut side = 1.0;
    let arc_m = 2.0 * WIDEST_RAD * HAIRPIN_RADIUS_M;
    (0..length)
        .map(|metre| {
            let at_m = metre as f64;
            if hairpins
                .next_if(|&&hairpin_m| at_m > hairpin_m + AFTER_HAIRPIN_M)
                .is_some()
            {
                side = -side;
            }
            match hairpins.peek() {
                Some(&&hairpin_m) if at_m > hairpin_m - BEFORE_HAIRPIN_M => {
                    let turning = at_m > hairpin_m - 0.5 * arc_m;
                    target_rad = if turning { -side } else { side } * WIDEST_RAD;
                    radius_m = if turning { HAIRPIN_RADIUS_M } else { 40.0 };
                    next_turn_m = at_m + 60.0;
                }
                _ if at_m > next_turn_m => {
                    target_rad = rng.between(-0.85, 0.85) * WIDEST_RAD;
                    radius_m = rng.log_between(20.0, 200.0);
                    next_turn_m = at_m + rng.between(60.0, 400.0);
                }
                _ => {}
            }
            let most_rad = 1.0 / radius_m;
            stray_rad += (target_rad - stray_rad).clamp(-most_rad, most_rad);
            stray_rad
        })
        .collect()
}
