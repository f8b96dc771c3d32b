//! What holds a rider back: the terms of the road model of Martin et al. (1998).

use rayon::prelude::*;

use super::{Resistance, Weather, air, bends, gravity};
use crate::profile::Profile;

/// Drag area of the turning spokes, in square metres (Martin et al. 1998, p. 280).
pub const SPOKE_DRAG_AREA_M2: f64 = 0.0044;
/// Moment of inertia of both wheels, in kg·m² (Martin et al. 1998, p. 282).
pub const WHEEL_INERTIA_KG_M2: f64 = 0.14;
/// Friction of the wheel bearings at rest, in newtons (Martin et al. 1998, equation 6: 91 mW per m/s).
const BEARING_FRICTION_N: f64 = 0.091;
/// Friction of the wheel bearings that grows with speed, in newtons per m/s (Martin et al. 1998, equation 6).
const BEARING_FRICTION_N_PER_MS: f64 = 0.0087;

/// Friction of the wheel bearings at a speed (m/s), in newtons.
pub fn bearing_friction_n(speed_ms: f64) -> f64 {
    BEARING_FRICTION_N + BEARING_FRICTION_N_PER_MS * speed_ms
}

/// Rider and bike as one moving body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct System {
    /// Everything that is carried up the hill, in kilograms.
    pub mass_kg: f64,
    /// Radius of the wheels, in metres.
    pub wheel_radius_m: f64,
    /// Air, tyres, drivetrain.
    pub resistance: Resistance,
}

impl System {
    /// Mass that has to be accelerated: the wheels turn as well as move (Martin et al. 1998, equation 11), in kilograms.
    pub fn inertial_mass_kg(&self) -> f64 {
        self.mass_kg + WHEEL_INERTIA_KG_M2 / (self.wheel_radius_m * self.wheel_radius_m)
    }
}

/// The forces on a short stretch of road of one grade, ready to be evaluated at any speed.
///
/// Force = `constant_n` + `per_speed` · v + `per_speed_squared` · |v + w| · (v + w), with v the road speed and w the headwind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// Length along the slope, in metres.
    pub slope_length_m: f64,
    /// Gravity, rolling and resting bearing friction, in newtons.
    pub constant_n: f64,
    /// Drag per squared air speed, in newtons per (m/s)².
    pub drag_n_per_ms2: f64,
    /// Headwind along the road, in metres per second.
    pub headwind_ms: f64,
}

impl Cell {
    /// A stretch of `run_m` horizontal metres at a `grade` (rise over run).
    pub fn new(
        system: &System,
        run_m: f64,
        grade: f64,
        density_kg_m3: f64,
        gravity_m_s2: f64,
        headwind_ms: f64,
    ) -> Self {
        let secant = (1.0 + grade * grade).sqrt();
        Cell {
            slope_length_m: run_m * secant,
            constant_n: gravity_force_n(system.mass_kg, gravity_m_s2, grade)
                + rolling_force_n(system.resistance.crr, system.mass_kg, gravity_m_s2, grade)
                + BEARING_FRICTION_N,
            drag_n_per_ms2: 0.5 * density_kg_m3 * (system.resistance.cda_m2 + SPOKE_DRAG_AREA_M2),
            headwind_ms,
        }
    }

    /// All that holds the rider back at a road speed (m/s), in newtons; negative where the road and the wind push.
    pub fn force_n(&self, speed_ms: f64) -> f64 {
        let air_speed = speed_ms + self.headwind_ms;
        self.constant_n
            + BEARING_FRICTION_N_PER_MS * speed_ms
            + self.drag_n_per_ms2 * air_speed.abs() * air_speed
    }

    /// How that force changes with the road speed, in newtons per (m/s).
    pub fn force_change_n_per_ms(&self, speed_ms: f64) -> f64 {
        BEARING_FRICTION_N_PER_MS + 2.0 * self.drag_n_per_ms2 * (speed_ms + self.headwind_ms).abs()
    }

    /// Power at the crank that holds a speed (m/s), in watts (Martin et al. 1998, equation 14 without acceleration).
    ///
    /// Negative where the rider would have to brake.
    pub fn power_for_speed_w(&self, speed_ms: f64, drivetrain_efficiency: f64) -> f64 {
        let at_wheel = self.force_n(speed_ms) * speed_ms;
        if at_wheel > 0.0 {
            at_wheel / drivetrain_efficiency
        } else {
            at_wheel
        }
    }

    /// The speed that a crank power holds, in metres per second.
    ///
    /// The fastest steady speed; 0 where the power cannot move the rider. Found to 1e-12 by bracketed Newton steps.
    pub fn speed_for_power_ms(&self, power_w: f64, drivetrain_efficiency: f64) -> f64 {
        let at_wheel = power_w * drivetrain_efficiency;
        let surplus = |v: f64| self.force_n(v) * v - at_wheel;
        let mut high = 1.0;
        while surplus(high) < 0.0 && high < 1e3 {
            high *= 2.0;
        }
        let mut low = 0.0;
        let mut v = high;
        for _ in 0..100 {
            let excess = surplus(v);
            if excess > 0.0 {
                high = v
            } else {
                low = v
            }
            let slope = self.force_n(v) + v * self.force_change_n_per_ms(v);
            let newton = v - excess / slope;
            let next = if newton > low && newton < high {
                newton
            } else {
                0.5 * (low + high)
            };
            if (next - v).abs() <= 1e-13 * v.max(1e-3) {
                return next;
            }
            v = next;
        }
        v
    }
}

/// The pull down the slope, in newtons (Martin et al. 1998, equation 8 over speed).
pub fn gravity_force_n(mass_kg: f64, gravity_m_s2: f64, grade: f64) -> f64 {
    mass_kg * gravity_m_s2 * grade / (1.0 + grade * grade).sqrt()
}

/// Rolling resistance, in newtons (Martin et al. 1998, equation 5 over speed).
pub fn rolling_force_n(crr: f64, mass_kg: f64, gravity_m_s2: f64, grade: f64) -> f64 {
    crr * mass_kg * gravity_m_s2 / (1.0 + grade * grade).sqrt()
}

/// A profile as one rider feels it: the forces of each even stretch.
#[derive(Debug, Clone, PartialEq)]
pub struct Road {
    /// Horizontal length of every stretch, in metres; the first starts at distance 0.
    pub spacing_m: f64,
    /// The stretches, one fewer than the profile has nodes.
    pub cells: Vec<Cell>,
    /// The fastest a rider goes on each stretch where they may brake, in metres per second (see [`super::bends`]).
    pub limit_ms: Vec<f64>,
    /// Mass that has to be accelerated, in kilograms.
    pub inertial_mass_kg: f64,
    /// The share of crank power that reaches the wheel.
    pub drivetrain_efficiency: f64,
}

/// Fewer cells than this are not worth another thread.
const CELLS_AT_ONCE: usize = 1000;

impl Road {
    /// Puts a rider on a profile in some weather.
    pub fn new(profile: &Profile, system: &System, weather: &Weather) -> Self {
        let h = profile.spacing_m;
        let cells = (0..profile.elevation_m.len().saturating_sub(1))
            .into_par_iter()
            .with_min_len(CELLS_AT_ONCE)
            .map(|i| {
                let elevation_m = 0.5 * (profile.elevation_m[i] + profile.elevation_m[i + 1]);
                let grade = (profile.elevation_m[i + 1] - profile.elevation_m[i]) / h;
                Cell::new(
                    system,
                    h,
                    grade,
                    air::density_kg_m3(elevation_m, weather),
                    gravity::normal_gravity_m_s2(profile.lat_deg[i].to_radians(), elevation_m),
                    weather.wind.headwind_ms(profile.bearing_rad[i]),
                )
            })
            .collect();
        Road {
            spacing_m: h,
            limit_ms: bends::limits_ms(&profile.bearing_rad, h),
            cells,
            inertial_mass_kg: system.inertial_mass_kg(),
            drivetrain_efficiency: system.resistance.drivetrain_efficiency,
        }
    }

    /// Horizontal length, in metres.
    pub fn length_m(&self) -> f64 {
        self.spacing_m * self.cells.len() as f64
    }
}
