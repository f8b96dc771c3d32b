//! Jumps between segments, holes inside them, and lines with few points.

use super::line::{Count, Line, Note, median};
use crate::route::faults::counted;

/// A step this long between two segments is a jump: from one recording's end to the next one's start.
const JUMP_M: f64 = 100.0;
/// A step this long inside a segment, and so many times the typical one, is a hole: bends and hills fit into it.
const HOLE_M: f64 = 200.0;
const HOLE_STEPS: f64 = 5.0;

/// Tells where the line between two points is a guess.
pub(super) fn describe(line: &Line, distances_m: &[f64]) -> Vec<Note> {
    let steps_m: Vec<f64> = distances_m
        .windows(2)
        .map(|pair| pair[1] - pair[0])
        .collect();
    // Nearly every recording ends here; what follows would find nothing.
    if steps_m.iter().all(|step_m| *step_m <= JUMP_M) {
        return Vec::new();
    }
    let typical_m = median(steps_m.clone()).unwrap_or(0.0);
    let hole_m = HOLE_M.max(HOLE_STEPS * typical_m);
    let (mut jumps, mut holes) = (Gaps::default(), Gaps::default());
    for (i, step_m) in steps_m.iter().enumerate() {
        if line.opens[i + 1] && *step_m > JUMP_M {
            jumps.see(*step_m, distances_m[i], line.origin[i]);
        } else if !line.opens[i + 1] && *step_m > hole_m {
            holes.see(*step_m, distances_m[i], line.origin[i]);
        }
    }
    let mut notes = Vec::new();
    notes.extend(jumps.note(
        "jump between segments",
        "jumps between segments",
        "joined by a straight line",
    ));
    notes.extend(holes.note(
        "hole in the line",
        "holes in the line",
        "bridged by a straight line",
    ));
    if typical_m > HOLE_M {
        let text = format!(
            "every second point is more than {typical_m:.0} m from the one before: length and grades may be far from the road's"
        );
        notes.push(Note { text, first: None });
    }
    notes
}

#[derive(Default)]
struct Gaps {
    seen: Count,
    longest_m: f64,
    longest_at_m: f64,
}

impl Gaps {
    fn see(&mut self, step_m: f64, at_m: f64, origin: usize) {
        self.seen.see(1, origin);
        if step_m > self.longest_m {
            (self.longest_m, self.longest_at_m) = (step_m, at_m);
        }
    }

    fn note(&self, one: &str, many: &str, then: &str) -> Option<Note> {
        let at_km = self.longest_at_m / 1000.0;
        let text = match self.seen.count {
            0 => return None,
            1 => format!("1 {one} of {:.0} m at km {at_km:.2} {then}", self.longest_m),
            count => format!(
                "{} {then}, the longest of {:.0} m at km {at_km:.2}",
                counted(count, one, many),
                self.longest_m
            ),
        };
        let first = if self.seen.count > 1 {
            self.seen.first
        } else {
            None
        };
        Some(Note { text, first })
    }
}
