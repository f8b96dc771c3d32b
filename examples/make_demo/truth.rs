//! The climbs as they were built, for checks of what is found on them.

use serde_json::{Value, json};

use super::earth::TangentPlane;
use super::pieces::Kind;
use super::profile::{TrueClimb, ascent_m};
use super::road::Road;

/// The climbs of the loop as JSON: those with one grade under `steady`, the others under `others`.
pub(crate) fn document(road: &Road, climbs: &[TrueClimb], plane: &TangentPlane) -> Value {
    let of = |wanted: fn(Kind) -> bool| -> Vec<Value> {
        climbs
            .iter()
            .filter(|climb| wanted(climb.kind))
            .map(|climb| climb_value(road, climb, plane))
            .collect()
    };
    json!({
        "route": "big-loop.gpx",
        "length_m": road.length_m(),
        "ascent_m": tenths(ascent_m(&road.elevations_m)),
        "steady": of(|kind| kind == Kind::Steady),
        "others": of(|kind| kind != Kind::Steady),
    })
}

fn climb_value(road: &Road, climb: &TrueClimb, plane: &TangentPlane) -> Value {
    let place = |distance_m: f64| {
        let place = plane.to_geodetic(road.place(distance_m));
        let degrees = |angle: f64| (angle * 1e6).round() / 1e6;
        json!({
            "distance_m": distance_m,
            "lat": degrees(place.lat),
            "lon": degrees(place.lon),
            "elevation_m": tenths(road.elevation_m(distance_m)),
        })
    };
    let gain_m = road.elevation_m(climb.end_m) - road.elevation_m(climb.start_m);
    json!({
        "name": climb.name,
        "shape": match climb.kind {
            Kind::Steepening => "steepening",
            Kind::Lumpy => "mixed",
            _ => "even",
        },
        "start_m": climb.start_m,
        "end_m": climb.end_m,
        "grade_pct": (gain_m / (climb.end_m - climb.start_m) * 1e4).round() / 100.0,
        "start": place(climb.start_m),
        "end": place(climb.end_m),
    })
}

fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
