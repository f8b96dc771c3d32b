//! How wrong the recorded elevations are, and how far along the road that is correlated, estimated from the recording.
//!
//! Second differences `z(s+h) − 2 z(s) + z(s−h)` see no constant grade. Their mean square as a function of the lag h shows
//! noise and road apart: independent errors raise it alike at all lags, correlated errors up to their correlation length,
//! the road's own bends with the cube of the lag. The noise is fitted on the steadiest third of the road, where there is
//! least road to mistake for it, uphill as far as there is enough of that; then the road's own wander on all of it.

use super::Observation;
use super::lowest::lowest;

/// What is known of a recording's elevation error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of the correlated error, in metres.
    pub sd_m: f64,
    /// Distance along the road over which that error falls to 1/e, in metres.
    pub correlation_m: f64,
    /// The same in the unit of [`Observation::lapse`]: seconds where the recording has times, otherwise metres.
    pub reach: f64,
    /// Standard deviation of the independent remainder (rounding and the like), in metres.
    pub remainder_sd_m: f64,
}

/// Noise and road together, as the second differences show them.
struct Spectrum {
    sd_m: f64,
    correlation_m: f64,
    remainder_sd_m: f64,
    /// How fast the road's own grade wanders: variance of the grade (rise over run) gained per metre.
    grade_drift_per_m: f64,
}

/// What is believed of a recording before it is looked at, as centre and width of the logarithm. Only what the
/// second differences leave open is decided by it; the widths span a barometer to a bare satellite fix.
const PRIOR: [(f64, f64); 4] = [
    (0.0, 1.5),   // ln of 1 m
    (4.4, 0.6),   // ln of 80 m
    (-2.3, 1.0),  // ln of 0.1 m
    (-15.9, 1.0), // ln of 1.2e-7 per metre: a 5 % road that wanders by 0.3 points over 150 m
];
/// Distance over which a road's grade forgets itself, in metres, only for the shape at long lags.
const ROAD_MEMORY_M: f64 = 400.0;
/// How far the logarithm of a mean square may be off by chance; tells how much the data weighs against [`PRIOR`].
const LOG_SCATTER: f64 = 0.15;
/// Steps of the search, as logarithms: from the first to the last, which is a fiftieth of a size.
const STEPS: (f64, f64) = (0.8, 0.02);
/// Lags that are looked at, in metres.
const LAGS_M: [f64; 11] = [
    10.0, 20.0, 30.0, 40.0, 60.0, 80.0, 120.0, 160.0, 220.0, 300.0, 420.0,
];
/// Lags by which the steadiest blocks are told: where a road's bends outgrow a fine recording's noise, in metres.
const TELLING_LAGS_M: std::ops::RangeInclusive<f64> = 60.0..=220.0;
/// Length of a block, in metres: many correlation lengths, few climbs.
const BLOCK_M: f64 = 1000.0;
/// Share of the blocks that the noise is fitted on.
const STEADIEST_SHARE: f64 = 1.0 / 3.0;
/// Mean grade (rise over run) from which a block counts as uphill, where the noise matters most.
const UPHILL: f64 = 0.02;
/// This many uphill blocks are enough to leave the others out.
const ENOUGH_UPHILL: usize = 6;

/// Elevations better than this are fine, in metres.
const FINE_M: f64 = 0.9;
/// Elevations worse than this are poor, in metres: terrain models err by 2 m, bare satellite fixes by 4 m. How roads are laid out would decide more than they
/// do: on satellite fixes it brings 0.004 of F1 (seeds 3000 to 3059 of the truth bench), and costs 0.015 on roads that are laid out otherwise.
const POOR_M: f64 = 2.8;
/// See [`Noise::hides_kinks`], in metres: planned lines err by 0.8 m and more so, barometers by 0.4 m and less.
const SHOWS_KINKS_M: f64 = 0.55;
/// See [`Noise::place_m2`].
const PLACE_M: f64 = 50.0;

/// Estimates the noise from the observations of an even line.
pub fn estimate(observations: &[Observation], spacing_m: f64) -> Noise {
    let (elevation_m, typical_gap_m) = resample(observations, spacing_m);
    let lags: Vec<usize> = LAGS_M
        .iter()
        .filter(|lag_m| **lag_m >= typical_gap_m)
        .map(|lag_m| ((lag_m / spacing_m).round() as usize).max(1))
        .filter(|lag| elevation_m.len() > 2 * lag + 10)
        .collect();
    let blocks = blocks(&elevation_m, &lags, spacing_m);
    let steady = mean_squares(&steadiest(&blocks, &lags, spacing_m), &lags, spacing_m);
    // Size and reach are sought as size and size² over reach: along the narrow valley where both are hard to tell apart.
    let turned = |logs: &[f64; 4]| [logs[0], 2.0 * logs[0] - logs[1], logs[2], logs[3]];
    let found = from_logs(&turned(&lowest(
        |logs| misfit(&turned(logs), &steady, &PRIOR),
        turned(&PRIOR.map(|(centre, _)| centre)),
        STEPS,
    )));
    let lapse: f64 =
        observations.iter().map(|o| o.lapse).sum::<f64>() / (observations.len() as f64 * spacing_m);
    Noise::within_bounds(
        found.sd_m,
        found.correlation_m,
        lapse.max(1e-3),
        found.remainder_sd_m,
    )
}

/// A block of road: its mean grade, and the mean square of its second differences at each lag (m²).
struct Block {
    grade: f64,
    mean_square_m2: Vec<f64>,
}

fn blocks(elevation_m: &[f64], lags: &[usize], spacing_m: f64) -> Vec<Block> {
    let long = ((BLOCK_M / spacing_m) as usize).clamp(1, elevation_m.len());
    (0..elevation_m.len() / long)
        .map(|b| {
            let (from, to) = (b * long, (b + 1) * long);
            let mean_square_m2 = lags
                .iter()
                .map(|&lag| second_difference_m2(elevation_m, from, to, lag))
                .collect();
            let last = (to).min(elevation_m.len() - 1);
            let grade =
                (elevation_m[last] - elevation_m[from]) / ((last - from).max(1) as f64 * spacing_m);
            Block {
                grade,
                mean_square_m2,
            }
        })
        .collect()
}

/// Mean square of the second differences at a lag (nodes) about the nodes of a block, in m²; NaN where there are none.
fn second_difference_m2(elevation_m: &[f64], from: usize, to: usize, lag: usize) -> f64 {
    let (from, to) = (from.max(lag), to.min(elevation_m.len().saturating_sub(lag)));
    if from >= to {
        return f64::NAN;
    }
    let z = elevation_m;
    let sum: f64 = (from..to)
        .map(|i| (z[i + lag] - 2.0 * z[i] + z[i - lag]).powi(2))
        .sum();
    sum / (to - from) as f64
}

/// The third of the blocks with least bend at the telling lags, of the uphill ones if there are enough.
fn steadiest<'a>(blocks: &'a [Block], lags: &[usize], spacing_m: f64) -> Vec<&'a Block> {
    let uphill: Vec<&Block> = blocks.iter().filter(|b| b.grade >= UPHILL).collect();
    let pool = if uphill.len() >= ENOUGH_UPHILL {
        uphill
    } else {
        blocks.iter().collect()
    };
    let bend = |block: &&Block| -> f64 {
        let telling = lags
            .iter()
            .zip(&block.mean_square_m2)
            .filter(|(lag, square)| {
                TELLING_LAGS_M.contains(&(**lag as f64 * spacing_m)) && square.is_finite()
            });
        telling.map(|(_, square)| square.max(1e-9).ln()).sum()
    };
    let bends: Vec<f64> = pool.iter().map(bend).collect();
    let mut by_bend: Vec<(f64, &Block)> = bends.into_iter().zip(pool).collect();
    by_bend.sort_by(|a, b| a.0.total_cmp(&b.0));
    by_bend.truncate(((by_bend.len() as f64 * STEADIEST_SHARE).ceil() as usize).max(1));
    by_bend.into_iter().map(|(_, block)| block).collect()
}

/// Lag (metres) and mean square (m²) over some blocks; the logarithms are averaged, so that one bad block is one.
fn mean_squares(blocks: &[&Block], lags: &[usize], spacing_m: f64) -> Vec<(f64, f64)> {
    lags.iter()
        .enumerate()
        .filter_map(|(i, &lag)| {
            let logs: Vec<f64> = blocks
                .iter()
                .map(|b| b.mean_square_m2[i])
                .filter(|s| s.is_finite())
                .map(|s| s.max(1e-6).ln())
                .collect();
            (!logs.is_empty()).then(|| {
                (
                    lag as f64 * spacing_m,
                    (logs.iter().sum::<f64>() / logs.len() as f64).exp(),
                )
            })
        })
        .collect()
}

fn misfit(logs: &[f64; 4], seen: &[(f64, f64)], prior: &[(f64, f64); 4]) -> f64 {
    let noise = from_logs(logs);
    let data: f64 = seen
        .iter()
        .map(|&(h, d)| ((d.ln() - expected_m2(&noise, h).ln()) / LOG_SCATTER).powi(2))
        .sum();
    let open: f64 = logs
        .iter()
        .zip(prior)
        .map(|(x, (centre, width))| ((x - centre) / width).powi(2))
        .sum();
    data + open
}

/// No elevation is believed to be better than this, in metres; an exact line would otherwise leave the filter dividing by nothing.
pub(super) const LEAST_SD_M: f64 = 0.02;
/// A correlation over less than this is a remainder, over more a drift that no grade notices, in metres.
const CORRELATION_M: std::ops::RangeInclusive<f64> = 5.0..=2000.0;

/// Length of the climb whose grade decides which elevations are better, in metres.
pub const DECIDING_M: f64 = 500.0;
/// Elevations are clearly better where their error is at most this share of the others': both are estimates, and an estimate is good to a sixth or so.
const CLEARLY: f64 = 0.85;
/// A normal deviate that leaves a twentieth on either side.
const NINE_IN_TEN: f64 = 1.645;

/// Distance over which the error of a terrain model is correlated, in metres: about that between its samples.
pub const GROUND_M: f64 = 80.0;

impl Noise {
    pub(super) fn within_bounds(
        sd_m: f64,
        correlation_m: f64,
        lapse_per_m: f64,
        remainder_sd_m: f64,
    ) -> Self {
        let correlation_m = correlation_m.clamp(*CORRELATION_M.start(), *CORRELATION_M.end());
        Noise {
            sd_m: sd_m.max(LEAST_SD_M),
            correlation_m,
            reach: correlation_m * lapse_per_m,
            remainder_sd_m: remainder_sd_m.max(LEAST_SD_M),
        }
    }

    /// The same noise, but of at least a standard deviation (metres) that is known from elsewhere. Smooth elevations, as tiles give
    /// between their samples, hide their error; it is then correlated over [`GROUND_M`].
    pub fn at_least(self, sd_m: f64) -> Noise {
        if self.sd_m >= sd_m {
            return self;
        }
        let lapse_per_m = self.reach / self.correlation_m;
        Noise {
            sd_m,
            correlation_m: GROUND_M,
            reach: GROUND_M * lapse_per_m,
            ..self
        }
    }

    /// Whether the elevations are so good that a turn shows within some tens of metres, and a kink or a lump at all.
    pub fn is_fine(&self) -> bool {
        self.total_sd_m() < FINE_M
    }

    /// Whether a kink, which takes a metre or two at once, goes under in the error of a rise over some tens of metres. In a slow drift it doesn't, however
    /// large that is.
    pub fn hides_kinks(&self) -> bool {
        self.place_m2() > SHOWS_KINKS_M * SHOWS_KINKS_M
    }

    /// Whether the elevations are so poor that half of what they show may be error.
    pub fn is_poor(&self) -> bool {
        self.total_sd_m() > POOR_M
    }

    /// Standard deviation of a single recorded elevation, in metres.
    pub fn total_sd_m(&self) -> f64 {
        self.sd_m.hypot(self.remainder_sd_m)
    }

    /// Variance of a rise between two places, each known no better than to `PLACE_M`, in m²: where the road turns is known no
    /// better than to where the turn rises out of the error.
    pub fn place_m2(&self) -> f64 {
        let changes = 1.0 - (-PLACE_M / self.correlation_m).exp();
        2.0 * (self.sd_m * self.sd_m * changes + self.remainder_sd_m * self.remainder_sd_m)
    }

    /// The noise of tiles whose elevations err by a standard deviation (metres) and are as smooth as tiles are.
    pub fn of_tiles(sd_m: f64) -> Noise {
        Noise {
            sd_m,
            correlation_m: GROUND_M,
            reach: GROUND_M,
            remainder_sd_m: LEAST_SD_M,
        }
    }

    /// What nine in ten grades of [`DECIDING_M`] are within, in points.
    pub fn nine_in_ten_pct(&self) -> f64 {
        NINE_IN_TEN * self.grade_se_pct(DECIDING_M)
    }

    /// Whether elevations that err so give clearly better grades than others.
    pub fn is_clearly_better_than(&self, other: &Noise) -> bool {
        self.nine_in_ten_pct() <= CLEARLY * other.nine_in_ten_pct()
    }

    /// Standard error of the mean grade over a length (metres) that this noise alone leaves, in per cent.
    ///
    /// That of the best straight line through elevations all along it, whose error is a first-order Gauss–Markov process of deviation
    /// σ and reach L. Such an error `e` costs `e(0)²/2σ² + ∫(L e' + e)² ds/4σ²L` in log-likelihood; with `e = s` from -D/2
    /// to D/2 twice that is the information on the slope, `(L² D + D³/12)/2σ²L + D²/4σ²`. The independent remainder, one
    /// each 10 m, is added to the error's density and to its size.
    pub fn grade_se_pct(&self, length_m: f64) -> f64 {
        let (reach_m, error_m2) = (self.correlation_m, self.sd_m * self.sd_m);
        let remainder_m2 = self.remainder_sd_m * self.remainder_sd_m;
        let density = 2.0 * error_m2 * reach_m + remainder_m2 * super::SPACING_M;
        let inside = (reach_m * reach_m * length_m + length_m.powi(3) / 12.0) / density;
        let ends = length_m * length_m / (4.0 * (error_m2 + remainder_m2));
        100.0 / (inside + ends).sqrt()
    }
}

/// Elevation at each node, between observations linearly, and the gap that three in four are shorter than (metres).
fn resample(observations: &[Observation], spacing_m: f64) -> (Vec<f64>, f64) {
    let known: Vec<(f64, f64)> = observations
        .iter()
        .enumerate()
        .filter(|(_, o)| o.count > 0)
        .map(|(i, o)| (i as f64 * spacing_m + o.offset_m, o.elevation_m))
        .collect();
    let mut gaps: Vec<f64> = known.windows(2).map(|w| w[1].0 - w[0].0).collect();
    let three_in_four = gaps.len() * 3 / 4;
    let typical_gap_m = if gaps.is_empty() {
        spacing_m
    } else {
        *gaps.select_nth_unstable_by(three_in_four, f64::total_cmp).1
    };
    let mut after = 1;
    let elevation_m = (0..observations.len())
        .map(|i| {
            let s = i as f64 * spacing_m;
            while after + 1 < known.len() && known[after].0 < s {
                after += 1;
            }
            let ((s0, z0), (s1, z1)) = (known[after - 1], known[after.min(known.len() - 1)]);
            let share = if s1 > s0 {
                ((s - s0) / (s1 - s0)).clamp(0.0, 1.0)
            } else {
                0.0
            };
            z0 + share * (z1 - z0)
        })
        .collect();
    (elevation_m, typical_gap_m)
}

/// Mean square of second differences at a lag (metres) that this noise and road would show, in m².
fn expected_m2(noise: &Spectrum, lag_m: f64) -> f64 {
    let error = |h: f64| 2.0 * noise.sd_m.powi(2) * (1.0 - (-h / noise.correlation_m).exp());
    let grade_variance = 0.5 * noise.grade_drift_per_m * ROAD_MEMORY_M;
    let road = |h: f64| {
        let x = h / ROAD_MEMORY_M;
        2.0 * grade_variance * ROAD_MEMORY_M.powi(2) * (x - 1.0 + (-x).exp())
    };
    let from_increments = |v: &dyn Fn(f64) -> f64| 4.0 * v(lag_m) - v(2.0 * lag_m);
    from_increments(&error) + from_increments(&road) + 6.0 * noise.remainder_sd_m.powi(2)
}

fn from_logs(logs: &[f64; 4]) -> Spectrum {
    Spectrum {
        sd_m: logs[0].exp(),
        correlation_m: logs[1].exp(),
        remainder_sd_m: logs[2].exp(),
        grade_drift_per_m: logs[3].exp(),
    }
}
