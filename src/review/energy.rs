//! Where the rider's work went: gravity, rolling, air, bearings, motion, over any stretch of a recording.
//!
//! The terms of Martin et al. (1998), each summed second by second, so that a stretch's energy balance is a difference of
//! sums, and linear in effective mass, mass times rolling resistance, and drag area.

use super::seconds::Seconds;
use crate::profile::Profile;
use crate::ride::resistance::{SPOKE_DRAG_AREA_M2, WHEEL_INERTIA_KG_M2, bearing_friction_n};
use crate::ride::{System, Weather, air, gravity};

/// Running sums over a recording; entry `i` is the sum before second `i`.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// Horizontal way, in metres.
    run_m: Vec<f64>,
    /// Elevation, in metres.
    elevation_m: Vec<f64>,
    /// Work against the air for each square metre of drag area, in joules per m².
    air_j_per_m2: Vec<f64>,
    /// Work against the bearings, in joules.
    bearing_j: Vec<f64>,
    /// Speed along the slope, in metres per second.
    speed_ms: Vec<f64>,
    /// Measured work, in joules; missing powers count as nothing.
    work_j: Vec<f64>,
    /// Seconds without a power.
    missing_s: Vec<f64>,
    gravity_m_s2: f64,
}

/// What a stretch took, in terms that the unknown masses and areas multiply.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// How long it took, in seconds.
    pub duration_s: f64,
    /// Horizontal way, in metres.
    pub run_m: f64,
    /// Metres climbed; negative downhill.
    pub rise_m: f64,
    /// Work against the air for each square metre of drag area, in joules per m².
    pub air_j_per_m2: f64,
    /// Work against the bearings, in joules.
    pub bearing_j: f64,
    /// Half the difference of the squared speeds at its ends, in m²/s².
    pub half_dv2_m2_s2: f64,
    /// Acceleration of gravity, in m/s².
    pub gravity_m_s2: f64,
    /// Measured work, in joules.
    pub work_j: f64,
    /// Seconds of it without a power.
    pub missing_s: f64,
}

impl Ledger {
    /// Sums a recording up in some weather.
    pub fn new(seconds: &Seconds, profile: &Profile, weather: &Weather) -> Ledger {
        let count = seconds.count();
        let empty = || Vec::with_capacity(count);
        let elevation_m: Vec<f64> = match &seconds.elevation_m {
            Some(column) => column.clone(),
            None => vec![0.0; count],
        };
        let middle = profile.nodes() / 2;
        let mut ledger = Ledger {
            run_m: seconds.distance_m.clone(),
            air_j_per_m2: empty(),
            bearing_j: empty(),
            speed_ms: empty(),
            work_j: empty(),
            missing_s: empty(),
            gravity_m_s2: gravity::normal_gravity_m_s2(
                profile.lat_deg[middle].to_radians(),
                profile.elevation_m[middle],
            ),
            elevation_m,
        };
        let (mut air_j, mut bearing_j, mut work_j, mut missing_s) = (0.0, 0.0, 0.0, 0.0);
        for i in 0..count {
            let node = profile.node_at(seconds.distance_m[i]);
            let v = speed_along_ms(seconds, profile, node, i);
            let headwind_ms = weather.wind.headwind_ms(profile.bearing_rad[node]);
            ledger.air_j_per_m2.push(air_j);
            ledger.bearing_j.push(bearing_j);
            ledger.speed_ms.push(v);
            ledger.work_j.push(work_j);
            ledger.missing_s.push(missing_s);
            let density = air::density_kg_m3(ledger.elevation_m[i], weather);
            air_j += air_w_per_m2(density, v, headwind_ms);
            bearing_j += bearing_friction_n(v) * v;
            match seconds.power_w[i] {
                Some(power_w) => work_j += power_w,
                None => missing_s += 1.0,
            }
        }
        ledger
    }

    /// How many seconds there are.
    pub fn count(&self) -> usize {
        self.run_m.len()
    }

    /// The stretch from one second to another.
    pub fn between(&self, from: usize, to: usize) -> Terms {
        let part = |column: &[f64]| column[to] - column[from];
        Terms {
            duration_s: (to - from) as f64,
            run_m: part(&self.run_m),
            rise_m: part(&self.elevation_m),
            air_j_per_m2: part(&self.air_j_per_m2),
            bearing_j: part(&self.bearing_j),
            half_dv2_m2_s2: 0.5 * (self.speed_ms[to].powi(2) - self.speed_ms[from].powi(2)),
            gravity_m_s2: self.gravity_m_s2,
            work_j: part(&self.work_j),
            missing_s: part(&self.missing_s),
        }
    }
}

/// Work against the air between two seconds for each square metre of drag area, with so much more headwind than the weather has
/// (metres per second), in joules per m².
pub fn air_j_per_m2(
    (from, to): (usize, usize),
    (seconds, profile, weather): (&Seconds, &Profile, &Weather),
    more_headwind_ms: f64,
) -> f64 {
    let each = (from..to).map(|i| {
        let node = profile.node_at(seconds.distance_m[i]);
        let v = speed_along_ms(seconds, profile, node, i);
        let headwind_ms = weather.wind.headwind_ms(profile.bearing_rad[node]) + more_headwind_ms;
        let elevation_m = seconds.elevation_m.as_ref().map_or(0.0, |e| e[i]);
        air_w_per_m2(air::density_kg_m3(elevation_m, weather), v, headwind_ms)
    });
    each.sum()
}

/// Speed along the slope, in metres per second.
fn speed_along_ms(seconds: &Seconds, profile: &Profile, node: usize, i: usize) -> f64 {
    let grade = profile.grade_pct[node] / 100.0;
    seconds.speed_ms[i] * (1.0 + grade * grade).sqrt()
}

/// Power against the air for each square metre of drag area, in watts per m².
fn air_w_per_m2(density_kg_m3: f64, speed_ms: f64, headwind_ms: f64) -> f64 {
    let air_ms = speed_ms + headwind_ms;
    0.5 * density_kg_m3 * air_ms.abs() * air_ms * speed_ms
}

impl Terms {
    /// Work at the wheel that the stretch took with a mass (kg), a drag area (m²) and a rolling coefficient, in joules.
    pub fn wheel_work_j(&self, mass_kg: f64, cda_m2: f64, crr: f64, wheel_radius_m: f64) -> f64 {
        let turning_kg = WHEEL_INERTIA_KG_M2 / (wheel_radius_m * wheel_radius_m);
        mass_kg * self.gravity_m_s2 * (self.rise_m + crr * self.run_m)
            + (cda_m2 + SPOKE_DRAG_AREA_M2) * self.air_j_per_m2
            + (mass_kg + turning_kg) * self.half_dv2_m2_s2
            + self.bearing_j
    }

    /// Mean power where it is measured, in watts: what the stretch took, over its time.
    pub fn power_w(&self, system: &System) -> f64 {
        let r = &system.resistance;
        let work_j = self.wheel_work_j(system.mass_kg, r.cda_m2, r.crr, system.wheel_radius_m);
        let measured_j = if work_j > 0.0 {
            work_j / r.drivetrain_efficiency
        } else {
            0.0
        };
        measured_j / self.duration_s.max(1.0)
    }
}
