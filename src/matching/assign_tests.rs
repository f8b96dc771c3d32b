use super::super::between::RollBack;
use super::*;
use proptest::prelude::*;

/// What the way from one rep to the next costs by the cheapest means there is; `None` where there is none.
fn between_s(ways: &Ways, rest: &Rest, a: &Choice, b: &Choice) -> Option<f64> {
    let mut all = Vec::new();
    let gap_s = b.start.rest_s - a.end.rest_s;
    if gap_s >= rest.at_least_s {
        let over_s = (b.start.easy_s - a.end.easy_s - rest.at_most_s).max(0.0);
        all.push(ways.over_rest_rate * over_s);
    } else if let Some(cost_s) = ways.soft_pedal_s
        && a.end.at_m <= b.start.level_m
    {
        all.push(cost_s + ways.waiting_rate * (rest.at_least_s - gap_s));
    }
    if let Some(roll) = &ways.roll_back
        && a.ascent == b.ascent
        && a.end.at_m >= b.start.at_m
    {
        let back_s = roll.turning_s + a.end.back_s - b.start.back_s;
        let waiting_s = (rest.at_least_s - back_s).max(0.0);
        let over_s = (back_s - rest.at_most_s).max(0.0);
        all.push(roll.cost_s + ways.waiting_rate * waiting_s + ways.over_rest_rate * over_s);
    }
    all.into_iter().reduce(f64::min)
}

/// A way to choose: for each rep a choice or none.
type Chosen = Vec<Option<usize>>;

/// Every way to choose, tried, with the reps it leaves out and its cost.
fn every_plan(problem: &Problem) -> Vec<(Chosen, (usize, f64))> {
    let reps: Vec<&Block> = problem
        .blocks
        .iter()
        .flat_map(|b| std::iter::repeat_n(b, b.reps))
        .collect();
    let mut all = Vec::new();
    try_from(problem, &reps, Vec::new(), None, (0, 0.0), &mut all);
    all
}

fn try_from(
    problem: &Problem,
    reps: &[&Block],
    chosen: Chosen,
    last: Option<(&Block, &Choice)>,
    so_far: (usize, f64),
    all: &mut Vec<(Chosen, (usize, f64))>,
) {
    let rep = chosen.len();
    if rep == reps.len() {
        all.push((chosen, so_far));
        return;
    }
    let with = |choice| {
        let mut more = chosen.clone();
        more.push(choice);
        more
    };
    let left_out = (so_far.0 + 1, so_far.1);
    try_from(problem, reps, with(None), last, left_out, all);
    for (index, choice) in reps[rep].choices.iter().enumerate() {
        let pinned_elsewhere = problem.pins.get(&rep).is_some_and(|c| *c != choice.climb);
        if !choice.allowed || pinned_elsewhere {
            continue;
        }
        let way_s = match last {
            Some((block, earlier)) => between_s(&problem.ways, &block.rest, earlier, choice),
            None => Some(choice.first_s).filter(|s| s.is_finite()),
        };
        let Some(way_s) = way_s else { continue };
        let so_far = (so_far.0, so_far.1 + choice.cost_s + way_s);
        try_from(
            problem,
            reps,
            with(Some(index)),
            Some((reps[rep], choice)),
            so_far,
            all,
        );
    }
}

fn least(plans: impl Iterator<Item = (usize, f64)>) -> Option<(usize, f64)> {
    plans.reduce(|a, b| if b < a { b } else { a })
}

/// What the picks cost, added up from the model's definition.
fn cost_of(problem: &Problem, picks: &[Pick]) -> (usize, f64) {
    let reps: usize = problem.blocks.iter().map(|b| b.reps).sum();
    let choice = |p: &Pick| &problem.blocks[p.block].choices[p.choice];
    let own: f64 = picks.iter().map(|p| choice(p).cost_s).sum();
    let first = picks.first().map_or(0.0, |p| choice(p).first_s);
    let ways = picks.windows(2).map(|w| {
        let rest = &problem.blocks[w[0].block].rest;
        between_s(&problem.ways, rest, choice(&w[0]), choice(&w[1])).unwrap()
    });
    (reps - picks.len(), own + first + ways.sum::<f64>())
}

/// Whole numbers, so that sums are exact in whatever order they are taken.
fn problems() -> impl Strategy<Value = Problem> {
    let choice = (0_u32..60, 1_u32..12, 0_u32..30, 0_u32..10);
    let block = (
        1_usize..4,
        0_u32..12,
        prop::option::weighted(0.8, 0_u32..20),
        prop::collection::vec(choice, 0..6),
    );
    let ways = (
        prop::option::of(0_u32..5),
        prop::option::of((0_u32..6, 0_u32..5)),
        0_u32..3,
    );
    let pins = prop::collection::btree_map(0_usize..5, 1_usize..4, 0..2);
    let levels = prop::collection::vec(0_u32..70, 0..3);
    let blocks = prop::collection::vec(block, 1..3);
    (blocks, ways, pins, levels).prop_map(|(blocks, ways, pins, levels)| Problem {
        ways: Ways {
            over_rest_rate: 2.0,
            waiting_rate: f64::from(ways.2),
            soft_pedal_s: ways.0.map(f64::from),
            roll_back: ways.1.map(|(turning, cost)| RollBack {
                turning_s: f64::from(turning),
                cost_s: f64::from(cost),
            }),
        },
        pins,
        blocks: blocks
            .into_iter()
            .map(|(reps, least, more, choices)| Block {
                reps,
                rest: Rest {
                    at_least_s: f64::from(least),
                    at_most_s: more.map_or(f64::INFINITY, |m| f64::from(least + m)),
                },
                choices: on_a_road(choices, &levels),
            })
            .collect(),
    })
}

/// Ascents of 20 m each; on the rest clock every fourth second does not count, and rolling back is twice as fast. Level
/// stretches are 3 m long.
fn on_a_road(mut raw: Vec<(u32, u32, u32, u32)>, levels: &[u32]) -> Vec<Choice> {
    raw.sort_unstable();
    let mark = |at: u32| Mark {
        at_m: f64::from(at),
        easy_s: f64::from(at),
        rest_s: f64::from(at - at / 4),
        back_s: f64::from(at / 2),
        level_m: 0.0,
    };
    raw.into_iter()
        .map(|(start, length, cost, kind)| {
            let end = (start + length).min(20 * (start / 20) + 19);
            let before = levels.iter().filter(|l| **l + 3 <= start).max();
            let after = levels.iter().filter(|l| **l >= end).min();
            Choice {
                allowed: kind > 0,
                climb: (start / 20 + 1) as usize,
                ascent: i64::from(start / 20),
                start: Mark {
                    level_m: before.map_or(f64::NEG_INFINITY, |l| f64::from(*l)),
                    ..mark(start)
                },
                end: Mark {
                    level_m: after.map_or(f64::INFINITY, |l| f64::from(*l + 3)),
                    ..mark(end)
                },
                cost_s: f64::from(cost),
                first_s: if kind > 7 {
                    f64::INFINITY
                } else {
                    f64::from(kind)
                },
            }
        })
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]
    #[test]
    fn the_choice_is_as_cheap_as_the_cheapest_of_all(problem in problems()) {
        let solution = cheapest(&problem);
        let best = least(every_plan(&problem).into_iter().map(|p| p.1)).unwrap();
        prop_assert_eq!(cost_of(&problem, &solution.picks), best);
        prop_assert_eq!(solution.cost_s, best.1);
    }

    #[test]
    fn the_cheapest_plan_through_a_climb_is_as_cheap_as_the_cheapest_of_all(problem in problems()) {
        let on_climbs_s = on_climbs_s(&problem);
        let plans = every_plan(&problem);
        let best = least(plans.iter().map(|p| p.1)).unwrap();
        let blocks: Vec<usize> = (0..problem.blocks.len())
            .flat_map(|b| std::iter::repeat_n(b, problem.blocks[b].reps))
            .collect();
        for (rep, &block) in blocks.iter().enumerate() {
            for climb in 1..=4 {
                let there = plans.iter().filter(|(chosen, cost)| {
                    cost.0 == best.0
                        && chosen[rep].is_some_and(|c| problem.blocks[block].choices[c].climb == climb)
                });
                let slow = least(there.map(|p| p.1)).map(|c| c.1);
                prop_assert_eq!(on_climbs_s[rep].get(&climb).copied(), slow);
            }
        }
    }
}

#[test]
fn nothing_to_choose_from_places_nothing() {
    let block = Block {
        reps: 3,
        rest: Rest {
            at_least_s: 1.0,
            at_most_s: 2.0,
        },
        choices: Vec::new(),
    };
    let ways = Ways {
        over_rest_rate: 1.0,
        waiting_rate: 0.0,
        soft_pedal_s: None,
        roll_back: None,
    };
    let problem = Problem {
        blocks: vec![block],
        ways,
        pins: BTreeMap::new(),
    };
    assert!(cheapest(&problem).picks.is_empty());
}
