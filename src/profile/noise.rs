//! How wrong the recorded elevations are, and how far along the road that is correlated, estimated from the recording.
//!
//! Second differences `z(s+h) − 2 z(s) + z(s−h)` see no constant grade. Their mean square as a function of the lag h shows
//! noise and road apart: independent errors raise it alike at all lags, correlated errors up to their correlation length,
//! the road's own bends with the cube of the lag. The four sizes are fitted to it together.

use super::Observation;

/// What is known of a recording's elevation error.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Noise {
    /// Standard deviation of the correlated error, in metres.
    pub sd_m: f64,
    /// Distance along the road over which that error falls to 1/e, in metres.
    pub correlation_m: f64,
    /// Standard deviation of the independent remainder (rounding and the like), in metres.
    pub remainder_sd_m: f64,
    /// How fast the road's own grade wanders: variance of the grade (rise over run) gained per metre.
    pub grade_drift_per_m: f64,
}

/// What is believed of a recording before it is looked at, as centre and width of the logarithm. Only what the
/// second differences leave open is decided by it; the widths span a barometer to a bare satellite fix.
const PRIOR: [(f64, f64); 4] = [
    (0.0, 1.5),    // ln of 1 m
    (4.4, 0.6),    // ln of 80 m
    (-2.3, 1.0),   // ln of 0.1 m
    (-12.3, 1.0),  // ln of 4.5e-6 per metre: 3 % of grade that changes every 400 m
];
/// Distance over which a road's grade forgets itself, in metres, only for the shape at long lags.
const ROAD_MEMORY_M: f64 = 400.0;
/// How far the logarithm of a mean square may be off by chance; tells how much the data weighs against [`PRIOR`].
const LOG_SCATTER: f64 = 0.15;
/// Lags that are looked at, in metres.
const LAGS_M: [f64; 12] = [10.0, 20.0, 30.0, 40.0, 60.0, 80.0, 120.0, 160.0, 220.0, 300.0, 420.0, 600.0];
/// Share of the smallest second differences that is used: spikes and kinks in the road are in the rest.
const TRIM: f64 = 0.9;
/// Mean square of the middle 90 % of a normal variable over its variance.
const TRIMMED_SHARE: f64 = 0.6230;

/// Estimates the noise from the observations of an even line.
pub fn estimate(observations: &[Observation], spacing_m: f64) -> Noise {
    let (elevation_m, typical_gap_m) = resample(observations, spacing_m);
    let mut seen: Vec<(f64, f64)> = Vec::with_capacity(LAGS_M.len());
    for lag_m in LAGS_M {
        let lag = (lag_m / spacing_m).round() as usize;
        if lag_m < typical_gap_m || lag == 0 || elevation_m.len() < 3 * lag + 20 {
            continue;
        }
        if let Some(mean_square) = second_difference_m2(&elevation_m, lag) {
            seen.push((lag as f64 * spacing_m, mean_square));
        }
    }
    let misfit = |logs: &[f64; 4]| {
        let noise = from_logs(logs);
        let data: f64 = seen.iter().map(|&(h, d)| ((d.ln() - expected_m2(&noise, h).ln()) / LOG_SCATTER).powi(2)).sum();
        let prior: f64 = logs.iter().zip(PRIOR).map(|(x, (centre, width))| ((x - centre) / width).powi(2)).sum();
        data + prior
    };
    from_logs(&descend(misfit, PRIOR.map(|(centre, _)| centre)))
}

impl Noise {
    /// What the recording looks like, in a sentence.
    pub fn in_words(&self) -> String {
        let total = self.total_sd_m();
        let kind = match total {
            t if t < 0.8 => "fine, like a barometer's or a good plan's",
            t if t < 2.5 => "like a terrain model's",
            _ => "coarse, like a satellite fix's",
        };
        format!("elevation noise ±{total:.1} m over {:.0} m of road: {kind}", self.correlation_m)
    }

    /// Standard deviation of a single recorded elevation, in metres.
    pub fn total_sd_m(&self) -> f64 {
        self.sd_m.hypot(self.remainder_sd_m)
    }

    pub(super) fn remarks(&self) -> Vec<String> {
        if self.total_sd_m() < 2.5 {
            return Vec::new();
        }
        vec![format!(
            "elevations are uncertain by ±{:.0} m (as from satellites alone): grades are rough; elevation tiles or a barometer's recording give better ones",
            self.total_sd_m()
        )]
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
    gaps.sort_by(f64::total_cmp);
    let typical_gap_m = gaps.get(gaps.len() * 3 / 4).copied().unwrap_or(spacing_m);
    let mut after = 1;
    let elevation_m = (0..observations.len())
        .map(|i| {
            let s = i as f64 * spacing_m;
            while after + 1 < known.len() && known[after].0 < s {
                after += 1;
            }
            let ((s0, z0), (s1, z1)) = (known[after - 1], known[after.min(known.len() - 1)]);
            let share = if s1 > s0 { ((s - s0) / (s1 - s0)).clamp(0.0, 1.0) } else { 0.0 };
            z0 + share * (z1 - z0)
        })
        .collect();
    (elevation_m, typical_gap_m)
}

/// Trimmed mean square of the second differences at a lag of nodes, in m².
fn second_difference_m2(elevation_m: &[f64], lag: usize) -> Option<f64> {
    let mut sizes: Vec<f64> = (lag..elevation_m.len() - lag)
        .map(|i| (elevation_m[i + lag] - 2.0 * elevation_m[i] + elevation_m[i - lag]).abs())
        .collect();
    let kept = (sizes.len() as f64 * TRIM) as usize;
    if kept < 10 {
        return None;
    }
    let (smaller, _, _) = sizes.select_nth_unstable_by(kept, f64::total_cmp);
    let mean_square = smaller.iter().map(|d| d * d).sum::<f64>() / kept as f64 / TRIMMED_SHARE;
    Some(mean_square.max(1e-6))
}

/// Mean square of second differences at a lag (metres) that this noise and road would show, in m².
fn expected_m2(noise: &Noise, lag_m: f64) -> f64 {
    let error = |h: f64| 2.0 * noise.sd_m.powi(2) * (1.0 - (-h / noise.correlation_m).exp());
    let grade_variance = 0.5 * noise.grade_drift_per_m * ROAD_MEMORY_M;
    let road = |h: f64| {
        let x = h / ROAD_MEMORY_M;
        2.0 * grade_variance * ROAD_MEMORY_M.powi(2) * (x - 1.0 + (-x).exp())
    };
    let from_increments = |v: &dyn Fn(f64) -> f64| 4.0 * v(lag_m) - v(2.0 * lag_m);
    from_increments(&error) + from_increments(&road) + 6.0 * noise.remainder_sd_m.powi(2)
}

fn from_logs(logs: &[f64; 4]) -> Noise {
    Noise {
        sd_m: logs[0].exp(),
        correlation_m: logs[1].exp(),
        remainder_sd_m: logs[2].exp(),
        grade_drift_per_m: logs[3].exp(),
    }
}

/// Pattern search (Hooke and Jeeves, J. ACM 8, 1961, 212–229) without the pattern move: coordinates in turn, steps halved.
fn descend(misfit: impl Fn(&[f64; 4]) -> f64, start: [f64; 4]) -> [f64; 4] {
    let mut best = start;
    let mut lowest = misfit(&best);
    let mut step = 0.8;
    while step > 0.01 {
        let mut improved = false;
        for axis in 0..4 {
            for sign in [1.0, -1.0] {
                let mut trial = best;
                trial[axis] += sign * step;
                let cost = misfit(&trial);
                if cost < lowest {
                    (best, lowest, improved) = (trial, cost, true);
                }
            }
        }
        if !improved {
            step *= 0.5;
        }
    }
    best
}
