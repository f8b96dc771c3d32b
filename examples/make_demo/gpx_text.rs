//! GPX 1.1, one point a line.

use std::fmt::Write;

use super::earth::Geodetic;

/// A point of a track or a route.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Point {
    pub(crate) place: Geodetic,
    pub(crate) elevation_m: f64,
    /// Seconds since 1970 in Coordinated Universal Time, where the point was recorded.
    pub(crate) time_s: Option<i64>,
}

/// What the points are in the file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Shape {
    /// A track with one segment.
    Track,
    /// A route.
    Route,
}

/// What the file says of itself. None of the texts holds a character that XML would read as its own.
pub(crate) struct Title {
    pub(crate) name: &'static str,
    pub(crate) description: &'static str,
}

/// The file's text.
pub(crate) fn write(title: &Title, shape: Shape, points: &[Point]) -> String {
    let (element, point_element, segment) = match shape {
        Shape::Track => ("trk", "trkpt", true),
        Shape::Route => ("rte", "rtept", false),
    };
    let mut text = String::from(concat!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n",
        "<gpx version=\"1.1\" creator=\"hillwright demo\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n",
    ));
    let time = points
        .first()
        .and_then(|point| point.time_s)
        .map(time_element)
        .unwrap_or_default();
    text += &format!(
        "<metadata><name>{}</name><desc>{}</desc>{time}</metadata>\n",
        title.name, title.description
    );
    text += &format!(
        "<{element}><name>{}</name><type>cycling</type>{}\n",
        title.name,
        if segment { "<trkseg>" } else { "" }
    );
    for point in points {
        write_point(&mut text, point_element, point);
    }
    text += &format!(
        "{}</{element}>\n</gpx>\n",
        if segment { "</trkseg>" } else { "" }
    );
    text
}

fn write_point(text: &mut String, element: &str, point: &Point) {
    let Point {
        place: Geodetic { lat, lon },
        elevation_m,
        time_s,
    } = point;
    let time = time_s.map(time_element).unwrap_or_default();
    let elevation_m = (elevation_m * 10.0).round() / 10.0 + 0.0;
    // Writing to a string can't fail.
    let _ = writeln!(
        text,
        "<{element} lat=\"{lat:.6}\" lon=\"{lon:.6}\"><ele>{elevation_m:.1}</ele>{time}</{element}>"
    );
}

fn time_element(time_s: i64) -> String {
    jiff::Timestamp::from_second(time_s)
        .map(|time| format!("<time>{time}</time>"))
        .unwrap_or_default()
}
