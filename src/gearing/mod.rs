//! gearing

mod bike;
pub use bike::*;
