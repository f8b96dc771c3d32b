//! A tile's file, gzip or zip, becomes plain bytes, never more than a tile has.

use std::io::{self, Cursor, Read};

use flate2::bufread::MultiGzDecoder;
use srtm_reader::Resolution;
use zip::ZipArchive;

use super::TileName;
use super::tile::{self, size_bytes};

/// The first two bytes of every gzip member (RFC 1952, 2.3.1).
const GZIP_MAGIC: [u8; 2] = [0x1f, 0x8b];
/// The first four bytes of a zip file with an entry, and of one without (APPNOTE 6.3.10, 4.3.7 and 4.3.16).
const ZIP_MAGICS: [[u8; 4]; 2] = [*b"PK\x03\x04", *b"PK\x05\x06"];
/// The most that a tile inflates to: one arc second.
const MOST_BYTES: u64 = size_bytes(Resolution::SRTM1) as u64;
/// More entries than this are no zip file of a tile.
const MOST_ENTRIES: usize = 100;

/// Why a packed tile can't be unpacked.
#[derive(Debug, thiserror::Error)]
pub enum UnpackError {
    /// Damaged or cut short.
    #[error("it is a {kind} file that is damaged or cut short ({source}); fetch it again")]
    Damaged {
        /// `gzip` or `zip`.
        kind: &'static str,
        /// What was seen.
        source: io::Error,
    },
    /// More than a tile.
    #[error(
        "it inflates to more than {MOST_BYTES} bytes, the size of a tile at 1 arc second; it is no tile; take another source"
    )]
    TooLarge,
    /// A zip file without the tile.
    #[error("it is a zip file without {expected} ({seen}); take another source")]
    NoEntry {
        /// The file that it should hold.
        expected: String,
        /// What it holds instead.
        seen: String,
    },
    /// A zip file with the tile twice.
    #[error("it is a zip file with {expected} in it {count} times; keep the right one")]
    Ambiguous {
        /// The file that it should hold once.
        expected: String,
        /// How often it does.
        count: usize,
    },
}

/// How a tile's file is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Packing {
    None,
    Gzip,
    Zip,
}

impl Packing {
    /// Told by the content. What has the size of a plain tile is one, whatever it starts with: 0x1f8b is 8075 m too.
    pub(super) fn of(bytes: &[u8]) -> Packing {
        if tile::resolution(bytes.len()).is_some() {
            Packing::None
        } else if bytes.starts_with(&GZIP_MAGIC) {
            Packing::Gzip
        } else if ZIP_MAGICS.iter().any(|magic| bytes.starts_with(magic)) {
            Packing::Zip
        } else {
            Packing::None
        }
    }

    /// How the name of such a file ends.
    pub(super) fn ending(self) -> &'static str {
        match self {
            Packing::None => ".hgt",
            Packing::Gzip => ".hgt.gz",
            Packing::Zip => ".hgt.zip",
        }
    }
}

/// The plain bytes.
pub(super) fn unpack(
    name: TileName,
    packing: Packing,
    bytes: &[u8],
) -> Result<Vec<u8>, UnpackError> {
    match packing {
        Packing::None => Ok(bytes.to_vec()),
        Packing::Gzip => inflated("gzip", MultiGzDecoder::new(bytes)),
        Packing::Zip => from_zip(name, bytes),
    }
}

fn inflated(kind: &'static str, packed: impl Read) -> Result<Vec<u8>, UnpackError> {
    let mut plain = Vec::new();
    packed
        .take(MOST_BYTES + 1)
        .read_to_end(&mut plain)
        .map_err(|source| UnpackError::Damaged { kind, source })?;
    if plain.len() as u64 > MOST_BYTES {
        Err(UnpackError::TooLarge)
    } else {
        Ok(plain)
    }
}

/// The entry with the tile's name, in whatever folder of the zip file. Nothing is ever written under an entry's name.
fn from_zip(name: TileName, bytes: &[u8]) -> Result<Vec<u8>, UnpackError> {
    let damaged = |error: zip::result::ZipError| UnpackError::Damaged {
        kind: "zip",
        source: io::Error::other(error),
    };
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(damaged)?;
    let expected = format!("{name}.hgt");
    if archive.len() > MOST_ENTRIES {
        let seen = format!(
            "it has {} entries, of which {MOST_ENTRIES} at most are looked at",
            archive.len()
        );
        return Err(UnpackError::NoEntry { expected, seen });
    }
    let mut seen = Vec::new();
    let mut fitting = Vec::new();
    for index in 0..archive.len() {
        let entry = archive.by_index_raw(index).map_err(damaged)?;
        let entry_name = String::from_utf8_lossy(entry.name_raw()).into_owned();
        let last = entry_name.rsplit(['/', '\\']).next().unwrap_or_default();
        if last.eq_ignore_ascii_case(&expected) {
            fitting.push(index);
        }
        seen.push(entry_name);
    }
    match fitting.as_slice() {
        [] => Err(UnpackError::NoEntry {
            expected,
            seen: listed(&seen),
        }),
        [index] => inflated("zip", archive.by_index(*index).map_err(damaged)?),
        _ => Err(UnpackError::Ambiguous {
            expected,
            count: fitting.len(),
        }),
    }
}

fn listed(names: &[String]) -> String {
    let clean = |name: &String| {
        name.chars()
            .filter(|c| !c.is_control())
            .take(40)
            .collect::<String>()
    };
    match names {
        [] => "it is empty".to_owned(),
        [one] => format!("it holds {}", clean(one)),
        [one, ..] => format!("it holds {} and {} more", clean(one), names.len() - 1),
    }
}

#[cfg(test)]
mod tests {
    use super::super::made::{self, gzip, zip_of};
    use super::super::{Tile, TileError};
    use super::*;

    fn read(bytes: Vec<u8>) -> Result<Tile, TileError> {
        Tile::from_bytes(made::name("N44W072"), &bytes)
    }

    fn told(bytes: Vec<u8>) -> String {
        read(bytes).unwrap_err().to_string()
    }

    fn ground() -> Vec<u8> {
        made::plain(1201, |row, column| ((row * 31 + column * 17) % 900) as i16)
    }

    #[test]
    fn a_tile_is_the_same_plain_gzip_and_zip() {
        let plain = read(ground()).unwrap();
        assert_eq!(read(gzip(&ground())).unwrap(), plain);
        assert_eq!(read(zip_of(&[("N44W072.hgt", &ground())])).unwrap(), plain);
        assert_eq!(
            read(zip_of(&[
                ("readme.txt", b"hello"),
                ("data/n44w072.HGT", &ground())
            ]))
            .unwrap(),
            plain
        );
    }

    #[test]
    fn an_entry_is_taken_by_its_last_name_whatever_path_it_claims() {
        for path in [
            "../../../N44W072.hgt",
            "/etc/N44W072.hgt",
            "..\\..\\N44W072.hgt",
        ] {
            assert!(read(zip_of(&[(path, &ground())])).is_ok(), "{path}");
        }
    }

    #[test]
    fn a_zip_file_without_the_tile_or_with_two_of_it_is_refused() {
        let other = told(zip_of(&[("N45W072.hgt", &ground())]));
        assert!(
            other.contains("without N44W072.hgt (it holds N45W072.hgt)"),
            "{other}"
        );
        assert!(told(zip_of(&[])).contains("it is empty"));
        let two = told(zip_of(&[
            ("a/N44W072.hgt", &ground()),
            ("b/N44W072.hgt", &ground()),
        ]));
        assert!(two.contains("2 times"), "{two}");
    }

    #[test]
    fn bombs_stop_at_the_size_of_a_tile() {
        let zeros = vec![0; MOST_BYTES as usize + 1];
        assert!(told(gzip(&zeros)).contains("inflates to more than 25934402 bytes"));
        assert!(
            told(zip_of(&[("N44W072.hgt", &zeros)]))
                .contains("inflates to more than 25934402 bytes")
        );
        let members = gzip(&zeros[..MOST_BYTES as usize / 2]).repeat(9);
        assert!(told(members).contains("inflates to more than"));
    }

    #[test]
    fn packed_tiles_cut_short_or_changed_are_damaged() {
        for packed in [gzip(&ground()), zip_of(&[("N44W072.hgt", &ground())])] {
            for keep in [10, packed.len() / 2, packed.len() - 5] {
                assert!(
                    told(packed[..keep].to_vec()).contains("damaged or cut short"),
                    "{keep}"
                );
            }
            let mut changed = packed.clone();
            changed[packed.len() / 2] ^= 0x55;
            assert!(told(changed).contains("damaged or cut short"));
        }
    }

    #[test]
    fn a_packed_page_of_text_is_told_as_text() {
        assert!(told(gzip(b"<html>Not here</html>")).starts_with("it is text"));
    }
}
