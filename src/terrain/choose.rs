//! Whether a route's recorded elevations or the tiles' are used.

use std::borrow::Cow;

use super::{TerrainError, Tiles, along};
use crate::route::Route;

/// What the user wants.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Wanted {
    /// Recorded elevations, and no others.
    Recorded,
    /// The tiles', and no others.
    Tiles,
    /// Recorded ones where the route has them, otherwise the tiles'.
    #[default]
    Auto,
}

/// Where elevations are from.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum ElevationSource {
    /// The route's file.
    #[default]
    Recorded,
    /// Elevation tiles.
    Tiles,
}

/// Where a route's elevations are from, and how many were missing there.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Origin {
    /// Where they are from.
    pub source: ElevationSource,
    /// How many were missing and filled.
    pub voids: usize,
}

/// A route with the elevations that its profile is to be made from.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen<'a> {
    /// The route itself, or a copy with the tiles' elevations along it.
    pub route: Cow<'a, Route>,
    /// Where they are from.
    pub origin: Origin,
    /// What a rider should know of them, in sentences, besides the route's own warnings.
    pub remarks: Vec<String>,
}

impl ElevationSource {
    /// The word that documents use.
    pub fn word(self) -> &'static str {
        match self {
            ElevationSource::Recorded => "recorded",
            ElevationSource::Tiles => "tiles",
        }
    }
}

/// Chooses a route's elevations.
///
/// # Errors
/// [`TerrainError`] where tiles are wanted and can't be used, [`TerrainError::NoElevations`] where there is neither.
pub fn elevations<'a>(
    route: &'a Route,
    wanted: Wanted,
    tiles: &Tiles,
) -> Result<Chosen<'a>, TerrainError> {
    match wanted {
        Wanted::Recorded => Ok(recorded(route)),
        Wanted::Tiles => from_tiles(route, tiles),
        Wanted::Auto if has_elevations(route) => Ok(recorded(route)),
        Wanted::Auto => from_tiles(route, tiles).map_err(|error| match error {
            TerrainError::Missing { .. } => TerrainError::NoElevations {
                missing: Box::new(error),
            },
            other => other,
        }),
    }
}

/// Fewer than two make no grade.
fn has_elevations(route: &Route) -> bool {
    route
        .points
        .iter()
        .filter(|p| p.elevation_m.is_some())
        .count()
        >= 2
}

fn recorded(route: &Route) -> Chosen<'_> {
    Chosen {
        route: Cow::Borrowed(route),
        origin: Origin {
            source: ElevationSource::Recorded,
            voids: route
                .points
                .iter()
                .filter(|p| p.elevation_m.is_none())
                .count(),
        },
        remarks: Vec::new(),
    }
}

fn from_tiles<'a>(route: &'a Route, tiles: &Tiles) -> Result<Chosen<'a>, TerrainError> {
    let ground = along::along(route, tiles)?;
    Ok(Chosen {
        origin: Origin {
            source: ElevationSource::Tiles,
            voids: ground.voids_filled + ground.voids_left,
        },
        remarks: ground.remarks(),
        route: Cow::Owned(along::with_ground(route, &ground)),
    })
}
