//! Pictures as SVG: map, profile, reps enlarged. Each is a function from data to markup; pages and files frame it.

pub mod grades;
mod lines;
pub mod map;
mod marks;
pub mod profile;
pub mod relief;
pub mod ridden;
pub mod strip;

pub use marks::Mark;
pub(super) use marks::lanes;

use super::rounded;

/// Classes of the pictures, light and dark.
pub const STYLE: &str = include_str!("picture.css");

/// Size of a profile that stands alone in a file.
pub const ALONE: (f64, f64) = (1120.0, 300.0);

/// A coordinate, to a tenth of a unit.
fn n(value: f64) -> f64 {
    rounded(value, 1)
}

/// A picture that stands alone in a file.
pub fn standalone(picture: &maud::Markup) -> String {
    let style = format!("<style>{STYLE}</style>");
    let text = picture.0.as_str();
    // The style goes in right after the opening tag.
    match text.find('>') {
        Some(end) => format!("{}{style}{}\n", &text[..=end], &text[end + 1..]),
        None => String::new(),
    }
}
