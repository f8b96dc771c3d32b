//! The files in a folder that may be routes.

use super::FileError;
use std::collections::HashSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Endings of the formats that can be read, each also with `.gz` behind it.
const ENDINGS: [&str; 5] = [".gpx", ".kml", ".geojson", ".json", ".xml"];

/// All files below a folder whose names end as those of routes do, sorted.
///
/// Links are followed, each folder is visited once however many links lead to it, and what starts with a dot is passed
/// over. Whether a file is a route is only known once it is read.
pub fn find_routes(folder: &Path) -> Result<Vec<PathBuf>, FileError> {
    let mut found = Vec::new();
    let mut visited = HashSet::new();
    let mut waiting = vec![folder.to_path_buf()];
    while let Some(folder) = waiting.pop() {
        let unlistable = |source| FileError::Folder {
            folder: folder.clone(),
            source,
        };
        if !visited.insert(fs::canonicalize(&folder).map_err(unlistable)?) {
            continue;
        }
        for entry in fs::read_dir(&folder).map_err(unlistable)? {
            let path = entry.map_err(unlistable)?.path();
            if is_hidden(&path) {
                continue;
            }
            // A link that leads nowhere is no file.
            let Ok(about) = fs::metadata(&path) else {
                continue;
            };
            if about.is_dir() {
                waiting.push(path);
            } else if about.is_file() && ends_like_a_route(&path) {
                found.push(path);
            }
        }
        // The last folder is taken first; sorted, the shortest way to a folder linked twice is the same on every run.
        waiting.sort_by(|a, b| b.cmp(a));
    }
    found.sort();
    Ok(found)
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
        find_routes(folder)
            .unwrap()
            .into_iter()
            .map(short)
            .collect()
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

    #[test]
    fn a_folder_that_is_not_there_is_named() {
        let error = find_routes(Path::new("/no/such/folder"))
            .unwrap_err()
            .to_string();
        assert!(error.contains("/no/such/folder"), "{error}");
    }
}
