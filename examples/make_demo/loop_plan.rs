//! The plan of the big loop: a bent ring around the island that leaves the coast where the profile climbs and comes
//! back to it where the profile falls, with hairpins on some of the climbs.

use std::f64::consts::{PI, TAU};

use super::noise::RingNoise;
use super::profile::ring_mean;
use super::road::{Road, distances_m, evenly_spaced};

/// Where on the island the loop starts, as an angle from east, in turns (a little south of west).
const START_TURN: f64 = 0.54;
/// How finely the curve is drawn before its nodes are spaced out: every 0.8 m or so.
const DRAWN_POINTS: usize = 1 << 17;
/// Rounds of drawing, measuring and drawing again; the plan then moves by less than a metre a round.
const ROUNDS: usize = 10;
/// The elevations that steer the plan are means over this length.
const STEERING_MEAN_M: f64 = 900.0;

/// A zigzag up a slope.
pub(crate) struct Hairpins {
    /// Where on the road its first bend comes, in metres.
    pub(crate) first_bend_m: f64,
    /// Half the ring length that the zigzag is spread over, in metres.
    pub(crate) half_width_m: f64,
    /// How far the road swings to either side, in metres.
    pub(crate) swing_m: f64,
    /// How far up the slope the zigzag leads, in metres.
    pub(crate) rise_m: f64,
    /// How many full swings.
    pub(crate) swings: f64,
}

impl Hairpins {
    /// How far along the ring the road is pushed, at `share` from -1 to 1 of the half width.
    fn push_m(&self, share: f64) -> f64 {
        let fade = 1.0 - share * share;
        -self.swing_m * (PI * self.swings * share).sin() * fade * fade
    }

    /// How far up the slope the road is, at `share` of the half width; it comes back over five more half widths.
    fn climbed_m(&self, share: f64) -> f64 {
        let up = super::noise::smooth_step(-1.1, 1.1, share);
        let back = super::noise::smooth_step(1.1, 6.0, share);
        self.rise_m * (up - back)
    }

    /// The share of the half width at which the road first turns back on itself.
    fn first_bend_share(&self) -> f64 {
        let ahead = |step: i32| f64::from(step) / 1000.0;
        let turns_back = |step: &i32| {
            self.push_m(ahead(step + 1)) - self.push_m(ahead(*step)) < -0.001 * self.half_width_m
        };
        (-1000..1000).find(turns_back).map_or(0.0, ahead)
    }
}

/// The ring that the loop is bent from, and the noises that bend it.
pub(crate) struct Ring {
    radius_m: f64,
    shape: RingNoise,
    lean: RingNoise,
    meanders: [(f64, RingNoise); 4],
}

impl Ring {
    /// The ring before its size is known.
    pub(crate) fn new(seed: u64) -> Self {
        let noise = |knots: usize, number: u64| RingNoise::new(knots, seed.wrapping_add(number));
        Self {
            radius_m: 11_000.0,
            shape: noise(7, 1),
            lean: noise(11, 2),
            meanders: [
                (420.0, noise(23, 3)),
                (130.0, noise(67, 4)),
                (32.0, noise(173, 5)),
                (9.0, noise(397, 6)),
            ],
        }
    }

    /// The distance from the middle of the island to the ring, in a direction given in turns.
    pub(crate) fn radius_m(&self, turn: f64) -> f64 {
        let oval = 1.0 + 0.17 * (2.0 * TAU * (turn - 0.03)).cos();
        self.radius_m * (oval + 0.10 * self.shape.at(turn))
    }

    fn point(&self, along: f64, elevation_m: f64, hairpins: &[(f64, &Hairpins)]) -> [f64; 2] {
        let turn = START_TURN - along;
        let meander_m: f64 = self
            .meanders
            .iter()
            .map(|(size_m, noise)| size_m * noise.at(turn))
            .sum();
        let inland_m = (9.0 + 5.0 * self.lean.at(turn)) * elevation_m;
        let mut radius_m = self.radius_m(turn) + meander_m - inland_m;
        let mut pushed_m = 0.0;
        for (middle, zigzag) in hairpins {
            let away_m = (along - middle) * TAU * radius_m;
            let share = away_m / zigzag.half_width_m;
            if share.abs() < 1.0 {
                pushed_m += zigzag.push_m(share);
            }
            radius_m -= zigzag.climbed_m(share);
        }
        let (sin, cos) = ((turn - pushed_m / (TAU * radius_m)) * TAU).sin_cos();
        [radius_m * cos, radius_m * sin]
    }
}

/// The loop drawn so that its length is that of the profile, and the ring it was bent from.
pub(crate) fn draw(
    elevations_m: Vec<f64>,
    step_m: f64,
    hairpins: &[Hairpins],
    seed: u64,
) -> (Road, Ring) {
    let steps = elevations_m.len() - 1;
    let length_m = steps as f64 * step_m;
    let steering_m = ring_mean(
        &elevations_m[..steps],
        (STEERING_MEAN_M / step_m / 2.0) as usize,
    );
    let mut ring = Ring::new(seed);
    let mut shares: Vec<f64> = (0..=DRAWN_POINTS)
        .map(|point| point as f64 / DRAWN_POINTS as f64)
        .collect();
    let mut points = Vec::new();
    for _ in 0..ROUNDS {
        let middles: Vec<(f64, &Hairpins)> = hairpins
            .iter()
            .map(|zigzag| (middle_of(zigzag, &shares, length_m, &ring), zigzag))
            .collect();
        points = (0..=DRAWN_POINTS)
            .map(|point| {
                let elevation_m = around(&steering_m, shares[point] * steps as f64);
                ring.point(point as f64 / DRAWN_POINTS as f64, elevation_m, &middles)
            })
            .collect();
        let drawn_m = distances_m(&points);
        ring.radius_m *= 1.0 + 1.2 * (length_m / drawn_m[DRAWN_POINTS] - 1.0);
        shares = drawn_m
            .iter()
            .map(|distance_m| distance_m / drawn_m[DRAWN_POINTS])
            .collect();
    }
    let stretch = length_m / distances_m(&points)[DRAWN_POINTS];
    for point in &mut points {
        *point = point.map(|coordinate| coordinate * stretch);
    }
    (
        Road {
            nodes: evenly_spaced(&points, steps, step_m),
            elevations_m,
            step_m,
        },
        ring,
    )
}

/// Where around the ring the middle of a zigzag lies, so that its first bend comes at its distance along the road.
fn middle_of(zigzag: &Hairpins, shares: &[f64], length_m: f64, ring: &Ring) -> f64 {
    let bend = shares.partition_point(|share| share * length_m < zigzag.first_bend_m) as f64
        / DRAWN_POINTS as f64;
    let around_m = TAU * ring.radius_m(START_TURN - bend);
    bend - zigzag.first_bend_share() * zigzag.half_width_m / around_m
}

/// The value at a fractional index of a ring of values.
fn around(values: &[f64], index: f64) -> f64 {
    let before = index as usize % values.len();
    let share = index - index.floor();
    values[before] + share * (values[(before + 1) % values.len()] - values[before])
}
