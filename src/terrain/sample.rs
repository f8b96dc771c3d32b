//! The elevation and the slope of the ground at a place: bilinear between the four samples around it.

use super::{TerrainError, Tile, TileName, Tiles};
use crate::route::{LatLon, step_m};

/// How far away the neighbours may lie that a void is filled from, in arc seconds: about 3 km on a meridian. Beyond it the ground
/// is not guessed.
const REACH_ARC_SECONDS: usize = 100;
/// The ways in which a void looks for neighbours: rows to the south, columns to the east.
const WAYS: [(i64, i64); 8] = [
    (-1, 0),
    (-1, 1),
    (0, 1),
    (1, 1),
    (1, 0),
    (1, -1),
    (0, -1),
    (-1, -1),
];

/// The ground at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sample {
    /// Elevation above the tile's datum (EGM96 mean sea level for SRTM), in metres.
    pub elevation_m: f64,
    /// Whether one of the samples around the place was void and filled from its neighbours.
    pub void_filled: bool,
    /// Rise over run towards the east and towards the north.
    pub slope: [f64; 2],
}

impl Sample {
    /// Rise over run to the right of a traveller with this bearing (radians clockwise from north).
    pub fn slope_across(&self, bearing_rad: f64) -> f64 {
        let (sin, cos) = bearing_rad.sin_cos();
        self.slope[0] * cos - self.slope[1] * sin
    }
}

impl Tiles {
    /// The ground at a place given in degrees (WGS 84): bilinear in latitude and longitude between the four samples around it.
    ///
    /// On a border any tile that holds it serves. A void is filled with the mean of the nearest samples in eight directions,
    /// each weighted by the inverse square of its distance, across borders too where the neighbouring tile is here.
    ///
    /// # Errors
    /// [`TerrainError::Missing`] where the tile is not here, [`TerrainError::Void`] where nothing within 3 km is known,
    /// [`TerrainError::NoPlace`] for numbers outside the globe, and the errors of reading a tile.
    pub fn elevation_m(&self, lat_deg: f64, lon_deg: f64) -> Result<Sample, TerrainError> {
        let holding = TileName::holding(lat_deg, lon_deg);
        for name in &holding {
            if let Some(tile) = self.tile(*name)? {
                return self.sample(&tile, lat_deg, lon_deg);
            }
        }
        match holding.first() {
            Some(name) => Err(TerrainError::Missing {
                names: vec![*name],
                folder: self.folder().to_owned(),
            }),
            None => Err(TerrainError::NoPlace { lat_deg, lon_deg }),
        }
    }

    fn sample(&self, tile: &Tile, lat_deg: f64, lon_deg: f64) -> Result<Sample, TerrainError> {
        let cells = (tile.side - 1) as f64;
        let from_south = (lat_deg - f64::from(tile.name.south_deg)) * cells;
        // A whole turn further west is the same place: 180 is the east border of E179 and the west border of W180.
        let from_west = (lon_deg - f64::from(tile.name.west_deg)).rem_euclid(360.0) * cells;
        let (row, down) = cell(cells - from_south, tile.side);
        let (column, right) = cell(from_west, tile.side);
        let mut void_filled = false;
        let mut corner =
            |row: usize, column: usize| match self.known_m(tile, row as i64, column as i64) {
                Some(metres) => Ok(metres),
                None => {
                    void_filled = true;
                    self.filled_m(tile, row, column)
                        .ok_or(TerrainError::Void { lat_deg, lon_deg })
                }
            };
        let (nw, ne) = (corner(row, column)?, corner(row, column + 1)?);
        let (sw, se) = (corner(row + 1, column)?, corner(row + 1, column + 1)?);
        let north = nw + right * (ne - nw);
        let south = sw + right * (se - sw);
        let east_rise_m = (ne - nw) + down * ((se - sw) - (ne - nw));
        let (east_m, north_m) = cell_size_m(lat_deg, 1.0 / cells);
        Ok(Sample {
            elevation_m: north + down * (south - north),
            void_filled,
            // At a pole a cell has no width, and all its samples along a row are one place.
            slope: [
                if east_m > 1e-3 {
                    east_rise_m / east_m
                } else {
                    0.0
                },
                (north - south) / north_m,
            ],
        })
    }

    /// A sample by row and column, which may lie beyond the tile's borders by less than a tile; none where it is void or its tile is
    /// not here, can't be read or is of another resolution.
    fn known_m(&self, tile: &Tile, row: i64, column: i64) -> Option<f64> {
        let last = tile.side as i64 - 1;
        let own = |tile: &Tile, row: i64, column: i64| {
            let inside = (0..=last).contains(&row) && (0..=last).contains(&column);
            inside
                .then(|| tile.sample_m(row as usize, column as usize))
                .flatten()
        };
        if let Some(metres) = own(tile, row, column) {
            return Some(metres);
        }
        // On a border or beyond it the neighbours have the sample too.
        let beyond = |index: i64| {
            if index <= 0 {
                [0, -1]
            } else if index >= last {
                [0, 1]
            } else {
                [0, 0]
            }
        };
        beyond(row)
            .into_iter()
            .flat_map(|down| beyond(column).map(|east| (down, east)))
            .find_map(|(down, east)| {
                let name = tile
                    .name
                    .beside(-down as i16, east as i16)
                    .filter(|name| *name != tile.name)?;
                let beside = self
                    .tile_if_readable(name)
                    .filter(|beside| beside.side == tile.side)?;
                own(&beside, row - down * last, column - east * last)
            })
    }

    fn filled_m(&self, tile: &Tile, row: usize, column: usize) -> Option<f64> {
        let (row, column) = (row as i64, column as i64);
        let reach = (REACH_ARC_SECONDS / tile.arc_seconds()) as i64;
        let east_share = {
            let lat_deg =
                f64::from(tile.name.south_deg) + 1.0 - row as f64 / (tile.side - 1) as f64;
            lat_deg.to_radians().cos()
        };
        let mut weights = 0.0;
        let mut sum_m = 0.0;
        for (down, right) in WAYS {
            let seen = (1..=reach)
                .find_map(|n| Some((n, self.known_m(tile, row + n * down, column + n * right)?)));
            let Some((n, metres)) = seen else { continue };
            let apart = n as f64 * (down as f64).hypot(right as f64 * east_share);
            let weight = 1.0 / (apart * apart).max(1e-12);
            weights += weight;
            sum_m += weight * metres;
        }
        (weights > 0.0).then(|| sum_m / weights)
    }
}

/// The cell that a position (in cells from the border) lies in, and how far into it, 0 to 1.
fn cell(position: f64, side: usize) -> (usize, f64) {
    let index = (position.max(0.0) as usize).min(side - 2);
    (index, (position - index as f64).clamp(0.0, 1.0))
}

/// Width and height of a cell about a latitude, in metres.
fn cell_size_m(lat_deg: f64, cell_deg: f64) -> (f64, f64) {
    let place = |lat_deg: f64, lon_deg: f64| LatLon { lat_deg, lon_deg };
    let (south, north) = (
        (lat_deg - 0.5 * cell_deg).max(-90.0),
        (lat_deg + 0.5 * cell_deg).min(90.0),
    );
    let height_m = step_m(place(south, 0.0), place(north, 0.0)) * cell_deg / (north - south);
    (
        step_m(place(lat_deg, 0.0), place(lat_deg, cell_deg)),
        height_m,
    )
}
