//! The road that is found, held against all that it might have been.

use super::*;

/// Twice minus the log-likelihood of a road of some pieces, from the words of the layout alone.
fn cost(observations: &[Observation], noise: &Noise, layout: &Layout, road: &[Piece]) -> f64 {
    let mut dynamics = Dynamics::new(10.0, noise);
    dynamics.kinks_m2 = layout::KINKS_M * 10.0;
    let mut belief = Belief::start(observations[0].elevation_m, &dynamics);
    let (mut sum, mut doubts) = (0.0, 0);
    let mut now = None::<Piece>;
    for (node, seen) in observations.iter().enumerate() {
        dynamics.towards(seen);
        if let Some(piece) = now {
            if layout.is_changing(piece.kind) {
                belief.step_changing(&dynamics);
            } else {
                belief.step(&dynamics);
            }
        }
        if node == 0 {
            let first = layout.firsts().find(|(kind, _)| *kind == road[0].kind);
            sum += first.map_or(f64::INFINITY, |(_, pays)| pays);
            layout.begin(
                road[0].kind,
                &layout.grade_after(road[0].kind, 0.0),
                &mut belief,
            );
            now = Some(road[0]);
        }
        sum += belief.weigh(seen, &dynamics, &mut doubts).1.cost();
        let Some(piece) = now.filter(|_| node > 0) else {
            continue;
        };
        let age = node - piece.node;
        if let Some(next) = road.iter().find(|next| next.node == node) {
            sum += layout.ends(piece.kind, age) + layout.follow(piece.kind, next.kind);
            let grade = layout.grade_after(next.kind, belief.mean[1]);
            sum += grade.pays();
            layout.begin(next.kind, &grade, &mut belief);
            now = Some(*next);
        } else {
            sum += layout.goes_on(piece.kind, age);
        }
    }
    sum
}

#[test]
fn no_road_of_two_pieces_costs_less_than_the_one_that_is_found() {
    let noise = Noise {
        sd_m: 1.5,
        correlation_m: 60.0,
        reach: 60.0,
        remainder_sd_m: 0.1,
    };
    let effort = Effort::for_noise(&noise);
    assert!(effort.knows_layout);
    let layout = Layout::hilly(10.0);
    for steep in [0.0, 0.05, 0.12] {
        let elevation_m = |i: usize| {
            let wave = 0.8 * (i as f64 * 0.9).sin();
            wave + if i > 20 {
                (i - 20) as f64 * 10.0 * steep
            } else {
                0.0
            }
        };
        let observations: Vec<Observation> = (0..45)
            .map(|i| Observation {
                elevation_m: elevation_m(i),
                count: 1,
                lapse: 10.0,
                offset_m: 0.0,
                error_scale: 1.0,
            })
            .collect();
        let search = Search::run(&observations, 10.0, &noise, effort);
        let mut found = vec![search.best];
        while search.history[found[0]].0.node > 0 {
            found.insert(0, search.history[found[0]].1);
        }
        let found: Vec<Piece> = found.iter().map(|&entry| search.history[entry].0).collect();
        let found_cost = cost(&observations, &noise, &layout, &found);
        let kinds = 0..layout.kinds();
        let mut best = f64::INFINITY;
        for first in kinds.clone() {
            let first = Piece {
                node: 0,
                kind: first,
            };
            best = best.min(cost(&observations, &noise, &layout, &[first]));
            for kind in kinds.clone() {
                for node in 1..44 {
                    let road = [first, Piece { node, kind }];
                    best = best.min(cost(&observations, &noise, &layout, &road));
                }
            }
        }
        assert!(found_cost <= best + 1e-6, "{steep}: {found_cost} {best}");
    }
}
