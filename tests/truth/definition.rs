//! What a steady climb is, held against a true profile metre by metre.
//!
//! A stretch of at least 400 m, mean grade at least 3 %, along which the grade over 100 m stays within a fifth of
//! (mean grade + 1 point), kinks of up to 60 m passed over, with up to 2 m of descent in all.

use super::layout::{Character, Piece};
use super::profile::Profile;

/// The shortest climb.
pub const LEAST_LENGTH_M: f64 = 400.0;
/// The gentlest climb.
pub const LEAST_GRADE_PCT: f64 = 3.0;
/// Tolerance, as a share of (mean grade + 1 point).
pub const TOLERANCE_SHARE: f64 = 0.2;
/// The most that a climb may lose in all.
pub const MOST_DESCENT_M: f64 = 2.0;
/// Length over which the road's own grade is judged.
const WINDOW_M: usize = 100;

/// A true climb keeps within this share, so that it is one beyond dispute.
pub const SURE_SHARE: f64 = 0.185;
/// A stretch that is no climb leaves this share, or misses length or grade by a margin.
pub const SURELY_NOT_SHARE: f64 = 0.215;
const SURELY_GENTLE_PCT: f64 = 2.8;

/// What the definition asks about a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// From here on the road, in metres.
    pub start_m: f64,
    /// To here, in metres.
    pub end_m: f64,
    /// Rise over run of the whole stretch, kinks included.
    pub mean_grade_pct: f64,
    /// Largest difference of a 100 m grade from the mean, as a share of (mean + 1 point), kinks cut out.
    pub worst_share: f64,
    /// All that is lost inside.
    pub descent_m: f64,
}

/// Measures the stretch between two whole metres.
pub fn measure(profile: &Profile, start: usize, end: usize) -> Stretch {
    let mean_grade_pct = profile.mean_grade_pct(start as f64, end as f64);
    let cells = start..end;
    let kept: Vec<f64> = cells
        .clone()
        .filter(|&cell| !profile.in_kink[cell])
        .map(|cell| profile.grade_pct[cell])
        .collect();
    let descent_m = cells
        .map(|cell| -profile.grade_pct[cell].min(0.0) / 100.0)
        .sum();
    let window = WINDOW_M.min(kept.len());
    let mut sum: f64 = kept[..window].iter().sum();
    let mut worst_pct = (sum / window as f64 - mean_grade_pct).abs();
    for next in window..kept.len() {
        sum += kept[next] - kept[next - window];
        worst_pct = worst_pct.max((sum / window as f64 - mean_grade_pct).abs());
    }
    Stretch {
        start_m: start as f64,
        end_m: end as f64,
        mean_grade_pct,
        worst_share: worst_pct / (mean_grade_pct + 1.0).max(0.1),
        descent_m,
    }
}

/// Whether a stretch is a steady climb with a given share as its tolerance.
pub fn is_steady(stretch: &Stretch, share: f64) -> bool {
    stretch.end_m - stretch.start_m >= LEAST_LENGTH_M
        && stretch.mean_grade_pct >= LEAST_GRADE_PCT
        && stretch.worst_share <= share
        && stretch.descent_m <= MOST_DESCENT_M
}

/// Whether the stretch between two whole metres is beyond dispute no steady climb.
fn is_surely_not(profile: &Profile, start: usize, end: usize) -> bool {
    if profile.mean_grade_pct(start as f64, end as f64) < SURELY_GENTLE_PCT {
        return true;
    }
    let stretch = measure(profile, start, end);
    stretch.worst_share > SURELY_NOT_SHARE || stretch.descent_m > MOST_DESCENT_M * 1.2
}

/// Start of each piece in whole metres, and the end of the last.
pub fn boundaries(pieces: &[Piece]) -> Vec<usize> {
    let mut at = 0;
    let mut boundaries = vec![0];
    for piece in pieces {
        at += piece.length_m as usize;
        boundaries.push(at);
    }
    boundaries
}

/// Numbers of the climbs among the pieces that the wander has made unsteady.
pub fn unsteady_climbs(profile: &Profile, pieces: &[Piece]) -> Vec<usize> {
    let boundaries = boundaries(pieces);
    let climbs = (0..pieces.len()).filter(|&n| pieces[n].character == Character::Climb);
    climbs
        .filter(|&n| {
            let stretch = measure(profile, boundaries[n], boundaries[n + 1]);
            !is_steady(&stretch, SURE_SHARE) || stretch.mean_grade_pct < 3.3
        })
        .collect()
}

/// Whether nothing but the pieces meant as climbs could be taken for one: no row of pieces, and no 400 m anywhere
/// that lie outside a climb by more than a quarter.
pub fn has_no_other_climbs(profile: &Profile, pieces: &[Piece]) -> bool {
    no_row_is_steady(profile, pieces) && no_window_is_steady(profile, pieces)
}

fn no_row_is_steady(profile: &Profile, pieces: &[Piece]) -> bool {
    let boundaries = boundaries(pieces);
    (0..pieces.len()).all(|first| {
        let last = (first + 8).min(pieces.len());
        (first + 1..=last).all(|after| {
            let meant = after == first + 1 && pieces[first].character == Character::Climb;
            let (start, end) = (boundaries[first], boundaries[after]);
            meant || end - start < 380 || is_surely_not(profile, start, end)
        })
    })
}

fn no_window_is_steady(profile: &Profile, pieces: &[Piece]) -> bool {
    let boundaries = boundaries(pieces);
    let length = LEAST_LENGTH_M as usize;
    let mut piece = 0;
    (0..profile.grade_pct.len().saturating_sub(length))
        .step_by(10)
        .all(|start| {
            while boundaries[piece + 1] <= start {
                piece += 1;
            }
            let end = start + length;
            let in_one_climb = (piece..pieces.len())
                .take_while(|&n| boundaries[n] < end)
                .filter(|&n| pieces[n].character == Character::Climb)
                .map(|n| boundaries[n + 1].min(end) - boundaries[n].max(start))
                .max()
                .unwrap_or(0);
            in_one_climb > length * 3 / 4 || is_surely_not(profile, start, end)
        })
}
