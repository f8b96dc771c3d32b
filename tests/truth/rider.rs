//! How fast a rider goes along a true road: what makes a clock's errors into errors along the road.

use super::rng::{GaussMarkov, Rng};
use super::road::Road;

/// Rider, bicycle and kit.
const MASS_KG: f64 = 85.0;
/// Resistance of the air: half of density times drag area.
const HALF_DENSITY_AREA_KG_M: f64 = 0.5 * 1.2 * 0.36;
const ROLLING_N: f64 = 0.005 * MASS_KG * GRAVITY_M_S2;
const GRAVITY_M_S2: f64 = 9.81;
/// Power at the wheel, and how much it comes and goes over a minute.
const POWER_W: f64 = 195.0;
const POWER_SD_W: f64 = 20.0;
const POWER_REACH_S: f64 = 60.0;
const SLOWEST_M_S: f64 = 1.4;
const FASTEST_M_S: f64 = 12.5;
/// Sideways acceleration at which the rider brakes for a bend.
const CORNERING_M_S2: f64 = 3.0;

/// Where the rider is at each second of a ride without a stop, from the road's start to its end, in metres.
pub fn ride_m(road: &Road, rng: &mut Rng) -> Vec<f64> {
    let mut wobble = GaussMarkov::new(POWER_SD_W, POWER_REACH_S, rng);
    let mut speed_m_s = 5.0;
    let mut at_m = 0.0;
    let mut distances_m = Vec::new();
    while at_m < road.length_m() {
        distances_m.push(at_m);
        let grade = road.profile.grade_pct[at_m as usize] / 100.0;
        let power_w = POWER_W + wobble.advance(1.0, rng);
        speed_m_s = next_speed_m_s(speed_m_s, power_w, grade).min(bend_limit_m_s(road, at_m));
        at_m += speed_m_s;
    }
    distances_m
}

/// The speed that a power holds on a grade for good.
pub fn steady_speed_m_s(grade_pct: f64) -> f64 {
    (0..400).fold(5.0, |speed_m_s, _| {
        next_speed_m_s(speed_m_s, POWER_W, grade_pct / 100.0)
    })
}

fn next_speed_m_s(speed_m_s: f64, power_w: f64, grade: f64) -> f64 {
    let push_n = power_w / speed_m_s;
    let air_n = HALF_DENSITY_AREA_KG_M * speed_m_s * speed_m_s;
    let slope_n = MASS_KG * GRAVITY_M_S2 * grade;
    let acceleration_m_s2 = (push_n - air_n - slope_n - ROLLING_N) / MASS_KG;
    (speed_m_s + acceleration_m_s2.clamp(-1.5, 1.0)).clamp(SLOWEST_M_S, FASTEST_M_S)
}

fn bend_limit_m_s(road: &Road, at_m: f64) -> f64 {
    (CORNERING_M_S2 * road.bend_radius_m(at_m + 5.0))
        .sqrt()
        .max(4.0)
}
