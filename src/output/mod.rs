//! Answers in every form: documents for JSON, tables for the terminal.
//!
//! [`document`] holds the JSON contract, made from results by [`climbs`], [`gears`], [`plan`] and [`tiles`]; their `text` functions print
//! the same documents for people, so that both forms always say the same.

pub mod asked;
pub mod cautions;
pub mod climbs;
mod climbs_text;
pub mod document;
mod document_near;
mod document_plan;
mod document_review;
pub mod drawing;
pub mod files;
pub mod gears;
pub mod gears_svg;
pub mod indoors;
pub mod near;
pub mod plan;
mod plan_forms;
pub(crate) mod plan_reps_text;
pub(crate) mod plan_text;
pub(crate) mod plan_words;
pub mod review;
pub mod review_csv;
mod review_findings;
mod review_fit;
mod review_text;
mod scale;
pub mod shared;
pub mod sheet;
pub mod squad;
pub mod terminal;
mod text;
pub mod tiles;

pub(crate) use text::clean;
pub use text::{Paper, Units, ascii};

use document::Place;

use crate::archive::Spot;
use crate::profile::Profile;

/// A place along a profile.
pub fn place(profile: &Profile, distance_m: f64) -> Place {
    Place::from(&Spot::at(profile, distance_m))
}

impl From<&Spot> for Place {
    fn from(spot: &Spot) -> Place {
        Place {
            distance_m: rounded(spot.distance_m, 1),
            lat: rounded(spot.lat_deg, 6),
            lon: rounded(spot.lon_deg, 6),
            elevation_m: rounded(spot.elevation_m, 1),
        }
    }
}

/// A number cut to a count of decimals, so that documents show what is known and no more.
pub fn rounded(value: f64, decimals: i32) -> f64 {
    let unit = 10f64.powi(decimals);
    let cut = (value * unit).round() / unit;
    if cut == 0.0 { 0.0 } else { cut }
}
