//! Which elevation tiles routes need, and which are here.

use std::collections::{BTreeMap, BTreeSet};

use super::climbs_text::title;
use super::document::{RouteTilesEntry, TileEntry, TilesDocument};
use super::text::{Paper, plain};
use crate::route::Route;
use crate::terrain::{TerrainError, TileName, Tiles, needed};

/// Puts the tiles that routes need into a document, each as it is in the folder now.
///
/// `fetched` tells of the tiles that were just asked for: nothing where they came, and why where they did not.
///
/// # Errors
/// [`TerrainError::Folder`] where the folder can't be listed. Tiles that can't be read are damaged, which is no error.
pub fn document(
    routes: &[Route],
    tiles: &Tiles,
    fetched: &BTreeMap<TileName, Result<(), String>>,
) -> Result<TilesDocument, TerrainError> {
    let per_route: Vec<Vec<TileName>> = routes.iter().map(needed).collect();
    let all: BTreeSet<TileName> = per_route.iter().flatten().copied().collect();
    let entries = all
        .iter()
        .map(|name| tile_entry(*name, tiles, fetched.get(name)))
        .collect::<Result<Vec<_>, _>>()?;
    Ok(TilesDocument {
        schema: "hillwright.tiles/1".to_owned(),
        folder: tiles.folder().display().to_string(),
        routes: routes
            .iter()
            .zip(&per_route)
            .map(|(route, names)| route_entry(route, names))
            .collect(),
        missing: entries.iter().filter(|tile| tile.state != "here").count(),
        tiles: entries,
    })
}

fn route_entry(route: &Route, names: &[TileName]) -> RouteTilesEntry {
    RouteTilesEntry {
        source: route.source.clone(),
        name: route.name.clone(),
        tiles: names.iter().map(ToString::to_string).collect(),
    }
}

fn tile_entry(
    name: TileName,
    tiles: &Tiles,
    fetched: Option<&Result<(), String>>,
) -> Result<TileEntry, TerrainError> {
    let file = tiles
        .files(name)?
        .first()
        .map(|path| path.display().to_string());
    let refused = fetched.and_then(|outcome| outcome.as_ref().err().cloned());
    let (state, tile, why) = match tiles.tile(name) {
        Ok(Some(tile)) => ("here", Some(tile), None),
        Ok(None) => ("missing", None, refused),
        Err(error) => ("damaged", None, refused.or(Some(error.to_string()))),
    };
    Ok(TileEntry {
        name: name.to_string(),
        state: state.to_owned(),
        file,
        fetched: fetched.is_some_and(Result::is_ok),
        spacing_arcsec: tile.as_ref().map(|tile| tile.arc_seconds()),
        voids: tile.as_ref().map(|tile| tile.voids),
        why,
    })
}

/// The document as a table of tiles, with what each route needs where there are several.
pub fn text(document: &TilesDocument, paper: &Paper) -> String {
    let mut out = String::new();
    if document.routes.len() > 1 {
        for route in &document.routes {
            out += &title(&route.source, route.name.as_deref());
            out += &paper.wrapped(&format!("  {}", route.tiles.join(", ")), 2);
        }
        out.push('\n');
    }
    let rows = document.tiles.iter().map(row).collect();
    out += &paper.table(
        &["tile", "state", "spacing", "voids", "file"],
        rows,
        &[0, 1, 4],
    );
    for tile in &document.tiles {
        if let Some(why) = &tile.why {
            out += &paper.wrapped(&format!("- {}: {}", tile.name, plain(why, 400)), 2);
        }
    }
    out.push('\n');
    out + &paper.wrapped(&summary(document), 0)
}

fn row(tile: &TileEntry) -> Vec<String> {
    let shown = |value: Option<usize>, unit: &str| {
        value.map_or_else(String::new, |value| format!("{value}{unit}"))
    };
    vec![
        tile.name.clone(),
        if tile.fetched && tile.state == "here" {
            "fetched".to_owned()
        } else {
            tile.state.clone()
        },
        shown(tile.spacing_arcsec, "″"),
        shown(tile.voids, ""),
        plain(tile.file.as_deref().unwrap_or_default(), 200),
    ]
}

fn summary(document: &TilesDocument) -> String {
    let all = document.tiles.len();
    let tiles = if all == 1 { "tile" } else { "tiles" };
    match document.missing {
        0 => format!("All needed here: {all} {tiles} in {}.", document.folder),
        missing => format!(
            "{missing} of {all} {tiles} missing or damaged in {}. The same command with --fetch --tile-source URL gets what is missing.",
            document.folder
        ),
    }
}
