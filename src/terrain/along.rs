//! A route over tiles: the ground's elevation at even steps, and how far the ground's slope across the road makes it uncertain.

use std::collections::BTreeSet;

use super::{TerrainError, TileName, Tiles};
use crate::route::{LatLon, Point, Route, bearing_rad};

/// Distance between samples along the road that is aimed for, in metres: a third of the distance between the samples of a tile at
/// 3 arc seconds. Finer steps would only repeat the straight lines between those.
pub const STEP_M: f64 = 30.0;
/// How far apart a route's line and the tile's ground may be sideways, in metres. The radar's own place is good to 7 to 13 m nine times in ten
/// (Rodríguez, Morris and Belz, Photogramm. Eng. Remote Sens. 72, 2006, 249–260); the line adds a few.
const SIDEWAYS_M: f64 = 10.0;
/// Standard deviation of a tile's elevation against its neighbourhood's on level ground, in metres (common practice for radar
/// terrain models, no source; the published absolute errors are larger, but shift whole hills).
pub const TILE_SD_M: f64 = 2.0;
/// Slope across the road (rise over run) from which it is told: there [`SIDEWAYS_M`] is 2 m of elevation, as much as all other errors.
const STEEP_ACROSS: f64 = 0.2;

/// The ground at one place of a route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sampled {
    /// Distance from the route's start, in metres.
    pub distance_m: f64,
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: f64,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: f64,
    /// Elevation of the ground, in metres; none in a void too large to fill.
    pub elevation_m: Option<f64>,
    /// Whether a void was filled from its neighbours for it.
    pub void_filled: bool,
    /// Rise over run to the right of the road.
    pub slope_across: f64,
}

/// The ground along a route, as tiles have it.
#[derive(Debug, Clone, PartialEq)]
pub struct TileElevations {
    /// The ground at even steps of at most 30 m, from the start to the end.
    pub samples: Vec<Sampled>,
    /// Distance between samples of the coarsest tile, in arc seconds.
    pub arc_seconds: usize,
    /// How many of the samples lie in voids and were filled.
    pub voids_filled: usize,
    /// How many lie in voids too large to fill.
    pub voids_left: usize,
}

impl Sampled {
    /// By how much the elevation may be off because line and ground lie apart sideways, in metres: the slope across the road times
    /// 10 m.
    pub fn error_across_m(&self) -> f64 {
        self.slope_across.abs() * SIDEWAYS_M
    }

    /// How far the ground of the tile is from the road here, as a standard deviation in metres: what tiles are off everywhere,
    /// and the slope across the road.
    pub fn error_m(&self) -> f64 {
        TILE_SD_M.hypot(self.error_across_m())
    }
}

impl TileElevations {
    /// Share of the road where the ground across it is steeper than 20 %.
    pub fn steep_share(&self) -> f64 {
        let steep = self
            .samples
            .iter()
            .filter(|s| s.slope_across.abs() > STEEP_ACROSS)
            .count();
        steep as f64 / self.samples.len().max(1) as f64
    }

    /// The root mean square of [`Sampled::error_m`] over the route, in metres.
    pub fn error_m(&self) -> f64 {
        let squares: f64 = self.samples.iter().map(|s| s.error_m().powi(2)).sum();
        (squares / self.samples.len().max(1) as f64).sqrt()
    }

    /// What a rider should know of them, in sentences.
    pub fn remarks(&self) -> Vec<String> {
        let all = self.samples.len();
        let mut remarks = vec![format!(
            "elevations are the ground's, from tiles with a sample every {} ({} m north–south): tunnels, bridges and cuttings are not in them",
            if self.arc_seconds == 1 {
                "arc second".to_owned()
            } else {
                format!("{} arc seconds", self.arc_seconds)
            },
            31 * self.arc_seconds
        )];
        if self.voids_filled > 0 {
            remarks.push(format!("{} of {all} elevations lie in voids of the tiles and were filled from their neighbours", self.voids_filled));
        }
        if self.voids_left > 0 {
            remarks.push(format!(
                "{} of {all} elevations lie in voids of the tiles with nothing known within 3 km, and were left out",
                self.voids_left
            ));
        }
        let share_pct = 100.0 * self.steep_share();
        if share_pct > 0.0 {
            let worst_m = self
                .samples
                .iter()
                .map(Sampled::error_across_m)
                .fold(0.0, f64::max);
            remarks.push(format!(
                "on {} of the road the ground across it is steeper than {:.0} %: elevations there may be off by {:.0} m or more, {worst_m:.0} m at worst (slope across × {SIDEWAYS_M:.0} m)",
                if share_pct < 1.0 { "under 1 %".to_owned() } else { format!("{share_pct:.0} %") },
                100.0 * STEEP_ACROSS,
                STEEP_ACROSS * SIDEWAYS_M,
            ));
        }
        remarks
    }
}

/// The tiles that a route needs, from south to north and west to east. On a border either tile serves; one that is needed
/// anyway is taken.
pub fn needed(route: &Route) -> Vec<TileName> {
    let mut names = BTreeSet::new();
    let mut either = BTreeSet::new();
    for (_, place) in even_places(route) {
        match TileName::holding(place.lat_deg, place.lon_deg).as_slice() {
            [] => {}
            [one] => {
                names.insert(*one);
            }
            several => {
                either.insert(several.to_vec());
            }
        }
    }
    for several in either {
        if !several.iter().any(|name| names.contains(name)) {
            names.insert(several[0]);
        }
    }
    names.into_iter().collect()
}

/// The tiles that a route needs and that are not here.
///
/// # Errors
/// [`TerrainError::Folder`] where the folder can't be listed.
pub(super) fn missing(route: &Route, tiles: &Tiles) -> Result<Vec<TileName>, TerrainError> {
    let mut names = Vec::new();
    for name in needed(route) {
        if tiles.files(name)?.is_empty() {
            names.push(name);
        }
    }
    Ok(names)
}

/// The ground along a route.
///
/// # Errors
/// [`TerrainError::Missing`] with every tile that is not here, [`TerrainError::OnlyVoids`], and the errors of reading a tile.
pub fn along(route: &Route, tiles: &Tiles) -> Result<TileElevations, TerrainError> {
    let names = missing(route, tiles)?;
    if !names.is_empty() {
        return Err(TerrainError::Missing {
            names,
            folder: tiles.folder().to_owned(),
        });
    }
    let places = even_places(route);
    let mut found = TileElevations {
        samples: Vec::with_capacity(places.len()),
        arc_seconds: 1,
        voids_filled: 0,
        voids_left: 0,
    };
    for (i, (distance_m, place)) in places.iter().enumerate() {
        let (before, after) = (
            places[i.saturating_sub(1)].1,
            places[(i + 1).min(places.len() - 1)].1,
        );
        let ground = match tiles.elevation_m(place.lat_deg, place.lon_deg) {
            Ok(ground) => Some(ground),
            Err(TerrainError::Void { .. }) => None,
            Err(error) => return Err(error),
        };
        found.samples.push(Sampled {
            distance_m: *distance_m,
            lat_deg: place.lat_deg,
            lon_deg: place.lon_deg,
            elevation_m: ground.map(|g| g.elevation_m),
            void_filled: ground.is_some_and(|g| g.void_filled),
            slope_across: ground.map_or(0.0, |g| g.slope_across(bearing_rad(before, after))),
        });
    }
    for name in needed(route) {
        found.arc_seconds = found
            .arc_seconds
            .max(tiles.tile(name)?.map_or(1, |tile| tile.arc_seconds()));
    }
    found.voids_filled = found.samples.iter().filter(|s| s.void_filled).count();
    found.voids_left = found
        .samples
        .iter()
        .filter(|s| s.elevation_m.is_none())
        .count();
    if found.voids_left == found.samples.len() {
        Err(TerrainError::OnlyVoids)
    } else {
        Ok(found)
    }
}

/// Places at even steps of at most [`STEP_M`] from the start to the end, each with its distance in metres.
fn even_places(route: &Route) -> Vec<(f64, LatLon)> {
    let points = &route.points;
    let (Some(first), Some(last)) = (points.first(), points.last()) else {
        return Vec::new();
    };
    let length_m = last.distance_m - first.distance_m;
    let steps = (length_m / STEP_M).ceil().max(1.0) as usize;
    let mut after = 1;
    (0..=steps)
        .map(|step| {
            // The last one is the end itself, not a rounding short of it.
            let distance_m = if step == steps {
                last.distance_m
            } else {
                first.distance_m + length_m * step as f64 / steps as f64
            };
            while after + 1 < points.len() && points[after].distance_m < distance_m {
                after += 1;
            }
            let (a, b) = (&points[after - 1], &points[after.min(points.len() - 1)]);
            (distance_m, between(a, b, distance_m))
        })
        .collect()
}

fn between(a: &Point, b: &Point, distance_m: f64) -> LatLon {
    let share = ((distance_m - a.distance_m) / (b.distance_m - a.distance_m)).clamp(0.0, 1.0);
    if share.is_nan() || share == 1.0 {
        return b.into();
    }
    let mut east_deg = b.lon_deg - a.lon_deg;
    if east_deg.abs() > 180.0 {
        east_deg -= 360.0_f64.copysign(east_deg);
    }
    let lon_deg = a.lon_deg + share * east_deg;
    let around = if lon_deg.abs() > 180.0 {
        lon_deg - 360.0_f64.copysign(lon_deg)
    } else {
        lon_deg
    };
    LatLon {
        lat_deg: a.lat_deg + share * (b.lat_deg - a.lat_deg),
        lon_deg: around,
    }
}
