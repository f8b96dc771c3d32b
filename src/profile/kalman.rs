//! One step of the filter that both the smoother and the splitter are made of.
//!
//! The state along the road is (elevation, grade, error): the elevation climbs by the grade, the grade wanders, and the
//! recording's error fades with distance (a first-order Gauss–Markov process). A recorded elevation is elevation plus error
//! plus an independent remainder. (Durbin and Koopman, Time Series Analysis by State Space Methods, 2nd ed. 2012, chapter 4.)

use super::Noise;

/// An observation this many standard deviations away from what was expected is not believed.
const DISBELIEF_SD: f64 = 5.0;
/// After this many disbelieved observations on end, the road is believed to be where they say.
const PATIENCE: u32 = 6;
/// Standard deviation of the grade (rise over run) where nothing is known of it.
const START_GRADE_SD: f64 = 0.1;

/// The elevations recorded nearest to one node.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Observation {
    /// Their mean, in metres; meaningless where `count` is 0.
    pub elevation_m: f64,
    /// How far past the node they were recorded, on average, in metres.
    pub offset_m: f64,
    /// How many there are.
    pub count: u32,
}

/// How the state changes from one node to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dynamics {
    /// Distance between nodes, in metres.
    pub step_m: f64,
    /// Variance that the elevation gains in a step beyond what the grade says, in m².
    pub elevation_drift_m2: f64,
    /// Variance that the grade gains in a step.
    pub grade_drift: f64,
    /// What remains of the recording's error after a step, as a share.
    pub error_keeps: f64,
    /// Variance of the recording's error, in m².
    pub error_m2: f64,
    /// Variance of a single elevation's independent remainder, in m².
    pub remainder_m2: f64,
}

/// What is believed about the road and the recording's error at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Elevation (m), grade (rise over run), recording's error (m).
    pub mean: [f64; 3],
    /// Their covariance.
    pub cov: [[f64; 3]; 3],
}

/// What an observation taught.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lesson {
    /// Observed minus expected, in metres.
    pub surprise_m: f64,
    /// Variance of the surprise, in m².
    pub variance_m2: f64,
    /// How much each part of the state follows the surprise.
    pub gain: [f64; 3],
}

impl Dynamics {
    /// A road whose grade wanders as the noise estimate found, under a recording that errs as it found.
    pub fn new(step_m: f64, noise: &Noise) -> Self {
        Dynamics {
            step_m,
            elevation_drift_m2: noise.grade_drift_per_m * step_m.powi(3) / 3.0,
            grade_drift: noise.grade_drift_per_m * step_m,
            error_keeps: (-step_m / noise.correlation_m).exp(),
            error_m2: noise.sd_m * noise.sd_m,
            remainder_m2: noise.remainder_sd_m * noise.remainder_sd_m,
        }
    }
}

impl Belief {
    /// Before anything is known but one elevation: grade unknown within tens of per cent.
    pub fn start(elevation_m: f64, dynamics: &Dynamics) -> Self {
        let mut cov = [[0.0; 3]; 3];
        cov[0][0] = 1e4;
        cov[1][1] = START_GRADE_SD * START_GRADE_SD;
        cov[2][2] = dynamics.error_m2;
        Belief {
            mean: [elevation_m, 0.0, 0.0],
            cov,
        }
    }

    /// One step along the road.
    pub fn step(&mut self, d: &Dynamics) {
        let h = d.step_m;
        let keep = d.error_keeps;
        self.mean = [
            self.mean[0] + h * self.mean[1],
            self.mean[1],
            keep * self.mean[2],
        ];
        let [[p00, p01, p02], [_, p11, p12], [_, _, p22]] = self.cov;
        let n00 = p00 + h * (2.0 * p01 + h * p11) + d.elevation_drift_m2;
        let n01 = p01 + h * p11 + 0.5 * h * d.grade_drift;
        let n02 = keep * (p02 + h * p12);
        let n11 = p11 + d.grade_drift;
        let n12 = keep * p12;
        let n22 = keep * keep * p22 + (1.0 - keep * keep) * d.error_m2;
        self.cov = [[n00, n01, n02], [n01, n11, n12], [n02, n12, n22]];
    }

    /// Takes in an observation: what was expected of it, before the belief is changed.
    pub fn expect(&self, seen: &Observation, d: &Dynamics) -> Lesson {
        let o = seen.offset_m;
        let across = |i: usize| self.cov[i][0] + o * self.cov[i][1] + self.cov[i][2];
        let (c0, c1, c2) = (across(0), across(1), across(2));
        let variance_m2 = c0 + o * c1 + c2 + d.remainder_m2 / f64::from(seen.count.max(1)) + 1e-6;
        Lesson {
            surprise_m: seen.elevation_m - self.mean[0] - o * self.mean[1] - self.mean[2],
            variance_m2,
            gain: [c0 / variance_m2, c1 / variance_m2, c2 / variance_m2],
        }
    }

    /// Takes in an observation unless it is too far off to be true; says what it taught, and its cost (see [`Lesson::cost`]).
    ///
    /// A road can't jump, so an elevation that is `DISBELIEF_SD` standard deviations off is a bad fix and teaches
    /// nothing. When `PATIENCE` of them have come on end (counted in `doubts`), it was the belief that was wrong.
    pub fn weigh(
        &mut self,
        seen: &Observation,
        d: &Dynamics,
        doubts: &mut u32,
    ) -> (Option<Lesson>, f64) {
        let mut lesson = self.expect(seen, d);
        let bad = DISBELIEF_SD * DISBELIEF_SD;
        let mut cost = lesson.cost();
        if lesson.surprise_m.powi(2) > bad * lesson.variance_m2 {
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
        for i in 0..3 {
            self.mean[i] += lesson.gain[i] * lesson.surprise_m;
            for j in 0..3 {
                self.cov[i][j] -= lesson.gain[i] * lesson.gain[j] * lesson.variance_m2;
            }
        }
    }
}

impl Lesson {
    /// Minus twice the logarithm of how likely the surprise was, up to a constant.
    pub fn cost(&self) -> f64 {
        self.surprise_m * self.surprise_m / self.variance_m2 + self.variance_m2.ln()
    }
}
