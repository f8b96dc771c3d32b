//! GeoJSON (RFC 7946): each route, its climbs and its reps as lines with their properties.
//!
//! A property `hillwright` says what a line is: `route`, `climb` or `rep`; the reader takes the routes and leaves out the
//! stretches of them.

use std::io;

use serde::Serialize;
use serde_json::{Map, Value, json};

use super::Ride;
use super::stretch::{Position, between, bounds, of_trace, parts};
use crate::archive::Trace;
use crate::output::document::NearDocument;

/// A file with all rides.
///
/// # Errors
/// None that can happen: the entries are plain records.
pub fn geojson(rides: &[Ride]) -> io::Result<String> {
    let mut features = Vec::new();
    let mut all: Vec<Position> = Vec::new();
    for ride in rides {
        let route = ride.route;
        let line: Vec<Position> = route.points.iter().map(Position::from).collect();
        let mut about = json!({
            "name": ride.name(), "source": super::clean(&route.source), "length_m": crate::output::rounded(route.length_m, 1),
            "is_loop": route.is_loop, "laps": ride.laps,
        });
        if let Some(started_s) = route.started_s {
            let times_s = route.points.iter().map(|p| p.time_s.map(to_ms));
            about["started_s"] = json!(to_ms(started_s));
            about["times_s"] = json!(times_s.collect::<Vec<_>>());
        }
        features.push(feature("route", about, &line));
        for climb in ride.climbs {
            let name = format!("Climb {}", climb.id);
            let line = between(route, climb.start.distance_m, climb.end.distance_m);
            features.push(feature("climb", named(name, climb)?, &line));
        }
        for rep in ride.reps {
            let name = format!("Rep {}", rep.rep);
            let line = between(route, rep.start.distance_m, rep.end.distance_m);
            features.push(feature("rep", named(name, rep)?, &line));
        }
        all.extend(line);
    }
    let mut document =
        json!({ "type": "FeatureCollection", "bbox": bounds(&all), "features": features });
    if let Some(cautions) = rides.first().map(|r| r.cautions).filter(|c| !c.is_empty()) {
        document["cautions"] = json!(cautions);
    }
    if let Some(ride) = rides.first().filter(|r| r.plan.is_some()) {
        document["remarks"] = json!(ride.remarks());
    }
    Ok(serde_json::to_string(&document)? + "\n")
}

/// A file with the climbs around a place, each with its line, in the same order.
///
/// # Errors
/// None that can happen: the entries are plain records.
pub fn near(document: &NearDocument, lines: &[&Trace]) -> io::Result<String> {
    let mut features = Vec::new();
    let mut all: Vec<Position> = Vec::new();
    for (climb, line) in document.climbs.iter().zip(lines) {
        let line = of_trace(line);
        let name = format!("Climb {}", climb.id);
        features.push(feature("climb", named(name, climb)?, &line));
        all.extend(line);
    }
    let mut document = json!({ "type": "FeatureCollection", "features": features });
    if !all.is_empty() {
        document["bbox"] = json!(bounds(&all));
    }
    Ok(serde_json::to_string(&document)? + "\n")
}

/// Seconds, to a thousandth.
fn to_ms(seconds: f64) -> f64 {
    crate::output::rounded(seconds, 3)
}

/// An entry's fields, with a name.
fn named(name: String, entry: &impl Serialize) -> io::Result<Value> {
    let mut fields = serde_json::to_value(entry)?;
    fields["name"] = Value::String(name);
    Ok(fields)
}

fn feature(kind: &str, about: Value, line: &[Position]) -> Value {
    let mut properties = Map::new();
    properties.insert("hillwright".to_owned(), json!(kind));
    if let Value::Object(fields) = about {
        properties.extend(fields);
    }
    let parts: Vec<Vec<Value>> = parts(line)
        .iter()
        .map(|part| part.iter().map(position).collect())
        .collect();
    let geometry = match &parts[..] {
        [part] => json!({ "type": "LineString", "coordinates": part }),
        parts => json!({ "type": "MultiLineString", "coordinates": parts }),
    };
    json!({ "type": "Feature", "bbox": bounds(line), "properties": properties, "geometry": geometry })
}

fn position(p: &Position) -> Value {
    match p.elevation_m {
        Some(z) => json!([p.lon_deg, p.lat_deg, z]),
        None => json!([p.lon_deg, p.lat_deg]),
    }
}
