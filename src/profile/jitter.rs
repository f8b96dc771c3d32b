//! How much a recorded track is lengthened by the receiver's wander to the left and right, and the distances without that.
//!
//! A fix that strays sideways by a fresh `w` each step makes a step of `d` metres `w²/2d` longer: nothing on a descent, five
//! per cent at walking pace, and as much off the grade. What strays is told from what bends by its sign: in a bend the
//! direction turns the same way step after step, a stray step is turned back by the next one.

use crate::route::{Point, Route, step_m};

/// Steps that take longer than this are no recording of a ride second by second, in seconds.
const LONGEST_STEP_S: f64 = 12.0;
/// Faster than this the track is hardly lengthened, and bends weigh more, in metres per second.
const SLOW_M_S: f64 = 6.0;
/// Steps whose products are averaged before the median is taken, so that what a few wild ones say is left out.
const BLOCK_STEPS: usize = 40;
/// Fewer blocks than this measure nothing.
const FEWEST_BLOCKS: usize = 5;
/// Time over which the pace is taken as one, in seconds: to each side of a step.
const PACE_S: f64 = 20.0;
/// The median of a mean of [`BLOCK_STEPS`] products lies below their mean by about this share (products of normal deviates are skewed).
const MEDIAN_SHARE: f64 = 0.97;

/// Distance along the road of each point, in metres: as given, without what the receiver's jitter adds.
pub fn distances_m(route: &Route) -> Vec<f64> {
    let given = || route.points.iter().map(|p| p.distance_m).collect();
    let steps = steps(&route.points);
    let Some(stray_m2_s) = stray_m2_s(&route.points, &steps) else {
        return given();
    };
    shortened(&steps, stray_m2_s)
}

/// A step from one point to the next.
struct Step {
    length_m: f64,
    /// How long it took, in seconds, if it is one of a ride's.
    lasted_s: Option<f64>,
}

fn steps(points: &[Point]) -> Vec<Step> {
    points
        .windows(2)
        .map(|pair| {
            let lasted_s = pair[1].time_s.zip(pair[0].time_s).map(|(b, a)| b - a);
            Step {
                length_m: pair[1].distance_m - pair[0].distance_m,
                lasted_s: lasted_s.filter(|s| *s > 0.0 && *s <= LONGEST_STEP_S),
            }
        })
        .collect()
}

/// Variance that the fix gains across the road in a second, in m² per second, from slow parts; nothing where it can't be told.
fn stray_m2_s(points: &[Point], steps: &[Step]) -> Option<f64> {
    let mut products = Vec::new();
    for i in 0..steps.len().saturating_sub(2) {
        let three = &steps[i..i + 3];
        let Some(seconds) = three.iter().map(|s| s.lasted_s).sum::<Option<f64>>() else {
            continue;
        };
        let length_m: f64 = three.iter().map(|s| s.length_m).sum();
        if length_m > SLOW_M_S * seconds {
            continue;
        }
        let Some(across) = across_m_s(&points[i..i + 4], three) else {
            continue;
        };
        let middle_s = three[1].lasted_s.unwrap_or(1.0);
        products.push(-(across[1] - across[0]) * (across[2] - across[1]) * middle_s);
    }
    let mut means: Vec<f64> = products
        .chunks_exact(BLOCK_STEPS)
        .map(|block| block.iter().sum::<f64>() / block.len() as f64)
        .collect();
    if means.len() < FEWEST_BLOCKS {
        return None;
    }
    let middle = means.len() / 2;
    let (_, median, _) = means.select_nth_unstable_by(middle, f64::total_cmp);
    Some(*median / MEDIAN_SHARE).filter(|stray| *stray > 0.0)
}

/// Speed across the chord from the first to the last of four points, for the three steps between them.
fn across_m_s(points: &[Point], steps: &[Step]) -> Option<[f64; 3]> {
    let (first, last) = (&points[0], &points[3]);
    let shrink = first.lat_deg.to_radians().cos();
    let east =
        |a: &Point, b: &Point| super::observe::shorter_way_deg(b.lon_deg - a.lon_deg) * shrink;
    let chord = (east(first, last), last.lat_deg - first.lat_deg);
    let chord_deg = chord.0.hypot(chord.1);
    if chord_deg < 1e-6 {
        return None;
    }
    let metres_per_deg = step_m(first, last) / chord_deg;
    let mut across = [0.0; 3];
    for (k, step) in steps.iter().enumerate() {
        let (a, b) = (&points[k], &points[k + 1]);
        let side_deg = (east(a, b) * chord.1 - (b.lat_deg - a.lat_deg) * chord.0) / chord_deg;
        across[k] = side_deg * metres_per_deg / step.lasted_s?;
    }
    Some(across)
}

/// Cumulated steps, each without what straying adds at the pace around it.
///
/// With `n` steps in the time `T` around, of which the road is `D` and the track `M = D + n q T / 2 D` metres, `D` is the
/// larger root of `D² − M D + n q T / 2 = 0`.
fn shortened(steps: &[Step], stray_m2_s: f64) -> Vec<f64> {
    let mut distances_m = Vec::with_capacity(steps.len() + 1);
    let mut along_m = 0.0;
    distances_m.push(along_m);
    let mut around = Around::default();
    let (mut first, mut after) = (0, 0);
    let mut now_s = 0.0;
    for step in steps {
        let lasted_s = step.lasted_s.unwrap_or(0.0);
        let middle_s = now_s + 0.5 * lasted_s;
        while after < steps.len() && around.until_s <= middle_s + PACE_S {
            around.add(&steps[after]);
            after += 1;
        }
        while first < after && around.from_s < middle_s - PACE_S {
            around.drop(&steps[first]);
            first += 1;
        }
        now_s += lasted_s;
        along_m += match step.lasted_s {
            Some(_) => step.length_m * around.road_share(stray_m2_s),
            None => step.length_m,
        };
        distances_m.push(along_m);
    }
    distances_m
}

/// The timed steps around one.
#[derive(Default)]
struct Around {
    count: f64,
    length_m: f64,
    from_s: f64,
    until_s: f64,
}

impl Around {
    fn add(&mut self, step: &Step) {
        if let Some(lasted_s) = step.lasted_s {
            self.count += 1.0;
            self.length_m += step.length_m;
            self.until_s += lasted_s;
        }
    }

    fn drop(&mut self, step: &Step) {
        if let Some(lasted_s) = step.lasted_s {
            self.count -= 1.0;
            self.length_m -= step.length_m;
            self.from_s += lasted_s;
        }
    }

    /// The road's part of the track; never less than half.
    fn road_share(&self, stray_m2_s: f64) -> f64 {
        let square_m2 = self.length_m * self.length_m;
        let added_m2 = 2.0 * self.count * stray_m2_s * (self.until_s - self.from_s);
        if square_m2 <= 0.0 {
            return 1.0;
        }
        0.5 + 0.5 * (1.0 - added_m2 / square_m2).max(0.0).sqrt()
    }
}
/// A length this share longer than the road is worth telling.
const TOLD_SHARE: f64 = 0.002;

/// What to tell of a track of a length as given (metres) on a road of another length (metres).
pub(super) fn remark(given_m: f64, road_m: f64) -> Option<String> {
    let longer = given_m / road_m - 1.0;
    (longer >= TOLD_SHARE).then(|| {
        format!(
            "the receiver's jitter makes the track {:.1} % longer than the road: {:.2} km as given, {:.2} km ridden; \
             grades and times are the road's, places are told along the route as given",
            100.0 * longer,
            given_m / 1000.0,
            road_m / 1000.0
        )
    })
}
