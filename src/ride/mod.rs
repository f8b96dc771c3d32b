//! A rider on a profile: what holds them back, how fast a power moves them, how long a stretch takes.
//!
//! The road model is that of Martin, Milliken, Cobb, McFadden and Coggan, "Validation of a mathematical model for road
//! cycling power", Journal of Applied Biomechanics 14, 1998, 276–291. [`resistance`] holds its terms, [`motion`]
//! integrates them, [`pacing`] says how the rider doses the power, and [`uncertainty`] how sure a duration is.

pub mod air;
pub mod bends;
pub mod gravity;
pub mod motion;
pub mod pacing;
pub mod passage;
pub mod resistance;
mod rider;
pub mod uncertainty;

pub use air::{Weather, Wind};
pub use motion::{Moment, Sample, Until, advance};
pub use pacing::{Pace, Pacing};
pub use passage::{Passage, passages};
pub use resistance::{Cell, Road, System};
pub use rider::{Resistance, Rider};
pub use uncertainty::{DurationRange, Unknown, Unknowns};

/// Speed at a route's very start, in metres per second: pushing off at a walk.
pub const PUSH_OFF_SPEED_MS: f64 = 1.5;
