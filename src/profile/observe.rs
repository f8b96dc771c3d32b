//! From points where the device put them to even steps along the road.

use super::Observation;
use crate::route::Point;

/// A route's points with the distance of each along the road.
pub struct Track<'a> {
    /// The points, at least two.
    pub points: &'a [Point],
    /// Distance of each from the first, in metres, increasing.
    pub distances_m: &'a [f64],
}

/// The line at even steps.
#[derive(Debug, Clone, PartialEq)]
pub struct EvenLine {
    /// Distance between nodes, in metres.
    pub spacing_m: f64,
    /// Latitude of each node, in degrees.
    pub lat_deg: Vec<f64>,
    /// Longitude of each node, in degrees.
    pub lon_deg: Vec<f64>,
    /// Direction of travel at each node, in radians clockwise from north.
    pub bearing_rad: Vec<f64>,
    /// Distance of each node along the route as given, in metres.
    pub given_m: Vec<f64>,
}

/// Walks the track at even steps of about `aim_m` metres that divide its length.
pub fn even_line(track: &Track, aim_m: f64) -> EvenLine {
    let along_m = track.distances_m;
    let last = track.points.len() - 1;
    let steps = (along_m[last] / aim_m).ceil().max(2.0) as usize;
    let spacing_m = along_m[last] / steps as f64;
    let mut line = EvenLine {
        spacing_m,
        lat_deg: Vec::with_capacity(steps + 1),
        lon_deg: Vec::with_capacity(steps + 1),
        bearing_rad: Vec::with_capacity(steps + 1),
        given_m: Vec::with_capacity(steps + 1),
    };
    let mut after = 1;
    for node in 0..=steps {
        let distance_m = node as f64 * spacing_m;
        while after < last && along_m[after] < distance_m {
            after += 1;
        }
        let share = ((distance_m - along_m[after - 1]) / (along_m[after] - along_m[after - 1]))
            .clamp(0.0, 1.0);
        let (a, b) = (&track.points[after - 1], &track.points[after]);
        let east_deg = shorter_way_deg(b.lon_deg - a.lon_deg);
        line.lat_deg
            .push(a.lat_deg + share * (b.lat_deg - a.lat_deg));
        line.lon_deg
            .push(shorter_way_deg(a.lon_deg + share * east_deg));
        line.given_m
            .push(a.distance_m + share * (b.distance_m - a.distance_m));
    }
    for node in 0..=steps {
        let (a, b) = (node.saturating_sub(1), (node + 1).min(steps));
        line.bearing_rad.push(bearing_rad(
            line.lat_deg[a],
            line.lon_deg[a],
            line.lat_deg[b],
            line.lon_deg[b],
        ));
    }
    line
}

/// The recorded elevations by the node they are nearest to: their mean, and how far off the node they lie on average.
pub fn gather(track: &Track, spacing_m: f64, nodes: usize) -> Vec<Observation> {
    let nothing = Observation {
        error_scale: 1.0,
        ..Observation::default()
    };
    let mut gathered = vec![nothing; nodes];
    for (point, &distance_m) in track.points.iter().zip(track.distances_m) {
        let Some(elevation_m) = point.elevation_m else {
            continue;
        };
        let node = ((distance_m / spacing_m).round() as usize).min(nodes - 1);
        let seen = &mut gathered[node];
        let count = f64::from(seen.count);
        seen.elevation_m = (seen.elevation_m * count + elevation_m) / (count + 1.0);
        let off_m = distance_m - node as f64 * spacing_m;
        seen.offset_m = (seen.offset_m * count + off_m) / (count + 1.0);
        seen.count += 1;
    }
    if has_times(track) {
        let times_s = times_s(track, spacing_m, nodes);
        for (seen, pair) in gathered[1..].iter_mut().zip(times_s.windows(2)) {
            seen.lapse = (pair[1] - pair[0]).max(0.0);
        }
    } else {
        gathered[1..]
            .iter_mut()
            .for_each(|seen| seen.lapse = spacing_m);
    }
    gathered
}

/// Whether a clock ran along: nine in ten points have a time.
pub fn has_times(track: &Track) -> bool {
    let timed = track.points.iter().filter(|p| p.time_s.is_some()).count();
    10 * timed >= 9 * track.points.len() && timed >= 2
}

/// When each node was passed, between points linearly.
fn times_s(track: &Track, spacing_m: f64, nodes: usize) -> Vec<f64> {
    let timed = track.points.iter().zip(track.distances_m);
    let known: Vec<(f64, f64)> = timed
        .filter_map(|(p, &along_m)| p.time_s.map(|time_s| (along_m, time_s)))
        .collect();
    let mut after = 1;
    (0..nodes)
        .map(|node| {
            let distance_m = node as f64 * spacing_m;
            while after + 1 < known.len() && known[after].0 < distance_m {
                after += 1;
            }
            let ((s0, t0), (s1, t1)) = (known[after - 1], known[after]);
            t0 + ((distance_m - s0) / (s1 - s0)).clamp(0.0, 1.0) * (t1 - t0)
        })
        .collect()
}

/// A difference or a longitude in degrees, brought to -180 to 180.
pub fn shorter_way_deg(degrees: f64) -> f64 {
    if degrees > 180.0 {
        degrees - 360.0
    } else if degrees < -180.0 {
        degrees + 360.0
    } else {
        degrees
    }
}

/// Direction over a few metres, where the Earth is flat enough.
fn bearing_rad(lat_a: f64, lon_a: f64, lat_b: f64, lon_b: f64) -> f64 {
    let east = shorter_way_deg(lon_b - lon_a) * (0.5 * (lat_a + lat_b)).to_radians().cos();
    let north = lat_b - lat_a;
    east.atan2(north).rem_euclid(std::f64::consts::TAU)
}
