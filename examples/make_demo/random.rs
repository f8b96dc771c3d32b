//! Random numbers that are the same on every machine: splitmix64 seeds xoshiro256++ (Blackman and Vigna, "Scrambled
//! linear pseudorandom number generators", ACM Trans. Math. Softw. 47, 2021), and noise is made of them by arithmetic alone.

/// One step of splitmix64: moves the state on and gives 64 mixed bits.
pub(crate) fn splitmix64(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// Turns 64 random bits into a number from 0 up to, not including, 1.
pub(crate) fn unit(bits: u64) -> f64 {
    (bits >> 11) as f64 / (1_u64 << 53) as f64
}

/// The generator xoshiro256++.
pub(crate) struct Random {
    state: [u64; 4],
}

impl Random {
    /// A generator whose four words come from splitmix64 started at `seed`.
    pub(crate) fn new(seed: u64) -> Self {
        let mut mixer = seed;
        Self {
            state: std::array::from_fn(|_| splitmix64(&mut mixer)),
        }
    }

    fn next_bits(&mut self) -> u64 {
        let s = &mut self.state;
        let answer = s[0].wrapping_add(s[3]).rotate_left(23).wrapping_add(s[0]);
        let shifted = s[1] << 17;
        s[2] ^= s[0];
        s[3] ^= s[1];
        s[1] ^= s[2];
        s[0] ^= s[3];
        s[2] ^= shifted;
        s[3] = s[3].rotate_left(45);
        answer
    }

    /// An even draw from -1 to 1.
    pub(crate) fn symmetric(&mut self) -> f64 {
        2.0 * unit(self.next_bits()) - 1.0
    }

    /// A draw with mean 0 and standard deviation 1, near enough normal: twelve even draws summed (Irwin–Hall), which
    /// needs no logarithm or cosine and so does not depend on a platform's mathematics library.
    pub(crate) fn normal(&mut self) -> f64 {
        (0..12).map(|_| unit(self.next_bits())).sum::<f64>() - 6.0
    }
}

/// First-order Gauss–Markov noise: standard deviation `sd`, correlation falling to 1/e over `reach` (seconds or metres).
pub(crate) struct GaussMarkov {
    sd: f64,
    reach: f64,
    value: f64,
    random: Random,
}

impl GaussMarkov {
    /// Noise that starts at a draw from its own long-run spread.
    pub(crate) fn new(sd: f64, reach: f64, seed: u64) -> Self {
        let mut random = Random::new(seed);
        let value = sd * random.normal();
        Self {
            sd,
            reach,
            value,
            random,
        }
    }

    /// Moves on by `step`, in the unit of `reach`, and gives the noise there.
    pub(crate) fn advance(&mut self, step: f64) -> f64 {
        let kept = (-step / self.reach).exp();
        self.value =
            kept * self.value + self.sd * (1.0 - kept * kept).sqrt() * self.random.normal();
        self.value
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn splitmix64_gives_its_published_sequence() {
        let mut state = 1_234_567;
        assert_eq!(splitmix64(&mut state), 6_457_827_717_110_365_317);
        assert_eq!(splitmix64(&mut state), 3_203_168_211_198_807_973);
    }

    #[test]
    fn noise_keeps_its_standard_deviation() {
        let mut noise = GaussMarkov::new(2.0, 5.0, 1);
        let draws: Vec<f64> = (0..100_000).map(|_| noise.advance(1.0)).collect();
        let variance = draws.iter().map(|draw| draw * draw).sum::<f64>() / draws.len() as f64;
        assert!((variance.sqrt() - 2.0).abs() < 0.1, "{}", variance.sqrt());
    }
}
