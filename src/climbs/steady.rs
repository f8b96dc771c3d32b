//! The definition of a steady climb: it admits or refuses a stretch, and never stretches one.

use super::stretches::Joined;
use crate::profile::kalman::wander_m2;
use crate::profile::Profile;

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
        Rule { length_m: 400.0, grade_pct: 3.0, stray_share: 0.2, kink_m: 60.0, descent_m: 2.0 }
    }
}

impl Rule {
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

/// A steady climb.
#[derive(Debug, Clone, PartialEq)]
pub struct Climb {
    /// Number in route order, from 1.
    pub id: usize,
    /// Number of the ascent it belongs to, from 1.
    pub ascent: usize,
    /// Where it starts along the route, in metres.
    pub from_m: f64,
    /// Where it ends along the route, in metres.
    pub to_m: f64,
    /// Metres climbed from start to end.
    pub gain_m: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// Standard error of the mean grade, in per cent.
    pub grade_se_pct: f64,
    /// Standard deviation of the grade over 100 m about the mean, in per cent.
    pub grade_sd_pct: f64,
    /// Steepest 100 m, in per cent.
    pub steepest_100m_pct: f64,
    /// Gentlest 100 m, in per cent.
    pub gentlest_100m_pct: f64,
    /// Kinks that a rider rides through, as stretches of the route in metres.
    pub kinks_m: Vec<(f64, f64)>,
}

impl Climb {
    /// Length along the route, in metres.
    pub fn length_m(&self) -> f64 {
        self.to_m - self.from_m
    }
}

/// The stretches that the rule admits, numbered.
pub fn admit(profile: &Profile, stretches: &[Joined], rule: &Rule) -> Vec<Climb> {
    let mut climbs: Vec<Climb> =
        stretches.iter().filter_map(|stretch| judge(profile, stretch, rule)).collect();
    for (i, climb) in climbs.iter_mut().enumerate() {
        climb.id = i + 1;
    }
    climbs
}

fn judge(profile: &Profile, stretch: &Joined, rule: &Rule) -> Option<Climb> {
    let step_m = profile.spacing_m;
    let z = &profile.elevation_m;
    let run_m = (stretch.to - stretch.from) as f64 * step_m;
    let gain_m = z[stretch.to] - z[stretch.from];
    let mean = gain_m / run_m;
    if stretch.uneven || run_m < rule.length_m || 100.0 * mean < rule.grade_pct {
        return None;
    }
    let descent_m: f64 = z[stretch.from..=stretch.to].windows(2).map(|w| (w[0] - w[1]).max(0.0)).sum();
    if descent_m > rule.descent_m {
        return None;
    }
    let windows = windows(profile, stretch);
    let tolerance = rule.tolerance(mean);
    let unkinked = |w: &&Window| !w.kinked;
    let level = mean_of(windows.iter().filter(unkinked).map(|w| w.grade)).unwrap_or(mean);
    if windows.iter().filter(unkinked).any(|w| (w.grade - level).abs() > tolerance + SURE_SD * w.grade_se) {
        return None;
    }
    let spread = mean_of(windows.iter().map(|w| (w.grade - mean).powi(2))).unwrap_or(0.0).sqrt();
    let extreme = |pick: fn(f64, f64) -> f64| windows.iter().map(|w| w.grade).reduce(pick).unwrap_or(mean);
    let end_var = |node: usize| profile.elevation_se_m[node].powi(2).min(profile.noise.total_sd_m().powi(2));
    let middle = usize::midpoint(stretch.from, stretch.to);
    let by_ends = (end_var(stretch.from) + end_var(stretch.to)).sqrt() / run_m;
    let by_level = ((profile.grade_se_pct[middle] / 100.0).powi(2) + wander_m2(mean, run_m) / run_m.powi(2)).sqrt();
    let metres = |node: usize| node as f64 * step_m;
    Some(Climb {
        id: 0,
        ascent: 0,
        from_m: metres(stretch.from),
        to_m: metres(stretch.to),
        gain_m,
        grade_pct: 100.0 * mean,
        grade_se_pct: 100.0 * by_ends.min(by_level),
        grade_sd_pct: 100.0 * spread,
        steepest_100m_pct: 100.0 * extreme(f64::max),
        gentlest_100m_pct: 100.0 * extreme(f64::min),
        kinks_m: stretch.kinks.iter().map(|k| (metres(k.0), metres(k.1))).collect(),
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
