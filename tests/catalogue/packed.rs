//! Files that are compressed, and files that are too large.

use crate::case::{case, check_all};
use crate::hill;
use flate2::{Compression, write::GzEncoder};
use std::io::Write;

fn gzip(bytes: &[u8]) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::fast());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

#[test]
fn what_is_packed_is_unpacked_once_and_within_bounds() {
    let whole = gzip(hill::whole().as_bytes());
    let mut flipped = whole.clone();
    let last = flipped.len() - 6;
    flipped[last] ^= 0xff;
    check_all(vec![
        case("gzip").route(whole.clone()).says("6.0 ±"),
        case("gzip in two members")
            .route(
                [
                    gzip(&hill::whole().as_bytes()[..9000]),
                    gzip(&hill::whole().as_bytes()[9000..]),
                ]
                .concat(),
            )
            .says("6.0 ±"),
        case("gzip cut short")
            .route(&whole[..whole.len() / 2])
            .refused("gzip"),
        case("gzip with a wrong checksum")
            .route(flipped)
            .refused("gzip"),
        case("gzip's mark alone")
            .route(b"\x1f\x8b".to_vec())
            .status(3),
        case("gzip in gzip").route(gzip(&whole)).status(3),
        case("gzip of nothing")
            .route(gzip(b""))
            .refused("it is empty"),
        case("a bomb")
            .route(gzip(&vec![b' '; 64 << 20]))
            .types("climbs a.gpx --max-input 10")
            .refused("inflates to more than 10 MiB")
            .says("--max-input"),
        case("a file beyond the limit")
            .route(" ".repeat(3 << 20))
            .types("climbs a.gpx --max-input 2")
            .refused("larger than 2 MiB")
            .says("--max-input"),
        case("standard input beyond the limit")
            .types("climbs - --max-input 1")
            .stdin(" ".repeat(3 << 20))
            .refused("larger than 1 MiB"),
        case("a limit of nothing")
            .types("climbs a.gpx --max-input 0")
            .route(hill::whole())
            .status(2),
    ]);
}

#[cfg(unix)]
#[test]
fn a_file_of_five_gigabytes_is_refused_before_it_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let file = std::fs::File::create(folder.path().join("a.gpx")).unwrap();
    // A hole: it takes no room on the disk.
    file.set_len(5 << 30).unwrap();
    let run = crate::case::run(folder.path(), &["climbs".into(), "a.gpx".into()], b"");
    let said = String::from_utf8_lossy(&run.err);
    assert_eq!(run.status, Some(3), "{said}");
    assert!(
        said.contains("larger than 2 GiB") && said.contains("--max-input"),
        "{said}"
    );
}
