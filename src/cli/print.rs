//! Answers to standard output, everything else to standard error.

use std::io::{ErrorKind, Write};
use std::path::Path;

use anstyle::{AnsiColor, Style};
use serde::Serialize;

use super::climbs_stream;
use super::failure::Failure;
use super::shared_arguments::{AnswerArguments, Format, UnitsName};
use crate::files::write_whole;
use crate::output::{Paper, Units, ascii};

/// Columns of a page where no terminal says how wide it is.
const DEFAULT_WIDTH: u16 = 100;

/// Prints an answer. A reader that has seen enough (`| head`) is no failure.
pub(super) fn out(text: &str) -> Result<(), Failure> {
    write(anstream::stdout().lock(), text)
}

fn write(mut stdout: impl Write, text: &str) -> Result<(), Failure> {
    let written = stdout.write_all(text.as_bytes());
    match written.and_then(|()| stdout.flush()) {
        Err(error) if error.kind() != ErrorKind::BrokenPipe => Err(Failure::Write(error)),
        _ => Ok(()),
    }
}

/// A form of an answer besides text and JSON: the ending that names it, and how it is made.
pub(super) type Form<'a> = (&'static str, &'a dyn Fn() -> Result<String, Failure>);

/// Prints a document and writes its files as they were asked for; nothing is written before all of them are made.
pub(super) fn answer<D: Serialize>(
    document: &D,
    arguments: &AnswerArguments,
    text: &dyn Fn(&Paper) -> String,
    more: &[Form],
) -> Result<(), Failure> {
    let made = |ending: &str| match more.iter().find(|(name, _)| *name == ending) {
        Some((_, make)) => make(),
        None => json(document),
    };
    let files: Vec<(&Path, String)> = arguments
        .output
        .iter()
        .filter(|path| !climbs_stream::is_streamed(path))
        .map(|path| Ok((path.as_path(), made(&ending(path))?)))
        .collect::<Result<_, Failure>>()?;
    let printed = match arguments.format {
        Format::Text => {
            let paper = paper(arguments);
            let text = text(&paper);
            if paper.ascii { ascii(&text) } else { text }
        }
        other => made(other.ending())?,
    };
    for (path, content) in files {
        write_whole(path, content.as_bytes()).map_err(|source| Failure::Save {
            path: path.display().to_string(),
            source,
        })?;
    }
    match arguments.format {
        Format::Text => out(&printed),
        // Megabytes need no looking through for colours: there are none.
        _ => write(std::io::stdout().lock(), &printed),
    }
}

fn json<D: Serialize>(document: &D) -> Result<String, Failure> {
    let text = serde_json::to_string_pretty(document).map_err(|e| Failure::Write(e.into()))?;
    Ok(text + "\n")
}

/// What a file's name ends with, in lower case.
pub(super) fn ending(path: &Path) -> String {
    let ending = path.extension().and_then(|e| e.to_str()).unwrap_or("");
    ending.to_ascii_lowercase()
}

/// Checks, before any work, that the command knows the form of everything that it is to write or to print.
pub(super) fn check_endings(arguments: &AnswerArguments, more: &[&str]) -> Result<(), Failure> {
    let known = || std::iter::once("json").chain(more.iter().copied());
    let format = arguments.format.ending();
    if arguments.format != Format::Text && !known().any(|k| k == format) {
        return Err(Failure::CommandLine(format!(
            "--format {format}: this command prints text, json{}",
            ["csv", "geojson", "ndjson"]
                .into_iter()
                .filter(|f| more.contains(f))
                .map(|f| format!(", {f}"))
                .collect::<String>()
        )));
    }
    for path in &arguments.output {
        let ending = ending(path);
        if !known().any(|k| k == ending) {
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

/// How wide text may be, and in which units.
pub(super) fn paper(arguments: &AnswerArguments) -> Paper {
    let from_variable = std::env::var("COLUMNS").ok().and_then(|c| c.parse().ok());
    let width = from_variable
        .or_else(|| terminal_size::terminal_size().map(|(w, _)| w.0))
        .unwrap_or(DEFAULT_WIDTH)
        .clamp(60, 200);
    let units = match arguments.units {
        UnitsName::Metric => Units::Metric,
        UnitsName::Imperial => Units::Imperial,
    };
    Paper {
        width,
        units,
        ascii: arguments.ascii || locale_is_not_utf8(|name| std::env::var(name).ok()),
    }
}

/// Whether the locale names an encoding other than UTF-8 (POSIX.1-2017, 8.2: the first of these that is set and not empty counts).
/// Where none is set, nothing is asked.
fn locale_is_not_utf8(variable: impl Fn(&str) -> Option<String>) -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"]
        .into_iter()
        .filter_map(variable)
        .find(|value| !value.is_empty());
    let Some(locale) = locale else { return false };
    match locale.split_once('.') {
        Some((_, encoding)) => {
            let encoding = encoding.split('@').next().unwrap_or("");
            !["utf-8", "utf8"].contains(&encoding.to_ascii_lowercase().as_str())
        }
        None => matches!(locale.as_str(), "C" | "POSIX"),
    }
}

#[cfg(test)]
mod tests {
    use super::locale_is_not_utf8;

    #[test]
    fn the_first_locale_that_is_set_says_the_encoding() {
        let told = |pairs: &[(&str, &str)]| {
            let found = |name: &str| pairs.iter().find(|p| p.0 == name).map(|p| p.1.to_owned());
            locale_is_not_utf8(found)
        };
        assert!(!told(&[]));
        assert!(!told(&[("LANG", "de_AT.UTF-8")]));
        assert!(!told(&[("LANG", "en_GB.utf8@euro")]));
        assert!(told(&[("LC_ALL", "C"), ("LANG", "en_GB.UTF-8")]));
        assert!(!told(&[("LC_ALL", ""), ("LANG", "C.UTF-8")]));
        assert!(told(&[("LC_CTYPE", "de_DE.ISO-8859-1")]));
    }
}
