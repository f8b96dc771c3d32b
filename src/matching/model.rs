//! The choice stated as a separable model: every candidate on the clocks, with its own cost.

use std::collections::BTreeMap;

use super::Task;
use super::assign::{Block, Choice, Problem};
use super::between::{Rest, RollBack, Ways};
use super::candidates::Candidate;
use super::demand::Demand;
use super::ground::{Ground, TURN_S};
use super::wishes::climbs_of;

/// The model of a task, whose candidates are listed block by block.
pub(super) fn problem(task: &Task, ground: &Ground, by_demand: &[Vec<Candidate>]) -> Problem {
    let blocks = task
        .demands
        .iter()
        .zip(by_demand)
        .map(|(demand, list)| block(task, ground, demand, list))
        .collect();
    let rates = task.rates;
    Problem {
        blocks,
        ways: Ways {
            over_rest_rate: rates.over_rest,
            waiting_rate: rates.waiting,
            soft_pedal_s: Some(rates.turning),
            roll_back: task.wishes.turn_round.then_some(RollBack {
                turning_s: 2.0 * TURN_S,
                cost_s: rates.turning,
            }),
        },
        pins: BTreeMap::from_iter(
            task.wishes
                .keep
                .iter()
                .filter_map(|(rep, climb)| Some((rep.checked_sub(1)?, *climb))),
        ),
    }
}

fn block(task: &Task, ground: &Ground, demand: &Demand, list: &[Candidate]) -> Block {
    // Ascents and what lies between them, numbered along the route: ways back stay within one of them.
    let ends: Vec<f64> = task
        .climbs
        .ascents
        .iter()
        .flat_map(|a| [a.from_m, a.to_m])
        .collect();
    let choices = list.iter().map(|candidate| {
        let middle_m = candidate.start_m.midpoint(candidate.end_m);
        let climbs = climbs_of(&task.climbs.climbs, candidate);
        Choice {
            allowed: !climbs.iter().any(|c| task.wishes.avoid.contains(c)),
            climb: climbs.first().copied().unwrap_or(0),
            ascent: ends.partition_point(|end_m| *end_m <= middle_m) as i64,
            start: ground.start(candidate.start_m),
            end: ground.end(candidate.end_m),
            cost_s: candidate.cost.total_s(),
            first_s: first_s(task, ground, candidate),
        }
    });
    Block {
        reps: demand.reps as usize,
        rest: Rest {
            at_least_s: demand.recovery_at_least_s,
            at_most_s: demand.longest_recovery_s(),
        },
        choices: choices.collect(),
    }
}

/// What it costs that the first rep is here, in seconds: where the rider may turn round, the warm-up may be ridden to its end
/// to and fro before the start; else the start must lie beyond it.
fn first_s(task: &Task, ground: &Ground, candidate: &Candidate) -> f64 {
    let missing_s = task.warm_up_s - ground.steady.time_at_s(candidate.start_m);
    if missing_s <= 0.0 {
        0.0
    } else if task.wishes.turn_round {
        task.rates.waiting * missing_s
    } else {
        f64::INFINITY
    }
}
