//! The routes of the page: read, graded and split into climbs once, in memory, gone with the process.

use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, OnceLock};

use crate::archive::{Survey, same};
use crate::climbs::{self, Climbs, Rule};
use crate::files::{FileError, Limits, read_bounded, unpack_bounded};
use crate::matching::SeenHalt;
use crate::output::drawing::map::Projection;
use crate::output::drawing::relief::Relief;
use crate::profile::Profile;
use crate::profile::sources::{self, Origin, Wanted};
use crate::route::{self, Bounds, Route, RouteError};
use crate::terrain::Tiles;

/// A route with everything about it that no rider changes.
#[derive(Debug)]
pub struct Ground {
    /// What the address calls it.
    pub key: String,
    /// A number that no other route of this process had.
    pub number: u64,
    /// The route.
    pub route: Route,
    /// Its profile.
    pub profile: Profile,
    /// Where its elevations are from.
    pub origin: Origin,
    /// Its climbs.
    pub climbs: Climbs,
    /// What other recordings of its climbs are compared with.
    pub survey: Survey,
    /// The ground around it, if its tiles are here.
    pub relief: Option<Relief>,
}

/// The routes that are here, in the order they came.
#[derive(Debug, Clone, Default)]
pub struct Library {
    grounds: Vec<Arc<Ground>>,
    /// Where several of the recordings halted on a climb, by route; worked out when it is first asked for.
    halts: Arc<OnceLock<Vec<Vec<SeenHalt>>>>,
}

/// Where the elevations of routes come from.
#[derive(Debug)]
pub struct Elevations {
    /// Which are wanted.
    pub wanted: Wanted,
    /// The tiles.
    pub tiles: Tiles,
}

/// Of an upload no more is read, in bytes, packed or unpacked: six days' rides at one point a second.
pub const MOST_FILE_BYTES: u64 = 128 << 20;
const ELSEWHERE: &str = "; `hillwright plan` reads larger files";
/// The page holds no more routes than a person can choose among.
pub const MOST_ROUTES: usize = 400;
/// Nor more points of profiles: 10 m apart, this is 40 000 km of road.
const MOST_NODES: usize = 4_000_000;
const MOST_ROAD_M: f64 = 10.0 * MOST_NODES as f64;

static NUMBERS: AtomicU64 = AtomicU64::new(1);

impl Library {
    /// The routes.
    pub fn grounds(&self) -> &[Arc<Ground>] {
        &self.grounds
    }

    /// Where several of the recordings halted on climbs of the route with a number, along its own road.
    pub fn halts_on(&self, number: u64) -> &[SeenHalt] {
        let halts = self.halts.get_or_init(|| {
            let surveys: Vec<&Survey> = self.grounds.iter().map(|g| &g.survey).collect();
            same::halts_on(&same::climbs(&surveys), &surveys)
        });
        let mut numbered = self.grounds.iter().zip(halts);
        let own = numbered.find(|(ground, _)| ground.number == number);
        own.map_or(&[], |(_, halts)| halts)
    }

    /// The route with a number.
    pub fn numbered(&self, number: u64) -> Option<&Arc<Ground>> {
        self.grounds.iter().find(|ground| ground.number == number)
    }

    /// Adds routes; one of the same key takes the earlier one's place.
    ///
    /// # Errors
    /// Why there is no room for them.
    pub fn add(&mut self, new: Vec<Ground>) -> Result<(), String> {
        let mut grounds = self.grounds.clone();
        for ground in new {
            let ground = Arc::new(ground);
            match grounds.iter_mut().find(|g| g.key == ground.key) {
                Some(place) => *place = ground,
                None => grounds.push(ground),
            }
        }
        let nodes: usize = grounds.iter().map(|g| g.profile.nodes()).sum();
        if grounds.len() > MOST_ROUTES || nodes > MOST_NODES {
            return Err(format!(
                "the page holds no more than {MOST_ROUTES} routes, or 40 000 km of road; remove some first"
            ));
        }
        self.grounds = grounds;
        self.halts = Arc::default();
        Ok(())
    }

    /// Removes the route with a number, and tells whether it was there.
    pub fn remove(&mut self, number: u64) -> bool {
        let before = self.grounds.len();
        self.grounds.retain(|ground| ground.number != number);
        self.halts = Arc::default();
        self.grounds.len() < before
    }
}

/// The bytes of a file that the page was started with.
///
/// # Errors
/// Why they can't be used.
pub fn read_file(path: &Path) -> Result<Vec<u8>, String> {
    read_bounded(path, &Limits::fixed(MOST_FILE_BYTES)).map_err(|error| told(&error))
}

fn told(error: &FileError) -> String {
    match error {
        FileError::TooLarge { .. } | FileError::InflatesTooLarge { .. } => format!(
            "it is larger than 128 MiB, packed or unpacked, the most that the page takes{ELSEWHERE}"
        ),
        error => error.to_string(),
    }
}

/// The routes in a file's bytes; those that can't be used are left out, and each one's reason is told.
pub fn read(bytes: &[u8], source: &str, elevations: &Elevations) -> (Vec<Ground>, Vec<String>) {
    let routes = unpack_bounded(bytes, &Limits::fixed(MOST_FILE_BYTES))
        .map_err(|error| told(&error))
        .and_then(|bytes| {
            let bounds = Bounds {
                road_m: MOST_ROAD_M,
                ..Bounds::of(MOST_FILE_BYTES)
            };
            route::read_within(&bytes, source, &bounds).map_err(|error| match error {
                RouteError::TooManyPoints { most } => format!(
                    "it holds more than {most} points, the most that the page takes{ELSEWHERE}"
                ),
                error if error.is_of_bounds() => {
                    format!("it holds more than the page takes{ELSEWHERE}")
                }
                error => error.to_string(),
            })
        });
    let routes = match routes {
        Ok(routes) => routes,
        Err(why) => return (Vec::new(), vec![format!("{source}: {why}")]),
    };
    let mut usable = Vec::new();
    let mut refused = Vec::new();
    for (route, count) in routes.into_iter().zip(1..) {
        let key = match count {
            1 => source.to_owned(),
            _ => format!("{source} {count}"),
        };
        match ground(route, key, elevations) {
            Ok(ground) => usable.push(ground),
            Err(why) => refused.push(format!("{source}: {why}")),
        }
    }
    (usable, refused)
}

fn ground(route: Route, key: String, elevations: &Elevations) -> Result<Ground, String> {
    let sourced = sources::profile(&route, elevations.wanted, &elevations.tiles)
        .map_err(|error| error.to_string())?;
    let (profile, origin) = (sourced.profile, sourced.origin);
    let mut route = route;
    route.warnings.extend(sourced.remarks);
    let number = NUMBERS.fetch_add(1, Ordering::Relaxed);
    let relief = Relief::under(&Projection::of(&profile), &elevations.tiles)
        .map(|relief| relief.found_at(format!("/relief/{number}.png")));
    let climbs = climbs::find(&profile, &Rule::default());
    Ok(Ground {
        key,
        number,
        survey: Survey::of(&route, &profile, &origin, &climbs),
        climbs,
        route,
        profile,
        origin,
        relief,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Write;

    #[test]
    fn what_unpacks_to_more_than_the_page_takes_is_refused_with_what_to_do() {
        let mut packed = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::fast());
        let blank = vec![b' '; 1 << 20];
        for _ in 0..=MOST_FILE_BYTES >> 20 {
            packed.write_all(&blank).unwrap();
        }
        let elevations = Elevations {
            wanted: Wanted::Recorded,
            tiles: Tiles::open("nowhere"),
        };
        let (grounds, why) = read(&packed.finish().unwrap(), "blank.gpx.gz", &elevations);
        assert!(grounds.is_empty());
        assert_eq!(
            why,
            [
                "blank.gpx.gz: it is larger than 128 MiB, packed or unpacked, the most that the page takes; `hillwright plan` reads larger files"
            ]
        );
    }
}
