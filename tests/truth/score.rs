//! What was found, held against what is there.
//!
//! * A true climb is **found** when some found climb covers it so well that what they share is at least three
//!   quarters of what they cover together. That found climb is then **right**. Each counts once.
//! * **End errors** are the absolute distances between found and true ends along the true road, starts and ends
//!   of all matched climbs alike.
//! * **Grade errors** are absolute differences from the true climb's mean grade: the found climb stands for the
//!   true one, so wrong ends count against its grade too.
//! * **Inside** is the share of matched climbs whose stated 90 % interval (1.645 standard errors either way) holds
//!   the road's true mean grade between the ends *as found*: a standard error speaks of the stretch it is given for.

use super::recording::TruthRecording;
use super::road::{Road, TrueClimb};

/// Standard normal deviate that leaves a twentieth on either side.
const NINETY_PER_CENT: f64 = 1.645;
/// The least overlap over union of a climb that was found.
pub const LEAST_OVERLAP: f64 = 0.75;

/// A climb as a finder reports it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Latitude of its start.
    pub start_lat_deg: f64,
    /// Longitude of its start.
    pub start_lon_deg: f64,
    /// Latitude of its end.
    pub end_lat_deg: f64,
    /// Longitude of its end.
    pub end_lon_deg: f64,
    /// Its mean grade.
    pub grade_pct: f64,
    /// The standard error of that, where the finder states one.
    pub grade_se_pct: Option<f64>,
}

/// A found climb with its ends on the true road.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoundClimb {
    /// Start in metres along the true road.
    pub start_true_m: f64,
    /// End, likewise.
    pub end_true_m: f64,
    /// Its mean grade.
    pub grade_pct: f64,
    /// The standard error of that, where the finder states one.
    pub grade_se_pct: Option<f64>,
}

/// Puts found climbs on the true road, by the nearest place to their ends.
pub fn place_on_road(road: &Road, found: &[Found]) -> Vec<FoundClimb> {
    found
        .iter()
        .map(|found| FoundClimb {
            start_true_m: road.true_distance_m(found.start_lat_deg, found.start_lon_deg, None),
            end_true_m: road.true_distance_m(found.end_lat_deg, found.end_lon_deg, None),
            grade_pct: found.grade_pct,
            grade_se_pct: found.grade_se_pct,
        })
        .collect()
}

/// Finds and scores the climbs of one recording.
pub fn score_recording(
    road: &Road,
    made: &TruthRecording,
    find: impl Fn(&hillwright::route::Recording) -> Vec<Found>,
) -> Tally {
    let found = place_on_road(road, &find(&made.recording));
    score(road, &found)
}

/// Counts and errors over any number of recordings of one kind.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Tally {
    /// Climbs that are there.
    pub true_climbs: usize,
    /// Climbs that were reported.
    pub found_climbs: usize,
    /// Climbs of the one that match one of the other.
    pub matched: usize,
    /// Found less true start, for each match.
    pub start_errors_m: Vec<f64>,
    /// Found less true end, for each match.
    pub end_errors_m: Vec<f64>,
    /// Found less true grade, for each match.
    pub grade_errors_pct: Vec<f64>,
    /// Whether the stated interval held, for each match with a stated error.
    pub inside: Vec<bool>,
}

/// A middling error and one that nine in ten stay within.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// The median.
    pub median: f64,
    /// The 90th percentile.
    pub nine_in_ten: f64,
}

impl Tally {
    /// Adds another recording's.
    pub fn add(&mut self, other: &Self) {
        self.true_climbs += other.true_climbs;
        self.found_climbs += other.found_climbs;
        self.matched += other.matched;
        self.start_errors_m.extend(&other.start_errors_m);
        self.end_errors_m.extend(&other.end_errors_m);
        self.grade_errors_pct.extend(&other.grade_errors_pct);
        self.inside.extend(&other.inside);
    }

    /// Share of the true climbs that were found.
    pub fn found_share(&self) -> f64 {
        share(self.matched, self.true_climbs)
    }

    /// Share of the found climbs that are right.
    pub fn right_share(&self) -> f64 {
        share(self.matched, self.found_climbs)
    }

    /// Harmonic mean of the two shares.
    pub fn f1(&self) -> f64 {
        share(2 * self.matched, self.true_climbs + self.found_climbs)
    }

    /// Absolute errors of all ends.
    pub fn ends_m(&self) -> Option<Spread> {
        spread(self.start_errors_m.iter().chain(&self.end_errors_m))
    }

    /// Absolute errors of the grades.
    pub fn grades_pct(&self) -> Option<Spread> {
        spread(self.grade_errors_pct.iter())
    }

    /// Share of the stated intervals that hold the truth.
    pub fn inside_share(&self) -> Option<f64> {
        let held = self.inside.iter().filter(|&&held| held).count();
        (!self.inside.is_empty()).then(|| share(held, self.inside.len()))
    }
}

fn share(part: usize, whole: usize) -> f64 {
    if whole == 0 {
        return 0.0;
    }
    part as f64 / whole as f64
}

/// Median and 90th percentile of absolute values, or nothing of nothing.
pub fn spread<'a>(errors: impl Iterator<Item = &'a f64>) -> Option<Spread> {
    let mut sizes: Vec<f64> = errors.map(|error| error.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    (!sizes.is_empty()).then(|| Spread {
        median: quantile(&sizes, 0.5),
        nine_in_ten: quantile(&sizes, 0.9),
    })
}

/// A quantile of sorted values, straight between neighbours.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let place = share * (sorted.len() - 1) as f64;
    let below = place as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (place - below as f64) * (sorted[above] - sorted[below])
}

/// Scores what was found on one road.
pub fn score(road: &Road, found: &[FoundClimb]) -> Tally {
    let matches = match_climbs(&road.true_climbs, found);
    let mut tally = Tally {
        true_climbs: road.true_climbs.len(),
        found_climbs: found.len(),
        matched: matches.len(),
        ..Tally::default()
    };
    for (t, f) in matches {
        let (truth, found) = (&road.true_climbs[t], &found[f]);
        tally
            .start_errors_m
            .push(found.start_true_m - truth.start_m);
        tally.end_errors_m.push(found.end_true_m - truth.end_m);
        tally
            .grade_errors_pct
            .push(found.grade_pct - truth.grade_pct);
        if let Some(se_pct) = found.grade_se_pct {
            let here_pct = road
                .profile
                .mean_grade_pct(found.start_true_m, found.end_true_m);
            let held = (found.grade_pct - here_pct).abs() <= NINETY_PER_CENT * se_pct;
            tally.inside.push(held);
        }
    }
    tally
}

/// Pairs of true and found climbs, by index; three quarters of the union leave no choice of partner as long as the
/// found climbs do not overlap, and where they do the better partner wins.
pub fn match_climbs(truth: &[TrueClimb], found: &[FoundClimb]) -> Vec<(usize, usize)> {
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for (t, climb) in truth.iter().enumerate() {
        for (f, other) in found.iter().enumerate() {
            let overlap = overlap_share(climb, other);
            if overlap >= LEAST_OVERLAP {
                pairs.push((overlap, t, f));
            }
        }
    }
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut matches: Vec<(usize, usize)> = Vec::new();
    for (_, t, f) in pairs {
        if matches
            .iter()
            .all(|&(used_t, used_f)| used_t != t && used_f != f)
        {
            matches.push((t, f));
        }
    }
    matches.sort_unstable();
    matches
}

fn overlap_share(truth: &TrueClimb, found: &FoundClimb) -> f64 {
    let shared_m = truth.end_m.min(found.end_true_m) - truth.start_m.max(found.start_true_m);
    let together_m = truth.end_m.max(found.end_true_m) - truth.start_m.min(found.start_true_m);
    if together_m <= 0.0 {
        return 0.0;
    }
    shared_m.max(0.0) / together_m
}
