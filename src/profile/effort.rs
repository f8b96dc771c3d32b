//! How thoroughly a road is searched for turns, and what each turn pays there.

use super::Noise;

/// Where elevations are coarse, pieces of all lengths from this to [`LONGEST_M`] are as common on a logarithmic scale, in metres; shorter ones
/// are kinks.
pub(super) const SHORTEST_M: f64 = 80.0;
/// See [`SHORTEST_M`].
pub(super) const LONGEST_M: f64 = 4000.0;
/// A piece longer than this ends as soon as one that has just grown so long, in metres.
pub(super) const LONG_M: f64 = 1500.0;
/// What a turn pays there more than lengths ask for, in units of twice the log-likelihood. With 1 lumps cost less and gentle climbs are missed.
const COARSE_TURN_COST: f64 = 0.5;
/// The same where they are fine and kinks show, each with two turns: a road turns about every 500 m, so one 10 m step in 50 holds
/// a turn, and −2 ln(1/50) is 7.8. A third of it cuts wander into pieces, thrice of it misses steps of two points.
const FINE_TURN_COST: f64 = 7.8;
/// What an uneven piece pays more there. With 6.5 climbs on satellite fixes are taken for uneven road (0.780 of F1 instead of 0.792), with 10 lumps
/// for climbs (0.789; seeds 3000 to 3149 of the truth bench).
const COARSE_UNEVEN_COST: f64 = 8.5;
/// See [`Effort::slack`] and [`Effort::most`]. With 5.5 and 64, 7 and 100, 12 and 400 satellite fixes have an F1 of 0.787 to 0.789 instead of 0.792
/// (the same seeds; the cost for uneven pieces sought again for each, the odds of a climb 0.4 to 0.42); finding climbs takes 1.5 times as long as with
/// the first.
const COARSE_SLACK: f64 = 9.0;
/// See [`Effort::draws`]. With 48 satellite fixes have an F1 of 0.802 and 0.790 instead of 0.815 and 0.799, with 192 of 0.811 and 0.796 (seeds 1000 to
/// 1099 and 8000 to 8099; odds of 0.42).
const COARSE_DRAWS: usize = 96;
/// See [`Effort::weighed`]; measured with a slack of 5.5. With 1800 satellite fixes have an F1 of 0.769 instead of 0.786; with 6000 of 0.790, but their climbs' 90 % intervals hold
/// 0.96 of the true grades (the same seeds).
const COARSE_WEIGHED: usize = 2400;
/// The same where they are fine: with 900, 1200, 1800, 2400 and 4800 the F1 of barometers is 0.991 to 0.996 (the same seeds).
const FINE_WEIGHED: usize = 1500;
/// The same in whole metres; from 5.5 to 11 their F1 stays within 0.004.
const WHOLE_METRE_UNEVEN_COST: f64 = 7.5;
/// See [`Effort::slack`]: of whole metres, and of coarser ones while the turns only serve to say the noise. With half of it whole metres lose
/// three thousandths of F1, finer recordings one (the same seeds).
const SOME_SLACK: f64 = 3.0;
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
    /// What an uneven piece pays more than a steady one, in the same units; `None` where there are none: the recording is fine enough to
    /// show each of its lumps as a piece by itself. A history whose road is uneven is dropped only when it is worse by that much more.
    pub uneven_cost: Option<f64>,
    /// Whether of two histories that believe nearly the same only the better one is followed.
    pub(super) drops_twins: bool,
    /// The noise is weighed on so many nodes at most, in chunks spread over the road; more would only make the estimate finer than it need be.
    pub(super) weighed: usize,
    /// So many sets of turns are drawn.
    pub draws: usize,
    /// Whether it is weighed how roads are laid out, or any piece may follow any other.
    pub knows_layout: bool,
}

impl Effort {
    /// Enough where a turn shows within some tens of metres.
    const FINE: Effort = Effort {
        slack: 0.5 * SOME_SLACK,
        most: 24,
        turn_cost: FINE_TURN_COST,
        pays_for_length: false,
        uneven_cost: None,
        drops_twins: true,
        weighed: FINE_WEIGHED,
        draws: 0,
        knows_layout: false,
    };
    /// The same, with roads to take the mean of.
    const WHOLE_METRE: Effort = Effort {
        slack: SOME_SLACK,
        uneven_cost: Some(WHOLE_METRE_UNEVEN_COST),
        drops_twins: false,
        weighed: COARSE_WEIGHED,
        draws: 16,
        ..Self::FINE
    };
    /// Enough where it takes hundreds.
    const COARSE: Effort = Effort {
        slack: COARSE_SLACK,
        most: 200,
        turn_cost: COARSE_TURN_COST,
        pays_for_length: true,
        uneven_cost: Some(COARSE_UNEVEN_COST),
        drops_twins: false,
        weighed: COARSE_WEIGHED,
        draws: COARSE_DRAWS,
        knows_layout: false,
    };

    /// The same where how roads are laid out decides what elevations leave open. With twice the histories F1 of planned lines and terrain models is no better
    /// (seeds 3000 to 3039 of the truth bench).
    const LAID_OUT: Effort = Effort {
        most: 300,
        knows_layout: true,
        ..Self::COARSE
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

    /// The kinds of road that are thought of, by whether they are uneven.
    pub(super) fn kinds(&self) -> &'static [bool] {
        match self.uneven_cost {
            Some(_) => &[false, true],
            None => &[false],
        }
    }

    /// What a piece pays for its kind, infinite where there is none of it.
    pub(super) fn kind_pays(&self, uneven: bool) -> f64 {
        if uneven {
            self.uneven_cost.unwrap_or(f64::INFINITY)
        } else {
            0.0
        }
    }

    /// What a recording needs.
    pub fn for_noise(noise: &Noise) -> Effort {
        if !noise.is_fine() && (noise.is_poor() || !noise.hides_kinks()) {
            Self::COARSE
        } else if !noise.is_fine() {
            Self::LAID_OUT
        } else if noise.remainder_sd_m > WHOLE_METRE_M {
            Self::WHOLE_METRE
        } else {
            Self::FINE
        }
    }

    /// What it needs where the turns only serve to say the noise: one in fifty lost there changes nothing.
    pub fn rough(noise: &Noise) -> Effort {
        let whole = Self::for_noise(noise);
        Effort {
            slack: whole.slack.min(SOME_SLACK),
            most: Self::FINE.most,
            drops_twins: noise.is_fine(),
            draws: 0,
            knows_layout: false,
            ..whole
        }
    }
}
