//! KML (OGC 2.3): the route as a line, and a placemark at each rep's start, shifts and stop.

use std::fmt::Write;

use maud::{Markup, PreEscaped, html};

use super::stretch::{Position, parts};
use super::{Ride, Waypoint};

/// A file with all rides.
pub fn kml(rides: &[Ride]) -> String {
    let remarks = rides.first().map_or(Vec::new(), Ride::remarks);
    let name = rides.first().map_or(String::new(), Ride::name);
    let markup = html! {
        (PreEscaped("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"))
        kml xmlns="http://www.opengis.net/kml/2.2" {
            Document {
                name { (name) }
                @if !remarks.is_empty() { description { (remarks.join(" ")) } }
                @for ride in rides {
                    (line(ride))
                    @for waypoint in ride.waypoints() { (placemark(&waypoint)) }
                }
            }
        }
    };
    markup.into_string() + "\n"
}

fn line(ride: &Ride) -> Markup {
    let all: Vec<Position> = ride.route.points.iter().map(Position::from).collect();
    let parts = parts(&all);
    html! {
        Placemark {
            name { (ride.name()) }
            @if let [part] = &parts[..] { (line_string(part)) } @else {
                MultiGeometry { @for part in &parts { (line_string(part)) } }
            }
        }
    }
}

fn line_string(part: &[Position]) -> Markup {
    let mut text = String::new();
    for p in part {
        // Writing to a string can't fail.
        let _ = match p.elevation_m {
            Some(z) => write!(text, "{},{},{z} ", p.lon_deg, p.lat_deg),
            None => write!(text, "{},{} ", p.lon_deg, p.lat_deg),
        };
    }
    html! { LineString { tessellate { "1" } coordinates { (text.trim_end()) } } }
}

fn placemark(waypoint: &Waypoint) -> Markup {
    let at = &waypoint.at;
    html! {
        Placemark {
            name { (waypoint.name) }
            description { (waypoint.about) }
            Point { coordinates { (at.lon) "," (at.lat) "," (at.elevation_m) } }
        }
    }
}
