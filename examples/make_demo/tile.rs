//! One elevation tile of the ground, in the layout of the Shuttle Radar Topography Mission: a square of one degree,
//! 1201 rows from the north edge to the south edge, 1201 whole metres in each, two bytes each, the high one first.

use std::io::{self, Write};

use flate2::{Compression, GzBuilder};

use super::earth::{Geodetic, TangentPlane};
use super::terrain::Terrain;

/// Samples along each side.
pub(crate) const SIDE: usize = 1201;
/// The south-west corner of the tile, in whole degrees.
pub(crate) const CORNER: Geodetic = Geodetic {
    lat: -45.0,
    lon: -130.0,
};
/// Where the tile goes; the corner gives it its name.
pub(crate) const PATH: &str = "elevation-cache/S45W130.hgt.gz";

/// The tile's samples, row after row from the north.
pub(crate) fn samples(terrain: &Terrain, plane: &TangentPlane) -> Vec<i16> {
    let share = |index: usize| index as f64 / (SIDE - 1) as f64;
    (0..SIDE * SIDE)
        .map(|sample| {
            let (row, column) = (sample / SIDE, sample % SIDE);
            let place = Geodetic {
                lat: CORNER.lat + 1.0 - share(row),
                lon: CORNER.lon + share(column),
            };
            terrain.elevation_m(plane.to_plane(place)).round() as i16
        })
        .collect()
}

/// The samples as a gzip file without a time stamp, so that the same samples are always the same bytes.
pub(crate) fn gzip(samples: &[i16]) -> io::Result<Vec<u8>> {
    let mut file = GzBuilder::new()
        .mtime(0)
        .write(Vec::new(), Compression::best());
    let bytes: Vec<u8> = samples
        .iter()
        .flat_map(|sample| sample.to_be_bytes())
        .collect();
    file.write_all(&bytes)?;
    file.finish()
}
