//! Hillwright.
pub mod cli;
pub mod climbs;
pub mod files;
pub mod gearing;
pub mod matching;
pub mod output;
pub mod prescription;
pub mod profile;
pub mod ride;
pub mod route;
