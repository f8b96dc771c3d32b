//! What makes a rep cheap: one sum in one unit, seconds of work out of band.

use crate::ride::pacing::RUN_IN_S;

/// At what rates the parts of a cost are counted.
///
/// They say what a coach would rather have: all are tuning constants of ours (common practice, no source), chosen such
/// that a part at the edge of what is tolerable costs about a tenth of the rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rates {
    /// Share of the work that a mean cadence at the end of its band costs.
    pub cadence: f64,
    /// Share of the work that a mean power at the end of its band costs.
    pub power: f64,
    /// Share of the work that a mean torque at the end of its band costs.
    pub torque: f64,
    /// Share of the work that a grade which strays by as much as a steady climb may costs.
    pub unsteadiness: f64,
    /// Seconds for each second on a grade below 4 % (the wind decides too much) or above 8 % (balance does).
    pub off_grade: f64,
    /// Seconds for each second where there may be no steady climb, as likely as that is.
    pub doubt: f64,
    /// Share of the work that a chain running askew costs.
    pub crossed: f64,
    /// Seconds for each rear shift within a rep.
    pub shift: f64,
    /// Seconds for each halt that is to be expected within a rep.
    pub halt: f64,
    /// Seconds for each second of recovery beyond the longest that was asked for.
    pub over_rest: f64,
    /// Seconds for turning round between two reps, to roll back or to soft-pedal to and fro.
    pub turning: f64,
    /// Seconds for each second of riding to and fro until a recovery or the warm-up is long enough.
    pub waiting: f64,
}

impl Default for Rates {
    fn default() -> Self {
        Rates {
            cadence: 0.1,
            power: 0.1,
            torque: 0.1,
            unsteadiness: 0.1,
            off_grade: 0.2,
            doubt: 1.0,
            crossed: 0.02,
            shift: 3.0,
            halt: HALT_S,
            over_rest: 0.05,
            turning: 2.0,
            waiting: 0.02,
        }
    }
}

/// What a halt takes out of a rep: the ten seconds that make it one (`archive::halts`), and a run-in until the cadence is in its band
/// again.
const HALT_S: f64 = 10.0 + RUN_IN_S;

/// Grades on which reps go best, rise over run (common practice, no source).
pub const BEST_GRADES: std::ops::RangeInclusive<f64> = 0.04..=0.08;

/// The parts of a rep's cost, in seconds of work out of band.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct CostParts {
    /// Cadence or power outside its band.
    pub out_of_band_s: f64,
    /// Distance of the mean cadence from its aim.
    pub cadence_s: f64,
    /// Distance of the mean power from its aim.
    pub power_s: f64,
    /// Distance of the mean torque from its aim.
    pub torque_s: f64,
    /// Unsteadiness of the grade.
    pub unsteadiness_s: f64,
    /// Time on grades that are too gentle or too steep.
    pub off_grade_s: f64,
    /// The chance that no steady climb lies there.
    pub doubt_s: f64,
    /// A chain that runs askew.
    pub crossed_s: f64,
    /// Rear shifts within the rep.
    pub shifts_s: f64,
    /// Halts that are to be expected on the way.
    pub halts_s: f64,
    /// Recovery after the rep beyond the longest asked for.
    pub over_rest_s: f64,
    /// Turning round on the way to the next rep.
    pub turning_s: f64,
    /// Riding to and fro until the recovery is long enough.
    pub waiting_s: f64,
}

impl CostParts {
    /// The sum.
    pub fn total_s(&self) -> f64 {
        self.named().iter().map(|(_, s)| s).sum()
    }

    /// Each part by name.
    pub fn named(&self) -> [(&'static str, f64); 13] {
        [
            ("out_of_band", self.out_of_band_s),
            ("cadence", self.cadence_s),
            ("power", self.power_s),
            ("torque", self.torque_s),
            ("unsteadiness", self.unsteadiness_s),
            ("off_grade", self.off_grade_s),
            ("doubt", self.doubt_s),
            ("crossed", self.crossed_s),
            ("shifts", self.shifts_s),
            ("halts", self.halts_s),
            ("over_rest", self.over_rest_s),
            ("turning", self.turning_s),
            ("waiting", self.waiting_s),
        ]
    }
}

/// Plans that cost so much more, in seconds of work out of band, are as good as equal: what a gust does to one rep.
pub const NEAR_TIE_S: f64 = 1.0;
/// A plan with a rep elsewhere that costs no more than so much more is still as good, in the same seconds: a fiftieth of a rep of four minutes.
pub const AS_GOOD_S: f64 = 5.0;
/// And is a little worse, likewise: a quarter of such a rep. Common sense, no source; where it is wrong, a word is.
pub const LITTLE_WORSE_S: f64 = 60.0;

/// What a plan may be beside a cheaper one.
pub const WORSE: [&str; 3] = ["as good", "a little worse", "much worse"];

/// Which of these a plan is that costs so many seconds of work out of band more.
pub fn how_much_worse(more_s: f64) -> &'static str {
    match more_s {
        s if s <= AS_GOOD_S => WORSE[0],
        s if s <= LITTLE_WORSE_S => WORSE[1],
        _ => WORSE[2],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn costs_are_told_in_words() {
        let words = [0.0, 5.0, 5.1, 60.0, 61.0].map(how_much_worse);
        assert_eq!(
            words,
            [
                "as good",
                "as good",
                "a little worse",
                "a little worse",
                "much worse"
            ]
        );
    }
}
