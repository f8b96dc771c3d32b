//! What a reader dropped from one file: counted, with the first one's place and value.

use super::{RawPoint, RouteError};
use crate::files::is_invisible;

/// How much of a bad value is shown.
const SHOWN_CHARS: usize = 40;
/// Characters that are shown of the start and the end of what a parser says.
const START_CHARS: usize = 120;
const END_CHARS: usize = 60;

/// Things of one kind that were dropped.
#[derive(Debug, Default)]
pub(super) struct Tally {
    pub(super) count: usize,
    /// Where the first was, and what it said: `on line 7: lat "95"`.
    pub(super) first: String,
}

impl Tally {
    /// `first` is only made for the first.
    pub(super) fn add(&mut self, first: impl FnOnce() -> String) {
        if self.count == 0 {
            self.first = first();
        }
        self.count += 1;
    }

    fn tell(&self, one: &str, many: &str, then: &str, into: &mut Vec<String>) {
        if self.count > 0 {
            let what = counted(self.count, one, many);
            into.push(format!("{what} {then} (the first {})", self.first));
        }
    }
}

/// Everything that was dropped from one line of a file.
#[derive(Debug, Default)]
pub(super) struct Faults {
    pub(super) positions: Tally,
    pub(super) elevations: Tally,
    pub(super) times: Tally,
    pub(super) zoneless: Tally,
    pub(super) sensors: Tally,
}

impl Faults {
    pub(super) fn tell(&self, into: &mut Vec<String>) {
        self.positions.tell(
            "point",
            "points",
            "without a usable position left out",
            into,
        );
        self.elevations
            .tell("elevation", "elevations", "not a number, left out", into);
        self.times
            .tell("time", "times", "not readable, left out", into);
        self.zoneless
            .tell("time", "times", "without a time zone taken as UTC", into);
        self.sensors.tell(
            "sensor value",
            "sensor values",
            "not a number, left out",
            into,
        );
    }
}

/// Positions of a whole file, to refuse it when more than half are unusable.
#[derive(Debug, Default)]
pub(super) struct Positions {
    pub(super) total: usize,
    pub(super) bad: usize,
    pub(super) first: String,
    /// Bad latitudes that would be longitudes, with longitudes that would be latitudes.
    pub(super) swapped: usize,
}

impl Positions {
    pub(super) fn check(&self) -> Result<(), RouteError> {
        if self.bad * 2 <= self.total {
            return Ok(());
        }
        let mut expected = String::from(
            "expected a latitude from -90 to 90 and a longitude from -180 to 180, in degrees, with a decimal point",
        );
        if self.swapped * 2 > self.bad {
            expected.push_str("; latitude and longitude look swapped");
        }
        Err(RouteError::Positions {
            bad: self.bad,
            total: self.total,
            first: self.first.clone(),
            expected,
        })
    }

    /// A point at the position, if it is on Earth; if not, it is counted here and in the line's faults.
    pub(super) fn place(
        &mut self,
        lat_deg: Option<f64>,
        lon_deg: Option<f64>,
        faults: &mut Faults,
        seen: impl FnOnce() -> String,
    ) -> Option<RawPoint> {
        self.total += 1;
        if let (Some(lat_deg), Some(lon_deg)) = (lat_deg, lon_deg) {
            if lat_deg.abs() <= 90.0 && lon_deg.abs() <= 180.0 {
                return Some(RawPoint {
                    lat_deg,
                    lon_deg,
                    elevation_m: None,
                    time_s: None,
                });
            }
            self.swapped += usize::from(
                lat_deg.abs() > 90.0 && lat_deg.abs() <= 180.0 && lon_deg.abs() <= 90.0,
            );
        }
        let first_of_file = self.bad == 0;
        self.bad += 1;
        faults.positions.add(seen);
        if first_of_file {
            self.first.clone_from(&faults.positions.first);
        }
        None
    }
}

/// `1 point`, `3 points`.
pub(super) fn counted(count: usize, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}

/// A value in quotes, cut to a readable length, with nothing in it that would disturb a terminal.
pub(super) fn quoted(value: &str) -> String {
    let mut shown = String::from("\"");
    for (i, c) in value.trim().chars().enumerate() {
        if i == SHOWN_CHARS {
            shown.push('…');
            break;
        }
        shown.push(if is_invisible(c) { ' ' } else { c });
    }
    shown.push('"');
    shown
}

/// What a parser says, which may quote a stranger's file at any length: its start and its end, where the place stands, tame.
pub(super) fn in_short(told: &str) -> String {
    let tame = |c: char| if is_invisible(c) { ' ' } else { c };
    let ends = |skip: usize, take: usize| told.chars().skip(skip).take(take).map(tame);
    let count = told.chars().count();
    if count <= START_CHARS + END_CHARS {
        return ends(0, count).collect();
    }
    let start: String = ends(0, START_CHARS).collect();
    let end: String = ends(count - END_CHARS, END_CHARS).collect();
    format!("{start}…{end}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_parser_says_is_cut_in_its_middle_and_tame() {
        assert_eq!(in_short("short"), "short");
        let long = format!("saw `{}\u{1b}`, at line 7", "é".repeat(5000));
        let short = in_short(&long);
        assert!(
            short.starts_with("saw `éé") && short.ends_with(" `, at line 7"),
            "{short}"
        );
        assert_eq!(short.chars().count(), START_CHARS + 1 + END_CHARS);
        assert!(!short.contains('\u{1b}'));
    }

    #[test]
    fn a_long_or_wild_value_is_shown_short_and_tame() {
        assert_eq!(quoted(" 4,5 "), "\"4,5\"");
        assert_eq!(quoted("a\u{1b}[31m"), "\"a [31m\"");
        assert_eq!(quoted(&"9".repeat(50)), format!("\"{}…\"", "9".repeat(40)));
    }

    #[test]
    fn the_first_of_a_kind_is_told_and_the_rest_counted() {
        let mut faults = Faults::default();
        faults.times.add(|| "on line 3: \"x\"".into());
        faults.times.add(|| "on line 4: \"y\"".into());
        let mut told = Vec::new();
        faults.tell(&mut told);
        assert_eq!(
            told,
            ["2 times not readable, left out (the first on line 3: \"x\")"]
        );
    }

    #[test]
    fn exactly_half_bad_is_still_read() {
        assert!(
            Positions {
                total: 4,
                bad: 2,
                ..Positions::default()
            }
            .check()
            .is_ok()
        );
        assert!(
            Positions {
                total: 4,
                bad: 3,
                ..Positions::default()
            }
            .check()
            .is_err()
        );
    }
}
