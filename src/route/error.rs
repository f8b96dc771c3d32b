//! Why a file is no route.

/// Why no route could be read. The path is added by who prints it.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RouteError {
    /// No bytes, or white space alone.
    #[error("it is empty")]
    Empty,
    /// Neither XML nor a JSON object.
    #[error("it starts with {seen}; a route must be GPX, KML or GeoJSON")]
    UnknownFormat {
        /// What the file starts with.
        seen: String,
    },
    /// XML of another kind.
    #[error("it is XML with the root <{root}>; a route must be GPX (<gpx>) or KML (<kml>)")]
    UnknownRoot {
        /// The name of the first element.
        root: String,
    },
    /// JSON of another kind.
    #[error("it is JSON but no GeoJSON: {what}")]
    UnknownJson {
        /// What is missing or wrong.
        what: String,
    },
    /// An encoding that nobody can read here.
    #[error("it says that its encoding is \"{label}\", which is not known; save it as UTF-8")]
    UnknownEncoding {
        /// The name of the encoding, as the file has it.
        label: String,
    },
    /// XML that is not well-formed.
    #[error("line {line} is not well-formed XML: {what}")]
    Xml {
        /// The line, counted from 1.
        line: usize,
        /// What was seen there.
        what: String,
    },
    /// JSON that is not well-formed or not shaped as GeoJSON.
    #[error("it is not well-formed GeoJSON: {what}")]
    Json {
        /// What was seen, with its line and column.
        what: String,
    },
    /// XML cut short before there was a line.
    #[error(
        "it ends in the middle, on line {line}, after {points} usable points; two are the least; copy it again"
    )]
    CutShort {
        /// The last line.
        line: usize,
        /// How many points came before.
        points: usize,
    },
    /// More than half of the positions are unusable.
    #[error("{bad} of its {total} positions are unusable, the first {first}; {expected}")]
    Positions {
        /// How many are unusable.
        bad: usize,
        /// How many there are.
        total: usize,
        /// Where the first one is, and what it says.
        first: String,
        /// What was expected.
        expected: String,
    },
    /// More points than the bounds allow.
    #[error(
        "it holds more than {most} points, the most that are read (a track, a route or an object counts as ten); split it, or raise the limit (--max-input)"
    )]
    TooManyPoints {
        /// The most.
        most: usize,
    },
    /// Elements in elements beyond the bounds.
    #[error(
        "its elements lie in each other deeper than {most}, the most that is read; raise the limit (--max-input)"
    )]
    TooDeep {
        /// The most.
        most: usize,
    },
    /// More road than the bounds allow.
    #[error(
        "it holds more than {most_km} km of road, the most that is read of one file; split it, or raise the limit (--max-input)"
    )]
    TooMuchRoad {
        /// The most, in kilometres.
        most_km: u64,
    },
    /// A readable file with no line in it.
    #[error("it has no line to ride: {what}")]
    NoLine {
        /// What it has instead.
        what: String,
    },
    /// A line with no length.
    #[error("two different places are the least that make a route, and it has {}", if *distinct == 0 { "none" } else { "one" })]
    TooShort {
        /// How many different places are left after cleaning.
        distinct: usize,
    },
}

impl RouteError {
    /// Whether the same file may be read within wider [`Bounds`](super::Bounds).
    pub fn is_of_bounds(&self) -> bool {
        matches!(
            self,
            RouteError::TooManyPoints { .. }
                | RouteError::TooDeep { .. }
                | RouteError::TooMuchRoad { .. }
        )
    }
}
