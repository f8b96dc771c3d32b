//! How long the parts of a plan take.
//!
//! ```text
//! cargo bench --bench kernels
//! ```

use divan::{Bencher, black_box};
use hillwright::climbs::{self, Rule};
use hillwright::gearing::{Band, Bands, Drive, chart};
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, EXAMPLE_SET, RiderFile, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::{Cell, Moment, Pace, Road, Until, Weather, advance};
use hillwright::route::{self, Route};

fn main() {
    divan::main();
}

/// The demo loop, 97 km at one point a second.
const LOOP: &[u8] = include_bytes!("../sample-routes/big-loop.gpx");

type Fallible<T> = Result<T, Box<dyn std::error::Error>>;

fn demo_route() -> Fallible<Route> {
    Ok(route::read(LOOP, "loop")?.remove(0))
}

fn rider() -> Fallible<(RiderFile, Drive)> {
    let file = parse_rider(EXAMPLE_RIDER)?;
    let drive = Drive::new(&file.rider, &file.bike, &file.resistance);
    Ok((file, drive))
}

/// 5 km whose grade wanders between 3 and 9 %.
fn climb(drive: &Drive) -> Road {
    let grade = |i: usize| 0.06 + 0.03 * (i as f64 / 7.0).sin();
    let cell = |i| Cell::new(&drive.system, 10.0, grade(i), 1.2, 9.81, 0.5);
    Road {
        spacing_m: 10.0,
        cells: (0..500).map(cell).collect(),
        limit_ms: vec![f64::INFINITY; 500],
        inertial_mass_kg: drive.system.inertial_mass_kg(),
        drivetrain_efficiency: drive.system.resistance.drivetrain_efficiency,
    }
}

#[divan::bench]
fn ride_a_climb_of_5_km(bencher: Bencher) {
    let Ok((_, drive)) = rider() else { return };
    let road = climb(&drive);
    let start = Moment {
        distance_m: 0.0,
        time_s: 0.0,
        speed_ms: 6.0,
    };
    bencher.bench_local(|| {
        advance(
            black_box(&road),
            start,
            &Pace::constant(220.0),
            Until::Distance(5000.0),
            |_| {},
        )
    });
}

#[divan::bench]
fn gear_chart(bencher: Bencher) {
    let Ok((_, drive)) = rider() else { return };
    let bands = Bands {
        power_w: Band {
            from: 190.0,
            to: 225.0,
            aim: 207.5,
        },
        cadence_rpm: Band {
            from: 50.0,
            to: 60.0,
            aim: 55.0,
        },
        torque_nm: None,
    };
    let grades: Vec<f64> = (3..=12).map(f64::from).collect();
    bencher.bench_local(|| {
        chart::chart(
            black_box(&drive),
            &chart::Surroundings::default(),
            &bands,
            &grades,
        )
    });
}

#[divan::bench]
fn read_the_loop(bencher: Bencher) {
    bencher.bench_local(|| route::read(black_box(LOOP), "loop"));
}

#[divan::bench]
fn profile_of_the_loop(bencher: Bencher) {
    let Ok(route) = demo_route() else { return };
    bencher.bench_local(|| Profile::from_route(black_box(&route)));
}

#[divan::bench]
fn climbs_of_the_loop(bencher: Bencher) {
    let Ok(Ok(profile)) = demo_route().map(|r| Profile::from_route(&r)) else {
        return;
    };
    bencher.bench_local(|| climbs::find(black_box(&profile), &Rule::default()));
}

#[divan::bench]
fn plan_on_the_loop(bencher: Bencher) {
    let (Ok(Ok(profile)), Ok((file, drive))) =
        (demo_route().map(|r| Profile::from_route(&r)), rider())
    else {
        return;
    };
    let Ok(set) = parse_set(EXAMPLE_SET) else {
        return;
    };
    let Ok(demands) = Demand::of_set(&set, file.rider.threshold_w) else {
        return;
    };
    let found = climbs::find(&profile, &Rule::default());
    let (weather, rates, wishes) = (Weather::default(), Rates::default(), Wishes::default());
    let task = Task {
        profile: &profile,
        climbs: &found,
        rider: &file.rider,
        drive: &drive,
        weather: &weather,
        demands: &demands,
        warm_up_s: set.warm_up_s,
        rates: &rates,
        wishes: &wishes,
    };
    bencher.bench_local(|| matching::plan(black_box(&task)));
}
