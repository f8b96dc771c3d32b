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
/// A new grade is told once no more than this share of [`TURN_SD`]² is left of its variance; where elevations are fine the first one leaves a thousandth
/// to a third.
const NEW_GRADE_TOLD: f64 = 0.5;
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
/// climbs are missed, unless it is weighed how roads are laid out.
const KINKS_M: f64 = 0.15;
/// Where the grade changes evenly it wanders besides, as a road of this grade does (rise over run); a share of that, since wander that lasts
/// looks like another change.
const CHANGING_GRADE: f64 = 0.05;
/// See [`CHANGING_GRADE`].
const CHANGING_SHARE: f64 = 0.3;
/// On steeper ground than this (rise over run) wander and kinks grow no more.
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
    /// Variance of where about a node the road turns, in m²; hidden kinks stand for it where elevations are coarse.
    pub turn_m2: f64,
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

/// Something for each pair of them, whichever comes first: of elevation (`z`), level (`g`), wander (`w`) and error (`e`).
#[derive(Debug, Clone, Copy, Default, PartialEq)]
#[allow(missing_docs, reason = "each is the pair that it is called")]
pub struct Pairs {
    pub zz: f64,
    pub zg: f64,
    pub zw: f64,
    pub ze: f64,
    pub gg: f64,
    pub gw: f64,
    pub ge: f64,
    pub ww: f64,
    pub we: f64,
    pub ee: f64,
}

/// A number, or nothing where products of two such would be too small for a processor to be quick about.
pub(super) fn without_trace(x: f64) -> f64 {
    if x.abs() < 1e-150 { 0.0 } else { x }
}

impl Pairs {
    /// Takes next to nothing for nothing where the wander or the error is one of the two.
    pub(super) fn drop_traces(&mut self) {
        for x in [
            &mut self.zw,
            &mut self.ze,
            &mut self.gw,
            &mut self.ge,
            &mut self.ww,
            &mut self.we,
            &mut self.ee,
        ] {
            *x = without_trace(*x);
        }
    }

    /// The product of the symmetric matrix of these with a vector.
    #[inline]
    pub fn times(&self, [z, g, w, e]: &Vector) -> Vector {
        [
            self.zz * z + self.zg * g + self.zw * w + self.ze * e,
            self.zg * z + self.gg * g + self.gw * w + self.ge * e,
            self.zw * z + self.gw * g + self.ww * w + self.we * e,
            self.ze * z + self.ge * g + self.we * w + self.ee * e,
        ]
    }
}

/// What is believed about the road and the recording's error at a node.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belief {
    /// Elevation (m), level and wander of the grade (rise over run), recording's error (m).
    pub mean: Vector,
    /// Their covariances.
    pub cov: Pairs,
    /// Whether the road is uneven.
    pub uneven: bool,
    /// Whether the road has turned and nothing yet tells to what grade.
    just_turned: bool,
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
            turn_m2: if noise.is_fine() {
                step_m * step_m / 12.0
            } else {
                0.0
            },
        }
    }

    /// Makes ready for the step to a node.
    pub fn towards(&mut self, node: &Observation) {
        self.error_keeps = fading(node.lapse / self.reach);
    }
}

/// `exp(−x)` for `x` from 0. Most steps are a small part of the error's reach, and there Padé's approximant of order 3, 3 (from memory; held against
/// the library's by a test) is within 1e-7. It is worked out more than ten times a node: 3 in 100 of all instructions for a recording are saved.
#[inline]
fn fading(x: f64) -> f64 {
    if x > 0.5 {
        return (-x).exp();
    }
    let (odd, even) = (x * (0.5 + x * x / 120.0), 1.0 + x * x / 10.0);
    (even - odd) / (even + odd)
}

// What is always inlined stays in registers from its step to what it learns: called, a recording takes a tenth of the time more.
impl Belief {
    /// Before anything is known but one elevation: grade unknown within tens of per cent.
    pub fn start(elevation_m: f64, dynamics: &Dynamics) -> Self {
        Belief {
            mean: [elevation_m, 0.0, 0.0, 0.0],
            cov: Pairs {
                zz: 1e4,
                gg: START_GRADE_SD * START_GRADE_SD,
                ww: wander_variance(0.0),
                ee: dynamics.error_m2,
                ..Pairs::default()
            },
            uneven: false,
            just_turned: false,
        }
    }

    /// One step along the road.
    #[inline(always)]
    pub fn step(&mut self, d: &Dynamics) {
        let by = if self.uneven { &d.uneven } else { &d.steady };
        let (h, c) = (d.step_m, by.climbs_m);
        let (wk, ek) = (by.keeps, d.error_keeps);
        let wander = self.wander_variance();
        let fresh_m2 = self.fresh_m2(d);
        let [z, g, w, e] = self.mean;
        self.mean = [z + h * g + c * w, g, wk * w, ek * e];
        let p = self.cov;
        let zg = p.zg + h * p.gg + c * p.gw;
        let zw = p.zw + h * p.gw + c * p.ww;
        self.cov = Pairs {
            zz: p.zz + h * (p.zg + zg) + c * (p.zw + zw) + fresh_m2,
            zg,
            zw: wk * zw + wander * by.fresh_both_m,
            ze: ek * (p.ze + h * p.ge + c * p.we),
            gg: p.gg,
            gw: wk * p.gw,
            ge: ek * p.ge,
            ww: wk * wk * p.ww + (1.0 - wk * wk) * wander,
            we: wk * ek * p.we,
            ee: ek * ek * p.ee + (1.0 - ek * ek) * d.error_m2,
        };
    }

    /// One step along a road whose grade changes evenly: its change a metre stands where the wander does elsewhere. An elevation 5 m
    /// off its node is held against that as if it were wander: for a change of 2 points in 100 m that is a millimetre.
    pub fn step_changing(&mut self, d: &Dynamics) {
        let h = d.step_m;
        let a = 0.5 * h * h;
        let ek = d.error_keeps;
        let [z, g, c, e] = self.mean;
        self.mean = [z + h * g + a * c, g + h * c, c, ek * e];
        let p = self.cov;
        let zg = p.zg + h * p.gg + a * p.gw;
        let zw = p.zw + h * p.gw + a * p.ww;
        let gw = p.gw + h * p.ww;
        let fresh_m2 = CHANGING_SHARE * wander_m2(CHANGING_GRADE, h);
        self.cov = Pairs {
            zz: p.zz + h * (p.zg + zg) + a * (p.zw + zw) + fresh_m2,
            zg: zg + h * zw,
            zw,
            ze: ek * (p.ze + h * p.ge + a * p.we),
            gg: p.gg + h * (p.gw + gw),
            gw,
            ge: ek * (p.ge + h * p.we),
            ww: p.ww,
            we: ek * p.we,
            ee: ek * ek * p.ee + (1.0 - ek * ek) * d.error_m2,
        };
    }

    /// Takes next to nothing for nothing: over some 60 km without elevations what is left of the error and the wander becomes so small
    /// that a processor takes ten times as long for it (4,000 km with two elevations: 35 s, without them 4.5 s).
    pub fn drop_traces(&mut self) {
        self.mean[3] = without_trace(self.mean[3]);
        self.mean[2] = without_trace(self.mean[2]);
        self.cov.drop_traces();
    }

    /// The road turns: the grade may be another from here on, and wanders about it anew.
    pub fn turn(&mut self, uneven: bool) {
        self.uneven = uneven;
        self.just_turned = true;
        self.mean[2] = 0.0;
        self.cov = Pairs {
            gg: self.cov.gg + TURN_SD * TURN_SD,
            zw: 0.0,
            gw: 0.0,
            we: 0.0,
            ww: self.wander_variance(),
            ..self.cov
        };
    }

    /// After a turn: this mean and variance of the grade's level are expected, whatever it was before (rise over run).
    pub fn expect_grade(&mut self, mean: f64, variance: f64) {
        self.mean[1] = mean;
        self.cov.gg = variance;
        self.cov.zg = 0.0;
        self.cov.ge = 0.0;
        self.cov.ww = self.wander_variance();
    }

    /// After a turn: the grade changes evenly, by so much a metre (mean and standard deviation, rise over run).
    pub fn expect_change(&mut self, mean: f64, sd: f64) {
        self.mean[2] = mean;
        self.cov.ww = sd * sd;
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
        let grade = self.mean[1].abs().min(STEEPEST_WANDER);
        wander * d.steady.fresh_climb_m2 + d.kinks_m2 * grade * grade
    }

    /// What an observation would teach.
    #[inline(always)]
    pub fn expect(&self, seen: &Observation, d: &Dynamics) -> Lesson {
        let (o, scale) = (seen.offset_m, seen.error_scale);
        let p = &self.cov;
        // Covariance of each part of the state with the elevation that is expected.
        let zs = p.zz + o * (p.zg + p.zw) + scale * p.ze;
        let gs = p.zg + o * (p.gg + p.gw) + scale * p.ge;
        let ws = p.zw + o * (p.gw + p.ww) + scale * p.we;
        let es = p.ze + o * (p.ge + p.we) + scale * p.ee;
        let variance_m2 =
            zs + o * (gs + ws) + scale * es + d.remainder_m2 / f64::from(seen.count.max(1)) + 1e-6;
        let [z, g, w, e] = self.mean;
        let part = 1.0 / variance_m2;
        Lesson {
            surprise_m: seen.elevation_m - z - o * (g + w) - scale * e,
            variance_m2,
            gain: [zs * part, gs * part, ws * part, es * part],
        }
    }

    /// Takes in an observation unless it is too far off to be true; says what it taught, and what it pays.
    ///
    /// A road can't jump, so an elevation that is `DISBELIEF_SD` standard deviations off is a bad fix and teaches
    /// nothing. Just after a turn a wall is no bad fix, though few roads turn by as much. When `PATIENCE` of them have come on end (counted in `doubts`), it was the belief that was wrong.
    #[inline(always)]
    pub fn weigh(
        &mut self,
        seen: &Observation,
        d: &Dynamics,
        doubts: &mut u32,
    ) -> (Option<Lesson>, Pays) {
        let mut lesson = self.expect(seen, d);
        let bad = DISBELIEF_SD * DISBELIEF_SD;
        let mut pays = lesson.pays();
        let square_m2 = lesson.surprise_m.powi(2);
        if square_m2 > bad * lesson.variance_m2
            && square_m2 > bad * (lesson.variance_m2 + self.wall_m2(&lesson))
        {
            pays.square = bad;
            if *doubts < PATIENCE {
                *doubts += 1;
                return (None, pays);
            }
            self.cov.zz += lesson.surprise_m.powi(2);
            self.cov.gg += START_GRADE_SD * START_GRADE_SD;
            lesson = self.expect(seen, d);
        }
        *doubts = 0;
        self.take(&lesson, d);
        (Some(lesson), pays)
    }

    /// Variance of the rise since a turn to a grade of which nothing is known, in m²; none where the road goes on as before.
    fn wall_m2(&self, lesson: &Lesson) -> f64 {
        if !self.just_turned {
            return 0.0;
        }
        let since_m = lesson.gain[1] * lesson.variance_m2 / self.cov.gg;
        (START_GRADE_SD * since_m).powi(2)
    }

    /// Changes the belief by a lesson. One that tells of a new grade tells the less of it the more the road turned, since it turned anywhere
    /// about the node: a surprise `r` at a distance `d` from the node is a grade by `r/d` steeper if the road turned there, by `r/(d − u)` if it turned
    /// at `u`, and that is `u r/d²` more.
    #[inline(always)]
    pub(super) fn take(&mut self, lesson: &Lesson, d: &Dynamics) {
        let gg = self.cov.gg;
        self.learn(lesson);
        let told = NEW_GRADE_TOLD * TURN_SD * TURN_SD;
        if self.just_turned && self.cov.gg < told {
            // r/d², where all of the surprise is the new grade's.
            let steeper = gg * lesson.surprise_m / lesson.variance_m2;
            self.cov.gg += d.turn_m2 * steeper * steeper;
            self.just_turned = self.cov.gg >= told;
        }
    }

    /// Changes the belief by a lesson.
    #[inline(always)]
    pub fn learn(&mut self, lesson: &Lesson) {
        let [z, g, w, e] = lesson.gain;
        for (mean, gain) in self.mean.iter_mut().zip(lesson.gain) {
            *mean += gain * lesson.surprise_m;
        }
        let known = lesson.variance_m2;
        let p = &mut self.cov;
        p.zz -= z * z * known;
        p.zg -= z * g * known;
        p.zw -= z * w * known;
        p.ze -= z * e * known;
        p.gg -= g * g * known;
        p.gw -= g * w * known;
        p.ge -= g * e * known;
        p.ww -= w * w * known;
        p.we -= w * e * known;
        p.ee -= e * e * known;
    }
}

/// What an observation pays: minus twice the logarithm of how likely it was, in its two parts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pays {
    /// The squared surprise as a multiple of its variance, bounded where it is not believed.
    pub square: f64,
    /// Variance of the surprise, in m².
    pub variance_m2: f64,
}

impl Pays {
    /// All of it, up to a constant.
    pub fn cost(&self) -> f64 {
        self.square + self.variance_m2.ln()
    }
}

impl Lesson {
    /// What the observation pays.
    #[inline]
    pub fn pays(&self) -> Pays {
        Pays {
            square: self.surprise_m * self.surprise_m / self.variance_m2,
            variance_m2: self.variance_m2,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::fading;

    #[test]
    fn fading_is_the_exponential() {
        for i in 0..2000 {
            let x = i as f64 / 1000.0;
            assert!((fading(x) - (-x).exp()).abs() < 1e-7, "{x}");
        }
    }
}
