//! GeoJSON (RFC 7946): line strings, bare, in a feature, or in a collection.

use super::faults::{Faults, Positions, counted, in_short};
use super::geojson_coordinates::{Coordinates, Position};
use super::geojson_object::{Object, ObjectSeed, Properties, Room};
use super::{Bounds, Recording, RouteError, xml};
use serde::de::DeserializeSeed;
use std::collections::BTreeMap;

#[derive(Default)]
struct Found {
    recordings: Vec<Recording>,
    positions: Positions,
    empty_lines: usize,
    /// Times of the next line's positions, where this program wrote them.
    times_s: Vec<Option<f64>>,
    /// Climbs and reps, which lie on a route that is in the file as well.
    stretches: usize,
    /// How many geometries there are of each type that is no line.
    others: BTreeMap<String, usize>,
}

/// All line strings in file order; the parts of a `MultiLineString` are segments of one.
pub(super) fn parse(text: &str, bounds: &Bounds) -> Result<Vec<Recording>, RouteError> {
    let mut room = Room::new(bounds);
    let mut reader = serde_json::Deserializer::from_str(text);
    let read = ObjectSeed(&mut room).deserialize(&mut reader);
    let root = read.and_then(|root| reader.end().map(|()| root));
    let root = root.map_err(|error| match room.is_full {
        true => RouteError::TooManyPoints {
            most: bounds.points,
        },
        false => RouteError::Json {
            what: in_short(&error.to_string()),
        },
    })?;
    let mut found = Found::default();
    let mut waiting = vec![(root, None)];
    while let Some((object, name)) = waiting.pop() {
        found.visit(object, name, &mut waiting)?;
    }
    found.finish()
}

/// Seconds since 1970 of each position.
fn times(properties: Properties) -> Vec<Option<f64>> {
    let Some(started_s) = properties.started_s else {
        return Vec::new();
    };
    let since = |time_s: Option<f64>| time_s.map(|time_s| started_s + time_s);
    properties.times_s.into_iter().map(since).collect()
}

impl Found {
    /// Takes an object's line, and puts the objects inside it on the pile in such an order that the first comes off first.
    fn visit(
        &mut self,
        object: Object,
        name: Option<String>,
        waiting: &mut Vec<(Object, Option<String>)>,
    ) -> Result<(), RouteError> {
        match object.kind.as_deref() {
            Some("FeatureCollection") => waiting.extend(
                object
                    .features
                    .into_iter()
                    .rev()
                    .map(|feature| (feature, None)),
            ),
            Some("Feature") => {
                let properties = object.properties;
                let is = properties.hillwright.as_deref();
                if matches!(is, Some("climb" | "rep")) {
                    self.stretches += 1;
                    return Ok(());
                }
                let name = properties.name.as_deref().and_then(xml::name);
                if is == Some("route") {
                    self.times_s = times(properties);
                }
                waiting.extend(object.geometry.map(|geometry| (*geometry, name)));
            }
            Some("GeometryCollection") => {
                waiting.extend(
                    object
                        .geometries
                        .into_iter()
                        .rev()
                        .map(|geometry| (geometry, name.clone())),
                );
            }
            Some(kind @ ("LineString" | "MultiLineString")) => {
                let depth = if kind == "LineString" { 2 } else { 3 };
                if object.coordinates.depth > depth {
                    return Err(RouteError::UnknownJson {
                        what: format!("a {kind} has coordinates nested too deep"),
                    });
                }
                self.take_line(&object.coordinates, name);
            }
            Some(kind @ ("Point" | "MultiPoint" | "Polygon" | "MultiPolygon")) => {
                *self.others.entry(kind.to_owned()).or_default() += 1;
            }
            Some(kind) => {
                let seen = super::faults::quoted(kind);
                return Err(RouteError::UnknownJson {
                    what: format!("an object has the type {seen}"),
                });
            }
            None => {
                return Err(RouteError::UnknownJson {
                    what: "an object has no \"type\"".into(),
                });
            }
        }
        Ok(())
    }

    fn take_line(&mut self, coordinates: &Coordinates, name: Option<String>) {
        let mut recording = Recording {
            name,
            ..Recording::default()
        };
        let mut faults = Faults::default();
        for (part, positions) in coordinates.parts().enumerate() {
            let start = recording.points.len();
            for (i, position) in positions.iter().enumerate() {
                let spot = || format!("at position {} of part {}: {position}", i + 1, part + 1);
                let Position {
                    lon,
                    lat,
                    elevation,
                    ..
                } = *position;
                let Some(mut point) = self.positions.place(lat, lon, &mut faults, spot) else {
                    continue;
                };
                point.elevation_m = elevation;
                if position.bad_elevation {
                    faults.elevations.add(spot);
                }
                recording.points.push(point);
            }
            if recording.points.len() > start {
                recording.segment_starts.push(start);
            }
        }
        if recording.points.is_empty() {
            self.empty_lines += 1;
            return;
        }
        let times_s = std::mem::take(&mut self.times_s);
        if times_s.len() == recording.points.len() {
            for (point, time_s) in recording.points.iter_mut().zip(times_s) {
                point.time_s = time_s;
            }
        }
        faults.tell(&mut recording.warnings);
        self.recordings.push(recording);
    }

    fn finish(mut self) -> Result<Vec<Recording>, RouteError> {
        self.positions.check()?;
        let mut left_out: Vec<String> = self
            .others
            .iter()
            .map(|(kind, count)| format!("{count} × {kind}"))
            .collect();
        if self.empty_lines > 0 {
            left_out.push(counted(
                self.empty_lines,
                "line without points",
                "lines without points",
            ));
        }
        if self.stretches > 0 {
            left_out.push(counted(
                self.stretches,
                "climb or rep on its route",
                "climbs and reps on its routes",
            ));
        }
        let left_out = left_out.join(", ");
        match self.recordings.first_mut() {
            None if left_out.is_empty() => Err(RouteError::NoLine {
                what: "no LineString".into(),
            }),
            None => Err(RouteError::NoLine {
                what: format!("{left_out}, but no LineString"),
            }),
            Some(first) => {
                if !left_out.is_empty() {
                    first
                        .warnings
                        .push(format!("{left_out} in this file left out"));
                }
                Ok(self.recordings)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn parse(text: &str) -> Result<Vec<Recording>, RouteError> {
        super::parse(text, &Bounds::default())
    }

    fn one(text: &str) -> Recording {
        let mut recordings = parse(text).unwrap();
        assert_eq!(recordings.len(), 1);
        recordings.remove(0)
    }

    #[test]
    fn a_bare_line_string_has_longitude_latitude_and_elevation() {
        let recording = one(r#"{"coordinates":[[7.5,45.5,800.5],[7.6,45.6]],"type":"LineString"}"#);
        assert_eq!(
            (recording.points[0].lat_deg, recording.points[0].lon_deg),
            (45.5, 7.5)
        );
        assert_eq!(recording.points[0].elevation_m, Some(800.5));
        assert_eq!(recording.points[1].elevation_m, None);
        assert_eq!(recording.segment_starts, [0]);
    }

    #[test]
    fn features_collections_and_multi_lines_come_in_file_order_with_names() {
        let recordings = parse(
            r#"{"type":"FeatureCollection","features":[
            {"type":"Feature","properties":{"name":"One","more":[1]},"geometry":
              {"type":"MultiLineString","coordinates":[[[1,1],[1,2]],[],[[1,3],[1,4]]]}},
            {"type":"Feature","properties":null,"geometry":null},
            {"type":"Feature","properties":{"name":7},"geometry":{"type":"GeometryCollection","geometries":[
              {"type":"Point","coordinates":[1,1]},{"type":"LineString","coordinates":[[2,1],[2,2]]},
              {"type":"LineString","coordinates":[[3,1],[3,2]]}]}}]}"#,
        )
        .unwrap();
        let first_longitudes: Vec<f64> = recordings
            .iter()
            .map(|recording| recording.points[0].lon_deg)
            .collect();
        assert_eq!(first_longitudes, [1.0, 2.0, 3.0]);
        assert_eq!(recordings[0].name.as_deref(), Some("One"));
        assert_eq!(recordings[0].segment_starts, [0, 2]);
        assert_eq!(recordings[0].warnings, ["1 × Point in this file left out"]);
        assert_eq!(recordings[1].name, None);
    }

    #[test]
    fn climbs_and_reps_of_a_route_are_no_routes() {
        let recording = one(r#"{"type":"FeatureCollection","features":[
            {"type":"Feature","properties":{"name":"Loop","hillwright":"route","started_s":1000,"times_s":[0,null,7.5]},"geometry":{"type":"LineString","coordinates":[[1,1],[1,2],[1,3]]}},
            {"type":"Feature","properties":{"name":"Rep 1","hillwright":"rep"},"geometry":{"type":"LineString","coordinates":[[1,1],[1,2]]}}]}"#);
        assert_eq!(recording.name.as_deref(), Some("Loop"));
        let times_s: Vec<Option<f64>> = recording.points.iter().map(|p| p.time_s).collect();
        assert_eq!(times_s, [Some(1000.0), None, Some(1007.5)]);
        assert_eq!(
            recording.warnings,
            ["1 climb or rep on its route in this file left out"]
        );
    }

    #[test]
    fn bad_positions_are_left_out_and_told() {
        let recording = one(
            r#"{"type":"LineString","coordinates":[[1,1,"x"],[null,2],[1,95],[1,3,null],[1,4],[1,5],[1]]}"#,
        );
        assert_eq!(recording.points.len(), 4);
        assert_eq!(
            recording.warnings,
            [
                "3 points without a usable position left out (the first at position 2 of part 1: [?, 2])",
                "1 elevation not a number, left out (the first at position 1 of part 1: [1, 1, ?])",
            ]
        );
    }

    #[test]
    fn swapped_coordinates_and_other_json_are_told() {
        let swapped = parse(r#"{"type":"LineString","coordinates":[[45,121.5],[45,121.6]]}"#)
            .unwrap_err()
            .to_string();
        assert!(
            swapped.contains("swapped") && swapped.contains("position 1"),
            "{swapped}"
        );
        for (text, told) in [
            (r#"{"a":1}"#, "no \"type\""),
            (r#"{"type":"Topology"}"#, "Topology"),
            (
                r#"{"type":"Point","coordinates":[1,2]}"#,
                "1 × Point, but no LineString",
            ),
            (
                r#"{"type":"FeatureCollection","features":[]}"#,
                "no LineString",
            ),
            (
                r#"{"type":"LineString","coordinates":[[1,2],[3"#,
                "line 1 column",
            ),
            (
                r#"{"type":"LineString","coordinates":[[[[1,2]]]]}"#,
                "too deep",
            ),
        ] {
            let error = parse(text).unwrap_err().to_string();
            assert!(error.contains(told), "{error}");
        }
    }

    #[test]
    fn deep_nesting_is_an_error() {
        let text = format!(
            r#"{{"type":"LineString","coordinates":{}"#,
            "[".repeat(100_000)
        );
        assert!(parse(&text).is_err());
    }
}
