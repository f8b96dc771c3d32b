#![no_main]
//! Any heights along a line have a profile and climbs that hold together.

use arbitrary::Arbitrary;
use hillwright::climbs::{self, Rule};
use hillwright::profile::Profile;
use hillwright::route::{Point, Route};

#[derive(Debug, Arbitrary)]
struct Line {
    step_dm: u16,
    rises_cm: Vec<i16>,
    missing: u8,
    timed: bool,
    least_grade: u8,
    kink: u8,
}

libfuzzer_sys::fuzz_target!(|line: Line| {
    let step_m = 0.2 + f64::from(line.step_dm) / 10.0;
    let mut height_m = 200.0;
    let points: Vec<Point> = (0_u32..)
        .zip(line.rises_cm.iter().take(4000))
        .map(|(i, rise_cm)| {
            height_m = (height_m + f64::from(*rise_cm) / 100.0).clamp(-400.0, 8800.0);
            let distance_m = f64::from(i) * step_m;
            let known = line.missing == 0 || i % (u32::from(line.missing) + 1) == 0;
            Point {
                lat_deg: (45.0 + distance_m / 111_130.0).min(89.0),
                lon_deg: 7.0,
                distance_m,
                elevation_m: known.then_some(height_m),
                time_s: line.timed.then(|| f64::from(i)),
            }
        })
        .collect();
    let Some(last) = points.last().filter(|_| points.len() >= 2) else {
        return;
    };
    let route = Route {
        length_m: last.distance_m,
        points,
        ..Route::default()
    };
    let rule = Rule {
        grade_pct: 0.5 + f64::from(line.least_grade % 20),
        kink_m: f64::from(line.kink),
        ..Rule::default()
    };
    if let Ok(profile) = Profile::from_route(&route) {
        hillwright_fuzz::check_profile(&profile);
        hillwright_fuzz::check_climbs(&climbs::find(&profile, &rule), &profile, &rule);
    }
});
