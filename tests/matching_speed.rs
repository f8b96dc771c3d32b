//! How long a plan takes. Run by `cargo test --release --test matching_speed -- --ignored --nocapture`.
#![allow(
    clippy::unwrap_used,
    clippy::print_stderr,
    reason = "a test that tells a time"
)]

mod support;

use std::time::Instant;

use hillwright::climbs::{self, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::ground::Ground;
use hillwright::matching::{self, Demand, Rates, Task, Wishes, candidates};
use hillwright::prescription::{BlockFlags, EXAMPLE_RIDER, block_from_flags, parse_rider};
use hillwright::profile::Profile;
use hillwright::ride::Weather;
use hillwright::route::{self, Route};
use support::sample;

/// The demo's loop ridden twice, as one recording of 195 km.
fn long_route() -> Route {
    let bytes = std::fs::read(sample("big-loop.gpx")).unwrap();
    let mut route = route::read(&bytes, "big-loop.gpx").unwrap().remove(0);
    let again: Vec<_> = route
        .points
        .iter()
        .skip(1)
        .map(|p| {
            let mut p = *p;
            p.distance_m += route.length_m;
            p
        })
        .collect();
    route.points.extend(again);
    route.length_m *= 2.0;
    route
}

#[test]
#[ignore = "a time, which depends on the machine"]
fn twenty_reps_on_two_hundred_kilometres_take_less_than_fifty_milliseconds() {
    let profile = Profile::from_route(&long_route()).unwrap();
    let found = climbs::find(&profile, &Rule::default());
    let file = parse_rider(EXAMPLE_RIDER).unwrap();
    let text = |t: &str| Some(t.to_owned());
    let set = block_from_flags(&BlockFlags {
        reps: text("20"),
        work: text("4:00"),
        rest: text("4:00..9:00"),
        power: text("190..225"),
        cadence: text("50..60"),
        ..BlockFlags::default()
    })
    .unwrap();
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let demands = Demand::of_set(&set, file.rider.threshold_w, &drive).unwrap();
    for turn_round in [false, true] {
        let wishes = Wishes {
            turn_round,
            ..Wishes::default()
        };
        let task = Task {
            profile: &profile,
            climbs: &found,
            halts: &[],
            rider: &file.rider,
            drive: &drive,
            weather: &Weather::default(),
            demands: &demands,
            warm_up_s: 1200.0,
            rates: &Rates::default(),
            wishes: &wishes,
        };
        let ground = Ground::new(&task);
        eprintln!("turning round: {turn_round}");
        least_ms("clocks", || drop(Ground::new(&task)));
        least_ms("candidates", || {
            drop(candidates::list(&task, &ground.road, &demands[0]));
        });
        let whole_ms = least_ms("whole plan", || assert!(matching::plan(&task).fits));
        assert!(whole_ms < 50.0);
    }
}

/// The shortest time of several: what the work takes when nothing else runs.
fn least_ms(what: &str, mut work: impl FnMut()) -> f64 {
    let times_ms = (0..25).map(|_| {
        let start = Instant::now();
        work();
        start.elapsed().as_secs_f64() * 1000.0
    });
    let least_ms = times_ms.fold(f64::INFINITY, f64::min);
    eprintln!("  {what}: {least_ms:.1} ms");
    least_ms
}
