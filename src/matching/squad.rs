//! Several riders, one hill, one set: who rides from where to where in which gear, and which climbs suit all of them.

use super::candidates::{self, Candidate};
use super::cost::AS_GOOD_S;
use super::ground::Ground;
use super::nearest::{LARGEST_SPROCKETS, with_largest_sprocket};
use super::reasons::Reasons;
use super::{Demand, Task};
use crate::climbs::Climb;
use crate::gearing::Drive;

/// What a climb is to one rider.
#[derive(Debug, Clone, PartialEq)]
pub struct OnClimb {
    /// The climb's number.
    pub climb: usize,
    /// The best place after the warm-up of each block's reps on it, maximal starts left out; empty where some block has none.
    pub places: Vec<Candidate>,
    /// Why it does not fit; empty where it does.
    pub why: String,
    /// The largest sprocket with which it would fit, where that is all it takes, in teeth.
    pub needed_sprocket: Option<u32>,
}

impl OnClimb {
    /// Whether every block fits.
    pub fn fits(&self) -> bool {
        !self.places.is_empty()
    }

    fn cost_s(&self) -> f64 {
        self.places.iter().map(|p| p.cost.total_s()).sum()
    }
}

/// What each climb of the route is to a rider.
pub fn on_climbs(task: &Task) -> Vec<OnClimb> {
    let ground = Ground::new(task);
    let by_demand: Vec<Vec<Candidate>> = task
        .demands
        .iter()
        .map(|demand| candidates::list(task, &ground.road, demand))
        .collect();
    let reasons = Reasons {
        task,
        ground: &ground,
        by_demand: &by_demand,
        picks: &[],
        more_s: std::collections::BTreeMap::new(),
    };
    let on = |climb: &Climb| {
        let fitting = |c: &&Candidate| lies_on(c, climb) && !reasons.is_early(c);
        let places = places(task.demands, &by_demand, fitting).unwrap_or_default();
        let blocks = task.demands.iter().enumerate().zip(&by_demand);
        let failing = blocks
            .filter(|((_, demand), _)| demand.start.is_none())
            .find(|(_, list)| !list.iter().any(|c| fitting(&c)));
        let why = failing.map_or(String::new(), |((block, demand), _)| {
            reasons.why_unused(climb, block, demand).1
        });
        OnClimb {
            climb: climb.id,
            needed_sprocket: if places.is_empty() {
                needed_sprocket(task, &ground, climb)
            } else {
                None
            },
            places,
            why,
        }
    };
    task.climbs.climbs.iter().map(on).collect()
}

/// The first climb on the road on which every rider's reps fit and that is as good as the best of those.
pub fn common_climb(riders: &[Vec<OnClimb>]) -> Option<usize> {
    let first = riders.first()?;
    let cost_s = |i: usize| riders.iter().map(|r| r[i].cost_s()).sum::<f64>();
    let all_fit = |&i: &usize| riders.iter().all(|rider| rider[i].fits());
    let best = (0..first.len()).filter(all_fit);
    let best_s = best.clone().map(cost_s).reduce(f64::min)?;
    let as_good_s = best_s + AS_GOOD_S * riders.len() as f64;
    best.clone()
        .find(|&i| cost_s(i) <= as_good_s)
        .map(|i| first[i].climb)
}

/// The cheapest fitting candidate for each block of held reps; `None` where one has none.
fn places(
    demands: &[Demand],
    lists: &[Vec<Candidate>],
    fitting: impl Fn(&&Candidate) -> bool,
) -> Option<Vec<Candidate>> {
    let held = demands.iter().zip(lists).filter(|(d, _)| d.start.is_none());
    held.map(|(_, list)| {
        let here = list.iter().filter(&fitting);
        here.min_by(|a, b| a.cost.total_s().total_cmp(&b.cost.total_s()))
            .cloned()
    })
    .collect()
}

/// Whether a candidate is ridden on a climb for the most part.
fn lies_on(candidate: &Candidate, climb: &Climb) -> bool {
    let on_m = candidate.end_m.min(climb.to_m) - candidate.start_m.max(climb.from_m);
    on_m > 0.5 * (candidate.end_m - candidate.start_m)
}

fn needed_sprocket(task: &Task, ground: &Ground, climb: &Climb) -> Option<u32> {
    let own = task.drive.gears.iter().map(|g| g.sprocket).max()?;
    let from = task.profile.node_at(climb.from_m);
    let to = task
        .profile
        .node_at(climb.to_m)
        .min(ground.road.cells.len());
    let fits_with = |drive: &Drive| {
        let task = Task { drive, ..*task };
        let share = candidates::MOST_OUT_OF_BAND_SHARE;
        let held = task.demands.iter().filter(|d| d.start.is_none());
        let mut places = held
            .map(|d| candidates::between(&task, &ground.road, d, from, to, share))
            .peekable();
        places.peek().is_some() && places.all(|list| !list.is_empty())
    };
    // Where the bike's own gears do, it fails for another reason: the climb comes before the warm-up is over.
    if from >= to || fits_with(task.drive) {
        return None;
    }
    LARGEST_SPROCKETS
        .into_iter()
        .filter(|teeth| *teeth > own)
        .find(|&teeth| fits_with(&with_largest_sprocket(task.drive, own, teeth)))
}
