//! Where maximal starts go: some ten seconds all out from a slow roll, in one gear.
//!
//! On a gentle rise or flat, straight, and with no descent to run into. All of it is a coach's common practice, no source.

use super::candidates::Candidate;
use super::ground::cell_of_grade;
use super::{CostParts, Demand, Start, Task, halts};
use crate::gearing::Gear;
use crate::ride::Road;
use crate::ride::motion::STALL_SPEED_MS;

/// Mean grades that suit, rise over run, and the best one.
const GRADES: std::ops::RangeInclusive<f64> = -0.005..=0.04;
const BEST_GRADE: f64 = 0.02;
/// The road may bend by no more than this in all, in radians (20°).
const MOST_BEND_RAD: f64 = 0.35;
/// After the stop, over so many metres, the road may fall by no more than a grade, rise over run.
const AFTER_M: f64 = 150.0;
const STEEPEST_AFTER: f64 = -0.02;
/// The gear turns about this in the roll, in turns a minute.
const ROLL_RPM: f64 = 25.0;
/// A start may be this much longer than expected, as a share.
const LONGER_SHARE: f64 = 0.3;
/// Time step of the estimate of a start's length, in seconds; halving it moves the stop by less than a metre.
const STEP_S: f64 = 0.1;

/// Every place for a start, in route order.
pub(super) fn list(task: &Task, road: &Road, demand: &Demand, start: &Start) -> Vec<Candidate> {
    let Some(gear) = gear_for(task, start) else {
        return Vec::new();
    };
    let run_m = length_m(task, road, demand, start);
    let steps = (run_m * (1.0 + LONGER_SHARE) / road.spacing_m).ceil() as usize;
    let after = (AFTER_M / road.spacing_m).ceil() as usize;
    let last = road.cells.len().saturating_sub(steps + after);
    let boundaries = ascent_ends_m(task);
    (0..last)
        .filter_map(|node| {
            let (grade, bend_rad) = suits(task, node, steps, after)?;
            let start_m = node as f64 * road.spacing_m;
            let end_m = start_m + run_m;
            let across = boundaries.partition_point(|b| *b <= start_m)
                != boundaries.partition_point(|b| *b <= end_m);
            (!across).then(|| Candidate {
                start_m,
                end_m,
                end_if_fast_m: start_m + run_m * (1.0 + LONGER_SHARE),
                gear,
                shifts: Vec::new(),
                aim_rpm: demand.bands.cadence_rpm.aim,
                powers_w: (demand.bands.power_w.aim, demand.bands.power_w.aim),
                cost: CostParts {
                    halts_s: halts::cost_s(task, start_m, end_m),
                    ..cost(task, demand, grade, bend_rad)
                },
            })
        })
        .collect()
}

fn cost(task: &Task, demand: &Demand, grade: f64, bend_rad: f64) -> CostParts {
    let rates = task.rates;
    let off = (grade - BEST_GRADE).abs() / (GRADES.end() - BEST_GRADE);
    CostParts {
        off_grade_s: rates.off_grade * demand.work_s * off,
        unsteadiness_s: rates.unsteadiness * demand.work_s * bend_rad / MOST_BEND_RAD,
        ..CostParts::default()
    }
}

/// Mean grade and bend of the steps from a node on, where they suit a start.
fn suits(task: &Task, node: usize, steps: usize, after: usize) -> Option<(f64, f64)> {
    let profile = task.profile;
    let (z, step_m) = (&profile.elevation_m, profile.spacing_m);
    let mean = |from: usize, count: usize| (z[from + count] - z[from]) / (count as f64 * step_m);
    let grade = mean(node, steps);
    if !GRADES.contains(&grade) || mean(node + steps, after) < STEEPEST_AFTER {
        return None;
    }
    let bearings = &profile.bearing_rad[node..=node + steps];
    let bend_rad: f64 = bearings.windows(2).map(|w| turn_rad(w[0], w[1])).sum();
    (bend_rad <= MOST_BEND_RAD).then_some((grade, bend_rad))
}

/// The angle between two bearings, the shorter way round.
fn turn_rad(a: f64, b: f64) -> f64 {
    let full = std::f64::consts::TAU;
    let turn = (b - a).rem_euclid(full);
    turn.min(full - turn)
}

/// The straight-chained gear that turns the roll at a cadence nearest to what a start begins with.
fn gear_for(task: &Task, start: &Start) -> Option<Gear> {
    let turned_m = start.from_ms * 60.0 / ROLL_RPM;
    let off = |g: &Gear| (g.development_m / turned_m).ln().abs();
    let straight = task.drive.gears.iter().filter(|g| !g.crossed);
    straight.min_by(|a, b| off(a).total_cmp(&off(b))).copied()
}

/// How far a start goes on the best grade, in metres, at the mean power of one.
fn length_m(task: &Task, road: &Road, demand: &Demand, start: &Start) -> f64 {
    let cell = cell_of_grade(task, BEST_GRADE);
    let thrust_w = demand.bands.power_w.aim * road.drivetrain_efficiency;
    let steps = (demand.work_s / STEP_S).round().max(1.0);
    let (mut speed_ms, mut run_m) = (start.from_ms.max(STALL_SPEED_MS), 0.0);
    for _ in 0..steps as usize {
        let pull_n = thrust_w / speed_ms - cell.force_n(speed_ms);
        speed_ms += pull_n / road.inertial_mass_kg * STEP_S;
        run_m += speed_ms * STEP_S;
    }
    run_m
}

/// Where ascents begin and end, in order.
fn ascent_ends_m(task: &Task) -> Vec<f64> {
    let ascents = task.climbs.ascents.iter();
    ascents.flat_map(|a| [a.from_m, a.to_m]).collect()
}
