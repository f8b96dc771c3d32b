//! An ordinary rider on a road, second by second: power from the grade, speed from power.

use super::random::GaussMarkov;
use super::road::Road;

/// Rider, clothes and bike, in kilograms.
const MASS_KG: f64 = 68.0 + 12.5;
/// Added for what turns (wheels), as if it were carried, in kilograms.
const TURNING_MASS_KG: f64 = 1.0;
/// The share of the power that reaches the road.
const EFFICIENCY: f64 = 0.977;
const CRR: f64 = 0.005;
const CDA_M2: f64 = 0.36;
const AIR_KG_M3: f64 = 1.2;
const GRAVITY_M_S2: f64 = 9.806;
/// Power by grade: the rider eases on the way down and pushes where it is steep.
const POWER_BY_GRADE: [(f64, f64); 8] = [
    (-4.0, 0.0),
    (-2.0, 90.0),
    (0.0, 165.0),
    (2.0, 195.0),
    (4.0, 205.0),
    (8.0, 210.0),
    (12.0, 275.0),
    (15.0, 300.0),
];
/// The rider brakes at this speed, in m/s (45 km/h).
const FASTEST_M_S: f64 = 12.5;
/// Sideways in a bend, in m/s².
const CORNERING_M_S2: f64 = 2.8;
/// Braking, in m/s².
const BRAKING_M_S2: f64 = 1.2;
/// The speed at which a foot comes down for a halt, in m/s.
const HALTING_M_S: f64 = 0.7;
/// Parts of a second that the speed is worked out in.
const PARTS: u32 = 4;

/// A stop on the way.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Halt {
    /// Where, along the road, in metres.
    pub(crate) distance_m: f64,
    /// For how long, in seconds.
    pub(crate) duration_s: u32,
}

/// The distance along the road at each whole second, from `from_m` until `to_m` is reached.
pub(crate) fn distances_by_second(
    road: &Road,
    from_m: f64,
    to_m: f64,
    halts: &[Halt],
    seed: u64,
) -> Vec<f64> {
    let limits_m_s = speed_limits(road, halts);
    let mut mood_w = GaussMarkov::new(8.0, 60.0, seed);
    let mut halts = halts
        .iter()
        .filter(|halt| halt.distance_m > from_m)
        .peekable();
    let mut distance_m = from_m;
    let mut speed_m_s: f64 = 1.0;
    let mut distances_m = vec![distance_m];
    while distance_m < to_m {
        let power_w = (power_for(road.grade_pct(distance_m)) + mood_w.advance(1.0)).max(0.0);
        for _ in 0..PARTS {
            let step_s = 1.0 / f64::from(PARTS);
            speed_m_s += step_s * acceleration_m_s2(power_w, speed_m_s, road.grade_pct(distance_m));
            let node = ((distance_m / road.step_m) as usize).min(limits_m_s.len() - 1);
            speed_m_s = speed_m_s.clamp(0.5, limits_m_s[node].max(0.5));
            distance_m += step_s * speed_m_s;
        }
        distances_m.push(distance_m.min(to_m));
        if let Some(halt) = halts.next_if(|halt| halt.distance_m <= distance_m) {
            distances_m.extend((0..halt.duration_s).map(|_| distance_m));
            speed_m_s = HALTING_M_S;
        }
    }
    distances_m
}

fn power_for(grade_pct: f64) -> f64 {
    let after = POWER_BY_GRADE.partition_point(|(knot_pct, _)| *knot_pct < grade_pct);
    if after == 0 || after == POWER_BY_GRADE.len() {
        return POWER_BY_GRADE[after.min(POWER_BY_GRADE.len() - 1)].1;
    }
    let ((from_pct, from_w), (to_pct, to_w)) = (POWER_BY_GRADE[after - 1], POWER_BY_GRADE[after]);
    from_w + (grade_pct - from_pct) / (to_pct - from_pct) * (to_w - from_w)
}

fn acceleration_m_s2(power_w: f64, speed_m_s: f64, grade_pct: f64) -> f64 {
    let slope = grade_pct / 100.0;
    let weight_n = MASS_KG * GRAVITY_M_S2 / (1.0 + slope * slope).sqrt();
    let held_back_n = weight_n * (slope + CRR) + 0.5 * AIR_KG_M3 * CDA_M2 * speed_m_s * speed_m_s;
    (power_w * EFFICIENCY / speed_m_s.max(1.0) - held_back_n) / (MASS_KG + TURNING_MASS_KG)
}

/// The fastest at each node: bends, halts, and the braking before them.
fn speed_limits(road: &Road, halts: &[Halt]) -> Vec<f64> {
    let mut limits_m_s: Vec<f64> = (0..road.nodes.len())
        .map(|node| {
            (CORNERING_M_S2 / road.bend_per_m(node as f64 * road.step_m).max(1e-6))
                .sqrt()
                .min(FASTEST_M_S)
        })
        .collect();
    for halt in halts {
        let node = (halt.distance_m / road.step_m) as usize;
        limits_m_s[node] = HALTING_M_S;
    }
    for node in (0..limits_m_s.len() - 1).rev() {
        let braked_m_s = (limits_m_s[node + 1].powi(2) + 2.0 * BRAKING_M_S2 * road.step_m).sqrt();
        limits_m_s[node] = limits_m_s[node].min(braked_m_s);
    }
    limits_m_s
}
