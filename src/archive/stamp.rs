//! What the system says of a file without opening it.

use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::fs::{self, Metadata};
use std::path::Path;
use std::time::{Duration, SystemTime};

use super::key::Key;

/// A file that was changed later than this before it was looked at could change again without its times showing it: the coarsest
/// clock of a file system in use ticks every two seconds.
const SETTLED: Duration = Duration::from_secs(3);

/// Size, times and place on the disk: a file that has all of them as before is taken for unchanged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Stamp {
    bytes: u64,
    /// Seconds and nanoseconds of the last change of the content.
    modified: (u64, u32),
    /// The same of the last change of content or owner, which no program can set back; 0 where the system keeps none.
    changed: (i64, i64),
    /// Device and number of the file on it; 0 where the system has none.
    file: (u64, u64),
}

impl Stamp {
    /// The stamp of a file, unless it was changed just now.
    pub(super) fn settled(path: &Path) -> Option<Stamp> {
        let about = fs::metadata(path).ok()?;
        let modified = about.modified().ok()?;
        let age = SystemTime::now().duration_since(modified).ok()?;
        if age < SETTLED {
            return None;
        }
        let since = modified.duration_since(SystemTime::UNIX_EPOCH).ok()?;
        let (changed, file) = system(&about);
        Some(Stamp {
            bytes: about.len(),
            modified: (since.as_secs(), since.subsec_nanos()),
            changed,
            file,
        })
    }
}

#[cfg(unix)]
fn system(about: &Metadata) -> ((i64, i64), (u64, u64)) {
    use std::os::unix::fs::MetadataExt;
    (
        (about.ctime(), about.ctime_nsec()),
        (about.dev(), about.ino()),
    )
}

#[cfg(not(unix))]
fn system(_: &Metadata) -> ((i64, i64), (u64, u64)) {
    ((0, 0), (0, 0))
}

/// The content of files by path and stamp.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Stamps(pub(super) HashMap<Key, (Stamp, Key)>);

impl Stamps {
    /// The content of a file that has not changed since it was read.
    pub(super) fn content(&self, path: &Path, stamp: &Stamp) -> Option<Key> {
        let (known, content) = self.0.get(&of_path(path))?;
        (known == stamp).then_some(*content)
    }

    pub(super) fn remember(&mut self, path: &Path, stamp: Stamp, content: Key) {
        self.0.insert(of_path(path), (stamp, content));
    }
}

fn of_path(path: &Path) -> Key {
    // Where the working folder is gone there is no whole path; then the stamp alone tells files apart.
    let whole = std::path::absolute(path).unwrap_or_else(|_| path.to_owned());
    Key::of(whole.as_os_str().as_encoded_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn aged(path: &Path, text: &str, age: Duration) {
        fs::write(path, text).unwrap();
        let file = fs::File::options().write(true).open(path).unwrap();
        file.set_modified(SystemTime::now() - age).unwrap();
    }

    #[test]
    fn a_file_that_was_changed_just_now_has_no_stamp() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.gpx");
        fs::write(&path, "a").unwrap();
        assert_eq!(Stamp::settled(&path), None);
    }

    #[test]
    fn a_changed_file_of_the_same_size_and_time_has_another_stamp() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.gpx");
        let at = Duration::from_secs(3600);
        aged(&path, "a", at);
        let first = Stamp::settled(&path).unwrap();
        std::thread::sleep(Duration::from_millis(20));
        fs::write(&path, "b").unwrap();
        let file = fs::File::options().write(true).open(&path).unwrap();
        let (seconds, nanos) = first.modified;
        file.set_modified(SystemTime::UNIX_EPOCH + Duration::new(seconds, nanos))
            .unwrap();
        let second = Stamp::settled(&path).unwrap();
        assert_eq!(
            (first.bytes, first.modified),
            (second.bytes, second.modified)
        );
        assert_ne!(first, second);
    }
}
