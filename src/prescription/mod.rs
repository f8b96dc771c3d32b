//! prescription

mod set;
pub use set::*;
