use super::*;
use crate::route::RawPoint;
use proptest::prelude::*;

/// One degree of latitude at 45° N is 111 131.8 m.
const DEG_M: f64 = 111_131.8;

fn point(north_m: f64, east_m: f64) -> RawPoint {
    let lon_deg = 7.0 + east_m / (DEG_M * 0.709);
    RawPoint {
        lat_deg: 45.0 + north_m / DEG_M,
        lon_deg,
        elevation_m: Some(100.0),
        time_s: None,
    }
}

/// A straight ride north, a point every 10 m, 5 m/s.
fn ride(count: usize) -> Vec<RawPoint> {
    (0..count)
        .map(|i| RawPoint {
            time_s: Some(1e9 + 2.0 * i as f64),
            ..point(10.0 * i as f64, 0.0)
        })
        .collect()
}

fn recording(points: Vec<RawPoint>) -> Recording {
    Recording {
        points,
        segment_starts: vec![0],
        ..Recording::default()
    }
}

fn cleaned(points: Vec<RawPoint>) -> Route {
    clean(recording(points), "test").unwrap()
}

fn untimed(mut points: Vec<RawPoint>) -> Vec<RawPoint> {
    points.iter_mut().for_each(|point| point.time_s = None);
    points
}

#[test]
fn a_plain_ride_stays_as_it_is_without_warnings() {
    let route = cleaned(ride(200));
    assert_eq!(route.warnings, Vec::<String>::new());
    assert_eq!(route.points.len(), 200);
    assert!((route.length_m - 1990.0).abs() < 0.1, "{}", route.length_m);
    assert_eq!(route.points[3].time_s, Some(6.0));
    assert!(!route.is_loop);
}

#[test]
fn zero_fixes_far_from_the_ride_are_left_out() {
    let mut points = ride(50);
    points[7].lat_deg = 0.0;
    points[7].lon_deg = 0.0;
    let route = cleaned(points);
    assert_eq!(route.points.len(), 49);
    assert_eq!(route.warnings.len(), 1);
    assert!(
        route.warnings[0].starts_with("1 point at latitude 0, longitude 0"),
        "{:?}",
        route.warnings
    );
}

#[test]
fn repeated_points_are_merged_and_the_first_time_stays() {
    let mut points = ride(50);
    for i in [10, 11, 12] {
        (points[i].lat_deg, points[i].lon_deg) = (points[9].lat_deg, points[9].lon_deg);
    }
    points[9].elevation_m = None;
    let route = cleaned(points);
    assert_eq!(route.points.len(), 47);
    assert_eq!(route.points[9].time_s, Some(18.0));
    assert_eq!(route.points[9].elevation_m, Some(100.0));
    assert_eq!(
        route.warnings,
        ["3 points in the same place as the one before merged with it (the first at km 0.09)"]
    );
}

#[test]
fn an_impossible_fix_and_a_run_of_them_are_left_out() {
    let mut points = ride(100);
    points[30].lon_deg += 0.01;
    points[60..64]
        .iter_mut()
        .for_each(|point| point.lat_deg += 0.02);
    let route = cleaned(points);
    assert_eq!(route.points.len(), 95);
    assert!((route.length_m - 990.0).abs() < 0.1, "{}", route.length_m);
    assert!(
        route.warnings[0].starts_with("5 points far off the line"),
        "{:?}",
        route.warnings
    );
    assert!(
        route.warnings[0].ends_with("(the first at km 0.29)"),
        "{:?}",
        route.warnings
    );
}

#[test]
fn an_impossible_first_or_last_fix_is_left_out() {
    let mut points = ride(100);
    points[0].lat_deg -= 0.05;
    points[99].lat_deg += 0.05;
    let route = cleaned(points);
    assert_eq!(route.points.len(), 98);
    assert!((route.length_m - 970.0).abs() < 0.1, "{}", route.length_m);
}

#[test]
fn a_needle_without_times_is_left_out() {
    let mut points = untimed(ride(100));
    points[30].lon_deg += 0.003;
    let route = cleaned(points);
    assert_eq!(route.points.len(), 99);
}

#[test]
fn a_drawn_way_out_and_back_and_a_hairpin_with_long_legs_are_kept() {
    let mut points = untimed(ride(100));
    let at = points[50];
    points.splice(
        51..51,
        [
            RawPoint {
                lon_deg: at.lon_deg + 0.004,
                ..at
            },
            at,
        ],
    );
    assert_eq!(cleaned(points).points.len(), 102);

    let mut points = untimed(ride(40));
    let (a, b, c) = (point(400.0, 0.0), point(410.0, 200.0), point(420.0, 0.0));
    points.extend([
        a,
        RawPoint {
            elevation_m: Some(116.0),
            ..b
        },
        RawPoint {
            elevation_m: Some(132.0),
            ..c
        },
    ]);
    points.extend((1..40).map(|i| RawPoint {
        elevation_m: Some(132.0),
        ..point(420.0 + 10.0 * f64::from(i), 0.0)
    }));
    assert_eq!(cleaned(points).points.len(), 82);
}

#[test]
fn a_knot_drawn_at_a_stop_is_reduced_to_its_first_fix() {
    let mut points = ride(50);
    let stop: Vec<RawPoint> = (0..120)
        .map(|i| {
            let turn = f64::from(i) * 2.4;
            let place = point(490.0 + 4.0 * turn.cos(), 4.0 * turn.sin());
            RawPoint {
                time_s: Some(1e9 + 99.0 + f64::from(i)),
                ..place
            }
        })
        .collect();
    points.extend(stop);
    points.extend((1..50).map(|i| RawPoint {
        time_s: Some(1e9 + 220.0 + 2.0 * f64::from(i)),
        ..point(490.0 + 10.0 * f64::from(i), 0.0)
    }));
    let route = cleaned(points);
    assert!((route.length_m - 980.0).abs() < 8.0, "{}", route.length_m);
    assert_eq!(route.warnings.len(), 1);
    assert!(
        route.warnings[0]
            .contains("recorded while standing still left out, at 1 stop (the first at km 0.4"),
        "{:?}",
        route.warnings
    );
}

#[test]
fn someone_slow_but_moving_is_not_standing() {
    let crawl = (0..300)
        .map(|i| RawPoint {
            time_s: Some(f64::from(i)),
            ..point(0.2 * f64::from(i), 0.0)
        })
        .collect();
    let route = cleaned(crawl);
    assert_eq!(route.points.len(), 300);
}

#[test]
fn an_elevation_spike_is_left_out_and_a_row_of_zeros_too() {
    let mut points = ride(100);
    points[20].elevation_m = Some(180.0);
    points[40].elevation_m = Some(-32768.0);
    points[60..75]
        .iter_mut()
        .for_each(|point| point.elevation_m = Some(0.0));
    let route = cleaned(points);
    let missing: Vec<usize> = (0..100)
        .filter(|i| route.points[*i].elevation_m.is_none())
        .collect();
    assert_eq!(
        missing,
        [20, 40].into_iter().chain(60..75).collect::<Vec<_>>()
    );
    assert_eq!(
        route.warnings,
        [
            "1 elevation below -500 m or above 9000 m left out (the first at km 0.40)",
            "15 elevations of exactly 0 amid high ground left out (the first at km 0.60)",
            "1 elevation far above or below the ground on both sides left out (the first at km 0.20)",
        ]
    );
}

#[test]
fn a_summit_as_steep_as_a_roof_and_a_step_up_are_kept() {
    let mut points = ride(60);
    for (i, point) in points.iter_mut().enumerate() {
        let from_top = (i as f64 - 30.0).abs();
        point.elevation_m = Some(600.0 - 10.0 * from_top);
    }
    assert_eq!(cleaned(points).warnings, Vec::<String>::new());
    let mut points = ride(60);
    points[30..]
        .iter_mut()
        .for_each(|point| point.elevation_m = Some(160.0));
    assert_eq!(cleaned(points).warnings, Vec::<String>::new());
}

#[test]
fn missing_and_meaningless_elevations_are_told() {
    let mut points = ride(50);
    points[5].elevation_m = None;
    let route = cleaned(points.clone());
    assert_eq!(
        route.warnings,
        [
            "1 point of 50 without an elevation; the ground between the others is assumed there (the first at km 0.05)"
        ]
    );
    points
        .iter_mut()
        .for_each(|point| point.elevation_m = Some(0.0));
    assert!(cleaned(points.clone()).warnings[0].contains("all elevations are 0"));
    points.iter_mut().for_each(|point| point.elevation_m = None);
    assert_eq!(
        cleaned(points).warnings,
        ["it has no elevations: give elevation tiles"]
    );
}

#[test]
fn jumps_and_holes_are_told_with_place_and_length() {
    let mut points = ride(100);
    points[50..]
        .iter_mut()
        .for_each(|point| point.lat_deg += 150.0 / DEG_M);
    let mut two = recording(untimed(points.clone()));
    two.segment_starts = vec![0, 50];
    let route = clean(two, "test").unwrap();
    assert_eq!(
        route.warnings,
        ["1 jump between segments of 160 m at km 0.49 joined by a straight line"]
    );

    points[50..]
        .iter_mut()
        .for_each(|point| point.lat_deg += 150.0 / DEG_M);
    let route = cleaned(untimed(points));
    assert_eq!(
        route.warnings,
        ["1 hole in the line of 310 m at km 0.49 bridged by a straight line"]
    );
}

#[test]
fn times_that_do_not_increase_are_left_out_one_or_all() {
    let mut points = ride(50);
    points[20].time_s = Some(0.0);
    let route = cleaned(points.clone());
    assert_eq!(route.points[20].time_s, None);
    assert_eq!(
        route.warnings,
        ["1 time not later than the ones before left out (the first at km 0.20)"]
    );

    points.iter_mut().for_each(|point| point.time_s = Some(7.0));
    let route = cleaned(points);
    assert!(route.points.iter().all(|point| point.time_s.is_none()));
    assert!(
        route.warnings[0].starts_with("49 of 50 times do not increase; all times left out"),
        "{:?}",
        route.warnings
    );
}

#[test]
fn a_ride_that_comes_home_is_a_loop() {
    let ring = |closing: f64| {
        (0..200)
            .map(|i| {
                let turn = f64::from(i) / 199.0 * closing * std::f64::consts::TAU;
                point(500.0 * turn.sin(), 500.0 - 500.0 * turn.cos())
            })
            .collect::<Vec<_>>()
    };
    assert!(cleaned(ring(0.99)).is_loop);
    assert!(!cleaned(ring(0.9)).is_loop);
}

#[test]
fn one_place_is_no_route() {
    assert_eq!(
        clean(recording(vec![point(0.0, 0.0); 5]), "test"),
        Err(RouteError::TooShort { distinct: 1 })
    );
    assert_eq!(
        clean(recording(vec![]), "test"),
        Err(RouteError::TooShort { distinct: 0 })
    );
}

#[test]
fn sensor_values_stay_beside_their_points() {
    let mut points = ride(20);
    points[5].lat_deg = points[4].lat_deg;
    let mut ridden = recording(points);
    ridden.sensors.power_w = (0..20).map(|i| Some(i as f32)).collect();
    let route = clean(ridden, "test").unwrap();
    assert_eq!(route.sensors.power_w.len(), route.points.len());
    assert_eq!(route.sensors.power_w[5], Some(6.0));
}

proptest! {
    #[test]
    fn distances_increase_whatever_the_points(
        places in proptest::collection::vec((-90.0_f64..=90.0, -180.0_f64..=180.0, -1e5_f64..1e5, -10.0_f64..1e3, 0_u8..4), 0..120),
        starts in proptest::collection::vec(0_usize..130, 0..5),
    ) {
        let mut points: Vec<RawPoint> = Vec::new();
        for (lat_deg, lon_deg, elevation_m, time_s, near) in places {
            let fresh = RawPoint { lat_deg, lon_deg, elevation_m: Some(elevation_m), time_s: Some(time_s) };
            let last = points.last().copied().unwrap_or(fresh);
            points.push(match near {
                0 => fresh,
                1 => RawPoint { time_s: None, ..last },
                _ => RawPoint { lat_deg: (last.lat_deg + lat_deg * 1e-6).clamp(-90.0, 90.0), elevation_m: None, time_s: Some(time_s), ..last },
            });
        }
        let mut raw = recording(points);
        raw.segment_starts = starts;
        if let Ok(route) = clean(raw, "test") {
            prop_assert!(route.points.len() >= 2);
            prop_assert_eq!(route.points[0].distance_m, 0.0);
            prop_assert!(route.points.windows(2).all(|pair| pair[0].distance_m < pair[1].distance_m));
            prop_assert!(route.length_m.is_finite());
            let times: Vec<f64> = route.points.iter().filter_map(|point| point.time_s).collect();
            prop_assert!(times.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}

/// A ride up 5 % that wrote one elevation from one point to another and then went on at the right one.
fn frozen(count: usize, from: usize, to: usize) -> Vec<RawPoint> {
    let mut points = ride(count);
    for (i, point) in points.iter_mut().enumerate() {
        let at = if (from..=to).contains(&i) { from } else { i };
        point.elevation_m = Some(100.0 + 0.5 * at as f64);
    }
    points
}

#[test]
fn a_device_that_froze_and_caught_up_is_told_and_its_elevations_left_out() {
    // 90 points of 0.5 m each: a cliff of 45 m where it wakes up.
    let route = cleaned(frozen(400, 100, 190));
    assert!(route.points[100].elevation_m.is_some());
    assert!(
        route.points[101..=190]
            .iter()
            .all(|p| p.elevation_m.is_none())
    );
    assert!(route.points[191].elevation_m.is_some());
    assert_eq!(route.warnings.len(), 1, "{:?}", route.warnings);
    assert_eq!(
        route.warnings[0],
        "90 elevations that did not change over 900 m of road, and then jumped, left out: the device was frozen (the first at km 1.01)"
    );
}

#[test]
fn short_rows_of_equal_elevations_and_flat_roads_are_kept() {
    // 10 points, 5 m at the end: no cliff, and no longer than whole metres make on a gentle road.
    assert!(cleaned(frozen(400, 100, 110)).warnings.is_empty());
    assert!(cleaned(ride(400)).warnings.is_empty());
    // A kilometre and more without a change, up to the end of the recording.
    assert!(cleaned(frozen(400, 270, 400)).warnings.is_empty());
}

/// Up 4 % for 1.5 km, along 1.2 km on which one elevation is written, and on up the same grade from so far above it, in steps as a device
/// writes them.
fn along_a_canal(step_m: f64, missed_m: f64) -> Vec<RawPoint> {
    let mut points = ride(420);
    for (i, point) in points.iter_mut().enumerate() {
        let at_m = 10.0 * i as f64;
        let after_m = at_m - 2700.0;
        let risen_m =
            0.04 * at_m.min(1500.0) + (missed_m + 0.04 * after_m) * f64::from(after_m > 0.0);
        point.elevation_m = Some(100.0 + (risen_m / step_m).round() * step_m);
    }
    points
}

#[test]
fn a_dead_flat_kilometre_in_the_middle_of_a_ride_is_a_road() {
    for step_m in [1.0, 0.1] {
        let route = cleaned(along_a_canal(step_m, 0.0));
        assert_eq!(route.warnings, Vec::<String>::new(), "{step_m}");
        assert!(route.points.iter().all(|p| p.elevation_m.is_some()));
    }
}

#[test]
fn a_device_that_makes_up_for_a_kilometre_in_a_step_was_frozen() {
    // The road rose by 1 % while it slept: no cliff, but no road either.
    for step_m in [1.0, 0.1] {
        let route = cleaned(along_a_canal(step_m, 12.0));
        assert_eq!(route.warnings.len(), 1, "{step_m}: {:?}", route.warnings);
        assert!(
            route.warnings[0].contains("frozen"),
            "{}",
            route.warnings[0]
        );
        let asleep = route.points[160..265].iter();
        assert!(asleep.into_iter().all(|p| p.elevation_m.is_none()));
    }
}
