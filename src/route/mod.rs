//! route

mod model;
pub use model::*;
