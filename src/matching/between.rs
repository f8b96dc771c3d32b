//! The ways from one rep's end to the next one's start, and the cheapest of them for every start at once.
//!
//! Each way is open to those ends that lie in a window, and costs a constant there plus a rate on a difference of two clocks, one
//! read at the end, one at the start. Sorted by place, the windows only move forward (`window`).

use super::assign::{Choice, Cost};
use super::window;

/// The rest after a rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rest {
    /// Shortest, on the clock of what counts as rest, in seconds.
    pub at_least_s: f64,
    /// Longest that costs nothing, on the clock of easy riding, in seconds.
    pub at_most_s: f64,
}

/// How a rider may get from one rep to the next, and at what rates that costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ways {
    /// Seconds of cost for each second of rest beyond a block's longest.
    pub over_rest_rate: f64,
    /// Seconds of cost for each second of riding to and fro until the rest is long enough.
    pub waiting_rate: f64,
    /// What soft-pedalling to and fro costs by itself, in seconds; `None` where it is not allowed.
    pub soft_pedal_s: Option<f64>,
    /// Rolling back down; `None` where it is not allowed.
    pub roll_back: Option<RollBack>,
}

/// Turning round and rolling back down the same ascent, to start a rep there again.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RollBack {
    /// Time for turning, at the top and at the foot together, in seconds.
    pub turning_s: f64,
    /// What it costs by itself, in seconds.
    pub cost_s: f64,
}

/// A way from one rep to the next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// On along the route.
    RideOn,
    /// On along the route, and to and fro on a level stretch of it until the rest is long enough.
    SoftPedal,
    /// Back down the same ascent, and to and fro at its foot until the rest is long enough.
    RollBack,
}

/// The cheapest arrival at a choice.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Arrival {
    /// What has been spent up to here.
    pub(super) cost: Cost,
    /// From which of the earlier choices.
    pub(super) from: usize,
    /// How.
    pub(super) way: Way,
}

/// For each choice in `to` (by start), the cheapest way there from one of `from` (in the order `by_end`), which have cost
/// `reached` so far.
pub(super) fn arrivals(
    ways: &Ways,
    rest: &Rest,
    from: &[Choice],
    by_end: &[usize],
    reached: &[(Cost, usize)],
    to: &[Choice],
) -> Vec<Option<Arrival>> {
    let mut crossing = Crossing {
        from,
        by_end,
        reached,
        to,
        found: vec![None; to.len()],
    };
    ride_on(&mut crossing, ways, rest);
    if let Some(cost_s) = ways.soft_pedal_s {
        soft_pedal(&mut crossing, ways, rest, cost_s);
    }
    if let Some(roll_back) = &ways.roll_back {
        roll(&mut crossing, ways, rest, roll_back);
    }
    crossing.found
}

fn ride_on(crossing: &mut Crossing, ways: &Ways, rest: &Rest) {
    let rested = |a: &Choice, b: &Choice| a.end.rest_s + rest.at_least_s <= b.start.rest_s;
    let overdue = |a: &Choice, b: &Choice| a.end.easy_s + rest.at_most_s < b.start.easy_s;
    crossing.piece(Way::RideOn, &overdue, &rested, |_| 0.0, |_| 0.0);
    if rest.at_most_s.is_finite() {
        crossing.piece(
            Way::RideOn,
            &|_, _| false,
            &|a, b| rested(a, b) && overdue(a, b),
            |a| -ways.over_rest_rate * (a.end.easy_s + rest.at_most_s),
            |b| ways.over_rest_rate * b.start.easy_s,
        );
    }
}

fn soft_pedal(crossing: &mut Crossing, ways: &Ways, rest: &Rest, cost_s: f64) {
    crossing.piece(
        Way::SoftPedal,
        &|a, b| a.end.rest_s + rest.at_least_s <= b.start.rest_s,
        &|a, b| a.end.at_m <= b.start.level_m,
        |a| cost_s + ways.waiting_rate * (rest.at_least_s + a.end.rest_s),
        |b| -ways.waiting_rate * b.start.rest_s,
    );
}

fn roll(crossing: &mut Crossing, ways: &Ways, rest: &Rest, roll: &RollBack) {
    let below = |a: &Choice, b: &Choice| a.end.at_m < b.start.at_m;
    let here = |a: &Choice, b: &Choice| a.ascent <= b.ascent;
    let rested =
        |a: &Choice, b: &Choice| roll.turning_s + a.end.back_s - b.start.back_s >= rest.at_least_s;
    let overdue =
        |a: &Choice, b: &Choice| roll.turning_s + a.end.back_s - b.start.back_s > rest.at_most_s;
    crossing.piece(
        Way::RollBack,
        &below,
        &|a, b| here(a, b) && !rested(a, b),
        |a| roll.cost_s + ways.waiting_rate * (rest.at_least_s - roll.turning_s - a.end.back_s),
        |b| ways.waiting_rate * b.start.back_s,
    );
    crossing.piece(
        Way::RollBack,
        &|a, b| below(a, b) || !rested(a, b),
        &|a, b| here(a, b) && !overdue(a, b),
        |_| roll.cost_s,
        |_| 0.0,
    );
    if rest.at_most_s.is_finite() {
        crossing.piece(
            Way::RollBack,
            &|a, b| below(a, b) || !overdue(a, b),
            &here,
            |a| {
                roll.cost_s + ways.over_rest_rate * (roll.turning_s + a.end.back_s - rest.at_most_s)
            },
            |b| -ways.over_rest_rate * b.start.back_s,
        );
    }
}

/// All ends, all starts, and the cheapest arrivals so far.
struct Crossing<'a> {
    from: &'a [Choice],
    by_end: &'a [usize],
    reached: &'a [(Cost, usize)],
    to: &'a [Choice],
    found: Vec<Option<Arrival>>,
}

impl Crossing<'_> {
    /// Offers one way to every start. Ends that are `before` its window or not `within` it are left out; of the others each start keeps the
    /// cheapest so far.
    fn piece(
        &mut self,
        way: Way,
        before: &dyn Fn(&Choice, &Choice) -> bool,
        within: &dyn Fn(&Choice, &Choice) -> bool,
        leaving_s: impl Fn(&Choice) -> f64,
        arriving_s: impl Fn(&Choice) -> f64,
    ) {
        let end = |at: usize| &self.from[self.by_end[at]];
        let keys: Vec<Cost> = self
            .by_end
            .iter()
            .map(|&i| self.reached[i].0.plus(0, leaving_s(&self.from[i])))
            .collect();
        let cheapest = window::least(
            &keys,
            self.to.len(),
            Cost::is_less,
            |b, a| before(end(a), &self.to[b]),
            |b, a| within(end(a), &self.to[b]),
        );
        for ((slot, start), at) in self.found.iter_mut().zip(self.to).zip(cheapest) {
            let Some(at) = at else { continue };
            let cost = keys[at].plus(0, arriving_s(start));
            if slot.is_none_or(|s| cost.is_less(&s.cost)) {
                *slot = Some(Arrival {
                    cost,
                    from: self.by_end[at],
                    way,
                });
            }
        }
    }
}
