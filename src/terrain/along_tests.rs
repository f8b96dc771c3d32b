//! Routes over tiles.

use super::made;
use super::*;
use crate::route::{self, Route};

/// A route through places, as a file would give it.
fn through(places: &[(f64, f64)]) -> Route {
    let points: String = places
        .iter()
        .map(|(lat, lon)| format!("<trkpt lat=\"{lat}\" lon=\"{lon}\"/>"))
        .collect();
    let gpx = format!("<gpx><trk><trkseg>{points}</trkseg></trk></gpx>");
    route::read(gpx.as_bytes(), "test.gpx").unwrap().remove(0)
}

fn names(route: &Route) -> Vec<String> {
    needed(route).iter().map(ToString::to_string).collect()
}

#[test]
fn tiles_between_the_points_are_needed_too() {
    assert_eq!(names(&through(&[(44.9, 7.9), (44.9, 7.95)])), ["N44E007"]);
    // From one corner of a tile to the other two tiles further, through what lies between.
    assert_eq!(
        names(&through(&[(44.9, 7.9), (45.02, 8.04)])),
        ["N44E007", "N44E008", "N45E008"]
    );
    assert_eq!(
        names(&through(&[(-16.5, 179.99), (-16.5, -179.99)])),
        ["S17W180", "S17E179"]
    );
}

#[test]
fn a_road_that_ends_on_a_border_needs_no_tile_beyond() {
    assert_eq!(names(&through(&[(44.99, 7.5), (45.0, 7.5)])), ["N44E007"]);
    assert_eq!(names(&through(&[(45.0, 7.5), (45.0, 7.51)])), ["N45E007"]);
}

#[test]
fn missing_tiles_are_named_all_at_once() {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), "N44E007", 1201, |_, _| 5.0);
    let route = through(&[(44.9, 7.9), (45.02, 8.04)]);
    let error = along(&route, &Tiles::open(folder.path()))
        .unwrap_err()
        .to_string();
    assert!(
        error.starts_with("the elevation tiles N44E008, N45E008 are not in"),
        "{error}"
    );
}

#[test]
fn the_ground_is_sampled_at_even_steps_and_the_points_keep_their_places() {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), "N44E007", 1201, |lat, _| {
        1200.0 * (lat - 44.0)
    });
    let route = through(&[(44.5, 7.5), (44.5004, 7.5), (44.51, 7.5), (44.51, 7.52)]);
    let ground = along(&route, &Tiles::open(folder.path())).unwrap();
    let steps: Vec<f64> = ground
        .samples
        .windows(2)
        .map(|pair| pair[1].distance_m - pair[0].distance_m)
        .collect();
    assert!(
        steps
            .iter()
            .all(|step| (step - steps[0]).abs() < 1e-6 && *step <= 30.0)
    );
    assert_eq!(ground.samples.last().unwrap().distance_m, route.length_m);
    for sample in &ground.samples {
        assert!((sample.elevation_m.unwrap() - 1200.0 * (sample.lat_deg - 44.0)).abs() < 1e-6);
    }
}

#[test]
fn steep_ground_across_the_road_and_voids_are_told() {
    let folder = tempfile::tempdir().unwrap();
    // Towards the east 40 m in 3 arc seconds, 66 m at 44.5 degrees: 60 %. One row of samples is void.
    let bytes = made::plain(1201, |row, column| {
        if row == 600 {
            i16::MIN
        } else {
            (40 * (column % 200)) as i16
        }
    });
    std::fs::write(folder.path().join("N44E007.hgt"), bytes).unwrap();
    let tiles = Tiles::open(folder.path());
    let north = along(&through(&[(44.49, 7.05), (44.51, 7.05)]), &tiles).unwrap();
    assert!(
        north
            .samples
            .iter()
            .all(|s| (s.slope_across - 0.604).abs() < 0.01),
        "{:?}",
        north.samples[0]
    );
    assert_eq!(north.steep_share(), 1.0);
    // 2 m everywhere and 10 m of 60 %: sqrt(2² + 6.04²).
    assert!((north.samples[3].error_m() - 6.36).abs() < 0.1);
    assert!((north.error_m() - 6.36).abs() < 0.1);
    // Two cells of 92.6 m touch the row, so six or seven samples at 30 m.
    assert!(
        (6..=7).contains(&north.voids_filled),
        "{}",
        north.voids_filled
    );
    let told = north.remarks().join("\n");
    assert!(
        told.contains("3 arc seconds")
            && told.contains("100 % of the road")
            && told.contains("6 m at worst"),
        "{told}"
    );
    assert!(
        told.contains(&format!(
            "{} of {} elevations lie in voids",
            north.voids_filled,
            north.samples.len()
        )),
        "{told}"
    );
    // Up the slope there is none across.
    let east = along(&through(&[(44.42, 7.02), (44.42, 7.06)]), &tiles).unwrap();
    assert_eq!((east.steep_share(), east.voids_filled), (0.0, 0));
}

#[test]
fn a_hole_too_large_to_fill_is_left_out_and_a_route_in_nothing_else_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let bytes = made::plain(1201, |row, _| if row > 600 { 10 } else { i16::MIN });
    std::fs::write(folder.path().join("N44E007.hgt"), bytes).unwrap();
    let tiles = Tiles::open(folder.path());
    let half = along(&through(&[(44.4, 7.5), (44.7, 7.5)]), &tiles).unwrap();
    assert!(half.voids_left > 0 && half.voids_left < half.samples.len());
    assert!(half.remarks().join("\n").contains("were left out"));
    let nothing = along(&through(&[(44.7, 7.5), (44.8, 7.5)]), &tiles);
    assert!(matches!(nothing, Err(TerrainError::OnlyVoids)));
}
