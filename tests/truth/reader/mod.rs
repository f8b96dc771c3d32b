//! The reader: how many climbs anybody could find who knows how the roads and the recordings are made.
//!
//! It reads the bench's own recordings, and is told more than anyone could know:
//!
//! * the distance along the road of every point, which points are spikes, and the size and reach of the elevation's error (a satellite's or a
//!   barometer's point each 4 to 8 s says nearly all);
//! * where a recording is so fine that kinks show, every vertical curve and every kink: what they change in the elevations is
//!   taken away beforehand, since a kink is shorter than any piece that a reader knows. Where it is coarse they are left in, and it is known
//!   how common they are;
//! * that a road starts and ends flat, and where the last flat begins;
//! * how roads are made ([`grammar`]): which pieces follow one another how often, how long and how steep they are, and
//!   how far their grade wanders.
//!
//! What it does not know is where which piece begins. It weighs every explanation by its likelihood: each keeps the
//! exact normal distribution of height, grade, wander and error ([`state`]), and every 10 or 20 m each may end its piece and
//! begin the next. Explanations are too many to keep; the unlikely ones are thinned out without bias ([`thinning`]).
//! What remains is a weight for every climb that may be there, and [`report`] names those climbs that make the
//! expected F1 largest.
//!
//! There are three of it. One knows every rule by which the bench draws its roads, as nobody does of real ones. The second knows how
//! roads go in general ([`general`]): the same kinds of pieces, with lengths, grades and odds as wide as those of roads, and without the gaps that
//! the bench leaves round the definition's bounds. The third knows that roads are made of pieces, how often which grades occur, and what a
//! steady climb is: nothing of rows of lumps, of ramps, of how long climbs and flats are, or that climbs meet at steps of two points and more.
//!
//! None is a bound in the strict sense. They hold distributions of grades that are flat to be normal, ignore that a way
//! down is about as deep as the way up, and keep a limited number of explanations: whoever did better in these would find a little more.
//! How sure each is of itself is printed beside what it reaches.

pub mod general;
pub mod grammar;
pub mod pieces;
pub mod report;
pub mod state;
pub mod thinning;

use std::collections::HashMap;

use super::confusions::Confusions;
use super::profile::{Profile, build};
use super::recording::{Kind, TruthRecording, clock_noise, record, terrain_reach_m};
use super::rng::Rng;
use super::road::Road;
use super::score::{Tally, score};
use grammar::{Grammar, Knowing, Place};
use state::{Noise, State};
use thinning::thin;

/// What a reader reached on one kind of recording.
#[derive(Debug, Clone, PartialEq)]
pub struct Reached {
    /// The kind.
    pub kind: Kind,
    /// What it found.
    pub tally: Tally,
    /// The F1 that it expected.
    pub expected_f1: f64,
    /// What it confused.
    pub confusions: Confusions,
}

/// Kinds so coarse that kinks do not show. On the others a kink is a piece shorter than any that a reader knows, so that it has to be told.
const HIDES_KINKS: [Kind; 3] = [Kind::Planner, Kind::SatelliteOnly, Kind::TerrainModel];

/// Explanations that are kept. With 300 a reader who knows the rules loses about a point of F1 on planned lines and two on satellite fixes.
pub const EXPLANATIONS: usize = 1_000;

/// Reads one kind of recording of all roads.
pub fn run(roads: &[Road], kind: Kind, knowing: Knowing, explanations: usize) -> Reached {
    let believed: Vec<Vec<Believed>> = roads
        .iter()
        .map(|road| read(road, &record(road, kind), knowing, explanations))
        .collect();
    let (found, expected_f1) = report::report(&believed);
    let mut reached = Reached {
        kind,
        tally: Tally::default(),
        expected_f1,
        confusions: Confusions::default(),
    };
    for (road, found) in roads.iter().zip(&found) {
        reached.tally.add(&score(road, found));
        reached.confusions.add(road, found);
    }
    reached
}

/// A climb that may be there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Believed {
    /// Its start in metres along the road.
    pub start_m: f64,
    /// Its end.
    pub end_m: f64,
    /// How likely it is.
    pub weight: f64,
}

/// Climbs are believed from what was recorded up to this far past their end.
const LOOK_AHEAD_M: f64 = 1_500.0;
/// How often beliefs are written down.
const WRITTEN_EACH_M: f64 = 500.0;
/// What kinks add to the variance of height, in m² a metre for a grade of one, on the bench's climbs: a hairpin takes 30 m times the grade, 30² m² in 900 m.
const CLIMBS_KINKS_M: f64 = 1.0;
/// The same on all roads: few pieces are climbs long enough.
const ANY_KINKS_M: f64 = 0.15;
/// Children lighter than this are not all kept: one stands for them all.
const LIGHT: f64 = 1e-5;

/// One explanation of all that was recorded so far.
#[derive(Debug, Clone)]
struct Explanation {
    weight: f64,
    place: Place,
    piece_start_m: f64,
    state: State,
    /// Grades of the piece before and of the one before that, with their variances.
    held: [(f64, f64); 2],
    /// Whether the piece before was a climb.
    after_climb: bool,
    /// Where its history is written.
    node: u32,
}

/// A piece in an explanation's history.
#[derive(Debug, Clone, Copy)]
struct Node {
    before: u32,
    start_m: f64,
    /// Whether the piece before it was a climb.
    after_climb: bool,
}

/// What was recorded, as the reader takes it.
struct Heard {
    at_m: Vec<f64>,
    at_noise: Vec<f64>,
    height_m: Vec<f64>,
    steepness: Vec<f64>,
    noise: Noise,
    rounding_m2: f64,
    step_m: f64,
    /// Variance that kinks which nobody told of add to the height, in m² a metre for a grade of one.
    kinks_m: f64,
}

/// Every climb that may be on a road, with its weight.
pub fn read(
    road: &Road,
    made: &TruthRecording,
    knowing: Knowing,
    explanations: usize,
) -> Vec<Believed> {
    let heard = hear(road, made, knowing);
    let grammar = Grammar::new(knowing);
    let mut rng = Rng::for_purpose(road.seed, 0x4ead + made.kind as u64);
    let mut nodes = vec![Node {
        before: u32::MAX,
        start_m: 0.0,
        after_climb: false,
    }];
    let mut living = vec![first(&grammar, &heard)];
    let mut believed = HashMap::new();
    let last_flat_m = road.pieces.last().map_or(0.0, |piece| piece.length_m);
    let total_m = road.length_m() - last_flat_m;
    let (mut at_m, mut at_noise, mut next) = (0.0, heard.at_noise[0], 0);
    let mut written_m = -f64::INFINITY;
    let grid = (total_m / heard.step_m) as usize;
    for line in 1..=grid {
        let line_m = line as f64 * heard.step_m;
        while next < heard.at_m.len() && heard.at_m[next] <= line_m {
            let lag = heard.at_noise[next] - at_noise;
            let run_m = heard.at_m[next] - at_m;
            for one in &mut living {
                one.state.advance(run_m, lag, &heard.noise);
                one.kink(heard.kinks_m * run_m);
            }
            weigh(&mut living, &heard, next);
            (at_m, at_noise) = (heard.at_m[next], heard.at_noise[next]);
            next += 1;
        }
        let line_noise = heard.noise_at(next, line_m, at_noise);
        for one in &mut living {
            one.state
                .advance(line_m - at_m, line_noise - at_noise, &heard.noise);
            one.kink(heard.kinks_m * (line_m - at_m));
        }
        (at_m, at_noise) = (line_m, line_noise);
        branch(&grammar, &mut rng, &heard, line_m, &mut living);
        thin(&mut rng, &mut living, explanations, |one| &mut one.weight);
        write_history(&mut nodes, line_m, &mut living);
        if line_m - written_m >= WRITTEN_EACH_M + LOOK_AHEAD_M || line == grid {
            let until_m = if line == grid {
                f64::INFINITY
            } else {
                line_m - LOOK_AHEAD_M
            };
            write_down(&nodes, &living, written_m, until_m, &mut believed);
            written_m = until_m;
        }
    }
    let mut climbs: Vec<Believed> = believed
        .into_iter()
        .map(|((start, end), weight)| Believed {
            start_m: start as f64,
            end_m: end as f64,
            weight,
        })
        .collect();
    climbs.sort_by(|a, b| {
        let starts = a.start_m.total_cmp(&b.start_m);
        starts.then(a.end_m.total_cmp(&b.end_m))
    });
    climbs
}

impl Heard {
    /// The noise's own coordinate at a place before the next point.
    fn noise_at(&self, next: usize, line_m: f64, at_noise: f64) -> f64 {
        if next == 0 || next >= self.at_m.len() {
            return at_noise;
        }
        let (before_m, after_m) = (self.at_m[next - 1], self.at_m[next]);
        let share = (line_m - before_m) / (after_m - before_m).max(1e-9);
        let noise = self.at_noise[next - 1]
            + share.clamp(0.0, 1.0) * (self.at_noise[next] - self.at_noise[next - 1]);
        noise.max(at_noise)
    }
}

/// The points that the reader takes, without spikes; where it is told of them, without curves and kinks.
fn hear(road: &Road, made: &TruthRecording, knowing: Knowing) -> Heard {
    let kind = made.kind;
    let told = !HIDES_KINKS.contains(&kind);
    let (least_gap, least_run_m) = match kind {
        Kind::Barometer => (4.0, 12.0),
        Kind::SatelliteOnly => (8.0, 25.0),
        _ => (0.0, 0.0),
    };
    let (sd_m, reach) = if kind.is_ridden() {
        clock_noise(kind)
    } else {
        (drawn_error_m(made), terrain_reach_m(kind))
    };
    let (sharp, real) = (without_wander(road, true), without_wander(road, false));
    let mut heard = Heard {
        kinks_m: match knowing {
            _ if told => 0.0,
            Knowing::TheRules | Knowing::RoadsInGeneral => CLIMBS_KINKS_M,
            Knowing::PiecesAlone => ANY_KINKS_M,
        },
        at_m: Vec::new(),
        at_noise: Vec::new(),
        height_m: Vec::new(),
        steepness: Vec::new(),
        noise: Noise { sd_m, reach },
        rounding_m2: kind.step_m().powi(2) / 12.0,
        step_m: if kind.is_ridden() && kind != Kind::SatelliteOnly {
            10.0
        } else {
            20.0
        },
    };
    for (index, point) in made.recording.points.iter().enumerate() {
        let at_m = made.true_distance_m[index];
        let Some(elevation_m) = point.elevation_m else {
            continue;
        };
        let at_noise = match point.time_s {
            Some(time_s) if kind.is_ridden() => time_s,
            _ => at_m,
        };
        let soon = heard.at_m.last().is_some_and(|last_m| {
            at_m - last_m < least_run_m
                && at_noise - heard.at_noise[heard.at_noise.len() - 1] < least_gap
        });
        if soon || made.spikes.contains(&index) {
            continue;
        }
        heard.at_m.push(at_m);
        heard.at_noise.push(at_noise);
        let straightened_m = sharp.elevation_at_m(at_m) - real.elevation_at_m(at_m);
        heard
            .height_m
            .push(elevation_m + if told { straightened_m } else { 0.0 });
        heard
            .steepness
            .push(if told { made.steepness[index] } else { 1.0 });
    }
    heard
}

/// Size of a drawn line's error, from the errors themselves.
fn drawn_error_m(made: &TruthRecording) -> f64 {
    let errors = made.elevation_error_m.iter().zip(&made.steepness);
    let squares: f64 = errors
        .map(|(error_m, steepness)| (error_m / steepness).powi(2))
        .sum();
    (squares / made.elevation_error_m.len() as f64).sqrt()
}

/// The road as it is without wander, and, where asked, without vertical curves and kinks.
fn without_wander(road: &Road, sharp: bool) -> Profile {
    let mut pieces = road.pieces.clone();
    for piece in &mut pieces {
        if sharp {
            piece.kinks.clear();
            piece.curve_m = 1e-3;
        }
    }
    let still: Vec<Vec<f64>> = pieces
        .iter()
        .map(|piece| vec![0.0; piece.length_m as usize + 100])
        .collect();
    build(&pieces, &still, 0.0)
}

fn first(grammar: &Grammar, heard: &Heard) -> Explanation {
    let level = grammar.first_level();
    Explanation {
        weight: 1.0,
        place: Place::FirstFlat,
        piece_start_m: 0.0,
        state: State::first(heard.height_m[0], &level, &heard.noise),
        held: [(0.0, 0.0); 2],
        after_climb: false,
        node: 0,
    }
}

/// Weighs every explanation by how well it foretold a point's height.
fn weigh(living: &mut [Explanation], heard: &Heard, point: usize) {
    let mut logs = Vec::with_capacity(living.len());
    for one in living.iter_mut() {
        logs.push(one.state.observe(
            heard.height_m[point],
            heard.steepness[point],
            heard.rounding_m2,
        ));
    }
    let largest = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut total = 0.0;
    for (one, log) in living.iter_mut().zip(&logs) {
        one.weight *= (log - largest).exp();
        total += one.weight;
    }
    for one in living {
        one.weight /= total;
    }
}

/// Lets every explanation end its piece here, and begin each of those that may follow.
fn branch(
    grammar: &Grammar,
    rng: &mut Rng,
    heard: &Heard,
    line_m: f64,
    living: &mut Vec<Explanation>,
) {
    let parents = living.len();
    for index in 0..parents {
        let age_m = line_m - living[index].piece_start_m;
        let ends = living[index].place.ends_within(age_m, heard.step_m);
        if ends <= 0.0 {
            continue;
        }
        let parent = living[index].clone();
        living[index].weight *= 1.0 - ends;
        let was_climb = parent.place.is_climb(age_m, parent.state.level().0);
        let mut light = 0.0;
        let mut stand_in = None;
        grammar.follow(parent.place, &parent.held_now(), |place, share, level| {
            let weight = parent.weight * ends * share;
            let make = |weight| {
                let mut child = parent.clone();
                child.weight = weight;
                child.place = place;
                child.piece_start_m = line_m;
                child.after_climb = was_climb;
                child.held = [parent.state.level(), parent.held[0]];
                child.state.turn(level, heard.step_m);
                child
            };
            if weight >= LIGHT {
                living.push(make(weight));
            } else {
                light += weight;
                if rng.uniform() * light < weight {
                    stand_in = Some(make(0.0));
                }
            }
        });
        if let Some(mut child) = stand_in {
            child.weight = light;
            living.push(child);
        }
    }
    living.retain(|one| one.weight > 0.0);
}

impl Explanation {
    /// Kinks may have taken some of the rise: a variance in m² for a grade of one.
    fn kink(&mut self, variance_m2: f64) {
        if self.place.has_kinks() {
            self.state.kink(variance_m2);
        }
    }

    fn held_now(&self) -> [(f64, f64); 2] {
        [self.state.level(), self.held[0]]
    }
}

/// Writes the pieces begun here into the histories.
fn write_history(nodes: &mut Vec<Node>, line_m: f64, living: &mut [Explanation]) {
    for one in living.iter_mut().filter(|one| one.piece_start_m == line_m) {
        nodes.push(Node {
            before: one.node,
            start_m: line_m,
            after_climb: one.after_climb,
        });
        one.node = nodes.len() as u32 - 1;
    }
}

/// Adds the weights of all climbs that ended between two places.
fn write_down(
    nodes: &[Node],
    living: &[Explanation],
    after_m: f64,
    until_m: f64,
    believed: &mut HashMap<(i64, i64), f64>,
) {
    let total: f64 = living.iter().map(|one| one.weight).sum();
    for one in living {
        let mut next = nodes[one.node as usize];
        while next.before != u32::MAX && next.start_m > after_m {
            let this = nodes[next.before as usize];
            if next.after_climb && next.start_m <= until_m {
                let place = (this.start_m as i64, next.start_m as i64);
                *believed.entry(place).or_default() += one.weight / total;
            }
            next = this;
        }
    }
}
