#![no_main]
//! Any bytes are a tile or are refused, packed or not; on a tile with any numbers every place has a height or is refused.

use std::cell::RefCell;
use std::io::Write;

use arbitrary::Arbitrary;
use flate2::{Compression, write::GzEncoder};
use hillwright::terrain::{Tile, TileName, Tiles};

#[derive(Debug, Arbitrary)]
enum Given {
    /// A file as it is.
    File(Vec<u8>),
    /// What a gzip file holds; its checksum can't be guessed.
    Packed(Vec<u8>),
    /// Numbers put into a level tile, and places within it.
    Numbers {
        patches: Vec<Patch>,
        places: [(u16, u16); 4],
    },
}

/// The same number in some neighbouring samples.
#[derive(Debug, Arbitrary)]
struct Patch {
    row: u16,
    column: u16,
    number: i16,
    across: u8,
    down: u8,
}

const SIDE: usize = 1201;
/// More patches take longer and show nothing more.
const MOST_PATCHES: usize = 16;

thread_local! {
    /// A level tile, and which of its numbers have been changed.
    static LEVEL: RefCell<(Tile, Vec<usize>)> = RefCell::new((level(), Vec::new()));
}

fn level() -> Tile {
    Tile::from_bytes(name(), &7_i16.to_be_bytes().repeat(SIDE * SIDE)).unwrap()
}

fn name() -> TileName {
    "S45W130".parse().unwrap()
}

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

fn check(tile: &Tile) {
    assert_eq!(tile.samples_m.len(), tile.side * tile.side);
    let known = tile.samples_m.len() - tile.voids;
    assert!(known > 0);
}

fn put_patches(tile: &mut Tile, changed: &mut Vec<usize>, patches: &[Patch]) {
    for at in changed.drain(..) {
        tile.samples_m[at] = 7;
    }
    for patch in patches.iter().take(MOST_PATCHES) {
        let (row, column) = (
            usize::from(patch.row) % SIDE,
            usize::from(patch.column) % SIDE,
        );
        for row in row..(row + 1 + usize::from(patch.down)).min(SIDE) {
            let end = (column + 1 + usize::from(patch.across)).min(SIDE);
            let places = row * SIDE + column..row * SIDE + end;
            tile.samples_m[places.clone()].fill(patch.number);
            changed.extend(places);
        }
    }
}

/// The tile read from bytes with these numbers; a million of them take so long that not all are.
fn read_again(tile: &Tile) -> Option<Tile> {
    let bytes: Vec<u8> = tile
        .samples_m
        .iter()
        .flat_map(|m| m.to_be_bytes())
        .collect();
    Tile::from_bytes(tile.name, &bytes).ok()
}

libfuzzer_sys::fuzz_target!(|given: Given| {
    match given {
        Given::File(bytes) => {
            let _ = Tile::from_bytes(name(), &bytes).as_ref().map(check);
        }
        Given::Packed(bytes) => {
            let _ = Tile::from_bytes(name(), &gzip(&bytes)).as_ref().map(check);
        }
        Given::Numbers { patches, places } => LEVEL.with_borrow_mut(|(level, changed)| {
            put_patches(level, changed, &patches);
            let mut tile = level.clone();
            if patches.len() % 16 == 5 {
                let Some(again) = read_again(&tile) else {
                    return;
                };
                check(&again);
                tile = again;
            }
            let tiles = Tiles::of([tile]);
            for (north, east) in places {
                let lat_deg = -45.0 + f64::from(north) / f64::from(u16::MAX);
                let lon_deg = -130.0 + f64::from(east) / f64::from(u16::MAX);
                if let Ok(sample) = tiles.elevation_m(lat_deg, lon_deg) {
                    assert!((-12_000.0..=9000.0).contains(&sample.elevation_m));
                    assert!(sample.slope.iter().all(|s| s.is_finite()));
                }
            }
        }),
    }
});
