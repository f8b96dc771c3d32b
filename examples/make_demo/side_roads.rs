//! The two other roads: the hill behind the harbour, and the level road around the lagoon.

use std::f64::consts::TAU;

use super::noise::{RingNoise, smooth_step};
use super::random::GaussMarkov;
use super::road::{Road, distances_m, evenly_spaced};

/// The level way from the harbour to the foot of the hill, in metres.
pub(crate) const RUN_IN_M: f64 = 3000.0;
/// The hill, in metres.
pub(crate) const HILL_M: f64 = 2200.0;
/// Its grade.
pub(crate) const HILL_PCT: f64 = 6.0;
/// The way around the lagoon, in metres.
pub(crate) const LAGOON_M: f64 = 30_000.0;
/// The middle of the lagoon, from the middle of the island.
pub(crate) const LAGOON_MIDDLE: [f64; 2] = [19_000.0, 34_000.0];

/// From the start of the loop straight inland, level at first, then up one steady hill.
pub(crate) fn harbour_hill(
    start: [f64; 2],
    start_elevation_m: f64,
    step_m: f64,
    seed: u64,
) -> Road {
    let length_m = RUN_IN_M + HILL_M;
    let from_middle_m = start[0].hypot(start[1]);
    let inland = start.map(|coordinate| -coordinate / from_middle_m);
    let bends = [
        (260.0, RingNoise::new(9, seed)),
        (60.0, RingNoise::new(23, seed + 1)),
        (9.0, RingNoise::new(71, seed + 2)),
    ];
    let points: Vec<[f64; 2]> = (0..6000)
        .map(|metre| {
            let along_m = f64::from(metre);
            let fade = smooth_step(0.0, 1200.0, along_m);
            let aside_m: f64 = bends
                .iter()
                .map(|(size_m, noise)| fade * size_m * noise.at(along_m / 8000.0))
                .sum();
            [
                start[0] + along_m * inland[0] - aside_m * inland[1],
                start[1] + along_m * inland[1] + aside_m * inland[0],
            ]
        })
        .collect();
    let steps = (length_m / step_m).round() as usize;
    let mut wander = GaussMarkov::new(0.04 * (HILL_PCT + 1.0), 150.0, seed + 3);
    let mut elevation_m = start_elevation_m;
    let elevations_m = (0..=steps)
        .map(|step| {
            let along_m = step as f64 * step_m;
            let share = smooth_step(RUN_IN_M - 20.0, RUN_IN_M + 20.0, along_m);
            let here_m = elevation_m;
            elevation_m += share * (HILL_PCT + wander.advance(step_m)) / 100.0 * step_m;
            here_m
        })
        .collect();
    Road {
        nodes: evenly_spaced(&points, steps, step_m),
        elevations_m,
        step_m,
    }
}

/// Around the lagoon on a low bank of sand; nowhere steeper than 1 %.
pub(crate) fn lagoon_road(step_m: f64, seed: u64) -> Road {
    let bends = [
        (420.0, RingNoise::new(9, seed)),
        (90.0, RingNoise::new(29, seed + 1)),
        (14.0, RingNoise::new(97, seed + 2)),
    ];
    let drawn = 30_000;
    let ring: Vec<[f64; 2]> = (0..=drawn)
        .map(|point| {
            let turn = f64::from(point) / f64::from(drawn);
            let bend_m: f64 = bends
                .iter()
                .map(|(size_m, noise)| size_m * noise.at(turn))
                .sum();
            let radius_m = 4600.0 * (1.0 + 0.14 * (2.0 * TAU * (turn - 0.1)).cos()) + bend_m;
            let (sin, cos) = (turn * TAU).sin_cos();
            [radius_m * cos, radius_m * sin]
        })
        .collect();
    let size = LAGOON_M / distances_m(&ring)[ring.len() - 1];
    let placed: Vec<[f64; 2]> = ring
        .iter()
        .map(|[x, y]| [LAGOON_MIDDLE[0] + size * x, LAGOON_MIDDLE[1] + size * y])
        .collect();
    let steps = (LAGOON_M / step_m).round() as usize;
    let heights = RingNoise::new(46, seed + 3);
    let elevations_m = (0..=steps)
        .map(|step| 4.0 + 1.6 * heights.at(step as f64 / steps as f64))
        .collect();
    Road {
        nodes: evenly_spaced(&placed, steps, step_m),
        elevations_m,
        step_m,
    }
}
