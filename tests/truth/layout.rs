//! The order of a road: which pieces follow one another, how long and how steep.

use super::rng::Rng;

/// What a piece of road is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Character {
    /// A steady climb of at least 400 m at 3 % or more.
    Climb,
    /// Flat, or nearly.
    Flat,
    /// Downhill.
    Descent,
    /// A short descent between two climbs, long and deep enough to part them.
    Dip,
    /// One of a row of short pieces, hard and easy in turn; no 400 m of the row are steady.
    Lump,
    /// A grade that rises or falls evenly, so fast that no 400 m of it are steady.
    Ramp,
    /// Steady and steep enough, but too short to be a climb.
    ShortRamp,
}

/// A stretch of at most 60 m inside a climb that a rider rides through.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Kink {
    /// Distance from the climb's start, in metres.
    pub from_m: f64,
    /// Length with its own vertical curves, in metres.
    pub length_m: f64,
    /// The grade that it falls to.
    pub grade_pct: f64,
    /// Whether the road turns back on itself there.
    pub hairpin: bool,
}

/// A piece of road between two places where the road turns up or down.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What it is.
    pub character: Character,
    /// Whole metres.
    pub length_m: f64,
    /// Grade at its start.
    pub grade_pct: f64,
    /// Grade at its end; differs from that at the start on a [`Character::Ramp`] only.
    pub end_grade_pct: f64,
    /// Standard deviation of the grade's wander, as a share of (grade + 1 point).
    pub wander_share: f64,
    /// Length of the vertical curve centred on its start, in metres.
    pub curve_m: f64,
    /// Kinks inside, in order.
    pub kinks: Vec<Kink>,
}

impl Piece {
    /// Standard deviation of the grade's wander, in points.
    pub fn wander_sd_pct(&self) -> f64 {
        let grade_pct = 0.5 * (self.grade_pct + self.end_grade_pct);
        self.wander_share * (grade_pct.abs() + 1.0)
    }
}

/// Climbs from here on; ramps end at [`LONGEST_SHORT_RAMP_M`]. Between the two the bound of 400 m would make a
/// truth that hangs on a few metres.
const SHORTEST_CLIMB_M: f64 = 450.0;
const LONGEST_CLIMB_M: f64 = 3500.0;
/// Climbs that follow each other are shorter, to keep the road's length and height in bounds.
const LONGEST_OF_SEVERAL_M: f64 = 2400.0;
const LONGEST_SHORT_RAMP_M: f64 = 340.0;
/// The gentlest climb drawn; flats reach [`STEEPEST_FLAT_PCT`]. Again a gap round the definition's 3 %.
const GENTLEST_CLIMB_PCT: f64 = 3.5;
const STEEPEST_CLIMB_PCT: f64 = 11.0;
const STEEPEST_FLAT_PCT: f64 = 1.2;
/// Two levels with (high + 1) over (low + 1) above 1.5 can't be one steady climb, whatever their lengths: with equal
/// lengths each is a fifth of (mean + 1) from the mean at exactly 1.5, with unequal ones the shorter is further off.
const STEP_RATIO: f64 = 1.65;

#[derive(Debug, Clone, Copy)]
enum Group {
    Single,
    Step,
    TwoSteps,
    DipBetween,
    FlatBetween,
    Lumps,
    Ramp,
    ShortRamp,
    ShortRampThenClimb,
}

const GROUPS: [(Group, f64); 9] = [
    (Group::Single, 5.0),
    (Group::Step, 3.0),
    (Group::TwoSteps, 1.0),
    (Group::DipBetween, 2.0),
    (Group::FlatBetween, 2.0),
    (Group::Lumps, 1.3),
    (Group::Ramp, 1.0),
    (Group::ShortRamp, 1.2),
    (Group::ShortRampThenClimb, 1.0),
];

/// In what country a road lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Country {
    /// The bench's own: each group of climbs has one way down, between level stretches.
    Usual,
    /// One that nothing is tuned on: climbs end in short ramps, ways down have several grades, level road is shorter or longer and less level.
    Otherwise,
}

/// Draws the pieces of a road of 40 to 60 km.
pub fn draw_pieces(rng: &mut Rng, country: Country) -> Vec<Piece> {
    let target_m = rng.between(45_000.0, 57_000.0);
    let mut pieces = vec![flat(rng, 400.0, 800.0)];
    while length_m(&pieces) < target_m {
        let from = pieces.len();
        let group = rng.pick(&GROUPS);
        push_group(rng, group, &mut pieces);
        let gain_m: f64 = pieces[from..].iter().map(rise_m).sum();
        match country {
            Country::Usual => push_way_down(rng, group, gain_m, &mut pieces),
            Country::Otherwise => push_ways_down(rng, gain_m, &mut pieces),
        }
    }
    pieces.push(flat(rng, 400.0, 800.0));
    pieces
}

/// The length of pieces in a row.
pub fn length_m(pieces: &[Piece]) -> f64 {
    pieces.iter().map(|piece| piece.length_m).sum()
}

fn rise_m(piece: &Piece) -> f64 {
    piece.length_m * 0.5 * (piece.grade_pct + piece.end_grade_pct) / 100.0
}

fn push_group(rng: &mut Rng, group: Group, pieces: &mut Vec<Piece>) {
    match group {
        Group::Single => {
            let grade_pct = climb_grade_pct(rng);
            pieces.push(climb(rng, grade_pct, LONGEST_CLIMB_M));
        }
        Group::Step => push_steps(rng, 2, pieces),
        Group::TwoSteps => push_steps(rng, 3, pieces),
        Group::DipBetween => push_pair(rng, dip, pieces),
        Group::FlatBetween => push_pair(rng, |rng| flat(rng, 220.0, 350.0), pieces),
        Group::Lumps => push_lumps(rng, pieces),
        Group::Ramp => pieces.push(ramp(rng)),
        Group::ShortRamp => {
            let grade_pct = climb_grade_pct(rng);
            pieces.push(short_ramp(rng, grade_pct));
        }
        Group::ShortRampThenClimb => {
            let (low_pct, high_pct) = step_levels_pct(rng);
            pieces.push(short_ramp(rng, high_pct));
            pieces.push(climb(rng, low_pct, LONGEST_OF_SEVERAL_M));
        }
    }
}

/// Down again by about as much as the group rose, by way of a flat, and to a flat, most of the time.
fn push_way_down(rng: &mut Rng, group: Group, gain_m: f64, pieces: &mut Vec<Piece>) {
    let sharp_ends = matches!(group, Group::Lumps | Group::Ramp);
    if sharp_ends || rng.chance(0.5) {
        pieces.push(flat(rng, 200.0, 500.0));
    }
    let grade_pct = rng.between(-9.0, -4.5);
    let depth_m = gain_m * rng.between(0.6, 1.15);
    let length_m = (depth_m / -grade_pct * 100.0).clamp(250.0, 4000.0);
    pieces.push(piece(rng, Character::Descent, length_m, grade_pct));
    if rng.chance(0.65) {
        pieces.push(flat(rng, 200.0, 700.0));
    }
}

/// Down in one to three pieces of any grade, each a tenth to six tenths of what the group rose, with level road between or not; before that, on
/// each fifth climb, a short ramp that is steeper or gentler by a step.
fn push_ways_down(rng: &mut Rng, gain_m: f64, pieces: &mut Vec<Piece>) {
    let last = pieces
        .last()
        .map(|piece| (piece.character, piece.grade_pct));
    if let Some((Character::Climb, grade_pct)) = last.filter(|_| rng.chance(0.2)) {
        let gentler_pct = (grade_pct + 1.0) / STEP_RATIO - 1.0;
        let ramp_pct = if gentler_pct >= GENTLEST_CLIMB_PCT {
            gentler_pct
        } else {
            (grade_pct + 1.0) * STEP_RATIO - 1.0
        };
        pieces.push(short_ramp(rng, ramp_pct));
    }
    if rng.chance(0.4) {
        pieces.push(nearly_level(rng, 900.0));
    }
    for _ in 0..rng.whole(1, 3) {
        let grade_pct = rng.between(-10.0, -2.0);
        let depth_m = gain_m * rng.between(0.1, 0.6);
        let length_m = (depth_m / -grade_pct * 100.0).clamp(100.0, 3000.0);
        pieces.push(piece(rng, Character::Descent, length_m, grade_pct));
        if rng.chance(0.3) {
            pieces.push(nearly_level(rng, 500.0));
        }
    }
}

/// Level road of at least 80 m that goes up or down a little.
fn nearly_level(rng: &mut Rng, longest_m: f64) -> Piece {
    let length_m = rng.between(80.0, longest_m);
    let grade_pct = rng.between(-2.5, 2.0);
    piece(rng, Character::Flat, length_m, grade_pct)
}

fn push_steps(rng: &mut Rng, levels: usize, pieces: &mut Vec<Piece>) {
    let (low_pct, high_pct) = step_levels_pct(rng);
    let low_first = rng.chance(0.5);
    for level in 0..levels {
        let grade_pct = if (level % 2 == 0) == low_first {
            low_pct
        } else {
            high_pct
        };
        pieces.push(climb(rng, grade_pct, LONGEST_OF_SEVERAL_M));
    }
}

fn push_pair(rng: &mut Rng, between: impl Fn(&mut Rng) -> Piece, pieces: &mut Vec<Piece>) {
    for half in 0..2 {
        if half == 1 {
            pieces.push(between(rng));
        }
        let grade_pct = climb_grade_pct(rng);
        pieces.push(climb(rng, grade_pct, LONGEST_OF_SEVERAL_M));
    }
}

fn push_lumps(rng: &mut Rng, pieces: &mut Vec<Piece>) {
    let count = rng.whole(5, 10);
    let hard_first = rng.chance(0.5);
    for number in 0..count {
        let grade_pct = if (number % 2 == 0) == hard_first {
            rng.between(7.0, 10.0)
        } else {
            rng.between(0.5, 2.5)
        };
        let length_m = rng.between(100.0, 180.0);
        pieces.push(piece(rng, Character::Lump, length_m, grade_pct));
    }
}

fn climb_grade_pct(rng: &mut Rng) -> f64 {
    let height = rng.uniform().powf(1.3);
    GENTLEST_CLIMB_PCT + (STEEPEST_CLIMB_PCT - GENTLEST_CLIMB_PCT) * height
}

fn step_levels_pct(rng: &mut Rng) -> (f64, f64) {
    let highest_low_pct = (STEEPEST_CLIMB_PCT + 1.0) / STEP_RATIO - 1.0;
    let low_pct = rng.between(GENTLEST_CLIMB_PCT, highest_low_pct);
    let lowest_high_pct = (low_pct + 1.0) * STEP_RATIO - 1.0;
    (low_pct, rng.between(lowest_high_pct, STEEPEST_CLIMB_PCT))
}

fn climb(rng: &mut Rng, grade_pct: f64, longest_m: f64) -> Piece {
    let length_m = rng.between(SHORTEST_CLIMB_M, longest_m);
    let mut climb = piece(rng, Character::Climb, length_m, grade_pct);
    climb.kinks = draw_kinks(rng, climb.length_m, grade_pct);
    climb
}

/// Kinks well inside the climb and apart from each other; one culvert at most, so that all descent stays below 2 m.
fn draw_kinks(rng: &mut Rng, length_m: f64, grade_pct: f64) -> Vec<Kink> {
    let mut kinks = Vec::new();
    let mut culvert_left = length_m > 700.0;
    let mut at_m = rng.between(180.0, 1200.0);
    while at_m + 60.0 + 180.0 < length_m && kinks.len() < 6 {
        let kind = rng.uniform();
        let kink = if kind < 0.45 {
            Kink {
                from_m: at_m.round(),
                length_m: rng.between(36.0, 56.0).round(),
                grade_pct: grade_pct * rng.between(0.0, 0.6),
                hairpin: true,
            }
        } else if kind < 0.6 && culvert_left {
            culvert_left = false;
            Kink {
                from_m: at_m.round(),
                length_m: rng.between(30.0, 50.0).round(),
                grade_pct: rng.between(-3.0, -1.0),
                hairpin: false,
            }
        } else {
            Kink {
                from_m: at_m.round(),
                length_m: 50.0,
                grade_pct: grade_pct * rng.between(0.3, 0.7),
                hairpin: false,
            }
        };
        kinks.push(kink);
        at_m += rng.between(320.0, 1400.0);
    }
    kinks
}

fn flat(rng: &mut Rng, shortest_m: f64, longest_m: f64) -> Piece {
    let length_m = rng.between(shortest_m, longest_m);
    let grade_pct = rng.between(-1.0, STEEPEST_FLAT_PCT);
    piece(rng, Character::Flat, length_m, grade_pct)
}

fn dip(rng: &mut Rng) -> Piece {
    let length_m = rng.between(110.0, 190.0);
    let grade_pct = rng.between(-6.0, -3.5);
    piece(rng, Character::Dip, length_m, grade_pct)
}

fn short_ramp(rng: &mut Rng, grade_pct: f64) -> Piece {
    let length_m = rng.between(160.0, LONGEST_SHORT_RAMP_M);
    piece(rng, Character::ShortRamp, length_m, grade_pct)
}

fn ramp(rng: &mut Rng) -> Piece {
    let length_m = rng.between(450.0, 600.0);
    let (gentle_pct, steep_pct) = (rng.between(0.5, 1.5), rng.between(9.0, 10.5));
    let mut ramp = piece(rng, Character::Ramp, length_m, gentle_pct);
    ramp.end_grade_pct = steep_pct;
    if rng.chance(0.5) {
        std::mem::swap(&mut ramp.grade_pct, &mut ramp.end_grade_pct);
    }
    ramp
}

fn piece(rng: &mut Rng, character: Character, length_m: f64, grade_pct: f64) -> Piece {
    Piece {
        character,
        length_m: length_m.round(),
        grade_pct,
        end_grade_pct: grade_pct,
        wander_share: rng.between(0.03, 0.08),
        curve_m: rng.between(20.0, 60.0),
        kinks: Vec::new(),
    }
}
