//! Files that commands work on.

use std::path::{Path, PathBuf};

use super::arguments::ElevationArguments;
use super::failure::Failure;
use super::print;
use crate::files::{FileError, Limits, find_routes, read_bounded, read_stdin_bounded};
use crate::prescription::{RiderFile, Set, parse_rider, parse_set};
use crate::profile::Profile;
use crate::profile::sources::{self, Origin};
use crate::review::plan_file::parse_plan;
use crate::review::planned::Asked;
use crate::review::recording::{self, Recorded};
use crate::route::{self, Route};
use crate::terrain::Tiles;

/// A rider or set file is typed by hand; what is larger is something else.
const MOST_TOML_BYTES: u64 = 1 << 20;

/// A route with its profile.
pub(super) struct Graded {
    pub(super) route: Route,
    pub(super) profile: Profile,
    pub(super) origin: Origin,
}

/// Reads every route that was named and makes its profile, and tells on standard error why any of them can't be used.
pub(super) fn routes(
    named: &[String],
    elevation: &ElevationArguments,
) -> Result<Vec<Graded>, Failure> {
    let tiles = Tiles::open(&elevation.tiles);
    each(named, |found, source| {
        grade(found, source, elevation, &tiles)
    })
}

/// A ride with its profile, where it has elevations.
pub(super) struct Ride {
    pub(super) recorded: Recorded,
    pub(super) profile: Option<Profile>,
}

/// Reads every recording that was named, and tells on standard error why any of them can't be used.
pub(super) fn rides(
    named: &[String],
    elevation: &ElevationArguments,
) -> Result<Vec<Ride>, Failure> {
    let tiles = Tiles::open(&elevation.tiles);
    let mut usable = Vec::new();
    for name in named {
        for (source, bytes) in contents(name)? {
            let read = bytes
                .map_err(|e| e.to_string())
                .and_then(|b| recording::read(&b, &source).map_err(|e| e.to_string()));
            match read {
                Ok(rides) => usable.extend(rides.into_iter().map(|r| ride(r, elevation, &tiles))),
                Err(why) => print::error(&format!("{source}: {why}")),
            }
        }
    }
    if usable.is_empty() {
        Err(Failure::NoRoute(named.join(", ")))
    } else {
        Ok(usable)
    }
}

fn ride(mut recorded: Recorded, elevation: &ElevationArguments, tiles: &Tiles) -> Ride {
    match graded(&recorded.route, elevation, tiles) {
        Ok(graded) => {
            recorded.route.warnings = graded.route.warnings;
            let profile = Some(graded.profile);
            Ride { recorded, profile }
        }
        Err(why) => {
            let told = format!(
                "{why}; without elevations grades, estimated power and the road model can't be told"
            );
            recorded.route.warnings.push(told);
            Ride {
                recorded,
                profile: None,
            }
        }
    }
}

/// Reads a plan, as `hillwright plan` writes it.
pub(super) fn plan(path: &Path) -> Result<Vec<Asked>, Failure> {
    parse_plan(&text(path)?).map_err(|source| Failure::Plan {
        path: path.display().to_string(),
        source,
    })
}

/// Reads every route that was named, with elevations or without, and tells on standard error why any of them can't be used.
pub(super) fn lines(named: &[String]) -> Result<Vec<Route>, Failure> {
    each(named, |found, _| Ok(found))
}

/// What is made of the routes in every file that was named; an error only where nothing is.
fn each<T>(
    named: &[String],
    make: impl Fn(Vec<Route>, &str) -> Result<Vec<T>, String>,
) -> Result<Vec<T>, Failure> {
    let mut usable = Vec::new();
    for name in named {
        for (source, bytes) in contents(name)? {
            match bytes
                .map_err(|e| format!("{source}: {e}"))
                .and_then(|b| route::read(&b, &source).map_err(|e| format!("{source}: {e}")))
                .and_then(|found| make(found, &source))
            {
                Ok(made) => usable.extend(made),
                Err(why) => print::error(&why),
            }
        }
    }
    if usable.is_empty() {
        Err(Failure::NoRoute(named.join(", ")))
    } else {
        Ok(usable)
    }
}

/// A file that was named or found, and what is in it.
type Content = (String, Result<Vec<u8>, FileError>);

/// What is in a file, in every route file of a folder, or on standard input.
fn contents(name: &str) -> Result<Vec<Content>, Failure> {
    let limits = Limits::default();
    if name == "-" {
        return Ok(vec![(name.to_owned(), read_stdin_bounded(&limits))]);
    }
    let path = Path::new(name);
    let files: Vec<PathBuf> = if path.is_dir() {
        find_routes(path).map_err(|source| Failure::File {
            path: name.to_owned(),
            source,
        })?
    } else {
        vec![path.to_owned()]
    };
    Ok(files
        .into_iter()
        .map(|f| (f.display().to_string(), read_bounded(&f, &limits)))
        .collect())
}

/// The routes of a file that have a profile; an error only where none has.
fn grade(
    found: Vec<Route>,
    source: &str,
    elevation: &ElevationArguments,
    tiles: &Tiles,
) -> Result<Vec<Graded>, String> {
    let mut usable = Vec::new();
    let mut refused = Vec::new();
    for route in found {
        match graded(&route, elevation, tiles) {
            Ok(graded) => usable.push(graded),
            Err(why) => refused.push(match &route.name {
                Some(name) => format!("{source}, {name}: {why}"),
                None => format!("{source}: {why}"),
            }),
        }
    }
    if usable.is_empty() {
        return Err(refused.join("\n"));
    }
    refused.iter().for_each(|why| print::warning(why));
    Ok(usable)
}

fn graded(route: &Route, elevation: &ElevationArguments, tiles: &Tiles) -> Result<Graded, String> {
    let sourced = sources::profile(route, elevation.wanted(), tiles).map_err(|e| e.to_string())?;
    let mut route = route.clone();
    route.warnings.extend(sourced.remarks);
    Ok(Graded {
        route,
        profile: sourced.profile,
        origin: sourced.origin,
    })
}

/// Reads a rider file, and tells what was assumed.
pub(super) fn rider(path: &Path) -> Result<RiderFile, Failure> {
    let rider = parse_rider(&text(path)?).map_err(|source| Failure::Prescription {
        path: path.display().to_string(),
        source,
    })?;
    rider
        .notes
        .iter()
        .for_each(|n| print::warning(&format!("{}: {n}", path.display())));
    Ok(rider)
}

/// Reads a set file.
pub(super) fn set(path: &Path) -> Result<Set, Failure> {
    parse_set(&text(path)?).map_err(|source| Failure::Prescription {
        path: path.display().to_string(),
        source,
    })
}

fn text(path: &Path) -> Result<String, Failure> {
    let limits = Limits {
        input_bytes: MOST_TOML_BYTES,
        inflated_bytes: MOST_TOML_BYTES,
    };
    let bytes = read_bounded(path, &limits).map_err(|source| Failure::File {
        path: path.display().to_string(),
        source,
    })?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
