//! The definition of a steady climb: it admits or refuses a stretch, and never stretches one.

use serde::{Deserialize, Serialize};

use super::stretches::Joined;
use crate::profile::Profile;
use crate::profile::climbed;

/// The numbers of the definition; the default is the one of `docs/method.md`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rule {
    /// Shortest climb, in metres.
    pub length_m: f64,
    /// Gentlest mean grade, in per cent.
    pub grade_pct: f64,
    /// How far the grade over 100 m may stray from the mean, as a share of the mean plus one point.
    pub stray_share: f64,
    /// Longest kink that is passed over, in metres.
    pub kink_m: f64,
    /// Most metres of descent within a climb, and between two climbs of one ascent.
    pub descent_m: f64,
}

impl Default for Rule {
    fn default() -> Self {
        Rule {
            length_m: 400.0,
            grade_pct: 3.0,
            stray_share: 0.2,
            kink_m: 60.0,
            descent_m: 2.0,
        }
    }
}

impl Rule {
    /// Whether it passes over more than usual within a climb.
    pub fn is_wider_than_usual(&self) -> bool {
        let usual = Rule::default();
        self.stray_share > usual.stray_share
            || self.kink_m > usual.kink_m
            || self.descent_m > usual.descent_m
    }

    /// How far the grade over 100 m may stray from a mean grade; both rise over run.
    pub fn tolerance(&self, grade: f64) -> f64 {
        self.stray_share * (grade.abs() + ROLLING_AND_AIR)
    }
}

/// What rolling and air add to the grade in holding a rider back, as a grade (rise over run).
const ROLLING_AND_AIR: f64 = 0.01;
/// Window over which the road's grade is judged, in metres.
const WINDOW_M: f64 = 100.0;
/// A stretch is refused where the grade strays beyond the tolerance by more than this many of its standard errors.
const SURE_SD: f64 = 1.0;

/// What the uncertain places of the ends add to the error of a gain, as a share of [`Noise::place_m2`]'s root. Tuned on the truth
/// bench's seeds 0 to 30, to hold nine in ten.
///
/// [`Noise::place_m2`]: crate::profile::Noise::place_m2
const PLACE_SHARE: f64 = 1.4;
/// The same where it is known how the grade differs between the roads that the recording allows, which holds some of it. Tuned on seeds
/// 3000 to 3100: with 0.9 it holds 94 to 95 in 100.
const DRAWN_PLACE_SHARE: f64 = 0.75;
/// Standard error of a length that a receiver or a line of vertices gives: a share of it, for what is cut off in bends and
/// added by jitter, and metres, for the fixes at both ends. Tuned as [`PLACE_SHARE`]; it decides with good elevations only.
const LENGTH_SHARE: f64 = 0.0015;
/// See [`LENGTH_SHARE`].
const FIX_M: f64 = 2.5;

/// A steady climb.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Climb {
    /// Number in route order, from 1.
    pub id: usize,
    /// Number of the ascent it belongs to, from 1.
    pub ascent: usize,
    /// Where it starts along the route, in metres.
    pub from_m: f64,
    /// Where it ends along the route, in metres.
    pub to_m: f64,
    /// Metres climbed: its length times its grade. Where the recording is coarse the ends' own elevations may differ by some metres less, for
    /// the grade is what climbs there have on all roads that the recording allows, wherever they end.
    pub gain_m: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// Standard error of the mean grade, in per cent.
    pub grade_se_pct: f64,
    /// Standard deviation of the grade over 100 m about the mean, in per cent.
    pub grade_sd_pct: f64,
    /// Steepest 100 m without a kink, as far as it is surely steeper than the mean, in per cent.
    pub steepest_100m_pct: f64,
    /// Gentlest 100 m without a kink, as far as it is surely gentler than the mean, in per cent.
    pub gentlest_100m_pct: f64,
    /// Kinks that a rider rides through, as stretches of the route in metres.
    pub kinks_m: Vec<(f64, f64)>,
    /// How likely it is that no steady climb lies between these ends, of the roads that the recording allows; 0 where elevations are so
    /// fine that it is known.
    pub doubt: f64,
    /// Why it may not be what it seems, in words; nothing where it is sure enough.
    pub unsure: Option<String>,
}

impl Climb {
    /// Length along the route, in metres.
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }
}

/// Whether the rule admits a stretch.
pub fn admits(profile: &Profile, stretch: &Joined, rule: &Rule) -> bool {
    let step_m = profile.spacing_m;
    let z = &profile.elevation_m;
    let run_m = (stretch.to - stretch.from) as f64 * step_m;
    let gain_m = z[stretch.to] - z[stretch.from];
    let mean = gain_m / run_m;
    if stretch.uneven || run_m < rule.length_m || 100.0 * mean < rule.grade_pct {
        return false;
    }
    let descent_m: f64 = z[stretch.from..=stretch.to]
        .windows(2)
        .map(|w| (w[0] - w[1]).max(0.0))
        .sum();
    if descent_m > rule.descent_m {
        return false;
    }
    let windows = windows(profile, stretch);
    let tolerance = rule.tolerance(mean);
    let unkinked = |w: &&Window| !w.kinked;
    let level = mean_of(windows.iter().filter(unkinked).map(|w| w.grade)).unwrap_or(mean);
    !windows
        .iter()
        .filter(unkinked)
        .any(|w| (w.grade - level).abs() > tolerance + SURE_SD * w.grade_se)
}

/// Mean grades of a stretch on the roads that a recording allows.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grades {
    /// Their mean (rise over run).
    pub mean: f64,
    /// Their variance.
    pub variance: f64,
}

/// A stretch as a climb, not yet numbered; with `drawn`, where several roads were, its grade is theirs: what is expected of it
/// wherever its ends may lie.
pub fn describe(profile: &Profile, stretch: &Joined, drawn: Option<Grades>) -> Climb {
    let step_m = profile.spacing_m;
    let run_m = (stretch.to - stretch.from) as f64 * step_m;
    let mean = match drawn {
        Some(grades) => grades.mean,
        None => profile.mean_grade(stretch.from, stretch.to),
    };
    let gain_m = mean * run_m;
    let windows = windows(profile, stretch);
    let spread = mean_of(windows.iter().map(|w| (w.grade - mean).powi(2)))
        .unwrap_or(0.0)
        .sqrt();
    let (gentlest, steepest) = extremes(&windows, mean);
    let climbed = climbed::between(profile, stretch.from, stretch.to);
    let place_share = drawn.map_or(PLACE_SHARE, |_| DRAWN_PLACE_SHARE);
    let places_m2 = place_share * place_share * profile.noise.place_m2();
    let length_se_m = LENGTH_SHARE * run_m + FIX_M;
    let gain_m2 = climbed.variance_m2 + places_m2 + (mean * length_se_m).powi(2);
    let grade_se = (gain_m2 / (run_m * run_m) + drawn.map_or(0.0, |grades| grades.variance)).sqrt();
    let metres = |node: usize| node as f64 * step_m;
    Climb {
        id: 0,
        ascent: 0,
        from_m: metres(stretch.from),
        to_m: metres(stretch.to),
        gain_m,
        grade_pct: 100.0 * mean,
        grade_se_pct: 100.0 * grade_se,
        grade_sd_pct: 100.0 * spread,
        steepest_100m_pct: 100.0 * steepest,
        gentlest_100m_pct: 100.0 * gentlest,
        kinks_m: stretch
            .kinks
            .iter()
            .map(|k| (metres(k.0), metres(k.1)))
            .collect(),
        doubt: 0.0,
        unsure: None,
    }
}

/// Gentlest and steepest of the windows without kinks. The largest of many errors looks like a steep 100 m: what strays from the mean is
/// believed as far as it is larger than its error, by the share of its square that the error's square leaves.
fn extremes(windows: &[Window], mean: f64) -> (f64, f64) {
    let believed = windows.iter().filter(|w| !w.kinked).map(|w| {
        let (stray, error_m2) = (w.grade - mean, w.grade_se * w.grade_se);
        mean + stray * (1.0 - error_m2 / (stray * stray).max(1e-12)).max(0.0)
    });
    believed.fold((mean, mean), |(low, high), grade| {
        (low.min(grade), high.max(grade))
    })
}

struct Window {
    grade: f64,
    grade_se: f64,
    kinked: bool,
}

/// The grade over each 100 m inside a stretch.
fn windows(profile: &Profile, stretch: &Joined) -> Vec<Window> {
    let step_m = profile.spacing_m;
    let wide = (WINDOW_M / step_m).round() as usize;
    let run_m = wide as f64 * step_m;
    let z = &profile.elevation_m;
    (stretch.from..=stretch.to.saturating_sub(wide))
        .map(|i| Window {
            grade: (z[i + wide] - z[i]) / run_m,
            grade_se: profile.grade_se_pct[i + wide / 2] / 100.0,
            kinked: stretch.kinks.iter().any(|k| k.0 < i + wide && k.1 > i),
        })
        .collect()
}

fn mean_of(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) = values.fold((0.0, 0.0), |(sum, count), x| (sum + x, count + 1.0));
    (count > 0.0).then(|| sum / count)
}
