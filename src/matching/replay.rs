//! The chosen plan ridden as a whole, arrival speeds and all, for the numbers that are shown.

use super::assign::Pick;
use super::candidates::{Candidate, Shift};
use super::course::Moments;
use super::demand::Demand;
use super::ground::{Ground, TURN_S, level_speed_ms};
use super::{CostParts, Task, Way, ridden_rep};
use crate::gearing::Gear;
use crate::ride::{Moment, PUSH_OFF_SPEED_MS, Pace, Pacing, Road, Sample, Until, advance};

/// A rep on the road.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedRep {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Which block, from 0.
    pub block: usize,
    /// Whether it is a maximal start; then power, cadence and torque are rough estimates.
    pub maximal: bool,
    /// What the rider holds in it.
    pub pacing: Pacing,
    /// Numbers of the climbs it is ridden on.
    pub climbs: Vec<usize>,
    /// Where it starts along the route, in metres.
    pub start_m: f64,
    /// Where the clock is expected to stop it, in metres.
    pub end_m: f64,
    /// Where the clock stops it if it is ridden as fast as the bands allow, in metres.
    pub end_if_fast_m: f64,
    /// Time since the ride's start at which it starts, in seconds.
    pub start_time_s: f64,
    /// How long it lasts, in seconds.
    pub duration_s: f64,
    /// Speed on arrival, in metres per second.
    pub entry_speed_ms: f64,
    /// Mean speed, in metres per second.
    pub speed_ms: f64,
    /// Mean grade, in per cent.
    pub grade_pct: f64,
    /// The gear at its start.
    pub gear: Gear,
    /// Rear shifts on the way, in order.
    pub shifts: Vec<Shift>,
    /// The cadence to aim for, in turns a minute.
    pub aim_rpm: f64,
    /// What it costs.
    pub cost: CostParts,
    /// Mean power where it is measured, in watts.
    pub power_w: f64,
    /// Lowest and highest three-second power after the run-in, in watts.
    pub power_range_w: (f64, f64),
    /// Mean cadence after the run-in, in turns a minute.
    pub cadence_rpm: f64,
    /// Lowest and highest three-second cadence after the run-in, in turns a minute.
    pub cadence_range_rpm: (f64, f64),
    /// Share of the three-second cadences after the run-in that lie in the band, in per cent.
    pub in_band_pct: f64,
    /// Mean torque at the cranks, in newton metres.
    pub torque_nm: f64,
    /// Mean tangential pedal force, both legs together, in newtons.
    pub pedal_force_n: f64,
    /// Time from its end to the next rep's start, in seconds; `None` after the last.
    pub recovery_after_s: Option<f64>,
    /// What of that time counts as recovery, in seconds.
    pub rest_after_s: Option<f64>,
    /// What of that is beyond the longest recovery asked for, in seconds.
    pub over_recovery_s: f64,
    /// What of it is riding to and fro until the recovery is long enough, in seconds.
    pub waiting_after_s: f64,
    /// How the rider gets to the next rep.
    pub recovery_how: Way,
    /// The cheapest other climbs for it, the plan around it again the cheapest.
    pub others: Vec<Other>,
    /// How it goes, three seconds by three seconds.
    pub course: Vec<Moments>,
}

/// Another climb for a rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Other {
    /// The climb's number.
    pub climb: usize,
    /// What the whole plan costs more with it, in seconds of work out of band; never negative.
    pub more_s: f64,
}

/// The whole ride.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Totals {
    /// How long it takes, in seconds.
    pub duration_s: f64,
    /// How far it is, in metres.
    pub distance_m: f64,
    /// Metres climbed.
    pub ascent_m: f64,
    /// Work in the reps, in seconds.
    pub work_s: f64,
    /// Recoveries beyond the longest asked for, all together, in seconds.
    pub over_recovery_s: f64,
    /// Riding to and fro before the first rep until the warm-up is over, in seconds.
    pub warm_up_waiting_s: f64,
}

/// A ridden plan.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Ridden {
    /// The reps.
    pub reps: Vec<PlacedRep>,
    /// The whole ride.
    pub total: Totals,
}

/// Rides the route with the picked reps.
pub fn ride(task: &Task, ground: &Ground, picks: &[Pick], by_demand: &[Vec<Candidate>]) -> Ridden {
    let lowest = task.drive.lowest_development_m();
    let mut rider = OnTheRoad {
        task,
        ground,
        easy: Pace::between_reps(task.rider, task.rider.easy_share, lowest),
        steady: Pace::between_reps(task.rider, task.rider.steady_share, lowest),
        now: Moment {
            distance_m: 0.0,
            time_s: 0.0,
            speed_ms: PUSH_OFF_SPEED_MS,
        },
        again_m: 0.0,
        again_up_m: 0.0,
    };
    let mut ridden = Ridden::default();
    let mut last: Option<&Pick> = None;
    for pick in picks {
        let candidate = &by_demand[pick.block][pick.choice];
        match (last, ridden.reps.last_mut()) {
            (Some(before), Some(rep)) => {
                let demand = &task.demands[before.block];
                let way = pick.way.unwrap_or(Way::RideOn);
                rider.recover(demand, way, candidate.start_m, rep);
            }
            _ => ridden.total.warm_up_waiting_s = rider.warm_up(candidate.start_m),
        }
        let which = (pick.rep, pick.block);
        let (rep, after) = ridden_rep::ride(task, &ground.road, rider.now, which, candidate);
        rider.now = after;
        ridden.reps.push(rep);
        last = Some(pick);
    }
    let rest_s = last.map_or(0.0, |p| task.demands[p.block].longest_recovery_s());
    rider.home(rest_s);
    ridden.total = Totals {
        duration_s: rider.now.time_s,
        distance_m: rider.now.distance_m + rider.again_m,
        ascent_m: task.profile.ascent_descent_m().0 + rider.again_up_m,
        work_s: ridden.reps.iter().map(|r| r.duration_s).sum(),
        over_recovery_s: ridden.reps.iter().map(|r| r.over_recovery_s).sum(),
        warm_up_waiting_s: ridden.total.warm_up_waiting_s,
    };
    ridden
}

/// A rider between reps.
struct OnTheRoad<'a> {
    task: &'a Task<'a>,
    ground: &'a Ground,
    easy: Pace,
    steady: Pace,
    now: Moment,
    /// Metres ridden besides the route itself.
    again_m: f64,
    /// Metres climbed besides the route itself.
    again_up_m: f64,
}

impl OnTheRoad<'_> {
    /// To the first rep, and to and fro there until the warm-up is over; how long the latter takes (s).
    fn warm_up(&mut self, to_m: f64) -> f64 {
        let end = Until::Distance(to_m);
        self.now = advance(&self.ground.road, self.now, &self.steady, end, |_| {});
        let waiting_s = (self.task.warm_up_s - self.now.time_s).max(0.0);
        self.wait(waiting_s, self.task.rider.steady_share);
        waiting_s
    }

    /// From a rep's end to the next one's start, and what that says about the rep.
    fn recover(&mut self, demand: &Demand, way: Way, to_m: f64, rep: &mut PlacedRep) {
        let rider = self.task.rider;
        let mut rest = Rest {
            ceiling_w: rider.recovery_ceiling_share * rider.threshold_w,
            elapsed_s: 0.0,
            counted_s: 0.0,
        };
        match way {
            Way::RideOn | Way::SoftPedal => {
                let easy_until_s = self.now.time_s + demand.longest_recovery_s();
                let road = &self.ground.road;
                self.now = leg(road, self.now, &self.easy, to_m, easy_until_s, |s| {
                    rest.take(&s);
                });
                self.now = advance(road, self.now, &self.steady, Until::Distance(to_m), |s| {
                    rest.take(&s);
                });
            }
            Way::RollBack => self.roll_back(to_m, &mut rest),
        }
        let waiting_s = if way == Way::RideOn {
            0.0
        } else {
            (demand.recovery_at_least_s - rest.counted_s).max(0.0)
        };
        self.wait(waiting_s, rider.easy_share);
        rest.elapsed_s += waiting_s;
        rest.counted_s += waiting_s;
        let rates = self.task.rates;
        rep.over_recovery_s = (rest.elapsed_s - demand.longest_recovery_s()).max(0.0);
        rep.cost.over_rest_s = rates.over_rest * rep.over_recovery_s;
        rep.cost.waiting_s = rates.waiting * waiting_s;
        rep.cost.turning_s = if way == Way::RideOn {
            0.0
        } else {
            rates.turning
        };
        rep.recovery_after_s = Some(rest.elapsed_s);
        rep.rest_after_s = Some(rest.counted_s);
        rep.waiting_after_s = waiting_s;
        rep.recovery_how = way;
    }

    /// Turns, rolls back down, turns again.
    fn roll_back(&mut self, to_m: f64, rest: &mut Rest) {
        let Some(back) = &self.ground.back else {
            return;
        };
        let top_m = self.now.distance_m;
        let from = Moment {
            distance_m: self.ground.back_m(top_m),
            time_s: self.now.time_s + TURN_S,
            speed_ms: PUSH_OFF_SPEED_MS,
        };
        let until = Until::Distance(self.ground.back_m(to_m));
        let foot = advance(&back.road, from, &self.easy, until, |s| {
            rest.take(&s);
        });
        rest.elapsed_s += 2.0 * TURN_S;
        rest.counted_s += 2.0 * TURN_S;
        self.now = Moment {
            distance_m: to_m,
            time_s: foot.time_s + TURN_S,
            speed_ms: PUSH_OFF_SPEED_MS,
        };
        let z = |at_m: f64| self.task.profile.elevation_at_m(at_m);
        self.again_m += 2.0 * (top_m - to_m).max(0.0);
        self.again_up_m += (z(top_m) - z(to_m)).max(0.0);
    }

    /// To and fro on level road for a time (s), at a share of the threshold.
    fn wait(&mut self, waiting_s: f64, share: f64) {
        let power_w = share * self.task.rider.threshold_w;
        self.now.time_s += waiting_s;
        self.again_m += waiting_s * level_speed_ms(self.task, power_w);
    }

    /// From the last rep to the route's end: easy for a recovery, steady from there.
    fn home(&mut self, rest_s: f64) {
        let road = &self.ground.road;
        let easy_until_s = self.now.time_s + rest_s;
        let length_m = road.length_m();
        self.now = leg(road, self.now, &self.easy, length_m, easy_until_s, |_| {});
        let end = Until::Distance(length_m);
        self.now = advance(road, self.now, &self.steady, end, |_| {});
    }
}

/// Rides to a distance, or until a time if that comes first.
fn leg(
    road: &Road,
    from: Moment,
    pace: &Pace,
    to_m: f64,
    until_s: f64,
    mut each: impl FnMut(Sample),
) -> Moment {
    let mut now = from;
    while now.distance_m < to_m - 1e-9 && now.time_s < until_s {
        let cell_end_m = ((now.distance_m / road.spacing_m + 1e-9).floor() + 1.0) * road.spacing_m;
        let before = now;
        now = advance(
            road,
            now,
            pace,
            Until::Distance(cell_end_m.min(to_m)),
            &mut each,
        );
        if now.distance_m <= before.distance_m {
            break;
        }
    }
    now
}

struct Rest {
    ceiling_w: f64,
    elapsed_s: f64,
    counted_s: f64,
}

impl Rest {
    fn take(&mut self, sample: &Sample) {
        self.elapsed_s += sample.duration_s;
        if sample.power_w <= self.ceiling_w {
            self.counted_s += sample.duration_s;
        }
    }
}
