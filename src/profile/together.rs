//! One series of elevations from two: a recording's and the tiles' below it.
//!
//! The difference of the two holds no road, only both errors, so that the tiles' error can be estimated from it whatever the road does:
//! each is a first-order Gauss–Markov process, the recording's by the clock, the tiles' along the road, and the smoother of Rauch, Tung and Striebel
//! (AIAA J. 3, 1965, 1445–1450) tells them apart. The tiles' elevation without that estimate is all that the two know of
//! the road. What it still errs by has the spectrum `1/(1/S₁ + 1/S₂)`, and with two spectra of the form `2σ²L/(1 + k²L²)` that is
//! another one of the same form: again a Gauss–Markov error, which the filter of [`super::kalman`] takes as it is.

use super::Observation;
use super::ground::{Ground, median};
use super::lowest::lowest;
use super::noise::{GROUND_M, Noise};
use crate::terrain::STEP_M;

/// What the logarithms of the recording's error (m), of its reach, of the ground's error (as a multiple of what is stated) and of its reach
/// are believed to be off by before the difference is looked at. Of the ground's little is doubted, since the slow part of a satellite fix's error
/// would pass for the ground's: with three to ten times as much, fixes that are off by 4 m are taken for 3 m. Tuned on the truth bench's seeds
/// 20 to 32.
const DOUBT: [f64; 4] = [0.7, 0.7, 0.1, 0.04];
/// The errors are sought with steps from the first to the second of these, of their logarithms.
const STEPS: (f64, f64) = (0.5, 0.15);
/// A difference farther off than this many standard deviations teaches nothing.
const DISBELIEF_SD: f64 = 4.0;
/// Tiles hold whole metres: the deviation of a rounding to one, in metres.
const ROUNDING_M: f64 = 0.29;
/// Two series whose differences are smaller than this share of what independent errors make err alike: one was made from the other, or both from a third.
const INDEPENDENT_SHARE: f64 = 0.7;
const MEDIAN_SHARE: f64 = 0.6745;

/// The errors of the two, as the difference shows them.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Errors {
    recorded_sd_m: f64,
    /// In the unit of [`Observation::lapse`].
    recorded_reach: f64,
    ground_share: f64,
    ground_reach_m: f64,
}

/// What is known of the two errors at a node: the recording's (m), and the ground's as a multiple of its standard deviation.
#[derive(Debug, Clone, Copy)]
struct State {
    mean: [f64; 2],
    cov: [[f64; 2]; 2],
}

/// A recording and the ground below it.
struct Pair<'a> {
    recorded: &'a [Observation],
    ground: &'a Ground,
    off_m: Vec<Option<f64>>,
    remainder_m2: f64,
}

/// Both together: observations of the road, and how wrong they are. Nothing where the two do not err independently, so that they are
/// no better together.
pub fn observations(
    recorded: &[Observation],
    noise: &Noise,
    ground: &Ground,
) -> Option<(Vec<Observation>, Noise)> {
    let differences_m = ground.differences_m(recorded);
    let level_m = median(differences_m.iter().flatten().copied().collect())?;
    let pair = Pair {
        recorded,
        ground,
        off_m: differences_m
            .iter()
            .map(|d| d.map(|d| d - level_m))
            .collect(),
        remainder_m2: noise.remainder_sd_m.powi(2) + ROUNDING_M * ROUNDING_M,
    };
    if !pair.errs_independently(noise) {
        return None;
    }
    let errors = pair.fit(noise);
    let settled = pair.smooth(&errors);
    Some(pair.combined(&errors, &settled, level_m))
}

impl Pair<'_> {
    fn errs_independently(&self, noise: &Noise) -> bool {
        let sizes = self.off_m.iter().flatten().map(|off| off.abs()).collect();
        let ground_m = median(self.ground.error_m.clone()).unwrap_or(0.0);
        let seen_m = median(sizes).unwrap_or(0.0) / MEDIAN_SHARE;
        seen_m >= INDEPENDENT_SHARE * noise.total_sd_m().hypot(ground_m)
    }

    /// The errors that make the differences most likely.
    fn fit(&self, noise: &Noise) -> Errors {
        let centre = [noise.sd_m, noise.reach, 1.0, GROUND_M].map(f64::ln);
        let as_errors = |logs: &[f64; 4]| {
            let [recorded_sd_m, recorded_reach, ground_share, ground_reach_m] = logs.map(f64::exp);
            Errors {
                recorded_sd_m,
                recorded_reach,
                ground_share,
                ground_reach_m,
            }
        };
        let misfit = |logs: &[f64; 4]| {
            let open: f64 = (0..4)
                .map(|k| ((logs[k] - centre[k]) / DOUBT[k]).powi(2))
                .sum();
            self.walk(&as_errors(logs), |_, _| {}) + open
        };
        as_errors(&lowest(misfit, centre, STEPS))
    }

    fn keeps(&self, node: usize, errors: &Errors) -> [f64; 2] {
        [
            (-self.recorded[node].lapse / errors.recorded_reach).exp(),
            (-self.ground.spacing_m / errors.ground_reach_m).exp(),
        ]
    }

    /// Runs the filter over all nodes, telling what was expected and what was believed at each; minus twice the logarithm of the likelihood.
    fn walk(&self, errors: &Errors, mut tell: impl FnMut(State, State)) -> f64 {
        let fresh = [errors.recorded_sd_m.powi(2), 1.0];
        let mut state = State {
            mean: [0.0; 2],
            cov: [[fresh[0], 0.0], [0.0, fresh[1]]],
        };
        let mut cost = 0.0;
        for (node, off_m) in self.off_m.iter().enumerate() {
            if node > 0 {
                state.step(self.keeps(node, errors), fresh);
            }
            let expected = state;
            if let Some(off_m) = off_m {
                let scale_m = errors.ground_share * self.ground.error_m[node];
                cost += state.learn(*off_m, scale_m, self.remainder_m2);
            }
            tell(expected, state);
        }
        cost
    }

    /// What is known of the errors at each node from the whole difference.
    fn smooth(&self, errors: &Errors) -> Vec<State> {
        let mut steps = Vec::with_capacity(self.off_m.len());
        self.walk(errors, |expected, believed| {
            steps.push((expected, believed))
        });
        let mut settled: Vec<State> = steps.iter().map(|(_, believed)| *believed).collect();
        for node in (0..steps.len().saturating_sub(1)).rev() {
            let (later, expected) = (settled[node + 1], steps[node + 1].0);
            let keeps = self.keeps(node + 1, errors);
            settled[node].look_back(&expected, &later, keeps);
        }
        settled
    }

    /// One observation about every 30 m, because between its samples a tile is a straight line. Each is the tile's elevation less its estimated
    /// error, or, where there is no tile, the recording's less its own.
    fn combined(
        &self,
        errors: &Errors,
        settled: &[State],
        level_m: f64,
    ) -> (Vec<Observation>, Noise) {
        let spacing_m = self.ground.spacing_m;
        let every = ((STEP_M / spacing_m).round() as usize).max(1);
        let mut seen: Vec<Observation> = Vec::with_capacity(settled.len());
        let (mut sum_m2, mut sum_reach_m, mut count) = (0.0, 0.0, 0.0);
        for (node, state) in settled.iter().enumerate() {
            let scale_m = errors.ground_share * self.ground.error_m[node];
            let recorded = &self.recorded[node];
            let (elevation_m, error_m) = match self.ground.elevation_m[node] {
                Some(ground_m) => (
                    Some(ground_m - scale_m * state.mean[1]),
                    scale_m * state.cov[1][1].max(0.0).sqrt(),
                ),
                None => (
                    (recorded.count > 0).then(|| recorded.elevation_m - level_m - state.mean[0]),
                    state.cov[0][0].max(0.0).sqrt(),
                ),
            };
            let reach_m = self.reach_m(node, errors, scale_m);
            sum_m2 += error_m * error_m;
            sum_reach_m += reach_m;
            count += 1.0;
            seen.push(Observation {
                elevation_m: elevation_m.unwrap_or(0.0),
                offset_m: 0.0,
                count: u32::from(
                    elevation_m.is_some() && (node % every == 0 || node + 1 == settled.len()),
                ),
                // Divided below by what is usual.
                lapse: if node == 0 { 0.0 } else { spacing_m / reach_m },
                error_scale: error_m,
            });
        }
        let (usual_m, reach_m) = ((sum_m2 / count).sqrt().max(0.05), sum_reach_m / count);
        for observation in &mut seen {
            observation.lapse *= reach_m;
            observation.error_scale /= usual_m;
        }
        let noise = Noise {
            sd_m: usual_m,
            correlation_m: reach_m,
            reach: reach_m,
            remainder_sd_m: ROUNDING_M,
        };
        (seen, noise)
    }

    /// How far along the road the error of both together reaches at a node, in metres.
    fn reach_m(&self, node: usize, errors: &Errors, scale_m: f64) -> f64 {
        let around =
            node.saturating_sub(PACE_NODES)..=(node + PACE_NODES).min(self.recorded.len() - 1);
        let nodes = around.clone().count() as f64;
        let lapse: f64 = self.recorded[around].iter().map(|o| o.lapse).sum();
        let recorded_m = (errors.recorded_reach * nodes * self.ground.spacing_m / lapse.max(1e-9))
            .clamp(self.ground.spacing_m, 5_000.0);
        let (recorded_m2, ground_m2) = (errors.recorded_sd_m.powi(2), scale_m * scale_m);
        let long = 1.0 / (recorded_m2 * recorded_m) + 1.0 / (ground_m2 * errors.ground_reach_m);
        let short = recorded_m / recorded_m2 + errors.ground_reach_m / ground_m2;
        (short / long).sqrt()
    }
}

/// Nodes to either side over which the pace is taken as one.
const PACE_NODES: usize = 10;

impl State {
    fn step(&mut self, keeps: [f64; 2], fresh: [f64; 2]) {
        for i in 0..2 {
            self.mean[i] *= keeps[i];
            for j in 0..2 {
                self.cov[i][j] *= keeps[i] * keeps[j];
            }
            self.cov[i][i] += (1.0 - keeps[i] * keeps[i]) * fresh[i];
        }
    }

    /// Takes in a difference: the recording's error less the ground's. Returns its cost.
    fn learn(&mut self, off_m: f64, scale_m: f64, remainder_m2: f64) -> f64 {
        let across = [0, 1].map(|i| self.cov[i][0] - scale_m * self.cov[i][1]);
        let variance_m2 = across[0] - scale_m * across[1] + remainder_m2;
        let surprise_m = off_m - self.mean[0] + scale_m * self.mean[1];
        let square = surprise_m * surprise_m / variance_m2;
        if square > DISBELIEF_SD * DISBELIEF_SD {
            return DISBELIEF_SD * DISBELIEF_SD + variance_m2.ln();
        }
        for i in 0..2 {
            self.mean[i] += across[i] / variance_m2 * surprise_m;
            for j in 0..2 {
                self.cov[i][j] -= across[i] * across[j] / variance_m2;
            }
        }
        square + variance_m2.ln()
    }

    /// Becomes what is known with the later node's whole knowledge; `expected` is what was expected there from here.
    fn look_back(&mut self, expected: &State, later: &State, keeps: [f64; 2]) {
        let e = &expected.cov;
        let determinant = (e[0][0] * e[1][1] - e[0][1] * e[1][0]).max(1e-12);
        let inverse = [
            [e[1][1] / determinant, -e[0][1] / determinant],
            [-e[1][0] / determinant, e[0][0] / determinant],
        ];
        let with = [0, 1].map(|i| [0, 1].map(|j| self.cov[i][j] * keeps[j]));
        let gain = product(&with, &inverse);
        let change = [0, 1].map(|j| later.mean[j] - expected.mean[j]);
        let spread = [0, 1].map(|i| [0, 1].map(|j| later.cov[i][j] - e[i][j]));
        let moved = product(&gain, &spread);
        for i in 0..2 {
            self.mean[i] += gain[i][0] * change[0] + gain[i][1] * change[1];
            for (cov, by) in self.cov[i].iter_mut().zip(&gain) {
                *cov += moved[i][0] * by[0] + moved[i][1] * by[1];
            }
        }
    }
}

fn product(a: &[[f64; 2]; 2], b: &[[f64; 2]; 2]) -> [[f64; 2]; 2] {
    [0, 1].map(|i| [0, 1].map(|j| a[i][0] * b[0][j] + a[i][1] * b[1][j]))
}
