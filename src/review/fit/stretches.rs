//! Stretches of a recording whose energy balance says something about mass and drag, and why the others don't.

use crate::profile::Profile;
use crate::review::energy::{Ledger, Terms};
use crate::review::seconds::Seconds;
use crate::ride::{System, Weather};

/// Length of a stretch, in seconds. Shorter ones are mostly the error of elevation and speed at their ends; longer ones mix
/// climbs with level road.
pub const STRETCH_S: usize = 30;
/// Slower than this somewhere is no riding, in metres per second.
const LEAST_MS: f64 = 2.0;
/// Cranks at rest, or no power, for more than this is coasting, in which nobody sees brakes; in seconds.
const MOST_COASTING_S: f64 = 1.0;
/// Less power than this, in watts, is none.
const NO_POWER_W: f64 = 10.0;
/// Less mean power than this is soft pedalling, in watts: a power meter is at its worst, and the rider may be sheltered or rolling.
const SOFT_W: f64 = 70.0;
/// Steeper downhill than this, as rise over run, brakes are near.
const DOWNHILL: f64 = -0.02;
/// Slowing down by so much more than the road explains is braking, in m/s².
const BRAKING_MS2: f64 = 0.35;
/// Speeding up or slowing down by more than this share of the work says more about the speed's error than about mass.
const MOST_KINETIC_SHARE: f64 = 0.4;
/// Errors that weigh a stretch: of an elevation's change in metres where the recording's noise is a metre, of a speed in metres per
/// second, of the work as a share, of the wind in metres per second.
const ERRORS: (f64, f64, f64, f64) = (0.7, 0.2, 0.01, 0.7);

/// Why a stretch is left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Dropped {
    /// A halt, or walking pace.
    Halt,
    /// A hole in the recording, or in the power.
    NoData,
    /// Cranks at rest.
    Coasting,
    /// Slowing down by more than road and air explain.
    Braking,
    /// Downhill by more than 2 %.
    Downhill,
    /// Less than 70 W.
    SoftPedalling,
    /// Mostly a change of speed.
    ChangingSpeed,
}

impl Dropped {
    /// In words.
    pub fn name(self) -> &'static str {
        match self {
            Dropped::Halt => "halts and walking pace",
            Dropped::NoData => "holes in line or power",
            Dropped::Coasting => "coasting",
            Dropped::Braking => "braking",
            Dropped::Downhill => "downhill steeper than 2 %",
            Dropped::SoftPedalling => "soft pedalling, below 70 W",
            Dropped::ChangingSpeed => "mostly a change of speed",
        }
    }
}

/// A stretch to fit to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// What it took.
    pub terms: Terms,
    /// Work at the wheel, in joules.
    pub wheel_work_j: f64,
    /// Standard error of its balance, in joules, up to a common factor.
    pub error_j: f64,
    /// Radius of the wheels, in metres.
    pub wheel_radius_m: f64,
    /// Whether the one before in the list ends where it begins.
    pub joined: bool,
}

/// Cuts a recording; returns what is left out with its reason, in seconds.
pub fn cut(
    seconds: &Seconds,
    profile: &Profile,
    system: &System,
    weather: &Weather,
) -> (Vec<Stretch>, Vec<(Dropped, f64)>) {
    let ledger = Ledger::new(seconds, profile, weather);
    let mut kept = Vec::new();
    let mut dropped = Vec::new();
    let mut last_end = usize::MAX;
    let mut from = 0;
    while from + STRETCH_S < ledger.count() {
        let to = from + STRETCH_S;
        let terms = ledger.between(from, to);
        match fault(seconds, &ledger, (from, to), &terms, system) {
            Some(why) => dropped.push((why, STRETCH_S as f64)),
            None => {
                kept.push(Stretch {
                    wheel_work_j: terms.work_j * system.resistance.drivetrain_efficiency,
                    error_j: error_j(&terms, profile, system),
                    wheel_radius_m: system.wheel_radius_m,
                    joined: last_end == from,
                    terms,
                });
                last_end = to;
            }
        }
        from = to;
    }
    (kept, dropped)
}

fn fault(
    seconds: &Seconds,
    ledger: &Ledger,
    (from, to): (usize, usize),
    terms: &Terms,
    system: &System,
) -> Option<Dropped> {
    let all = from..to;
    if all
        .clone()
        .any(|i| seconds.halted[i] || seconds.speed_ms[i] < LEAST_MS)
    {
        return Some(Dropped::Halt);
    }
    if terms.missing_s > 0.0 || seconds.known[from..=to].contains(&false) {
        return Some(Dropped::NoData);
    }
    let grade = terms.rise_m / terms.run_m;
    if grade < DOWNHILL {
        return Some(Dropped::Downhill);
    }
    let at_rest = |i: &usize| {
        let idle = seconds.cadence_rpm[*i].is_some_and(|c| c < 1.0);
        idle || seconds.power_w[*i].is_some_and(|p| p < NO_POWER_W)
    };
    let coasting_s = all.clone().filter(at_rest).count() as f64;
    if coasting_s > MOST_COASTING_S {
        return Some(Dropped::Coasting);
    }
    if all.clone().any(|i| brakes(seconds, ledger, i, system)) {
        return Some(Dropped::Braking);
    }
    if terms.work_j < SOFT_W * terms.duration_s {
        return Some(Dropped::SoftPedalling);
    }
    let kinetic_j = system.inertial_mass_kg() * terms.half_dv2_m2_s2;
    (kinetic_j.abs() > MOST_KINETIC_SHARE * terms.work_j).then_some(Dropped::ChangingSpeed)
}

/// Whether the speed falls over four seconds by more than road, air and power explain.
fn brakes(seconds: &Seconds, ledger: &Ledger, i: usize, system: &System) -> bool {
    const OVER_S: usize = 4;
    let to = i + OVER_S;
    if to >= seconds.count() {
        return false;
    }
    let r = &system.resistance;
    let terms = ledger.between(i, to);
    let lost_j = terms.work_j * r.drivetrain_efficiency
        - terms.wheel_work_j(system.mass_kg, r.cda_m2, r.crr, system.wheel_radius_m);
    let way_m = terms.run_m.max(1.0);
    lost_j / way_m / system.mass_kg > BRAKING_MS2
}

fn error_j(terms: &Terms, profile: &Profile, system: &System) -> f64 {
    let (rise, speed, work, wind) = ERRORS;
    let v = terms.run_m / terms.duration_s;
    let rise_m = rise * profile.noise.total_sd_m().max(0.2);
    let parts = [
        system.mass_kg * terms.gravity_m_s2 * rise_m,
        system.mass_kg * v * speed * std::f64::consts::SQRT_2,
        work * terms.work_j,
        // d(½ρ CdA v_a² s) = ρ CdA v_a s dw
        2.0 * system.resistance.cda_m2 * terms.air_j_per_m2 / v * wind,
    ];
    parts.iter().map(|p| p * p).sum::<f64>().sqrt()
}
