//! One tile: a square grid of elevations on one degree by one degree, from the bytes of an `.hgt` file.
//!
//! The file has no header: rows from the north edge to the south edge, in each the samples from west to east, two bytes
//! each, the high one first. The outermost rows and columns lie on the degrees themselves and are shared with the
//! neighbours (U.S. Geological Survey, SRTM documentation, SRTM_Topo.pdf, 2006).

use std::borrow::Cow;

use srtm_reader::Resolution;

use super::TileName;
use super::unpack::{self, Packing, UnpackError};

/// Highest number that can be an elevation on Earth, in metres, with room for a datum.
const HIGHEST_M: i16 = 9000;
/// Lowest one, in metres: the deepest sea floor, which some sources have in their coastal tiles.
const LOWEST_M: i16 = -12_000;
/// What SRTM writes where it saw nothing.
const VOID: i16 = i16::MIN;
/// What other sources write there.
const OTHER_VOID: i16 = -9999;

/// Elevations on one degree by one degree.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Tile {
    /// Which degree.
    pub name: TileName,
    /// Samples along each side: 1201 or 3601.
    pub side: usize,
    /// Whole metres, row after row from the north, each from the west.
    pub samples_m: Vec<i16>,
    /// How many samples have no elevation.
    pub voids: usize,
}

/// Why bytes are no tile. The path is added by who prints it.
#[derive(Debug, thiserror::Error)]
pub enum TileError {
    /// The system refused to open or read it.
    #[error("it can't be read: {0}")]
    Read(#[source] std::io::Error),
    /// The packing is damaged, too large or of an unknown kind.
    #[error(transparent)]
    Unpack(#[from] UnpackError),
    /// A page of text, such as a server's message.
    #[error(
        "it is text, not elevations; it starts with \"{seen}\"; check where it came from, and fetch it again"
    )]
    Text {
        /// What it starts with.
        seen: String,
    },
    /// Neither 1 nor 3 arc seconds.
    #[error(
        "it holds {bytes} bytes; a tile has {} (3 arc seconds, 1201 rows of 1201) or {} (1 arc second, 3601 rows of 3601); \
         it was cut short, or is of another kind; fetch it again",
        size_bytes(Resolution::SRTM3),
        size_bytes(Resolution::SRTM1)
    )]
    Size {
        /// How many bytes there are, inflated.
        bytes: usize,
    },
    /// Not one elevation.
    #[error("all its samples are voids: it has no elevation at all; take another source")]
    AllVoid,
    /// Numbers that can't be elevations.
    #[error(
        "{wrong} of its {all} numbers are no elevations (outside {LOWEST_M} to {HIGHEST_M} m); \
         expected whole metres, the high byte first; take another source"
    )]
    NoElevations {
        /// How many.
        wrong: usize,
        /// Of how many that are no voids.
        all: usize,
    },
}

impl Tile {
    /// Reads the bytes of a tile's file, plain, gzip or zip, told apart by their content.
    pub fn from_bytes(name: TileName, bytes: &[u8]) -> Result<Tile, TileError> {
        let plain = match Packing::of(bytes) {
            Packing::None => Cow::Borrowed(bytes),
            packing => Cow::Owned(unpack::unpack(name, packing, bytes)?),
        };
        let Some(resolution) = resolution(plain.len()) else {
            return Err(match text_start(&plain) {
                Some(seen) => TileError::Text { seen },
                None => TileError::Size { bytes: plain.len() },
            });
        };
        let samples_m =
            srtm_reader::Tile::parse_hgt(plain.as_ref(), resolution).map_err(TileError::Read)?;
        let voids = samples_m.iter().filter(|sample| is_void(**sample)).count();
        let unlike = samples_m.iter().filter(|m| !is_elevation(**m)).count();
        let (all, wrong) = (samples_m.len() - voids, unlike - voids);
        match (all, wrong) {
            (0, _) => Err(TileError::AllVoid),
            // A few are spikes of the instrument and are passed over as voids are; many are another byte order.
            _ if wrong * 100 > all => Err(TileError::NoElevations { wrong, all }),
            _ => Ok(Tile {
                name,
                side: resolution.extent(),
                samples_m,
                voids: voids + wrong,
            }),
        }
    }

    /// The elevation at a row from the north and a column from the west, in metres; none where it is void.
    pub fn sample_m(&self, row: usize, column: usize) -> Option<f64> {
        let sample = self.samples_m[row * self.side + column];
        is_elevation(sample).then(|| f64::from(sample))
    }

    /// Distance between samples, in arc seconds.
    pub fn arc_seconds(&self) -> usize {
        3600 / (self.side - 1)
    }
}

fn is_void(sample: i16) -> bool {
    sample == VOID || sample == OTHER_VOID
}

fn is_elevation(sample: i16) -> bool {
    !is_void(sample) && (LOWEST_M..=HIGHEST_M).contains(&sample)
}

/// The resolution of a plain tile of so many bytes.
pub(super) fn resolution(bytes: usize) -> Option<Resolution> {
    [Resolution::SRTM3, Resolution::SRTM1]
        .into_iter()
        .find(|r| size_bytes(*r) == bytes)
}

/// Bytes of a tile at a resolution, two a sample.
pub(super) const fn size_bytes(resolution: Resolution) -> usize {
    2 * resolution.total_len()
}

/// The first words of what is text: a server's page or message taken for a tile.
fn text_start(bytes: &[u8]) -> Option<String> {
    let start = &bytes[..bytes.len().min(200)];
    let is_text = |b: &u8| matches!(b, b'\t' | b'\n' | b'\r' | 0x20..=0x7e | 0x80..);
    if start.len() < 4 || !start.iter().all(is_text) || !start.iter().any(u8::is_ascii_alphabetic) {
        return None;
    }
    let text = String::from_utf8_lossy(start);
    let words: Vec<&str> = text.split_whitespace().collect();
    Some(
        words
            .join(" ")
            .chars()
            .filter(|c| !c.is_control())
            .take(60)
            .collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::super::made;
    use super::*;

    fn read(bytes: &[u8]) -> Result<Tile, TileError> {
        Tile::from_bytes(made::name("N44W072"), bytes)
    }

    #[test]
    fn rows_come_from_the_north_and_columns_from_the_west() {
        let bytes = made::plain(1201, |row, column| (row * 2 + column) as i16);
        let tile = read(&bytes).unwrap();
        assert_eq!((tile.side, tile.arc_seconds(), tile.voids), (1201, 3, 0));
        assert_eq!(tile.sample_m(0, 0), Some(0.0));
        assert_eq!(tile.sample_m(0, 7), Some(7.0));
        assert_eq!(tile.sample_m(1200, 1200), Some(3600.0));
    }

    #[test]
    fn one_arc_second_has_3601_samples_a_side() {
        let tile = read(&made::plain(3601, |row, _| -(row as i16))).unwrap();
        assert_eq!((tile.side, tile.arc_seconds()), (3601, 1));
        assert_eq!(tile.sample_m(3600, 0), Some(-3600.0));
    }

    #[test]
    fn voids_of_either_kind_and_single_spikes_are_no_elevations() {
        let bytes = made::plain(1201, |row, column| match (row, column) {
            (3, 4) => i16::MIN,
            (3, 5) => -9999,
            (3, 6) => 31_000,
            _ => 250,
        });
        let tile = read(&bytes).unwrap();
        assert_eq!(tile.voids, 3);
        assert_eq!(
            [4, 5, 6, 7].map(|column| tile.sample_m(3, column)),
            [None, None, None, Some(250.0)]
        );
    }

    #[test]
    fn a_wrong_size_tells_what_was_seen_and_what_was_expected() {
        let whole = made::plain(1201, |_, _| 7);
        for bytes in [
            &whole[..0],
            &whole[..100],
            &whole[..whole.len() - 1],
            &[whole.as_slice(), &[0]].concat(),
        ] {
            let error = read(bytes).unwrap_err().to_string();
            let seen = format!("it holds {} bytes", bytes.len());
            assert!(
                error.starts_with(&seen) && error.contains("2884802") && error.contains("25934402"),
                "{error}"
            );
        }
    }

    #[test]
    fn a_page_of_text_is_quoted() {
        let error = read(b"<!DOCTYPE html>\n<html><title>Sign in</title>")
            .unwrap_err()
            .to_string();
        assert!(
            error.starts_with("it is text") && error.contains("<!DOCTYPE html> <html>"),
            "{error}"
        );
    }

    #[test]
    fn a_tile_without_elevations_is_refused() {
        assert!(matches!(
            read(&made::plain(1201, |_, _| i16::MIN)),
            Err(TileError::AllVoid)
        ));
        // 300 m with the low byte first.
        let swapped = made::plain(1201, |_, _| 300_i16.swap_bytes());
        assert!(matches!(
            read(&swapped),
            Err(TileError::NoElevations { .. })
        ));
    }

    #[test]
    fn a_plain_tile_may_start_with_the_bytes_of_a_gzip_file() {
        let tile = read(&made::plain(1201, |_, _| 0x1f8b)).unwrap();
        assert_eq!(tile.sample_m(0, 0), Some(8075.0));
    }
}
