//! Smooth noise along a closed line and over the ground.

use super::random::{Random, splitmix64, unit};

/// Smooth noise between about -1 and 1 along a closed line: Catmull–Rom curves through evenly spaced random values.
pub(crate) struct RingNoise {
    values: Vec<f64>,
}

impl RingNoise {
    /// Noise with `knots` random values in one turn.
    pub(crate) fn new(knots: usize, seed: u64) -> Self {
        let mut random = Random::new(seed);
        Self {
            values: (0..knots).map(|_| random.symmetric()).collect(),
        }
    }

    /// The noise at `turn`, where 0 and 1 are the same place.
    pub(crate) fn at(&self, turn: f64) -> f64 {
        let count = self.values.len();
        let place = turn.rem_euclid(1.0) * count as f64;
        let knot = place.floor();
        let t = place - knot;
        let value = |ahead: usize| self.values[(knot as usize + count + ahead - 1) % count];
        let [before, from, to, after] = [value(0), value(1), value(2), value(3)];
        from + 0.5
            * t
            * (to - before
                + t * (2.0 * before - 5.0 * from + 4.0 * to - after
                    + t * (3.0 * (from - to) + after - before)))
    }
}

/// Gradient noise over the ground, summed over octaves: between about -1 and 1, mean 0.
pub(crate) struct GroundNoise {
    /// The longest wavelength, in metres.
    pub(crate) wavelength_m: f64,
    /// How many times the wavelength is halved.
    pub(crate) octaves: u32,
    /// What tells one noise from another.
    pub(crate) seed: u64,
}

impl GroundNoise {
    /// The noise at a place.
    pub(crate) fn at(&self, [x, y]: [f64; 2]) -> f64 {
        self.sum([x, y], |value| value)
    }

    /// The same noise folded at zero, so that it has sharp crests: between about 0 and 1.
    pub(crate) fn ridged(&self, [x, y]: [f64; 2]) -> f64 {
        self.sum([x, y], |value| 1.0 - 2.0 * value.abs()) / 2.0
    }

    fn sum(&self, [x, y]: [f64; 2], shape: impl Fn(f64) -> f64) -> f64 {
        let mut total = 0.0;
        let mut size = 1.0;
        let mut wavelength_m = self.wavelength_m;
        for octave in 0..self.octaves {
            let seed = self.seed.wrapping_add(u64::from(octave));
            total += size * shape(gradient_noise(seed, x / wavelength_m, y / wavelength_m));
            size *= 0.5;
            wavelength_m *= 0.5;
        }
        total
    }
}

/// Perlin's gradient noise with his quintic blend (ACM Trans. Graph. 21, 2002, 681–682).
fn gradient_noise(seed: u64, x: f64, y: f64) -> f64 {
    let (column, row) = (x.floor(), y.floor());
    let (east, north) = (x - column, y - row);
    let corner = |right: f64, up: f64| {
        let [slope_x, slope_y] = gradient(seed, (column + right) as i64, (row + up) as i64);
        slope_x * (east - right) + slope_y * (north - up)
    };
    let blend = |t: f64| t * t * t * (t * (t * 6.0 - 15.0) + 10.0);
    let mix = |from: f64, to: f64, share: f64| from + (to - from) * share;
    let south = mix(corner(0.0, 0.0), corner(1.0, 0.0), blend(east));
    let north_side = mix(corner(0.0, 1.0), corner(1.0, 1.0), blend(east));
    1.5 * mix(south, north_side, blend(north))
}

fn gradient(seed: u64, column: i64, row: i64) -> [f64; 2] {
    let mut state = seed
        ^ (column as u64).wrapping_mul(0x9E37_79B9_7F4A_7C15)
        ^ (row as u64)
            .wrapping_mul(0xC2B2_AE3D_27D4_EB4F)
            .rotate_left(31);
    let first = splitmix64(&mut state);
    let second = splitmix64(&mut state);
    [2.0 * unit(first) - 1.0, 2.0 * unit(second) - 1.0]
}

/// 0 up to `from`, 1 beyond `to`, and a smooth way between.
pub(crate) fn smooth_step(from: f64, to: f64, value: f64) -> f64 {
    let t = ((value - from) / (to - from)).clamp(0.0, 1.0);
    t * t * (3.0 - 2.0 * t)
}
