//! Answers to standard output, everything else to standard error.

use std::io::{ErrorKind, Write};
use std::path::Path;

use anstyle::{AnsiColor, Style};
use serde::Serialize;

use super::arguments::{AnswerArguments, Format, UnitsName};
use super::failure::Failure;
use crate::files::write_whole;
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

/// A file format of a document: the ending that names it, and how it is made.
pub(super) type SavedAs<D> = (&'static str, fn(&D) -> Result<String, Failure>);

/// Prints a document and writes its files as they were asked for.
pub(super) fn answer<D: Serialize>(
    document: &D,
    arguments: &AnswerArguments,
    text: fn(&D, &Paper) -> String,
    more: &[SavedAs<D>],
) -> Result<(), Failure> {
    let mut known: Vec<SavedAs<D>> = vec![("json", json)];
    known.extend_from_slice(more);
    for path in &arguments.output {
        save(document, path, &known)?;
    }
    match arguments.format {
        Format::Text => out(&text(document, &paper(arguments))),
        Format::Json => out(&json(document)?),
    }
}

fn json<D: Serialize>(document: &D) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(document).map_err(|e| Failure::Write(e.into()))?;
    Ok(text + "\n")
}

/// Checks, before any work, that every file to be written has an ending that the command knows.
pub(super) fn check_endings(arguments: &AnswerArguments, more: &[&str]) -> Result<(), Failure> {
    let known = || std::iter::once("json").chain(more.iter().copied());
    for path in &arguments.output {
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("");
        if !known().any(|k| k.eq_ignore_ascii_case(ending)) {
            let listed: Vec<String> = known().map(|k| format!(".{k}")).collect();
            return Err(Failure::CommandLine(format!(
                "--output {}: this command writes {}",
                path.display(),
                listed.join(", ")
            )));
        }
    }
    Ok(())
}

fn save<D>(document: &D, path: &Path, known: &[SavedAs<D>]) -> Result<(), Failure> {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("");
    let Some((_, make)) = known
        .iter()
        .find(|(name, _)| name.eq_ignore_ascii_case(ending))
    else {
        return Ok(());
    };
    write_whole(path, make(document)?.as_bytes()).map_err(|source| Failure::Save {
        path: path.display().to_string(),
        source,
    })
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
