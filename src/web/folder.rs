//! The folder that the page was started with: rider and set files in it, to take and to save.

use std::path::{Path, PathBuf};

use super::address::Address;
use super::{filled, order};
use crate::files::{Limits, read_bounded, write_whole};
use crate::prescription::{RiderFile, Set, parse_rider, parse_set};

/// Rider and set files are typed by hand; what is larger is something else.
pub(super) const MOST_TOML_BYTES: u64 = 1 << 20;
/// More files are no list to choose from.
const MOST_FILES: usize = 100;

/// Rider and set files of a folder, by name.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Found {
    /// Rider files.
    pub(super) riders: Vec<(String, RiderFile)>,
    /// Set files.
    pub(super) sets: Vec<(String, Set)>,
}

impl Found {
    /// Looks through a folder, not through those in it; what is neither a rider nor a set file is no concern of the page.
    pub(super) fn in_folder(folder: &Path) -> Found {
        let mut found = Found::default();
        for (name, path) in toml_files(folder) {
            let Ok(bytes) = read_bounded(&path, &Limits::fixed(MOST_TOML_BYTES)) else {
                continue;
            };
            let text = String::from_utf8_lossy(&bytes);
            if let Ok(rider) = parse_rider(&text) {
                found.riders.push((name, rider));
            } else if let Ok(set) = parse_set(&text) {
                found.sets.push((name, set));
            }
        }
        found
    }

    /// The page's address with another rider.
    pub(super) fn with_rider(&self, address: &Address, rider: &RiderFile) -> String {
        format!("/?{}", with_rider(address, rider).query())
    }

    /// The page's address with another set.
    pub(super) fn with_set(&self, address: &Address, set: &Set) -> String {
        format!("/?{}", with_set(address, set).query())
    }
}

/// An address with another rider.
pub(super) fn with_rider(address: &Address, rider: &RiderFile) -> Address {
    let mut changed = address.without(order::is_riders);
    filled::rider(rider, &mut changed);
    changed
}

/// An address with another set, and without wishes about the reps of the old one.
pub(super) fn with_set(address: &Address, set: &Set) -> Address {
    let mut changed = address.without(|key| order::is_sets(key) || key == "keep");
    filled::set(set, &mut changed);
    changed
}

fn toml_files(folder: &Path) -> Vec<(String, PathBuf)> {
    let Ok(entries) = std::fs::read_dir(folder) else {
        return Vec::new();
    };
    let mut files: Vec<(String, PathBuf)> = entries
        .filter_map(Result::ok)
        .map(|entry| entry.path())
        .filter(|path| {
            path.extension()
                .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
        })
        .filter_map(|path| Some((path.file_name()?.to_str()?.to_owned(), path)))
        .collect();
    files.sort();
    files.truncate(MOST_FILES);
    files
}

/// Saves a rider or set file in the folder.
///
/// A file that is there already is only replaced by one of its own kind.
///
/// # Errors
/// The name is none for a file of the folder, something else has it, or the system refuses.
pub(super) fn save(folder: &Path, name: &str, text: &str) -> Result<(), String> {
    let plain = |c: char| c.is_alphanumeric() || "-_. ".contains(c);
    let stem = name.strip_suffix(".toml").unwrap_or("");
    if stem.trim().is_empty()
        || stem.starts_with('.')
        || name.len() > 100
        || !name.chars().all(plain)
    {
        return Err(format!(
            "`{}` is no name for a file here; use letters, digits, - and _, and end it in .toml",
            name.chars().take(40).collect::<String>()
        ));
    }
    let path = folder.join(name);
    let is_rider = parse_rider(text).is_ok();
    if path.exists() {
        let found = Found::in_folder(folder);
        let same_kind = if is_rider {
            found.riders.iter().any(|(n, _)| n == name)
        } else {
            found.sets.iter().any(|(n, _)| n == name)
        };
        if !same_kind {
            return Err(format!(
                "{name} is in the folder already and is something else; choose another name"
            ));
        }
    }
    write_whole(&path, text.as_bytes()).map_err(|error| format!("{name}: {error}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::prescription::{EXAMPLE_RIDER, EXAMPLE_SET};

    #[test]
    fn riders_and_sets_of_a_folder_are_told_apart_and_others_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        for (name, text) in [
            ("anna.toml", EXAMPLE_RIDER),
            ("six.toml", EXAMPLE_SET),
            ("other.toml", "a = 1"),
            ("rider.txt", EXAMPLE_RIDER),
        ] {
            std::fs::write(folder.path().join(name), text).unwrap();
        }
        let found = Found::in_folder(folder.path());
        let names = |list: Vec<&String>| list.into_iter().cloned().collect::<Vec<_>>();
        assert_eq!(
            names(found.riders.iter().map(|r| &r.0).collect()),
            ["anna.toml"]
        );
        assert_eq!(
            names(found.sets.iter().map(|s| &s.0).collect()),
            ["six.toml"]
        );
    }

    #[test]
    fn nothing_is_written_outside_the_folder_or_over_something_else() {
        let folder = tempfile::tempdir().unwrap();
        let inside = folder.path().join("inside");
        std::fs::create_dir(&inside).unwrap();
        std::fs::write(inside.join("other.toml"), "a = 1").unwrap();
        for name in [
            "../x.toml",
            "a/b.toml",
            "a\\b.toml",
            ".toml",
            "..toml",
            "x.gpx",
            "",
            "other.toml",
            "a\0.toml",
        ] {
            assert!(save(&inside, name, EXAMPLE_RIDER).is_err(), "{name}");
        }
        save(&inside, "anna.toml", EXAMPLE_RIDER).unwrap();
        save(&inside, "anna.toml", EXAMPLE_RIDER).unwrap();
        assert!(save(&inside, "anna.toml", EXAMPLE_SET).is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
