//! The true profile: grade and elevation of every metre of a road.

use super::layout::{Piece, length_m};
use super::rng::{GaussMarkov, Rng};

/// The grade wanders inside a piece with this correlation length.
pub const WANDER_REACH_M: f64 = 150.0;
/// Vertical curves reach at most this far beyond a piece's ends.
const MARGIN_M: usize = 30;
/// Length of the vertical curve at either side of a kink, in metres.
const KINK_CURVE_M: f64 = 8.0;

/// Grade and elevation along a road.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Grade of each metre; element `i` is from `i` to `i + 1` metres.
    pub grade_pct: Vec<f64>,
    /// Elevation at each whole metre, one more than the grades.
    pub elevation_m: Vec<f64>,
    /// Whether each metre belongs to a kink.
    pub in_kink: Vec<bool>,
}

impl Profile {
    /// Elevation at a distance along the road, straight between whole metres.
    pub fn elevation_at_m(&self, distance_m: f64) -> f64 {
        let distance_m = distance_m.clamp(0.0, self.grade_pct.len() as f64);
        let cell = (distance_m as usize).min(self.grade_pct.len() - 1);
        self.elevation_m[cell] + (distance_m - cell as f64) * self.grade_pct[cell] / 100.0
    }

    /// Mean grade between two distances: rise over run.
    pub fn mean_grade_pct(&self, start_m: f64, end_m: f64) -> f64 {
        let rise_m = self.elevation_at_m(end_m) - self.elevation_at_m(start_m);
        100.0 * rise_m / (end_m - start_m)
    }
}

/// A piece's wander in points for every metre, with a margin at both sides for the vertical curves.
pub fn draw_wander(rng: &mut Rng, piece: &Piece) -> Vec<f64> {
    let mut process = GaussMarkov::new(piece.wander_sd_pct(), WANDER_REACH_M, rng);
    let count = piece.length_m as usize + 2 * MARGIN_M;
    (0..count).map(|_| process.advance(1.0, rng)).collect()
}

/// Joins the pieces by vertical curves, along which the grade goes evenly from one to the next.
pub fn build(pieces: &[Piece], wanders: &[Vec<f64>], base_elevation_m: f64) -> Profile {
    let total = length_m(pieces) as usize;
    let mut grade_pct = vec![0.0; total];
    let mut in_kink = vec![false; total];
    let mut start_m = 0.0;
    for (number, piece) in pieces.iter().enumerate() {
        let end_m = start_m + piece.length_m;
        let first = (start_m as usize).saturating_sub(MARGIN_M);
        let last = (end_m as usize + MARGIN_M).min(total);
        for cell in first..last {
            let middle_m = cell as f64 + 0.5;
            let rising = match number {
                0 => 1.0,
                _ => share_past(start_m, piece.curve_m, middle_m),
            };
            let falling = match pieces.get(number + 1) {
                None => 0.0,
                Some(next) => share_past(end_m, next.curve_m, middle_m),
            };
            let wander_pct = wanders[number][cell + MARGIN_M - start_m as usize];
            grade_pct[cell] +=
                rising * (1.0 - falling) * level_pct(piece, middle_m - start_m, wander_pct);
        }
        for kink in &piece.kinks {
            let from = (start_m + kink.from_m) as usize;
            in_kink[from..from + kink.length_m as usize].fill(true);
        }
        start_m = end_m;
    }
    let elevation_m = climb_up(base_elevation_m, &grade_pct);
    Profile {
        grade_pct,
        elevation_m,
        in_kink,
    }
}

/// How far a vertical curve has turned from the piece before to the piece after: 0 to 1.
fn share_past(boundary_m: f64, curve_m: f64, at_m: f64) -> f64 {
    ((at_m - boundary_m) / curve_m + 0.5).clamp(0.0, 1.0)
}

fn level_pct(piece: &Piece, offset_m: f64, wander_pct: f64) -> f64 {
    let along = (offset_m / piece.length_m).clamp(0.0, 1.0);
    let grade_pct = piece.grade_pct + along * (piece.end_grade_pct - piece.grade_pct) + wander_pct;
    let depth = piece.kinks.iter().map(|kink| {
        let inside_m = (offset_m - kink.from_m).min(kink.from_m + kink.length_m - offset_m);
        ((inside_m / KINK_CURVE_M).clamp(0.0, 1.0), kink.grade_pct)
    });
    depth.fold(grade_pct, |grade_pct, (depth, kink_pct)| {
        grade_pct + depth * (kink_pct - grade_pct)
    })
}

fn climb_up(base_elevation_m: f64, grade_pct: &[f64]) -> Vec<f64> {
    let mut elevation_m = Vec::with_capacity(grade_pct.len() + 1);
    let mut height_m = base_elevation_m;
    elevation_m.push(height_m);
    for grade_pct in grade_pct {
        height_m += grade_pct / 100.0;
        elevation_m.push(height_m);
    }
    elevation_m
}
