//! Colours of grades: the cividis scale in steps of two points.
//!
//! Nuñez, Anderton, Renslow (PLoS ONE 13(7), 2018: e0199239) made the scale so that it reads the same with and without colour
//! vision, and in grey. The eight colours stand in `picture.css` as classes `g0` to `g7`.

use maud::{Markup, html};

use super::n;

/// Grades in per cent at which one colour gives way to the next; up to the first, down to level, is colour 0.
pub const STEPS_PCT: [f64; 7] = [0.5, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0];

/// Which of the eight colours a grade (per cent) has.
pub fn class(grade_pct: f64) -> usize {
    STEPS_PCT.partition_point(|step| *step < grade_pct)
}

/// What each colour stands for.
fn label(class: usize) -> String {
    match class {
        0 => "down, level".to_owned(),
        7 => "12 % and more".to_owned(),
        1 => "to 2".to_owned(),
        _ => format!("to {}", STEPS_PCT[class]),
    }
}

/// Widths of the key's colours.
const WIDTHS: [f64; 8] = [78.0, 40.0, 40.0, 40.0, 40.0, 44.0, 44.0, 92.0];

/// The key: a row of the colours with what they stand for.
pub fn key() -> Markup {
    let total: f64 = WIDTHS.iter().sum();
    html! {
        svg.picture.key viewBox=(format!("0 0 {total} 30")) width=(total) height="30" role="img" aria-label="Key: grade in per cent, from dark for level to light for steep" {
            (swatches())
        }
    }
}

/// The colours with what they stand for, without a picture around them.
pub(super) fn swatches() -> Markup {
    html! {
        @for class in 0..8 {
            @let x: f64 = WIDTHS[..class].iter().sum();
            rect class=(format!("g{class}")) x=(x) y="0" width=(WIDTHS[class]) height="10" {}
            text x=(n(x + WIDTHS[class] / 2.0)) y="25" text-anchor="middle" { (label(class)) }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grade_on_a_step_belongs_to_the_gentler_colour() {
        assert_eq!(
            [-5.0, 0.5, 0.6, 2.0, 6.1, 12.0, 12.1].map(class),
            [0, 0, 1, 1, 4, 6, 7]
        );
    }

    /// Values of matplotlib 3's `cividis` at 0/7 to 7/7.
    #[test]
    fn colours_are_those_of_the_published_scale() {
        let published = [
            "#00224e", "#213b6e", "#4c556c", "#6c6e72", "#8e8978", "#b1a570", "#d9c55c", "#fee838",
        ];
        for (class, colour) in published.iter().enumerate() {
            let rule = format!(".g{class} {{ fill: {colour}; }}");
            assert!(super::super::STYLE.contains(&rule), "{rule}");
        }
    }
}
