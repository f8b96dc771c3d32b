//! Which piece of road follows which, how often, how long and how steep: what `layout` draws, as probabilities, and what readers take for that who know less.

use super::super::definition::{LEAST_GRADE_PCT, LEAST_LENGTH_M};
use super::{general, pieces};

/// What a reader knows of how roads are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knowing {
    /// Every rule by which the bench's roads are drawn.
    TheRules,
    /// How roads go in general ([`general`]), and what a steady climb is.
    RoadsInGeneral,
    /// That a road is made of pieces of 80 m to 4 km, how often which grades occur, and what a steady climb is: pieces that would
    /// make one climb together are one piece.
    PiecesAlone,
}

impl Knowing {
    /// All, from those who know most.
    pub const ALL: [Self; 3] = [Self::TheRules, Self::RoadsInGeneral, Self::PiecesAlone];

    /// As a heading has it.
    pub fn name(self) -> &'static str {
        match self {
            Self::TheRules => "knowing the rules",
            Self::RoadsInGeneral => "knowing roads in general",
            Self::PiecesAlone => "knowing pieces alone",
        }
    }
}

/// Where in a group of pieces a road is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The flat that every road starts with.
    FirstFlat,
    /// A climb alone.
    Single,
    /// The first climb of two or three that meet at steps.
    Step {
        /// Climbs that follow it.
        left: u8,
        /// Whether the next is the last of three, and so as steep as the one before this.
        returns: bool,
        /// Whether it is the gentler one.
        low: bool,
    },
    /// The first of two climbs with a dip or a flat between.
    PairFirst {
        /// Whether a dip follows.
        dip: bool,
    },
    /// What lies between the two.
    Between {
        /// Whether it is a dip.
        dip: bool,
    },
    /// The second of the two.
    PairSecond,
    /// One of a row of lumps.
    Lump {
        /// How many there have been with this one.
        number: u8,
        /// Whether it is a hard one.
        hard: bool,
    },
    /// A grade that rises or falls evenly.
    Ramp,
    /// A climb that is too short, alone or before another that it meets at a step.
    ShortRamp {
        /// Whether a climb follows.
        leads: bool,
    },
    /// The climb after a short ramp.
    AfterShortRamp,
    /// The flat on top of a group.
    Top,
    /// The way down.
    Descent,
    /// The flat below.
    Foot,
    /// A piece of road in general.
    General(general::Piece),
    /// Any piece of road, to a reader who knows no more.
    Any,
}

/// A normal distribution of a piece's grade at its start and of that grade's change a metre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Mean grade at the start.
    pub grade: f64,
    /// Its variance.
    pub grade_variance: f64,
    /// Mean change a metre.
    pub change: f64,
    /// Its variance.
    pub change_variance: f64,
}

impl Level {
    /// As wide as a flat distribution between two grades in per cent.
    pub fn flat_pct(low_pct: f64, high_pct: f64) -> Self {
        let high_pct = high_pct.max(low_pct + 0.1);
        Self::normal(
            0.005 * (low_pct + high_pct),
            ((high_pct - low_pct) / 100.0).powi(2) / 12.0,
        )
    }

    fn normal(grade: f64, grade_variance: f64) -> Self {
        Self {
            grade,
            grade_variance,
            change: 0.0,
            change_variance: 0.0,
        }
    }
}

impl Place {
    /// Whether a piece of this length and grade is a steady climb.
    pub fn is_climb(self, length_m: f64, grade: f64) -> bool {
        match self {
            Self::Single
            | Self::Step { .. }
            | Self::PairFirst { .. }
            | Self::PairSecond
            | Self::AfterShortRamp => true,
            Self::General(general::Piece::Climb) => true,
            Self::Any => length_m >= LEAST_LENGTH_M && 100.0 * grade >= LEAST_GRADE_PCT,
            _ => false,
        }
    }

    /// Whether such a piece may have kinks.
    pub fn has_kinks(self) -> bool {
        matches!(self, Self::Any) || self.is_climb(f64::INFINITY, f64::INFINITY)
    }

    /// Shortest and longest, in metres.
    fn lengths_m(self) -> (f64, f64) {
        match self {
            Self::FirstFlat => (400.0, 800.0),
            Self::Single => (450.0, 3500.0),
            Self::Step { .. }
            | Self::PairFirst { .. }
            | Self::PairSecond
            | Self::AfterShortRamp => (450.0, 2400.0),
            Self::Between { dip: true } => (110.0, 190.0),
            Self::Between { dip: false } => (220.0, 350.0),
            Self::Lump { .. } => (100.0, 180.0),
            Self::Ramp => (450.0, 600.0),
            Self::ShortRamp { .. } => (160.0, 340.0),
            Self::Top => (200.0, 500.0),
            Self::Descent => (250.0, 4000.0),
            Self::Foot => (200.0, 700.0),
            Self::General(piece) => piece.lengths_m(),
            Self::Any => (80.0, 4000.0),
        }
    }

    /// The chance that a piece that has lasted until half a step before this age ends within the step around it.
    pub fn ends_within(self, age_m: f64, step_m: f64) -> f64 {
        let (shortest_m, longest_m) = self.lengths_m();
        let from_m = (age_m - 0.5 * step_m).max(shortest_m);
        let to_m = (age_m + 0.5 * step_m).min(longest_m);
        if to_m <= from_m {
            return if age_m > longest_m { 1.0 } else { 0.0 };
        }
        if to_m >= longest_m {
            return 1.0;
        }
        match self {
            Self::Descent | Self::General(_) | Self::Any => {
                (to_m / from_m).ln() / (longest_m / from_m).ln()
            }
            _ => (to_m - from_m) / (longest_m - from_m),
        }
    }
}

/// The rules, with the levels that are always the same.
#[derive(Debug, Clone)]
pub struct Grammar {
    knowing: Knowing,
    climb: [Level; 3],
    short_high: [(f64, Level); 2],
}

/// Two grades of a step: (high + 1) over (low + 1).
const STEP_RATIO: f64 = 1.65;
const GENTLEST_PCT: f64 = 3.5;
const STEEPEST_PCT: f64 = 11.0;
/// Sum of the groups' weights.
const GROUPS: f64 = 17.5;

impl Grammar {
    /// What a reader knows.
    pub fn new(knowing: Knowing) -> Self {
        let third = 1.0 / 3.0;
        Self {
            knowing,
            climb: [0, 1, 2].map(|n| climb_third(f64::from(n) * third, f64::from(n + 1) * third)),
            // High is flat above l, and l is flat from 6.4: 15 % lie below 8.7.
            short_high: [
                (0.15, Level::flat_pct(7.0, 8.7)),
                (0.85, Level::flat_pct(8.7, STEEPEST_PCT)),
            ],
        }
    }

    /// Grade of the road's first flat.
    pub fn first_level(&self) -> Level {
        Level::flat_pct(-1.0, 1.2)
    }

    /// Names every piece that may follow, with its share and level. `held` are the grades of the piece that ends and of
    /// the one before it.
    pub fn follow(
        &self,
        place: Place,
        held: &[(f64, f64); 2],
        mut each: impl FnMut(Place, f64, &Level),
    ) {
        let flat = Level::flat_pct(-1.0, 1.2);
        let down = Level::flat_pct(-9.0, -4.5);
        let grade_pct = 100.0 * held[0].0;
        match (self.knowing, place) {
            (Knowing::TheRules, _) => {}
            (Knowing::RoadsInGeneral, Place::General(piece)) => {
                return general::follow(piece, grade_pct, each);
            }
            (Knowing::RoadsInGeneral, _) => {
                return general::follow(general::Piece::Foot, grade_pct, each);
            }
            (Knowing::PiecesAlone, _) => return pieces::follow(grade_pct, each),
        }
        match place {
            Place::FirstFlat | Place::Foot => self.begin(1.0, &mut each),
            Place::Descent => {
                each(Place::Foot, 0.65, &flat);
                self.begin(0.35, &mut each);
            }
            Place::Top => each(Place::Descent, 1.0, &down),
            Place::Step { left, returns, low } if left > 0 => {
                let next = Place::Step {
                    left: left - 1,
                    returns: left == 2,
                    low: !low,
                };
                if returns {
                    each(next, 1.0, &Level::normal(held[1].0, held[1].1));
                } else if low {
                    high_after(held[0].0, |share, level| each(next, share, level));
                } else {
                    each(next, 1.0, &low_after(held[0].0));
                }
            }
            Place::PairFirst { dip } => {
                let level = if dip {
                    Level::flat_pct(-6.0, -3.5)
                } else {
                    flat
                };
                each(Place::Between { dip }, 1.0, &level);
            }
            Place::Between { .. } => {
                for level in &self.climb {
                    each(Place::PairSecond, 1.0 / 3.0, level);
                }
            }
            Place::ShortRamp { leads: true } => {
                each(Place::AfterShortRamp, 1.0, &low_after(held[0].0));
            }
            Place::Lump { number, hard } => {
                let left = f64::from(10_u8.saturating_sub(number));
                let goes_on = if number < 5 { 1.0 } else { left / (left + 1.0) };
                if goes_on > 0.0 {
                    let next = Place::Lump {
                        number: number + 1,
                        hard: !hard,
                    };
                    each(next, goes_on, &lump(!hard));
                }
                if goes_on < 1.0 {
                    each(Place::Top, 1.0 - goes_on, &flat);
                }
            }
            Place::Ramp => each(Place::Top, 1.0, &flat),
            _ => {
                each(Place::Top, 0.5, &flat);
                each(Place::Descent, 0.5, &down);
            }
        }
    }

    /// A group begins.
    fn begin(&self, share: f64, each: &mut impl FnMut(Place, f64, &Level)) {
        let share = share / GROUPS;
        for level in &self.climb {
            each(Place::Single, 5.0 / 3.0 * share, level);
            each(Place::PairFirst { dip: true }, 2.0 / 3.0 * share, level);
            each(Place::PairFirst { dip: false }, 2.0 / 3.0 * share, level);
            each(Place::ShortRamp { leads: false }, 0.4 * share, level);
        }
        for (left, weight) in [(1, 3.0), (2, 1.0)] {
            let first = |low| Place::Step {
                left,
                returns: false,
                low,
            };
            let low = Level::flat_pct(GENTLEST_PCT, (STEEPEST_PCT + 1.0) / STEP_RATIO - 1.0);
            each(first(true), 0.5 * weight * share, &low);
            for (part, high) in &self.short_high {
                each(first(false), 0.5 * weight * part * share, high);
            }
        }
        for hard in [false, true] {
            let first = Place::Lump { number: 1, hard };
            each(first, 0.65 * share, &lump(hard));
        }
        for rising in [false, true] {
            each(Place::Ramp, 0.5 * share, &ramp(rising));
        }
        for (part, high) in &self.short_high {
            each(Place::ShortRamp { leads: true }, part * share, high);
        }
    }
}

/// A climb's grade is 3.5 + 7.5 u^1.3 with u flat; the moments of a part of it.
fn climb_third(from: f64, to: f64) -> Level {
    let moment = |power: f64| {
        (to.powf(power + 1.0) - from.powf(power + 1.0)) / ((power + 1.0) * (to - from))
    };
    let (mean, square) = (moment(1.3), moment(2.6));
    let range = (STEEPEST_PCT - GENTLEST_PCT) / 100.0;
    Level::normal(
        GENTLEST_PCT / 100.0 + range * mean,
        range * range * (square - mean * mean),
    )
}

fn lump(hard: bool) -> Level {
    if hard {
        Level::flat_pct(7.0, 10.0)
    } else {
        Level::flat_pct(0.5, 2.5)
    }
}

/// From 0.5–1.5 % to 9–10.5 % over 450 to 600 m, or the other way round.
fn ramp(rising: bool) -> Level {
    let mut level = if rising {
        Level::flat_pct(0.5, 1.5)
    } else {
        Level::flat_pct(9.0, 10.5)
    };
    let change = 0.0875 / 522.0;
    level.change = if rising { change } else { -change };
    level.change_variance = (0.1 * change).powi(2);
    level
}

/// The steeper grade after a gentler one, in two parts where it may be much steeper.
fn high_after(low: f64, mut each: impl FnMut(f64, &Level)) {
    let least_pct = ((100.0 * low + 1.0) * STEP_RATIO - 1.0).clamp(6.0, STEEPEST_PCT - 0.2);
    if STEEPEST_PCT - least_pct < 2.5 {
        return each(1.0, &Level::flat_pct(least_pct, STEEPEST_PCT));
    }
    let middle_pct = 0.5 * (least_pct + STEEPEST_PCT);
    each(0.5, &Level::flat_pct(least_pct, middle_pct));
    each(0.5, &Level::flat_pct(middle_pct, STEEPEST_PCT));
}

/// The gentler grade after a steeper one.
fn low_after(high: f64) -> Level {
    let most_pct = (100.0 * high + 1.0) / STEP_RATIO - 1.0;
    Level::flat_pct(GENTLEST_PCT, most_pct.clamp(GENTLEST_PCT + 0.2, 6.3))
}
