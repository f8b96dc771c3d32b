//! A true road, drawn from a seed, and the climbs that are on it.

use super::definition::{boundaries, has_no_other_climbs, unsteady_climbs};
use super::layout::{Character, Country, Piece, draw_pieces, length_m};
use super::plan::{Plan, metres_per_radian};
use super::profile::{Profile, draw_wander};
use super::rng::Rng;
use super::{plan, profile};

/// A road of 40 to 60 km with 12 to 20 steady climbs, none of them debatable.
#[derive(Debug, Clone, PartialEq)]
pub struct Road {
    /// The seed that it was drawn from.
    pub seed: u64,
    /// Its pieces in order.
    pub pieces: Vec<Piece>,
    /// Its grade and elevation.
    pub profile: Profile,
    /// Its line on the ground.
    pub plan: Plan,
    /// Its steady climbs in order.
    pub true_climbs: Vec<TrueClimb>,
}

/// A steady climb as it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrueClimb {
    /// Where the road turns up: the middle of the vertical curve, in metres along the road.
    pub start_m: f64,
    /// Where it ends, likewise.
    pub end_m: f64,
    /// Rise over run.
    pub grade_pct: f64,
}

/// Wanders tried before a road is given up and another drawn.
const MOST_REDRAWS: usize = 300;
const WANDER_PURPOSE: u64 = 0x77;

impl Road {
    /// Draws the road of a seed in the bench's own country.
    pub fn draw(seed: u64) -> Self {
        Self::draw_in(Country::Usual, seed)
    }

    /// Draws the road of a seed, again and again until nothing about its climbs is debatable.
    pub fn draw_in(country: Country, seed: u64) -> Self {
        let mut rng = Rng::for_purpose(seed, WANDER_PURPOSE);
        loop {
            let pieces = draw_pieces(&mut rng, country);
            let climbs = pieces
                .iter()
                .filter(|piece| piece.character == Character::Climb);
            let fits = (12..=20).contains(&climbs.count())
                && (40_000.0..60_000.0).contains(&length_m(&pieces));
            if !fits {
                continue;
            }
            if let Some(profile) = draw_profile(&mut rng, &pieces) {
                return Self::assemble(seed, &mut rng, pieces, profile);
            }
        }
    }

    fn assemble(seed: u64, rng: &mut Rng, pieces: Vec<Piece>, profile: Profile) -> Self {
        let starts = boundaries(&pieces);
        let mut hairpins_m = Vec::new();
        let mut true_climbs = Vec::new();
        for (number, piece) in pieces.iter().enumerate() {
            let (start_m, end_m) = (starts[number] as f64, starts[number + 1] as f64);
            let hairpins = piece.kinks.iter().filter(|kink| kink.hairpin);
            hairpins_m.extend(hairpins.map(|kink| start_m + kink.from_m + 0.5 * kink.length_m));
            if piece.character == Character::Climb {
                true_climbs.push(TrueClimb {
                    start_m,
                    end_m,
                    grade_pct: profile.mean_grade_pct(start_m, end_m),
                });
            }
        }
        let plan = plan::draw(rng, profile.grade_pct.len(), &hairpins_m);
        Self {
            seed,
            pieces,
            profile,
            plan,
            true_climbs,
        }
    }

    /// Length in metres.
    pub fn length_m(&self) -> f64 {
        self.plan.bearing_rad.len() as f64
    }

    /// Latitude and longitude at a distance along the road, in degrees.
    pub fn position_deg(&self, distance_m: f64) -> (f64, f64) {
        let distance_m = distance_m.clamp(0.0, self.length_m());
        let cell = (distance_m as usize).min(self.plan.bearing_rad.len() - 1);
        let along = distance_m - cell as f64;
        let between = |values: &[f64]| values[cell] + along * (values[cell + 1] - values[cell]);
        (between(&self.plan.lat_deg), between(&self.plan.lon_deg))
    }

    /// Radius of the bend at a distance along the road, taken over 10 m.
    pub fn bend_radius_m(&self, distance_m: f64) -> f64 {
        let last = self.plan.bearing_rad.len() - 1;
        let first = (distance_m as usize).min(last);
        let ahead = (first + 10).min(last);
        let turn_rad = (self.plan.bearing_rad[ahead] - self.plan.bearing_rad[first]).abs();
        10.0 / turn_rad.max(1e-4)
    }

    /// The distance along the road of the place nearest to a position, within 3 km of the guess where there is one.
    ///
    /// The road never crosses itself, so the nearest place is the right one but for the metres beside a hairpin.
    pub fn true_distance_m(&self, lat_deg: f64, lon_deg: f64, guess_m: Option<f64>) -> f64 {
        let last = self.plan.lat_deg.len() - 1;
        let (from, to) = match guess_m {
            None => (0, last),
            Some(guess_m) => (
                ((guess_m - 3000.0).max(0.0) as usize).min(last),
                ((guess_m + 3000.0).max(0.0) as usize).min(last),
            ),
        };
        let coarse = self.nearest_node((from..=to).step_by(8), lat_deg, lon_deg);
        let fine_range = coarse.saturating_sub(8)..=(coarse + 8).min(last);
        let node = self.nearest_node(fine_range, lat_deg, lon_deg);
        let cell = node.min(last - 1);
        let (north_m, east_m) = self.offset_m(cell, lat_deg, lon_deg);
        let (sine, cosine) = self.plan.bearing_rad[cell].sin_cos();
        let along_m = north_m * cosine + east_m * sine;
        cell as f64 + along_m.clamp(-1.0, 1.0)
    }

    fn nearest_node(
        &self,
        nodes: impl Iterator<Item = usize>,
        lat_deg: f64,
        lon_deg: f64,
    ) -> usize {
        let squared_m2 = |node: usize| {
            let (north_m, east_m) = self.offset_m(node, lat_deg, lon_deg);
            north_m * north_m + east_m * east_m
        };
        nodes
            .min_by(|&a, &b| squared_m2(a).total_cmp(&squared_m2(b)))
            .unwrap_or(0)
    }

    /// Metres north and east from a node to a position.
    fn offset_m(&self, node: usize, lat_deg: f64, lon_deg: f64) -> (f64, f64) {
        let (per_lat_m, per_lon_m) = metres_per_radian(self.plan.lat_deg[node].to_radians());
        (
            (lat_deg - self.plan.lat_deg[node]).to_radians() * per_lat_m,
            (lon_deg - self.plan.lon_deg[node]).to_radians() * per_lon_m,
        )
    }
}

/// Draws wander until every climb is steady beyond dispute and nothing else is.
fn draw_profile(rng: &mut Rng, pieces: &[Piece]) -> Option<Profile> {
    let base_elevation_m = rng.between(5.0, 900.0);
    let mut wanders: Vec<Vec<f64>> = pieces.iter().map(|piece| draw_wander(rng, piece)).collect();
    for _ in 0..MOST_REDRAWS {
        let profile = profile::build(pieces, &wanders, base_elevation_m);
        let unsteady = unsteady_climbs(&profile, pieces);
        if unsteady.is_empty() {
            return has_no_other_climbs(&profile, pieces).then_some(profile);
        }
        for number in unsteady {
            wanders[number] = draw_wander(rng, &pieces[number]);
        }
    }
    None
}
