//! What would make a set fit: the nearest change of it, found by planning again with each change in turn.

use super::ground::Ground;
use super::laps::on_rounds;
use super::{Demand, Task, assign, candidates, model, place_reps};
use crate::gearing::{Drive, Gear};
use crate::prescription::duration_text;

/// Reps become shorter in steps of this, in seconds; those longer than [`LONG_WORK_S`] in double ones.
const WORK_STEP_S: f64 = 15.0;
const LONG_WORK_S: f64 = 300.0;
/// Recoveries become shorter in steps of this, in seconds.
const RECOVERY_STEP_S: f64 = 30.0;
/// Reps and recoveries are not made shorter than this share of what was asked: then it is another set.
const LEAST_SHARE: f64 = 0.5;
/// The cadence band is not made wider than by this, nor lower than [`LOWEST_CADENCE_RPM`], in turns a minute.
const MOST_WIDER_RPM: u32 = 10;
const LOWEST_CADENCE_RPM: f64 = 40.0;
/// Largest sprockets that are sold for road and gravel bikes, in teeth (common practice, no source).
pub(super) const LARGEST_SPROCKETS: [u32; 10] = [28, 30, 32, 34, 36, 40, 42, 46, 50, 52];
/// How many of these beyond the bike's own are tried.
const SPROCKETS_TRIED: usize = 3;
/// On longer routes nothing is tried, so that the answer does not keep anybody waiting, in metres.
const LONGEST_ROUTE_M: f64 = 400_000.0;
/// Nor for more reps than this, for each try takes time in proportion to them; then only how many fit is told.
const MOST_REPS: u32 = 60;

/// The nearest changes of each kind with which every rep finds a place on at most so many rounds of the route, in words; `placed`
/// reps have one as it is.
pub fn changes(task: &Task, most_laps: usize, placed: usize) -> Vec<String> {
    on_rounds(task, most_laps, |task| changes_on(task, placed))
}

fn changes_on(task: &Task, placed: usize) -> Vec<String> {
    if task.profile.length_m() > LONGEST_ROUTE_M || task.climbs.ascents.is_empty() {
        return Vec::new();
    }
    let ground = Ground::new(task);
    let with = |changed: &[Demand]| {
        let task = Task {
            demands: changed,
            ..*task
        };
        fits(&task, &ground)
    };
    let mut found = Vec::new();
    if task.demands.iter().map(|d| d.reps).sum::<u32>() <= MOST_REPS {
        found.extend(shorter_reps(task.demands, &with));
        found.extend(wider_cadence(task.demands, &with));
        found.extend(larger_sprocket(task));
        found.extend(shorter_recovery(task.demands, &with));
    }
    if placed > 0 && task.demands.len() == 1 {
        let reps = if placed == 1 { "rep" } else { "reps" };
        found.push(format!("{placed} {reps}"));
    }
    found
}

/// Whether every rep of a task finds a place.
fn fits(task: &Task, ground: &Ground) -> bool {
    let by_demand: Vec<_> = task
        .demands
        .iter()
        .map(|demand| candidates::list(task, &ground.road, demand))
        .collect();
    if by_demand.iter().any(Vec::is_empty) {
        return false;
    }
    // Riding the plan can only ask for more recovery, so what has no place on the clocks has none on the road.
    let all: usize = task.demands.iter().map(|d| d.reps as usize).sum();
    let on_clocks = assign::cheapest(&model::problem(task, ground, &by_demand));
    on_clocks.picks.len() == all && place_reps(task, ground, &by_demand).ridden.reps.len() == all
}

fn shorter_reps(demands: &[Demand], fits: &dyn Fn(&[Demand]) -> bool) -> Option<String> {
    let held = demands.iter().filter(|d| d.start.is_none());
    let longest_s = held.map(|d| d.work_s).fold(0.0, f64::max);
    let step_s = if longest_s > LONG_WORK_S {
        2.0 * WORK_STEP_S
    } else {
        WORK_STEP_S
    };
    let steps = (longest_s * (1.0 - LEAST_SHARE) / step_s) as u32;
    (1..=steps).find_map(|k| {
        let less_s = f64::from(k) * step_s;
        let shorter = |d: &Demand| Demand {
            work_s: if d.start.is_none() && d.work_s - less_s >= LEAST_SHARE * d.work_s {
                d.work_s - less_s
            } else {
                d.work_s
            },
            ..*d
        };
        let changed: Vec<Demand> = demands.iter().map(shorter).collect();
        fits(&changed).then(|| {
            let held = changed.iter().filter(|d| d.start.is_none());
            let texts = held.map(|d| duration_text(d.work_s));
            format!("reps of {}", told_once(texts))
        })
    })
}

fn wider_cadence(demands: &[Demand], fits: &dyn Fn(&[Demand]) -> bool) -> Option<String> {
    let widened = |down: f64, up: f64| -> Vec<Demand> {
        let wider = |d: &Demand| {
            let mut wider = *d;
            if d.start.is_some() {
                return wider;
            }
            let band = &mut wider.bands.cadence_rpm;
            band.from = (band.from - down).max(LOWEST_CADENCE_RPM.min(band.from));
            band.to += up;
            wider
        };
        demands.iter().map(wider).collect()
    };
    (1..=MOST_WIDER_RPM)
        .flat_map(|k| [widened(f64::from(k), 0.0), widened(0.0, f64::from(k))])
        .find(|changed| fits(changed))
        .map(|changed| {
            let held = changed.iter().filter(|d| d.start.is_none());
            let texts = held.map(|d| {
                format!(
                    "{:.0}–{:.0}",
                    d.bands.cadence_rpm.from, d.bands.cadence_rpm.to
                )
            });
            format!("{} rpm", told_once(texts))
        })
}

fn larger_sprocket(task: &Task) -> Option<String> {
    let own = task.drive.gears.iter().map(|g| g.sprocket).max()?;
    LARGEST_SPROCKETS
        .into_iter()
        .filter(|teeth| *teeth > own)
        .take(SPROCKETS_TRIED)
        .find(|&teeth| {
            let drive = with_largest_sprocket(task.drive, own, teeth);
            let task = Task {
                drive: &drive,
                ..*task
            };
            fits(&task, &Ground::new(&task))
        })
        .map(|teeth| format!("a largest sprocket of {teeth} teeth instead of {own}"))
}

/// The same bike with another largest sprocket.
pub(super) fn with_largest_sprocket(drive: &Drive, own: u32, teeth: u32) -> Drive {
    let changed = |gear: &Gear| {
        if gear.sprocket == own {
            Gear {
                sprocket: teeth,
                development_m: gear.development_m * f64::from(own) / f64::from(teeth),
                ..*gear
            }
        } else {
            *gear
        }
    };
    let mut gears: Vec<Gear> = drive.gears.iter().map(changed).collect();
    gears.sort_by(|a, b| a.development_m.total_cmp(&b.development_m));
    Drive {
        gears,
        ..drive.clone()
    }
}

fn shorter_recovery(demands: &[Demand], fits: &dyn Fn(&[Demand]) -> bool) -> Option<String> {
    let longest_s = demands
        .iter()
        .map(|d| d.recovery_at_least_s)
        .fold(0.0, f64::max);
    let steps = (longest_s * (1.0 - LEAST_SHARE) / RECOVERY_STEP_S) as u32;
    (1..=steps).find_map(|k| {
        let less_s = f64::from(k) * RECOVERY_STEP_S;
        let shorter = |d: &Demand| Demand {
            recovery_at_least_s: (d.recovery_at_least_s - less_s)
                .max(LEAST_SHARE * d.recovery_at_least_s),
            ..*d
        };
        let changed: Vec<Demand> = demands.iter().map(shorter).collect();
        fits(&changed).then(|| {
            let texts = changed.iter().map(|d| duration_text(d.recovery_at_least_s));
            format!("recoveries from {} on", told_once(texts))
        })
    })
}

/// What each block has, once where all have the same.
fn told_once(texts: impl Iterator<Item = String>) -> String {
    let mut texts: Vec<String> = texts.collect();
    texts.dedup();
    texts.join(", ")
}
