//! A file is written beside its place, then moved there in one step.

use super::FileError;
use std::ffi::{OsStr, OsString};
use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};

/// How many files that other runs left under this one's names are passed over.
const MOST_LEFT: u32 = 10_000;

/// Writes a whole file, or leaves what was there as it was.
///
/// The bytes go to a hidden file in the same folder, are flushed to the disk, and take the name in one step. A link is
/// followed and the file behind it replaced, with its permissions kept. What is no plain file (a pipe, a device) is
/// written to directly.
pub fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    put(path, bytes, Flush::ToDisk)
}

/// The same for what can be made again: nothing waits for the disk, so after a power cut the file may be there and not whole.
/// Whoever reads it must be able to tell.
pub fn replace(path: &Path, bytes: &[u8]) -> Result<(), FileError> {
    put(path, bytes, Flush::WhenTheSystemLikes)
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Flush {
    ToDisk,
    WhenTheSystemLikes,
}

fn put(path: &Path, bytes: &[u8], flush: Flush) -> Result<(), FileError> {
    let (target, about) = match fs::metadata(path) {
        Ok(about) if about.is_dir() => return Err(FileError::IsFolder),
        Ok(about) if !about.is_file() => {
            return write_directly(path, bytes).map_err(FileError::Write);
        }
        Ok(about) => (
            fs::canonicalize(path).map_err(FileError::Write)?,
            Some(about),
        ),
        Err(_) => (path.to_path_buf(), None),
    };
    let name = target.file_name().ok_or(FileError::NoName)?;
    let (beside, mut file) = new_beside(&target, name).map_err(FileError::Write)?;
    let written = write_all(&mut file, bytes, flush)
        .and_then(|()| {
            about.map_or(Ok(()), |about| {
                fs::set_permissions(&beside, about.permissions())
            })
        })
        .and_then(|()| fs::rename(&beside, &target));
    if let Err(error) = written {
        // The first error is the one to tell.
        let _ = fs::remove_file(&beside);
        return Err(FileError::Write(error));
    }
    if flush == Flush::ToDisk {
        flush_folder(&target);
    }
    Ok(())
}

fn write_directly(path: &Path, bytes: &[u8]) -> io::Result<()> {
    OpenOptions::new().write(true).open(path)?.write_all(bytes)
}

fn write_all(file: &mut File, bytes: &[u8], flush: Flush) -> io::Result<()> {
    file.write_all(bytes)?;
    match flush {
        Flush::ToDisk => file.sync_all(),
        Flush::WhenTheSystemLikes => Ok(()),
    }
}

/// A new file in the same folder under a name that no other write uses. A process that was killed may have left one under the name
/// of this one, which has its number again: where each run has its own numbers, as in a container, that is the rule.
fn new_beside(target: &Path, name: &OsStr) -> io::Result<(PathBuf, File)> {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    for _ in 0..MOST_LEFT {
        let mut hidden = OsString::from(".");
        hidden.push(name);
        hidden.push(format!(
            ".{}-{}.part",
            std::process::id(),
            COUNT.fetch_add(1, Ordering::Relaxed)
        ));
        let path = target.with_file_name(hidden);
        match OpenOptions::new().write(true).create_new(true).open(&path) {
            Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
            opened => return opened.map(|file| (path, file)),
        }
    }
    let left = format!("{MOST_LEFT} files of runs that were stopped are beside it; remove .*.part");
    Err(io::Error::new(io::ErrorKind::AlreadyExists, left))
}

/// So that the new name outlives a power cut. Not every system lets a folder be opened; the file itself is safe by now.
fn flush_folder(target: &Path) {
    let folder = match target.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    if let Ok(folder) = File::open(folder) {
        let _ = folder.sync_all();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect()
    }

    #[test]
    fn a_file_is_made_and_then_replaced_with_nothing_left_beside_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("plan.json");
        write_whole(&path, b"one").unwrap();
        write_whole(&path, b"two").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"two");
        assert_eq!(names(folder.path()), ["plan.json"]);
    }

    #[test]
    fn a_failed_write_leaves_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let missing = folder.path().join("no-such-folder").join("plan.json");
        assert!(matches!(
            write_whole(&missing, b"x"),
            Err(FileError::Write(_))
        ));
        assert!(matches!(
            write_whole(folder.path(), b"x"),
            Err(FileError::IsFolder)
        ));
        assert!(names(folder.path()).is_empty());
    }

    #[test]
    fn what_a_killed_process_of_the_same_number_left_is_passed_over() {
        let folder = tempfile::tempdir().unwrap();
        for count in 0..2000 {
            let left = format!(".plan.json.{}-{count}.part", std::process::id());
            fs::write(folder.path().join(left), "half").unwrap();
        }
        let path = folder.path().join("plan.json");
        write_whole(&path, b"whole").unwrap();
        assert_eq!(fs::read(&path).unwrap(), b"whole");
        assert_eq!(names(folder.path()).len(), 2001);
    }

    #[cfg(unix)]
    #[test]
    fn a_link_stays_a_link_and_permissions_stay() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        fs::write(&real, b"old").unwrap();
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        std::os::unix::fs::symlink(&real, &link).unwrap();
        write_whole(&link, b"new").unwrap();
        assert_eq!(fs::read(&real).unwrap(), b"new");
        assert!(fs::symlink_metadata(&link).unwrap().is_symlink());
        assert_eq!(
            fs::metadata(&real).unwrap().permissions().mode() & 0o777,
            0o640
        );
    }
}
