//! Answers on the disk: one file each, checked when it is read, made again when anything about it is wrong.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};

use serde::Serialize;
use serde::de::DeserializeOwned;

use super::key::Key;
use super::stamp::{Stamp, Stamps};
use crate::files::replace;

/// First bytes of every entry; the number is that of the layout below.
const MAGIC: &[u8; 16] = b"hillwright entry";
/// Layout of entries and of what is in them. A change of any type that is kept needs a new one.
const LAYOUT: u32 = 2;
/// Magic, layout, key, checksum of the payload, length of the payload.
const HEAD_BYTES: usize = 16 + 4 + 16 + 16 + 8;
/// Ending of the entries' names.
const ENDING: &str = "entry";
/// The program's folder in the user's cache folder.
const NAME: &str = "hillwright";

/// A folder of answers.
///
/// Entries are written beside their place and moved there in one step, so that another process sees a whole one or none. What can't be
/// read or written is worked out again, or not kept: no trouble with the folder is ever an error of the answer.
#[derive(Debug)]
pub struct Cache {
    folder: PathBuf,
    /// What the program and its layout are: an answer of another build is none.
    program: Key,
    stamps: Mutex<Known>,
}

#[derive(Debug)]
struct Known {
    stamps: Stamps,
    is_changed: bool,
}

/// What is in a cache.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct CacheSize {
    /// How many files.
    pub files: usize,
    /// How many bytes.
    pub bytes: u64,
}

impl Cache {
    /// The user's cache folder, as the system names it (`$XDG_CACHE_HOME/hillwright` or `~/.cache/hillwright` on Linux); `None` where
    /// the user has no home.
    pub fn users() -> Option<Cache> {
        use etcetera::BaseStrategy;
        let system = etcetera::base_strategy::choose_native_strategy().ok()?;
        Some(Cache::at(system.cache_dir().join(NAME)))
    }

    /// A cache in a folder, which need not exist.
    pub fn at(folder: impl Into<PathBuf>) -> Cache {
        let mut cache = Cache {
            folder: folder.into(),
            program: program(),
            stamps: Mutex::new(Known {
                stamps: Stamps::default(),
                is_changed: false,
            }),
        };
        cache.stamps = Mutex::new(Known {
            stamps: cache.get(cache.stamps_key()).unwrap_or_default(),
            is_changed: false,
        });
        cache
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// How much is in it.
    pub fn size(&self) -> CacheSize {
        self.entries()
            .filter_map(|path| fs::metadata(path).ok())
            .fold(CacheSize::default(), |sum, about| CacheSize {
                files: sum.files + 1,
                bytes: sum.bytes + about.len(),
            })
    }

    /// Removes every entry, and the folder if nothing else is in it.
    ///
    /// # Errors
    /// What the system says where an entry can't be removed.
    pub fn clear(&self) -> io::Result<CacheSize> {
        let size = self.size();
        for path in self.entries() {
            match fs::remove_file(&path) {
                // Another process may have been faster.
                Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
                _ => {}
            }
        }
        // It stays where there is anything else in it.
        let _ = fs::remove_dir(&self.folder);
        Ok(size)
    }

    /// Our own files in the folder, with those that a broken write left.
    fn entries(&self) -> impl Iterator<Item = PathBuf> {
        let is_ours = |path: &PathBuf| {
            let name = path.file_name().unwrap_or_default().to_string_lossy();
            let name = name.strip_prefix('.').unwrap_or(&name);
            let mut parts = name.split('.');
            let is_key =
                |part: &str| part.len() == 32 && part.bytes().all(|b| b.is_ascii_hexdigit());
            parts.next().is_some_and(is_key)
                && parts.next() == Some(ENDING)
                && (parts.next().is_none() || name.ends_with(".part"))
        };
        let listed = fs::read_dir(&self.folder).into_iter().flatten();
        listed.flatten().map(|entry| entry.path()).filter(is_ours)
    }

    /// The answer that was kept under a key, if there is one and nothing about it is wrong.
    pub(super) fn get<T: DeserializeOwned>(&self, key: Key) -> Option<T> {
        let bytes = fs::read(self.path(key)).ok()?;
        let payload = payload(&bytes, key)?;
        let (value, rest) = postcard::take_from_bytes(payload).ok()?;
        rest.is_empty().then_some(value)
    }

    /// Keeps an answer, if the folder lets itself be written to.
    pub(super) fn put<T: Serialize>(&self, key: Key, value: &T) {
        let Ok(payload) = postcard::to_stdvec(value) else {
            return;
        };
        let mut bytes = Vec::with_capacity(HEAD_BYTES + payload.len());
        bytes.extend_from_slice(MAGIC);
        bytes.extend_from_slice(&LAYOUT.to_le_bytes());
        bytes.extend_from_slice(&key.to_bytes());
        bytes.extend_from_slice(&Key::of(&payload).to_bytes());
        bytes.extend_from_slice(&(payload.len() as u64).to_le_bytes());
        bytes.extend_from_slice(&payload);
        let path = self.path(key);
        if replace(&path, &bytes).is_err() && fs::create_dir_all(&self.folder).is_ok() {
            // A second failure means a folder that can't be written to: then nothing is kept.
            let _ = replace(&path, &bytes);
        }
    }

    /// The key of an answer that depends on some parts, and on the program.
    pub(super) fn key(&self, parts: &[&[u8]]) -> Key {
        let program = self.program.to_bytes();
        let all: Vec<&[u8]> = std::iter::once(program.as_slice())
            .chain(parts.iter().copied())
            .collect();
        Key::of_parts(&all)
    }

    /// The content of a file that has not changed since it was last read.
    pub(super) fn content(&self, path: &Path, stamp: &Stamp) -> Option<Key> {
        let known = self.stamps.lock().unwrap_or_else(PoisonError::into_inner);
        known.stamps.content(path, stamp)
    }

    /// Remembers what a file with a stamp held.
    pub(super) fn remember(&self, path: &Path, stamp: Stamp, content: Key) {
        let mut known = self.stamps.lock().unwrap_or_else(PoisonError::into_inner);
        known.stamps.remember(path, stamp, content);
        known.is_changed = true;
    }

    /// Writes down what was remembered, beside what another process remembered meanwhile.
    pub fn keep_stamps(&self) {
        let mut known = self.stamps.lock().unwrap_or_else(PoisonError::into_inner);
        if !known.is_changed {
            return;
        }
        let mut all: Stamps = self.get(self.stamps_key()).unwrap_or_default();
        all.0.extend(known.stamps.0.iter().map(|(k, v)| (*k, *v)));
        self.put(self.stamps_key(), &all);
        known.is_changed = false;
    }

    /// Contents don't depend on the program, only on how they are kept.
    fn stamps_key(&self) -> Key {
        Key::of_parts(&[b"stamps", &LAYOUT.to_le_bytes()])
    }

    fn path(&self, key: Key) -> PathBuf {
        self.folder.join(format!("{key}.{ENDING}"))
    }
}

/// The payload of an entry for a key, if every part of the entry is as it should be.
fn payload(bytes: &[u8], key: Key) -> Option<&[u8]> {
    let (magic, rest) = bytes.split_at_checked(MAGIC.len())?;
    let (layout, rest) = rest.split_at_checked(4)?;
    let (own_key, rest) = rest.split_at_checked(16)?;
    let (checksum, rest) = rest.split_at_checked(16)?;
    let (length, payload) = rest.split_at_checked(8)?;
    let is_whole = magic == MAGIC
        && layout == LAYOUT.to_le_bytes()
        && own_key == key.to_bytes()
        && length == (payload.len() as u64).to_le_bytes()
        && checksum == Key::of(payload).to_bytes();
    is_whole.then_some(payload)
}

/// What this program is: its version, and the size and time of its file, so that every build starts anew.
fn program() -> Key {
    let own = std::env::current_exe().and_then(fs::metadata);
    let build = own.map_or_else(
        |_| String::new(),
        |about| format!("{} {:?}", about.len(), about.modified().ok()),
    );
    Key::of_parts(&[
        &LAYOUT.to_le_bytes(),
        env!("CARGO_PKG_VERSION").as_bytes(),
        build.as_bytes(),
    ])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn only_entry(cache: &Cache) -> PathBuf {
        cache.entries().next().unwrap()
    }

    #[test]
    fn what_is_kept_comes_back_and_only_under_its_key() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path().join("a/b"));
        let key = cache.key(&[b"x"]);
        assert_eq!(cache.get::<String>(key), None);
        cache.put(key, &"answer");
        assert_eq!(cache.get::<String>(key).as_deref(), Some("answer"));
        assert_eq!(cache.get::<String>(cache.key(&[b"y"])), None);
        // An entry that was moved to another key's place is not that key's.
        fs::rename(only_entry(&cache), cache.path(cache.key(&[b"y"]))).unwrap();
        assert_eq!(cache.get::<String>(cache.key(&[b"y"])), None);
    }

    #[test]
    fn no_damage_to_any_byte_goes_unseen() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path());
        let key = cache.key(&[b"x"]);
        cache.put(key, &vec![1.5_f64, 2.5]);
        let path = only_entry(&cache);
        let whole = fs::read(&path).unwrap();
        for at in 0..whole.len() {
            let mut damaged = whole.clone();
            damaged[at] ^= 0x10;
            fs::write(&path, &damaged).unwrap();
            assert_eq!(cache.get::<Vec<f64>>(key), None, "byte {at}");
            fs::write(&path, &whole[..at]).unwrap();
            assert_eq!(cache.get::<Vec<f64>>(key), None, "cut at {at}");
        }
        fs::write(&path, [&whole[..], b"more"].concat()).unwrap();
        assert_eq!(cache.get::<Vec<f64>>(key), None);
        cache.put(key, &vec![1.5_f64, 2.5]);
        assert_eq!(cache.get(key), Some(vec![1.5_f64, 2.5]));
    }

    #[test]
    fn a_folder_that_is_none_is_no_error() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "x").unwrap();
        let cache = Cache::at(file.join("below-a-file"));
        let key = cache.key(&[b"x"]);
        cache.put(key, &1_u32);
        assert_eq!(cache.get::<u32>(key), None);
        assert_eq!(cache.clear().unwrap(), CacheSize::default());
    }

    #[test]
    fn clearing_takes_our_own_files_only() {
        let folder = tempfile::tempdir().unwrap();
        let cache = Cache::at(folder.path());
        cache.put(cache.key(&[b"x"]), &1_u32);
        cache.put(cache.key(&[b"y"]), &2_u32);
        let left = format!(".{}.entry.77-0.part", cache.key(&[b"z"]));
        fs::write(folder.path().join(left), "half").unwrap();
        fs::write(folder.path().join("notes.entry"), "mine").unwrap();
        assert_eq!(cache.size().files, 3);
        assert_eq!(cache.clear().unwrap().files, 3);
        let names: Vec<_> = fs::read_dir(folder.path()).unwrap().collect();
        assert_eq!(names.len(), 1);
    }

    #[test]
    fn two_caches_in_one_folder_do_not_lose_each_others_stamps() {
        let folder = tempfile::tempdir().unwrap();
        let files: Vec<PathBuf> = ["a", "b"].map(|n| folder.path().join(n)).to_vec();
        let hour = std::time::Duration::from_secs(3600);
        for path in &files {
            let file = fs::File::create(path).unwrap();
            file.set_modified(std::time::SystemTime::now() - hour)
                .unwrap();
        }
        let stamps: Vec<Stamp> = files.iter().map(|p| Stamp::settled(p).unwrap()).collect();
        let (one, two) = (Cache::at(folder.path()), Cache::at(folder.path()));
        one.remember(&files[0], stamps[0], Key(1));
        two.remember(&files[1], stamps[1], Key(2));
        one.keep_stamps();
        two.keep_stamps();
        let third = Cache::at(folder.path());
        assert_eq!(third.content(&files[0], &stamps[0]), Some(Key(1)));
        assert_eq!(third.content(&files[1], &stamps[1]), Some(Key(2)));
    }
}
