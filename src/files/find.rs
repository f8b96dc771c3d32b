//! The files in a folder that may be routes.

use super::FileError;
use std::collections::HashSet;
use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

/// Endings of the formats that can be read, each also with `.gz` behind it.
const ENDINGS: [&str; 5] = [".gpx", ".kml", ".geojson", ".json", ".xml"];

/// What a folder holds.
#[derive(Debug, Default)]
pub struct Found {
    /// Files whose names end as those of routes do, sorted.
    pub files: Vec<PathBuf>,
    /// Why folders within it, or what is in them, could not be looked at.
    pub passed_over: Vec<FileError>,
}

/// All files below a folder whose names end as those of routes do.
///
/// Links are followed, each folder is visited once however many links lead to it, and what starts with a dot is passed
/// over. Whether a file is a route is only known once it is read.
///
/// # Errors
/// The folder itself can't be listed.
pub fn find_routes(folder: &Path) -> Result<Found, FileError> {
    let mut found = Found::default();
    let mut visited = HashSet::new();
    let mut waiting = Vec::new();
    look_into(folder, &mut visited, &mut waiting, &mut found)?;
    while let Some(folder) = waiting.pop() {
        let looked = look_into(&folder, &mut visited, &mut waiting, &mut found);
        found.passed_over.extend(looked.err());
    }
    found.files.sort();
    Ok(found)
}

fn look_into(
    folder: &Path,
    visited: &mut HashSet<PathBuf>,
    waiting: &mut Vec<PathBuf>,
    found: &mut Found,
) -> Result<(), FileError> {
    let unlistable = |source| FileError::Folder {
        folder: folder.to_path_buf(),
        source,
    };
    if !visited.insert(fs::canonicalize(folder).map_err(unlistable)?) {
        return Ok(());
    }
    for entry in fs::read_dir(folder).map_err(unlistable)? {
        let path = entry.map_err(unlistable)?.path();
        if is_hidden(&path) {
            continue;
        }
        match fs::metadata(&path) {
            Ok(about) if about.is_dir() => waiting.push(path),
            Ok(about) if about.is_file() && ends_like_a_route(&path) => found.files.push(path),
            Ok(_) => {}
            // A link that leads nowhere is no file.
            Err(source) if source.kind() == ErrorKind::NotFound => {}
            Err(source) => found.passed_over.push(FileError::Unseen { path, source }),
        }
    }
    // The last folder is taken first; sorted, the shortest way to a folder linked twice is the same on every run.
    waiting.sort_by(|a, b| b.cmp(a));
    Ok(())
}

fn is_hidden(path: &Path) -> bool {
    path.file_name()
        .is_some_and(|name| name.as_encoded_bytes().starts_with(b"."))
}

fn ends_like_a_route(path: &Path) -> bool {
    let Some(name) = path.file_name() else {
        return false;
    };
    let name = name.to_string_lossy().to_ascii_lowercase();
    let name = name.strip_suffix(".gz").unwrap_or(&name);
    ENDINGS.iter().any(|ending| name.ends_with(ending))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn touch(folder: &Path, name: &str) {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, "").unwrap();
    }

    fn found(folder: &Path) -> Vec<String> {
        let short = |path: PathBuf| {
            path.strip_prefix(folder)
                .unwrap()
                .to_string_lossy()
                .into_owned()
        };
        let found = find_routes(folder).unwrap();
        assert!(found.passed_over.is_empty(), "{:?}", found.passed_over);
        found.files.into_iter().map(short).collect()
    }

    #[test]
    fn routes_are_found_by_their_endings_in_any_case_and_sorted() {
        let folder = tempfile::tempdir().unwrap();
        for name in [
            "b.GPX",
            "a/x.kml.gz",
            "c.GeoJSON",
            "d.json",
            "notes.txt",
            "photo.jpg",
            "e.xml",
            ".hidden.gpx",
            ".git/f.gpx",
        ] {
            touch(folder.path(), name);
        }
        assert_eq!(
            found(folder.path()),
            ["a/x.kml.gz", "b.GPX", "c.GeoJSON", "d.json", "e.xml"]
        );
    }

    #[cfg(unix)]
    #[test]
    fn links_in_a_circle_and_links_to_nowhere_do_no_harm() {
        use std::os::unix::fs::symlink;
        let folder = tempfile::tempdir().unwrap();
        touch(folder.path(), "a/x.gpx");
        symlink(folder.path(), folder.path().join("a/again")).unwrap();
        symlink("nowhere", folder.path().join("lost.gpx")).unwrap();
        assert_eq!(found(folder.path()), ["a/x.gpx"]);
    }

    #[cfg(unix)]
    #[test]
    fn what_can_not_be_looked_at_is_told_and_stops_nothing_else() {
        let folder = tempfile::tempdir().unwrap();
        touch(folder.path(), "a.gpx");
        let circle = folder.path().join("b.gpx");
        std::os::unix::fs::symlink(&circle, &circle).unwrap();
        let found = find_routes(folder.path()).unwrap();
        assert_eq!(found.files, [folder.path().join("a.gpx")]);
        let told: Vec<String> = found.passed_over.iter().map(|e| e.to_string()).collect();
        assert_eq!(told.len(), 1);
        assert!(told[0].contains("b.gpx can't be looked at"), "{told:?}");
    }

    #[test]
    fn a_folder_that_is_not_there_is_named() {
        let error = find_routes(Path::new("/no/such/folder"))
            .unwrap_err()
            .to_string();
        assert!(error.contains("/no/such/folder"), "{error}");
    }
}
