//! The same climb on several routes.
//!
//! Two climbs are one where they go up the same way: feet and tops near one another, and nearly all of the longer line beside
//! the shorter one, in the same order. Feet lie in an R*-tree (Beckmann, Kriegel, Schneider and Seeger, SIGMOD 1990), so that each climb
//! is held against its neighbours alone. Climbs are taken in the order given and join the first seen of their kind, so that the
//! outcome depends on that order and on nothing else.

use std::ops::Range;
use std::sync::OnceLock;

use rayon::prelude::*;
use rstar::RTree;
use rstar::primitives::GeomWithData;

use super::combine;
use super::halts::Halt;
use super::trace::{Node, Trace};
use super::{ClimbSeen, Spot, Survey};
use crate::matching::SeenHalt;
use crate::route::{LatLon, step_m};

/// Feet, or tops, this far apart may be one climb's, in metres: the ends of short climbs come out so far apart from two recordings with a
/// barometer, nine times in ten (`docs/accuracy.md`).
const ENDS_M: f64 = 60.0;
/// Or this share of the longer climb, up to [`FARTHEST_M`].
const ENDS_SHARE: f64 = 0.15;
/// See [`ENDS_SHARE`]: two hills' feet may be that near each other, but not their lines.
const FARTHEST_M: f64 = 150.0;
/// Lines nearer than this are one road: two lanes and twice the error of a satellite fix, in metres.
const ROAD_M: f64 = 30.0;
/// Share of the longer climb that must lie beside the shorter one.
const OVERLAP_SHARE: f64 = 0.75;

/// A climb, and everywhere it was seen.
#[derive(Debug, Clone, PartialEq)]
pub struct SharedClimb {
    /// Where it was seen, in the order of the surveys.
    pub seen: Vec<Sighting>,
    /// Which of them its ends and line are from: of those whose grades are nearly the surest, the one whose ends lie most in the middle.
    pub reference: usize,
    /// How many different recordings and drawn lines; a copy of a file is none.
    pub routes: usize,
    /// How many of those are rides, with times.
    pub rides: usize,
    /// Its foot; the distance is the reference's.
    pub start: Spot,
    /// Its top; the distance is the reference's.
    pub end: Spot,
    /// Length along the reference's road, in metres.
    pub length_m: f64,
    /// Metres climbed, all that is independent taken together.
    pub gain_m: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// Standard error of the mean grade, in per cent.
    pub grade_se_pct: f64,
    /// Standard deviation of the grade over 100 m about the mean, in per cent, on the reference.
    pub grade_sd_pct: f64,
    /// Its line, with elevations from all that is independent.
    pub trace: Trace,
    /// Where at least two rides halted, from foot to top.
    pub halts: Vec<SharedHalt>,
}

/// A climb on one of the surveyed routes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sighting {
    /// Index of the survey.
    pub survey: usize,
    /// Number of the climb on it.
    pub climb: usize,
}

/// A place where several rides halted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SharedHalt {
    /// Distance from the foot, on the reference's road, in metres.
    pub from_foot_m: f64,
    /// Where it is on the reference's line.
    pub place: LatLon,
    /// How many rides halted there.
    pub rides: usize,
    /// Of how many that came by.
    pub of: usize,
}

/// A place as the tree has it: in metres from the Earth's centre, so that it knows neither pole nor antimeridian.
pub(super) type Foot = GeomWithData<[f64; 3], usize>;

/// All climbs of some routes, each once, in the order in which they were first seen.
pub fn climbs(surveys: &[&Survey]) -> Vec<SharedClimb> {
    let sighted = surveys.iter().enumerate().flat_map(|(survey, own)| {
        let climbs = own.climbs.iter();
        climbs.map(move |climb| Sighted { survey, own, climb })
    });
    let sighted: Vec<Sighted> = sighted.collect();
    let mut groups = Groups::default();
    for some in sighted.chunks(AT_ONCE) {
        groups.add(some);
    }
    groups
        .sighted
        .par_iter()
        .map(|group| combine::combined(group))
        .collect()
}

/// So many climbs are held against the groups that are there at once, in parallel; what is new among them, one after the other.
const AT_ONCE: usize = 512;

/// Climbs that are one, the first seen standing for all.
#[derive(Default)]
struct Groups<'a> {
    sighted: Vec<Vec<Sighted<'a>>>,
    first: Vec<First<'a>>,
    feet: RTree<Foot>,
}

struct First<'a> {
    climb: &'a ClimbSeen,
    /// Its line, made when it is first needed.
    line: OnceLock<Line>,
}

impl<'a> Groups<'a> {
    /// Puts each into its group, as if they came one by one.
    fn add(&mut self, some: &[Sighted<'a>]) {
        let before = self.sighted.len();
        let known: Vec<Option<(f64, usize)>> = some
            .par_iter()
            .map(|s| self.nearest(s.climb, 0..before))
            .collect();
        for (sighted, known) in some.iter().zip(known) {
            let new = self.nearest(sighted.climb, before..self.sighted.len());
            let nearest = known.into_iter().chain(new).min_by(nearer);
            match nearest {
                Some((_, group)) => self.sighted[group].push(*sighted),
                None => self.begin(*sighted),
            }
        }
    }

    fn begin(&mut self, sighted: Sighted<'a>) {
        let foot = from_centre_m(sighted.climb.start.place());
        self.feet.insert(Foot::new(foot, self.sighted.len()));
        self.sighted.push(vec![sighted]);
        self.first.push(First {
            climb: sighted.climb,
            line: OnceLock::new(),
        });
    }

    /// The nearest of some groups that a climb belongs to, and how far apart the ends are, in metres.
    fn nearest(&self, climb: &ClimbSeen, among: Range<usize>) -> Option<(f64, usize)> {
        if among.is_empty() {
            return None;
        }
        let foot = from_centre_m(climb.start.place());
        self.feet
            .locate_within_distance(foot, FARTHEST_M * FARTHEST_M)
            .map(|near| near.data)
            .filter(|group| among.contains(group))
            .filter_map(|group| Some((self.first[group].apart_m(climb)?, group)))
            .min_by(nearer)
    }
}

fn nearer(a: &(f64, usize), b: &(f64, usize)) -> std::cmp::Ordering {
    a.0.total_cmp(&b.0).then(a.1.cmp(&b.1))
}

/// Where the rides of shared climbs halted, for each survey the places along its own road, in order.
pub fn halts_on(climbs: &[SharedClimb], surveys: &[&Survey]) -> Vec<Vec<SeenHalt>> {
    let mut seen: Vec<Vec<SeenHalt>> = vec![Vec::new(); surveys.len()];
    for shared in climbs.iter().filter(|climb| !climb.halts.is_empty()) {
        for sighting in &shared.seen {
            let own = &surveys[sighting.survey].climbs;
            let Some(own) = own.iter().find(|c| c.climb.id == sighting.climb) else {
                continue;
            };
            // Feet are not all found in the same place, so each road has its own distance to the halt.
            let line = Line::of(&own.trace);
            let along_m = |place| line.along_m(place, own.trace.spacing_m);
            let on_own_road = |halt: &SharedHalt| SeenHalt {
                at_m: (own.climb.from_m + along_m(halt.place)).max(0.0),
                rides: halt.rides,
                of: halt.of,
            };
            seen[sighting.survey].extend(shared.halts.iter().map(on_own_road));
        }
    }
    for halts in &mut seen {
        halts.sort_by(|a, b| a.at_m.total_cmp(&b.at_m));
    }
    seen
}

/// A climb with the survey it is on.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sighted<'a> {
    pub(super) survey: usize,
    pub(super) own: &'a Survey,
    pub(super) climb: &'a ClimbSeen,
}

impl Sighted<'_> {
    /// The halts on the climb.
    pub(super) fn halts(&self) -> impl Iterator<Item = &Halt> {
        let (from_m, to_m) = (self.climb.start.distance_m, self.climb.end.distance_m);
        let on_it = move |halt: &&Halt| (from_m..=to_m).contains(&halt.distance_m);
        self.own.halts.iter().filter(on_it)
    }
}

impl First<'_> {
    /// How far apart the ends of it and of another climb are together, in metres, if they go up the same way.
    fn apart_m(&self, other: &ClimbSeen) -> Option<f64> {
        let own = self.climb;
        let is_longer = own.trace.length_m() >= other.trace.length_m();
        let long = if is_longer { own } else { other };
        let allowed_m = (ENDS_SHARE * long.trace.length_m()).clamp(ENDS_M, FARTHEST_M);
        let feet_m = step_m(own.start.place(), other.start.place());
        let tops_m = step_m(own.end.place(), other.end.place());
        if feet_m > allowed_m || tops_m > allowed_m {
            return None;
        }
        let apart_m = feet_m + tops_m;
        // The same ride in another file needs no looking.
        if own.trace == other.trace {
            return Some(apart_m);
        }
        let beside = if is_longer {
            Line::of(&other.trace).beside(&long.trace)
        } else {
            let line = self.line.get_or_init(|| Line::of(&own.trace));
            line.beside(&long.trace)
        };
        let near = beside.iter().flatten().count();
        (near as f64 >= OVERLAP_SHARE * long.trace.len() as f64).then_some(apart_m)
    }
}

/// A trace on a plane through its foot.
pub(super) struct Line {
    plane: Plane,
    at_m: Vec<[f64; 2]>,
    elevation_m: Vec<f64>,
}

/// Where a node lies along a line, in nodes, and the line's elevation there, in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Beside {
    pub(super) node: f64,
    pub(super) elevation_m: f64,
}

impl Line {
    pub(super) fn of(trace: &Trace) -> Line {
        let nodes: Vec<Node> = trace.nodes().collect();
        let plane = Plane::at(nodes.first().map_or(
            LatLon {
                lat_deg: 0.0,
                lon_deg: 0.0,
            },
            |n| n.place,
        ));
        Line {
            at_m: nodes.iter().map(|n| plane.place_m(n.place)).collect(),
            elevation_m: nodes.iter().map(|n| n.elevation_m).collect(),
            plane,
        }
    }

    /// Where each node of another trace lies along this line; none where it is farther off than a road is wide, or beyond an end.
    pub(super) fn beside(&self, other: &Trace) -> Vec<Option<Beside>> {
        // Both go the same way, so the search only moves on.
        let mut from = 0;
        let reach =
            |from: usize, steps: usize| (from + steps).min(self.at_m.len().saturating_sub(1));
        other
            .nodes()
            .enumerate()
            .map(|(i, node)| {
                let place_m = self.plane.place_m(node.place);
                let ahead = if i == 0 {
                    (2.0 * FARTHEST_M / other.spacing_m) as usize
                } else {
                    AHEAD_NODES
                };
                let nearest = (from..reach(from, ahead))
                    .map(|j| (self.foot(j, place_m), j))
                    .min_by(|a, b| a.0.off_m.total_cmp(&b.0.off_m))?;
                let (foot, j) = nearest;
                from = j;
                let is_end = (j == 0 && foot.share <= 0.0)
                    || (j + 2 == self.at_m.len() && foot.share >= 1.0);
                let beyond = is_end && foot.off_m > 0.5 * other.spacing_m;
                (foot.off_m <= ROAD_M && !beyond).then(|| {
                    let share = foot.share.clamp(0.0, 1.0);
                    let rise_m = self.elevation_m[j + 1] - self.elevation_m[j];
                    Beside {
                        node: j as f64 + share,
                        elevation_m: self.elevation_m[j] + share * rise_m,
                    }
                })
            })
            .collect()
    }

    /// How far along the line a place is, in metres, on its first and last steps drawn out beyond its ends.
    pub(super) fn along_m(&self, place: LatLon, spacing_m: f64) -> f64 {
        let place_m = self.plane.place_m(place);
        let steps = 0..self.at_m.len().saturating_sub(1);
        let nearest = steps
            .map(|j| (self.foot(j, place_m), j))
            .min_by(|a, b| a.0.off_m.total_cmp(&b.0.off_m));
        nearest.map_or(0.0, |(foot, j)| {
            let is_end = (j == 0 && foot.share < 0.0) || j + 2 == self.at_m.len();
            let share = if is_end {
                foot.share
            } else {
                foot.share.clamp(0.0, 1.0)
            };
            (j as f64 + share) * spacing_m
        })
    }

    /// The node nearest to a place.
    pub(super) fn nearest_node(&self, place: LatLon) -> usize {
        let place_m = self.plane.place_m(place);
        let off = |i: &usize| {
            let at = self.at_m[*i];
            (at[0] - place_m[0]).hypot(at[1] - place_m[1])
        };
        (0..self.at_m.len())
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap_or(0)
    }

    /// The foot of the perpendicular from a place on the step from node `j`.
    fn foot(&self, j: usize, place_m: [f64; 2]) -> Foothold {
        let (a, b) = (self.at_m[j], self.at_m[j + 1]);
        let step = [b[0] - a[0], b[1] - a[1]];
        let off = [place_m[0] - a[0], place_m[1] - a[1]];
        let length_2 = step[0] * step[0] + step[1] * step[1];
        let share = if length_2 > 0.0 {
            (off[0] * step[0] + off[1] * step[1]) / length_2
        } else {
            0.0
        };
        let held = share.clamp(0.0, 1.0);
        Foothold {
            share,
            // No overflow and no underflow to mind within a few kilometres, and it is asked a dozen times a node.
            off_m: {
                let across = [off[0] - held * step[0], off[1] - held * step[1]];
                (across[0] * across[0] + across[1] * across[1]).sqrt()
            },
        }
    }
}

/// How many nodes the search looks ahead: a step of one line is at most a few of the other's.
const AHEAD_NODES: usize = 8;

struct Foothold {
    share: f64,
    off_m: f64,
}

/// East and north of a place, in metres. Both lines are drawn on one plane, so what it distorts it distorts in both.
struct Plane {
    origin: LatLon,
    north_m: f64,
    east_m: f64,
}

impl Plane {
    fn at(origin: LatLon) -> Plane {
        const STEP_DEG: f64 = 0.01;
        let LatLon { lat_deg, lon_deg } = origin;
        // Towards the equator, so that the step never leaves the Earth at a pole.
        let beside = lat_deg - STEP_DEG.copysign(lat_deg);
        let north = LatLon {
            lat_deg: beside,
            lon_deg,
        };
        let east = LatLon {
            lat_deg,
            lon_deg: lon_deg + STEP_DEG,
        };
        Plane {
            origin,
            north_m: step_m(origin, north) / STEP_DEG,
            east_m: step_m(origin, east) / STEP_DEG,
        }
    }

    fn place_m(&self, place: LatLon) -> [f64; 2] {
        let east_deg = (place.lon_deg - self.origin.lon_deg + 540.0).rem_euclid(360.0) - 180.0;
        [
            east_deg * self.east_m,
            (place.lat_deg - self.origin.lat_deg) * self.north_m,
        ]
    }
}

impl Spot {
    /// Where it is.
    pub fn place(&self) -> LatLon {
        LatLon {
            lat_deg: self.lat_deg,
            lon_deg: self.lon_deg,
        }
    }
}

/// Mean radius of the Earth, in metres (IUGG).
const EARTH_M: f64 = 6_371_008.8;

/// A place on a sphere, in metres from its centre: distances are within half a per cent of those on the ellipsoid, which is enough to find
/// what is then measured exactly.
pub(super) fn from_centre_m(place: LatLon) -> [f64; 3] {
    let (sin_lat, cos_lat) = place.lat_deg.to_radians().sin_cos();
    let (sin_lon, cos_lon) = place.lon_deg.to_radians().sin_cos();
    [
        EARTH_M * cos_lat * cos_lon,
        EARTH_M * cos_lat * sin_lon,
        EARTH_M * sin_lat,
    ]
}
