//! Tiles in a folder: which are there, read when they are first asked for, the last few kept in memory.

use std::collections::{HashMap, HashSet};
use std::fs::{self, File};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use super::{TerrainError, Tile, TileError, TileName};

/// Endings of tiles' names, in lower case, those that are fastest to read first.
const ENDINGS: [&str; 3] = [".hgt", ".hgt.gz", ".hgt.zip"];
/// Most bytes that are read of a tile's file: a plain tile at 1 arc second is 26 MB, a packed one smaller.
pub(super) const MOST_FILE_BYTES: u64 = 32 << 20;
/// Samples kept in memory: four tiles at 1 arc second, or 36 at 3 arc seconds, 104 MB.
const MOST_SAMPLES: usize = 4 * 3601 * 3601;

/// The tiles in a folder.
///
/// Files are found by their names, in any case, in the folder and in those right below it: `N44W072.hgt`, with `.gz` or `.zip`
/// behind it or not. Where a tile is there in several forms, the first that can be read counts. The folder is listed once, when
/// the first tile is asked for; files that come later are not seen. It may be shared between threads.
#[derive(Debug)]
pub struct Tiles {
    folder: PathBuf,
    files: OnceLock<Files>,
    memory: Mutex<Memory>,
}

type Files = Result<HashMap<TileName, Vec<PathBuf>>, (PathBuf, io::Error)>;

#[derive(Debug, Default)]
struct Memory {
    /// Each with the turn in which it was last used.
    tiles: HashMap<TileName, (u64, Arc<Tile>)>,
    turn: u64,
    /// Those that could not be read when a neighbour asked for them.
    unreadable: HashSet<TileName>,
}

impl Tiles {
    /// The tiles in a folder, which need not exist: then it has none.
    pub fn open(folder: impl Into<PathBuf>) -> Tiles {
        Tiles {
            folder: folder.into(),
            files: OnceLock::new(),
            memory: Mutex::default(),
        }
    }

    /// Tiles that are already here, without a folder; of many, the last ones that memory holds.
    pub fn of(tiles: impl IntoIterator<Item = Tile>) -> Tiles {
        let mut memory = Memory::default();
        for tile in tiles {
            memory.turn += 1;
            memory.keep(tile);
        }
        Tiles {
            folder: PathBuf::new(),
            files: OnceLock::from(Ok(HashMap::new())),
            memory: Mutex::new(memory),
        }
    }

    /// The folder.
    pub fn folder(&self) -> &Path {
        &self.folder
    }

    /// The files of a tile, those that are fastest to read first; empty where it is not here.
    ///
    /// # Errors
    /// [`TerrainError::Folder`] where the folder is there but can't be listed.
    pub fn files(&self, name: TileName) -> Result<&[PathBuf], TerrainError> {
        match self.files.get_or_init(|| list(&self.folder)) {
            Ok(files) => Ok(files.get(&name).map_or(&[], Vec::as_slice)),
            Err((folder, error)) => {
                let source = io::Error::new(error.kind(), error.to_string());
                Err(TerrainError::Folder {
                    folder: folder.clone(),
                    source,
                })
            }
        }
    }

    /// A tile, read from its file if it is not in memory; none where it is not here.
    ///
    /// # Errors
    /// [`TerrainError::Tile`] where it is here but can't be read.
    pub fn tile(&self, name: TileName) -> Result<Option<Arc<Tile>>, TerrainError> {
        // A thread that panicked while it held the lock left a map that is whole, since entries go in complete.
        let mut memory = self.memory.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(tile) = memory.recall(name) {
            return Ok(Some(tile));
        }
        let mut failed = None;
        for path in self.files(name)? {
            match read(path, name) {
                Ok(tile) => return Ok(Some(memory.keep(tile))),
                Err(source) => {
                    failed.get_or_insert(TerrainError::Tile {
                        path: path.clone(),
                        source,
                    });
                }
            }
        }
        failed.map_or(Ok(None), Err)
    }

    /// A tile that would be good to have but is not needed; one that can't be read is tried once.
    pub(super) fn tile_if_readable(&self, name: TileName) -> Option<Arc<Tile>> {
        let memory = || self.memory.lock().unwrap_or_else(PoisonError::into_inner);
        if memory().unreadable.contains(&name) {
            return None;
        }
        self.tile(name).unwrap_or_else(|_| {
            memory().unreadable.insert(name);
            None
        })
    }
}

impl Memory {
    fn recall(&mut self, name: TileName) -> Option<Arc<Tile>> {
        self.turn += 1;
        let (used, tile) = self.tiles.get_mut(&name)?;
        *used = self.turn;
        Some(Arc::clone(tile))
    }

    fn keep(&mut self, tile: Tile) -> Arc<Tile> {
        let samples = |tile: &Tile| tile.samples_m.len();
        let mut held: usize = samples(&tile)
            + self
                .tiles
                .values()
                .map(|(_, tile)| samples(tile))
                .sum::<usize>();
        while held > MOST_SAMPLES {
            let oldest = self
                .tiles
                .iter()
                .min_by_key(|(_, (used, _))| *used)
                .map(|(name, _)| *name);
            let Some((_, dropped)) = oldest.and_then(|name| self.tiles.remove(&name)) else {
                break;
            };
            held -= samples(&dropped);
        }
        let tile = Arc::new(tile);
        self.tiles.insert(tile.name, (self.turn, Arc::clone(&tile)));
        tile
    }
}

fn list(folder: &Path) -> Files {
    let mut files: HashMap<TileName, Vec<PathBuf>> = HashMap::new();
    let below = add(folder, &mut files).or_else(|error| match error.kind() {
        io::ErrorKind::NotFound => Ok(Vec::new()),
        _ => Err((folder.to_owned(), error)),
    })?;
    for folder in below {
        add(&folder, &mut files).map_err(|error| (folder.clone(), error))?;
    }
    for paths in files.values_mut() {
        paths.sort_by_key(|path| (named(path).map(|(_, ending)| ending), path.clone()));
    }
    Ok(files)
}

/// Adds a folder's tiles, and gives back the folders in it.
fn add(folder: &Path, files: &mut HashMap<TileName, Vec<PathBuf>>) -> io::Result<Vec<PathBuf>> {
    let mut below = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        // A link that leads nowhere is no file.
        let Ok(about) = fs::metadata(&path) else {
            continue;
        };
        let hidden = path
            .file_name()
            .is_some_and(|name| name.as_encoded_bytes().starts_with(b"."));
        if about.is_dir() && !hidden {
            below.push(path);
        } else if let (true, Some((name, _))) = (about.is_file(), named(&path)) {
            files.entry(name).or_default().push(path);
        }
    }
    Ok(below)
}

/// The tile that a file's name says it is, and which of the endings it has.
fn named(path: &Path) -> Option<(TileName, usize)> {
    let name = path.file_name()?.to_str()?.to_ascii_lowercase();
    ENDINGS
        .iter()
        .enumerate()
        .find_map(|(i, ending)| Some((name.strip_suffix(ending)?.parse().ok()?, i)))
}

fn read(path: &Path, name: TileName) -> Result<Tile, TileError> {
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(TileError::Read)?;
    file.take(MOST_FILE_BYTES)
        .read_to_end(&mut bytes)
        .map_err(TileError::Read)?;
    Tile::from_bytes(name, &bytes)
}

#[cfg(test)]
mod tests {
    use super::super::made;
    use super::*;

    fn level(metres: i16) -> Vec<u8> {
        made::plain(1201, |_, _| metres)
    }

    fn level_here(tiles: &Tiles, name: &str) -> Option<f64> {
        tiles
            .tile(made::name(name))
            .unwrap()
            .and_then(|tile| tile.sample_m(0, 0))
    }

    #[test]
    fn tiles_are_found_in_any_form_and_case_and_one_folder_down() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir(at("N46")).unwrap();
        fs::write(at("N44W072.hgt"), level(1)).unwrap();
        fs::write(at("n45w072.HGT.gz"), made::gzip(&level(2))).unwrap();
        fs::write(
            at("N46/N46W072.hgt.zip"),
            made::zip_of(&[("N46W072.hgt", &level(3))]),
        )
        .unwrap();
        fs::write(at(".N47W072.hgt.12-0.part"), level(4)).unwrap();
        fs::write(at("N47W072.txt"), level(4)).unwrap();
        let tiles = Tiles::open(folder.path());
        let found =
            ["N44W072", "N45W072", "N46W072", "N47W072"].map(|name| level_here(&tiles, name));
        assert_eq!(found, [Some(1.0), Some(2.0), Some(3.0), None]);
    }

    #[test]
    fn a_folder_that_is_not_there_has_no_tiles_and_a_file_is_no_folder() {
        let folder = tempfile::tempdir().unwrap();
        assert_eq!(
            level_here(&Tiles::open(folder.path().join("none")), "N44W072"),
            None
        );
        let file = folder.path().join("file");
        fs::write(&file, "").unwrap();
        let error = Tiles::open(&file)
            .tile(made::name("N44W072"))
            .unwrap_err()
            .to_string();
        assert!(
            error.contains("file") && error.contains("can't be listed"),
            "{error}"
        );
    }

    #[test]
    fn a_damaged_file_is_told_unless_another_form_of_the_tile_is_whole() {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("N44W072.hgt"), [0; 4]).unwrap();
        let error = Tiles::open(folder.path())
            .tile(made::name("N44W072"))
            .unwrap_err()
            .to_string();
        assert!(error.contains("N44W072.hgt: it holds 4 bytes"), "{error}");
        fs::write(folder.path().join("N44W072.hgt.gz"), made::gzip(&level(5))).unwrap();
        assert_eq!(
            level_here(&Tiles::open(folder.path()), "N44W072"),
            Some(5.0)
        );
    }

    #[test]
    fn tiles_that_are_here_need_no_folder() {
        let name = made::name("N44W072");
        let tile = Tile::from_bytes(name, &level(6)).unwrap();
        let tiles = Tiles::of([tile]);
        assert_eq!(level_here(&tiles, "N44W072"), Some(6.0));
        assert_eq!(level_here(&tiles, "N45W072"), None);
    }

    #[test]
    fn memory_holds_a_few_tiles_and_drops_the_longest_unused() {
        let mut memory = Memory::default();
        let tile = |i: i16| Tile {
            name: TileName {
                south_deg: i,
                west_deg: 0,
            },
            side: 3601,
            samples_m: vec![i; 3601 * 3601],
            voids: 0,
        };
        for i in 0..4 {
            memory.keep(tile(i));
            memory.turn += 1;
        }
        assert!(memory.recall(tile(0).name).is_some());
        memory.keep(tile(4));
        let held = [0, 1, 2, 3, 4].map(|i| {
            memory.tiles.contains_key(&TileName {
                south_deg: i,
                west_deg: 0,
            })
        });
        assert_eq!(held, [true, false, true, true, true]);
    }
}
