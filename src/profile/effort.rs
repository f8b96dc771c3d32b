//! How thoroughly a road is searched for turns, and what each turn pays there.

use super::Noise;

/// Where elevations are coarse, pieces of all lengths from this to [`LONGEST_M`] are as common on a logarithmic scale, in metres; shorter ones
/// are kinks.
const SHORTEST_M: f64 = 80.0;
/// See [`SHORTEST_M`].
const LONGEST_M: f64 = 4000.0;
/// A piece longer than this ends as soon as one that has just grown so long, in metres.
const LONG_M: f64 = 1500.0;
/// What a turn pays there more than lengths ask for, in units of twice the log-likelihood. With 1 lumps cost less and gentle climbs are missed.
const COARSE_TURN_COST: f64 = 0.5;
/// The same where they are fine and kinks show, each with two turns: a road turns about every 500 m, so one 10 m step in 50 holds
/// a turn, and −2 ln(1/50) is 7.8. A third of it cuts wander into pieces, thrice of it misses steps of two points.
const FINE_TURN_COST: f64 = 7.8;
/// Fine elevations with a larger remainder than this are in whole metres, whose rounding makes 0.29 m (1/√12); steps of 0.2 m make 0.06 m.
const WHOLE_METRE_M: f64 = 0.2;

/// How many histories are followed at once.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Effort {
    /// A hypothesis this much worse than the best, beyond what a turn costs at most, is dropped.
    pub(super) slack: f64,
    /// More hypotheses than this are not followed.
    pub(super) most: usize,
    /// What a turn pays, in units of twice the log-likelihood, whatever the length of the piece that ends.
    pub turn_cost: f64,
    /// Whether it also pays for that.
    pays_for_length: bool,
    /// Whether of two histories that believe nearly the same only the better one is followed.
    pub(super) drops_twins: bool,
    /// So many sets of turns are drawn.
    pub draws: usize,
}

impl Effort {
    /// Enough where a turn shows within some tens of metres.
    const FINE: Effort = Effort {
        slack: 3.0,
        most: 24,
        turn_cost: FINE_TURN_COST,
        pays_for_length: false,
        drops_twins: true,
        draws: 0,
    };
    /// The same, with roads to take the mean of.
    const WHOLE_METRE: Effort = Effort {
        drops_twins: false,
        draws: 16,
        ..Self::FINE
    };
    /// Enough where it takes hundreds: fewer lose one turn in fifty there.
    const COARSE: Effort = Effort {
        slack: 5.5,
        most: 64,
        turn_cost: COARSE_TURN_COST,
        pays_for_length: true,
        drops_twins: false,
        draws: 48,
    };

    /// What a turn pays that ends a piece of so many metres, the road being looked at in steps; infinite where no piece is so short.
    ///
    /// Of pieces that have grown to a length `d`, the share that ends within a step `h` is `h / (d ln(longest / d))`.
    pub(super) fn pays(&self, length_m: f64, step_m: f64) -> f64 {
        if !self.pays_for_length {
            return self.turn_cost;
        }
        if length_m < SHORTEST_M {
            return f64::INFINITY;
        }
        let length_m = length_m.min(LONG_M);
        self.turn_cost + 2.0 * (length_m * (LONGEST_M / length_m).ln() / step_m).ln()
    }

    /// What a recording needs.
    pub fn for_noise(noise: &Noise) -> Effort {
        if !noise.is_fine() {
            Self::COARSE
        } else if noise.remainder_sd_m > WHOLE_METRE_M {
            Self::WHOLE_METRE
        } else {
            Self::FINE
        }
    }

    /// What it needs where the turns only serve to say the noise: one in fifty lost there changes nothing.
    pub fn rough(noise: &Noise) -> Effort {
        Effort {
            slack: Self::FINE.slack,
            most: Self::FINE.most,
            drops_twins: noise.is_fine(),
            draws: 0,
            ..Self::for_noise(noise)
        }
    }
}
