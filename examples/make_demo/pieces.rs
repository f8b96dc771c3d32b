//! The big loop as a road engineer would list it: piece after piece, each with its length and grade.

/// What a piece of road is, for a rider who looks for steady climbs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    /// A climb with one grade. Neighbouring pieces with the same name are one climb.
    Steady,
    /// Part of a climb that keeps changing.
    Lumpy,
    /// A climb whose grade rises evenly.
    Steepening,
    /// Houses and level ground.
    Village,
    /// Gentle ground, up or down.
    Rolling,
    /// The way down.
    Descent,
}

impl Kind {
    /// How far the grade wanders inside a piece, as a standard deviation in points.
    pub(crate) fn wander_pct(self, grade_pct: f64) -> f64 {
        match self {
            Kind::Steady | Kind::Lumpy | Kind::Steepening => 0.04 * (grade_pct + 1.0),
            Kind::Village => 0.1,
            Kind::Rolling => 0.25,
            Kind::Descent => 0.5,
        }
    }
}

/// A stretch of road whose grade goes evenly from one value to another, mostly the same.
pub(crate) struct Piece {
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    pub(crate) length_m: f64,
    pub(crate) from_pct: f64,
    pub(crate) to_pct: f64,
}

const fn even(name: &'static str, kind: Kind, length_m: f64, grade_pct: f64) -> Piece {
    Piece {
        name,
        kind,
        length_m,
        from_pct: grade_pct,
        to_pct: grade_pct,
    }
}
const fn steady(name: &'static str, length_m: f64, grade_pct: f64) -> Piece {
    even(name, Kind::Steady, length_m, grade_pct)
}
const fn lumpy(length_m: f64, grade_pct: f64) -> Piece {
    even("Cobbin Brae", Kind::Lumpy, length_m, grade_pct)
}
const fn village(name: &'static str, length_m: f64, grade_pct: f64) -> Piece {
    even(name, Kind::Village, length_m, grade_pct)
}
const fn rolling(length_m: f64, grade_pct: f64) -> Piece {
    even("open road", Kind::Rolling, length_m, grade_pct)
}
const fn descent(length_m: f64, grade_pct: f64) -> Piece {
    even("way down", Kind::Descent, length_m, grade_pct)
}

/// Where the loop starts and ends, in metres above the sea.
pub(crate) const START_ELEVATION_M: f64 = 9.0;

/// The whole loop. Rises and falls cancel to within the wander of the grades, which the profile takes out.
pub(crate) const BIG_LOOP: &[Piece] = &[
    village("Port Ollibar", 1500.0, 0.0),
    rolling(2100.0, 2.1),
    rolling(1400.0, -2.1),
    rolling(1800.0, 2.4),
    rolling(1500.0, -2.4),
    rolling(1700.0, 1.0),
    rolling(1300.0, -1.2),
    village("Cressowan", 1300.0, 0.0),
    steady("Thornlatch Rise", 1750.0, 5.5),
    descent(1300.0, -5.5),
    rolling(1900.0, 0.3),
    steady("Gullsfoot Bank", 1800.0, 6.2),
    descent(1900.0, -4.5),
    rolling(1000.0, 1.2),
    rolling(700.0, -1.5),
    steady("Ommerfell", 1700.0, 6.6),
    descent(2300.0, -5.2),
    rolling(1500.0, -0.4),
    steady("Brindlegarth Hill", 1900.0, 5.8),
    descent(1600.0, -6.0),
    rolling(1200.0, 0.6),
    rolling(800.0, -2.0),
    steady("Kettlerigg Bends", 1600.0, 7.0),
    descent(2100.0, -5.5),
    village("Dunvessel", 1600.0, 0.0),
    steady("Pellin Bank", 1850.0, 6.0),
    descent(2500.0, -5.0),
    village("Sallowmouth", 900.0, 0.0),
    rolling(1600.0, 2.3),
    steady("Nib of Ovrin", 650.0, 6.5),
    descent(1500.0, -5.2),
    rolling(1500.0, -1.1),
    lumpy(180.0, 8.0),
    lumpy(160.0, 2.0),
    lumpy(220.0, 7.5),
    lumpy(180.0, 1.5),
    lumpy(200.0, 9.0),
    lumpy(170.0, 3.0),
    lumpy(200.0, 8.0),
    lumpy(160.0, 2.5),
    lumpy(210.0, 8.5),
    descent(2200.0, -5.5),
    rolling(1000.0, 0.2),
    Piece {
        name: "Ladderfell",
        kind: Kind::Steepening,
        length_m: 1800.0,
        from_pct: 3.0,
        to_pct: 9.0,
    },
    descent(1900.0, -5.0),
    rolling(1700.0, 2.4),
    rolling(1000.0, -2.6),
    steady("Langlow Drag", 1900.0, 3.4),
    descent(1600.0, -4.2),
    village("Ollenwick Cross", 1000.0, 0.0),
    steady("Chimney Sker", 700.0, 12.0),
    descent(1700.0, -5.0),
    rolling(1500.0, 2.4),
    rolling(900.0, -3.0),
    steady("Mallowstair, lower", 1200.0, 4.0),
    steady("Mallowstair, upper", 1200.0, 7.0),
    descent(2400.0, -5.9),
    rolling(1100.0, 0.2),
    steady("Skerrock Turn", 700.0, 6.3),
    steady("Skerrock Turn", 40.0, 0.0),
    steady("Skerrock Turn", 800.0, 6.3),
    descent(1500.0, -5.5),
    rolling(1300.0, 2.4),
    rolling(900.0, -2.2),
    steady("Upper Tarrick, below the houses", 1350.0, 6.0),
    village("Upper Tarrick", 350.0, 0.2),
    steady("Upper Tarrick, above the houses", 1350.0, 6.0),
    descent(2600.0, -5.65),
    rolling(700.0, -1.0),
    steady("Wennet Bank", 1800.0, 5.4),
    descent(2400.0, -5.1),
    rolling(1500.0, -2.0),
    rolling(1200.0, 2.4),
    rolling(1400.0, -2.75),
    rolling(1000.0, -1.4),
];

/// A piece with its place on the loop.
pub(crate) struct Placed {
    pub(crate) piece: &'static Piece,
    pub(crate) start_m: f64,
    pub(crate) end_m: f64,
}

/// The pieces in order, each with where it starts and ends.
pub(crate) fn placed(pieces: &'static [Piece]) -> Vec<Placed> {
    let mut end_m = 0.0;
    pieces
        .iter()
        .map(|piece| {
            let start_m = end_m;
            end_m += piece.length_m;
            Placed {
                piece,
                start_m,
                end_m,
            }
        })
        .collect()
}
