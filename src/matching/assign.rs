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
    const NEVER: Cost = Cost {
        left_out: usize::MAX,
        cost_s: f64::INFINITY,
    };

    fn is_less(&self, other: &Cost) -> bool {
        (self.left_out, self.cost_s) < (other.left_out, other.cost_s)
    }

    fn plus(&self, left_out: usize, cost_s: f64) -> Cost {
        if self.left_out == usize::MAX {
            return Cost::NEVER;
        }
        Cost {
            left_out: self.left_out + left_out,
            cost_s: self.cost_s + cost_s,
        }
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
    let rep_blocks: Vec<usize> = problem
        .blocks
        .iter()
        .enumerate()
        .flat_map(|(b, block)| std::iter::repeat_n(b, block.reps))
        .collect();
    let by_end: Vec<Vec<usize>> = problem
        .blocks
        .iter()
        .map(|block| by_end(&block.choices))
        .collect();
    let mut layers: Vec<Layer> = Vec::with_capacity(rep_blocks.len());
    for (rep, &block) in rep_blocks.iter().enumerate() {
        let layer = next_layer(problem, &by_end, &layers, rep, block);
        layers.push(layer);
    }
    let total = layers.len();
    let mut best: Option<(usize, usize)> = None;
    let mut lowest = Cost {
        left_out: total,
        cost_s: 0.0,
    };
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
        picks.push(Pick {
            rep,
            block: layers[rep].block,
            choice,
        });
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

fn next_layer(
    problem: &Problem,
    by_end: &[Vec<usize>],
    layers: &[Layer],
    rep: usize,
    block: usize,
) -> Layer {
    let choices = &problem.blocks[block].choices;
    let alone = Cost {
        left_out: rep,
        cost_s: 0.0,
    };
    let mut arrive: Vec<(Cost, Option<(usize, usize)>)> = vec![(alone, None); choices.len()];
    for (earlier, layer) in layers.iter().enumerate() {
        let left_out = rep - 1 - earlier;
        for (slot, (cost, from)) in
            arrive
                .iter_mut()
                .zip(arrivals(problem, &by_end[layer.block], layer, choices))
        {
            let cost = cost.plus(left_out, 0.0);
            if cost.is_less(&slot.0) {
                *slot = (cost, Some((earlier, from)));
            }
        }
    }
    let cost = choices
        .iter()
        .zip(&arrive)
        .map(|(choice, (arrived, _))| {
            if choice.allowed {
                arrived.plus(0, choice.cost_s)
            } else {
                Cost::NEVER
            }
        })
        .collect();
    Layer {
        block,
        cost,
        before: arrive.into_iter().map(|(_, from)| from).collect(),
    }
}

/// For each choice (by start), the cheapest way to get there from an earlier rep with its rest, and from which choice.
///
/// `order` has the earlier rep's choices by their ends. Those that are rested but not overdue lie in a window that moves
/// along it, whose cheapest is kept in front; of the overdue ones only the cheapest matters.
fn arrivals(
    problem: &Problem,
    order: &[usize],
    layer: &Layer,
    to: &[Choice],
) -> Vec<(Cost, usize)> {
    let block = &problem.blocks[layer.block];
    let from = &block.choices;
    let rate = problem.over_rest_rate;
    let (mut rested, mut overdue) = (0, 0);
    let mut window: VecDeque<usize> = VecDeque::new();
    let mut late = (Cost::NEVER, 0);
    let mut found = Vec::with_capacity(to.len());
    for choice in to {
        while rested < order.len()
            && from[order[rested]].end_rest_s + block.rest_at_least_s <= choice.start_rest_s
        {
            let cost = layer.cost[order[rested]];
            while window
                .back()
                .is_some_and(|&last| !layer.cost[order[last]].is_less(&cost))
            {
                window.pop_back();
            }
            window.push_back(rested);
            rested += 1;
        }
        while overdue < rested && from[order[overdue]].end_s + block.rest_at_most_s < choice.start_s
        {
            let earlier = order[overdue];
            let shifted =
                layer.cost[earlier].plus(0, -rate * (from[earlier].end_s + block.rest_at_most_s));
            if shifted.is_less(&late.0) {
                late = (shifted, earlier);
            }
            overdue += 1;
        }
        while window.front().is_some_and(|&first| first < overdue) {
            window.pop_front();
        }
        let in_time = window.front().map_or((Cost::NEVER, 0), |&first| {
            (layer.cost[order[first]], order[first])
        });
        let too_late = (late.0.plus(0, rate * choice.start_s), late.1);
        found.push(if too_late.0.is_less(&in_time.0) {
            too_late
        } else {
            in_time
        });
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every way to choose, tried: fewest reps left out, then least cost.
    fn by_trying_everything(problem: &Problem) -> (usize, f64) {
        let reps: Vec<&Block> = problem
            .blocks
            .iter()
            .flat_map(|b| std::iter::repeat_n(b, b.reps))
            .collect();
        let mut best = (reps.len(), 0.0);
        try_from(problem, &reps, 0, None, (0, 0.0), &mut best);
        best
    }

    fn try_from(
        problem: &Problem,
        reps: &[&Block],
        rep: usize,
        last: Option<(&Block, &Choice)>,
        so_far: (usize, f64),
        best: &mut (usize, f64),
    ) {
        if rep == reps.len() {
            if so_far < *best {
                *best = so_far;
            }
            return;
        }
        try_from(problem, reps, rep + 1, last, (so_far.0 + 1, so_far.1), best);
        for choice in reps[rep].choices.iter().filter(|c| c.allowed) {
            let mut cost_s = so_far.1 + choice.cost_s;
            if let Some((block, earlier)) = last {
                if choice.start_rest_s - earlier.end_rest_s < block.rest_at_least_s {
                    continue;
                }
                let over_s = choice.start_s - earlier.end_s - block.rest_at_most_s;
                cost_s += problem.over_rest_rate * over_s.max(0.0);
            }
            try_from(
                problem,
                reps,
                rep + 1,
                Some((reps[rep], choice)),
                (so_far.0, cost_s),
                best,
            );
        }
    }

    fn cost_of(problem: &Problem, picks: &[Pick]) -> (usize, f64) {
        let reps: usize = problem.blocks.iter().map(|b| b.reps).sum();
        let choice = |p: &Pick| &problem.blocks[p.block].choices[p.choice];
        let own: f64 = picks.iter().map(|p| choice(p).cost_s).sum();
        let between = picks.windows(2).map(|w| {
            let block = &problem.blocks[w[0].block];
            let rest_s = choice(&w[1]).start_rest_s - choice(&w[0]).end_rest_s;
            assert!(rest_s >= block.rest_at_least_s, "{w:?} rest {rest_s}");
            let over_s = choice(&w[1]).start_s - choice(&w[0]).end_s - block.rest_at_most_s;
            problem.over_rest_rate * over_s.max(0.0)
        });
        (reps - picks.len(), own + between.sum::<f64>())
    }

    /// Whole numbers, so that sums are exact in whatever order they are taken.
    fn problems() -> impl Strategy<Value = Problem> {
        let choice = (0_u32..60, 1_u32..12, 0_u32..30, prop::bool::weighted(0.9));
        let block = (
            1_usize..4,
            0_u32..12,
            0_u32..20,
            prop::collection::vec(choice, 0..7),
        );
        prop::collection::vec(block, 1..3).prop_map(|blocks| Problem {
            over_rest_rate: 2.0,
            blocks: blocks
                .into_iter()
                .map(|(reps, least, more, choices)| Block {
                    reps,
                    rest_at_least_s: f64::from(least),
                    rest_at_most_s: f64::from(least + more),
                    choices: with_clocks(choices),
                })
                .collect(),
        })
    }

    /// On the rest clock every fourth second does not count, as on a road with steep ground in places.
    fn with_clocks(mut raw: Vec<(u32, u32, u32, bool)>) -> Vec<Choice> {
        raw.sort_unstable();
        let rest = |s: u32| f64::from(s - s / 4);
        raw.into_iter()
            .map(|(start, length, cost, allowed)| Choice {
                allowed,
                start_s: f64::from(start),
                end_s: f64::from(start + length),
                start_rest_s: rest(start),
                end_rest_s: rest(start + length),
                cost_s: f64::from(cost),
            })
            .collect()
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(2000))]
        #[test]
        fn the_choice_is_as_cheap_as_the_cheapest_of_all(problem in problems()) {
            let picks = cheapest(&problem);
            prop_assert_eq!(cost_of(&problem, &picks), by_trying_everything(&problem));
        }
    }

    #[test]
    fn nothing_to_choose_from_places_nothing() {
        let block = Block {
            reps: 3,
            rest_at_least_s: 1.0,
            rest_at_most_s: 2.0,
            choices: Vec::new(),
        };
        assert!(
            cheapest(&Problem {
                blocks: vec![block],
                over_rest_rate: 1.0
            })
            .is_empty()
        );
    }
}
