//! What `hillwright climbs` hands on route by route, so that nothing grows with their number: lines of JSON and rows of Parquet.

use std::io::{self, BufWriter, ErrorKind, Stdout, Write};
use std::path::{Path, PathBuf};

use super::failure::Failure;
use super::print;
use super::shared_arguments::{AnswerArguments, Format};
use crate::archive::Survey;
use crate::files::{FileError, WholeFile};
use crate::output::climbs::route_document;
use crate::output::document::RouteEntry;
#[cfg(feature = "parquet")]
use crate::output::files::parquet::Rows;

/// Endings of the files that are written so.
pub(super) const ENDINGS: [&str; 2] = ["ndjson", "parquet"];

/// Where routes go as they come.
pub(super) struct Stream {
    printed: Option<Printed>,
    files: Vec<(PathBuf, Sink)>,
}

/// Lines are written as they come: who reads them may be a program that works on each.
struct Printed(BufWriter<Stdout>);

enum Sink {
    Lines(BufWriter<WholeFile>),
    #[cfg(feature = "parquet")]
    Rows(Box<Rows<WholeFile>>),
}

impl Stream {
    /// Begins the files of that kind, and the lines that are printed.
    pub(super) fn open(answer: &AnswerArguments) -> Result<Stream, Failure> {
        let is_printed = answer.format == Format::Ndjson;
        let mut files = Vec::new();
        for path in &answer.output {
            if is_streamed(path) {
                files.push((path.clone(), Sink::open(path)?));
            } else if is_printed {
                return Err(Failure::CommandLine(format!(
                    "--output {}: --format ndjson hands each route on as it is finished, and only .ndjson and .parquet can be written so; \
                     ask for the other files in a run of their own",
                    path.display()
                )));
            }
        }
        let printed = is_printed.then(|| Printed(BufWriter::new(io::stdout())));
        Ok(Stream { printed, files })
    }

    /// Whether all that was asked for is handed on, so that nothing else needs to be kept.
    pub(super) fn is_all(&self) -> bool {
        self.printed.is_some()
    }

    /// Hands a route on; false once nobody is left who reads it.
    pub(super) fn route(&mut self, entry: &RouteEntry, survey: &Survey) -> Result<bool, Failure> {
        if let Some(Printed(out)) = &mut self.printed {
            match line(out, entry).and_then(|()| out.flush()) {
                Err(error) if error.kind() == ErrorKind::BrokenPipe => {
                    self.printed = None;
                    if self.files.is_empty() {
                        return Ok(false);
                    }
                }
                written => written.map_err(Failure::Write)?,
            }
        }
        for (path, sink) in &mut self.files {
            let written = match sink {
                Sink::Lines(file) => line(file, entry),
                #[cfg(feature = "parquet")]
                Sink::Rows(rows) => rows.route(entry, survey.climbs.iter().map(|c| &c.trace)),
            };
            written.map_err(|source| saving(path, FileError::Write(source)))?;
        }
        #[cfg(not(feature = "parquet"))]
        let _ = survey;
        Ok(true)
    }

    /// Gives the files their names.
    pub(super) fn finish(self) -> Result<(), Failure> {
        for (path, sink) in self.files {
            let whole = match sink {
                Sink::Lines(file) => file.into_inner().map_err(io::IntoInnerError::into_error),
                #[cfg(feature = "parquet")]
                Sink::Rows(rows) => rows.finish(),
            };
            let finished = whole.map_err(FileError::Write).and_then(WholeFile::finish);
            finished.map_err(|source| saving(&path, source))?;
        }
        Ok(())
    }
}

impl Sink {
    fn open(path: &Path) -> Result<Sink, Failure> {
        let file = || WholeFile::create(path).map_err(|source| saving(path, source));
        if print::ending(path) == "ndjson" {
            return Ok(Sink::Lines(BufWriter::new(file()?)));
        }
        #[cfg(feature = "parquet")]
        {
            let rows = Rows::new(file()?);
            let rows = rows.map_err(|source| saving(path, FileError::Write(source)))?;
            Ok(Sink::Rows(Box::new(rows)))
        }
        #[cfg(not(feature = "parquet"))]
        Err(Failure::CommandLine(format!(
            "--output {}: this program was built without Parquet; build it with `cargo build --release --features parquet`, \
             or write .ndjson, which the same engines read",
            path.display()
        )))
    }
}

/// Whether a file is written route by route.
pub(super) fn is_streamed(path: &Path) -> bool {
    ENDINGS.contains(&print::ending(path).as_str())
}

fn saving(path: &Path, source: FileError) -> Failure {
    Failure::Save {
        path: path.display().to_string(),
        source,
    }
}

fn line(out: &mut impl Write, entry: &RouteEntry) -> io::Result<()> {
    serde_json::to_writer(&mut *out, &route_document(entry))?;
    out.write_all(b"\n")
}
