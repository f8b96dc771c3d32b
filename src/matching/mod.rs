//! Which climb suits which rep.
//!
//! [`candidates`] lists every place where a rep can start, each with the gear and aim that serve it best and its own
//! [`cost`]; [`clock`] says how long easy riding takes between any two places; [`assign`] picks the cheapest
//! candidate for each rep such that the recoveries hold; [`replay`] rides the chosen plan as a whole for the numbers
//! that are shown; [`reasons`] says why the rest isn't used. [`plan`] runs them.

pub mod assign;
pub mod candidates;
pub mod clock;
pub mod cost;
pub mod reasons;
pub mod replay;

pub use candidates::{Candidate, Demand, DemandError};
pub use clock::Clock;
pub use cost::{CostParts, Rates};
pub use reasons::{ClimbVerdict, Unplaced};
pub use replay::{Other, PlacedRep, RecoveryHow, Totals};

use crate::climbs::Climbs;
use crate::gearing::Drive;
use crate::profile::Profile;
use crate::ride::{Rider, Road, Weather};

/// Everything a plan is made from.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The road.
    pub profile: &'a Profile,
    /// The climbs on it.
    pub climbs: &'a Climbs,
    /// The rider.
    pub rider: &'a Rider,
    /// The rider's bike.
    pub drive: &'a Drive,
    /// The air.
    pub weather: &'a Weather,
    /// What is to be ridden, block after block.
    pub demands: &'a [Demand],
    /// No rep starts before this much riding, in seconds.
    pub warm_up_s: f64,
    /// At what rates the parts of a cost are counted.
    pub rates: &'a Rates,
}

/// A plan for one route.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Whether every rep is placed.
    pub fits: bool,
    /// Cost of the placed reps, in seconds of work out of band.
    pub cost_s: f64,
    /// The whole ride.
    pub total: Totals,
    /// The reps that are placed, in order.
    pub reps: Vec<PlacedRep>,
    /// The reps that are not.
    pub unplaced: Vec<Unplaced>,
    /// For each climb of the route, whether it suits and why.
    pub verdicts: Vec<ClimbVerdict>,
}

/// A placed recovery may come out shorter when the plan is ridden as a whole than on the easy-riding clock, which knows
/// no standing start from a climb; the recovery asked of the clock is raised by what is missing, at most this often.
const MOST_CORRECTIONS: usize = 6;

/// Makes the cheapest plan for a route.
pub fn plan(task: &Task) -> Plan {
    let road = Road::new(task.profile, &task.drive.system, task.weather);
    let easy = Clock::easy(&road, task.rider, task.drive);
    let steady = Clock::steady(&road, task.rider, task.drive);
    let earliest_m = steady.distance_at_m(task.warm_up_s);
    let by_demand: Vec<Vec<Candidate>> = task
        .demands
        .iter()
        .map(|demand| candidates::list(task, &road, demand))
        .collect();
    let mut margin_s = vec![0.0; task.demands.len()];
    let mut best = None;
    for _ in 0..MOST_CORRECTIONS {
        let picks = assign::cheapest(&problem(task, &by_demand, &easy, &margin_s, earliest_m));
        let ridden = replay::ride(task, &road, &picks, &by_demand);
        let short = shortfalls(task, &ridden.reps);
        best = Some((picks, ridden));
        if short.iter().all(|s| *s <= 0.0) {
            break;
        }
        for (margin, missing) in margin_s.iter_mut().zip(&short) {
            *margin += if *missing > 0.0 { missing + 1.0 } else { 0.0 };
        }
    }
    let (picks, mut ridden) = best.unwrap_or_default();
    let reasons = reasons::Reasons {
        task,
        road: &road,
        easy: &easy,
        by_demand: &by_demand,
        picks: &picks,
        earliest_m,
    };
    for (index, rep) in ridden.reps.iter_mut().enumerate() {
        rep.others = reasons.others(index);
    }
    let unplaced = reasons.unplaced();
    Plan {
        fits: unplaced.is_empty(),
        cost_s: ridden.reps.iter().map(|r| r.cost.total_s()).sum(),
        total: ridden.total,
        unplaced,
        verdicts: reasons.verdicts(),
        reps: ridden.reps,
    }
}

/// States the choice as a separable model, on the clocks.
fn problem(
    task: &Task,
    by_demand: &[Vec<Candidate>],
    easy: &Clock,
    margin_s: &[f64],
    earliest_m: f64,
) -> assign::Problem {
    let blocks =
        task.demands
            .iter()
            .zip(by_demand)
            .zip(margin_s)
            .map(|((demand, list), margin)| assign::Block {
                reps: demand.reps as usize,
                rest_at_least_s: demand.recovery_at_least_s + margin,
                rest_at_most_s: demand.recovery_at_most_s.unwrap_or(f64::INFINITY),
                choices: list
                    .iter()
                    .map(|c| assign::Choice {
                        allowed: c.start_m >= earliest_m,
                        start_s: easy.time_at_s(c.start_m),
                        end_s: easy.time_at_s(c.end_m),
                        start_rest_s: easy.rest_at_s(c.start_m),
                        end_rest_s: easy.rest_at_s(c.end_m),
                        cost_s: c.cost.total_s(),
                    })
                    .collect(),
            });
    assign::Problem {
        blocks: blocks.collect(),
        over_rest_rate: task.rates.over_rest,
    }
}

/// How much the shortest recovery after each block's reps falls short of what was asked, in seconds.
fn shortfalls(task: &Task, reps: &[PlacedRep]) -> Vec<f64> {
    let mut short = vec![0.0_f64; task.demands.len()];
    for rep in reps {
        if let Some(rest_s) = rep.rest_after_s {
            let missing = task.demands[rep.block].recovery_at_least_s - rest_s;
            short[rep.block] = short[rep.block].max(missing);
        }
    }
    short
}
