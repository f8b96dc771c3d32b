//! Bytes in within bounds, files out whole or not at all.
//!
//! Nothing here knows what a route is: [`read_bounded`] and [`read_stdin_bounded`] hand over bytes (inflated where they
//! were gzip), [`write_whole`] leaves either the whole new file or the old one ([`replace`] without waiting for the disk, [`outlive_size_limit`] where the system sets a limit), and [`find_routes`] lists the files in a
//! folder whose names end as those of routes do.

mod find;
mod limit;
mod read;
mod strangers;
mod write;

pub use find::{Found, find_routes};
pub use limit::outlive_size_limit;
pub use read::{Limits, read_bounded, read_stdin_bounded, unpack_bounded};
pub use strangers::is_invisible;
pub use write::{WholeFile, replace, write_whole};

use std::path::PathBuf;

/// Why a file could not be read, written or found. The path is added by who prints it, save where it is another one.
#[derive(Debug, thiserror::Error)]
pub enum FileError {
    /// The system refused to open or read it.
    #[error("it can't be read: {0}")]
    Read(#[source] std::io::Error),
    /// A folder where a file was expected.
    #[error("it is a folder, and a file was expected")]
    IsFolder,
    /// More bytes than the limit.
    #[error("it is larger than {}, the most that is read; {}", size(*.limit_bytes), what_to_do(*.is_raisable))]
    TooLarge {
        /// The limit that was passed, in bytes.
        limit_bytes: u64,
        /// As in [`Limits`].
        is_raisable: bool,
    },
    /// More bytes than the limit after inflating.
    #[error("it inflates to more than {}, the most that is read; {}", size(*.limit_bytes), what_to_do(*.is_raisable))]
    InflatesTooLarge {
        /// The limit that was passed, in bytes.
        limit_bytes: u64,
        /// As in [`Limits`].
        is_raisable: bool,
    },
    /// A gzip file that is damaged or cut short.
    #[error("it is a gzip file that is damaged or cut short ({0}); compress or copy it again")]
    Damaged(#[source] std::io::Error),
    /// The system refused to write it.
    #[error("it can't be written: {0}")]
    Write(#[source] std::io::Error),
    /// A path that names no file, such as `/`.
    #[error("it names no file to write to")]
    NoName,
    /// A folder that can't be listed.
    #[error("the folder {} can't be listed: {source}", .folder.display())]
    Folder {
        /// The folder, which may lie inside the one asked for.
        folder: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
    /// Something in a folder of which not even the kind can be told.
    #[error("{} can't be looked at: {source}", .path.display())]
    Unseen {
        /// What it is called.
        path: PathBuf,
        /// What the system said.
        source: std::io::Error,
    },
}

fn what_to_do(is_raisable: bool) -> &'static str {
    match is_raisable {
        true => "split it, or raise the limit (--max-input)",
        false => "is it the right file?",
    }
}

fn size(bytes: u64) -> String {
    const STEPS: [(u64, &str); 3] = [(1 << 30, "GiB"), (1 << 20, "MiB"), (1 << 10, "KiB")];
    for (unit, name) in STEPS {
        if bytes >= unit {
            let text = format!("{:.1}", bytes as f64 / unit as f64);
            return format!("{} {name}", text.trim_end_matches(".0"));
        }
    }
    format!("{bytes} bytes")
}

#[cfg(test)]
mod tests {
    use super::size;

    #[test]
    fn sizes_are_told_in_the_largest_unit_that_fits() {
        assert_eq!(size(2 << 30), "2 GiB");
        assert_eq!(size(1536), "1.5 KiB");
        assert_eq!(size(100), "100 bytes");
    }
}
