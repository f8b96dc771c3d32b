//! A rider with a script, a quarter of a second at a time.

use super::make_demo::random::GaussMarkov;
use super::make_demo::road::Road;

/// What rider, bike and air are in truth.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Truth {
    /// Everything that is carried, in kilograms.
    pub(crate) mass_kg: f64,
    pub(crate) cda_m2: f64,
    pub(crate) crr: f64,
    pub(crate) efficiency: f64,
    /// Wind at the rider's height: speed in m/s, and where it comes from in degrees.
    pub(crate) wind: (f64, f64),
}

/// The rider of `sample-routes/rider.toml`.
pub(crate) const AS_THE_FILE_SAYS: Truth = Truth {
    mass_kg: 80.5,
    cda_m2: 0.36,
    crr: 0.005,
    efficiency: 0.977,
    wind: (0.0, 0.0),
};

/// A rep of the script.
#[derive(Debug, Clone, Copy)]
pub(crate) struct ScriptRep {
    /// Where it starts, along the loop, in metres.
    pub(crate) start_m: f64,
    /// How long it lasts, in seconds, halts included.
    pub(crate) duration_s: f64,
    /// Metres per turn.
    pub(crate) development_m: f64,
    pub(crate) rpm: f64,
    /// Least and most power.
    pub(crate) power_w: (f64, f64),
    /// A halt: after so many seconds, for so many.
    pub(crate) halt: Option<(f64, f64)>,
}

/// How the rest is ridden.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Between {
    /// Power on level road, in watts; pushed harder uphill.
    pub(crate) easy_w: f64,
    /// The rider brakes at this speed, in m/s.
    pub(crate) fastest_ms: f64,
    /// Where it all ends, along the loop.
    pub(crate) until_m: f64,
    /// Waits at junctions: where, and for how long.
    pub(crate) waits: &'static [(f64, f64)],
}

/// One second of the ride as it was.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Instant {
    pub(crate) distance_m: f64,
    pub(crate) power_w: f64,
    pub(crate) rpm: f64,
}

/// A rep as it was ridden.
#[derive(Debug, Clone, Copy)]
pub(crate) struct KnownRep {
    pub(crate) start_s: f64,
    pub(crate) end_s: f64,
    pub(crate) start_m: f64,
    pub(crate) end_m: f64,
}

pub(crate) struct Ride {
    pub(crate) seconds: Vec<Instant>,
    pub(crate) reps: Vec<KnownRep>,
}

const PARTS: usize = 4;
const STEP_S: f64 = 1.0 / PARTS as f64;
const WHEEL_RADIUS_M: f64 = 0.339;
const WHEEL_INERTIA: f64 = 0.14;
const GRAVITY: f64 = 9.806;
/// Developments of 50 and 34 on 11 to 30 with a 28-622 tyre (2.130 m), from memory of how a derailleur bike is geared.
const WHEEL_M: f64 = 2.130;
const SPROCKETS: [f64; 11] = [
    11.0, 12.0, 13.0, 14.0, 15.0, 17.0, 19.0, 21.0, 24.0, 27.0, 30.0,
];

/// ISO 2533's density, by its barometric formula.
fn density(elevation_m: f64) -> f64 {
    1.225 * (1.0 - 2.255_77e-5 * elevation_m).powf(4.255_88)
}

/// What holds the rider back along the slope, in newtons (Martin et al. 1998, equations 1 to 8).
pub(crate) fn resistance_n(
    truth: &Truth,
    v: f64,
    grade: f64,
    elevation_m: f64,
    headwind: f64,
) -> f64 {
    let cosine = 1.0 / (1.0 + grade * grade).sqrt();
    let air = v + headwind;
    truth.mass_kg * GRAVITY * cosine * (grade + truth.crr)
        + 0.5 * density(elevation_m) * (truth.cda_m2 + 0.0044) * air * air.abs()
        + 0.091
        + 0.0087 * v
}

/// Rides the script.
pub(crate) fn ride(
    road: &Road,
    truth: &Truth,
    script: &[ScriptRep],
    between: &Between,
    seed: u64,
) -> Ride {
    let inertial_kg = truth.mass_kg + WHEEL_INERTIA / (WHEEL_RADIUS_M * WHEEL_RADIUS_M);
    let limits = limits_ms(road, between);
    let mut mood = GaussMarkov::new(0.04, 20.0, seed);
    let mut legs = GaussMarkov::new(0.08, 90.0, seed + 1);
    let mut waits = between.waits.iter().peekable();
    let mut next = script.iter().peekable();
    let mut open: Option<(ScriptRep, f64, f64)> = None;
    let (mut x, mut v, mut t) = (0.0_f64, 1.0_f64, 0.0_f64);
    let (mut power, mut rpm) = (0.0_f64, 0.0_f64);
    let mut still_until_s = 0.0;
    let mut out = Ride {
        seconds: Vec::new(),
        reps: Vec::new(),
    };
    while x < between.until_m {
        let mut mean = Instant {
            distance_m: x,
            ..Instant::default()
        };
        let (whim, drive) = (mood.advance(1.0), legs.advance(1.0));
        for _ in 0..PARTS {
            if open.is_none()
                && let Some(rep) = next.next_if(|r| r.start_m <= x)
            {
                open = Some((*rep, t, x));
            }
            if let Some((rep, from_s, from_m)) = open
                && t - from_s >= rep.duration_s
            {
                out.reps.push(KnownRep {
                    start_s: from_s,
                    end_s: t,
                    start_m: from_m,
                    end_m: x,
                });
                open = None;
            }
            if let Some(wait) = waits.next_if(|w| w.0 <= x) {
                still_until_s = t + wait.1;
            }
            if let Some((rep, from_s, _)) = open
                && let Some((after_s, for_s)) = rep.halt
            {
                let since = t - from_s;
                if (after_s..after_s + for_s).contains(&since) {
                    still_until_s = from_s + after_s + for_s;
                }
            }
            let grade = road.grade_pct(x) / 100.0;
            let elevation = road.elevation_m(x);
            let headwind = headwind_ms(road, x, truth);
            let held_back = resistance_n(truth, v, grade, elevation, headwind);
            let (mut want_w, mut want_rpm) = (0.0, 0.0);
            if t < still_until_s {
                v = (v - 2.5 * STEP_S).max(0.0);
            } else if let Some((rep, _, _)) = open {
                let gear_m = rep.development_m;
                let target = rep.rpm / 60.0 * gear_m;
                let hold = (held_back * v.max(1.0)
                    + 0.35 * inertial_kg * (target - v) * v.max(1.0))
                    / truth.efficiency;
                want_w = (hold * (1.0 + whim)).clamp(rep.power_w.0, rep.power_w.1);
                want_rpm = 60.0 * v / gear_m;
            } else {
                let limit = limits[((x / road.step_m) as usize).min(limits.len() - 1)];
                let uphill_w = 3200.0 * (grade - 0.01).max(0.0);
                want_w = (between.easy_w + uphill_w)
                    .min(1.6 * between.easy_w)
                    .max(held_back * 2.2)
                    * (1.0 + drive);
                want_w = want_w.min(330.0);
                if grade < -0.025 || v > limit - 0.3 {
                    want_w = 0.0;
                } else {
                    let gear_m = gear_for(v, if grade > 0.03 { 74.0 } else { 84.0 });
                    want_rpm = 60.0 * v / gear_m;
                }
                if v > limit {
                    v = (v - 1.5 * STEP_S).max(limit);
                }
            }
            // Legs take a moment to follow.
            power += (want_w - power) * (STEP_S / 0.8).min(1.0);
            rpm += (want_rpm - rpm) * (STEP_S / 0.6).min(1.0);
            if t >= still_until_s {
                let thrust = power * truth.efficiency / v.max(0.8);
                v = (v + STEP_S * (thrust - held_back) / inertial_kg).max(0.3);
            }
            x += STEP_S * v / (1.0 + grade * grade).sqrt();
            t += STEP_S;
            mean.power_w += power / PARTS as f64;
            mean.rpm += rpm / PARTS as f64;
        }
        out.seconds.push(mean);
    }
    out
}

fn gear_for(v: f64, rpm: f64) -> f64 {
    let all = [50.0, 34.0]
        .into_iter()
        .flat_map(|ring| SPROCKETS.map(|s| WHEEL_M * ring / s));
    all.min_by(|a, b| {
        let off = |d: f64| (60.0 * v / d - rpm).abs();
        off(*a).total_cmp(&off(*b))
    })
    .unwrap()
}

fn headwind_ms(road: &Road, x: f64, truth: &Truth) -> f64 {
    let ([ax, ay], [bx, by]) = (road.place(x - 5.0), road.place(x + 5.0));
    let bearing = (bx - ax).atan2(by - ay);
    truth.wind.0 * (truth.wind.1.to_radians() - bearing).cos()
}

fn limits_ms(road: &Road, between: &Between) -> Vec<f64> {
    let mut limits: Vec<f64> = (0..road.nodes.len())
        .map(|n| {
            (2.8 / road.bend_per_m(n as f64 * road.step_m).max(1e-6))
                .sqrt()
                .min(between.fastest_ms)
        })
        .collect();
    for (at_m, _) in between.waits {
        limits[(at_m / road.step_m) as usize] = 0.7;
    }
    for n in (0..limits.len() - 1).rev() {
        limits[n] = limits[n].min((limits[n + 1].powi(2) + 2.0 * 1.2 * road.step_m).sqrt());
    }
    limits
}
