//! Elevation tiles around a true road, with the error of a terrain model.

use std::collections::{BTreeSet, HashMap};
use std::io;
use std::path::Path;

use super::plan::metres_per_radian;
use super::recording::{Kind, TERRAIN_MODEL_ERROR_M, terrain_reach_m};
use super::rng::{GaussMarkov, Rng};
use super::road::Road;

/// Samples to a degree: one arc second.
const PER_DEG: i64 = 3600;
/// Samples this near to the road have its ground; the others are never looked at.
const BESIDE_M: f64 = 80.0;
/// Standard deviation of the slope across the road, rise over run, and the length over which it changes: as hilly country has.
const SIDE_SLOPE: f64 = 0.15;
const SIDE_SLOPE_REACH_M: f64 = 400.0;
/// Metres of road between which the nearest place is sought.
const STEP_M: usize = 2;
const PURPOSE: u64 = 0x99;

/// A sample's row and column from the south-west corner of the globe's grid, and the place of the road nearest to it.
type Nearest = HashMap<(i64, i64), (f64, usize)>;

/// Writes the tiles that hold a road: its own elevation, the slope across it, an error of 2 m correlated over 60 m along it that is larger
/// where that slope is, in whole metres.
pub fn write_tiles(road: &Road, folder: &Path) -> io::Result<()> {
    let ground = Ground::draw(road);
    let nearest = nearest(road);
    let corners: BTreeSet<(i64, i64)> = nearest
        .keys()
        .flat_map(|&(row, column)| {
            [row, row - 1].into_iter().flat_map(move |row| {
                [column, column - 1].map(|c| (row.div_euclid(PER_DEG), c.div_euclid(PER_DEG)))
            })
        })
        .collect();
    for (south_deg, west_deg) in corners {
        let side = PER_DEG + 1;
        let mut bytes = vec![0; (2 * side * side) as usize];
        for (&(row, column), &(_, metre)) in &nearest {
            let (down, right) = ((south_deg + 1) * PER_DEG - row, column - west_deg * PER_DEG);
            if (0..side).contains(&down) && (0..side).contains(&right) {
                let height_m = ground.elevation_m(road, (row, column), metre).round() as i16;
                let at = (2 * (down * side + right)) as usize;
                bytes[at..at + 2].copy_from_slice(&height_m.to_be_bytes());
            }
        }
        std::fs::write(folder.join(name(south_deg, west_deg)), bytes)?;
    }
    Ok(())
}

fn name(south_deg: i64, west_deg: i64) -> String {
    let (north, east) = (
        if south_deg < 0 { 'S' } else { 'N' },
        if west_deg < 0 { 'W' } else { 'E' },
    );
    format!(
        "{north}{:02}{east}{:03}.hgt",
        south_deg.abs(),
        west_deg.abs()
    )
}

/// For each sample beside the road the metre of the road nearest to it.
fn nearest(road: &Road) -> Nearest {
    let mut nearest = Nearest::new();
    for metre in (0..road.plan.lat_deg.len()).step_by(STEP_M) {
        let (lat_deg, lon_deg) = (road.plan.lat_deg[metre], road.plan.lon_deg[metre]);
        let (per_lat_m, per_lon_m) = metres_per_radian(lat_deg.to_radians());
        let cell = |degrees: f64| (degrees * PER_DEG as f64).round() as i64;
        let reach = |per_m: f64| cell((BESIDE_M / per_m).to_degrees());
        let (row, column) = (cell(lat_deg), cell(lon_deg));
        for down in -reach(per_lat_m)..=reach(per_lat_m) {
            for right in -reach(per_lon_m)..=reach(per_lon_m) {
                let place = (row + down, column + right);
                let (north_m, east_m) = offset_m(road, place, metre);
                let square_m2 = north_m * north_m + east_m * east_m;
                let known = nearest.entry(place).or_insert((f64::INFINITY, metre));
                if square_m2 < known.0 {
                    *known = (square_m2, metre);
                }
            }
        }
    }
    nearest
}

/// Metres north and east from a metre of the road to a sample.
fn offset_m(road: &Road, (row, column): (i64, i64), metre: usize) -> (f64, f64) {
    let (lat_deg, lon_deg) = (road.plan.lat_deg[metre], road.plan.lon_deg[metre]);
    let (per_lat_m, per_lon_m) = metres_per_radian(lat_deg.to_radians());
    (
        (row as f64 / PER_DEG as f64 - lat_deg).to_radians() * per_lat_m,
        (column as f64 / PER_DEG as f64 - lon_deg).to_radians() * per_lon_m,
    )
}

/// The terrain model's error and the slope across, for each metre of the road.
struct Ground {
    error_m: Vec<f64>,
    side_slope: Vec<f64>,
}

impl Ground {
    fn draw(road: &Road) -> Self {
        let mut rng = Rng::for_purpose(road.seed, PURPOSE);
        let reach_m = terrain_reach_m(Kind::TerrainModel);
        let mut noise = GaussMarkov::new(TERRAIN_MODEL_ERROR_M, reach_m, &mut rng);
        let mut side = GaussMarkov::new(1.0, SIDE_SLOPE_REACH_M, &mut rng);
        let mut ground = Self {
            error_m: Vec::new(),
            side_slope: Vec::new(),
        };
        for _ in &road.plan.lat_deg {
            let steepness = (0.5 + 0.5 * side.value().powi(2)).sqrt();
            ground.error_m.push(steepness * noise.value());
            ground.side_slope.push(SIDE_SLOPE * side.value());
            noise.advance(1.0, &mut rng);
            side.advance(1.0, &mut rng);
        }
        ground
    }

    fn elevation_m(&self, road: &Road, place: (i64, i64), metre: usize) -> f64 {
        let (north_m, east_m) = offset_m(road, place, metre);
        let bearing_rad = road.plan.bearing_rad[metre.min(road.plan.bearing_rad.len() - 1)];
        let right_m = east_m * bearing_rad.cos() - north_m * bearing_rad.sin();
        let road_m = road.profile.elevation_at_m(metre as f64);
        road_m + self.error_m[metre] + self.side_slope[metre] * right_m
    }
}
