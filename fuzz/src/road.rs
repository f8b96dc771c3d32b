//! Roads made of a few numbers, as files in every format: what a fuzzer changes in them stays a route.

use arbitrary::Arbitrary;

/// A road as a file, with a few of its bytes changed.
#[derive(Debug, Arbitrary)]
pub struct RoadFile {
    format: Format,
    lat: i8,
    lon: i16,
    height: u8,
    step: u8,
    pieces: Vec<Piece>,
    roughness: u8,
    timed: bool,
    back_home: bool,
    changes: Vec<Change>,
}

#[derive(Debug, Clone, Copy, Arbitrary)]
enum Format {
    Gpx,
    Kml,
    GeoJson,
}

/// A stretch of one grade, and a bend at its end.
#[derive(Debug, Arbitrary)]
struct Piece {
    points: u8,
    grade: i8,
    bend: i8,
}

/// Bytes put in the place of others.
#[derive(Debug, Arbitrary)]
struct Change {
    at: u16,
    gone: u8,
    put: [u8; 3],
    used: u8,
}

struct Point {
    lat_deg: f64,
    lon_deg: f64,
    height_m: f64,
    time_s: u32,
}

/// Points of a road, and changes of its file: more take longer and show nothing more.
const MOST_POINTS: usize = 200;
const MOST_CHANGES: usize = 8;
/// Metres in a degree of a sphere as large as the Earth.
const METRES_A_DEGREE: f64 = 111_195.0;

impl RoadFile {
    /// The file's bytes.
    pub fn bytes(&self) -> Vec<u8> {
        let points = self.points();
        let text = match self.format {
            Format::Gpx => gpx(&points, self.timed),
            Format::Kml => kml(&points),
            Format::GeoJson => geojson(&points),
        };
        let mut bytes = text.into_bytes();
        for change in self.changes.iter().take(MOST_CHANGES) {
            // The places of a short list of changes reach the whole file.
            let at = usize::from(change.at) * bytes.len() / (usize::from(u16::MAX) + 1);
            let end = (at + usize::from(change.gone % 16)).min(bytes.len());
            let used = usize::from(change.used % 4);
            bytes.splice(at..end, change.put[..used].iter().copied());
        }
        bytes
    }

    fn points(&self) -> Vec<Point> {
        let step_m = 1.0 + f64::from(self.step % 30);
        let (mut lat_deg, mut lon_deg) = (
            f64::from(self.lat.clamp(-89, 89)),
            f64::from(self.lon % 180),
        );
        let mut height_m = 20.0 * f64::from(self.height) - 400.0;
        let mut bearing_rad = 0.0_f64;
        let mut points = Vec::new();
        let there = self.pieces.iter();
        let back = self
            .pieces
            .iter()
            .rev()
            .take(if self.back_home { usize::MAX } else { 0 });
        let ways = there.map(|p| (p, 1.0)).chain(back.map(|p| (p, -1.0)));
        let mut turned = false;
        for (piece, sign) in ways {
            if sign < 0.0 && !turned {
                bearing_rad += std::f64::consts::PI;
                turned = true;
            }
            for _ in 0..piece.points {
                if points.len() >= MOST_POINTS {
                    return points;
                }
                let rough_m = f64::from(self.roughness) / 100.0 * wobble(points.len());
                points.push(Point {
                    lat_deg,
                    lon_deg,
                    height_m: height_m + rough_m,
                    time_s: 4 * points.len() as u32,
                });
                let east = bearing_rad.sin() / lat_deg.to_radians().cos().max(0.01);
                lat_deg =
                    (lat_deg + step_m * bearing_rad.cos() / METRES_A_DEGREE).clamp(-90.0, 90.0);
                lon_deg += step_m * east / METRES_A_DEGREE;
                lon_deg = (lon_deg + 180.0).rem_euclid(360.0) - 180.0;
                height_m += sign * step_m * f64::from(piece.grade) / 400.0;
            }
            bearing_rad += f64::from(piece.bend) / 80.0;
        }
        points
    }
}

/// A fixed noise from -1 to 1.
fn wobble(i: usize) -> f64 {
    let mixed = (i as u64 + 1).wrapping_mul(0x9e37_79b9_7f4a_7c15);
    (mixed >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
}

fn gpx(points: &[Point], timed: bool) -> String {
    let mut text = String::from("<gpx version=\"1.1\" creator=\"f\"><trk><name>R</name><trkseg>\n");
    for point in points {
        let time = if timed {
            let (hour, minute, second) = (
                point.time_s / 3600,
                point.time_s / 60 % 60,
                point.time_s % 60,
            );
            format!("<time>2024-05-01T{hour:02}:{minute:02}:{second:02}Z</time>")
        } else {
            String::new()
        };
        text.push_str(&format!(
            "<trkpt lat=\"{:.6}\" lon=\"{:.6}\"><ele>{:.2}</ele>{time}</trkpt>\n",
            point.lat_deg, point.lon_deg, point.height_m
        ));
    }
    text.push_str("</trkseg></trk></gpx>\n");
    text
}

fn tuples(points: &[Point], open: &str, between: &str, close: &str) -> String {
    let all: Vec<String> = points
        .iter()
        .map(|p| {
            format!(
                "{open}{:.6},{:.6},{:.2}{close}",
                p.lon_deg, p.lat_deg, p.height_m
            )
        })
        .collect();
    all.join(between)
}

fn kml(points: &[Point]) -> String {
    format!(
        "<kml xmlns=\"http://www.opengis.net/kml/2.2\"><Placemark><name>R</name><LineString><coordinates>{}</coordinates></LineString></Placemark></kml>",
        tuples(points, "", " ", "")
    )
}

fn geojson(points: &[Point]) -> String {
    format!(
        "{{\"type\":\"Feature\",\"properties\":{{\"name\":\"R\"}},\"geometry\":{{\"type\":\"LineString\",\"coordinates\":[{}]}}}}",
        tuples(points, "[", ",", "]")
    )
}
