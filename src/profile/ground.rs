//! The ground of tiles beside a recording, node by node: what the recording differs from it, and where that is more than both can err.

use super::observe::Track;
use super::{Noise, Observation};
use crate::terrain::TileElevations;

/// The level of a recording against the ground, and its slow drift, are taken out over this length to either side, in metres:
/// longer than twice a long tunnel, shorter than a weather front.
const LEVEL_M: f64 = 5_000.0;
/// A difference of this many standard deviations opens a disagreement,
const OPENS_SD: f64 = 4.5;
/// and it reaches as far as the difference stays above this many. With 4 instead of 4.5 normal errors over 300 km open two, with 4.5 one.
const HOLDS_SD: f64 = 2.0;
/// Shorter ones are single bad values, in metres.
const SHORTEST_M: f64 = 50.0;
/// Two that are no farther apart than this are one, in metres.
const JOINED_M: f64 = 100.0;
/// A tile's elevation counts for so much less there: its standard deviation is this many times what it would be.
const DISTRUST: f64 = 10.0;
/// The median absolute deviation of a normal distribution is this share of its standard deviation.
const MEDIAN_SHARE: f64 = 0.6745;

/// The ground at each node of a profile.
#[derive(Debug, Clone, PartialEq)]
pub struct Ground {
    /// Distance between nodes, in metres.
    pub spacing_m: f64,
    /// Elevation, in metres; none in a void.
    pub elevation_m: Vec<Option<f64>>,
    /// Standard deviation of that against the road, in metres: more where the ground is steep across the road.
    pub error_m: Vec<f64>,
}

/// A stretch where tiles and recording are farther apart than their errors explain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Disagreement {
    /// Where it starts, in metres along the road.
    pub from_m: f64,
    /// Where it ends, likewise.
    pub to_m: f64,
    /// By how much the recording is above the ground at the worst place, level and drift taken out, in metres; negative below.
    pub above_m: f64,
}

impl Ground {
    /// Puts the samples along a route as given onto the nodes of its profile, straight between samples.
    pub fn on_nodes(track: &Track, ground: &TileElevations, spacing_m: f64, nodes: usize) -> Self {
        let mut at = 0;
        let road_m = |given_m: f64, after: &mut usize| {
            let points = track.points;
            while *after + 2 < points.len() && points[*after + 1].distance_m < given_m {
                *after += 1;
            }
            let (a, b) = (&points[*after], &points[*after + 1]);
            let share = (given_m - a.distance_m) / (b.distance_m - a.distance_m);
            let (from_m, to_m) = (track.distances_m[*after], track.distances_m[*after + 1]);
            from_m + share.clamp(0.0, 1.0) * (to_m - from_m)
        };
        let samples = &ground.samples;
        let places_m: Vec<f64> = samples
            .iter()
            .map(|s| road_m(s.distance_m, &mut at))
            .collect();
        let mut after = 1;
        let mut nodes_of = Ground {
            spacing_m,
            elevation_m: Vec::with_capacity(nodes),
            error_m: Vec::with_capacity(nodes),
        };
        for node in 0..nodes {
            let distance_m = node as f64 * spacing_m;
            while after + 1 < places_m.len() && places_m[after] < distance_m {
                after += 1;
            }
            let (from_m, to_m) = (places_m[after - 1], places_m[after]);
            let share = ((distance_m - from_m) / (to_m - from_m).max(1e-9)).clamp(0.0, 1.0);
            let (a, b) = (&samples[after - 1], &samples[after]);
            let between = |a: f64, b: f64| a + share * (b - a);
            let elevation_m = a.elevation_m.zip(b.elevation_m);
            nodes_of
                .elevation_m
                .push(elevation_m.map(|(a, b)| between(a, b)));
            nodes_of.error_m.push(between(a.error_m(), b.error_m()));
        }
        nodes_of
    }

    /// The ground as observations about every `apart_m` metres, with the error of each; `usual_m` is the error that a scale of one
    /// stands for. They err along the road, not by the clock.
    pub fn observations(&self, apart_m: f64, usual_m: f64) -> Vec<Observation> {
        let every = ((apart_m / self.spacing_m).round() as usize).max(1);
        let last = self.elevation_m.len() - 1;
        self.elevation_m
            .iter()
            .zip(&self.error_m)
            .enumerate()
            .map(|(node, (elevation_m, error_m))| {
                let seen = node % every == 0 || node == last;
                Observation {
                    elevation_m: elevation_m.unwrap_or(0.0),
                    offset_m: 0.0,
                    count: u32::from(seen && elevation_m.is_some()),
                    lapse: if node == 0 { 0.0 } else { self.spacing_m },
                    error_scale: error_m / usual_m,
                }
            })
            .collect()
    }

    /// How much higher than the ground each node was recorded, in metres.
    pub fn differences_m(&self, recorded: &[Observation]) -> Vec<Option<f64>> {
        let last = recorded.len() - 1;
        recorded
            .iter()
            .enumerate()
            .map(|(node, seen)| {
                let other = if seen.offset_m < 0.0 {
                    node.saturating_sub(1)
                } else {
                    (node + 1).min(last)
                };
                let (here_m, there_m) = (self.elevation_m[node]?, self.elevation_m[other]?);
                let share = seen.offset_m.abs() / self.spacing_m;
                let ground_m = here_m + share * (there_m - here_m);
                (seen.count > 0).then_some(seen.elevation_m - ground_m)
            })
            .collect()
    }

    /// Where the recording is farther from the ground than the errors of both explain, level and slow drift taken out.
    pub fn disagreements(&self, recorded: &[Observation], noise: &Noise) -> Vec<Disagreement> {
        let off_m = self.without_level(&self.differences_m(recorded));
        let sizes: Vec<f64> = off_m.iter().flatten().map(|off| off.abs()).collect();
        let seen_sd_m = median(sizes).unwrap_or(0.0) / MEDIAN_SHARE;
        let times_sd = |node: usize| {
            off_m[node].map(|off| {
                let both_m = noise.total_sd_m().hypot(self.error_m[node]);
                off / both_m.max(seen_sd_m)
            })
        };
        let mut found: Vec<Disagreement> = Vec::new();
        let mut node = 0;
        while node < off_m.len() {
            let Some(start) = times_sd(node).filter(|t| t.abs() > HOLDS_SD) else {
                node += 1;
                continue;
            };
            let same = |n: &usize| {
                times_sd(*n).is_none_or(|t| t.abs() > HOLDS_SD && t.signum() == start.signum())
            };
            let end = (node..off_m.len()).take_while(same).last().unwrap_or(node);
            let inside = || (node..=end).filter_map(|n| Some((times_sd(n)?, off_m[n]?)));
            let (from_m, to_m) = (node as f64 * self.spacing_m, end as f64 * self.spacing_m);
            if to_m - from_m >= SHORTEST_M
                && inside().any(|(times, _)| times.abs() > OPENS_SD)
                && let Some((_, above_m)) = inside().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
            {
                match found.last_mut() {
                    Some(last)
                        if from_m - last.to_m <= JOINED_M && last.above_m * above_m > 0.0 =>
                    {
                        last.to_m = to_m;
                        if above_m.abs() > last.above_m.abs() {
                            last.above_m = above_m;
                        }
                    }
                    _ => found.push(Disagreement {
                        from_m,
                        to_m,
                        above_m,
                    }),
                }
            }
            node = end + 1;
        }
        found
    }

    /// The same ground, trusted little where it disagrees with the recording.
    #[must_use]
    pub fn distrusted(mut self, where_not: &[Disagreement]) -> Self {
        let node = |along_m: f64| (along_m / self.spacing_m).round() as usize;
        for stretch in where_not {
            for error_m in &mut self.error_m[node(stretch.from_m)..=node(stretch.to_m)] {
                *error_m *= DISTRUST;
            }
        }
        self
    }

    /// Differences about their running median, which is taken each tenth of its length and is straight between.
    fn without_level(&self, differences_m: &[Option<f64>]) -> Vec<Option<f64>> {
        let half = (LEVEL_M / self.spacing_m) as usize;
        let every = (half / 5).max(1);
        let nodes = differences_m.len();
        let levels: Vec<Option<f64>> = (0..=nodes / every)
            .map(|k| {
                let (from, to) = (
                    (k * every).saturating_sub(half),
                    (k * every + half).min(nodes),
                );
                median(
                    differences_m[from.min(to)..to]
                        .iter()
                        .copied()
                        .flatten()
                        .collect(),
                )
            })
            .collect();
        let level_m = |node: usize| {
            let (k, share) = (node / every, (node % every) as f64 / every as f64);
            let here_m = levels[k]?;
            let next_m = levels.get(k + 1).copied().flatten().unwrap_or(here_m);
            Some(here_m + share * (next_m - here_m))
        };
        differences_m
            .iter()
            .enumerate()
            .map(|(node, off_m)| Some((*off_m)? - level_m(node)?))
            .collect()
    }
}

/// The middle value, the upper one of two.
pub(super) fn median(mut values: Vec<f64>) -> Option<f64> {
    let middle = values.len() / 2;
    (!values.is_empty()).then(|| *values.select_nth_unstable_by(middle, f64::total_cmp).1)
}
