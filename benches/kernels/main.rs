//! How long the parts of a plan take.
//!
//! ```text
//! cargo bench --bench kernels
//! cargo bench --bench kernels -- reading
//! ```
//!
//! Ratios within one run mean something, seconds little: `docs/performance.md` has those that matter.

mod archive;
mod made;
mod reading;
mod reviewing;

use divan::{Bencher, black_box};
use hillwright::climbs::{self, Rule};
use hillwright::gearing::{Band, Bands, Drive, chart};
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
use hillwright::output::drawing::map::Projection;
use hillwright::output::drawing::relief::Relief;
use hillwright::output::sheet::plan::{BestRoute, PlanSheet};
use hillwright::output::{self, Paper};
use hillwright::prescription::{
    EXAMPLE_RIDER, EXAMPLE_SET, Forecast, RiderFile, Set, parse_rider, parse_set,
};
use hillwright::profile::Profile;
use hillwright::profile::sources::Origin;
use hillwright::ride::{Cell, Moment, Pace, Road, Until, Weather, advance};
use hillwright::route::{self, Route};
use hillwright::terrain::Tiles;

fn main() {
    divan::main();
}

/// The demo loop, 97 km at one point a second.
const LOOP: &[u8] = include_bytes!("../../sample-routes/big-loop.gpx");

/// What may fail only if the demo is broken.
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

/// Everything that a plan of the demo is made from.
struct Demo {
    route: Route,
    profile: Profile,
    climbs: climbs::Climbs,
    file: RiderFile,
    drive: Drive,
    set: Set,
    demands: Vec<Demand>,
    weather: Weather,
    rates: Rates,
    wishes: Wishes,
}

impl Demo {
    fn new() -> Fallible<Demo> {
        let (route, (file, drive)) = (demo_route()?, rider()?);
        let (profile, set) = (Profile::from_route(&route)?, parse_set(EXAMPLE_SET)?);
        Ok(Demo {
            climbs: climbs::find(&profile, &Rule::default()),
            demands: Demand::of_set(&set, file.rider.threshold_w, &drive)?,
            weather: Weather::default(),
            rates: Rates::default(),
            wishes: Wishes::default(),
            route,
            profile,
            file,
            drive,
            set,
        })
    }

    fn task(&self) -> Task<'_> {
        Task {
            profile: &self.profile,
            climbs: &self.climbs,
            halts: &[],
            rider: &self.file.rider,
            drive: &self.drive,
            weather: &self.weather,
            demands: &self.demands,
            warm_up_s: self.set.warm_up_s,
            rates: &self.rates,
            wishes: &self.wishes,
        }
    }
}

/// From the bytes to the plan, as `hillwright plan` does before it prints.
#[divan::bench]
fn whole_plan_of_the_loop(bencher: Bencher) {
    let Ok((file, drive)) = rider() else { return };
    let whole = |bytes: &[u8]| -> Fallible<usize> {
        let set = parse_set(EXAMPLE_SET)?;
        let demands = Demand::of_set(&set, file.rider.threshold_w, &drive)?;
        let route = route::read(bytes, "loop")?.remove(0);
        let profile = Profile::from_route(&route)?;
        let climbs = climbs::find(&profile, &Rule::default());
        let task = Task {
            profile: &profile,
            climbs: &climbs,
            halts: &[],
            rider: &file.rider,
            drive: &drive,
            weather: &Weather::default(),
            demands: &demands,
            warm_up_s: set.warm_up_s,
            rates: &Rates::default(),
            wishes: &Wishes::default(),
        };
        Ok(matching::plan(&task).reps.len())
    };
    bencher.bench_local(|| whole(black_box(LOOP)).ok());
}

#[divan::bench]
fn plan_on_the_loop(bencher: Bencher) {
    let Ok(demo) = Demo::new() else { return };
    bencher.bench_local(|| matching::plan(black_box(&demo.task())));
}

/// Its tile is read anew each time, as the program does.
#[divan::bench]
fn sheet_of_the_plan(bencher: Bencher) {
    let Ok(demo) = Demo::new() else { return };
    let plan = matching::plan(&demo.task());
    let entry = output::plan::plan_entry(
        &demo.route,
        &demo.profile,
        &Origin::default(),
        &demo.climbs,
        &demo.file.rider,
        &plan,
    );
    let asked = output::asked::asked_entry(
        "",
        &demo.file,
        demo.set.warm_up_s,
        &demo.demands,
        &Forecast::default(),
    );
    let document = output::plan::document(asked, vec![entry], None, Vec::new(), Vec::new());
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/elevation-cache");
    bencher.bench_local(|| {
        let relief = Relief::under(&Projection::of(&demo.profile), &Tiles::open(folder));
        output::sheet::plan::page(black_box(&PlanSheet {
            document: &document,
            rider: &demo.file,
            drive: &demo.drive,
            set: &demo.set,
            demands: &demo.demands,
            best: Some(BestRoute {
                route: &demo.route,
                profile: &demo.profile,
                weather: &demo.weather,
                plan: &plan,
                relief: relief.as_ref(),
            }),
            paper: &Paper::default(),
        }))
    });
}
