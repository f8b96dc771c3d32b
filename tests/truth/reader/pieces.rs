//! Any piece of road after any other, to a reader who knows no more.

use super::super::definition::TOLERANCE_SHARE;
use super::grammar::{Level, Place};

/// How often pieces have which grades, for a reader who knows no more.
const GRADES: [(f64, f64, f64); 7] = [
    (0.2, -9.0, -4.5),
    (0.05, -4.5, -1.0),
    (0.28, -1.0, 1.2),
    (0.07, 1.2, 3.5),
    (0.16, 3.5, 6.0),
    (0.13, 6.0, 8.5),
    (0.11, 8.5, 11.0),
];

/// What is left of a range of grades after one of this grade, with its share of the range. Where two keep within the definition's tolerance of each other the road
/// does not turn: it is one piece.
pub fn turning_from(grade_pct: f64, (low_pct, high_pct): (f64, f64)) -> [(f64, f64, f64); 2] {
    let tolerance_pct = TOLERANCE_SHARE * (grade_pct.abs() + 1.0);
    let below = (low_pct, high_pct.min(grade_pct - tolerance_pct));
    let above = (low_pct.max(grade_pct + tolerance_pct), high_pct);
    [below, above].map(|(from_pct, to_pct)| {
        let share = (to_pct - from_pct).max(0.0) / (high_pct - low_pct);
        (share, from_pct, to_pct)
    })
}

/// Any piece after one of this grade.
pub fn follow(grade_pct: f64, mut each: impl FnMut(Place, f64, &Level)) {
    let parts = GRADES.iter().flat_map(|&(share, low_pct, high_pct)| {
        turning_from(grade_pct, (low_pct, high_pct))
            .map(|(part, from, to)| (share * part, from, to))
    });
    let total: f64 = parts.clone().map(|(share, ..)| share).sum();
    for (share, from_pct, to_pct) in parts.filter(|part| part.0 > 0.0) {
        let level = Level::flat_pct(from_pct, to_pct);
        each(Place::Any, share / total, &level);
    }
}
