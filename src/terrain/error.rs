//! Why the ground's elevation is not known.

use std::io;
use std::path::PathBuf;

use super::{TileError, TileName};

/// Why tiles could not tell an elevation.
#[derive(Debug, thiserror::Error)]
pub enum TerrainError {
    /// Tiles that are not in the folder.
    #[error("{} not in {}; `hillwright tiles ROUTE --fetch --tile-source URL` gets what is missing, \
        --tiles DIR names another folder", listed(.names), .folder.display())]
    Missing {
        /// Which.
        names: Vec<TileName>,
        /// Where they were looked for.
        folder: PathBuf,
    },
    /// A tile that is there but can't be used.
    #[error("{}: {source}", .path.display())]
    Tile {
        /// Its file.
        path: PathBuf,
        /// What is wrong with it.
        source: TileError,
    },
    /// A folder that is there but can't be listed.
    #[error("the folder {} can't be listed: {source}", .folder.display())]
    Folder {
        /// The folder.
        folder: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// A hole in a tile that is too large to fill.
    #[error(
        "the tile has a void at latitude {lat_deg:.5}, longitude {lon_deg:.5}, with nothing known within 3 km; use recorded elevations there, or tiles without voids"
    )]
    Void {
        /// Latitude, in degrees.
        lat_deg: f64,
        /// Longitude, in degrees.
        lon_deg: f64,
    },
    /// Nothing but such holes along a route.
    #[error(
        "the tiles have no elevation anywhere along the route, only voids; use recorded elevations, or tiles without voids"
    )]
    OnlyVoids,
    /// Numbers outside the globe.
    #[error(
        "latitude {lat_deg}, longitude {lon_deg} is no place; expected -90 to 90 and -180 to 180 degrees"
    )]
    NoPlace {
        /// Latitude, in degrees.
        lat_deg: f64,
        /// Longitude, in degrees.
        lon_deg: f64,
    },
    /// Neither recorded elevations nor all the tiles.
    #[error("the route has no elevations, and {missing}")]
    NoElevations {
        /// What is missing.
        missing: Box<TerrainError>,
    },
}

/// Most names that are told one by one.
const MOST_NAMED: usize = 8;

fn listed(names: &[TileName]) -> String {
    let first: Vec<String> = names
        .iter()
        .take(MOST_NAMED)
        .map(ToString::to_string)
        .collect();
    let first = first.join(", ");
    match names.len() {
        1 => format!("the elevation tile {first} is"),
        n if n <= MOST_NAMED => format!("the elevation tiles {first} are"),
        n => format!(
            "the elevation tiles {first} and {} more are",
            n - MOST_NAMED
        ),
    }
}
