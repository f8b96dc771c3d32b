//! The bike: tyre, chainrings, sprockets; cadence, torque and pedal force; which gear suits.
//!
//! [`development`] turns tyre and teeth into metres per turn of the cranks, [`effort`] power and cadence into torque and
//! pedal force, [`chart`] says at each grade which gear turns what and whether that suits.

pub mod along;
mod bands;
mod bike;
pub mod chart;
pub mod development;
pub mod effort;
pub mod sequence;

pub use bands::{Band, Bands};
pub use bike::{Bike, PowerMeasuredAt, Tyre};
pub use chart::{Change, Chart, GearAtGrade, GradeColumn, Window};
pub use development::{Gear, gear_name};

use crate::ride::{Resistance, Rider, System};

/// A bike under a rider: what moves, in which gears, and how the measured power reaches the cranks.
#[derive(Debug, Clone, PartialEq)]
pub struct Drive {
    /// Rider and bike as one moving body; its drivetrain loses what is lost after the power is measured.
    pub system: System,
    /// Every gear, lowest development first.
    pub gears: Vec<Gear>,
    /// Crank length, in millimetres.
    pub crank_mm: f64,
    /// Power at the cranks over measured power: 1, or more where the power is measured at the hub.
    pub crank_per_measured: f64,
}

impl Drive {
    /// Puts a rider on a bike.
    ///
    /// Where the power is measured at the hub, the drivetrain's loss is already gone from it and is not taken again.
    pub fn new(rider: &Rider, bike: &Bike, resistance: &Resistance) -> Self {
        let efficiency = resistance.drivetrain_efficiency;
        let (after_measuring, crank_per_measured) = match bike.power_measured_at {
            PowerMeasuredAt::Crank => (efficiency, 1.0),
            PowerMeasuredAt::Hub => (1.0, 1.0 / efficiency),
        };
        let system = System {
            mass_kg: rider.mass_kg + bike.mass_kg + bike.kit_kg,
            wheel_radius_m: bike.tyre.circumference_m() / std::f64::consts::TAU,
            resistance: Resistance {
                drivetrain_efficiency: after_measuring,
                ..*resistance
            },
        };
        Drive {
            system,
            gears: bike.gears(),
            crank_mm: bike.crank_mm,
            crank_per_measured,
        }
    }

    /// Metres per turn of the cranks in the lowest gear.
    pub fn lowest_development_m(&self) -> f64 {
        self.gears
            .iter()
            .map(|g| g.development_m)
            .fold(f64::INFINITY, f64::min)
    }

    /// Metres per turn of the cranks in the highest gear.
    pub fn highest_development_m(&self) -> f64 {
        self.gears
            .iter()
            .map(|g| g.development_m)
            .fold(0.0, f64::max)
    }
}
