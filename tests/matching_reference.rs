//! The choice of places is as cheap as what an independent solver proves to be cheapest.
#![allow(clippy::unwrap_used, reason = "a test that panics has failed")]

mod support;

use std::collections::BTreeMap;

use hillwright::matching::assign::{Block, Choice, Mark, Problem, cheapest};
use hillwright::matching::between::{Rest, RollBack, Ways};
use serde_json::Value;
use support::{list, number, reference};

fn whole(value: &Value, name: &str) -> usize {
    value[name].as_u64().unwrap() as usize
}

fn mark(place: &Value, nowhere_m: f64) -> Mark {
    Mark {
        at_m: number(place, "at"),
        easy_s: number(place, "easy"),
        rest_s: number(place, "rest"),
        back_s: number(place, "back"),
        level_m: place["level"].as_f64().unwrap_or(nowhere_m),
    }
}

fn choice(entry: &Value) -> Choice {
    Choice {
        allowed: entry["allowed"].as_bool().unwrap(),
        climb: whole(entry, "climb"),
        ascent: entry["ascent"].as_i64().unwrap(),
        start: mark(&entry["start"], f64::NEG_INFINITY),
        end: mark(&entry["end"], f64::INFINITY),
        cost_s: number(entry, "cost"),
        first_s: entry["first"].as_f64().unwrap_or(f64::INFINITY),
    }
}

fn problem(entry: &Value) -> Problem {
    let roll = entry["roll_back"].as_object();
    let pins = entry["pins"].as_array().unwrap().iter();
    Problem {
        blocks: list(entry, "blocks")
            .iter()
            .map(|block| Block {
                reps: whole(block, "reps"),
                rest: Rest {
                    at_least_s: number(block, "at_least"),
                    at_most_s: block["at_most"].as_f64().unwrap_or(f64::INFINITY),
                },
                choices: list(block, "choices").iter().map(choice).collect(),
            })
            .collect(),
        ways: Ways {
            over_rest_rate: number(entry, "over_rest_rate"),
            waiting_rate: number(entry, "waiting_rate"),
            soft_pedal_s: entry["soft_pedal"].as_f64(),
            roll_back: roll.map(|r| RollBack {
                turning_s: r["turning"].as_f64().unwrap(),
                cost_s: r["cost"].as_f64().unwrap(),
            }),
        },
        pins: BTreeMap::from_iter(pins.map(|pin| {
            let number = |i: usize| pin[i].as_u64().unwrap() as usize;
            (number(0), number(1))
        })),
    }
}

#[test]
fn plans_cost_what_the_independent_solver_s_do() {
    let document = reference("matching.json");
    let mut placed = 0;
    for (at, entry) in list(&document, "instances").iter().enumerate() {
        let problem = problem(&entry["problem"]);
        let solution = cheapest(&problem);
        let reps: usize = problem.blocks.iter().map(|b| b.reps).sum();
        assert_eq!(
            reps - solution.picks.len(),
            whole(entry, "left_out"),
            "{at}"
        );
        assert_eq!(solution.cost_s, number(entry, "cost"), "{at}");
        placed += solution.picks.len();
    }
    assert!(
        placed > 80,
        "instances that place next to nothing prove nothing: {placed}"
    );
}
