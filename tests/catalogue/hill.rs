//! A road with one climb, as a file in each format.

/// Degrees of latitude in ten metres of meridian at 45° (WGS 84: 111.13 km a degree).
const TEN_METRES_DEG: f64 = 10.0 / 111_130.0;

/// A point of a road; texts, so that a case can make any of them wrong.
#[derive(Clone)]
pub(crate) struct Point {
    pub(crate) lat: String,
    pub(crate) lon: String,
    pub(crate) ele: String,
    pub(crate) time: String,
}

/// Metres above the start after this many metres: a kilometre at 0.5 %, 1,500 m at 6 %, 800 m at 0.5 %.
pub(crate) fn height_m(at_m: f64) -> f64 {
    0.005 * at_m + 0.055 * (at_m - 1000.0).clamp(0.0, 1500.0)
}

/// Metres of road.
pub(crate) const LENGTH_M: f64 = 3300.0;

/// The road northward from a place, a point every ten metres, each two seconds after the last.
pub(crate) fn from(lat_deg: f64, lon_deg: f64, height0_m: f64) -> Vec<Point> {
    let points = (LENGTH_M / 10.0) as usize;
    (0..=points)
        .map(|i| {
            let second = 2 * i;
            Point {
                lat: format!("{:.7}", lat_deg + i as f64 * TEN_METRES_DEG),
                lon: format!("{lon_deg:.7}"),
                ele: format!("{:.2}", height0_m + height_m(10.0 * i as f64)),
                time: format!(
                    "2024-05-01T{:02}:{:02}:{:02}Z",
                    8 + second / 3600,
                    second / 60 % 60,
                    second % 60
                ),
            }
        })
        .collect()
}

/// The road at 45° north.
pub(crate) fn points() -> Vec<Point> {
    from(45.0, 7.0, 300.0)
}

/// The road with one kind of text changed, by the number of the point.
pub(crate) fn changed(change: impl Fn(usize, &mut Point)) -> String {
    let mut points = points();
    points
        .iter_mut()
        .enumerate()
        .for_each(|(i, p)| change(i, p));
    gpx(&points)
}

fn element(point: &Point) -> String {
    let Point {
        lat,
        lon,
        ele,
        time,
    } = point;
    let ele = if ele.is_empty() {
        String::new()
    } else {
        format!("<ele>{ele}</ele>")
    };
    let time = if time.is_empty() {
        String::new()
    } else {
        format!("<time>{time}</time>")
    };
    format!("<trkpt lat=\"{lat}\" lon=\"{lon}\">{ele}{time}</trkpt>\n")
}

/// The points as track points.
pub(crate) fn elements(points: &[Point]) -> String {
    points.iter().map(element).collect()
}

/// A GPX file with this inside its track.
pub(crate) fn track(inside: &str) -> String {
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"hand\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\"><trk>{inside}</trk></gpx>\n"
    )
}

/// A GPX file of the points.
pub(crate) fn gpx(points: &[Point]) -> String {
    track(&format!("<trkseg>{}</trkseg>", elements(points)))
}

/// The hill under a name.
pub(crate) fn named(name: &str) -> String {
    track(&format!(
        "<name>{name}</name><trkseg>{}</trkseg>",
        elements(&points())
    ))
}

/// The hill's GPX file.
pub(crate) fn whole() -> String {
    gpx(&points())
}

/// The hill's coordinates for GeoJSON.
pub(crate) fn coordinates() -> String {
    let inside: Vec<String> = points()
        .iter()
        .map(|p| format!("[{},{},{}]", p.lon, p.lat, p.ele))
        .collect();
    format!("[{}]", inside.join(","))
}

/// The hill's coordinates for KML.
pub(crate) fn tuples() -> String {
    let inside: Vec<String> = points()
        .iter()
        .map(|p| format!("{},{},{}", p.lon, p.lat, p.ele))
        .collect();
    inside.join(" ")
}
