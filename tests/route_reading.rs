//! What is read from a file is what another reader reads, and no file whatever makes reading panic.

#![allow(clippy::unwrap_used)]

use hillwright::files::{Limits, find_routes, read_bounded};
use hillwright::route::{RawPoint, Recording, parse, read};
use proptest::prelude::*;
use std::path::PathBuf;

/// One line as the `gpx` crate has it, in the shape of ours.
fn reference_line<'a>(
    name: Option<&String>,
    segments: impl Iterator<Item = &'a [gpx::Waypoint]>,
) -> Recording {
    let mut line = Recording {
        name: name.cloned(),
        ..Recording::default()
    };
    for segment in segments.filter(|segment| !segment.is_empty()) {
        line.segment_starts.push(line.points.len());
        line.points.extend(segment.iter().map(reference_point));
    }
    line
}

fn reference_point(waypoint: &gpx::Waypoint) -> RawPoint {
    let time_s = waypoint.time.map(|time| {
        let time: jiff::Timestamp = time.format().unwrap().parse().unwrap();
        time.as_nanosecond().div_euclid(1_000_000_000) as f64
            + time.as_nanosecond().rem_euclid(1_000_000_000) as f64 / 1e9
    });
    RawPoint {
        lat_deg: waypoint.point().y(),
        lon_deg: waypoint.point().x(),
        elevation_m: waypoint.elevation,
        time_s,
    }
}

/// Tracks and routes that have points; `None` where the crate refuses the file.
fn reference(bytes: &[u8]) -> Option<Vec<Recording>> {
    let file = gpx::read(bytes).ok()?;
    let routes = file
        .routes
        .iter()
        .map(|route| reference_line(route.name.as_ref(), std::iter::once(&route.points[..])));
    let tracks = file.tracks.iter();
    let tracks = tracks.map(|track| {
        reference_line(
            track.name.as_ref(),
            track.segments.iter().map(|segment| &segment.points[..]),
        )
    });
    Some(
        routes
            .chain(tracks)
            .filter(|line| !line.points.is_empty())
            .collect(),
    )
}

fn assert_same(bytes: &[u8], what: &str) {
    let theirs = reference(bytes).unwrap();
    let ours = parse(bytes).unwrap();
    assert_eq!(ours.len(), theirs.len(), "{what}");
    for (ours, theirs) in ours.iter().zip(&theirs) {
        assert_eq!(ours.name, theirs.name, "{what}");
        assert_eq!(ours.segment_starts, theirs.segment_starts, "{what}");
        assert_eq!(ours.points, theirs.points, "{what}");
    }
}

const GPX_1_1: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1">
<metadata><name>Not this one</name><time>2024-05-01T08:00:00Z</time></metadata>
<wpt lat="47.0" lon="11.0"><ele>1.0</ele></wpt>
<rte><name>Plan</name>
<rtept lat="47.123456789012345" lon="-11.5"><ele>600.25</ele></rtept>
<rtept lat="-0.000001" lon="179.99999999"><name>Turn</name></rtept>
</rte>
<trk><name>Tom &amp; Ann's &lt;col&gt;</name><type>cycling</type>
<trkseg>
<trkpt lat="47.4844814278" lon="10.975689562"><ele>860.0</ele><time>2019-05-01T04:31:11Z</time></trkpt>
<trkpt lat="47.48448142780001" lon="1.0975689562e1"><ele>-3.25</ele><time>2019-05-01T04:31:11.125Z</time></trkpt>
</trkseg>
<trkseg></trkseg>
<trkseg><trkpt lon="10.9" lat="47.4"><ele>1234567890.123456789</ele><time>2019-05-01T06:31:12.999999999+02:00</time></trkpt>
<trkpt lat="47" lon="-0"><time>1969-12-31T23:59:59.75Z</time></trkpt></trkseg>
</trk>
<trk><trkseg/></trk>
<trk><name>Second</name><trkseg><trkpt lat="1" lon="2"/><trkpt lat="1" lon="3"/></trkseg></trk>
</gpx>"#;

const GPX_1_0: &str = r#"<?xml version="1.0"?>
<gpx version="1.0" creator="test" xmlns="http://www.topografix.com/GPX/1/0">
<time>2004-01-01T00:00:00Z</time>
<trk><name>Old</name><number>1</number><trkseg>
<trkpt lat="37.241738168522716" lon="-121.97232423350215"><ele>104.4000015258789</ele><time>2004-02-29T23:59:59Z</time><speed>3.5</speed></trkpt>
<trkpt lat="37.241712771356106" lon="-121.97232783772051"><ele>103</ele><time>2004-03-01T00:00:00Z</time></trkpt>
</trkseg></trk>
</gpx>"#;

const KML: &str = r#"<?xml version="1.0" encoding="UTF-8"?>
<kml xmlns="http://www.opengis.net/kml/2.2" xmlns:gx="http://example.org/ext"><Document>
<Placemark><name>Up</name><MultiGeometry><LineString><altitudeMode>absolute</altitudeMode>
<coordinates>7,45,500 7.001,45,507.5 7.002,45.001,513</coordinates></LineString></MultiGeometry></Placemark>
<Placemark><gx:Track><when>2024-01-01T00:00:00Z</when><when>2024-01-01T00:00:20Z</when>
<gx:coord>7 45 100</gx:coord><gx:coord>7.001 45 101</gx:coord></gx:Track></Placemark>
</Document></kml>"#;

const GEOJSON: &str = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"Up"},
"geometry":{"type":"LineString","coordinates":[[7,45,500],[7.001,45,507.5],[7.002,45.001,513]]}},
{"type":"Feature","properties":null,"geometry":{"type":"MultiLineString","coordinates":[[[7,45],[7.01,45]],[[7.02,45],[7.03,45.1]]]}}]}"#;

#[test]
fn both_versions_of_gpx_are_read_as_the_gpx_crate_reads_them() {
    assert_same(GPX_1_1.as_bytes(), "1.1");
    assert_same(GPX_1_0.as_bytes(), "1.0");
}

/// A file of `count` points with digits of all lengths.
fn made_file(seed: u64, count: usize) -> String {
    let mut state = seed;
    let mut random = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 11) as f64 / (1_u64 << 53) as f64
    };
    let mut text = String::from(
        r#"<gpx version="1.1" creator="test" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>"#,
    );
    for second in 0..count {
        let (lat, lon, ele) = (
            random() * 180.0 - 90.0,
            random() * 358.0 - 179.0,
            random() * 5000.0 - 400.0,
        );
        let digits = second % 17;
        let (hour, minute) = (second / 3600 % 24, second / 60 % 60);
        text.push_str(&format!(
            "<trkpt lat=\"{lat:.digits$}\" lon=\"{lon:.digits$}\"><ele>{ele:.digits$}</ele><time>2024-02-29T{hour:02}:{minute:02}:{:02}.{:03}Z</time></trkpt>\n",
            second % 60, second % 1000
        ));
    }
    text.push_str("</trkseg></trk></gpx>");
    text
}

#[test]
fn numbers_of_all_lengths_are_read_to_the_last_bit() {
    // The longitudes stay below 180, which the crate refuses.
    assert_same(made_file(1, 20_000).as_bytes(), "made");
}

/// Real recordings, if they are there.
fn real_recordings() -> Vec<PathBuf> {
    let beside = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../shared");
    let shared = std::env::var_os("HILLWRIGHT_SHARED").map_or(beside, PathBuf::from);
    find_routes(&shared.join("routes"))
        .unwrap_or_default()
        .files
}

#[test]
fn real_recordings_are_read_as_the_gpx_crate_reads_them() {
    for path in real_recordings() {
        let bytes = read_bounded(&path, &Limits::default()).unwrap();
        if reference(&bytes).is_some() {
            assert_same(&bytes, &path.display().to_string());
        }
    }
}

#[test]
fn real_recordings_become_routes() {
    for path in real_recordings() {
        let bytes = read_bounded(&path, &Limits::default()).unwrap();
        let routes = read(&bytes, &path.display().to_string()).unwrap();
        assert!(
            routes.iter().all(|route| route.length_m > 0.0),
            "{}",
            path.display()
        );
    }
}

#[test]
fn every_encoding_gives_the_same_points() {
    let plain = parse(GPX_1_1.as_bytes()).unwrap();
    let little: Vec<u8> = GPX_1_1.encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = [0xfeff]
        .into_iter()
        .chain(GPX_1_1.encode_utf16())
        .flat_map(u16::to_be_bytes)
        .collect();
    for bytes in [little, big] {
        assert_eq!(parse(&bytes).unwrap(), plain);
    }
}

#[test]
fn the_three_formats_give_the_same_line() {
    let gpx = concat!(
        "<gpx><trk><name>Up</name><trkpt lat='45' lon='7'><ele>500</ele></trkpt>",
        "<trkpt lat='45' lon='7.001'><ele>507.5</ele></trkpt><trkpt lat='45.001' lon='7.002'><ele>513</ele></trkpt></trk></gpx>"
    );
    let first = |text: &str| read(text.as_bytes(), "up").unwrap().remove(0);
    assert_eq!(first(gpx), first(KML));
    assert_eq!(first(gpx), first(GEOJSON));
}

/// Reads what may be anything; whatever comes out must be a line.
fn assert_sound(bytes: &[u8]) {
    for route in read(bytes, "any").unwrap_or_default() {
        assert!(route.points.len() >= 2);
        assert_eq!(route.points[0].distance_m, 0.0);
        assert!(
            route
                .points
                .windows(2)
                .all(|pair| pair[0].distance_m < pair[1].distance_m)
        );
        assert!(route.length_m.is_finite());
        assert!(
            route
                .points
                .iter()
                .all(|point| point.lat_deg.abs() <= 90.0 && point.lon_deg.abs() <= 180.0)
        );
        assert!(
            route
                .points
                .iter()
                .filter_map(|point| point.elevation_m)
                .all(f64::is_finite)
        );
        for column in [&route.sensors.power_w, &route.sensors.cadence_rpm] {
            assert!(column.is_empty() || column.len() == route.points.len());
        }
    }
}

#[test]
fn a_file_cut_anywhere_is_read_or_refused() {
    for text in [GPX_1_1, GPX_1_0, KML, GEOJSON] {
        for length in 0..text.len() {
            assert_sound(&text.as_bytes()[..length]);
        }
    }
}

/// A change of one place in a file: another byte, some bytes gone, or some of it again somewhere else.
#[derive(Debug, Clone)]
enum Change {
    Set(usize, u8),
    Remove(usize, usize),
    Copy(usize, usize, usize),
}

fn change() -> impl Strategy<Value = Change> {
    let place = 0_usize..4000;
    prop_oneof![
        (
            place.clone(),
            prop_oneof![
                any::<u8>(),
                proptest::sample::select(&b"<>\"'&;/0129.-eE,[]{} \n"[..])
            ]
        )
            .prop_map(|(at, byte)| Change::Set(at, byte)),
        (place.clone(), 1_usize..30).prop_map(|(at, length)| Change::Remove(at, length)),
        (place.clone(), 1_usize..200, place)
            .prop_map(|(from, length, to)| Change::Copy(from, length, to)),
    ]
}

fn changed(text: &str, changes: Vec<Change>) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    for change in changes {
        let length = bytes.len().max(1);
        match change {
            Change::Set(at, byte) => {
                if let Some(place) = bytes.get_mut(at % length) {
                    *place = byte;
                }
            }
            Change::Remove(at, count) => {
                let at = (at % length).min(bytes.len());
                bytes.drain(at..(at + count).min(bytes.len()));
            }
            Change::Copy(from, count, to) => {
                let from = (from % length).min(bytes.len());
                let piece = bytes[from..(from + count).min(bytes.len())].to_vec();
                let to = (to % length).min(bytes.len());
                bytes.splice(to..to, piece);
            }
        }
    }
    bytes
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1500))]

    #[test]
    fn a_damaged_file_is_read_or_refused(
        file in proptest::sample::select(&[GPX_1_1, GPX_1_0, KML, GEOJSON][..]),
        changes in proptest::collection::vec(change(), 1..8),
    ) {
        assert_sound(&changed(file, changes));
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        assert_sound(&bytes);
    }
}
