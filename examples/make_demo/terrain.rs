//! The ground: level with the roads where they run, rougher away from them, down to the sea at the coast.

use std::f64::consts::TAU;

use super::loop_plan::Ring;
use super::noise::{GroundNoise, RingNoise, smooth_step};
use super::road::Road;
use super::side_roads::LAGOON_MIDDLE;

/// Every how many metres of road the ground is tied to it.
const TIE_M: f64 = 40.0;
/// Within this distance a road's bed is level across, in metres.
const BED_M: f64 = 40.0;
/// Directions in which the reach of the roads is known.
const DIRECTIONS: usize = 720;
/// The sea is nowhere nearer to a road on the island than this, in metres.
const SHORE_M: f64 = 260.0;
/// Nothing but sea lies further than this from the middle of the lagoon, in metres.
const LAGOON_REACH_M: f64 = 8_000.0;

/// The ground of the two islands.
pub(crate) struct Terrain {
    island_ties: Vec<[f64; 3]>,
    lagoon_ties: Vec<[f64; 3]>,
    coast_m: Vec<f64>,
    hills: GroundNoise,
    crests: GroundNoise,
    sand: GroundNoise,
}

/// What the roads say of a place.
struct Tied {
    elevation_m: f64,
    road_m: f64,
}

impl Terrain {
    /// The ground that fits the island's roads and the lagoon's road.
    pub(crate) fn new(island: &[&Road], lagoon: &Road, ring: &Ring, seed: u64) -> Self {
        let noise = |wavelength_m, octaves, number| GroundNoise {
            wavelength_m,
            octaves,
            seed: seed + number,
        };
        Self {
            island_ties: island.iter().flat_map(|road| ties(road)).collect(),
            lagoon_ties: ties(lagoon).collect(),
            coast_m: coast(island, ring, seed),
            hills: noise(2600.0, 5, 100),
            crests: noise(5200.0, 5, 200),
            sand: noise(1500.0, 4, 300),
        }
    }

    /// The elevation of the ground, 0 at sea, in metres.
    pub(crate) fn elevation_m(&self, [x, y]: [f64; 2]) -> f64 {
        let from_lagoon_m = (x - LAGOON_MIDDLE[0]).hypot(y - LAGOON_MIDDLE[1]);
        if from_lagoon_m < LAGOON_REACH_M {
            return self.bank_m([x, y]);
        }
        let shore_m = self.coast_m([x, y]) - x.hypot(y);
        if shore_m <= 0.0 {
            0.0
        } else {
            self.island_m([x, y], shore_m)
        }
    }

    fn island_m(&self, place: [f64; 2], shore_m: f64) -> f64 {
        let tied = tied(&self.island_ties, place);
        let rough_m = 95.0 * smooth_step(60.0, 1500.0, tied.road_m) * self.hills.at(place);
        let inner = smooth_step(1200.0, 6500.0, tied.road_m) * smooth_step(500.0, 4000.0, shore_m);
        let mountain_m = inner * (150.0 + 620.0 * self.crests.ridged(place).max(0.0));
        let landward = smooth_step(
            0.0,
            1.0,
            shore_m / (shore_m + (tied.road_m - 100.0).max(0.0)),
        );
        ((tied.elevation_m + rough_m + mountain_m) * landward).max(1.0)
    }

    fn bank_m(&self, place: [f64; 2]) -> f64 {
        let tied = tied(&self.lagoon_ties, place);
        let noise = self.sand.at(place);
        let half_width_m = 420.0 + 220.0 * noise;
        let dry = 1.0 - smooth_step(110.0, half_width_m, tied.road_m);
        let dune_m = 3.0 * smooth_step(60.0, 250.0, tied.road_m) * (0.5 + noise);
        ((tied.elevation_m + dune_m) * dry).max(0.0)
    }

    fn coast_m(&self, [x, y]: [f64; 2]) -> f64 {
        in_direction(&self.coast_m, y.atan2(x) / TAU)
    }
}

fn ties(road: &Road) -> impl Iterator<Item = [f64; 3]> {
    let every = (TIE_M / road.step_m) as usize;
    road.nodes
        .iter()
        .zip(&road.elevations_m)
        .step_by(every)
        .map(|(&[x, y], &elevation_m)| [x, y, elevation_m])
}

/// The mean of the road's elevations, each counted by the inverse fourth power of its distance.
fn tied(ties: &[[f64; 3]], [x, y]: [f64; 2]) -> Tied {
    let mut nearest_m2 = f64::INFINITY;
    let mut weights = 0.0;
    let mut weighted_m = 0.0;
    for &[tie_x, tie_y, elevation_m] in ties {
        let apart_m2 = (tie_x - x) * (tie_x - x) + (tie_y - y) * (tie_y - y);
        if apart_m2 < nearest_m2 {
            nearest_m2 = apart_m2;
        }
        let damped_m2 = apart_m2 + BED_M * BED_M;
        let weight = 1.0 / (damped_m2 * damped_m2);
        weights += weight;
        weighted_m += weight * elevation_m;
    }
    Tied {
        elevation_m: weighted_m / weights,
        road_m: nearest_m2.sqrt(),
    }
}

/// The distance from the middle of the island to the coast, in each direction.
fn coast(island: &[&Road], ring: &Ring, seed: u64) -> Vec<f64> {
    let reach_m = reach(island);
    let capes = [
        (650.0, RingNoise::new(13, seed + 1)),
        (260.0, RingNoise::new(41, seed + 2)),
        (90.0, RingNoise::new(131, seed + 3)),
    ];
    let wanted_m = |direction: usize| {
        let turn = direction as f64 / DIRECTIONS as f64;
        ring.radius_m(turn)
            + 650.0
            + capes
                .iter()
                .map(|(size_m, noise)| size_m * noise.at(turn))
                .sum::<f64>()
    };
    (0..DIRECTIONS)
        .map(|direction| wanted_m(direction).max(reach_m[direction] + SHORE_M))
        .collect()
}

/// How far from the middle of the island the roads come in each direction and those next to it.
fn reach(island: &[&Road]) -> Vec<f64> {
    let mut reach_m = vec![0.0_f64; DIRECTIONS];
    for [x, y] in island.iter().flat_map(|road| &road.nodes) {
        let direction = (y.atan2(*x) / TAU).rem_euclid(1.0) * DIRECTIONS as f64;
        for beside in 0..5 {
            let slot = (direction as usize + DIRECTIONS + beside - 2) % DIRECTIONS;
            reach_m[slot] = reach_m[slot].max(x.hypot(*y));
        }
    }
    reach_m
}

fn in_direction(values: &[f64], turn: f64) -> f64 {
    let place = turn.rem_euclid(1.0) * values.len() as f64;
    let slot = place as usize % values.len();
    let share = place - place.floor();
    values[slot] + share * (values[(slot + 1) % values.len()] - values[slot])
}
