//! A plan isn't thrown about by what nobody knows exactly: where a small change moves a rep, the two plans cost nearly the same.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use hillwright::climbs::{self, Climbs, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, Plan, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::Weather;
use hillwright::route::{self, Route};
use support::sample;

/// A plan may cost so much more or less after a change that nobody feels, in seconds for each rep.
const LITTLE_S: f64 = 0.75;

/// What a rep costs more where the rider is one per cent heavier and rides it in the same place and gear: one per cent more power, so much
/// farther from the aim, at the rate for that. In seconds.
fn heavier_s(demand: &Demand) -> f64 {
    let power_w = demand.bands.power_w;
    let farther = 0.01 * power_w.aim / (power_w.to - power_w.aim);
    Rates::default().power * demand.work_s * farther
}

fn demo_route() -> Route {
    let bytes = std::fs::read(sample("big-loop.gpx")).unwrap();
    route::read(&bytes, "big-loop.gpx").unwrap().remove(0)
}

fn plan(route: &Route, mass_share: f64) -> Plan {
    plan_doubting(route, mass_share, |_, _| {})
}

/// A plan where the climbs that were found are doubted somewhere.
fn plan_doubting(route: &Route, mass_share: f64, doubt: impl Fn(&Profile, &mut Climbs)) -> Plan {
    let profile = Profile::from_route(route).unwrap();
    let mut found = climbs::find(&profile, &Rule::default());
    doubt(&profile, &mut found);
    let mut file = parse_rider(EXAMPLE_RIDER).unwrap();
    file.rider.mass_kg *= mass_share;
    let set = parse_set(EXAMPLE_SET).unwrap();
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let demands = Demand::of_set(&set, file.rider.threshold_w, &drive).unwrap();
    matching::plan(&Task {
        profile: &profile,
        climbs: &found,
        halts: &[],
        rider: &file.rider,
        drive: &Drive::new(&file.rider, &file.bike, &file.resistance),
        weather: &Weather::default(),
        demands: &demands,
        warm_up_s: set.warm_up_s,
        rates: &Rates::default(),
        wishes: &Wishes::default(),
    })
}

/// Both fit, cost nearly the same, and ride on the same climbs, but for reps whose other climb costs next to nothing more.
fn assert_alike(before: &Plan, after: &Plan, a_rep_s: f64) {
    assert!(before.fits && after.fits);
    let little_s = a_rep_s * before.reps.len() as f64;
    let change_s = after.cost_s - before.cost_s;
    assert!(
        change_s.abs() <= little_s,
        "cost changes by {change_s:.2} s"
    );
    for (a, b) in before.reps.iter().zip(&after.reps) {
        let stays = a.climbs.iter().any(|climb| b.climbs.contains(climb));
        let as_good = a.others.iter().any(|o| o.more_s <= little_s);
        assert!(
            stays || as_good,
            "rep {} moves from {} to {} m",
            a.rep,
            a.start_m,
            b.start_m
        );
    }
}

#[test]
fn a_rider_one_per_cent_heavier_or_lighter_rides_nearly_the_same_plan() {
    let route = demo_route();
    let before = plan(&route, 1.0);
    let set = parse_set(EXAMPLE_SET).unwrap();
    let file = parse_rider(EXAMPLE_RIDER).unwrap();
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    let a_rep_s = heavier_s(&Demand::of_set(&set, file.rider.threshold_w, &drive).unwrap()[0]);
    assert_alike(&before, &plan(&route, 1.01), a_rep_s);
    assert_alike(&before, &plan(&route, 0.99), a_rep_s);
}

#[test]
fn a_recording_that_starts_five_metres_later_gives_nearly_the_same_plan() {
    let route = demo_route();
    let before = plan(&route, 1.0);
    let mut later = route.clone();
    let cut = later.points.partition_point(|p| p.distance_m < 5.0);
    later.points.drain(..cut);
    let from_m = later.points[0].distance_m;
    for point in &mut later.points {
        point.distance_m -= from_m;
    }
    later.length_m -= from_m;
    assert_alike(&before, &plan(&later, 1.0), LITTLE_S);
}

#[test]
fn a_little_more_noise_gives_nearly_the_same_plan() {
    let route = demo_route();
    let before = plan(&route, 1.0);
    let mut nudged = route.clone();
    // A linear congruential generator (Knuth, The Art of Computer Programming 2, 3.3.4, MMIX): a tenth of a metre up or down.
    let mut state = 1_u64;
    for point in &mut nudged.points {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let share = (state >> 40) as f64 / f64::from(1 << 24);
        point.elevation_m = point.elevation_m.map(|z| z + 0.2 * (share - 0.5));
    }
    assert_alike(&before, &plan(&nudged, 1.0), LITTLE_S);
}

#[test]
fn reps_go_where_the_climbs_are_sure() {
    let route = demo_route();
    let before = plan(&route, 1.0);
    assert!(before.reps.iter().all(|rep| rep.cost.doubt_s == 0.0));
    let (from_m, to_m) = (before.reps[0].start_m, before.reps[0].end_m);
    let after = plan_doubting(&route, 1.0, |profile, found| {
        found.doubt = (0..profile.nodes())
            .map(|node| {
                let at_m = node as f64 * profile.spacing_m;
                if (from_m..to_m).contains(&at_m) {
                    0.5
                } else {
                    0.0
                }
            })
            .collect();
    });
    assert!(after.fits && after.cost_s >= before.cost_s);
    // 120 s of doubt for a rep that stays; one that goes elsewhere may keep a part of it where the rest is better.
    let doubts_s: Vec<f64> = after.reps.iter().map(|rep| rep.cost.doubt_s).collect();
    assert!(doubts_s.iter().all(|s| *s < 40.0), "{doubts_s:?}");
    // Half of each second where one in two roads has a climb, by hand; the run-in is counted too.
    let everywhere = plan_doubting(&route, 1.0, |profile, found| {
        found.doubt = vec![0.5; profile.nodes()];
    });
    for rep in &everywhere.reps {
        assert!(
            (rep.cost.doubt_s - 0.5 * 240.0).abs() < 1e-6,
            "{}",
            rep.cost.doubt_s
        );
    }
}
