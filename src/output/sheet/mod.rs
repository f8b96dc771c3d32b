//! Pages to look at and to print, each one file that asks for nothing else.
//!
//! [`plan`], [`climbs`] and [`review`] are the bodies of the sheets, [`card`] is the strip for a stem; [`page`] frames them.

pub mod card;
pub mod card_steps;
pub mod climbs;
pub(crate) mod gears;
pub(crate) mod notes;
pub mod page;
pub mod plan;
mod reps;
pub mod review;
pub mod road;
mod trainer;
