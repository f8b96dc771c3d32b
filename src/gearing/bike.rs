//! The bike: mass, tyre, chainrings, sprockets, cranks.

/// A bike, and what is carried on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Bike {
    /// Mass of the bike, in kilograms.
    pub mass_kg: f64,
    /// Clothes, shoes, helmet, bottles and tools, in kilograms.
    pub kit_kg: f64,
    /// The driven wheel's tyre.
    pub tyre: Tyre,
    /// Teeth of the chainrings, in the order the file names them.
    pub chainrings: Vec<u32>,
    /// Teeth of the sprockets, in the order the file names them.
    pub sprockets: Vec<u32>,
    /// Ratios of a gear hub, wheel turns per sprocket turn; empty where the hub has none.
    pub hub_ratios: Vec<f64>,
    /// Crank length, in millimetres.
    pub crank_mm: f64,
    /// Where the power the rider reads is measured.
    pub power_measured_at: PowerMeasuredAt,
}

/// How the size of the driven wheel's tyre is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Tyre {
    /// The marking of ISO 5775: nominal section width and rim diameter, both in millimetres ("28-622").
    Marked {
        /// Nominal section width, in millimetres.
        width_mm: f64,
        /// Nominal rim (bead seat) diameter, in millimetres.
        diameter_mm: f64,
    },
    /// The rolled circumference, measured, in millimetres.
    Measured {
        /// Distance along the road in one turn of the wheel, in millimetres.
        circumference_mm: f64,
    },
}

/// Where the power the rider reads is measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PowerMeasuredAt {
    /// At pedals, cranks or bottom bracket: the drivetrain's loss is still to come.
    Crank,
    /// At the rear hub: the drivetrain's loss is already gone.
    Hub,
}
