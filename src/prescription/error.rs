//! What can be wrong with a rider file, a set file or a flag, and where.

use std::fmt;

use crate::files::is_invisible;

/// At most this many problems are told at once: more is a wrong file, not a mistake, and nobody reads on.
const PROBLEMS_TOLD: usize = 20;

/// Why a rider file, a set file or a block given by flags can't be used: every problem found, in the order of the text.
///
/// It names lines and keys but no file: whoever read the file knows its name. Printed, it is one line a problem.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{}", one_a_line(.problems))]
pub struct PrescriptionError {
    /// The problems; never empty.
    pub problems: Vec<Problem>,
}

/// One thing that is wrong, and where. Printed as `line 7, key `rider.mass_kgs`: not a known key; ...`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// Where it is.
    pub location: Location,
    /// What it is.
    pub fault: Fault,
}

/// Where a problem is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Location {
    /// At a line of the file.
    Line {
        /// Counted from 1.
        line: usize,
        /// In characters, counted from 1.
        column: usize,
        /// The key with its tables, blocks counted from 1: `block[2].cadence_rpm.aim`. `None` where the text is not
        /// TOML at all.
        key: Option<String>,
    },
    /// At a key that has no line, since its whole table is missing, or since the data never was a file.
    Key {
        /// The key with its tables, blocks counted from 1.
        key: String,
    },
    /// At a flag on the command line.
    Flag {
        /// With its dashes: `--work`.
        flag: String,
    },
}

/// What is wrong: what was seen, what was expected and in which unit, and what to do.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// The text is not TOML.
    #[error("not valid TOML: {message}")]
    Syntax {
        /// The parser's message, with advice where the mistake is a common one.
        message: String,
    },
    /// A key that means nothing here.
    #[error("not a known key; {}known here: {}", did_you_mean(.nearest), .known.join(", "))]
    UnknownKey {
        /// The known key that is most like it, if one is.
        nearest: Option<&'static str>,
        /// Every key that is known in this table.
        known: Vec<&'static str>,
    },
    /// A key or a flag that must be there, and isn't.
    #[error("missing; expected {expected}")]
    Missing {
        /// What to write.
        expected: String,
    },
    /// A value that can't be read as what it should be.
    #[error("{seen} is not {expected}")]
    Unreadable {
        /// The value as written.
        seen: String,
        /// What to write instead.
        expected: String,
    },
    /// A value that can't be true.
    #[error("{seen} is outside {low} to {high}: {why}")]
    OutOfBounds {
        /// The value as written.
        seen: String,
        /// The lowest that is accepted.
        low: String,
        /// The highest that is accepted, with the unit.
        high: String,
        /// What the number means, and what may have gone wrong.
        why: &'static str,
    },
    /// Values that can't hold together.
    #[error("{message}")]
    Conflict {
        /// Which, why, and what to do.
        message: String,
    },
}

impl Fault {
    /// This fault as an error at a flag (given with its dashes: `--work`).
    #[must_use]
    pub fn in_flag(self, flag: &str) -> PrescriptionError {
        PrescriptionError {
            problems: vec![self.at(Location::Flag {
                flag: flag.to_owned(),
            })],
        }
    }

    pub(super) fn at(self, location: Location) -> Problem {
        Problem {
            location,
            fault: self,
        }
    }

    pub(super) fn conflict(message: impl Into<String>) -> Self {
        Self::Conflict {
            message: message.into(),
        }
    }

    pub(super) fn unreadable(seen: impl Into<String>, expected: impl Into<String>) -> Self {
        Self::Unreadable {
            seen: seen.into(),
            expected: expected.into(),
        }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.location, self.fault)
    }
}

impl fmt::Display for Location {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Line {
                line,
                key: Some(key),
                ..
            } => write!(f, "line {line}, key `{key}`"),
            Self::Line {
                line,
                column,
                key: None,
            } => write!(f, "line {line}, column {column}"),
            Self::Key { key } => write!(f, "key `{key}`"),
            Self::Flag { flag } => write!(f, "{flag}"),
        }
    }
}

/// Text from a file or a flag, made safe and short enough to be shown: quoted, control characters escaped, cut at 40
/// characters.
pub(super) fn quoted(text: &str) -> String {
    format!("`{}`", printable(text))
}

/// As [`quoted`], without the quotes.
pub(super) fn printable(text: &str) -> String {
    const SHOWN_CHARS: usize = 40;
    let mut shown = String::new();
    for c in text.chars().take(SHOWN_CHARS) {
        if is_invisible(c) {
            shown.extend(c.escape_default());
        } else {
            shown.push(c);
        }
    }
    if text.chars().nth(SHOWN_CHARS).is_some() {
        shown.push('…');
    }
    shown
}

/// The known key that is most like the one seen, if any is like it.
pub(super) fn nearest(seen: &str, known: &[&'static str]) -> Option<&'static str> {
    let distance = |key: &str| strsim::damerau_levenshtein(&seen.to_lowercase(), key);
    let (key, edits) = known
        .iter()
        .map(|&key| (key, distance(key)))
        .min_by_key(|&(_, edits)| edits)?;
    let is_typing_slip = edits <= 1 + key.chars().count() / 4;
    let lacks_only_its_unit = || {
        known
            .iter()
            .copied()
            .find(|key| seen.len() >= 3 && key.starts_with(seen))
    };
    if is_typing_slip {
        Some(key)
    } else {
        lacks_only_its_unit()
    }
}

fn did_you_mean(nearest: &Option<&'static str>) -> String {
    nearest.map_or_else(String::new, |key| format!("did you mean `{key}`? "))
}

fn one_a_line(problems: &[Problem]) -> String {
    let mut lines: Vec<String> = problems
        .iter()
        .take(PROBLEMS_TOLD)
        .map(Problem::to_string)
        .collect();
    if problems.len() > PROBLEMS_TOLD {
        lines.push(format!("and {} more", problems.len() - PROBLEMS_TOLD));
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_keys_finds_the_key_that_was_meant() {
        let known = ["mass_kg", "threshold_w", "easy_share"];
        assert_eq!(nearest("mass_kgs", &known), Some("mass_kg"));
        assert_eq!(nearest("treshold_w", &known), Some("threshold_w"));
        assert_eq!(nearest("Mass_KG", &known), Some("mass_kg"));
    }

    #[test]
    fn a_key_without_its_unit_finds_the_key_that_was_meant() {
        assert_eq!(nearest("mass", &["mass_kg", "kit_kg"]), Some("mass_kg"));
        assert_eq!(
            nearest("threshold", &["mass_kg", "threshold_w"]),
            Some("threshold_w")
        );
    }

    #[test]
    fn a_key_that_is_like_none_finds_none() {
        assert_eq!(
            nearest("favourite_colour", &["mass_kg", "threshold_w"]),
            None
        );
        assert_eq!(nearest("x", &[]), None);
    }

    #[test]
    fn a_terminal_is_never_sent_the_control_characters_of_a_file() {
        assert_eq!(quoted("a\u{1b}[31mb"), "`a\\u{1b}[31mb`");
        assert_eq!(quoted(&"x".repeat(41)), format!("`{}…`", "x".repeat(40)));
    }

    #[test]
    fn a_long_list_of_problems_is_cut() {
        let problem = Fault::conflict("no").at(Location::Key {
            key: "k".to_owned(),
        });
        let error = PrescriptionError {
            problems: vec![problem; 25],
        };
        assert_eq!(error.to_string().lines().last(), Some("and 5 more"));
    }
}
