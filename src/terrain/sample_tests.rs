//! The ground on surfaces that are known everywhere.

use super::made;
use super::{TerrainError, Tiles};

/// A plane through the south-west corner of a tile: a metre for each 3 arc seconds north, two for each east.
fn plane(south: f64, west: f64) -> impl Fn(f64, f64) -> f64 {
    move |lat, lon| 1200.0 * (lat - south) + 2400.0 * (lon - west)
}

fn near(found: f64, expected: f64) {
    assert!(
        (found - expected).abs() < 1e-6,
        "{found}, expected {expected}"
    );
}

fn elevation_m(tiles: &Tiles, lat: f64, lon: f64) -> f64 {
    tiles.elevation_m(lat, lon).unwrap().elevation_m
}

/// Holds places all over a tile against the surface that it was made from.
fn holds_all_over(name: &str, side: usize, corner: (f64, f64), ground: impl Fn(f64, f64) -> f64) {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), name, side, &ground);
    let tiles = Tiles::open(folder.path());
    for i in 0..500 {
        let (u, v) = (
            (f64::from(i) * 0.618_034).fract(),
            (f64::from(i) * 0.754_878).fract(),
        );
        let (lat, lon) = (corner.0 + u, corner.1 + v);
        near(elevation_m(&tiles, lat, lon), ground(lat, lon));
    }
}

#[test]
fn a_plane_is_found_exactly_in_every_quarter_of_the_globe() {
    for (name, south, west) in [
        ("N44E007", 44.0, 7.0),
        ("N44W072", 44.0, -72.0),
        ("S45E170", -45.0, 170.0),
        ("S45W130", -45.0, -130.0),
    ] {
        holds_all_over(name, 1201, (south, west), plane(south, west));
    }
}

#[test]
fn a_plane_is_found_exactly_at_one_arc_second() {
    // Two metres a sample down to the north, and a metre up to the east, so that every sample is a whole metre.
    holds_all_over("S45W130", 3601, (-45.0, -130.0), |lat, lon| {
        3600.0 * (lon + 130.0) - 7200.0 * (lat + 45.0)
    });
}

#[test]
fn between_four_samples_each_counts_by_its_nearness() {
    let folder = tempfile::tempdir().unwrap();
    // 100 and 200 m in the north, 400 and 800 m in the south of one cell.
    let bytes = made::plain(1201, |row, column| match (row, column) {
        (600, 300) => 100,
        (600, 301) => 200,
        (601, 300) => 400,
        (601, 301) => 800,
        _ => 0,
    });
    std::fs::write(folder.path().join("N44E007.hgt"), bytes).unwrap();
    let tiles = Tiles::open(folder.path());
    let at = |down: f64, right: f64| {
        elevation_m(
            &tiles,
            44.0 + (600.0 - down) / 1200.0,
            7.0 + (300.0 + right) / 1200.0,
        )
    };
    near(at(0.0, 0.0), 100.0);
    near(at(1.0, 1.0), 800.0);
    near(at(0.5, 0.5), (100.0 + 200.0 + 400.0 + 800.0) / 4.0);
    // Three quarters north, one quarter east: 0.75 × (75 + 50) + 0.25 × (300 + 200).
    near(at(0.25, 0.25), 218.75);
}

#[test]
fn the_slope_is_rise_over_run_towards_east_and_north() {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), "N45E007", 1201, plane(45.0, 7.0));
    let ground = Tiles::open(folder.path()).elevation_m(45.0, 7.5).unwrap();
    // At 45 degrees one of latitude is 111 131.7 m and one of longitude 78 846.8 m (Snyder, USGS 1395, 1987, for WGS 84).
    assert!(
        (ground.slope[0] * 78_846.8 / 2400.0 - 1.0).abs() < 1e-4,
        "{:?}",
        ground.slope
    );
    assert!(
        (ground.slope[1] * 111_131.7 / 1200.0 - 1.0).abs() < 1e-4,
        "{:?}",
        ground.slope
    );
    // Riding north the ground rises to the right, riding south it falls; riding east it falls by the slope to the north.
    near(ground.slope_across(0.0), ground.slope[0]);
    near(ground.slope_across(std::f64::consts::PI), -ground.slope[0]);
    near(
        ground.slope_across(std::f64::consts::FRAC_PI_2),
        -ground.slope[1],
    );
}

#[test]
fn the_ground_goes_on_across_the_borders_of_four_tiles() {
    let folder = tempfile::tempdir().unwrap();
    for name in ["N00E000", "N00W001", "S01E000", "S01W001"] {
        made::write(folder.path(), name, 1201, plane(-1.0, -1.0));
    }
    let tiles = Tiles::open(folder.path());
    let ground = plane(-1.0, -1.0);
    for along in [-0.3, 0.0, 0.7] {
        for step in [-1e-4, -1e-9, 0.0, 1e-9, 1e-4] {
            near(elevation_m(&tiles, along, step), ground(along, step));
            near(elevation_m(&tiles, step, along), ground(step, along));
        }
    }
}

#[test]
fn on_a_border_either_tile_serves() {
    for (name, lat, lon) in [
        ("N44E007", 44.0, 7.3),
        ("N44E007", 45.0, 7.3),
        ("N44E007", 44.3, 8.0),
        ("N44E007", 45.0, 8.0),
    ] {
        let folder = tempfile::tempdir().unwrap();
        made::write(folder.path(), name, 1201, plane(44.0, 7.0));
        near(
            elevation_m(&Tiles::open(folder.path()), lat, lon),
            plane(44.0, 7.0)(lat, lon),
        );
    }
}

#[test]
fn the_antimeridian_is_a_border_like_any_other() {
    for name in ["S17E179", "S17W180"] {
        let folder = tempfile::tempdir().unwrap();
        // Rises westwards and eastwards from 180 degrees alike.
        made::write(folder.path(), name, 1201, |_, lon| {
            1200.0 * (180.0 - lon.abs())
        });
        let tiles = Tiles::open(folder.path());
        let inside = if name == "S17E179" { 1.0 } else { -1.0 };
        near(elevation_m(&tiles, -16.5, 180.0), 0.0);
        near(elevation_m(&tiles, -16.5, -180.0), 0.0);
        near(elevation_m(&tiles, -16.5, inside * 179.75), 300.0);
        assert!(matches!(
            tiles.elevation_m(-16.5, -inside * 179.75),
            Err(TerrainError::Missing { .. })
        ));
    }
}

#[test]
fn the_poles_have_an_elevation_and_no_slope_to_the_east() {
    let folder = tempfile::tempdir().unwrap();
    made::write(folder.path(), "N89E010", 1201, |lat, _| {
        1200.0 * (lat - 89.0)
    });
    made::write(folder.path(), "S90E010", 1201, |lat, _| {
        2800.0 + 1200.0 * (lat + 90.0)
    });
    let tiles = Tiles::open(folder.path());
    for (lat, expected_m) in [(90.0, 1200.0), (-90.0, 2800.0)] {
        let ground = tiles.elevation_m(lat, 10.4).unwrap();
        near(ground.elevation_m, expected_m);
        assert_eq!(ground.slope[0], 0.0);
        // One metre in three arc seconds of the meridian, 93.1 m near the poles.
        assert!(
            (ground.slope[1] * 93.08 - 1.0).abs() < 1e-3,
            "{:?}",
            ground.slope
        );
    }
}

#[test]
fn what_is_no_place_and_what_has_no_tile_are_told() {
    let tiles = Tiles::open("no-such-folder");
    let told = |lat, lon| tiles.elevation_m(lat, lon).unwrap_err().to_string();
    assert!(told(91.0, 0.0).contains("expected -90 to 90"));
    assert!(told(f64::NAN, 0.0).contains("is no place"));
    let missing = told(-44.5, 170.5);
    assert!(
        missing.contains("tile S45E170 is not in no-such-folder") && missing.contains("--fetch"),
        "{missing}"
    );
}

#[test]
fn a_void_is_filled_from_its_neighbours_and_told() {
    let folder = tempfile::tempdir().unwrap();
    // Neighbours on all sides of a hole of 3 × 3 samples in a plane: its middle is the plane's, by symmetry.
    let bytes = made::plain(1201, |row, column| {
        let in_hole = (600..=602).contains(&row) && (300..=302).contains(&column);
        if in_hole {
            i16::MIN
        } else {
            (1200 - row + 2 * column) as i16
        }
    });
    std::fs::write(folder.path().join("N44E007.hgt"), bytes).unwrap();
    let tiles = Tiles::open(folder.path());
    let at = |row: f64, column: f64| {
        tiles
            .elevation_m(44.0 + (1200.0 - row) / 1200.0, 7.0 + column / 1200.0)
            .unwrap()
    };
    let middle = at(601.0, 301.0);
    assert!(middle.void_filled);
    near(middle.elevation_m, 1200.0 - 601.0 + 2.0 * 301.0);
    let edge = at(600.4, 299.5);
    assert!(
        edge.void_filled && (edge.elevation_m - (1200.0 - 600.4 + 2.0 * 299.5)).abs() < 2.0,
        "{edge:?}"
    );
    assert!(!at(598.5, 301.0).void_filled);
}

#[test]
fn a_void_on_a_border_is_filled_from_the_neighbouring_tile() {
    let folder = tempfile::tempdir().unwrap();
    // The whole east border and what lies within 30 samples of it is void; the eastern neighbour is level at 500 m.
    let bytes = made::plain(1201, |_, column| if column > 1170 { i16::MIN } else { 500 });
    std::fs::write(folder.path().join("N44E007.hgt"), &bytes).unwrap();
    made::write(folder.path(), "N44E008", 1201, |_, _| 500.0);
    let tiles = Tiles::open(folder.path());
    let border = tiles.elevation_m(44.5, 7.9999).unwrap();
    near(border.elevation_m, 500.0);
    assert!(border.void_filled);
    // A damaged neighbour hinders nothing: the west is near enough.
    std::fs::write(folder.path().join("N44E008.hgt"), b"damaged").unwrap();
    near(
        elevation_m(&Tiles::open(folder.path()), 44.5, 7.9999),
        500.0,
    );
}

#[test]
fn a_void_without_anything_near_is_not_guessed() {
    let folder = tempfile::tempdir().unwrap();
    let bytes = made::plain(1201, |row, _| if row > 1100 { 10 } else { i16::MIN });
    std::fs::write(folder.path().join("N44E007.hgt"), bytes).unwrap();
    let error = Tiles::open(folder.path())
        .elevation_m(44.8, 7.5)
        .unwrap_err();
    assert!(matches!(error, TerrainError::Void { .. }), "{error}");
    assert!(
        error
            .to_string()
            .contains("void at latitude 44.80000, longitude 7.50000"),
        "{error}"
    );
}
