//! Which elevations a route's profile is made from: its own, the tiles', or both together.
//!
//! What decides is how sure each leaves the grade of a short climb. A barometer is surer than any tile, so its recordings are
//! taken as they are and no tile is looked at. Satellite fixes err by metres over hundreds of metres, tiles over tens: tiles are
//! better, and both together are better than either, since they err independently ([`super::together`]). Under a planned line lies a terrain
//! model that may be the tiles' own, so that the two say no more together than one does.

use super::ground::{Disagreement, Ground};
use super::looks::{Likeness, Looks};
use super::noise::DECIDING_M;
use super::{Known, Laid, Noise, Profile, ProfileError, noise, together};
use crate::route::Route;
use crate::terrain::{STEP_M, TILE_SD_M, TerrainError, TileElevations, Tiles, along};

/// What the user wants.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Wanted {
    /// Recorded elevations, and no others.
    Recorded,
    /// The tiles', and no others.
    Tiles,
    /// Whichever gives the surer grades.
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

/// Where a route's elevations are from.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Origin {
    /// Where they are from.
    pub source: ElevationSource,
    /// Whether the recording's own helped the tiles'.
    pub together: bool,
    /// How many were missing and filled.
    pub voids: usize,
    /// Why these were taken, in words; none where the user said so.
    pub why: Option<String>,
    /// Where tiles and recording disagree; only where tiles were looked at.
    pub disagreements: Vec<Disagreement>,
}

/// A route's profile, and where its elevations are from.
#[derive(Debug, Clone, PartialEq)]
pub struct Sourced {
    /// The profile.
    pub profile: Profile,
    /// Where its elevations are from.
    pub origin: Origin,
    /// What a rider should know of them, in sentences, besides the route's and the profile's own warnings.
    pub remarks: Vec<String>,
}

/// Why there is no profile.
#[derive(Debug, thiserror::Error)]
pub enum SourceError {
    /// Tiles are wanted or needed, and can't be used.
    #[error(transparent)]
    Terrain(#[from] TerrainError),
    /// The route has none.
    #[error(transparent)]
    Profile(#[from] ProfileError),
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

/// Most disagreements that are told one by one.
const MOST_TOLD: usize = 4;

/// Makes a route's profile from the elevations that are wanted, or that are best.
///
/// # Errors
/// [`SourceError`] where tiles are wanted and can't be used, where there are neither tiles nor elevations, and where the route is too short
/// or too long.
pub fn profile(route: &Route, wanted: Wanted, tiles: &Tiles) -> Result<Sourced, SourceError> {
    match wanted {
        Wanted::Recorded => Ok(recorded(route, Profile::from_route(route)?, None)),
        Wanted::Tiles => {
            let ground = along(route, tiles)?;
            Ok(Choice::between(route, &ground)?.only_tiles(None))
        }
        Wanted::Auto if !has_elevations(route) => {
            let ground = along(route, tiles).map_err(|error| match error {
                TerrainError::Missing { .. } => TerrainError::NoElevations {
                    missing: Box::new(error),
                },
                other => other,
            })?;
            let why = Some("the route has no elevations".to_owned());
            Ok(Choice::between(route, &ground)?.only_tiles(why))
        }
        Wanted::Auto => best(route, Profile::from_route(route)?, tiles),
    }
}

/// Fewer than two make no grade.
fn has_elevations(route: &Route) -> bool {
    let known = route.points.iter().filter(|p| p.elevation_m.is_some());
    known.count() >= 2
}

/// A profile from a route and tiles alone, whatever the route has recorded.
///
/// # Errors
/// [`ProfileError`] where the route is too short or too long.
pub fn from_tiles(route: &Route, ground: &TileElevations) -> Result<Sourced, ProfileError> {
    Ok(Choice::between(route, ground)?.only_tiles(None))
}

/// A profile from a route's elevations and the tiles' together; nothing where they do not err independently.
///
/// # Errors
/// [`ProfileError`] where the route is too short or too long, or has no elevations.
pub fn from_both(route: &Route, ground: &TileElevations) -> Result<Option<Sourced>, ProfileError> {
    let profile = Profile::from_route(route)?;
    Ok(Choice::between(route, ground)?.together(&profile.noise, None))
}

fn recorded(route: &Route, profile: Profile, why: Option<String>) -> Sourced {
    let missing = route.points.iter().filter(|p| p.elevation_m.is_none());
    Sourced {
        origin: Origin {
            voids: missing.count(),
            why,
            ..Origin::default()
        },
        remarks: Vec::new(),
        profile,
    }
}

fn best(route: &Route, profile: Profile, tiles: &Tiles) -> Result<Sourced, SourceError> {
    let recorded_pct = profile.noise.nine_in_ten_pct();
    // On level ground; elsewhere tiles are worse.
    let tiles_at_best = Noise::of_tiles(TILE_SD_M);
    let tiles_at_best_pct = tiles_at_best.nine_in_ten_pct();
    if !tiles_at_best.is_clearly_better_than(&profile.noise) {
        let why = format!(
            "the recording gives the grade of {DECIDING_M:.0} m to ±{recorded_pct:.1} points, tiles would give it to ±{tiles_at_best_pct:.1} at best"
        );
        return Ok(recorded(route, profile, Some(why)));
    }
    let ground = match along(route, tiles) {
        Ok(ground) => ground,
        Err(error) => {
            let why = format!(
                "the recording gives the grade of {DECIDING_M:.0} m only to ±{recorded_pct:.1} points; tiles would give it to about ±{tiles_at_best_pct:.1}, but {error}"
            );
            let mut sourced = recorded(route, profile, Some(why.clone()));
            sourced.remarks.push(why);
            return Ok(sourced);
        }
    };
    let tiles = Noise::of_tiles(ground.error_m());
    let tiles_pct = tiles.nine_in_ten_pct();
    let numbers = format!(
        "tiles give the grade of {DECIDING_M:.0} m to ±{tiles_pct:.1} points, the recording to ±{recorded_pct:.1}"
    );
    let choice = Choice::between(route, &ground)?;
    let ridden = matches!(
        profile.looks.likeness,
        Likeness::Satellites | Likeness::Between
    );
    if ridden && let Some(mut both) = choice.together(&profile.noise, None) {
        let both_pct = both.profile.noise.nine_in_ten_pct();
        let why = format!("{numbers}, both together to ±{both_pct:.1}");
        both.remarks
            .push(format!("elevations are from both: {why}"));
        both.origin.why = Some(why);
        return Ok(both);
    }
    if tiles.is_clearly_better_than(&profile.noise) {
        let mut sourced = choice.only_tiles(Some(numbers.clone()));
        sourced
            .remarks
            .push(format!("elevations are from tiles: {numbers}"));
        Ok(sourced)
    } else {
        let mut sourced = recorded(route, profile, Some(numbers));
        sourced
            .remarks
            .extend(told(&choice.disagreements, &sourced.profile, false));
        sourced.origin.disagreements = choice.disagreements;
        Ok(sourced)
    }
}

/// A route on its nodes, with the ground there.
struct Choice<'a> {
    route: &'a Route,
    tiles: &'a TileElevations,
    laid: Laid<'a>,
    ground: Ground,
    disagreements: Vec<Disagreement>,
}

impl<'a> Choice<'a> {
    fn between(route: &'a Route, tiles: &'a TileElevations) -> Result<Self, ProfileError> {
        let laid = Laid::out(route)?;
        let ground = Ground::on_nodes(&laid.track(), tiles, laid.line.spacing_m, laid.nodes());
        let disagreements = if has_elevations(route) {
            let seen = laid.recorded();
            ground.disagreements(&seen, &noise::estimate(&seen, laid.line.spacing_m))
        } else {
            Vec::new()
        };
        Ok(Choice {
            route,
            tiles,
            laid,
            ground: ground.distrusted(&disagreements),
            disagreements,
        })
    }

    fn only_tiles(self, why: Option<String>) -> Sourced {
        let usual_m = self.tiles.error_m();
        let observations = self.ground.observations(STEP_M, usual_m);
        let looks = Looks {
            likeness: Likeness::Tiles,
            step_m: None,
        };
        let laid = self.laid.clone();
        let profile = laid.profile(observations, Known::AtLeast(usual_m), Some(looks));
        self.sourced(profile, why, false)
    }

    fn together(&self, noise: &Noise, why: Option<String>) -> Option<Sourced> {
        let (observations, noise) =
            together::observations(&self.laid.recorded(), noise, &self.ground)?;
        let looks = Looks {
            likeness: Likeness::TilesAndRecording,
            step_m: None,
        };
        let laid = self.laid.clone();
        let profile = laid.profile(observations, Known::About(noise), Some(looks));
        Some(self.sourced(profile, why, true))
    }

    fn sourced(&self, profile: Profile, why: Option<String>, together: bool) -> Sourced {
        let mut remarks = self.tiles.remarks();
        remarks.extend(told(&self.disagreements, &profile, true));
        if let Some(level) = self.level_remark() {
            remarks.push(level);
        }
        Sourced {
            origin: Origin {
                source: ElevationSource::Tiles,
                together,
                voids: self.tiles.voids_filled + self.tiles.voids_left,
                why,
                disagreements: self.disagreements.clone(),
            },
            remarks,
            profile,
        }
    }

    /// A recording that was never set to a known elevation.
    fn level_remark(&self) -> Option<String> {
        if !has_elevations(self.route) {
            return None;
        }
        let differences_m = self.ground.differences_m(&self.laid.recorded());
        let off_m = super::ground::median(differences_m.into_iter().flatten().collect())?;
        (off_m.abs() >= LEVEL_TOLD_M).then(|| {
            format!(
                "the recording lies {:.0} m {} the tiles throughout: its level was not set, which grades do not feel",
                off_m.abs(),
                if off_m > 0.0 { "above" } else { "below" }
            )
        })
    }
}

/// A recording's level is told from this far off the tiles', in metres: satellites and tiles agree on the sea's level within that.
const LEVEL_TOLD_M: f64 = 15.0;

/// Where tiles and recording disagree, in sentences.
fn told(disagreements: &[Disagreement], profile: &Profile, tiles_used: bool) -> Vec<String> {
    if disagreements.is_empty() {
        return Vec::new();
    }
    let km = |along_m: f64| profile.given_at_m(along_m) / 1000.0;
    let stretch = |d: &Disagreement| {
        let way = if d.above_m > 0.0 { "above" } else { "below" };
        format!(
            "km {:.2}–{:.2} (up to {:.0} m {way} the tiles)",
            km(d.from_m),
            km(d.to_m),
            d.above_m.abs()
        )
    };
    let mut list: Vec<String> = disagreements.iter().take(MOST_TOLD).map(stretch).collect();
    if disagreements.len() > MOST_TOLD {
        list.push(format!("{} more", disagreements.len() - MOST_TOLD));
    }
    let then = if tiles_used {
        "; tiles count for little there, and grades are less sure"
    } else {
        ""
    };
    vec![format!(
        "the recording lies farther from the tiles than the errors of both explain, as in a cutting, a tunnel or on a bridge: {}{then}",
        list.join(", ")
    )]
}
