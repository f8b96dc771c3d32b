//! Files looked through in parallel, each answer taken from the cache where it is there.

use std::fs;
use std::path::Path;
use std::sync::OnceLock;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::key::Key;
use super::stamp::Stamp;
use super::{Cache, Survey};
use crate::climbs::{self, Rule};
use crate::files::{Limits, read_bounded};
use crate::profile::sources::{self, Wanted};
use crate::route::{self, Bounds, Route};
use crate::terrain::Tiles;

/// What is asked of every file, and everything else that an answer depends on.
#[derive(Debug)]
pub struct Question<'a> {
    rule: Rule,
    wanted: Wanted,
    tiles: &'a Tiles,
    /// All of the above but the tiles' content, spelled out.
    spelled: String,
    tiles_key: OnceLock<Key>,
}

/// What is in a file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Answer {
    /// Its routes, in file order.
    pub surveys: Vec<Survey>,
    /// Routes of the file that could not be used: name and reason. Those of a file without any that can are its error.
    pub left_out: Vec<(Option<String>, String)>,
}

/// An answer as it is kept.
#[derive(Serialize, Deserialize)]
struct Kept {
    /// What tiles there were, where that mattered.
    tiles: Option<Key>,
    answer: Result<Answer, String>,
}

impl<'a> Question<'a> {
    /// Which climbs count, and which elevations are used.
    pub fn new(rule: Rule, wanted: Wanted, tiles: &'a Tiles) -> Self {
        let spelled = format!("{rule:?} {wanted:?} {:?}", tiles.folder());
        Question {
            rule,
            wanted,
            tiles,
            spelled,
            tiles_key: OnceLock::new(),
        }
    }

    fn tiles_key(&self) -> Key {
        *self
            .tiles_key
            .get_or_init(|| Key::of(listing(self.tiles.folder()).as_bytes()))
    }
}

/// What is made of each file, in the files' order, on as many threads as the machine has (or `RAYON_NUM_THREADS` says); `done` is called after each.
///
/// At any time a thread holds one file and what is being made of it, so memory is bounded by the largest files and the results.
pub fn scan<F: Sync, T: Send>(
    files: &[F],
    make: impl Fn(&F) -> T + Sync,
    done: impl Fn() + Sync,
) -> Vec<T> {
    let one = |file: &F| {
        let made = make(file);
        done();
        made
    };
    if let [file] = files {
        return vec![one(file)];
    }
    keep_freed_memory();
    files.par_iter().with_max_len(1).map(one).collect()
}

/// Twice this is more than is free when a usual file is done, in bytes.
const FREED_BYTES: usize = 8 << 20;

/// What one file needed is there for the next. The allocator of GNU systems gives memory back when more of it lies free than twice the
/// largest block that it has seen come and go, and takes it again page by page: a tenth of the time for a folder. Here it sees a larger
/// block, of which nothing is touched; other allocators don't mind.
pub(super) fn keep_freed_memory() {
    drop(std::hint::black_box(Vec::<u8>::with_capacity(FREED_BYTES)));
}

/// What is in a file, from the cache if it is there and nothing that it depends on has changed.
///
/// # Errors
/// Why the file can't be used, in a sentence without its name.
pub fn survey(
    path: &Path,
    limits: &Limits,
    question: &Question,
    cache: Option<&Cache>,
) -> Result<Answer, String> {
    let Some(cache) = cache else {
        return survey_bytes(&read(path, limits)?, limits, question);
    };
    let stamp = Stamp::settled(path);
    let known = stamp.and_then(|stamp| cache.content(path, &stamp));
    if let Some(answer) = known.and_then(|content| recalled(cache, content, question)) {
        return answer;
    }
    let bytes = read(path, limits)?;
    let content = Key::of(&bytes);
    // A file that changed while it was read is not what its stamp says.
    if let Some(stamp) = stamp.filter(|stamp| Stamp::settled(path).as_ref() == Some(stamp)) {
        cache.remember(path, stamp, content);
    }
    if let Some(answer) = recalled(cache, content, question) {
        return answer;
    }
    let routes = routes(&bytes, limits)?;
    let kept = work_out(routes, question);
    cache.put(entry_key(cache, content, question), &kept);
    kept.answer
}

/// What is in the bytes of a file.
///
/// # Errors
/// As [`survey`].
pub fn survey_bytes(bytes: &[u8], limits: &Limits, question: &Question) -> Result<Answer, String> {
    work_out(routes(bytes, limits)?, question).answer
}

/// The routes of a file, or why there are none. What other limits would let through is an error outside, since it is not to be remembered.
fn routes(bytes: &[u8], limits: &Limits) -> Result<Result<Vec<Route>, String>, String> {
    match route::read_within(bytes, "", &Bounds::of(limits.input_bytes)) {
        Err(error) if error.is_of_bounds() => Err(error.to_string()),
        read => Ok(read.map_err(|error| error.to_string())),
    }
}

fn read(path: &Path, limits: &Limits) -> Result<Vec<u8>, String> {
    read_bounded(path, limits).map_err(|e| e.to_string())
}

fn entry_key(cache: &Cache, content: Key, question: &Question) -> Key {
    cache.key(&[&content.to_bytes(), question.spelled.as_bytes()])
}

fn recalled(cache: &Cache, content: Key, question: &Question) -> Option<Result<Answer, String>> {
    let kept: Kept = cache.get(entry_key(cache, content, question))?;
    let tiles_hold = kept.tiles.is_none_or(|key| key == question.tiles_key());
    tiles_hold.then_some(kept.answer)
}

fn work_out(routes: Result<Vec<Route>, String>, question: &Question) -> Kept {
    let routes = match routes {
        Ok(routes) => routes,
        Err(why) => {
            return Kept {
                tiles: None,
                answer: Err(why),
            };
        }
    };
    let mut answer = Answer::default();
    let mut used_tiles = false;
    for route in routes {
        match look_through(&route, question, &mut used_tiles) {
            Ok(survey) => answer.surveys.push(survey),
            Err(why) => answer.left_out.push((route.name, why)),
        }
    }
    let answer = if answer.surveys.is_empty() {
        Err(none_usable(&answer.left_out))
    } else {
        Ok(answer)
    };
    Kept {
        tiles: used_tiles.then(|| question.tiles_key()),
        answer,
    }
}

/// The names of routes that can't be used for the same reason, and the reason.
pub fn by_reason(refused: &[(Option<String>, String)]) -> Vec<(String, &str)> {
    let mut groups: Vec<(Vec<&str>, &str)> = Vec::new();
    for (name, why) in refused {
        let name = name.as_deref();
        match groups.iter_mut().find(|(_, known)| known == why) {
            Some((names, _)) => names.extend(name),
            None => groups.push((name.into_iter().collect(), why)),
        }
    }
    let joined = |(names, why): (Vec<&str>, _)| (names.join(", "), why);
    groups.into_iter().map(joined).collect()
}

/// What there is to say where none of a file's routes can be used.
pub fn none_usable(refused: &[(Option<String>, String)]) -> String {
    let named = |(names, why): (String, &str)| match names.as_str() {
        "" => why.to_owned(),
        names => format!("{names}: {why}"),
    };
    let told: Vec<String> = by_reason(refused).into_iter().map(named).collect();
    told.join("; ")
}

fn look_through(
    route: &Route,
    question: &Question,
    used_tiles: &mut bool,
) -> Result<Survey, String> {
    // Whether tiles were looked at is not told, and where the user wants recorded elevations none are.
    *used_tiles |= question.wanted != Wanted::Recorded;
    let sourced = sources::profile(route, question.wanted, question.tiles)
        .map_err(|error| error.to_string())?;
    let found = climbs::find(&sourced.profile, &question.rule);
    let mut survey = Survey::of(route, &sourced.profile, &sourced.origin, &found);
    let own = route.warnings.len();
    survey.warnings.splice(own..own, sourced.remarks);
    Ok(survey)
}

/// The files of a folder and of those right below it, with sizes and times.
fn listing(folder: &Path) -> String {
    let mut lines = Vec::new();
    let list = |folder: &Path| {
        let entries = fs::read_dir(folder).into_iter().flatten().flatten();
        entries.map(|e| e.path()).collect::<Vec<_>>()
    };
    for path in list(folder) {
        let below = if path.is_dir() {
            list(&path)
        } else {
            vec![path]
        };
        for path in below {
            let about = fs::metadata(&path).ok();
            let says = about.map(|about| (about.len(), about.modified().ok()));
            lines.push(format!("{path:?} {says:?}"));
        }
    }
    lines.sort();
    lines.join("\n")
}
