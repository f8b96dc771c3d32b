//! Where the road changes from one level to another.
//!
//! The model: between turns the grade is constant but for the wander that a steady road has; at a turn it jumps; the
//! recording errs as the noise estimate says. The sets of turns that make the recording likely, each turn paying
//! its cost, are sought by dynamic programming along the road. One hypothesis is kept for each place of the last turn
//! (with the best history before it, but with the weight of all of them), as in the recursions of Jackson et al. (IEEE
//! Signal Processing Letters 12, 2005, 105–108) and of Fearnhead and Liu (J. Royal Stat. Soc. B 69, 2007, 589–605), pruned
//! as by Killick, Fearnhead and Eckley (J. Am. Stat. Assoc. 107, 2012, 1590–1598). Since a history matters to what follows
//! only through the belief at the turn, keeping one history's belief a place is nearly exact; `docs/method.md` states the
//! gap against trying every set of turns on small cases.
//!
//! Where the recording is poor, one best set of turns says little: many others are nearly as likely. [`Search::drawn`] draws
//! from all of them, each as often as it is likely (backward along the road, as Fearnhead and Liu do).

use super::effort::Effort;
use super::kalman::{Belief, Dynamics, Observation};
use super::noise::Noise;

/// While the best history ignores surprising elevations, worse ones by up to this much are kept as well, in the same units: if those elevations
/// turn out to be true, the best one has to pay for them. A few bad fixes' worth.
const MOST_PUT_OFF: f64 = 100.0;

/// Histories are twins where elevation, level and wander that they believe in differ by less than so many standard deviations, and their variances by
/// less than that share. On seeds 3000 to 3049 of the truth bench it changes F1 of barometers and whole metres by no more than 0.001, and a third
/// of all histories is dropped.
const TWINS_SD: f64 = 0.5;
/// Twins are looked for at each of so many nodes, since looking costs as well; at each tenth the search takes 8 in 100 more instructions.
const TWINS_EACH: usize = 5;

/// A place where the road turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Turn {
    /// The node.
    pub node: usize,
    /// Whether the road is uneven from here on, rather than steady.
    pub uneven: bool,
}

/// Turns in order; the first is where the road starts.
pub type Turns = Vec<Turn>;

/// The most likely turns.
pub fn find(observations: &[Observation], spacing_m: f64, noise: &Noise, effort: Effort) -> Turns {
    Search::run(observations, spacing_m, noise, effort).likeliest()
}

/// The turns of a part of the road, counted from its first node; its own first one is that before it.
pub fn between(turns: &[Turn], first: usize, last: usize) -> Turns {
    let from = turns.partition_point(|t| t.node <= first).max(1) - 1;
    let inside = turns[from..].iter().take_while(|t| t.node < last);
    inside
        .map(|t| Turn {
            node: t.node.saturating_sub(first),
            uneven: t.uneven,
        })
        .collect()
}

/// Histories worse than the best at a node by more than this are never drawn: twice the log-likelihood; e⁻⁵ is less than one in a hundred.
const DRAWN_SLACK: f64 = 10.0;

/// Everything that was followed along the road.
pub struct Search {
    nodes: usize,
    spacing_m: f64,
    effort: Effort,
    /// Each turn that was tried, and the entry of the best turn before it.
    history: Vec<(Turn, usize)>,
    /// For each node, where its entries start in `alive`.
    starts: Vec<usize>,
    /// The last turn of each history that was followed at a node, and by how much it was worse than the best.
    alive: Vec<(u32, f32)>,
    /// The last turn of the best history at the end.
    best: usize,
}

/// On holes longer than twice this the road turns nowhere but near their ends, in metres: no elevation could tell where, and as many histories as
/// are followed at all would be followed to the other end.
const TELLING_M: f64 = 2000.0;
/// More histories than this are not followed through the rest of them, where nothing tells one from another. Neither number was weighed against
/// others: no recording of the truth bench has such a hole.
const MOST_IN_HOLES: usize = 24;

/// For each node whether an elevation was recorded near it.
fn has_elevation_near(observations: &[Observation], spacing_m: f64) -> Vec<bool> {
    let reach = (TELLING_M / spacing_m) as usize;
    let mut near = vec![false; observations.len()];
    let mut until = 0;
    for (node, _) in observations.iter().enumerate().filter(|(_, o)| o.count > 0) {
        let end = (node + reach + 1).min(near.len());
        near[until.max(node.saturating_sub(reach))..end].fill(true);
        until = end;
    }
    near
}

/// One way in which the road may have turned so far.
#[derive(Clone, Copy)]
struct Hypothesis {
    belief: Belief,
    /// Of its best history alone.
    cost: f64,
    /// Of all histories that have its last turn.
    joint_cost: f64,
    /// Its entry in the history.
    last_turn: usize,
    doubts: u32,
}

impl Hypothesis {
    /// How likely it is, against one of a given cost.
    fn weight(&self, lowest: f64) -> f64 {
        (0.5 * (lowest - self.joint_cost)).exp()
    }

    /// Whether both believe so nearly the same of the road that what follows tells neither from the other.
    fn is_twin_of(&self, other: &Hypothesis) -> bool {
        let (a, b) = (&self.belief, &other.belief);
        let is_alike = |part: usize, variance: f64, other: f64| {
            let off = b.mean[part] - a.mean[part];
            off * off < TWINS_SD * TWINS_SD * variance
                && (other - variance).abs() < TWINS_SD * variance
        };
        a.uneven == b.uneven
            && self.doubts == other.doubts
            && is_alike(0, a.cov.zz, b.cov.zz)
            && is_alike(1, a.cov.gg, b.cov.gg)
            && is_alike(2, a.cov.ww, b.cov.ww)
    }
}

impl Search {
    /// Follows all likely histories along the road.
    pub fn run(
        observations: &[Observation],
        spacing_m: f64,
        noise: &Noise,
        effort: Effort,
    ) -> Search {
        let mut dynamics = Dynamics::new(spacing_m, noise);
        let most_pays = effort.pays(f64::INFINITY, spacing_m);
        let mut search = Search {
            nodes: observations.len(),
            spacing_m,
            effort,
            history: Vec::with_capacity(2 * observations.len()),
            starts: Vec::with_capacity(observations.len()),
            alive: Vec::new(),
            best: 0,
        };
        let mut live = search.begin(observations, &dynamics);
        let may_turn = has_elevation_near(observations, spacing_m);
        for (node, seen) in observations.iter().enumerate() {
            dynamics.towards(seen);
            for hypothesis in &mut live {
                // A copy stays in registers.
                let mut belief = hypothesis.belief;
                if node > 0 {
                    belief.step(&dynamics);
                }
                if seen.count > 0 {
                    let (_, pays) = belief.weigh(seen, &dynamics, &mut hypothesis.doubts);
                    let cost = pays.cost();
                    hypothesis.cost += cost;
                    hypothesis.joint_cost += cost;
                } else {
                    belief.drop_traces();
                }
                hypothesis.belief = belief;
            }
            let lowest = live
                .iter()
                .map(|h| h.joint_cost)
                .fold(f64::INFINITY, f64::min);
            // A history that is putting off what it can't believe will pay for it: until then the others are kept.
            let best = live
                .iter()
                .min_by(|a, b| a.joint_cost.total_cmp(&b.joint_cost));
            let put_off = best.map_or(0.0, |h| if h.doubts > 0 { MOST_PUT_OFF } else { 0.0 });
            let highest = lowest + most_pays + effort.slack + put_off;
            drop_worse(&mut live, |h| highest + effort.kind_pays(h.belief.uneven));
            if effort.drops_twins && node % TWINS_EACH == 0 {
                drop_twins(&mut live);
            }
            let most = if may_turn[node] {
                effort.most
            } else {
                effort.most.min(MOST_IN_HOLES)
            };
            if live.len() + 2 > most {
                live.sort_by(|a, b| a.joint_cost.total_cmp(&b.joint_cost));
                live.truncate(most - 2);
            }
            if effort.draws > 0 {
                search.starts.push(search.alive.len());
                if may_turn[node] || node + 1 == observations.len() {
                    search.remember(&live, lowest);
                }
            }
            if node > 0 && may_turn[node] {
                search.turn(node, &mut live, lowest);
            }
        }
        let best = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost));
        search.best = best.map_or(0, |h| h.last_turn);
        search
    }

    /// A start of each kind of road.
    fn begin(&mut self, observations: &[Observation], dynamics: &Dynamics) -> Vec<Hypothesis> {
        let first = observations.iter().find(|o| o.count > 0);
        let first_m = first.map_or(0.0, |o| o.elevation_m);
        let effort = self.effort;
        let start = |&uneven: &bool| {
            let mut belief = Belief::start(first_m, dynamics);
            belief.turn(uneven);
            let last_turn = self.history.len();
            self.history.push((Turn { node: 0, uneven }, last_turn));
            Hypothesis {
                belief,
                cost: effort.kind_pays(uneven),
                joint_cost: effort.kind_pays(uneven),
                last_turn,
                doubts: 0,
            }
        };
        effort.kinds().iter().map(start).collect()
    }

    fn remember(&mut self, live: &[Hypothesis], lowest: f64) {
        let near = live.iter().filter(|h| h.joint_cost - lowest <= DRAWN_SLACK);
        self.alive
            .extend(near.map(|h| (h.last_turn as u32, (h.joint_cost - lowest) as f32)));
    }

    /// The road may turn at a node, to a steady piece or an uneven one; uneven pieces don't follow each other.
    fn turn(&mut self, node: usize, live: &mut Vec<Hypothesis>, lowest: f64) {
        let mut weights = [0.0; 2];
        // For each kind of road the best history that may turn to it, and its cost then.
        let mut best = [(0, f64::INFINITY); 2];
        for (i, hypothesis) in live.iter().enumerate() {
            if hypothesis.joint_cost - lowest > DRAWN_SLACK {
                continue;
            }
            let pays = self.turn_pays(hypothesis.last_turn, node);
            if pays.is_infinite() {
                continue;
            }
            let cost = hypothesis.cost + pays;
            let weight = if self.effort.draws == 0 {
                0.0
            } else {
                hypothesis.weight(lowest) * (-0.5 * pays).exp()
            };
            for &uneven in self.effort.kinds() {
                let kind = usize::from(uneven);
                if uneven && hypothesis.belief.uneven {
                    continue;
                }
                weights[kind] += weight;
                if cost < best[kind].1 {
                    best[kind] = (i, cost);
                }
            }
        }
        for &uneven in self.effort.kinds() {
            let (i, cost) = best[usize::from(uneven)];
            if cost.is_infinite() {
                continue;
            }
            // Where none are drawn, only the best history counts.
            let joint_cost = if self.effort.draws == 0 {
                cost
            } else {
                lowest - 2.0 * weights[usize::from(uneven)].ln()
            };
            let last_turn = self.history.len();
            self.history
                .push((Turn { node, uneven }, live[i].last_turn));
            live.push(live[i]);
            if let Some(fresh) = live.last_mut() {
                fresh.belief.turn(uneven);
                fresh.cost = cost + self.effort.kind_pays(uneven);
                fresh.joint_cost = joint_cost + self.effort.kind_pays(uneven);
                fresh.last_turn = last_turn;
            }
        }
    }

    /// What the road pays that turns at a node after its turn of an entry.
    fn turn_pays(&self, entry: usize, node: usize) -> f64 {
        let nodes = node - self.history[entry].0.node;
        self.effort
            .pays(nodes as f64 * self.spacing_m, self.spacing_m)
    }

    /// The most likely turns.
    pub fn likeliest(&self) -> Turns {
        self.back(self.best, |entry| self.history[entry].1)
    }

    /// So many sets of turns, drawn as likely as they are; the same ones each time. None unless the effort asks for some.
    pub fn drawn(&self, count: usize) -> Vec<Turns> {
        let mut draws = Draws(0);
        let mut draw_one = || {
            let last = self.pick(self.nodes - 1, None, draws.next());
            self.back(last, |entry| {
                let turn = self.history[entry].0;
                self.pick(turn.node, Some(turn), draws.next())
            })
        };
        (0..count).map(|_| draw_one()).collect()
    }

    /// From a last turn back to the start.
    fn back(&self, mut entry: usize, mut before: impl FnMut(usize) -> usize) -> Turns {
        let mut found = Vec::new();
        loop {
            let turn = self.history[entry].0;
            if turn.node == 0 || turn.node + 1 < self.nodes {
                found.push(turn);
            }
            if turn.node == 0 {
                break;
            }
            entry = before(entry);
        }
        found.reverse();
        found
    }

    /// One of the histories that were followed at a node, at a share (0 to 1) of their weight; before a turn, one that may turn there.
    fn pick(&self, node: usize, before: Option<Turn>, share: f64) -> usize {
        let until = self.starts.get(node + 1).copied();
        let alive = &self.alive[self.starts[node]..until.unwrap_or(self.alive.len())];
        let weight = |entry: usize, cost: f64| match before {
            Some(turn) if turn.uneven && self.history[entry].0.uneven => 0.0,
            Some(turn) => (-0.5 * (cost + self.turn_pays(entry, turn.node))).exp(),
            None => (-0.5 * cost).exp(),
        };
        let weighed = alive
            .iter()
            .map(|&(entry, cost)| (entry as usize, weight(entry as usize, f64::from(cost))))
            .filter(|(_, weight)| *weight > 0.0);
        let mut left = share * weighed.clone().map(|(_, weight)| weight).sum::<f64>();
        let mut picked = 0;
        for (entry, weight) in weighed {
            picked = entry;
            left -= weight;
            if left < 0.0 {
                break;
            }
        }
        picked
    }
}

/// Drops what costs more; who comes first does not matter.
fn drop_worse(live: &mut Vec<Hypothesis>, highest: impl Fn(&Hypothesis) -> f64) {
    let mut i = 0;
    while i < live.len() {
        if live[i].joint_cost > highest(&live[i]) {
            live.swap_remove(i);
        } else {
            i += 1;
        }
    }
}

/// Drops each that has a cheaper twin; who comes first does not matter.
fn drop_twins(live: &mut Vec<Hypothesis>) {
    let mut i = 0;
    while i < live.len() {
        let costly = &live[i];
        let has_twin = live
            .iter()
            .any(|other| other.joint_cost < costly.joint_cost && costly.is_twin_of(other));
        if has_twin {
            live.swap_remove(i);
        } else {
            i += 1;
        }
    }
}

/// Numbers from 0 to 1 that look random (Steele, Lea and Flood, OOPSLA 2014: SplitMix).
struct Draws(u64);

impl Draws {
    fn next(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((mixed ^ (mixed >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
}
