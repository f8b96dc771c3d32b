//! Hillwright.
pub mod gearing;
pub mod prescription;
pub mod ride;
pub mod route;
