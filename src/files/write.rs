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

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Flush {
    ToDisk,
    WhenTheSystemLikes,
}

fn put(path: &Path, bytes: &[u8], flush: Flush) -> Result<(), FileError> {
    let mut file = WholeFile::begin(path, flush)?;
    file.write_all(bytes).map_err(FileError::Write)?;
    file.finish()
}

/// A file written bit by bit that appears whole or not at all, as [`write_whole`] does: until [`WholeFile::finish`] the name is what it was.
///
/// ```
/// use std::io::Write;
/// # let folder = std::env::temp_dir().join(format!("hillwright-whole-file-{}", std::process::id()));
/// # std::fs::create_dir_all(&folder)?;
/// let path = folder.join("rows.txt");
/// let mut file = hillwright::files::WholeFile::create(&path)?;
/// writeln!(file, "one row")?;
/// assert!(!path.exists());
/// file.finish()?;
/// assert_eq!(std::fs::read(&path)?, b"one row\n");
/// # std::fs::remove_dir_all(&folder)?;
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
#[derive(Debug)]
pub struct WholeFile {
    file: File,
    /// Where it is written, and where it goes; none where it is a pipe or a device.
    beside: Option<(PathBuf, PathBuf)>,
    permissions: Option<fs::Permissions>,
    flush: Flush,
}

impl WholeFile {
    /// Begins a file that will have this name.
    ///
    /// # Errors
    /// Where the name is a folder's, or the system lets nothing be written there.
    pub fn create(path: &Path) -> Result<WholeFile, FileError> {
        WholeFile::begin(path, Flush::ToDisk)
    }

    fn begin(path: &Path, flush: Flush) -> Result<WholeFile, FileError> {
        let about = fs::metadata(path).ok();
        let whole = |file, beside| WholeFile {
            file,
            beside,
            permissions: about.as_ref().map(fs::Metadata::permissions),
            flush,
        };
        let target = match &about {
            Some(about) if about.is_dir() => return Err(FileError::IsFolder),
            Some(about) if !about.is_file() => {
                let file = OpenOptions::new().write(true).open(path);
                return Ok(whole(file.map_err(FileError::Write)?, None));
            }
            Some(_) => fs::canonicalize(path).map_err(FileError::Write)?,
            None => path.to_path_buf(),
        };
        let name = target.file_name().ok_or(FileError::NoName)?;
        let (beside, file) = new_beside(&target, name).map_err(FileError::Write)?;
        Ok(whole(file, Some((beside, target))))
    }

    /// Gives it its name.
    ///
    /// # Errors
    /// What the system says; then the name is what it was.
    pub fn finish(mut self) -> Result<(), FileError> {
        let Some((beside, target)) = &self.beside else {
            return Ok(());
        };
        let moved = self
            .flushed()
            .and_then(|()| match &self.permissions {
                Some(permissions) => fs::set_permissions(beside, permissions.clone()),
                None => Ok(()),
            })
            .and_then(|()| fs::rename(beside, target));
        // What failed is removed when this is dropped.
        moved.map_err(FileError::Write)?;
        if self.flush == Flush::ToDisk {
            flush_folder(target);
        }
        self.beside = None;
        Ok(())
    }

    fn flushed(&self) -> io::Result<()> {
        match self.flush {
            Flush::ToDisk => self.file.sync_all(),
            Flush::WhenTheSystemLikes => Ok(()),
        }
    }
}

impl Write for WholeFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Drop for WholeFile {
    fn drop(&mut self) {
        if let Some((beside, _)) = &self.beside {
            // The error that led here is the one to tell.
            let _ = fs::remove_file(beside);
        }
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

    #[test]
    fn a_file_that_is_not_finished_leaves_what_was_there() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("climbs.ndjson");
        write_whole(&path, b"old").unwrap();
        let mut half = WholeFile::create(&path).unwrap();
        half.write_all(b"half").unwrap();
        drop(half);
        assert_eq!(fs::read(&path).unwrap(), b"old");
        assert_eq!(names(folder.path()), ["climbs.ndjson"]);
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
