//! The gear, worked out from speed and cadence.

use super::seconds::Seconds;
use crate::gearing::{Drive, Gear};

/// Metres per turn are taken over so many seconds.
const WINDOW_S: usize = 10;
/// How far they stray from the gear's, as a share: what a receiver's jitter does over such a time.
const STRAY_SHARE: f64 = 0.04;
/// A shift must explain so much: in half squares of strays.
const SHIFT_PRICE: f64 = 7.0;
/// Gears that differ by less than this can't be told apart, as a share.
const ALIKE_SHARE: f64 = 0.015;
/// Farther than this from every gear is none of the bike's, as a share.
const FOREIGN_SHARE: f64 = 0.06;
/// Slower or with cranks hardly turning, nothing is told, in metres per second and turns a minute.
pub(super) const LEAST: (f64, f64) = (1.5, 20.0);

/// A gear and for how long it was ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct GearRidden {
    /// The gear; of two that can't be told apart the one planned, else the larger chainring.
    pub gear: Gear,
    /// For so many seconds.
    pub duration_s: f64,
    /// Measured metres per turn of the cranks.
    pub development_m: f64,
    /// Another gear that gives the same.
    pub or: Option<Gear>,
}

/// The gears of a stretch in order, by the shifts that explain its metres per turn best (dynamic programming over ten-second
/// windows); none where cadence or bike are not known, or where no gear of the bike is near.
pub fn gears(
    seconds: &Seconds,
    (from, to): (usize, usize),
    drive: &Drive,
    planned: Option<(u32, u32)>,
) -> Vec<GearRidden> {
    let windows: Vec<Window> = (from..to)
        .step_by(WINDOW_S)
        .filter_map(|at| Window::of(seconds, at, (at + WINDOW_S).min(to)))
        .collect();
    let mut ridden: Vec<GearRidden> = Vec::new();
    let mut at = 0;
    for span in spans(&windows, &drive.gears) {
        let part = &windows[at..at + span];
        at += span;
        let (way_m, turns) = part
            .iter()
            .fold((0.0, 0.0), |s, w| (s.0 + w.way_m, s.1 + w.turns));
        let duration_s = part.iter().map(|w| w.duration_s).sum();
        if let Some(found) = nearest(&drive.gears, way_m / turns, planned) {
            match ridden.last_mut() {
                Some(last) if last.gear == found.0 => last.duration_s += duration_s,
                _ => ridden.push(GearRidden {
                    gear: found.0,
                    or: found.1,
                    duration_s,
                    development_m: way_m / turns,
                }),
            }
        }
    }
    ridden
}

struct Window {
    way_m: f64,
    turns: f64,
    duration_s: f64,
}

impl Window {
    /// A window in which the cranks turn all along.
    fn of(seconds: &Seconds, from: usize, to: usize) -> Option<Window> {
        let mut turns = 0.0;
        for i in from..to {
            let rpm = seconds.cadence_rpm[i].filter(|c| *c >= LEAST.1)?;
            turns += rpm / 60.0;
            if seconds.speed_ms[i] < LEAST.0 || !seconds.known[i] {
                return None;
            }
        }
        let last = to.min(seconds.count() - 1);
        let way_m = seconds.distance_m[last] - seconds.distance_m[from];
        let duration_s = (to - from) as f64;
        (last == to && way_m > 0.0).then_some(Window {
            way_m,
            turns,
            duration_s,
        })
    }

    fn misfit(&self, gear: &Gear) -> f64 {
        let z = (self.way_m / self.turns / gear.development_m).ln() / STRAY_SHARE;
        0.5 * z * z
    }
}

/// How many windows in a row are of one gear.
fn spans(windows: &[Window], gears: &[Gear]) -> Vec<usize> {
    let Some(first) = windows.first() else {
        return Vec::new();
    };
    let mut cost: Vec<f64> = gears.iter().map(|g| first.misfit(g)).collect();
    let mut back: Vec<Vec<usize>> = Vec::with_capacity(windows.len());
    let least = |cost: &[f64]| {
        (0..cost.len())
            .min_by(|a, b| cost[*a].total_cmp(&cost[*b]))
            .unwrap_or(0)
    };
    for window in &windows[1..] {
        let best = least(&cost);
        let stay = |g: usize| cost[g] <= cost[best] + SHIFT_PRICE;
        back.push(
            (0..gears.len())
                .map(|g| if stay(g) { g } else { best })
                .collect(),
        );
        cost = (0..gears.len())
            .map(|g| cost[g].min(cost[best] + SHIFT_PRICE) + window.misfit(&gears[g]))
            .collect();
    }
    let mut gear = least(&cost);
    let mut spans = vec![1];
    for row in back.iter().rev() {
        let before = row[gear];
        if before == gear {
            if let Some(last) = spans.last_mut() {
                *last += 1;
            }
        } else {
            spans.push(1);
            gear = before;
        }
    }
    spans.reverse();
    spans
}

/// The gear nearest to a development (metres per turn), and another that is as near.
fn nearest(
    gears: &[Gear],
    development_m: f64,
    planned: Option<(u32, u32)>,
) -> Option<(Gear, Option<Gear>)> {
    let off = |g: &Gear| (development_m / g.development_m).ln().abs();
    let best = gears.iter().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    if off(best) > FOREIGN_SHARE {
        return None;
    }
    let like = |g: &&Gear| (g.development_m / best.development_m).ln().abs() < ALIKE_SHARE;
    let alike: Vec<&Gear> = gears.iter().filter(like).collect();
    let is_planned = |g: &&&Gear| planned == Some((g.chainring, g.sprocket));
    let first = alike
        .iter()
        .find(is_planned)
        .or_else(|| alike.iter().max_by_key(|g| g.chainring))?;
    let or = alike.iter().find(|g| g.chainring != first.chainring);
    Some((**first, or.map(|g| **g)))
}
