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
    let merged = route_with_tile_elevations(&route, &Tiles::open(folder.path())).unwrap();
    assert!(
        merged
            .points
            .windows(2)
            .all(|pair| pair[0].distance_m < pair[1].distance_m)
    );
    let with = merged
        .points
        .iter()
        .filter(|p| p.elevation_m.is_some())
        .count();
    assert_eq!(with, ground.samples.len());
    for point in &route.points {
        let place = |p: &crate::route::Point| (p.lat_deg, p.lon_deg, p.distance_m);
        assert!(merged.points.iter().any(|p| place(p) == place(point)));
    }
}

#[test]
fn sensor_values_stay_at_their_points() {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), "N44E007", 1201, |_, _| 9.0);
    let mut route = through(&[(44.5, 7.5), (44.501, 7.5), (44.502, 7.5)]);
    route.sensors.power_w = vec![Some(100.0), None, Some(300.0)];
    let merged = route_with_tile_elevations(&route, &Tiles::open(folder.path())).unwrap();
    assert_eq!(merged.sensors.power_w.len(), merged.points.len());
    assert!(merged.sensors.cadence_rpm.is_empty());
    let known: Vec<(f64, f32)> = merged
        .points
        .iter()
        .zip(&merged.sensors.power_w)
        .filter_map(|(p, w)| Some((p.lat_deg, (*w)?)))
        .collect();
    assert_eq!(known, [(44.5, 100.0), (44.502, 300.0)]);
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

mod choosing {
    use super::*;
    use crate::terrain::choose::{ElevationSource, Wanted, elevations};

    fn with_elevations() -> Route {
        let mut route = through(&[(44.5, 7.5), (44.51, 7.5)]);
        route
            .points
            .iter_mut()
            .for_each(|p| p.elevation_m = Some(3.0));
        route
    }

    fn level_500(folder: &std::path::Path) -> Tiles {
        made::write(folder, "N44E007", 1201, |_, _| 500.0);
        Tiles::open(folder)
    }

    #[test]
    fn recorded_elevations_come_first_and_tiles_serve_where_there_are_none() {
        let folder = tempfile::tempdir().unwrap();
        let tiles = level_500(folder.path());
        let source =
            |route: &Route, wanted| elevations(route, wanted, &tiles).unwrap().origin.source;
        let (with, without) = (with_elevations(), through(&[(44.5, 7.5), (44.51, 7.5)]));
        assert_eq!(source(&with, Wanted::Auto), ElevationSource::Recorded);
        assert_eq!(source(&with, Wanted::Tiles), ElevationSource::Tiles);
        assert_eq!(source(&without, Wanted::Auto), ElevationSource::Tiles);
        assert_eq!(
            source(&without, Wanted::Recorded),
            ElevationSource::Recorded
        );
        let chosen = elevations(&with, Wanted::Tiles, &tiles).unwrap();
        assert!(
            chosen
                .route
                .points
                .iter()
                .filter_map(|p| p.elevation_m)
                .all(|m| m == 500.0)
        );
    }

    #[test]
    fn with_neither_the_tiles_that_would_help_are_named() {
        let tiles = Tiles::open("no-such-folder");
        let error = elevations(&through(&[(44.5, 7.5), (44.51, 7.5)]), Wanted::Auto, &tiles)
            .unwrap_err()
            .to_string();
        assert!(
            error.starts_with(
                "the route has no elevations, and the elevation tile N44E007 is not in"
            ),
            "{error}"
        );
        assert!(elevations(&with_elevations(), Wanted::Auto, &tiles).is_ok());
    }
}
