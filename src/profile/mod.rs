//! A line becomes a graded profile: evenly spaced, its noise known, smoothed, each grade with its error.
//!
//! [`Profile::from_route`] runs the stages: [`jitter`] takes out of the distances what the receiver's wander adds, [`observe`]
//! gathers the recorded elevations at even steps, [`noise`] guesses how wrong they are and how far that is correlated,
//! [`likelihood`] says it again, knowing where the road turns, [`spread`] says where they are wrong by more than usual, [`turns`] finds where it changes its grade and where else it
//! may ([`layout`] says how roads are laid out), [`places`] weighs where each turn lies, and [`smoother`] takes out what the noise explains; where many roads are nearly as likely,
//! [`average`] does so for each of some and takes their mean. [`kalman`] is the model that they share; [`climbed`] says how sure a gain is. [`looks`] and [`drift`] say what the recording is like.
//!
//! [`sources::profile`] chooses between a route's own elevations and those of tiles: [`ground`] lays the tiles beside the recording, and
//! [`together`] makes one series of both.

pub mod average;
pub mod climbed;
pub mod drift;
pub mod effort;
pub mod ground;
pub mod jitter;
pub mod kalman;
pub mod layout;
pub mod likelihood;
pub mod looks;
mod lowest;
pub mod noise;
pub mod observe;
pub mod places;
pub mod smoother;
pub mod sources;
pub mod spread;
pub mod together;
pub mod turns;

#[cfg(test)]
mod sources_tests;
#[cfg(test)]
pub(crate) mod tests;

pub use drift::Drift;
use effort::Effort;
pub use kalman::{Dynamics, Observation};
pub use looks::Looks;
pub use noise::Noise;
pub use turns::Turn;

use crate::route::Route;

/// Spacing that a profile aims for, in metres: about one turn of the wheel at walking pace on a wall, a third of the
/// shortest kink that matters. The real spacing divides the route's length evenly.
pub const SPACING_M: f64 = 10.0;

/// Elevation, grade and direction at even steps along a route.
///
/// All vectors have one entry a node; node `i` lies at `i * spacing_m` along the route.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Distance between nodes, in metres.
    pub spacing_m: f64,
    /// Latitude, WGS 84, in degrees.
    pub lat_deg: Vec<f64>,
    /// Longitude, WGS 84, in degrees.
    pub lon_deg: Vec<f64>,
    /// Direction of travel, in radians clockwise from north.
    pub bearing_rad: Vec<f64>,
    /// Distance along the route as given, in metres: more than along the road where the receiver's jitter lengthens the track.
    pub given_m: Vec<f64>,
    /// Smoothed elevation, in metres.
    pub elevation_m: Vec<f64>,
    /// Standard error of the elevation, in metres; slow drift common to neighbours included.
    pub elevation_se_m: Vec<f64>,
    /// Smoothed grade, in per cent.
    pub grade_pct: Vec<f64>,
    /// Standard error of the grade, in per cent.
    pub grade_se_pct: Vec<f64>,
    /// Where the road turns from one grade to another, in order; the first is the route's start.
    pub turns: Vec<Turn>,
    /// Sets of turns that the recording allows, drawn as likely as they are; none for a part that was cut out.
    pub alternatives: Vec<turns::Turns>,
    /// The recorded elevations that the above was made from.
    pub observations: Vec<Observation>,
    /// How wrong the recorded elevations are.
    pub noise: Noise,
    /// What the elevations look like.
    pub looks: Looks,
    /// How far their level drifts, where that shows.
    pub drift: Option<Drift>,
    /// Everything that was guessed, in sentences.
    pub warnings: Vec<String>,
}

/// Why a route has no profile.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ProfileError {
    /// There is nothing to make a profile from.
    #[error(
        "the route has no elevations: give elevation tiles that cover it, or a recording that has them"
    )]
    NoElevation,
    /// Grades over less than a few steps mean nothing.
    #[error("the route is {length_m:.0} m long; a profile needs at least {needed_m:.0} m")]
    TooShort {
        /// Length of the route, in metres.
        length_m: f64,
        /// Least length, in metres.
        needed_m: f64,
    },
    /// Memory is bounded by the length.
    #[error("the route is {length_km:.0} km long; at most {most_km:.0} km can be worked out")]
    TooLong {
        /// Length of the route, in kilometres.
        length_km: f64,
        /// Greatest length, in kilometres.
        most_km: f64,
    },
}

/// Shortest route with a profile, in metres.
const SHORTEST_M: f64 = 100.0;
/// Longest route with a profile, in metres: a tenth of the way round the Earth, 400,000 nodes.
const LONGEST_M: f64 = 4.0e6;

/// What is known of elevations' errors beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Known {
    /// Only what they themselves tell.
    Nothing,
    /// Their standard deviation is at least this, in metres.
    AtLeast(f64),
    /// What it should be like; they may tell more.
    About(Noise),
}

/// A route laid out at even steps, before its elevations are looked at.
#[derive(Clone)]
struct Laid<'a> {
    route: &'a Route,
    distances_m: Vec<f64>,
    line: observe::EvenLine,
}

impl<'a> Laid<'a> {
    fn out(route: &'a Route) -> Result<Self, ProfileError> {
        if route.length_m < SHORTEST_M {
            return Err(ProfileError::TooShort {
                length_m: route.length_m,
                needed_m: SHORTEST_M,
            });
        }
        if route.length_m > LONGEST_M {
            return Err(ProfileError::TooLong {
                length_km: route.length_m / 1e3,
                most_km: LONGEST_M / 1e3,
            });
        }
        let distances_m = jitter::distances_m(route);
        let track = observe::Track {
            points: &route.points,
            distances_m: &distances_m,
        };
        let line = observe::even_line(&track, SPACING_M);
        Ok(Laid {
            route,
            distances_m,
            line,
        })
    }

    fn track(&self) -> observe::Track<'_> {
        observe::Track {
            points: &self.route.points,
            distances_m: &self.distances_m,
        }
    }

    fn nodes(&self) -> usize {
        self.line.lat_deg.len()
    }

    fn recorded(&self) -> Vec<Observation> {
        observe::gather(&self.track(), self.line.spacing_m, self.nodes())
    }

    /// The profile that the observations make; what they look like is judged where it is not given.
    fn profile(
        self,
        mut observations: Vec<Observation>,
        known: Known,
        looks: Option<Looks>,
    ) -> Profile {
        let (route, line) = (self.route, &self.line);
        let has_times = observe::has_times(&self.track());
        let noise = noise_of(&mut observations, line.spacing_m, known, has_times);
        let effort = Effort::for_noise(&noise);
        let search = turns::Search::run(&observations, line.spacing_m, &noise, effort);
        let mut alternatives = search.drawn(effort.draws);
        let mut turns = search.likeliest();
        places::settle(&observations, line.spacing_m, &noise, &mut turns);
        let dynamics = Dynamics::new(line.spacing_m, &noise);
        let smooth = if alternatives.is_empty() {
            smoother::smooth(&observations, dynamics, &turns)
        } else {
            average::average(&observations, dynamics, &alternatives)
        };
        if noise.is_fine() {
            // Where it turns is known better than sixteen roads say: climbs that are weighed by them are no better found, and their stated
            // 90 % intervals hold 0.77 of the time instead of 0.88 (whole metres, seeds 5000 to 5019 of the truth bench).
            alternatives.clear();
        }
        let road_m = line.spacing_m * (line.lat_deg.len() - 1) as f64;
        let looks = looks.unwrap_or_else(|| Looks::of(route, &noise, has_times));
        let mut profile = Profile {
            spacing_m: line.spacing_m,
            lat_deg: self.line.lat_deg,
            lon_deg: self.line.lon_deg,
            bearing_rad: self.line.bearing_rad,
            given_m: self.line.given_m,
            elevation_m: smooth.elevation_m,
            elevation_se_m: smooth.elevation_se_m,
            grade_pct: smooth.grade.iter().map(|g| 100.0 * g).collect(),
            grade_se_pct: smooth.grade_se.iter().map(|g| 100.0 * g).collect(),
            turns,
            alternatives,
            observations,
            noise,
            looks,
            drift: None,
            warnings: Vec::new(),
        };
        profile.drift = drift::of(&profile, route.is_loop);
        profile.warnings = profile.drift.iter().map(|d| d.remark(&profile)).collect();
        profile.warnings.extend(Looks::remark(&noise));
        profile
            .warnings
            .extend(jitter::remark(route.length_m, road_m));
        profile
    }
}

/// On coarse recordings the noise is estimated again so often. Each estimate changes which turns are found, and turns that only errors had made
/// hid a part of the noise: satellite fixes' 4 m are first taken for 3.2 m, then for 3.8, then for 4.0 m; a terrain model's error
/// is known after one.
const TIMES_AGAIN: usize = 2;

/// How wrong elevations are; where they come from a terrain model, each is told how wrong it is.
fn noise_of(
    observations: &mut [Observation],
    spacing_m: f64,
    known: Known,
    has_times: bool,
) -> Noise {
    let guess = match known {
        Known::About(noise) => noise,
        Known::Nothing | Known::AtLeast(_) => noise::estimate(observations, spacing_m),
    };
    let most_m = likelihood::MOST_GROWTH * guess.sd_m;
    let refined = |observations: &[Observation], noise: &Noise, effort| {
        likelihood::refine(observations, spacing_m, noise, most_m, effort)
    };
    match known {
        Known::Nothing => {}
        Known::AtLeast(sd_m) => {
            return refined(observations, &guess, Effort::for_noise(&guess)).at_least(sd_m);
        }
        Known::About(_) => return refined(observations, &guess, Effort::for_noise(&guess)),
    }
    let mut noise = refined(observations, &guess, Effort::rough(&guess));
    if noise.is_fine() {
        return noise;
    }
    if !has_times {
        let turns = turns::find(observations, spacing_m, &noise, Effort::rough(&noise));
        spread::settle(observations, Dynamics::new(spacing_m, &noise), &turns);
    }
    for _ in 0..if has_times { TIMES_AGAIN } else { 1 } {
        noise = refined(observations, &noise, Effort::rough(&noise));
    }
    noise
}

impl Profile {
    /// Makes the profile of a route from its recorded elevations.
    ///
    /// # Errors
    /// [`ProfileError`] where the route has fewer than two elevations, or is too short or too long.
    pub fn from_route(route: &Route) -> Result<Profile, ProfileError> {
        let known = route.points.iter().filter(|p| p.elevation_m.is_some());
        let few = known.count() < 2;
        let laid = Laid::out(route)?;
        if few {
            return Err(ProfileError::NoElevation);
        }
        let observations = laid.recorded();
        Ok(laid.profile(observations, Known::Nothing, None))
    }

    /// Number of nodes; never 0.
    pub fn nodes(&self) -> usize {
        self.elevation_m.len()
    }

    /// Length along the route, in metres.
    pub fn length_m(&self) -> f64 {
        self.spacing_m * (self.nodes() - 1) as f64
    }

    /// The node nearest to a distance along the route (metres).
    pub fn node_at(&self, distance_m: f64) -> usize {
        ((distance_m / self.spacing_m).round().max(0.0) as usize).min(self.nodes() - 1)
    }

    /// Elevation at a distance along the route (metres), between nodes linearly.
    pub fn elevation_at_m(&self, distance_m: f64) -> f64 {
        self.between(&self.elevation_m, distance_m)
    }

    /// Mean grade between two nodes, rise over run; the nodes differ.
    pub fn mean_grade(&self, from: usize, to: usize) -> f64 {
        let run_m = (to as f64 - from as f64) * self.spacing_m;
        (self.elevation_m[to] - self.elevation_m[from]) / run_m
    }

    /// Distance along the route as given (metres) at a distance along the road (metres).
    pub fn given_at_m(&self, distance_m: f64) -> f64 {
        self.between(&self.given_m, distance_m)
    }

    /// Latitude and longitude (degrees) at a distance along the route (metres).
    pub fn position_at(&self, distance_m: f64) -> (f64, f64) {
        let (i, share) = self.cell_at(distance_m);
        let lat = self.lat_deg[i] + share * (self.lat_deg[i + 1] - self.lat_deg[i]);
        let step = observe::shorter_way_deg(self.lon_deg[i + 1] - self.lon_deg[i]);
        (
            lat,
            observe::shorter_way_deg(self.lon_deg[i] + share * step),
        )
    }

    /// The part between two distances (metres), ends moved to the nearest nodes and at least one step apart.
    pub fn slice(&self, from_m: f64, to_m: f64) -> Profile {
        let first = self.node_at(from_m).min(self.nodes() - 2);
        let last = self.node_at(to_m).max(first + 1);
        let cut = |column: &[f64]| column[first..=last].to_vec();
        Profile {
            spacing_m: self.spacing_m,
            lat_deg: cut(&self.lat_deg),
            lon_deg: cut(&self.lon_deg),
            bearing_rad: cut(&self.bearing_rad),
            given_m: cut(&self.given_m),
            elevation_m: cut(&self.elevation_m),
            elevation_se_m: cut(&self.elevation_se_m),
            grade_pct: cut(&self.grade_pct),
            grade_se_pct: cut(&self.grade_se_pct),
            turns: turns::between(&self.turns, first, last),
            alternatives: Vec::new(),
            observations: self.observations[first..=last].to_vec(),
            noise: self.noise,
            looks: self.looks,
            drift: None,
            warnings: Vec::new(),
        }
    }

    /// Metres climbed and descended in all, on the smoothed profile.
    pub fn ascent_descent_m(&self) -> (f64, f64) {
        self.elevation_m
            .windows(2)
            .fold((0.0, 0.0), |(up, down), pair| {
                let rise = pair[1] - pair[0];
                (up + rise.max(0.0), down + (-rise).max(0.0))
            })
    }

    fn cell_at(&self, distance_m: f64) -> (usize, f64) {
        let position = (distance_m / self.spacing_m).clamp(0.0, (self.nodes() - 1) as f64);
        let i = (position as usize).min(self.nodes() - 2);
        (i, position - i as f64)
    }

    fn between(&self, column: &[f64], distance_m: f64) -> f64 {
        let (i, share) = self.cell_at(distance_m);
        column[i] + share * (column[i + 1] - column[i])
    }
}
