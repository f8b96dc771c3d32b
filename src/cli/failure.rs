//! What went wrong, in a sentence, and the exit status that tells it to scripts.

use std::path::PathBuf;

use crate::files::FileError;
use crate::matching::{DemandError, WishError};
use crate::prescription::PrescriptionError;
use crate::review::fit::rider_text::RiderTextError;
use crate::review::plan_file::PlanFileError;
use crate::terrain::TerrainError;
use crate::web::ServeError;

/// Why a command has nothing to say.
#[derive(Debug, thiserror::Error)]
pub(super) enum Failure {
    /// A flag's value can't be used.
    #[error("{0}")]
    CommandLine(String),
    /// A rider or set file can't be used.
    #[error("{path}: {source}")]
    Prescription {
        path: String,
        source: PrescriptionError,
    },
    /// A set can't be matched.
    #[error("{path}: {source}")]
    Demand { path: String, source: DemandError },
    /// A climb or a rep that is named on the command line isn't there.
    #[error("{source_name}: {wish}")]
    Wish {
        source_name: String,
        wish: WishError,
    },
    /// A plan can't be held against anything.
    #[error("{path}: {source}")]
    Plan { path: String, source: PlanFileError },
    /// The rider file can't be made over.
    #[error("{path}: {source}")]
    RiderText {
        path: String,
        source: RiderTextError,
    },
    /// A file can't be read.
    #[error("{path}: {source}")]
    File { path: String, source: FileError },
    /// The folder of the tiles can't be used.
    #[error("{0}")]
    Tiles(TerrainError),
    /// No route could be used; each one's reason has been told.
    #[error("no usable route among {0}")]
    NoRoute(String),
    /// A file that was asked for could not be written.
    #[error("{path}: {source}")]
    Save { path: String, source: FileError },
    /// The cache could not be cleared.
    #[error("{folder}: what is kept there can't be removed: {source}")]
    Cache {
        folder: String,
        source: std::io::Error,
    },
    /// The system starts no threads.
    #[error(
        "no more threads can be started: {0}; end other programs, or raise the limit on processes"
    )]
    Threads(String),
    /// The page can't be served.
    #[error("{0}")]
    Serve(#[from] ServeError),
    /// The answer could not be written.
    #[error("the answer could not be written: {0}")]
    Write(std::io::Error),
}

impl Failure {
    /// Nothing that was named could be used.
    pub(super) fn no_route(named: &[PathBuf]) -> Failure {
        let named: Vec<String> = named.iter().map(|n| n.display().to_string()).collect();
        Failure::NoRoute(named.join(", "))
    }

    pub(super) fn status(&self) -> u8 {
        match self {
            Failure::CommandLine(_) | Failure::Wish { .. } => 2,
            Failure::Prescription { .. }
            | Failure::Demand { .. }
            | Failure::Plan { .. }
            | Failure::RiderText { .. }
            | Failure::File { .. }
            | Failure::Tiles(_)
            | Failure::NoRoute(_) => 3,
            Failure::Save { .. }
            | Failure::Cache { .. }
            | Failure::Threads(_)
            | Failure::Serve(_)
            | Failure::Write(_) => 4,
        }
    }
}
