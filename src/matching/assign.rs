//! The choice: one candidate a rep such that recoveries hold and the sum of costs is least.
//!
//! The model is separable: each candidate has its own cost, and two neighbours only meet in the [`Ways`] from one's end to the
//! other's start, whose cost depends on differences of clocks ([`super::between`]). So dynamic programming over candidates finds
//! the least sum there is. Run from both ends, it also tells the cheapest whole plan through any one candidate.

use std::collections::BTreeMap;

use super::between::{Arrival, Rest, Way, Ways, arrivals};

/// The choice to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Blocks of equal reps, in the order in which they are ridden.
    pub blocks: Vec<Block>,
    /// How a rider may get from one rep to the next, and what that costs.
    pub ways: Ways,
    /// Reps (from 0 over all blocks) that must be ridden on a climb of a number.
    pub pins: BTreeMap<usize, usize>,
}

/// Equal reps and where they can be ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// How many.
    pub reps: usize,
    /// The rest after each rep.
    pub rest: Rest,
    /// Where a rep can be ridden, by start.
    pub choices: Vec<Choice>,
}

/// A place where a rep can be ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Whether it may be used.
    pub allowed: bool,
    /// Number of the climb that has most of it, for pins; 0 for none.
    pub climb: usize,
    /// Number of the ascent that it lies on, in route order.
    pub ascent: i64,
    /// Where it starts.
    pub start: Mark,
    /// Where it ends.
    pub end: Mark,
    /// What riding the rep here costs by itself, in seconds.
    pub cost_s: f64,
    /// What it costs besides to ride the first rep here, in seconds; infinite where that can't be.
    pub first_s: f64,
}

/// A place on all the clocks; each grows along the route.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Mark {
    /// Distance along the route, in metres.
    pub at_m: f64,
    /// Easy riding from the route's start, in seconds.
    pub easy_s: f64,
    /// What of that counts as rest, in seconds.
    pub rest_s: f64,
    /// Rolling back from here to the route's start, in seconds.
    pub back_s: f64,
    /// For a start: the beginning of the last level stretch before it. For an end: the end of the first level stretch after it. In metres.
    pub level_m: f64,
}

/// A rep's choice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pick {
    /// Which rep, from 0 over all blocks.
    pub rep: usize,
    /// Which block, from 0.
    pub block: usize,
    /// Which of the block's choices.
    pub choice: usize,
    /// How the rider gets there from the rep before; `None` for the first.
    pub way: Option<Way>,
}

/// Number of reps left out, then cost in seconds; compared in that order.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Reps without a place.
    pub left_out: usize,
    /// Cost of the others, in seconds.
    pub cost_s: f64,
}

impl Cost {
    pub(super) const NEVER: Cost = Cost {
        left_out: usize::MAX,
        cost_s: f64::INFINITY,
    };

    pub(super) fn is_less(&self, other: &Cost) -> bool {
        (self.left_out, self.cost_s) < (other.left_out, other.cost_s)
    }

    pub(super) fn plus(&self, left_out: usize, cost_s: f64) -> Cost {
        if self.left_out == usize::MAX || cost_s == f64::INFINITY {
            return Cost::NEVER;
        }
        Cost {
            left_out: self.left_out + left_out,
            cost_s: self.cost_s + cost_s,
        }
    }
}

/// The cheapest plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Solution {
    /// One choice a rep, in order; reps without a place are missing.
    pub picks: Vec<Pick>,
    /// What the plan costs, in seconds.
    pub cost_s: f64,
}

/// The picks that leave out the fewest reps and, among those, cost least.
pub fn cheapest(problem: &Problem) -> Solution {
    let forward = Stage::forward(problem);
    let layers = forward.layers();
    let (lowest, last) = forward.best(&layers);
    let mut picks = Vec::new();
    let mut next = last;
    while let Some((rep, choice)) = next {
        let from = layers[rep].from[choice];
        picks.push(Pick {
            rep,
            block: forward.reps[rep],
            choice,
            way: from.map(|f| f.way),
        });
        next = from.map(|f| (f.rep, f.choice));
    }
    picks.reverse();
    Solution {
        cost_s: lowest.cost_s,
        picks,
    }
}

/// The best way to have ridden a rep at each choice of its block, and where from.
struct Layer {
    cost: Vec<Cost>,
    from: Vec<Option<Before>>,
}

#[derive(Clone, Copy)]
struct Before {
    rep: usize,
    choice: usize,
    way: Way,
}

/// The choice as seen from one end of the ride.
struct Stage<'a> {
    problem: &'a Problem,
    mirrored: bool,
    /// The block of each rep, in the stage's order.
    reps: Vec<usize>,
    lists: Vec<List>,
}

/// A block's choices by start, and their order by end.
struct List {
    choices: Vec<Choice>,
    by_end: Vec<usize>,
    /// Where each was in the problem.
    origin: Vec<usize>,
}

impl List {
    fn new(mut choices: Vec<(usize, Choice)>) -> Self {
        choices.sort_by(|a, b| a.1.start.at_m.total_cmp(&b.1.start.at_m));
        let (origin, choices): (Vec<usize>, Vec<Choice>) = choices.into_iter().unzip();
        let mut by_end: Vec<usize> = (0..choices.len()).collect();
        by_end.sort_by(|&a, &b| choices[a].end.at_m.total_cmp(&choices[b].end.at_m));
        List {
            choices,
            by_end,
            origin,
        }
    }
}

impl<'a> Stage<'a> {
    fn forward(problem: &'a Problem) -> Self {
        Stage::new(problem, false)
    }

    /// The same ride told from its end: what was an end is a start, and all clocks run the other way.
    fn mirrored(problem: &'a Problem) -> Self {
        Stage::new(problem, true)
    }

    fn new(problem: &'a Problem, mirrored: bool) -> Self {
        let mut reps: Vec<usize> = problem
            .blocks
            .iter()
            .enumerate()
            .flat_map(|(b, block)| std::iter::repeat_n(b, block.reps))
            .collect();
        if mirrored {
            reps.reverse();
        }
        let seen = |choice: &Choice| {
            if mirrored { choice.mirrored() } else { *choice }
        };
        let lists = problem
            .blocks
            .iter()
            .map(|block| List::new(block.choices.iter().map(seen).enumerate().collect()))
            .collect();
        Stage {
            problem,
            mirrored,
            reps,
            lists,
        }
    }

    /// The rep's number in the ride.
    fn ridden(&self, rep: usize) -> usize {
        if self.mirrored {
            self.reps.len() - 1 - rep
        } else {
            rep
        }
    }

    fn layers(&self) -> Vec<Layer> {
        let mut layers = Vec::with_capacity(self.reps.len());
        // For each block, the cheapest way to have ridden some rep so far at each choice, later reps left out; and which rep.
        let mut reached: Vec<Vec<(Cost, usize)>> = self
            .lists
            .iter()
            .map(|list| vec![(Cost::NEVER, 0); list.choices.len()])
            .collect();
        for (rep, &block) in self.reps.iter().enumerate() {
            let layer = self.layer(rep, block, &reached);
            for (cost, _) in reached.iter_mut().flatten() {
                *cost = cost.plus(1, 0.0);
            }
            for (slot, cost) in reached[block].iter_mut().zip(&layer.cost) {
                if !slot.0.is_less(cost) {
                    *slot = (*cost, rep);
                }
            }
            layers.push(layer);
        }
        layers
    }

    fn layer(&self, rep: usize, block: usize, reached: &[Vec<(Cost, usize)>]) -> Layer {
        let list = &self.lists[block];
        let alone = Cost {
            left_out: rep,
            cost_s: 0.0,
        };
        let mut cost: Vec<Cost> = list
            .choices
            .iter()
            .map(|c| alone.plus(0, if self.mirrored { 0.0 } else { c.first_s }))
            .collect();
        let mut from = vec![None; list.choices.len()];
        for (earlier, reached) in reached.iter().enumerate() {
            if !self.reps[..rep].contains(&earlier) {
                continue;
            }
            let rest = if self.mirrored { block } else { earlier };
            let arriving = arrivals(
                &self.problem.ways,
                &self.problem.blocks[rest].rest,
                &self.lists[earlier].choices,
                &self.lists[earlier].by_end,
                reached,
                &list.choices,
            );
            for (choice, arrival) in arriving.into_iter().enumerate() {
                let Some(Arrival {
                    cost: arrived,
                    from: at,
                    way,
                }) = arrival
                else {
                    continue;
                };
                if arrived.is_less(&cost[choice]) {
                    cost[choice] = arrived;
                    from[choice] = Some(Before {
                        rep: reached[at].1,
                        choice: at,
                        way,
                    });
                }
            }
        }
        let pin = self.problem.pins.get(&self.ridden(rep));
        for (cost, choice) in cost.iter_mut().zip(&list.choices) {
            *cost = if choice.allowed && pin.is_none_or(|climb| *climb == choice.climb) {
                cost.plus(0, choice.cost_s)
            } else {
                Cost::NEVER
            };
        }
        Layer { cost, from }
    }

    /// The least cost of all, and the last rep and choice of it.
    fn best(&self, layers: &[Layer]) -> (Cost, Option<(usize, usize)>) {
        let total = layers.len();
        let mut lowest = Cost {
            left_out: total,
            cost_s: 0.0,
        };
        let mut last = None;
        for (rep, layer) in layers.iter().enumerate() {
            for (choice, cost) in layer.cost.iter().enumerate() {
                let whole = cost.plus(total - 1 - rep, 0.0);
                if whole.is_less(&lowest) {
                    (lowest, last) = (whole, Some((rep, choice)));
                }
            }
        }
        (lowest, last)
    }
}

impl Choice {
    fn mirrored(&self) -> Choice {
        Choice {
            ascent: -self.ascent,
            start: self.end.mirrored(),
            end: self.start.mirrored(),
            ..*self
        }
    }
}

impl Mark {
    fn mirrored(&self) -> Mark {
        Mark {
            at_m: -self.at_m,
            easy_s: -self.easy_s,
            rest_s: -self.rest_s,
            back_s: -self.back_s,
            level_m: -self.level_m,
        }
    }
}

/// For each rep, by climb: what the cheapest plan costs that rides this rep there and leaves out no more reps than the
/// cheapest of all, in seconds.
///
/// What leads there, what follows, and the rep once.
pub fn on_climbs_s(problem: &Problem) -> Vec<BTreeMap<usize, f64>> {
    let forward = Stage::forward(problem);
    let stage = Stage::mirrored(problem);
    let (before, after) = rayon::join(|| forward.layers(), || stage.layers());
    let (lowest, _) = forward.best(&before);
    let total = before.len();
    (0..total)
        .map(|rep| {
            let mut least = BTreeMap::new();
            let mirrored = total - 1 - rep;
            let list = &stage.lists[stage.reps[mirrored]];
            for (follows, &choice) in after[mirrored].cost.iter().zip(&list.origin) {
                let leads = before[rep].cost[choice];
                if leads.left_out.saturating_add(follows.left_out) > lowest.left_out {
                    continue;
                }
                let own = &problem.blocks[stage.reps[mirrored]].choices[choice];
                let whole_s = leads.cost_s + follows.cost_s - own.cost_s;
                let slot = least.entry(own.climb).or_insert(f64::INFINITY);
                *slot = whole_s.min(*slot);
            }
            least
        })
        .collect()
}

#[cfg(test)]
#[path = "assign_tests.rs"]
mod tests;
