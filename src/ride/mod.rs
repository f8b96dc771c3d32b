//! ride

mod rider;
pub use rider::*;
