//! Rides for measuring, made anew each time: a road of hills, a rider on it, a point a second.

use std::fmt::Write;
use std::io::Write as _;

use flate2::{Compression, write::GzEncoder};

/// One second of a ride.
pub(crate) struct Second {
    lat_deg: f64,
    lon_deg: f64,
    elevation_m: f64,
    power_w: u32,
    cadence_rpm: u32,
}

/// Metres of a degree of latitude, near enough.
const METRES_PER_DEG: f64 = 111_200.0;
/// Uphill at 6 %, down again, and along; metres and grades.
const HILL: [(f64, f64); 4] = [
    (1800.0, 0.06),
    (400.0, 0.0),
    (2100.0, -0.045),
    (1500.0, 0.002),
];

/// A ride of so many kilometres.
pub(crate) fn ride(km: f64) -> Vec<Second> {
    let mut seconds: Vec<Second> = Vec::new();
    let (mut lat_deg, mut lon_deg, mut along_m, mut elevation_m) = (45.0, 7.0, 0.0, 300.0);
    let mut draw = 7_u64;
    while along_m < 1000.0 * km {
        let grade = grade_at(along_m);
        let speed_m_s = if grade > 0.02 { 3.6 } else { 8.0 };
        let heading: f64 = 0.8 * (along_m / 700.0).sin() + along_m / 40_000.0;
        along_m += speed_m_s;
        elevation_m += grade * speed_m_s;
        lat_deg += speed_m_s * heading.cos() / METRES_PER_DEG;
        lon_deg += speed_m_s * heading.sin() / (METRES_PER_DEG * lat_deg.to_radians().cos());
        // A linear congruential generator (Knuth, TAOCP 2, 3.3.4, MMIX) for a barometer's noise.
        draw = draw
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let noise_m = 0.4 * ((draw >> 40) as f64 / f64::from(1 << 24) - 0.5);
        let is_up = grade > 0.02;
        seconds.push(Second {
            lat_deg,
            lon_deg,
            elevation_m: elevation_m + noise_m,
            power_w: if is_up { 210 } else { 130 } + (draw >> 60) as u32,
            cadence_rpm: if is_up { 54 } else { 88 } + (draw >> 62) as u32,
        });
    }
    seconds
}

fn grade_at(along_m: f64) -> f64 {
    let round_m: f64 = HILL.iter().map(|piece| piece.0).sum();
    let mut left_m = along_m % round_m;
    for (length_m, grade) in HILL {
        if left_m < length_m {
            return grade * (1.0 + 0.08 * (along_m / 90.0).sin());
        }
        left_m -= length_m;
    }
    0.0
}

/// As GPX 1.1, with sensors or without.
pub(crate) fn gpx(ride: &[Second], with_sensors: bool) -> String {
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"bench\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n\
         <trk><name>Made</name><trkseg>\n",
    );
    for (i, s) in ride.iter().enumerate() {
        let _ = write!(
            text,
            "<trkpt lat=\"{:.6}\" lon=\"{:.6}\"><ele>{:.1}</ele><time>{}</time>",
            s.lat_deg,
            s.lon_deg,
            s.elevation_m,
            stamp(i)
        );
        if with_sensors {
            let _ = write!(
                text,
                "<extensions><power>{}</power><t:TrackPointExtension><t:cad>{}</t:cad></t:TrackPointExtension></extensions>",
                s.power_w, s.cadence_rpm
            );
        }
        text += "</trkpt>\n";
    }
    text + "</trkseg></trk></gpx>\n"
}

/// Seconds of a day from eight o'clock.
fn stamp(second: usize) -> String {
    let at = 8 * 3600 + second;
    let (day, at) = (1 + at / 86_400, at % 86_400);
    format!(
        "2024-05-{day:02}T{:02}:{:02}:{:02}Z",
        at / 3600,
        at / 60 % 60,
        at % 60
    )
}

/// As GeoJSON: one line.
pub(crate) fn geojson(ride: &[Second]) -> String {
    let position = |s: &Second| format!("[{:.6},{:.6},{:.1}]", s.lon_deg, s.lat_deg, s.elevation_m);
    let positions: Vec<String> = ride.iter().map(position).collect();
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{\"name\":\"Made\"}},\"geometry\":{{\"type\":\"LineString\",\"coordinates\":[{}]}}}}\n",
        positions.join(",")
    )
}

/// As KML: one line.
pub(crate) fn kml(ride: &[Second]) -> String {
    let position = |s: &Second| format!("{:.6},{:.6},{:.1}", s.lon_deg, s.lat_deg, s.elevation_m);
    let positions: Vec<String> = ride.iter().map(position).collect();
    format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Document><Placemark><name>Made</name><LineString><coordinates>{}</coordinates>\
         </LineString></Placemark></Document></kml>\n",
        positions.join(" ")
    )
}

/// Packed as gzip does by default.
pub(crate) fn gz(text: &str) -> Vec<u8> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::default());
    // Nothing can fail in memory.
    let _ = encoder.write_all(text.as_bytes());
    encoder.finish().unwrap_or_default()
}
