//! Which climb suits which rep.
//!
//! [`candidates`] lists every place where a rep can start, each with the gear and aim that serve it best and its own
//! [`cost`]; [`ground`] measures the ways between any two places; [`assign`] picks the cheapest
//! candidate for each rep such that the recoveries hold; [`replay`] rides the chosen plan as a whole for the numbers
//! that are shown; [`reasons`] says why the rest isn't used. [`plan`] runs them.

pub mod assign;
pub mod between;
pub mod candidates;
pub mod clock;
pub mod cost;
mod course;
pub mod demand;
pub mod ground;
mod halts;
mod laps;
mod model;
pub mod nearest;
pub mod reasons;
pub mod replay;
mod ridden_rep;
mod risk;
pub mod session;
mod shifts;
pub mod squad;
mod starts;
mod sums;
pub mod trainer;
mod window;
mod wishes;

pub use between::Way;
pub use candidates::{Candidate, Shift};
pub use clock::Clock;
pub use cost::{CostParts, Rates};
pub use course::Moments;
pub use demand::{Demand, DemandError, Start};
pub use halts::SeenHalt;
pub use laps::plan_in_laps;
pub use reasons::{ClimbVerdict, Unplaced};
pub use replay::{Other, PlacedRep, Totals};
pub use wishes::{WishError, Wishes};

use std::collections::BTreeMap;

use crate::climbs::{Ascent, Climbs};
use crate::gearing::Drive;
use crate::profile::Profile;
use crate::ride::{Rider, Weather};
use cost::NEAR_TIE_S;
use ground::Ground;

/// Everything a plan is made from.
#[derive(Debug, Clone, Copy)]
pub struct Task<'a> {
    /// The road.
    pub profile: &'a Profile,
    /// The climbs on it.
    pub climbs: &'a Climbs,
    /// Where recordings of the road halted, in its order; none where none are known.
    pub halts: &'a [SeenHalt],
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
    /// What the plan may do and must keep to.
    pub wishes: &'a Wishes,
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
    /// A plan on other climbs that is as good as equal.
    pub near_tie: Option<NearTie>,
    /// How often the route is ridden; distances run on from round to round.
    pub laps: usize,
    /// Where the set does not fit in the route's order and turning round was not asked for: the plan with it, if that
    /// places more reps.
    pub turning_round: Option<Box<Plan>>,
}

/// A plan that rides a rep elsewhere and costs next to nothing more.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NearTie {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Where else it is ridden.
    pub other: Other,
}

/// Ridden as a whole, a recovery may be shorter than the easy-riding clock said, which knows no slow start from a climb. Then the clock is asked
/// for what was missing and this much more, in seconds; the margin doubles each time, so that it ends: either all recoveries are long
/// enough, or reps are left out.
const FIRST_CORRECTION_S: f64 = 1.0;
/// Times closer than this are one, in seconds.
const LEAST_TIME_S: f64 = 0.01;
/// How many other climbs are named for each rep.
const RUNNERS_UP: usize = 2;

/// Makes the cheapest plan for a route. Wishes for reps or climbs that are not there change nothing; [`Wishes::check`] finds them.
pub fn plan(task: &Task) -> Plan {
    let ground = Ground::new(task);
    let by_demand: Vec<Vec<Candidate>> = task
        .demands
        .iter()
        .map(|demand| candidates::list(task, &ground.road, demand))
        .collect();
    let mut plan = plan_on(task, &ground, &by_demand);
    if !plan.fits && !task.wishes.turn_round && by_demand.iter().any(|list| !list.is_empty()) {
        let wishes = Wishes {
            turn_round: true,
            ..task.wishes.clone()
        };
        let turning = Task {
            wishes: &wishes,
            ..*task
        };
        plan.turning_round = Some(plan_on(&turning, &Ground::new(&turning), &by_demand))
            .filter(|t| t.reps.len() > plan.reps.len())
            .map(Box::new);
    }
    plan
}

/// A choice of places and what it was chosen from.
struct Placed {
    problem: assign::Problem,
    solution: assign::Solution,
    ridden: replay::Ridden,
}

/// The cheapest choice of places, ridden.
fn place_reps(task: &Task, ground: &Ground, by_demand: &[Vec<Candidate>]) -> Placed {
    let mut problem = model::problem(task, ground, by_demand);
    let mut more_s = FIRST_CORRECTION_S;
    loop {
        let solution = assign::cheapest(&problem);
        let ridden = replay::ride(task, ground, &solution.picks, by_demand);
        let short = shortfalls(task, &ridden.reps);
        let misplaced = out_of_place(task, &ridden.reps);
        for pick in solution.picks.iter().filter(|p| misplaced.contains(&p.rep)) {
            problem.blocks[pick.block].choices[pick.choice].allowed = false;
        }
        if short.iter().all(|s| *s <= 0.0) && misplaced.is_empty() {
            return Placed {
                problem,
                solution,
                ridden,
            };
        }
        for (block, missing) in problem.blocks.iter_mut().zip(&short) {
            if *missing > 0.0 {
                block.rest.at_least_s += missing + more_s;
            }
        }
        if misplaced.is_empty() {
            more_s *= 2.0;
        }
    }
}

fn plan_on(task: &Task, ground: &Ground, by_demand: &[Vec<Candidate>]) -> Plan {
    let Placed {
        problem,
        solution,
        mut ridden,
    } = place_reps(task, ground, by_demand);
    let on_climbs_s = assign::on_climbs_s(&problem);
    for rep in &mut ridden.reps {
        rep.others = others(rep, &on_climbs_s[rep.rep - 1], solution.cost_s);
    }
    let reasons = reasons::Reasons {
        task,
        ground,
        by_demand,
        picks: &solution.picks,
        more_s: more_s(&on_climbs_s, solution.cost_s),
    };
    let unplaced = reasons.unplaced();
    Plan {
        fits: unplaced.is_empty(),
        cost_s: ridden.reps.iter().map(|r| r.cost.total_s()).sum::<f64>()
            + task.rates.waiting * ridden.total.warm_up_waiting_s,
        total: ridden.total,
        unplaced,
        verdicts: reasons.verdicts(),
        near_tie: near_tie(&ridden.reps),
        reps: ridden.reps,
        laps: 1,
        turning_round: None,
    }
}

/// The plan nearest in cost that rides some rep on another climb, if it is as good as equal.
fn near_tie(reps: &[PlacedRep]) -> Option<NearTie> {
    let ridden = |climb: usize| reps.iter().any(|rep| rep.climbs.contains(&climb));
    let all = reps.iter().flat_map(|rep| {
        let others = rep.others.iter().filter(|other| !ridden(other.climb));
        others.map(|other| NearTie {
            rep: rep.rep,
            other: *other,
        })
    });
    all.filter(|tie| tie.other.more_s <= NEAR_TIE_S)
        .min_by(|a, b| a.other.more_s.total_cmp(&b.other.more_s))
}

/// What the whole plan costs more, in seconds, if some rep is ridden on a climb; by the climb's number.
fn more_s(on_climbs_s: &[BTreeMap<usize, f64>], least_s: f64) -> BTreeMap<usize, f64> {
    let mut more_s = BTreeMap::new();
    for (&climb, &cost_s) in on_climbs_s.iter().flatten() {
        let slot = more_s.entry(climb).or_insert(f64::INFINITY);
        *slot = (cost_s - least_s).max(0.0).min(*slot);
    }
    more_s
}

/// The cheapest other climbs for a rep, the plan around it again the cheapest.
fn others(rep: &PlacedRep, on_climbs_s: &BTreeMap<usize, f64>, least_s: f64) -> Vec<Other> {
    let mut others: Vec<Other> = on_climbs_s
        .iter()
        .filter(|(climb, _)| **climb > 0 && !rep.climbs.contains(climb))
        .map(|(&climb, &cost_s)| Other {
            climb,
            more_s: (cost_s - least_s).max(0.0),
        })
        .collect();
    others.sort_by(|a, b| a.more_s.total_cmp(&b.more_s));
    others.truncate(RUNNERS_UP);
    others
}

/// The reps (from 0 over all blocks) whose places turn out to be none once the plan is ridden: those that the speed of arrival
/// carries beyond their ascent by more than a step of the profile, and those that the road ends before the clock does. A place by itself
/// knows neither the speed of arrival nor that the rep before ends late.
fn out_of_place(task: &Task, reps: &[PlacedRep]) -> Vec<usize> {
    let step_m = task.profile.spacing_m;
    let lies_on = |rep: &PlacedRep, ascent: &Ascent| {
        rep.start_m >= ascent.from_m - step_m && rep.end_m <= ascent.to_m + step_m
    };
    let in_place = |rep: &PlacedRep| {
        let ascents = &task.climbs.ascents;
        let lasts = rep.duration_s >= task.demands[rep.block].work_s - LEAST_TIME_S;
        lasts && (rep.maximal || ascents.iter().any(|ascent| lies_on(rep, ascent)))
    };
    let missed = reps.iter().filter(|rep| !in_place(rep));
    missed.map(|rep| rep.rep - 1).collect()
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
