//! The pieces of road between the places where it turns.

use crate::profile::Profile;

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
}

/// The pieces of a profile, in route order, without gaps.
pub fn pieces(profile: &Profile) -> Vec<Piece> {
    let mut marks = vec![0];
    marks.extend(&profile.turns);
    marks.push(profile.nodes() - 1);
    marks.dedup();
    let piece = |w: &[usize]| {
        let run_m = (w[1] - w[0]) as f64 * profile.spacing_m;
        Piece {
            from: w[0],
            to: w[1],
            grade: (profile.elevation_m[w[1]] - profile.elevation_m[w[0]]) / run_m,
            grade_se: profile.grade_se_pct[usize::midpoint(w[0], w[1])] / 100.0,
        }
    };
    marks.windows(2).map(piece).collect()
}
