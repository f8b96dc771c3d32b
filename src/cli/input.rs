//! Files that commands work on.

use std::path::{Path, PathBuf};

use super::failure::Failure;
use super::shared_arguments::{AnswerArguments, ElevationArguments, ReadingArguments};
use super::{print, progress};
use crate::archive::{self, Cache, Question, Survey};
use crate::files::{Limits, find_routes, read_bounded, read_stdin_bounded};
use crate::prescription::{RiderFile, Set, parse_rider, parse_set};
use crate::profile::Profile;
use crate::profile::sources::{self as elevations, Origin};
use crate::review::plan_file::parse_plan;
use crate::review::planned::Asked;
use crate::review::recording::{self, Recorded};
use crate::route::{self, Bounds, Route};
use crate::terrain::Tiles;

/// A rider or set file is typed by hand; what is larger is something else.
const MOST_TOML_BYTES: u64 = 1 << 20;
/// A plan of hundreds of routes with twenty reps each is some 10 MB.
const MOST_PLAN_BYTES: u64 = 256 << 20;

/// A route with its profile.
pub(super) struct Graded {
    pub(super) route: Route,
    pub(super) profile: Profile,
    pub(super) origin: Origin,
}

/// What was named, within which bounds it is read, and what may not be written over it.
pub(super) struct Inputs<'a> {
    named: &'a [PathBuf],
    limits: Limits,
    outputs: &'a [PathBuf],
}

impl<'a> Inputs<'a> {
    pub(super) fn new(
        named: &'a [PathBuf],
        reading: &ReadingArguments,
        answer: &'a AnswerArguments,
    ) -> Self {
        Inputs {
            named,
            limits: reading.limits(),
            outputs: &answer.output,
        }
    }

    /// Every file that was named, and every route file of the folders that were; none of them may be written over.
    pub(super) fn sources(&self) -> Result<Vec<Source>, Failure> {
        let mut sources = Vec::new();
        for path in self.named {
            if path == Path::new("-") || !path.is_dir() {
                sources.push((path.clone(), false));
                continue;
            }
            let name = path.display();
            let found = find_routes(path).map_err(|source| Failure::File {
                path: name.to_string(),
                source,
            })?;
            let unseen = found.passed_over.iter();
            unseen.for_each(|why| print::error(&format!("{name}: {why}")));
            sources.extend(found.files.into_iter().map(|path| (path, true)));
        }
        never_over(self.outputs, sources.iter().map(|(path, _)| path.as_path()))?;
        let numbered = sources.into_iter().enumerate();
        let source = |(place, (path, in_folder)): (usize, (PathBuf, bool))| Source {
            name: path.display().to_string(),
            path,
            place,
            in_folder,
            limits: self.limits,
        };
        Ok(numbered.map(source).collect())
    }
}

/// Refuses to write over a file that is read: after it nobody could ask again.
pub(super) fn never_over<'a>(
    outputs: &[PathBuf],
    inputs: impl Iterator<Item = &'a Path> + Clone,
) -> Result<(), Failure> {
    for output in outputs {
        let Ok(file) = output.canonicalize() else {
            continue;
        };
        let same = |input: &&Path| input.canonicalize().is_ok_and(|input| input == file);
        if let Some(input) = inputs.clone().find(same) {
            return Err(Failure::CommandLine(format!(
                "--output {}: it would be written over the input {}; choose another name or folder",
                output.display(),
                input.display()
            )));
        }
    }
    Ok(())
}

/// Where a route may be: a file, or standard input.
pub(super) struct Source {
    /// As the user named it, or where it was found.
    pub(super) name: String,
    /// The file itself, whose name may be no text.
    path: PathBuf,
    /// Its place among all sources, from 0.
    pub(super) place: usize,
    /// Whether it was found in a folder: then what it holds is remembered.
    in_folder: bool,
    limits: Limits,
}

impl Source {
    /// How much it may hold.
    fn bounds(&self) -> Bounds {
        Bounds::of(self.limits.input_bytes)
    }
}

/// What was made of a file's routes, and what there is to say of those that could not be used.
pub(super) type Made<T> = Result<(Vec<T>, Vec<String>), String>;

/// What is made of every source, in their order whatever the number of threads, under a progress bar; tells on standard error why any of
/// them can't be used. An error only where nothing is made.
pub(super) fn each<T: Send>(
    inputs: &Inputs,
    sources: &[Source],
    make: impl Fn(&Source) -> Made<T> + Sync,
) -> Result<Vec<T>, Failure> {
    let mut made = Vec::new();
    one_by_one(inputs, sources, make, |one| {
        made.push(one);
        Ok(true)
    })?;
    Ok(made)
}

/// The same, each handed on as soon as it and all before it are made, so that few are held; `take` says whether to go on.
pub(super) fn one_by_one<T: Send>(
    inputs: &Inputs,
    sources: &[Source],
    make: impl Fn(&Source) -> Made<T> + Sync,
    mut take: impl FnMut(T) -> Result<bool, Failure> + Send,
) -> Result<(), Failure> {
    let bar = progress::bar(sources.len());
    let mut is_any = false;
    let taken = archive::stream(sources, make, |source, made| {
        bar.inc(1);
        match made {
            Ok((made, notes)) => {
                bar.suspend(|| notes.iter().for_each(|note| print::warning(note)));
                for one in made {
                    is_any = true;
                    if !take(one).map_err(Some)? {
                        return Err(None);
                    }
                }
            }
            Err(why) => bar.suspend(|| print::error(&format!("{}: {why}", source.name))),
        }
        Ok(())
    });
    bar.finish_and_clear();
    match taken {
        Err(Some(failure)) => Err(failure),
        _ if is_any => Ok(()),
        _ => Err(Failure::no_route(inputs.named)),
    }
}

/// Reads every route that was named, with elevations or without, and tells on standard error why any of them can't be used.
pub(super) fn lines(inputs: &Inputs) -> Result<Vec<Route>, Failure> {
    each(inputs, &inputs.sources()?, |source| {
        Ok((routes(source)?, Vec::new()))
    })
}

/// Surveys every route that was named: the source's name, and what was found.
pub(super) fn surveys(
    inputs: &Inputs,
    question: &Question,
    cache: Option<&Cache>,
) -> Result<Vec<(String, Survey)>, Failure> {
    let mut surveys = Vec::new();
    surveyed(inputs, question, cache, |source, survey| {
        surveys.push((source, survey));
        Ok(true)
    })?;
    Ok(surveys)
}

/// The same, each handed on as soon as it and all before it are there; `take` says whether to go on.
pub(super) fn surveyed(
    inputs: &Inputs,
    question: &Question,
    cache: Option<&Cache>,
    mut take: impl FnMut(String, Survey) -> Result<bool, Failure> + Send,
) -> Result<(), Failure> {
    let survey = |source: &Source| {
        let answer = if source.in_folder {
            archive::survey(&source.path, &source.limits, question, cache)?
        } else {
            archive::survey_bytes(&bytes(source)?, &source.limits, question)?
        };
        let notes = left_out(source, &answer.left_out);
        let named = |survey| (source.name.clone(), survey);
        Ok((answer.surveys.into_iter().map(named).collect(), notes))
    };
    let sources = inputs.sources()?;
    let taken = one_by_one(inputs, &sources, survey, |(source, survey)| {
        take(source, survey)
    });
    if let Some(cache) = cache {
        cache.keep_stamps();
    }
    taken
}

/// Surveys of every source that can be read twice, each with its file's place and its own in the file; of those that can't be used nothing is
/// told, since whoever reads them anew will.
pub(super) fn surveyed_before(
    sources: &[Source],
    question: &Question,
    cache: Option<&Cache>,
) -> Vec<((usize, usize), Survey)> {
    let survey = |source: &Source| {
        if source.name == "-" {
            return Vec::new();
        }
        let cache = cache.filter(|_| source.in_folder);
        let answer = archive::survey(&source.path, &source.limits, question, cache);
        let surveys = answer.map(|answer| answer.surveys).unwrap_or_default();
        let placed = surveys.into_iter().enumerate();
        placed
            .map(|(i, survey)| ((source.place, i), survey))
            .collect()
    };
    let surveys = archive::scan(sources, survey, || {});
    if let Some(cache) = cache {
        cache.keep_stamps();
    }
    surveys.into_iter().flatten().collect()
}

fn bytes(source: &Source) -> Result<Vec<u8>, String> {
    let limits = &source.limits;
    let bytes = match source.name.as_str() {
        "-" => read_stdin_bounded(limits),
        _ => read_bounded(&source.path, limits),
    };
    bytes.map_err(|e| e.to_string())
}

fn routes(source: &Source) -> Result<Vec<Route>, String> {
    route::read_within(&bytes(source)?, &source.name, &source.bounds()).map_err(|e| e.to_string())
}

/// The routes of a source with their profiles.
pub(super) fn graded(
    source: &Source,
    elevation: &ElevationArguments,
    tiles: &Tiles,
) -> Made<Graded> {
    let mut usable = Vec::new();
    let mut refused = Vec::new();
    for route in routes(source)? {
        match profiled(&route, elevation, tiles) {
            Ok(graded) => usable.push(graded),
            Err(why) => refused.push((route.name, why)),
        }
    }
    if usable.is_empty() {
        return Err(archive::none_usable(&refused));
    }
    Ok((usable, left_out(source, &refused)))
}

/// What there is to say of the routes of a source that can't be used.
fn left_out(source: &Source, refused: &[(Option<String>, String)]) -> Vec<String> {
    let told = |(names, why): (String, &str)| match names.as_str() {
        "" => format!("{}: {why}", source.name),
        names => format!("{}, {names}: {why}", source.name),
    };
    archive::by_reason(refused).into_iter().map(told).collect()
}

/// A ride with its profile, where it has elevations.
pub(super) struct Ride {
    pub(super) recorded: Recorded,
    pub(super) profile: Option<Profile>,
}

/// Reads every recording that was named, and tells on standard error why any of them can't be used.
pub(super) fn rides(inputs: &Inputs, elevation: &ElevationArguments) -> Result<Vec<Ride>, Failure> {
    let tiles = Tiles::open(&elevation.tiles);
    each(inputs, &inputs.sources()?, |source| {
        let found = recording::read_within(&bytes(source)?, &source.name, &source.bounds())
            .map_err(|e| e.to_string())?;
        let rides = found.into_iter().map(|r| ride(r, elevation, &tiles));
        Ok((rides.collect(), Vec::new()))
    })
}

fn ride(mut recorded: Recorded, elevation: &ElevationArguments, tiles: &Tiles) -> Ride {
    match profiled(&recorded.route, elevation, tiles) {
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
    let bytes =
        read_bounded(path, &Limits::fixed(MOST_PLAN_BYTES)).map_err(|source| Failure::File {
            path: path.display().to_string(),
            source,
        })?;
    parse_plan(&String::from_utf8_lossy(&bytes)).map_err(|source| Failure::Plan {
        path: path.display().to_string(),
        source,
    })
}

fn profiled(
    route: &Route,
    elevation: &ElevationArguments,
    tiles: &Tiles,
) -> Result<Graded, String> {
    let sourced =
        elevations::profile(route, elevation.wanted(), tiles).map_err(|e| e.to_string())?;
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

pub(super) fn text(path: &Path) -> Result<String, Failure> {
    let bytes =
        read_bounded(path, &Limits::fixed(MOST_TOML_BYTES)).map_err(|source| Failure::File {
            path: path.display().to_string(),
            source,
        })?;
    Ok(String::from_utf8_lossy(&bytes).into_owned())
}
