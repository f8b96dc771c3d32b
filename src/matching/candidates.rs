//! Every place where a rep can start.
//!
//! In a rep the rider holds one cadence in one gear, and so one speed v, as long as the power that takes lies in its band;
//! on steeper ground they ride at the band's upper power, on gentler ground at its lower one, and the cadence gives.
//! Where the rider wishes to hold the power instead, the band is that one power, and the cadence follows.
//! That is as good as `v` clamped between the speeds of two riders who push the two ends of the power band all along the ascent, so that
//! time, time out of band and energy of every candidate come from running sums along it.

use rayon::prelude::*;

use super::risk::{self, Risk};
use super::sums::{Best, Speeds, Stretch};
use super::{CostParts, Demand, Task, shifts, starts};
use crate::gearing::{Band, Bands, Drive, Gear, effort};
use crate::ride::motion::STALL_SPEED_MS;
use crate::ride::{Cell, Moment, Pace, Pacing, Road, Until, advance};

/// A place where a rep can start, ridden as well as it can be.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// Where it starts along the route, in metres.
    pub start_m: f64,
    /// Where the clock is expected to stop it, in metres.
    pub end_m: f64,
    /// Where the clock stops it if it is ridden as fast as the bands allow, in metres.
    pub end_if_fast_m: f64,
    /// The gear at its start.
    pub gear: Gear,
    /// Rear shifts on the way, in order.
    pub shifts: Vec<Shift>,
    /// The cadence to aim for, in turns a minute.
    pub aim_rpm: f64,
    /// The powers between which that cadence is held, where they are measured, in watts; equal where the power is held.
    pub powers_w: (f64, f64),
    /// What it costs by itself.
    pub cost: CostParts,
}

/// A rear shift within a rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shift {
    /// Where along the route, in metres.
    pub at_m: f64,
    /// The gear from there on.
    pub gear: Gear,
}

pub use crate::ride::pacing::RUN_IN_S;

/// A rep out of band for a larger share of its time is no rep: a tenth is a kink of some twenty seconds in four minutes.
pub const MOST_OUT_OF_BAND_SHARE: f64 = 0.1;
/// Aims that are tried, as shares of the way from the block's aim to the ends of its band.
const AIM_SHARES: [f64; 5] = [0.0, -0.5, 0.5, -0.25, 0.25];

/// The best candidate at each start on each ascent, in route order.
pub fn list(task: &Task, road: &Road, demand: &Demand) -> Vec<Candidate> {
    if let Some(start) = &demand.start {
        return starts::list(task, road, demand, start);
    }
    let ascents = task.climbs.ascents.par_iter();
    let on_each: Vec<Vec<Candidate>> = ascents
        .map(|ascent| {
            let from = task.profile.node_at(ascent.from_m);
            let to = task.profile.node_at(ascent.to_m).min(road.cells.len());
            if from < to {
                between(task, road, demand, from, to, MOST_OUT_OF_BAND_SHARE)
            } else {
                Vec::new()
            }
        })
        .collect();
    on_each.into_iter().flatten().collect()
}

/// The best candidate at each node of a stretch that is out of band for at most a share of its time.
pub fn between(
    task: &Task,
    road: &Road,
    demand: &Demand,
    from: usize,
    to: usize,
    most_out_share: f64,
) -> Vec<Candidate> {
    let pushed = |power_w: f64| pushed_ms(road, (from, to), power_w);
    let bands = &demand.bands;
    let (slow, fast) = (pushed(bands.power_w.from), pushed(bands.power_w.to));
    let all = task.drive.gears.iter();
    let gears: Vec<Gear> = all
        .filter(|g| reaches(g, bands, &slow, &fast))
        .copied()
        .collect();
    let carrying: Vec<bool> = gears
        .iter()
        .map(|gear| {
            let time_s = in_band_s(gear, bands, &road.cells[from..to], &slow, &fast);
            time_s >= (1.0 - most_out_share) * demand.work_s - RUN_IN_S
        })
        .collect();
    let mut best: Vec<Best> = (from..to).map(|_| Best::none()).collect();
    let mut room = Vec::with_capacity(to - from + 1);
    let mut risks: Vec<Vec<Risk>> = Vec::new();
    let mut risked_w = None;
    for share in AIM_SHARES {
        let Some((aim_rpm, powers_w)) = held(task, bands, share) else {
            continue;
        };
        let whole_band = (bands.power_w.from, bands.power_w.to);
        let narrower = (powers_w != whole_band).then(|| (pushed(powers_w.0), pushed(powers_w.1)));
        let quickest = match task.wishes.pacing {
            Pacing::Power => &fast,
            Pacing::Cadence => narrower.as_ref().map_or(&fast, |(_, f)| f),
        };
        let (slow, fast) = narrower.as_ref().map_or((&slow, &fast), |(s, f)| (s, f));
        let way = Stretch {
            task,
            road,
            demand,
            from,
            aim_rpm,
            powers_w,
            speeds: Speeds {
                slow,
                fast,
                quickest,
            },
            most_out_share,
        };
        if risked_w.replace(powers_w) != Some(powers_w) {
            risks = gears.iter().map(|g| risk::along(&way, g)).collect();
        }
        for ((gear, risks), carries) in gears.iter().zip(&risks).zip(&carrying) {
            if *carries {
                way.offer(|i| (gear, risks[i]), &mut room, &mut best);
            }
        }
        if share == 0.0 {
            for sequence in shifts::sequences(&way, &gears, &risks) {
                let each = |i: usize| (&gears[sequence[i]], risks[sequence[i]][i]);
                way.offer(each, &mut room, &mut best);
            }
        }
    }
    best.into_iter().filter_map(|b| b.candidate).collect()
}

/// The mean speed on each step between two nodes of somebody who pushes one power (watts) all along, in metres per second: the
/// mass carries them through what is short.
fn pushed_ms(road: &Road, (from, to): (usize, usize), power_w: f64) -> Vec<f64> {
    let efficiency = road.drivetrain_efficiency;
    let start = Moment {
        distance_m: from as f64 * road.spacing_m,
        time_s: 0.0,
        speed_ms: road.cells[from].speed_for_power_ms(power_w, efficiency),
    };
    let mut speeds_ms = Vec::with_capacity(to - from);
    let mut begun_s = 0.0;
    let until = Until::Distance(to as f64 * road.spacing_m);
    advance(road, start, &Pace::constant(power_w), until, |sample| {
        let node = from + speeds_ms.len() + 1;
        if sample.to.distance_m >= node as f64 * road.spacing_m - 1e-6 {
            let length_m = road.cells[node - 1].slope_length_m;
            speeds_ms.push(length_m / (sample.to.time_s - begun_s));
            begun_s = sample.to.time_s;
        }
    });
    speeds_ms
}

/// How long a gear is in band along some cells, ridden as slowly as the power band allows, in seconds.
fn in_band_s(gear: &Gear, bands: &Bands, cells: &[Cell], slow: &[f64], fast: &[f64]) -> f64 {
    let steps = cells.iter().zip(slow.iter().zip(fast));
    steps
        .filter(|(_, (low, high))| turns(gear, bands, **low, **high))
        .map(|(cell, (low, _))| cell.slope_length_m / low.max(STALL_SPEED_MS))
        .sum()
}

/// The cadence (rpm) to aim for and the powers (where they are measured, W) between which the rider rides, a share of the way
/// from the aim to an end of the band of what is held.
fn held(task: &Task, bands: &Bands, share: f64) -> Option<(f64, (f64, f64))> {
    let aim_rpm = bands.cadence_rpm.aim;
    match task.wishes.pacing {
        Pacing::Cadence => {
            let aim_rpm = toward(&bands.cadence_rpm, share);
            Some((aim_rpm, powers_at_w(task.drive, bands, aim_rpm)?))
        }
        Pacing::Power => {
            let (from, to) = powers_at_w(task.drive, bands, aim_rpm)?;
            let aim = bands.power_w.aim.clamp(from, to);
            let power_w = toward(&Band { from, to, aim }, share);
            Some((aim_rpm, (power_w, power_w)))
        }
    }
}

/// Whether a gear can turn a cadence in its band anywhere on the ascent.
fn reaches(gear: &Gear, bands: &Bands, slow: &[f64], fast: &[f64]) -> bool {
    slow.iter()
        .zip(fast)
        .any(|(low, high)| turns(gear, bands, *low, *high))
}

/// Whether a gear turns a cadence in its band at some speed (m/s) between two.
fn turns(gear: &Gear, bands: &Bands, slow_ms: f64, fast_ms: f64) -> bool {
    let from_ms = effort::speed_ms(bands.cadence_rpm.from, gear.development_m);
    let to_ms = effort::speed_ms(bands.cadence_rpm.to, gear.development_m);
    slow_ms <= to_ms && fast_ms >= from_ms
}

/// A share of the way from the aim to an end of the band, up for positive shares.
fn toward(band: &Band, share: f64) -> f64 {
    let end = if share < 0.0 { band.from } else { band.to };
    band.aim + share.abs() * (end - band.aim)
}

/// The powers (where they are measured) inside the power band and, at a cadence, the torque band.
fn powers_at_w(drive: &Drive, bands: &Bands, cadence_rpm: f64) -> Option<(f64, f64)> {
    let crank = drive.crank_per_measured;
    let at_crank = Bands {
        power_w: bands.power_w.scaled(crank),
        ..*bands
    };
    at_crank
        .powers_at_w(cadence_rpm)
        .map(|(from, to)| (from / crank, to / crank))
}

/// How long a stretch of cells takes as fast and as slow as the power band allows, whatever the gear, in seconds.
pub fn stretch_times_s(
    road: &Road,
    drive: &Drive,
    bands: &Bands,
    from: usize,
    to: usize,
) -> (f64, f64) {
    let efficiency = drive.system.resistance.drivetrain_efficiency;
    let time = |power_w: f64| -> f64 {
        let speed = |c: &Cell| c.speed_for_power_ms(power_w, efficiency);
        road.cells[from..to]
            .iter()
            .map(|c| c.slope_length_m / speed(c).max(0.1))
            .sum()
    };
    (time(bands.power_w.to), time(bands.power_w.from))
}
