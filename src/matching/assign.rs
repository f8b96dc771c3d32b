//! The choice: one candidate a rep, in route order, such that recoveries hold and the sum of costs is least.
//!
//! The model is separable: each candidate has its own cost, and two neighbours only meet in the time of easy riding between
//! them, which must be long enough and costs beyond a length. So dynamic programming over candidates finds the least sum there
//! is; sliding windows make it linear in candidates for each pair of reps.

use std::collections::VecDeque;

/// The choice to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Blocks of equal reps, in the order in which they are ridden.
    pub blocks: Vec<Block>,
    /// Seconds of cost for each second of rest beyond a block's longest.
    pub over_rest_rate: f64,
}

/// Equal reps and where they can be ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct Block {
    /// How many.
    pub reps: usize,
    /// Shortest rest after each rep, on the clock of what counts as rest, in seconds.
    pub rest_at_least_s: f64,
    /// Longest rest after each rep that costs nothing, on the clock of easy riding, in seconds.
    pub rest_at_most_s: f64,
    /// Where a rep can be ridden, by start.
    pub choices: Vec<Choice>,
}

/// A place where a rep can be ridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Choice {
    /// Whether it may be used.
    pub allowed: bool,
    /// Easy riding from the route's start to the rep's start, in seconds.
    pub start_s: f64,
    /// Easy riding from the route's start to the rep's end, in seconds.
    pub end_s: f64,
    /// What of `start_s` counts as rest, in seconds.
    pub start_rest_s: f64,
    /// What of `end_s` counts as rest, in seconds.
    pub end_rest_s: f64,
    /// What riding the rep here costs by itself, in seconds.
    pub cost_s: f64,
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
}

/// Number of reps left out, then cost in seconds; compared in that order.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Cost {
    left_out: usize,
    cost_s: f64,
}

impl Cost {
    const NEVER: Cost = Cost { left_out: usize::MAX, cost_s: f64::INFINITY };

    fn is_less(&self, other: &Cost) -> bool {
        (self.left_out, self.cost_s) < (other.left_out, other.cost_s)
    }

    fn plus(&self, left_out: usize, cost_s: f64) -> Cost {
        if self.left_out == usize::MAX {
            return Cost::NEVER;
        }
        Cost { left_out: self.left_out + left_out, cost_s: self.cost_s + cost_s }
    }
}

/// The best way to have ridden a rep at each choice of its block, and the pick before it.
struct Layer {
    block: usize,
    cost: Vec<Cost>,
    before: Vec<Option<(usize, usize)>>,
}

/// The picks that leave out the fewest reps and, among those, cost least; in order.
pub fn cheapest(problem: &Problem) -> Vec<Pick> {
    let rep_blocks: Vec<usize> =
        problem.blocks.iter().enumerate().flat_map(|(b, block)| std::iter::repeat_n(b, block.reps)).collect();
    let by_end: Vec<Vec<usize>> = problem.blocks.iter().map(|block| by_end(&block.choices)).collect();
    let mut layers: Vec<Layer> = Vec::with_capacity(rep_blocks.len());
    for (rep, &block) in rep_blocks.iter().enumerate() {
        let layer = next_layer(problem, &by_end, &layers, rep, block);
        layers.push(layer);
    }
    let total = layers.len();
    let mut best: Option<(usize, usize)> = None;
    let mut lowest = Cost { left_out: total, cost_s: 0.0 };
    for (rep, layer) in layers.iter().enumerate() {
        for (choice, cost) in layer.cost.iter().enumerate() {
            let whole = cost.plus(total - 1 - rep, 0.0);
            if whole.is_less(&lowest) {
                (lowest, best) = (whole, Some((rep, choice)));
            }
        }
    }
    let mut picks = Vec::new();
    while let Some((rep, choice)) = best {
        picks.push(Pick { rep, block: layers[rep].block, choice });
        best = layers[rep].before[choice];
    }
    picks.reverse();
    picks
}

/// Choices in the order of their ends.
fn by_end(choices: &[Choice]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..choices.len()).collect();
    order.sort_by(|&a, &b| choices[a].end_s.total_cmp(&choices[b].end_s));
    order
}

fn next_layer(problem: &Problem, by_end: &[Vec<usize>], layers: &[Layer], rep: usize, block: usize) -> Layer {
    let choices = &problem.blocks[block].choices;
    let alone = Cost { left_out: rep, cost_s: 0.0 };
    let mut arrive: Vec<(Cost, Option<(usize, usize)>)> = vec![(alone, None); choices.len()];
    for (earlier, layer) in layers.iter().enumerate() {
        let left_out = rep - 1 - earlier;
        for (slot, (cost, from)) in arrive.iter_mut().zip(arrivals(problem, &by_end[layer.block], layer, choices)) {
            let cost = cost.plus(left_out, 0.0);
            if cost.is_less(&slot.0) {
                *slot = (cost, Some((earlier, from)));
            }
        }
    }
    let cost = choices
        .iter()
        .zip(&arrive)
        .map(|(choice, (arrived, _))| if choice.allowed { arrived.plus(0, choice.cost_s) } else { Cost::NEVER })
        .collect();
    Layer { block, cost, before: arrive.into_iter().map(|(_, from)| from).collect() }
}

/// For each choice (by start), the cheapest way to get there from an earlier rep with its rest, and from which choice.
///
/// `order` has the earlier rep's choices by their ends. Those that are rested but not overdue lie in a window that moves
/// along it, whose cheapest is kept in front; of the overdue ones only the cheapest matters.
fn arrivals(problem: &Problem, order: &[usize], layer: &Layer, to: &[Choice]) -> Vec<(Cost, usize)> {
    let block = &problem.blocks[layer.block];
    let from = &block.choices;
    let rate = problem.over_rest_rate;
    let (mut rested, mut overdue) = (0, 0);
    let mut window: VecDeque<usize> = VecDeque::new();
    let mut late = (Cost::NEVER, 0);
    let mut found = Vec::with_capacity(to.len());
    for choice in to {
        while rested < order.len() && from[order[rested]].end_rest_s + block.rest_at_least_s <= choice.start_rest_s {
            let cost = layer.cost[order[rested]];
            while window.back().is_some_and(|&last| !layer.cost[order[last]].is_less(&cost)) {
                window.pop_back();
            }
            window.push_back(rested);
            rested += 1;
        }
        while overdue < rested && from[order[overdue]].end_s + block.rest_at_most_s < choice.start_s {
            let earlier = order[overdue];
            let shifted = layer.cost[earlier].plus(0, -rate * (from[earlier].end_s + block.rest_at_most_s));
            if shifted.is_less(&late.0) {
                late = (shifted, earlier);
            }
            overdue += 1;
        }
        while window.front().is_some_and(|&first| first < overdue) {
            window.pop_front();
        }
        let in_time = window.front().map_or((Cost::NEVER, 0), |&first| (layer.cost[order[first]], order[first]));
        let too_late = (late.0.plus(0, rate * choice.start_s), late.1);
        found.push(if too_late.0.is_less(&in_time.0) { too_late } else { in_time });
    }
    found
}
