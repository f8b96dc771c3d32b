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
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
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
    let demands = Demand::of_set(&set, file.rider.threshold_w).unwrap();
    for turn_round in [false, true] {
        let wishes = Wishes {
            turn_round,
            ..Wishes::default()
        };
        let task = Task {
            profile: &profile,
            climbs: &found,
            rider: &file.rider,
            drive: &drive,
            weather: &Weather::default(),
            demands: &demands,
            warm_up_s: 1200.0,
            rates: &Rates::default(),
            wishes: &wishes,
        };
        let mut times_ms: Vec<f64> = (0..9)
            .map(|_| {
                let start = Instant::now();
                assert!(matching::plan(&task).fits);
                start.elapsed().as_secs_f64() * 1000.0
            })
            .collect();
        times_ms.sort_by(f64::total_cmp);
        eprintln!(
            "turning round {turn_round}: {:.1} ms, at best {:.1} ms",
            times_ms[4], times_ms[0]
        );
        assert!(times_ms[0] < 50.0);
    }
}
