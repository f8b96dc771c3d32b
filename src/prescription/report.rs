//! What is wrong with a TOML document, collected while it is read.

use std::cell::RefCell;

use toml::de::DeTable;

use super::error::{Fault, Location, PrescriptionError, Problem};
use crate::files::is_invisible;

/// More problems than this are not kept: what is asked of a hostile file stays bounded.
pub(super) const PROBLEMS_KEPT: usize = 100;

/// The problems and notes found so far in one text.
pub(super) struct Report<'t> {
    pub(super) text: &'t str,
    problems: RefCell<Vec<Problem>>,
    notes: RefCell<Vec<String>>,
}

impl<'t> Report<'t> {
    pub(super) fn new(text: &'t str) -> Self {
        Self {
            text,
            problems: RefCell::default(),
            notes: RefCell::default(),
        }
    }

    /// Parses the text; where it is no TOML, that is the one problem.
    pub(super) fn document(&self) -> Option<DeTable<'t>> {
        match DeTable::parse(self.text) {
            Ok(document) => Some(document.into_inner()),
            Err(error) => {
                let (line, column) = self.position(error.span().map_or(0, |span| span.start));
                let message = self.syntax_message(error.message(), line);
                self.keep(Fault::Syntax { message }.at(Location::Line {
                    line,
                    column,
                    key: None,
                }));
                None
            }
        }
    }

    pub(super) fn keep(&self, problem: Problem) {
        let mut problems = self.problems.borrow_mut();
        if problems.len() < PROBLEMS_KEPT {
            problems.push(problem);
        }
    }

    pub(super) fn note(&self, note: String) {
        self.notes.borrow_mut().push(note);
    }

    /// The value with the notes, or every problem in the order of the text. A value that could not be made has left a
    /// problem behind.
    pub(super) fn result<T>(self, value: Option<T>) -> Result<(T, Vec<String>), PrescriptionError> {
        let mut problems = self.problems.into_inner();
        problems.sort_by_key(|problem| match problem.location {
            Location::Line { line, column, .. } => (line, column),
            Location::Key { .. } | Location::Flag { .. } => (usize::MAX, 0),
        });
        match value {
            Some(value) if problems.is_empty() => Ok((value, self.notes.into_inner())),
            _ => Err(PrescriptionError { problems }),
        }
    }

    /// Line and column (in characters) of a byte, both counted from 1.
    pub(super) fn position(&self, byte: usize) -> (usize, usize) {
        let before = self.text.get(..byte).unwrap_or(self.text);
        let line = before.matches('\n').count() + 1;
        let column = before.chars().rev().take_while(|&c| c != '\n').count() + 1;
        (line, column)
    }

    fn syntax_message(&self, message: &str, line: usize) -> String {
        let message = printable_message(message);
        let code = self
            .text
            .lines()
            .nth(line - 1)
            .unwrap_or_default()
            .split('#')
            .next()
            .unwrap_or_default();
        let value = code
            .split_once('=')
            .map_or("", |(_, value)| value.trim_start());
        let digits = value.trim_start_matches(|c: char| c.is_ascii_digit());
        if digits.len() < value.len() && digits.starts_with(':') {
            return format!("{message} (a duration is written in quotes: \"4:00\")");
        }
        message
    }
}

/// The parser's message may quote the file.
fn printable_message(message: &str) -> String {
    message
        .chars()
        .map(|c| if is_invisible(c) { ' ' } else { c })
        .collect()
}
