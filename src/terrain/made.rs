//! Tiles made for tests.

use std::io::{Cursor, Write};
use std::path::Path;

use flate2::{Compression, write::GzEncoder};
use zip::write::{SimpleFileOptions, ZipWriter};

use super::TileName;

pub(super) fn name(text: &str) -> TileName {
    text.parse().unwrap()
}

/// A plain tile with `side` samples a side; `elevation_m` is given row and column.
pub(super) fn plain(side: usize, elevation_m: impl Fn(usize, usize) -> i16) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(2 * side * side);
    for row in 0..side {
        for column in 0..side {
            bytes.extend_from_slice(&elevation_m(row, column).to_be_bytes());
        }
    }
    bytes
}

/// Writes a tile whose elevation is a function of latitude and longitude in degrees.
pub(super) fn write(folder: &Path, tile: &str, side: usize, elevation_m: impl Fn(f64, f64) -> f64) {
    let corner = name(tile);
    let share = |i: usize| i as f64 / (side - 1) as f64;
    let bytes = plain(side, |row, column| {
        let lat = f64::from(corner.south_deg) + 1.0 - share(row);
        elevation_m(lat, f64::from(corner.west_deg) + share(column)).round() as i16
    });
    std::fs::write(folder.join(format!("{tile}.hgt")), bytes).unwrap();
}

pub(super) fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

pub(super) fn zip_of(entries: &[(&str, &[u8])]) -> Vec<u8> {
    let mut writer = ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in entries {
        writer
            .start_file(*name, SimpleFileOptions::default())
            .unwrap();
        writer.write_all(bytes).unwrap();
    }
    writer.finish().unwrap().into_inner()
}
