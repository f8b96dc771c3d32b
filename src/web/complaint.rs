//! What is wrong with a value, told beside its control.

use serde::Serialize;

use crate::prescription::{Location, Problem};

/// A sentence about the value of a key.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Complaint {
    /// The key in the address; empty where there is none.
    pub key: String,
    /// What was seen, what was expected, what to do.
    pub text: String,
}

impl Complaint {
    /// A complaint.
    pub fn new(key: &str, text: &str) -> Complaint {
        Complaint {
            key: key.to_owned(),
            text: text.to_owned(),
        }
    }

    /// A problem of a rider or set file at the key of the address that `key` makes of the file's.
    pub(super) fn of_problem(problem: &Problem, key: fn(&str) -> String) -> Complaint {
        let at = match &problem.location {
            Location::Line { key, .. } => key.as_deref().unwrap_or(""),
            Location::Key { key } => key,
            Location::Flag { .. } => "",
        };
        Complaint {
            key: key(at),
            text: problem.fault.to_string(),
        }
    }
}
