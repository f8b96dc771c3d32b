//! How roads are laid out: of which pieces, how long and how steep those are, and what follows what.
//!
//! A poor recording allows many roads, and which of them is the likelier one hangs on this. Roads are taken to go up and down
//! in turn, with level road between: a climb may step to another grade, but not to nearly the same one; now and then there is a short
//! ramp, a row of lumps (hard and easy in turn), or a grade that changes evenly. All lengths and grades are round numbers (common practice,
//! no source), and so are the odds; they are wider than those of the truth bench, but were chosen in its sight. They decide where elevations don't: a piece of
//! 200 m that is four points steeper than the rest is found though only three climbs in a hundred are said to have it.
//!
//! Where elevations are fine they say themselves how the road goes, and where they are very poor this would say it instead of them: there any
//! piece may follow any other ([`Layout::any`]).

use super::effort::{Effort, LONG_M, LONGEST_M, SHORTEST_M};
use super::kalman::Belief;

/// Grade of climbs and short ramps, mean and standard deviation (rise over run).
const UP: Level = Level::About(0.07, 0.03);
/// The same of level road,
const LEVEL: Level = Level::About(0.0, 0.012);
/// of ways down,
const WAY_DOWN: Level = Level::About(-0.06, 0.03);
/// of walls and paths, up and down,
const STEEP_UP: Level = Level::About(0.16, 0.07);
/// See [`STEEP_UP`];
const STEEP_DOWN: Level = Level::About(-0.16, 0.07);
/// of the hard and of the easy ones in a row of lumps,
const HARD: Level = Level::About(0.085, 0.02);
/// See [`HARD`];
const EASY: Level = Level::About(0.0125, 0.016);
/// of road that goes up unevenly,
const ROLLING: Level = Level::About(0.05, 0.03);
/// and of a piece that steepens evenly, or eases, where it starts.
const GENTLE_START: Level = Level::About(0.01, 0.01);
/// See [`GENTLE_START`].
const STEEP_START: Level = Level::About(0.095, 0.015);
/// By how much a metre it steepens, mean and standard deviation (rise over run): from 1 to 9.5 % in 500 m.
const CHANGE: (f64, f64) = (1.7e-4, 0.4e-4);
/// Kinks are as common as there is one of 30 m for a grade of one (see [`super::kalman`]) in 900 m of climb: 30² m² in 900 m, in m² a metre.
pub const KINKS_M: f64 = 1.0;
/// Gentlest and steepest climb after another, rise over run.
const CLIMBS: (f64, f64) = (0.03, 0.14);
/// A climb's grade steps by more than a steady climb may stray: a share of the grade plus one point.
const STEP_SHARE: f64 = 0.2;
/// Where less than this share of all grades is left to step to, the road does not step.
const LEAST_STEP: f64 = 0.02;

/// Shortest and longest climb, in metres: a shorter one is a short ramp.
const CLIMB_M: (f64, f64) = (400.0, LONGEST_M);
/// The same of short ramps,
const SHORT_M: (f64, f64) = (SHORTEST_M, 400.0);
/// of level road, ways down and whatever is steep,
const OTHER_M: (f64, f64) = (SHORTEST_M, LONGEST_M);
/// of one in a row of lumps,
const LUMP_M: (f64, f64) = (60.0, 250.0);
/// of road that goes up unevenly,
const ROLLING_M: (f64, f64) = (300.0, 2000.0);
/// and of a piece that steepens or eases evenly.
const CHANGING_M: (f64, f64) = (300.0, 900.0);

/// Kinds of pieces of hilly roads, in the order of [`FOLLOW`].
const KINDS: [Kind; 14] = [
    // Climbs: after level road or a way down, after a gentler climb, after a steeper one.
    Kind::steady(UP, CLIMB_M),
    Kind::steady(Level::Steeper, CLIMB_M),
    Kind::steady(Level::Gentler, CLIMB_M),
    // A climb that is too short.
    Kind::steady(UP, SHORT_M),
    // Level road on top and at the foot.
    Kind::steady(LEVEL, OTHER_M),
    Kind::steady(LEVEL, OTHER_M),
    Kind::steady(WAY_DOWN, OTHER_M),
    Kind::lump(HARD),
    Kind::lump(EASY),
    Kind {
        uneven: true,
        ..Kind::steady(ROLLING, ROLLING_M)
    },
    Kind::changing(GENTLE_START, CHANGE.0),
    Kind::changing(STEEP_START, -CHANGE.0),
    Kind::steady(STEEP_UP, OTHER_M),
    Kind::steady(STEEP_DOWN, OTHER_M),
];
/// Shares of the kinds (columns) among those that follow a kind (rows); only their ratios in a row count.
#[rustfmt::skip]
const FOLLOW: [[f64; KINDS.len()]; KINDS.len()] = [
    // climb, steeper, gentler, short, top, foot, down, hard, easy, rolling, steepening, easing, steep up, steep down
    AFTER_UP, AFTER_UP, AFTER_UP, AFTER_UP,
    [0.30, 0.0, 0.0, 0.05, 0.00, 0.0, 0.70, 0.010, 0.010, 0.005, 0.010, 0.010, 0.01, 0.02],
    [0.50, 0.0, 0.0, 0.10, 0.00, 0.0, 0.15, 0.075, 0.075, 0.030, 0.060, 0.060, 0.02, 0.01],
    AFTER_DOWN,
    [0.03, 0.0, 0.0, 0.00, 0.08, 0.0, 0.04, 0.000, 0.850, 0.000, 0.000, 0.000, 0.00, 0.00],
    [0.03, 0.0, 0.0, 0.00, 0.08, 0.0, 0.04, 0.850, 0.000, 0.000, 0.000, 0.000, 0.00, 0.00],
    AFTER_UNEVEN, AFTER_UNEVEN, AFTER_UNEVEN,
    AFTER_UP, AFTER_DOWN,
];
#[rustfmt::skip]
const AFTER_UP: [f64; KINDS.len()] =
    [0.00, 0.1, 0.1, 0.03, 0.35, 0.0, 0.30, 0.015, 0.015, 0.006, 0.012, 0.012, 0.02, 0.02];
#[rustfmt::skip]
const AFTER_DOWN: [f64; KINDS.len()] =
    [0.30, 0.0, 0.0, 0.10, 0.00, 0.5, 0.10, 0.025, 0.025, 0.010, 0.020, 0.020, 0.02, 0.02];
#[rustfmt::skip]
const AFTER_UNEVEN: [f64; KINDS.len()] =
    [0.30, 0.0, 0.0, 0.00, 0.40, 0.0, 0.30, 0.000, 0.000, 0.000, 0.000, 0.000, 0.02, 0.02];

/// What hardly any turn of a hilly road pays more than, in units of twice the log-likelihood: one in 150 steps of 10 m of a long climb holds its end, and
/// one climb in three is followed by what follows it most often.
const USUAL_PAYS: f64 = 12.0;

/// What is expected of a piece's grade where it begins.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Level {
    /// Some jump away from the grade before.
    Jump,
    /// A mean and a standard deviation (rise over run), whatever was before.
    About(f64, f64),
    /// Steeper than the climb before.
    Steeper,
    /// Gentler than that, and still a climb.
    Gentler,
}

/// A kind of piece.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Kind {
    level: Level,
    /// Shortest and longest, in metres.
    length_m: (f64, f64),
    /// Whether its grade swings rather than wanders.
    uneven: bool,
    /// Whether it is one of a row of lumps.
    in_row: bool,
    /// By how much a metre its grade changes evenly (rise over run); 0 where it is steady.
    change: f64,
}

impl Kind {
    const fn steady(level: Level, length_m: (f64, f64)) -> Kind {
        Kind {
            level,
            length_m,
            uneven: false,
            in_row: false,
            change: 0.0,
        }
    }

    const fn lump(level: Level) -> Kind {
        Kind {
            in_row: true,
            ..Kind::steady(level, LUMP_M)
        }
    }

    const fn changing(level: Level, change: f64) -> Kind {
        Kind {
            change,
            ..Kind::steady(level, CHANGING_M)
        }
    }
}

/// What pieces of a kind pay at each age in nodes, in units of twice the log-likelihood.
#[derive(Debug, Clone)]
struct Ages {
    to_end: Vec<f64>,
    to_go_on: Vec<f64>,
}

/// A grade that may come.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NewGrade {
    /// Its mean and variance (rise over run); none where it is some jump away from the one before.
    about: Option<(f64, f64)>,
    /// The share of all grades that may come.
    pub share: f64,
}

impl NewGrade {
    /// What the road pays for it, in units of twice the log-likelihood.
    pub fn pays(&self) -> f64 {
        if self.share == 1.0 {
            return 0.0;
        }
        -2.0 * self.share.ln()
    }
}

/// The kinds of pieces, by number, and what follows what.
#[derive(Debug, Clone)]
pub struct Layout {
    kinds: Vec<Kind>,
    ages: Vec<Ages>,
    /// What the first piece pays for its kind.
    first: Vec<f64>,
    /// What a piece of one kind pays to be followed by another.
    follow: Vec<Vec<f64>>,
    /// How likely that is.
    shares: Vec<Vec<f64>>,
    /// See [`Layout::spared`].
    spared: Vec<f64>,
    /// Whether it costs anything to go on.
    pub ages_cost: bool,
    /// What no turn, or hardly any, pays more than.
    pub usual_pays: f64,
}

impl Layout {
    /// Any piece after any other but uneven ones after each other, each turn paying what an effort says.
    pub fn any(effort: &Effort, step_m: f64) -> Layout {
        let nodes = (LONG_M / step_m) as usize + 1;
        let ages = Ages {
            to_end: (0..nodes)
                .map(|age| effort.pays(age as f64 * step_m, step_m))
                .collect(),
            to_go_on: vec![0.0],
        };
        let kind = |uneven| Kind {
            uneven,
            ..Kind::steady(Level::Jump, OTHER_M)
        };
        let kinds: Vec<Kind> = effort.kinds().iter().map(|&uneven| kind(uneven)).collect();
        let pays: Vec<f64> = kinds.iter().map(|k| effort.kind_pays(k.uneven)).collect();
        let mut follow = vec![pays.clone(); kinds.len()];
        for (from, kind) in kinds.iter().enumerate() {
            if kind.uneven {
                follow[from][from] = f64::INFINITY;
            }
        }
        Layout {
            ages: vec![ages; kinds.len()],
            first: pays.clone(),
            shares: shares(&follow),
            follow,
            spared: pays,
            kinds,
            ages_cost: false,
            usual_pays: effort.pays(f64::INFINITY, step_m),
        }
    }

    /// Up and down in turn.
    pub fn hilly(step_m: f64) -> Layout {
        let pays = |row: &[f64; KINDS.len()]| {
            let all: f64 = row.iter().sum();
            row.iter().map(|share| -2.0 * (share / all).ln()).collect()
        };
        let follows = |kind: &Kind| matches!(kind.level, Level::Steeper | Level::Gentler);
        let first = |kind: &Kind| if follows(kind) { f64::INFINITY } else { 0.0 };
        let follow: Vec<Vec<f64>> = FOLLOW.iter().map(pays).collect();
        Layout {
            kinds: KINDS.to_vec(),
            ages: KINDS.iter().map(|kind| ages(kind, step_m)).collect(),
            first: KINDS.iter().map(first).collect(),
            shares: shares(&follow),
            follow,
            spared: vec![0.0; KINDS.len()],
            ages_cost: true,
            usual_pays: USUAL_PAYS,
        }
    }

    /// The kinds that a road may start with, each with what it pays.
    pub fn firsts(&self) -> impl Iterator<Item = (usize, f64)> {
        let all = self.first.iter().copied().enumerate();
        all.filter(|(_, pays)| pays.is_finite())
    }

    /// How many kinds there are.
    pub fn kinds(&self) -> usize {
        self.kinds.len()
    }

    /// Whether no steady climb lies on such a piece.
    pub fn is_uneven(&self, kind: usize) -> bool {
        let kind = &self.kinds[kind];
        kind.uneven || kind.in_row || kind.change != 0.0
    }

    /// Whether it is one of a row of lumps.
    pub fn is_in_row(&self, kind: usize) -> bool {
        self.kinds[kind].in_row
    }

    /// Whether its grade changes evenly.
    #[inline]
    pub fn is_changing(&self, kind: usize) -> bool {
        self.kinds[kind].change != 0.0
    }

    /// A history whose road is such a piece is dropped only when it is worse by so much more than others.
    #[inline]
    pub fn spared(&self, kind: usize) -> f64 {
        self.spared[kind]
    }

    /// What a piece pays that ends after so many nodes.
    #[inline]
    pub fn ends(&self, kind: usize, nodes: usize) -> f64 {
        let pays = &self.ages[kind].to_end;
        pays[nodes.min(pays.len() - 1)]
    }

    /// What it pays to go on.
    #[inline]
    pub fn goes_on(&self, kind: usize, nodes: usize) -> f64 {
        let pays = &self.ages[kind].to_go_on;
        pays[nodes.min(pays.len() - 1)]
    }

    /// What a piece of one kind pays to be followed by another.
    #[inline]
    pub fn follow(&self, from: usize, to: usize) -> f64 {
        self.follow[from][to]
    }

    /// How likely that is.
    #[inline]
    pub fn share_that_follows(&self, from: usize, to: usize) -> f64 {
        self.shares[from][to]
    }

    /// What is expected of the grade of a piece after one of a grade (rise over run).
    pub fn grade_after(&self, kind: usize, before: f64) -> NewGrade {
        let step = STEP_SHARE * (before.abs() + 0.01);
        let (gentlest, steepest) = CLIMBS;
        let (low, high) = match self.kinds[kind].level {
            Level::Jump => {
                return NewGrade {
                    about: None,
                    share: 1.0,
                };
            }
            Level::About(mean, sd) => {
                return NewGrade {
                    about: Some((mean, sd * sd)),
                    share: 1.0,
                };
            }
            // A wall may follow a wall.
            Level::Steeper => {
                let low = before.max(gentlest) + step;
                (low, steepest.max(low + LEAST_STEP))
            }
            Level::Gentler => (gentlest, before - step),
        };
        let share = ((high - low) / (steepest - gentlest)).min(1.0);
        NewGrade {
            about: Some((0.5 * (low + high), (high - low) * (high - low) / 12.0)),
            share: if share < LEAST_STEP { 0.0 } else { share },
        }
    }

    /// A piece of a kind begins, with a grade that may come.
    pub fn begin(&self, kind: usize, grade: &NewGrade, belief: &mut Belief) {
        let kind = &self.kinds[kind];
        belief.turn(kind.uneven);
        if let Some((mean, variance)) = grade.about {
            belief.expect_grade(mean, variance);
        }
        if kind.change != 0.0 {
            belief.expect_change(kind.change, CHANGE.1);
        }
    }
}

/// How likely is what pays so much.
fn shares(pays: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let share = |pays: &f64| (-0.5 * pays).exp();
    pays.iter()
        .map(|row| row.iter().map(share).collect())
        .collect()
}

/// What pieces pay whose lengths are as common on a logarithmic scale as any other: of those that have grown to a length `a` the share that
/// ends before they reach `b` is `ln(b/a) / ln(longest/a)`.
fn ages(kind: &Kind, step_m: f64) -> Ages {
    let (shortest_m, longest_m) = kind.length_m;
    let share_that_ends = |age: usize| {
        let age_m = (age as f64 * step_m).min(LONG_M);
        let from_m = (age_m - 0.5 * step_m).max(shortest_m);
        let to_m = (age_m + 0.5 * step_m).max(from_m);
        if to_m >= longest_m {
            return 1.0;
        }
        (to_m / from_m).ln() / (longest_m / from_m).ln()
    };
    let nodes = (longest_m.min(LONG_M) / step_m) as usize + 2;
    let shares: Vec<f64> = (0..nodes).map(share_that_ends).collect();
    let pays = |share: f64| -2.0 * share.ln();
    Ages {
        to_end: shares.iter().map(|&share| pays(share)).collect(),
        to_go_on: shares.iter().map(|&share| pays(1.0 - share)).collect(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Whatever piece begins ends at some length or goes on: the chances of all lengths add up to one.
    #[test]
    fn every_piece_ends_or_goes_on() {
        let layout = Layout::hilly(10.0);
        for kind in 0..layout.kinds() {
            let (mut ended, mut alive) = (0.0, 1.0);
            for nodes in 1..2000 {
                let ends = (-0.5 * layout.ends(kind, nodes)).exp();
                let goes_on = (-0.5 * layout.goes_on(kind, nodes)).exp();
                assert!((ends + goes_on - 1.0).abs() < 1e-9);
                ended += alive * ends;
                alive *= goes_on;
            }
            assert!((ended + alive - 1.0).abs() < 1e-9, "{ended} {alive}");
            assert!(alive < 1e-3, "{kind}: {alive}");
        }
    }

    /// Lengths from 100 to 200 m and from 200 to 400 m are as common, by the definition of a logarithmic scale.
    #[test]
    fn lengths_are_as_common_on_a_logarithmic_scale() {
        let layout = Layout::hilly(10.0);
        let foot = 5;
        let share = |from: usize, to: usize| {
            let alive = |until: usize| {
                let on = (0..until).map(|n| layout.goes_on(foot, n));
                (-0.5 * on.sum::<f64>()).exp()
            };
            alive(from) - alive(to)
        };
        let (near, far) = (share(10, 20), share(20, 40));
        assert!((near / far - 1.0).abs() < 0.05, "{near} {far}");
    }

    #[test]
    fn a_climb_steps_by_more_than_it_may_stray() {
        let layout = Layout::hilly(10.0);
        let (steeper, gentler) = (1, 2);
        let grade = |kind, before| layout.grade_after(kind, before);
        let (mean, variance) = grade(steeper, 0.06).about.unwrap();
        // Flat between two grades: the mean less half the width, which is √3 standard deviations.
        assert!((mean - (3.0 * variance).sqrt() - 0.074).abs() < 1e-9);
        let (mean, variance) = grade(gentler, 0.09).about.unwrap();
        assert!((mean + (3.0 * variance).sqrt() - 0.07).abs() < 1e-9);
        // Nothing that is a climb is gentler than 4 % by more than it may stray.
        assert_eq!(grade(gentler, 0.04).share, 0.0);
        assert!(grade(steeper, 0.25).share > 0.0);
    }
}
