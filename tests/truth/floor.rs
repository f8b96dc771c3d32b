//! The floor: how well the ends and the grade of a climb could be known by anybody.
//!
//! For climbs drawn as on the bench's roads, with the piece before and the piece after (up to 600 m of each), points
//! and noise are drawn as each kind has them, and estimated by a reader who knows everything but what is asked:
//!
//! * that there is one climb between two other pieces, that it is at least 400 m long, and where those pieces end;
//! * the length of both vertical curves, and that there are no kinks, spikes, holes or stops (there are none);
//! * the covariance of the elevation noise and of the grade's wander in each piece exactly; rounding counts as
//!   white noise of its variance, a twelfth of the squared step;
//! * the distance along the road of each point, so nothing is lost to horizontal errors, save that an end can't be
//!   placed better on the ground than the receiver's own error along the road; barometers do not drift.
//!
//! Level, the three grades and both ends are unknown. Given the ends, elevations are linear in the rest: generalised
//! least squares, knowing of the grades only that a road turns up or down by some 7 points. The ends have a flat prior on a grid. Their posterior medians are the estimates
//! (they make the absolute error least), and the posterior mean of the realised grade between the ends, wander
//! included, is that of the grade. Points a second apart are averaged in small blocks, with the covariance of the
//! averages exact. Climbs are counted where the estimate would be found by the score's rule.

use super::definition::{SURE_SHARE, is_steady, measure};
use super::layout::{Character, Piece};
use super::matrix::Cholesky;
use super::posterior::{Candidate, Estimate, Whitened, posterior, turned_m};
use super::profile::{Profile, WANDER_REACH_M, build, draw_wander};
use super::recording::{
    Kind, PLANNER_ERROR_M, TERRAIN_MODEL_ERROR_M, clock_noise, terrain_reach_m,
};
use super::rider::steady_speed_m_s;
use super::rng::{GaussMarkov, Rng};
use super::road::Road;
use super::score::{LEAST_OVERLAP, Spread, spread};

/// The best that can be done on one kind of recording.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Floor {
    /// The kind.
    pub kind: Kind,
    /// Share of the climbs that would be found.
    pub found_share: f64,
    /// Absolute errors of the ends.
    pub ends_m: Spread,
    /// Absolute errors of the mean grade.
    pub grade_pct: Spread,
    /// Share of the ends inside the middle nine tenths of their posterior: about 0.9, or the simulation is wrong.
    pub inside_share: f64,
}

/// The most of a neighbouring piece that is looked at.
const NEIGHBOUR_M: f64 = 600.0;
/// An end is looked for no nearer than this to the other end of its neighbour.
const NEIGHBOUR_MARGIN_M: f64 = 20.0;
/// Points that a window may have before they are averaged in blocks.
const MOST_BLOCKS: usize = 220;
/// Grid points for each end.
const GRID: usize = 64;
const FLOOR_SEED: u64 = 0xf100;

/// The floors of all kinds, each from so many climbs.
pub fn simulate_all(climbs: usize) -> Vec<Floor> {
    let cases = draw_cases(climbs);
    let floors = Kind::ALL.into_iter();
    floors.filter_map(|kind| simulate(kind, &cases)).collect()
}

/// A climb with its neighbours, the first 0 m at the window's start.
#[derive(Debug, Clone)]
struct Case {
    pieces: [Piece; 3],
    profile: Profile,
    /// Where the climb starts and ends.
    ends_m: [f64; 2],
}

fn draw_cases(count: usize) -> Vec<Case> {
    let mut rng = Rng::new(FLOOR_SEED);
    let mut cases = Vec::with_capacity(count);
    for seed in 0.. {
        let road = Road::draw(FLOOR_SEED + seed);
        for triple in road.pieces.windows(3) {
            if cases.len() == count {
                return cases;
            }
            if triple[1].character == Character::Climb {
                cases.push(draw_case(&mut rng, triple));
            }
        }
    }
    cases
}

fn draw_case(rng: &mut Rng, triple: &[Piece]) -> Case {
    let pieces = [0, 1, 2].map(|number| {
        let mut piece = triple[number].clone();
        piece.kinks.clear();
        if number != 1 {
            piece.length_m = piece.length_m.min(NEIGHBOUR_M);
        }
        piece
    });
    let start_m = pieces[0].length_m;
    let ends_m = [start_m, start_m + pieces[1].length_m];
    loop {
        let wanders: Vec<_> = pieces.iter().map(|piece| draw_wander(rng, piece)).collect();
        let profile = build(&pieces, &wanders, 0.0);
        let climb = measure(&profile, ends_m[0] as usize, ends_m[1] as usize);
        if is_steady(&climb, SURE_SHARE) {
            return Case {
                pieces,
                profile,
                ends_m,
            };
        }
    }
}

fn simulate(kind: Kind, cases: &[Case]) -> Option<Floor> {
    let mut rng = Rng::for_purpose(FLOOR_SEED, kind as u64);
    let (mut ends_m, mut grades_pct) = (Vec::new(), Vec::new());
    let (mut inside, mut estimated) = (0, 0);
    for case in cases {
        let points = draw_points(&mut rng, kind, case);
        let Some(estimate) = estimate(&mut rng, kind, case, &points) else {
            continue;
        };
        for (range_m, end_m) in estimate.ranges_m.iter().zip(case.ends_m) {
            inside += usize::from((range_m[0]..=range_m[1]).contains(&end_m));
            estimated += 1;
        }
        let [start_m, end_m] = case.ends_m;
        let shared_m = estimate.ends_m[1].min(end_m) - estimate.ends_m[0].max(start_m);
        let together_m = estimate.ends_m[1].max(end_m) - estimate.ends_m[0].min(start_m);
        if shared_m < LEAST_OVERLAP * together_m {
            continue;
        }
        for (found_m, true_m) in estimate.ends_m.iter().zip(case.ends_m) {
            ends_m.push(found_m + points.misplaced_m * rng.normal() - true_m);
        }
        grades_pct.push(estimate.grade_pct - case.profile.mean_grade_pct(start_m, end_m));
    }
    Some(Floor {
        kind,
        found_share: grades_pct.len() as f64 / cases.len() as f64,
        ends_m: spread(ends_m.iter())?,
        grade_pct: spread(grades_pct.iter())?,
        inside_share: inside as f64 / estimated as f64,
    })
}

/// What a recording of a case holds.
struct Points {
    at_m: Vec<f64>,
    elevation_m: Vec<f64>,
    /// What the noise follows: metres or seconds.
    at_noise: Vec<f64>,
    noise_sd_m: f64,
    noise_reach: f64,
    /// Standard deviation of a place's error along the road.
    misplaced_m: f64,
}

fn draw_points(rng: &mut Rng, kind: Kind, case: &Case) -> Points {
    let mut points = Points {
        at_m: Vec::new(),
        elevation_m: Vec::new(),
        at_noise: Vec::new(),
        noise_sd_m: match kind {
            Kind::Planner => rng.between(PLANNER_ERROR_M.0, PLANNER_ERROR_M.1),
            Kind::TerrainModel => TERRAIN_MODEL_ERROR_M,
            _ => clock_noise(kind).0,
        },
        noise_reach: if kind.is_ridden() {
            clock_noise(kind).1
        } else {
            terrain_reach_m(kind)
        },
        misplaced_m: if kind.is_ridden() {
            rng.between(2.0, 3.0)
        } else {
            0.0
        },
    };
    let mut noise = GaussMarkov::new(points.noise_sd_m, points.noise_reach, rng);
    let speeds_m_s = [0, 1, 2].map(|piece: usize| steady_speed_m_s(case.pieces[piece].grade_pct));
    let total_m = case.profile.grade_pct.len() as f64;
    let (mut at_m, mut at_noise) = (rng.between(0.0, 8.0), 0.0);
    while at_m <= total_m {
        let exact_m = case.profile.elevation_at_m(at_m) + noise.value();
        points.at_m.push(at_m);
        points.at_noise.push(at_noise);
        points
            .elevation_m
            .push((exact_m / kind.step_m()).round() * kind.step_m());
        let (step_m, step_noise) = match kind {
            Kind::Planner => both(rng.between(8.0, 90.0)),
            Kind::TerrainModel => both(rng.between(8.0, 40.0)),
            _ => {
                let piece = case.ends_m.iter().filter(|&&end_m| at_m >= end_m).count();
                let gap_s = match kind {
                    Kind::WholeMetre => rng.whole(1, 8) as f64,
                    _ => 1.0,
                };
                (gap_s * speeds_m_s[piece], gap_s)
            }
        };
        noise.advance(step_noise, rng);
        at_m += step_m;
        at_noise += step_noise;
    }
    points
}

fn both(value: f64) -> (f64, f64) {
    (value, value)
}

fn estimate(rng: &mut Rng, kind: Kind, case: &Case, points: &Points) -> Option<Estimate> {
    let size = points.at_m.len().div_ceil(MOST_BLOCKS);
    let blocks: Vec<&[f64]> = points.at_m.chunks(size).collect();
    let noise_blocks: Vec<&[f64]> = points.at_noise.chunks(size).collect();
    let rounding_m2 = kind.step_m().powi(2) / 12.0;
    let factor = Cholesky::new(blocks.len(), |i, j| {
        let wander_m2 = mean_over(blocks[i], blocks[j], |s, t| {
            wander_covariance_m2(case, s, t)
        });
        let noise_m2 = mean_over(noise_blocks[i], noise_blocks[j], |s, t| {
            points.noise_sd_m.powi(2) * (-(s - t).abs() / points.noise_reach).exp()
        });
        let own_m2 = if i == j {
            rounding_m2 / blocks[i].len() as f64
        } else {
            0.0
        };
        wander_m2 + noise_m2 + own_m2
    })?;
    let white = |value: &dyn Fn(f64) -> f64| {
        let means: Vec<f64> = blocks.iter().map(|block| mean(block, value)).collect();
        factor.whitened(&means)
    };
    let heights: Vec<f64> = points
        .elevation_m
        .chunks(size)
        .map(|block| mean(block, &|elevation_m| elevation_m))
        .collect();
    let sides = [0, 1].map(|side| {
        let curve_m = case.pieces[side + 1].curve_m;
        draw_grid_m(rng, kind, case, side)
            .into_iter()
            .map(|end_m| Candidate {
                end_m,
                curve_m,
                turn: white(&|at_m| turned_m(at_m - end_m, curve_m)),
                wander: white(&|at_m| wander_covariance_m2(case, end_m, at_m)),
            })
            .collect()
    });
    let whole = Whitened {
        level: white(&|_| 1.0),
        slope: white(&|at_m| at_m),
        heights: factor.whitened(&heights),
    };
    posterior(&whole, &sides)
}

/// How far to either side each end is looked for; the truth lies anywhere in the middle half.
fn grid_half_width_m(kind: Kind) -> f64 {
    match kind {
        Kind::Planner => 240.0,
        Kind::Barometer | Kind::WholeMetre => 130.0,
        Kind::TerrainModel => 300.0,
        Kind::SatelliteOnly => 480.0,
    }
}

fn draw_grid_m(rng: &mut Rng, kind: Kind, case: &Case, side: usize) -> Vec<f64> {
    let half_m = grid_half_width_m(kind);
    let centre_m = case.ends_m[side] + rng.between(-0.5, 0.5) * half_m;
    let total_m = case.profile.grade_pct.len() as f64;
    (0..GRID)
        .map(|n| centre_m + half_m * (2.0 * n as f64 / (GRID - 1) as f64 - 1.0))
        .filter(|&end_m| end_m > NEIGHBOUR_MARGIN_M && end_m < total_m - NEIGHBOUR_MARGIN_M)
        .collect()
}

/// Covariance of the heights that the grade's wander has added by two places: each piece wanders for itself, and an
/// integrated Gauss–Markov process of reach `r` has `r² (2 s/r - 1 + exp(-s/r) + exp(-t/r) - exp(-(t-s)/r))` for `s ≤ t`.
fn wander_covariance_m2(case: &Case, s_m: f64, t_m: f64) -> f64 {
    let mut start_m = 0.0;
    let mut sum_m2 = 0.0;
    for piece in &case.pieces {
        let inside = |at_m: f64| (at_m - start_m).clamp(0.0, piece.length_m) / WANDER_REACH_M;
        let (s, t) = (inside(s_m.min(t_m)), inside(s_m.max(t_m)));
        let shape = 2.0 * s - 1.0 + (-s).exp() + (-t).exp() - (s - t).exp();
        sum_m2 += (piece.wander_sd_pct() / 100.0 * WANDER_REACH_M).powi(2) * shape;
        start_m += piece.length_m;
    }
    sum_m2
}

fn mean(block: &[f64], value: &dyn Fn(f64) -> f64) -> f64 {
    block.iter().map(|&at| value(at)).sum::<f64>() / block.len() as f64
}

fn mean_over(a: &[f64], b: &[f64], value: impl Fn(f64, f64) -> f64) -> f64 {
    let sum: f64 = a
        .iter()
        .map(|&s| b.iter().map(|&t| value(s, t)).sum::<f64>())
        .sum();
    sum / (a.len() * b.len()) as f64
}
