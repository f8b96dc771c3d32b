//! One road ridden several times: its climbs are recognised, and what the rides say together is better than what each says.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod truth;

use hillwright::archive::same::{self, SharedHalt};
use hillwright::archive::{ClimbSeen, Spot, Survey, Trace};
use hillwright::climbs::{self, Rule};
use hillwright::profile::Profile;
use hillwright::profile::sources::Origin;
use hillwright::route::clean;
use truth::recording::{Kind, record};
use truth::road::Road;

/// Standard normal deviate that leaves a twentieth on either side.
const NINETY_PER_CENT: f64 = 1.645;

/// The survey of a ride of the road; each number is another day.
fn ride(road: &Road, kind: Kind, day: u64) -> Survey {
    let on_that_day = Road {
        seed: road.seed + 100_000 * day,
        ..road.clone()
    };
    let route = clean(record(&on_that_day, kind).recording, "bench").unwrap();
    let profile = Profile::from_route(&route).unwrap();
    let found = climbs::find(&profile, &Rule::default());
    Survey::of(&route, &profile, &Origin::default(), &found)
}

/// Errors of grades against the truth (points), and the share of them inside the stated 90 % interval.
#[derive(Default)]
struct Errors {
    squares: f64,
    inside: usize,
    count: usize,
}

impl Errors {
    fn add(&mut self, error_pct: f64, se_pct: f64) {
        self.squares += error_pct * error_pct;
        self.inside += usize::from(error_pct.abs() <= NINETY_PER_CENT * se_pct);
        self.count += 1;
    }

    fn rms_pct(&self) -> f64 {
        (self.squares / self.count as f64).sqrt()
    }
}

/// The true climb that has most of a found one's ends.
fn true_grade_pct(road: &Road, start: (f64, f64), end: (f64, f64)) -> Option<f64> {
    let from_m = road.true_distance_m(start.0, start.1, None);
    let to_m = road.true_distance_m(end.0, end.1, Some(from_m));
    let is_it = |c: &&truth::road::TrueClimb| {
        let over_m = c.end_m.min(to_m) - c.start_m.max(from_m);
        over_m >= 0.8 * (c.end_m.max(to_m) - c.start_m.min(from_m))
    };
    road.true_climbs.iter().find(is_it).map(|c| c.grade_pct)
}

#[test]
fn climbs_of_several_rides_are_recognised_and_their_grades_are_better_together() {
    let (mut alone, mut together) = (Errors::default(), Errors::default());
    let (mut recognised, mut climbs_there) = (0, 0);
    for seed in 7000..7006 {
        let road = Road::draw(seed);
        let rides: Vec<Survey> = (0..4)
            .map(|day| ride(&road, Kind::Barometer, day))
            .collect();
        let refs: Vec<&Survey> = rides.iter().collect();
        climbs_there += road.true_climbs.len();
        for climb in same::climbs(&refs).iter().filter(|c| c.routes == 4) {
            recognised += 1;
            let (start, end) = (climb.start.place(), climb.end.place());
            let Some(truth) = true_grade_pct(
                &road,
                (start.lat_deg, start.lon_deg),
                (end.lat_deg, end.lon_deg),
            ) else {
                continue;
            };
            together.add(climb.grade_pct - truth, climb.grade_se_pct);
            for seen in &climb.seen {
                let own = rides[seen.survey]
                    .climbs
                    .iter()
                    .find(|c| c.climb.id == seen.climb)
                    .unwrap();
                alone.add(own.climb.grade_pct - truth, own.climb.grade_se_pct);
            }
        }
    }
    let told = format!(
        "{recognised} of {climbs_there} seen on all four; alone {:.3} points, together {:.3}; inside {} of {}",
        alone.rms_pct(),
        together.rms_pct(),
        together.inside,
        together.count
    );
    assert!(recognised * 10 >= climbs_there * 8, "{told}");
    // Four independent measurements would halve the error; what all rides find alike, the ends, does not shrink.
    assert!(together.rms_pct() < 0.85 * alone.rms_pct(), "{told}");
    assert!(together.inside * 10 >= together.count * 8, "{told}");
}

#[test]
fn the_way_down_and_the_hill_beside_are_other_climbs() {
    let road = Road::draw(7010);
    let up = ride(&road, Kind::Barometer, 0);
    let mut reversed = record(&road, Kind::Planner).recording;
    reversed.points.reverse();
    let route = clean(reversed, "bench").unwrap();
    let profile = Profile::from_route(&route).unwrap();
    let found = climbs::find(&profile, &Rule::default());
    let down = Survey::of(&route, &profile, &Origin::default(), &found);
    let all = same::climbs(&[&up, &down]);
    assert!(!down.climbs.is_empty());
    assert_eq!(all.len(), up.climbs.len() + down.climbs.len());
}

#[test]
fn a_copy_of_a_ride_adds_nothing() {
    let road = Road::draw(7011);
    let once = ride(&road, Kind::Barometer, 0);
    let copy = once.clone();
    for (single, double) in same::climbs(&[&once])
        .iter()
        .zip(same::climbs(&[&once, &copy]))
    {
        assert_eq!((double.routes, double.rides, double.seen.len()), (1, 1, 2));
        assert_eq!(single.grade_se_pct, double.grade_se_pct);
        assert_eq!(single.trace, double.trace);
    }
}

#[test]
fn a_shared_halt_is_at_its_place_also_on_a_road_whose_foot_was_found_later() {
    let road = Road::draw(7011);
    let route = clean(record(&road, Kind::Barometer).recording, "bench").unwrap();
    let profile = Profile::from_route(&route).unwrap();
    let found = climbs::find(&profile, &Rule::default());
    let whole = Survey::of(&route, &profile, &Origin::default(), &found);
    let mut late = whole.clone();
    let is_long = |c: &ClimbSeen| c.climb.length_m() > 900.0;
    let place = whole.climbs.iter().position(is_long).unwrap();
    let own = &mut late.climbs[place];
    own.climb.from_m += 100.0;
    own.start = Spot::at(&profile, own.climb.from_m);
    own.trace = Trace::of(&profile, own.climb.from_m, own.climb.to_m);
    let surveys = [&whole, &late];
    let mut shared = same::climbs(&surveys);
    assert_eq!(shared[place].seen.len(), 2);
    let first = &whole.climbs[place];
    shared.iter_mut().for_each(|s| s.halts.clear());
    shared[place].halts = vec![SharedHalt {
        from_foot_m: 40.0 * profile.spacing_m,
        place: first.trace.nodes().nth(40).unwrap().place,
        rides: 2,
        of: 2,
    }];
    let expected_m = first.climb.from_m + 40.0 * profile.spacing_m;
    for halts in same::halts_on(&shared, &surveys) {
        assert!(
            (halts[0].at_m - expected_m).abs() < profile.spacing_m,
            "{halts:?} {expected_m}"
        );
    }
}
