//! How roads go in general: up and down in turn, with level road between. A climb may step to another grade, and now and then there is a short
//! ramp, a row of lumps or a grade that changes evenly.
//!
//! Lengths and grades are wide, and so are the odds: nothing is told of how often the bench draws what, nor of the gaps that it leaves, so that no
//! truth hangs on a few metres. All numbers are round (common practice, no source). What stays the bench's is how far grades wander, how common kinks are on
//! climbs, how fast a grade changes that changes evenly, and the flat that every road starts with.

use super::super::definition::LEAST_LENGTH_M;
use super::grammar::{Level, Place};
use super::pieces::turning_from;

/// A piece of road in general.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Piece {
    /// A steady climb that is long enough,
    Climb,
    /// and one that is not.
    Short,
    /// Level road on top,
    Top,
    /// and below.
    Foot,
    /// A way down.
    Down,
    /// A hard one in a row of lumps,
    Hard,
    /// and an easy one.
    Easy,
    /// A grade that rises evenly,
    Steepening,
    /// or falls.
    Easing,
}

/// All, in the order of the shares of [`Piece::followed_by`].
const PIECES: [Piece; 9] = [
    Piece::Climb,
    Piece::Short,
    Piece::Top,
    Piece::Foot,
    Piece::Down,
    Piece::Hard,
    Piece::Easy,
    Piece::Steepening,
    Piece::Easing,
];

impl Piece {
    /// Shortest and longest, in metres.
    pub fn lengths_m(self) -> (f64, f64) {
        match self {
            Self::Climb => (LEAST_LENGTH_M, 4000.0),
            Self::Short => (80.0, LEAST_LENGTH_M),
            Self::Top | Self::Foot | Self::Down => (80.0, 4000.0),
            Self::Hard | Self::Easy => (60.0, 250.0),
            Self::Steepening | Self::Easing => (300.0, 900.0),
        }
    }

    /// Its grade at the start, in per cent: parts of equal share. One normal distribution as wide as all of them would say less of each.
    fn grades_pct(self) -> &'static [(f64, f64)] {
        match self {
            Self::Climb | Self::Short => &[(3.0, 5.5), (5.5, 8.5), (8.5, 13.0)],
            Self::Top | Self::Foot => &[(-2.0, 3.0)],
            Self::Down => &[(-10.0, -6.0), (-6.0, -2.0)],
            Self::Hard => &[(5.0, 12.0)],
            Self::Easy => &[(-1.5, 4.0)],
            Self::Steepening => &[(-0.5, 2.5)],
            Self::Easing => &[(7.0, 12.0)],
        }
    }

    /// How much its grade changes a metre, mean and standard deviation: from 1 to 9.5 % in 500 m.
    fn change(self) -> (f64, f64) {
        match self {
            Self::Steepening => (1.7e-4, 0.4e-4),
            Self::Easing => (-1.7e-4, 0.4e-4),
            _ => (0.0, 0.0),
        }
    }

    /// Shares of the pieces that follow it, in the order of [`PIECES`]; only their ratios count.
    #[rustfmt::skip]
    fn followed_by(self) -> [f64; 9] {
        match self {
            Self::Climb | Self::Short => [0.20, 0.03, 0.35, 0.0, 0.30, 0.015, 0.015, 0.012, 0.012],
            Self::Top => [0.30, 0.05, 0.0, 0.0, 0.70, 0.010, 0.010, 0.010, 0.010],
            Self::Foot => [0.50, 0.10, 0.0, 0.0, 0.15, 0.075, 0.075, 0.060, 0.060],
            Self::Down => [0.30, 0.10, 0.0, 0.5, 0.10, 0.025, 0.025, 0.020, 0.020],
            Self::Hard => [0.03, 0.0, 0.08, 0.0, 0.04, 0.0, 0.85, 0.0, 0.0],
            Self::Easy => [0.03, 0.0, 0.08, 0.0, 0.04, 0.85, 0.0, 0.0, 0.0],
            Self::Steepening | Self::Easing => [0.30, 0.0, 0.40, 0.0, 0.30, 0.0, 0.0, 0.0, 0.0],
        }
    }
}

/// Names every piece that may follow one of this grade, with its share and level. Where the two keep within the definition's tolerance of each
/// other the road does not turn: it is one piece.
pub fn follow(piece: Piece, grade_pct: f64, mut each: impl FnMut(Place, f64, &Level)) {
    let mut parts: Vec<(Piece, f64, (f64, f64))> = Vec::with_capacity(32);
    for (next, share) in PIECES.into_iter().zip(piece.followed_by()) {
        let grades = next.grades_pct();
        for &grades_pct in grades {
            for (part, from_pct, to_pct) in turning_from(grade_pct, grades_pct) {
                let share = share * part / grades.len() as f64;
                parts.push((next, share, (from_pct, to_pct)));
            }
        }
    }
    let total: f64 = parts.iter().map(|part| part.1).sum();
    for (next, share, (from_pct, to_pct)) in parts {
        if share > 0.0 {
            let mut level = Level::flat_pct(from_pct, to_pct);
            let (change, sd) = next.change();
            (level.change, level.change_variance) = (change, sd * sd);
            each(Place::General(next), share / total, &level);
        }
    }
}
