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
        case("more points than go with the limit, GPX")
            .route(format!(
                "<gpx><trk><trkseg>{}</trkseg></trk></gpx>",
                "<trkpt lat=\"0\" lon=\"0\"/>".repeat(20_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points")
            .says("--max-input"),
        case("more usual points than go with the limit")
            .route(format!(
                "<gpx><trk><trkseg>{}</trkseg></trk></gpx>",
                "<trkpt lat=\"0\" lon=\"0\"></trkpt>".repeat(20_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("more points than go with the limit, KML")
            .route(format!(
                "<kml><Placemark><LineString><coordinates>{}",
                "0,0 ".repeat(20_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("more times than go with the limit, KML")
            .route(format!(
                "<kml><Placemark><Track>{}",
                "<when/>".repeat(20_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("more points than go with the limit, GeoJSON")
            .route(format!(
                "{{\"type\":\"LineString\",\"coordinates\":[[0,0]{}]}}",
                ",[0,0]".repeat(20_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("more objects than go with the limit")
            .route(format!(
                "{{\"type\":\"FeatureCollection\",\"features\":[{{}}{}]}}",
                ",{}".repeat(2_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("properties of a million values")
            .route(hill_with(&format!("\"x\":[0{}]", ",0".repeat(1_000_000))))
            .says("6.0 ±"),
        case("more times than go with the limit, GeoJSON")
            .route(hill_with(&format!(
                "\"times_s\":[0{}]",
                ",0".repeat(20_000)
            )))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("more tracks than go with the limit")
            .route(format!(
                "<gpx>{}</gpx>",
                "<trk><trkseg><trkpt lat=\"0\" lon=\"0\"/></trkseg></trk>".repeat(2_000)
            ))
            .types("climbs a.gpx --max-input 1")
            .refused("more than 16384 points"),
        case("elements deeper than go with the limit")
            .route(format!("<gpx>{}", "<a>".repeat(20_000)))
            .types("climbs a.gpx --max-input 1")
            .refused("deeper than 16384"),
        case("more road than goes with the limit")
            .route(far_lines(8))
            .types("climbs a.gpx --max-input 50")
            .refused("more than 4000 km of road")
            .says("--max-input"),
        case("as much road as goes with the limit")
            .route(far_lines(2))
            .types("climbs a.gpx --max-input 1")
            .status(1),
        case("a thousand lines round the world")
            .route(far_lines(1_000).replace("5.5", "35.5"))
            .refused("more than 40960 km of road"),
        case("a limit of nothing")
            .types("climbs a.gpx --max-input 0")
            .route(hill::whole())
            .status(2),
    ]);
}

/// The hill in GeoJSON with a property.
fn hill_with(property: &str) -> String {
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{{property}}},\"geometry\":{{\"type\":\"LineString\",\"coordinates\":{}}}}}",
        hill::coordinates()
    )
}

/// Lines of 600 km each, with two points.
fn far_lines(count: usize) -> String {
    let line =
        |i| format!("{{\"type\":\"LineString\",\"coordinates\":[[0.1,{i}e-3,1],[5.5,{i}e-3,2]]}}");
    let lines: Vec<String> = (1..=count).map(line).collect();
    format!(
        "{{\"type\":\"GeometryCollection\",\"geometries\":[{}]}}",
        lines.join(",")
    )
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
