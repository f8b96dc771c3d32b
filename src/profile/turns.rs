//! Where the road changes from one level to another.
//!
//! The model: between turns the grade is constant but for the wander that a steady road has; at a turn it jumps; the
//! recording errs as the noise estimate says. The sets of turns that make the recording likely, each turn paying
//! its cost, are sought by dynamic programming along the road. One hypothesis is kept for each place of the last turn and each kind of piece after it
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
use super::layout::{self, Layout};
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
    effort: Effort,
    layout: Layout,
    /// Each piece that was tried, and the entry of the best piece before it.
    history: Vec<(Piece, usize)>,
    /// For each node, where its entries start in `alive`.
    starts: Vec<usize>,
    /// The histories that were followed at a node.
    alive: Vec<Alive>,
    /// The last piece of the best history at the end.
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

/// A piece that may begin at a node.
#[derive(Debug, Clone, Copy)]
struct Piece {
    node: usize,
    kind: usize,
}

/// A history that was followed at a node.
#[derive(Debug, Clone, Copy)]
struct Alive {
    /// Entry of its last piece.
    last: u32,
    /// By how much it was worse than the best.
    worse: f32,
    /// Grade of that piece, rise over run.
    grade: f32,
}

/// A history whose last piece may end at a node.
struct Ending {
    /// Its place among those that are followed.
    parent: usize,
    /// Of its best history if it does.
    cost: f64,
    /// How likely it is that it does.
    weight: f64,
}

/// One way in which the road may have turned so far.
#[derive(Clone, Copy)]
struct Hypothesis {
    belief: Belief,
    /// Of its best history alone.
    cost: f64,
    /// Of all histories that have its last piece.
    joint_cost: f64,
    /// Its last piece, and that one's entry in the history.
    piece: Piece,
    last: usize,
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
        self.piece.kind == other.piece.kind
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
        let layout = if effort.knows_layout {
            // Only here: where the noise is estimated as well, a part of it is taken for kinks on steep paths (2 m instead of 4).
            dynamics.kinks_m2 = layout::KINKS_M * spacing_m;
            Layout::hilly(spacing_m)
        } else {
            Layout::any(&effort, spacing_m)
        };
        let mut search = Search {
            nodes: observations.len(),
            effort,
            layout,
            history: Vec::with_capacity(2 * observations.len()),
            starts: Vec::with_capacity(observations.len()),
            alive: Vec::new(),
            best: 0,
        };
        let mut live = search.begin(observations, &dynamics);
        let mut ending = Vec::new();
        let may_turn = has_elevation_near(observations, spacing_m);
        for (node, seen) in observations.iter().enumerate() {
            dynamics.towards(seen);
            for hypothesis in &mut live {
                // A copy stays in registers.
                let mut belief = hypothesis.belief;
                if node > 0 {
                    if search.layout.is_changing(hypothesis.piece.kind) {
                        belief.step_changing(&dynamics);
                    } else {
                        belief.step(&dynamics);
                    }
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
            let layout = &search.layout;
            let highest = lowest + layout.usual_pays + effort.slack + put_off;
            drop_worse(&mut live, |h| highest + layout.spared(h.piece.kind));
            if effort.drops_twins && node % TWINS_EACH == 0 {
                drop_twins(&mut live);
            }
            let most = if may_turn[node] {
                effort.most
            } else {
                effort.most.min(MOST_IN_HOLES)
            };
            let room = most - layout.kinds();
            if live.len() > room {
                live.select_nth_unstable_by(room, |a, b| a.joint_cost.total_cmp(&b.joint_cost));
                live.truncate(room);
            }
            if effort.draws > 0 {
                search.starts.push(search.alive.len());
                if may_turn[node] || node + 1 == observations.len() {
                    search.remember(&live, lowest);
                }
            }
            if node > 0 && may_turn[node] {
                search.turn(node, &mut live, &mut ending, lowest, highest);
            }
        }
        let best = live.iter().min_by(|a, b| a.cost.total_cmp(&b.cost));
        search.best = best.map_or(0, |h| h.last);
        search
    }

    /// A start with each kind of piece.
    fn begin(&mut self, observations: &[Observation], dynamics: &Dynamics) -> Vec<Hypothesis> {
        let first = observations.iter().find(|o| o.count > 0);
        let first_m = first.map_or(0.0, |o| o.elevation_m);
        let start = |(kind, pays)| {
            let mut belief = Belief::start(first_m, dynamics);
            let grade = self.layout.grade_after(kind, 0.0);
            self.layout.begin(kind, &grade, &mut belief);
            let piece = Piece { node: 0, kind };
            let last = self.history.len();
            self.history.push((piece, last));
            Hypothesis {
                belief,
                cost: pays,
                joint_cost: pays,
                piece,
                last,
                doubts: 0,
            }
        };
        self.layout.firsts().map(start).collect()
    }

    fn remember(&mut self, live: &[Hypothesis], lowest: f64) {
        let near = live.iter().filter(|h| h.joint_cost - lowest <= DRAWN_SLACK);
        self.alive.extend(near.map(|h| Alive {
            last: h.last as u32,
            worse: (h.joint_cost - lowest) as f32,
            grade: h.belief.mean[1] as f32,
        }));
    }

    /// The road may turn at a node: each history goes on, and may end its piece there; one new history for each kind of piece that may begin, if it costs
    /// no more than the highest. `ending` is only lent.
    fn turn(
        &mut self,
        node: usize,
        live: &mut Vec<Hypothesis>,
        ending: &mut Vec<Ending>,
        lowest: f64,
        highest: f64,
    ) {
        ending.clear();
        for (parent, hypothesis) in live.iter().enumerate() {
            if hypothesis.joint_cost - lowest > DRAWN_SLACK {
                continue;
            }
            let piece = hypothesis.piece;
            let pays = self.layout.ends(piece.kind, node - piece.node);
            if pays.is_infinite() {
                continue;
            }
            ending.push(Ending {
                parent,
                cost: hypothesis.cost + pays,
                weight: if self.effort.draws > 0 {
                    hypothesis.weight(lowest) * (-0.5 * pays).exp()
                } else {
                    0.0
                },
            });
        }
        let before = live.len();
        for kind in 0..self.layout.kinds() {
            let next = Piece { node, kind };
            let Some((parent, mut fresh)) = self.turn_to(next, &live[..before], ending, lowest)
            else {
                continue;
            };
            if fresh.joint_cost <= highest + self.layout.spared(kind) {
                fresh.last = self.history.len();
                self.history.push((next, live[parent].last));
                live.push(fresh);
            }
        }
        if self.layout.ages_cost {
            for hypothesis in &mut live[..before] {
                let piece = hypothesis.piece;
                let pays = self.layout.goes_on(piece.kind, node - piece.node);
                hypothesis.cost += pays;
                hypothesis.joint_cost += pays;
            }
            live.retain(|hypothesis| hypothesis.joint_cost.is_finite());
        }
    }

    /// The history that a piece begins, if one may, and the one that it follows; its entry is not written yet.
    fn turn_to(
        &self,
        next: Piece,
        live: &[Hypothesis],
        ending: &[Ending],
        lowest: f64,
    ) -> Option<(usize, Hypothesis)> {
        let mut weight = 0.0;
        let mut best: Option<(usize, f64)> = None;
        for end in ending {
            let parent = &live[end.parent];
            let share = self.layout.share_that_follows(parent.piece.kind, next.kind);
            if share == 0.0 {
                continue;
            }
            let grade = self.layout.grade_after(next.kind, parent.belief.mean[1]);
            if grade.share == 0.0 {
                continue;
            }
            weight += end.weight * share * grade.share;
            let follow = self.layout.follow(parent.piece.kind, next.kind);
            let cost = end.cost + follow + grade.pays();
            if best.is_none_or(|(_, lowest)| cost < lowest) {
                best = Some((end.parent, cost));
            }
        }
        let (at, cost) = best?;
        let parent = &live[at];
        let mut belief = parent.belief;
        let grade = self.layout.grade_after(next.kind, belief.mean[1]);
        self.layout.begin(next.kind, &grade, &mut belief);
        let fresh = Hypothesis {
            belief,
            cost,
            // Where none are drawn, only the best history counts.
            joint_cost: if self.effort.draws == 0 {
                cost
            } else {
                lowest - 2.0 * weight.ln()
            },
            piece: next,
            last: parent.last,
            doubts: parent.doubts,
        };
        Some((at, fresh))
    }

    /// What the road pays that turns from a piece of a grade (rise over run) to the next one.
    fn turn_pays(&self, piece: Piece, grade: f64, next: Piece) -> f64 {
        let ends = self.layout.ends(piece.kind, next.node - piece.node);
        let follow = self.layout.follow(piece.kind, next.kind);
        if ends.is_infinite() || follow.is_infinite() {
            return f64::INFINITY;
        }
        ends + follow + self.layout.grade_after(next.kind, grade).pays()
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
                let piece = self.history[entry].0;
                self.pick(piece.node, Some(piece), draws.next())
            })
        };
        (0..count).map(|_| draw_one()).collect()
    }

    /// From a last piece back to the start; a row of lumps is one uneven piece.
    fn back(&self, mut entry: usize, mut before: impl FnMut(usize) -> usize) -> Turns {
        let mut pieces = Vec::new();
        loop {
            let piece = self.history[entry].0;
            if piece.node == 0 || piece.node + 1 < self.nodes {
                pieces.push(piece);
            }
            if piece.node == 0 {
                break;
            }
            entry = before(entry);
        }
        pieces.reverse();
        let is_in_row = |piece: &Piece| self.layout.is_in_row(piece.kind);
        let begun = pieces.iter().enumerate();
        begun
            .filter(|(i, piece)| *i == 0 || !is_in_row(piece) || !is_in_row(&pieces[i - 1]))
            .map(|(_, piece)| Turn {
                node: piece.node,
                uneven: self.layout.is_uneven(piece.kind),
            })
            .collect()
    }

    /// One of the histories that were followed at a node, at a share (0 to 1) of their weight; before a piece, one that it may follow.
    fn pick(&self, node: usize, before: Option<Piece>, share: f64) -> usize {
        let until = self.starts.get(node + 1).copied();
        let alive = &self.alive[self.starts[node]..until.unwrap_or(self.alive.len())];
        let weight = |one: &Alive| {
            let pays = before.map_or(0.0, |next| {
                let piece = self.history[one.last as usize].0;
                self.turn_pays(piece, f64::from(one.grade), next)
            });
            (-0.5 * (f64::from(one.worse) + pays)).exp()
        };
        let weighed = alive
            .iter()
            .map(|one| (one.last as usize, weight(one)))
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

#[cfg(test)]
mod tests;
