#![no_main]
//! From the bytes of a road's file to a plan, as the program goes: all that must hold, holds, and the document is what its schema says.

use std::sync::LazyLock;

use arbitrary::Arbitrary;
use hillwright::climbs::{self, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
use hillwright::output::{self, Paper, files::Ride};
use hillwright::prescription::{EXAMPLE_RIDER, Forecast, RiderFile, parse_rider, parse_set};
use hillwright::profile::sources::{self, Wanted};
use hillwright::ride::Weather;
use hillwright::terrain::Tiles;
use hillwright_fuzz::road::RoadFile;
use hillwright_fuzz::{check_climbs, check_plan, check_profile, check_route};
use jsonschema::Validator;
use serde_json::Value;

#[derive(Debug, Arbitrary)]
struct Asked {
    reps: u8,
    work: u8,
    rest: u8,
    turn_round: bool,
    road: RoadFile,
}

static RIDER: LazyLock<RiderFile> = LazyLock::new(|| parse_rider(EXAMPLE_RIDER).unwrap());
static SCHEMA: LazyLock<Validator> = LazyLock::new(|| {
    let schema: Value =
        serde_json::from_str(include_str!("../../docs/schema/plan.schema.json")).unwrap();
    jsonschema::validator_for(&schema).unwrap()
});

fn demands(asked: &Asked, drive: &Drive) -> (Vec<Demand>, f64) {
    let (work_s, rest_s) = (10 + 2 * u32::from(asked.work), 2 * u32::from(asked.rest));
    let set = parse_set(&format!(
        "warm_up = \"1:00\"\n[[block]]\nreps = {}\nwork = \"{}:{:02}\"\nrecovery = {{ at_least = \"{}:{:02}\" }}\n\
         power_w = {{ from = 150, to = 240 }}\ncadence_rpm = {{ from = 45, to = 70 }}\n",
        1 + asked.reps % 5,
        work_s / 60,
        work_s % 60,
        rest_s / 60,
        rest_s % 60
    ))
    .unwrap();
    (
        Demand::of_set(&set, RIDER.rider.threshold_w, drive).unwrap(),
        set.warm_up_s,
    )
}

libfuzzer_sys::fuzz_target!(|asked: Asked| {
    let Ok(routes) = hillwright::route::read(&asked.road.bytes(), "any") else {
        return;
    };
    let rider = &RIDER.rider;
    let drive = Drive::new(rider, &RIDER.bike, &RIDER.resistance);
    let (demands, warm_up_s) = demands(&asked, &drive);
    let (weather, rates) = (Weather::default(), Rates::default());
    let wishes = Wishes {
        turn_round: asked.turn_round,
        ..Wishes::default()
    };
    for route in routes.iter().take(3) {
        check_route(route);
        // What is longer takes longer and shows nothing more.
        if route.length_m > 30_000.0 {
            continue;
        }
        let Ok(sourced) = sources::profile(route, Wanted::Recorded, &Tiles::open("none")) else {
            continue;
        };
        let profile = &sourced.profile;
        check_profile(profile);
        let climbs = climbs::find(profile, &Rule::default());
        check_climbs(&climbs, profile, &Rule::default());
        let plan = matching::plan(&Task {
            profile,
            climbs: &climbs,
            halts: &[],
            rider,
            drive: &drive,
            weather: &weather,
            demands: &demands,
            warm_up_s,
            rates: &rates,
            wishes: &wishes,
        });
        check_plan(&plan, &demands, &climbs, profile);
        let entry =
            output::plan::plan_entry(route, profile, &sourced.origin, &climbs, rider, &plan);
        let still = Forecast::default();
        let asked_entry = output::asked::asked_entry("a", &RIDER, warm_up_s, &demands, &still);
        let document =
            output::plan::document(asked_entry, vec![entry], None, Vec::new(), Vec::new());
        let json = serde_json::to_value(&document).unwrap();
        // What is no number is written as null, which no number in the schema may be.
        assert!(SCHEMA.is_valid(&json), "{json}");
        let text = output::plan::text(&document, "", &Paper::default());
        assert!(text.chars().all(|c| c == '\n' || !c.is_control()) && !text.contains("NaN"));
        let ride = Ride {
            route,
            climbs: &document.routes[0].climbs,
            reps: &document.routes[0].reps,
            laps: 1,
            plan: Some((&document.routes[0], &document.asked)),
            cautions: &document.cautions,
        };
        assert!(output::files::gpx::gpx(&[ride]).is_ok());
        assert!(output::files::geojson::geojson(&[ride]).is_ok());
        assert!(!output::files::kml::kml(&[ride]).contains("NaN"));
    }
});
