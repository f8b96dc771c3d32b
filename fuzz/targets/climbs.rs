#![no_main]
//! Any heights along a line have a profile and climbs that hold together.

use arbitrary::Arbitrary;
use hillwright::climbs::{self, Rule};
use hillwright::profile::Profile;
use hillwright::route::{Point, Route};

#[derive(Debug, Arbitrary)]
struct Line {
    step: u8,
    /// Grades of as many steps as the first number says.
    pieces: Vec<(u8, i8)>,
    /// Steps up or down that no road has.
    jumps_cm: Vec<(u16, i16)>,
    roughness_cm: u8,
    missing: u8,
    timed: bool,
    whole_metres: bool,
    least_grade: u8,
    kink: u8,
}

/// More take longer and show nothing more.
const MOST_POINTS: usize = 150;

fn heights_m(line: &Line, step_m: f64) -> Vec<f64> {
    let grades = line
        .pieces
        .iter()
        .flat_map(|(steps, grade)| std::iter::repeat_n(f64::from(*grade) / 400.0, (*steps).into()));
    let mut height_m = 200.0;
    let mut heights_m: Vec<f64> = grades
        .take(MOST_POINTS)
        .map(|grade| {
            height_m += grade * step_m;
            height_m
        })
        .collect();
    let points = heights_m.len().max(1);
    for (at, jump_cm) in line.jumps_cm.iter().take(8) {
        for height_m in heights_m.iter_mut().skip(usize::from(*at) % points) {
            *height_m += f64::from(*jump_cm) / 100.0;
        }
    }
    for (i, height_m) in (0_u32..).zip(&mut heights_m) {
        let rough = f64::from(i.wrapping_mul(2_654_435_761) >> 16) / 32_768.0 - 1.0;
        *height_m += rough * f64::from(line.roughness_cm) / 100.0;
        if line.whole_metres {
            *height_m = height_m.round();
        }
        *height_m = height_m.clamp(-430.0, 8849.0);
    }
    heights_m
}

libfuzzer_sys::fuzz_target!(|line: Line| {
    let step_m = 0.2 + f64::from(line.step) / 12.0;
    let points: Vec<Point> = (0_u32..)
        .zip(heights_m(&line, step_m))
        .map(|(i, height_m)| {
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
