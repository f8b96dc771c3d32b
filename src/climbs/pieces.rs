//! The pieces of road between the places where it turns.

use crate::profile::{Profile, Turn};

/// A stretch between two turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Node where it starts.
    pub from: usize,
    /// Node where it ends; the next piece starts there.
    pub to: usize,
    /// Mean grade, rise over run.
    pub grade: f64,
    /// Standard error of the mean grade.
    pub grade_se: f64,
    /// Whether its grade wanders more than that of a steady road.
    pub uneven: bool,
}

/// The pieces of a profile, in route order, without gaps.
pub fn pieces(profile: &Profile) -> Vec<Piece> {
    let starts = &profile.turns;
    let ends = starts[1..]
        .iter()
        .map(|t| t.node)
        .chain([profile.nodes() - 1]);
    let piece = |(start, to): (&Turn, usize)| {
        let from = start.node;
        let run_m = (to - from) as f64 * profile.spacing_m;
        Piece {
            from,
            to,
            grade: (profile.elevation_m[to] - profile.elevation_m[from]) / run_m,
            grade_se: profile.grade_se_pct[usize::midpoint(from, to)] / 100.0,
            uneven: start.uneven,
        }
    };
    starts.iter().zip(ends).map(piece).collect()
}
