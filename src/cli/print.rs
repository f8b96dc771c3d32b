//! Answers to standard output, everything else to standard error.

use std::io::{ErrorKind, Write};

use anstyle::{AnsiColor, Style};
use serde::Serialize;

use super::arguments::{AnswerArguments, Format, UnitsName};
use super::failure::Failure;
use crate::output::{Paper, Units};

/// Columns of a page where no terminal says how wide it is.
const DEFAULT_WIDTH: u16 = 100;

/// Prints an answer. A reader that has seen enough (`| head`) is no failure.
pub(super) fn out(text: &str) -> Result<(), Failure> {
    let mut stdout = anstream::stdout().lock();
    match stdout
        .write_all(text.as_bytes())
        .and_then(|()| stdout.flush())
    {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Write(error)),
        _ => Ok(()),
    }
}

/// Prints a document as it was asked for.
pub(super) fn answer<D: Serialize>(
    document: &D,
    arguments: &AnswerArguments,
    text: fn(&D, &Paper) -> String,
) -> Result<(), Failure> {
    match arguments.format {
        Format::Text => out(&text(document, &paper(arguments))),
        Format::Json => {
            let json =
                serde_json::to_string_pretty(document).map_err(|e| Failure::Write(e.into()))?;
            out(&(json + "\n"))
        }
    }
}

/// Tells what went wrong.
pub(super) fn error(message: &str) {
    note("error", AnsiColor::Red, message);
}

/// Tells what the user should know besides the answer.
pub(super) fn warning(message: &str) {
    note("note", AnsiColor::Yellow, message);
}

fn note(word: &str, color: AnsiColor, message: &str) {
    let style = Style::new().bold().fg_color(Some(color.into()));
    let _ = writeln!(
        anstream::stderr().lock(),
        "{style}{word}:{style:#} {message}"
    );
}

fn paper(arguments: &AnswerArguments) -> Paper {
    let from_variable = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
    let width = from_variable
        .or_else(|| terminal_size::terminal_size().map(|(w, _)| w.0))
        .unwrap_or(DEFAULT_WIDTH)
        .clamp(60, 200);
    let units = match arguments.units {
        UnitsName::Metric => Units::Metric,
        UnitsName::Imperial => Units::Imperial,
    };
    Paper { width, units }
}
