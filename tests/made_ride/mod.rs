//! Rides whose reps, masses and drag are known: a rider with a script on the demo's big loop, and the device that records it.
//!
//! Nothing here uses the code that it judges. The equations of motion are written down again from Martin et al. (1998).
#![allow(
    dead_code,
    clippy::unwrap_used,
    reason = "each test uses a part; a test that panics has failed"
)]

pub(crate) mod device;
pub(crate) mod rider;

#[path = "../../examples/make_demo/main.rs"]
mod make_demo;

pub(crate) use make_demo::scenario::{World, world};

/// The distance along the loop of a place, near a guess.
pub(crate) fn distance_near_m(world: &World, lat: f64, lon: f64, guess_m: f64) -> f64 {
    let road = &world.big_loop;
    let [x, y] = world.plane.to_plane(make_demo_place(lat, lon));
    let apart = |m: f64| {
        let [a, b] = road.place(m);
        (a - x).hypot(b - y)
    };
    let from = (guess_m - 2000.0).max(0.0) as usize;
    let to = (guess_m + 2000.0).min(road.length_m()) as usize;
    (from..=to)
        .map(|m| m as f64)
        .min_by(|a, b| apart(*a).total_cmp(&apart(*b)))
        .unwrap()
}

/// Latitude and longitude of a distance along the loop.
pub(crate) fn lat_lon(world: &World, distance_m: f64) -> (f64, f64) {
    let place = world.plane.to_geodetic(world.big_loop.place(distance_m));
    (place.lat, place.lon)
}

fn make_demo_place(lat: f64, lon: f64) -> make_demo::earth::Geodetic {
    make_demo::earth::Geodetic { lat, lon }
}
