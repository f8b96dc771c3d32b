//! What the rider and the coach write: the rider file, the set file, the flags that stand for one block, the weather.
//!
//! This module turns text into the data types of [`crate::ride`], [`crate::gearing`] and [`Set`], and says of every
//! mistake where it is, what was seen, what was expected and in which unit. It computes nothing but the third of
//! power, cadence and torque from the other two ([`resolve`]).
//!
//! ```
//! use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set, resolve};
//!
//! let rider_file = parse_rider(EXAMPLE_RIDER)?;
//! let set = parse_set(EXAMPLE_SET)?;
//! let bands = resolve(&set.blocks[0], rider_file.rider.threshold_w, 1.0)?.expect("not a maximal effort");
//! assert_eq!(bands.power_w.aim, 207.5);
//! # Ok::<(), hillwright::prescription::PrescriptionError>(())
//! ```

mod bands;
mod duration;
mod error;
mod examples;
mod flags;
mod forecast;
mod quantity;
mod report;
mod rider_file;
mod set;
mod set_file;
mod table;
mod write;

pub use bands::*;
pub use duration::{duration_text, parse_duration};
pub use error::*;
pub use examples::*;
pub use flags::*;
pub use forecast::*;
pub use rider_file::*;
pub use set::*;
pub use set_file::*;
pub use write::{measured_at, rider_text, set_text, toml_text};
