//! One step of the filter that both the smoother and the splitter are made of.
//!
//! The state along the road is (elevation, level, wander, error): the elevation climbs by the grade; the grade is a level, constant
//! but where the road turns, and a wander about it as a steady road has (a first-order Gauss–Markov process); and the recording's error fades (another)
//! with time where the recording has times, with distance where it has none. A recorded elevation is elevation plus
//! error plus an independent remainder. (Durbin and Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012,
//! chapter 4.)

use super::Noise;

/// An observation this many standard deviations away from what was expected is not believed.
const DISBELIEF_SD: f64 = 5.0;
/// After this many disbelieved observations on end, the road is believed to be where they say.
const PATIENCE: u32 = 6;
/// Standard deviation of the grade (rise over run) where nothing is known of it.
const START_GRADE_SD: f64 = 0.1;
/// Standard deviation of the grade's jump at a turn (rise over run): roads join pieces between −9 and 11 %. With half of it
/// turns of one point are taken for real where wander made them, with twice of it the ends of gentle climbs are missed.
pub const TURN_SD: f64 = 0.06;
/// Wander of the grade on a steady road, as a share of the grade plus one point (a quarter of what the definition allows).
pub const WANDER_SHARE: f64 = 0.05;
/// Distance over which that wander is correlated, in metres.
pub const WANDER_M: f64 = 150.0;
/// Standard deviation of the grade about its mean on an uneven road, and the distance over which it is correlated, in metres:
/// a row of lumps of 100 to 200 m between 1 and 9 %, or a grade that goes from 1 to 10 % over 500 m.
const UNEVEN_SD: f64 = 0.03;
/// See [`UNEVEN_SD`].
const UNEVEN_M: f64 = 100.0;
/// A hairpin or a culvert takes some of a climb's rise away at once: over 45 m two thirds of the grade, 30 m for a grade of one; 30² m² in
/// some 6 km of road, in m² a metre. Where elevations err by more, it does not show as a pair of turns. With six times of it gentle
/// climbs are missed.
const KINKS_M: f64 = 0.15;
/// On steeper ground than this (rise over run) the wander grows no more.
const STEEPEST_WANDER: f64 = 0.15;

/// The elevations recorded nearest to one node.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Observation {
    /// Their mean, in metres; meaningless where `count` is 0.
    pub elevation_m: f64,
    /// How far past the node they were recorded, on average, in metres.
    pub offset_m: f64,
    /// How many there are.
    pub count: u32,
    /// How far the recording's error has moved on since the node before: in seconds where the recording has times, in
    /// metres where it has none.
    pub lapse: f64,
    /// How large the error is here, as a multiple of what is usual in the recording: more where tiles lie on ground that is
    /// steep across the road.
    pub error_scale: f64,
}

/// How the state changes from one node to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dynamics {
    /// Distance between nodes, in metres.
    pub step_m: f64,
    /// Lapse over which the recording's error falls to 1/e, in the unit of [`Observation::lapse`].
    pub reach: f64,
    /// What remains of the recording's error after the step to the node at hand, as a share.
    pub error_keeps: f64,
    /// Variance of the recording's error, in m².
    pub error_m2: f64,
    /// Variance of a single elevation's independent remainder, in m².
    pub remainder_m2: f64,
    /// How the grade wanders on a steady road.
    pub steady: Wander,
    /// How it wanders on an uneven one.
    pub uneven: Wander,
    /// Variance that hidden kinks add to the elevation in a step, in m² for a grade of one.
    pub kinks_m2: f64,
}

/// What a step does to the grade's wander: moments of an Ornstein–Uhlenbeck process of variance one and of its integral.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wander {
    /// What remains of the wander after the step, as a share.
    pub keeps: f64,
    /// Metres climbed in the step for a wander of one.
    pub climbs_m: f64,
    /// Variance of the climb that fresh wander makes, in m².
    pub fresh_climb_m2: f64,
    /// Covariance of that climb with the fresh wander, in metres.
    pub fresh_both_m: f64,
}

impl Wander {
    fn over(step_m: f64, correlation_m: f64) -> Self {
        let keeps = (-step_m / correlation_m).exp();
        let lost = 1.0 - keeps;
        let gained = 1.0 - keeps * keeps;
        Wander {
            keeps,
            climbs_m: correlation_m * lost,
            fresh_climb_m2: correlation_m
                * correlation_m
                * (2.0 * step_m / correlation_m - 4.0 * lost + gained),
            fresh_both_m: correlation_m * lost * lost,
        }
    }
}

/// Number of things that the state holds.
pub const STATE: usize = 4;
/// Something for each of them: elevation (m), level of the grade, wander of the grade (both rise over run), recording's error (m).
pub type Vector = [f64; STATE];
/// Something for each pair of them.
pub type Matrix = [[f64; STATE]; STATE];

/// What is believed about the road and the recording's error at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Elevation (m), level and wander of the grade (rise over run), recording's error (m).
    pub mean: Vector,
    /// Their covariance.
    pub cov: Matrix,
    /// Whether the road is uneven.
    pub uneven: bool,
}

/// What an observation taught.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lesson {
    /// Observed minus expected, in metres.
    pub surprise_m: f64,
    /// Variance of the surprise, in m².
    pub variance_m2: f64,
    /// How much each part of the state follows the surprise.
    pub gain: Vector,
}

/// Variance of a steady road's wander about its grade; both rise over run.
pub fn wander_variance(grade: f64) -> f64 {
    let sd = WANDER_SHARE * (grade.abs().min(STEEPEST_WANDER) + 0.01);
    sd * sd
}

/// Variance of elevation that a steady road's wander adds over a run of many times [`WANDER_M`] (metres), in m².
pub fn wander_m2(grade: f64, run_m: f64) -> f64 {
    2.0 * wander_variance(grade) * WANDER_M * run_m
}

impl Dynamics {
    /// A road under a recording that errs as was found.
    pub fn new(step_m: f64, noise: &Noise) -> Self {
        Dynamics {
            step_m,
            reach: noise.reach,
            error_keeps: (-step_m / noise.correlation_m).exp(),
            error_m2: noise.sd_m * noise.sd_m,
            remainder_m2: noise.remainder_sd_m * noise.remainder_sd_m,
            steady: Wander::over(step_m, WANDER_M),
            uneven: Wander::over(step_m, UNEVEN_M),
            kinks_m2: if noise.is_fine() {
                0.0
            } else {
                KINKS_M * step_m
            },
        }
    }

    /// Makes ready for the step to a node.
    pub fn towards(&mut self, node: &Observation) {
        self.error_keeps = (-node.lapse / self.reach).exp();
    }
}

impl Belief {
    /// Before anything is known but one elevation: grade unknown within tens of per cent.
    pub fn start(elevation_m: f64, dynamics: &Dynamics) -> Self {
        let mut cov = [[0.0; STATE]; STATE];
        cov[0][0] = 1e4;
        cov[1][1] = START_GRADE_SD * START_GRADE_SD;
        cov[2][2] = wander_variance(0.0);
        cov[3][3] = dynamics.error_m2;
        Belief {
            mean: [elevation_m, 0.0, 0.0, 0.0],
            cov,
            uneven: false,
        }
    }

    /// One step along the road.
    pub fn step(&mut self, d: &Dynamics) {
        let by = if self.uneven { &d.uneven } else { &d.steady };
        let (h, c) = (d.step_m, by.climbs_m);
        let (wk, ek) = (by.keeps, d.error_keeps);
        let wander = self.wander_variance();
        let [z, g, w, e] = self.mean;
        let fresh_m2 = self.fresh_m2(d);
        self.mean = [z + h * g + c * w, g, wk * w, ek * e];
        let [
            [p00, p01, p02, p03],
            [_, p11, p12, p13],
            [_, _, p22, p23],
            [_, _, _, p33],
        ] = self.cov;
        let a1 = p01 + h * p11 + c * p12;
        let a2 = p02 + h * p12 + c * p22;
        let n00 = p00 + h * (p01 + a1) + c * (p02 + a2) + fresh_m2;
        let n02 = wk * a2 + wander * by.fresh_both_m;
        let n03 = ek * (p03 + h * p13 + c * p23);
        let n12 = wk * p12;
        let n13 = ek * p13;
        let n22 = wk * wk * p22 + (1.0 - wk * wk) * wander;
        let n23 = wk * ek * p23;
        let n33 = ek * ek * p33 + (1.0 - ek * ek) * d.error_m2;
        self.cov = [
            [n00, a1, n02, n03],
            [a1, p11, n12, n13],
            [n02, n12, n22, n23],
            [n03, n13, n23, n33],
        ];
    }

    /// The road turns: the grade may be another from here on, and wanders about it anew.
    pub fn turn(&mut self, uneven: bool) {
        self.uneven = uneven;
        self.cov[1][1] += TURN_SD * TURN_SD;
        self.mean[2] = 0.0;
        for i in 0..STATE {
            self.cov[2][i] = 0.0;
            self.cov[i][2] = 0.0;
        }
        self.cov[2][2] = self.wander_variance();
    }

    /// Variance of the grade about its level, both rise over run.
    pub fn wander_variance(&self) -> f64 {
        if self.uneven {
            UNEVEN_SD * UNEVEN_SD
        } else {
            wander_variance(self.mean[1])
        }
    }

    /// Variance that wander and hidden kinks freshly add to the elevation in a step, in m².
    pub fn fresh_m2(&self, d: &Dynamics) -> f64 {
        let wander = self.wander_variance();
        if self.uneven {
            return wander * d.uneven.fresh_climb_m2;
        }
        wander * d.steady.fresh_climb_m2 + d.kinks_m2 * self.mean[1] * self.mean[1]
    }

    /// What an observation would teach.
    pub fn expect(&self, seen: &Observation, d: &Dynamics) -> Lesson {
        let (o, scale) = (seen.offset_m, seen.error_scale);
        let across = |i: usize| {
            self.cov[i][0] + o * (self.cov[i][1] + self.cov[i][2]) + scale * self.cov[i][3]
        };
        let [c0, c1, c2, c3] = [across(0), across(1), across(2), across(3)];
        let variance_m2 =
            c0 + o * (c1 + c2) + scale * c3 + d.remainder_m2 / f64::from(seen.count.max(1)) + 1e-6;
        let [z, g, w, e] = self.mean;
        let part = 1.0 / variance_m2;
        Lesson {
            surprise_m: seen.elevation_m - z - o * (g + w) - scale * e,
            variance_m2,
            gain: [c0 * part, c1 * part, c2 * part, c3 * part],
        }
    }

    /// Takes in an observation unless it is too far off to be true; says what it taught, and its cost (see [`Lesson::cost`]).
    ///
    /// A road can't jump, so an elevation that is `DISBELIEF_SD` standard deviations off is a bad fix and teaches
    /// nothing. Just after a turn a wall is no bad fix, though few roads turn by as much. When `PATIENCE` of them have come on end (counted in `doubts`), it was the belief that was wrong.
    pub fn weigh(
        &mut self,
        seen: &Observation,
        d: &Dynamics,
        doubts: &mut u32,
    ) -> (Option<Lesson>, f64) {
        let mut lesson = self.expect(seen, d);
        let bad = DISBELIEF_SD * DISBELIEF_SD;
        let mut cost = lesson.cost();
        let turned_m2 = if self.cov[1][1] > 0.5 * TURN_SD * TURN_SD {
            (START_GRADE_SD * d.step_m).powi(2)
        } else {
            0.0
        };
        if lesson.surprise_m.powi(2) > bad * (lesson.variance_m2 + turned_m2) {
            cost = bad + lesson.variance_m2.ln();
            if *doubts < PATIENCE {
                *doubts += 1;
                return (None, cost);
            }
            self.cov[0][0] += lesson.surprise_m.powi(2);
            self.cov[1][1] += START_GRADE_SD * START_GRADE_SD;
            lesson = self.expect(seen, d);
        }
        *doubts = 0;
        self.learn(&lesson);
        (Some(lesson), cost)
    }

    /// Changes the belief by a lesson.
    pub fn learn(&mut self, lesson: &Lesson) {
        for i in 0..STATE {
            self.mean[i] += lesson.gain[i] * lesson.surprise_m;
            for j in 0..STATE {
                self.cov[i][j] -= lesson.gain[i] * lesson.gain[j] * lesson.variance_m2;
            }
        }
    }
}

impl Lesson {
    /// Minus twice the logarithm of how likely the surprise was, up to a constant.
    pub fn cost(&self) -> f64 {
        self.square() + self.variance_m2.ln()
    }

    /// The squared surprise as a multiple of its variance.
    pub fn square(&self) -> f64 {
        self.surprise_m * self.surprise_m / self.variance_m2
    }
}
