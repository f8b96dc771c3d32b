#![no_main]
//! Any set for any rider on a road of climbs has a plan that holds together.

use std::sync::LazyLock;

use arbitrary::Arbitrary;
use hillwright::climbs::{self, Climbs, Rule};
use hillwright::gearing::Drive;
use hillwright::matching::{self, Demand, Rates, Task, Wishes};
use hillwright::prescription::{EXAMPLE_RIDER, parse_rider, parse_set};
use hillwright::profile::Profile;
use hillwright::ride::{Weather, Wind};
use hillwright::route::{Point, Route};

#[derive(Debug, Arbitrary)]
struct Asked {
    blocks: Vec<Block>,
    warm_up_min: u8,
    mass_kg: u8,
    threshold_w: u8,
    turn_round: bool,
    laps: bool,
    keep: Option<(u8, u8)>,
    avoid: Option<u8>,
    wind_kmh: u8,
    wind_from: u8,
}

#[derive(Debug, Arbitrary)]
struct Block {
    reps: u8,
    work_s: u16,
    rest_s: u16,
    rest_more_s: Option<u16>,
    power_from: u8,
    power_more: u8,
    cadence_from: u8,
    cadence_more: u8,
}

/// A loop of three climbs and the ways down, made once.
static ROAD: LazyLock<(Profile, Climbs)> = LazyLock::new(|| {
    let grade = |at_m: f64| match at_m {
        m if m < 1000.0 => 0.0,
        m if m < 2000.0 => 0.06,
        m if m < 3000.0 => -0.06,
        m if m < 3600.0 => 0.085,
        m if m < 4600.0 => 0.04,
        m if m < 6300.0 => -0.055,
        _ => 0.0,
    };
    let mut height_m = 100.0;
    let points: Vec<Point> = (0..=700)
        .map(|i| {
            let distance_m = f64::from(i) * 10.0;
            height_m += 10.0 * grade(distance_m);
            Point {
                lat_deg: 45.0 + distance_m / 111_130.0,
                lon_deg: 7.0,
                distance_m,
                elevation_m: Some(height_m),
                time_s: None,
            }
        })
        .collect();
    let route = Route {
        length_m: 7000.0,
        points,
        is_loop: true,
        ..Route::default()
    };
    let profile = Profile::from_route(&route).unwrap();
    let climbs = climbs::find(&profile, &Rule::default());
    (profile, climbs)
});

fn set_text(asked: &Asked) -> String {
    let mut text = format!("warm_up = \"{}:00\"\n", asked.warm_up_min % 40);
    for block in asked.blocks.iter().take(3) {
        let most = block.rest_more_s.map_or(String::new(), |more| {
            let most_s = u32::from(block.rest_s) % 1200 + u32::from(more) % 1200;
            format!(", at_most = \"{}:{:02}\"", most_s / 60, most_s % 60)
        });
        let (work_s, rest_s) = (block.work_s % 900 + 1, block.rest_s % 1200);
        let power = 60 + u32::from(block.power_from);
        let cadence = 35 + u32::from(block.cadence_from) % 60;
        text.push_str(&format!(
            "[[block]]\nreps = {}\nwork = \"{}:{:02}\"\nrecovery = {{ at_least = \"{}:{:02}\"{most} }}\n\
             power_w = {{ from = {power}, to = {} }}\ncadence_rpm = {{ from = {cadence}, to = {} }}\n",
            block.reps % 12 + 1,
            work_s / 60,
            work_s % 60,
            rest_s / 60,
            rest_s % 60,
            power + u32::from(block.power_more),
            cadence + u32::from(block.cadence_more) % 40,
        ));
    }
    text
}

libfuzzer_sys::fuzz_target!(|asked: Asked| {
    // Fewer gears make a quicker target.
    let rider_text = EXAMPLE_RIDER
        .replacen(
            "11, 12, 13, 14, 15, 17, 19, 21, 24, 27, 30",
            "11, 15, 19, 24, 30",
            1,
        )
        .replacen(
            "68.0",
            &format!("{}.0", 35 + u32::from(asked.mass_kg) % 110),
            1,
        )
        .replacen("250", &format!("{}", 80 + u32::from(asked.threshold_w)), 1);
    let (Ok(rider), Ok(set)) = (parse_rider(&rider_text), parse_set(&set_text(&asked))) else {
        return;
    };
    let drive = Drive::new(&rider.rider, &rider.bike, &rider.resistance);
    let Ok(demands) = Demand::of_set(&set, rider.rider.threshold_w, &drive) else {
        return;
    };
    let (profile, climbs) = &*ROAD;
    let wishes = Wishes {
        turn_round: asked.turn_round,
        keep: asked
            .keep
            .map(|(rep, climb)| (rep.into(), climb.into()))
            .into_iter()
            .collect(),
        avoid: asked.avoid.map(usize::from).into_iter().collect(),
        ..Wishes::default()
    };
    let reps = demands.iter().map(|d| d.reps as usize).sum();
    if wishes.check(climbs, reps).is_err() {
        return;
    }
    let weather = Weather {
        wind: Wind {
            speed_ms: f64::from(asked.wind_kmh % 60) / 3.6,
            from_rad: f64::from(asked.wind_from) / 40.0,
        },
        ..Weather::default()
    };
    let plan = matching::plan_in_laps(
        &Task {
            profile,
            climbs,
            halts: &[],
            rider: &rider.rider,
            drive: &drive,
            weather: &weather,
            demands: &demands,
            warm_up_s: set.warm_up_s,
            rates: &Rates::default(),
            wishes: &wishes,
        },
        if asked.laps { 3 } else { 1 },
    );
    hillwright_fuzz::check_plan(&plan, &demands, climbs, profile);
});
