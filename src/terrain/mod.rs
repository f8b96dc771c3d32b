//! Elevation tiles: find, read, sample, fetch.
//!
//! A tile covers one degree by one degree and is named by its south-west corner ([`TileName`]). [`Tiles`] finds them in a folder,
//! reads each when it is first needed, and tells the ground's elevation and slope anywhere on them ([`Tiles::elevation_m`]).
//! [`along`] follows a route over them; whether its own elevations or the tiles' are used is decided where both errors are known, in
//! [`crate::profile::sources`].
//! [`fetch`] gets tiles that are missing from a source that the user names.
//!
//! ```
//! use hillwright::terrain::Tiles;
//! let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("elevation-cache");
//! let tiles = Tiles::open(folder);
//! let ground = tiles.elevation_m(-44.68, -129.78)?;
//! assert!((0.0..700.0).contains(&ground.elevation_m) && !ground.void_filled);
//! assert!(tiles.elevation_m(44.5, 7.5).unwrap_err().to_string().contains("N44E007"));
//! # Ok::<(), hillwright::terrain::TerrainError>(())
//! ```

mod along;
mod cache;
mod error;
pub mod fetch;
mod name;
mod sample;
mod source;
mod tile;
mod unpack;

#[cfg(test)]
mod along_tests;
#[cfg(test)]
mod made;
#[cfg(test)]
mod sample_tests;

pub use along::{STEP_M, Sampled, TILE_SD_M, TileElevations, along, needed};
pub use cache::Tiles;
pub use error::TerrainError;
pub use name::{TileName, TileNameError};
pub use sample::Sample;
pub use source::{SourceError, TileSource};
pub use tile::{Tile, TileError};
pub use unpack::UnpackError;

/// Folder that tiles are looked for in where none is named.
pub const DEFAULT_FOLDER: &str = "elevation-cache";
