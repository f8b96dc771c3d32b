//! Random numbers that are the same on every machine and in every release.
//!
//! xoshiro256++ (Blackman and Vigna, ACM Trans. Math. Softw. 47, 2021, article 36) seeded by SplitMix64
//! (Steele, Lea and Flood, OOPSLA 2014); normal deviates by Box and Muller (Ann. Math. Stat. 29, 1958, 610–611).

use std::f64::consts::TAU;

/// A stream of random numbers.
#[derive(Debug, Clone)]
pub struct Rng {
    state: [u64; 4],
    spare_normal: Option<f64>,
}

impl Rng {
    /// The stream of this seed.
    pub fn new(seed: u64) -> Self {
        let mut counter = seed;
        let state = [(); 4].map(|()| split_mix(&mut counter));
        Self {
            state,
            spare_normal: None,
        }
    }

    /// The stream of a seed and a purpose, unlike that of any other purpose.
    pub fn for_purpose(seed: u64, purpose: u64) -> Self {
        let mut counter = seed;
        Self::new(split_mix(&mut counter) ^ purpose.wrapping_mul(0xd6e8_feb8_6659_fd93))
    }

    fn next_u64(&mut self) -> u64 {
        let [a, b, c, d] = self.state;
        let result = a.wrapping_add(d).rotate_left(23).wrapping_add(a);
        let (c, d) = (c ^ a, d ^ b);
        self.state = [a ^ d, b ^ c, c ^ (b << 17), d.rotate_left(45)];
        result
    }

    /// A number from 0 up to but not including 1.
    pub fn uniform(&mut self) -> f64 {
        (self.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// A number between two bounds, all alike likely.
    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * self.uniform()
    }

    /// A number between two positive bounds whose logarithm is uniform.
    pub fn log_between(&mut self, low: f64, high: f64) -> f64 {
        self.between(low.ln(), high.ln()).exp()
    }

    /// A whole number from `low` to `high`, both included.
    pub fn whole(&mut self, low: usize, high: usize) -> usize {
        low + (self.uniform() * (high - low + 1) as f64) as usize
    }

    /// True with this probability.
    pub fn chance(&mut self, probability: f64) -> bool {
        self.uniform() < probability
    }

    /// One of the choices, by weight.
    pub fn pick<T: Copy>(&mut self, choices: &[(T, f64)]) -> T {
        let total: f64 = choices.iter().map(|(_, weight)| weight).sum();
        let mut left = total * self.uniform();
        for &(choice, weight) in choices {
            left -= weight;
            if left < 0.0 {
                return choice;
            }
        }
        choices[choices.len() - 1].0
    }

    /// A normal deviate of mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        if let Some(spare) = self.spare_normal.take() {
            return spare;
        }
        let radius = (-2.0 * (1.0 - self.uniform()).ln()).sqrt();
        let (sine, cosine) = (TAU * self.uniform()).sin_cos();
        self.spare_normal = Some(radius * sine);
        radius * cosine
    }
}

fn split_mix(counter: &mut u64) -> u64 {
    *counter = counter.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *counter;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// A stationary Gauss–Markov process of mean 0: at a lag `x` its correlation is `exp(-x / reach)`.
#[derive(Debug, Clone)]
pub struct GaussMarkov {
    sd: f64,
    reach: f64,
    value: f64,
}

impl GaussMarkov {
    /// A process of this standard deviation, correlated over `reach` (metres or seconds), started in its steady state.
    pub fn new(sd: f64, reach: f64, rng: &mut Rng) -> Self {
        let value = sd * rng.normal();
        Self { sd, reach, value }
    }

    /// The value now.
    pub fn value(&self) -> f64 {
        self.value
    }

    /// The value `lag` later.
    pub fn advance(&mut self, lag: f64, rng: &mut Rng) -> f64 {
        let kept = (-lag / self.reach).exp();
        self.value = kept * self.value + self.sd * (1.0 - kept * kept).sqrt() * rng.normal();
        self.value
    }
}
