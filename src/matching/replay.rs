//! The chosen plan ridden as a whole, arrival speeds and all, for the numbers that are shown.

use super::assign::Pick;
use super::candidates::{Candidate, RUN_IN_S};
use super::{CostParts, Task};
use crate::gearing::{Gear, effort};
use crate::ride::{Moment, PUSH_OFF_SPEED_MS, Pace, Road, Sample, Until, advance};

/// A rep on the road.
#[derive(Debug, Clone, PartialEq)]
pub struct PlacedRep {
    /// Which rep, from 1 over all blocks.
    pub rep: usize,
    /// Which block, from 0.
    pub block: usize,
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
    /// The gear.
    pub gear: Gear,
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
    /// How the rider gets to the next rep.
    pub recovery_how: RecoveryHow,
    /// The cheapest other climbs for it, the plan around it unchanged.
    pub others: Vec<Other>,
}

/// Another climb for a rep.
#[derive(Debug, Clone, PartialEq)]
pub struct Other {
    /// The climb's number.
    pub climb: usize,
    /// What speaks against it.
    pub why: String,
}

/// How the rider gets from one rep to the next.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum RecoveryHow {
    #[default]
    /// On along the route, easy.
    RideOn,
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
    /// Whether the rider comes to walking pace somewhere.
    pub stalled: bool,
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
pub fn ride(task: &Task, road: &Road, picks: &[Pick], by_demand: &[Vec<Candidate>]) -> Ridden {
    let rider = task.rider;
    let lowest = task.drive.lowest_development_m();
    let easy = Pace::between_reps(rider, rider.easy_share, lowest);
    let steady = Pace::between_reps(rider, rider.steady_share, lowest);
    let ceiling_w = rider.recovery_ceiling_share * rider.threshold_w;
    let mut ridden = Ridden::default();
    let mut now = Moment {
        distance_m: 0.0,
        time_s: 0.0,
        speed_ms: PUSH_OFF_SPEED_MS,
    };
    let mut stalled = false;
    for (index, pick) in picks.iter().enumerate() {
        let candidate = &by_demand[pick.block][pick.choice];
        let to_start = Until::Distance(candidate.start_m);
        if index == 0 {
            now = advance(road, now, &steady, to_start, |s| stalled |= s.stalled);
        } else {
            let demand = &task.demands[picks[index - 1].block];
            let mut rest = Rest {
                ceiling_w,
                elapsed_s: 0.0,
                counted_s: 0.0,
            };
            let easy_until_s = now.time_s + demand.recovery_at_most_s.unwrap_or(f64::INFINITY);
            now = leg(road, now, &easy, candidate.start_m, easy_until_s, |s| {
                rest.take(&s)
            });
            now = advance(road, now, &steady, to_start, |s| rest.take(&s));
            if let Some(last) = ridden.reps.last_mut() {
                last.recovery_after_s = Some(rest.elapsed_s);
                last.rest_after_s = Some(rest.counted_s);
                let over_s = rest.elapsed_s - demand.recovery_at_most_s.unwrap_or(f64::INFINITY);
                last.cost.over_rest_s = task.rates.over_rest * over_s.max(0.0);
            }
        }
        let (rep, after) = ride_rep(task, road, now, pick, candidate);
        now = after;
        ridden.reps.push(rep);
    }
    if let Some(last) = picks.last() {
        let rest_s = task.demands[last.block]
            .recovery_at_most_s
            .unwrap_or(f64::INFINITY);
        now = leg(
            road,
            now,
            &easy,
            road.length_m(),
            now.time_s + rest_s,
            |s| stalled |= s.stalled,
        );
    }
    now = advance(road, now, &steady, Until::Distance(road.length_m()), |s| {
        stalled |= s.stalled
    });
    ridden.total = Totals {
        duration_s: now.time_s,
        distance_m: now.distance_m,
        ascent_m: task.profile.ascent_descent_m().0,
        work_s: ridden.reps.iter().map(|r| r.duration_s).sum(),
        stalled,
    };
    ridden
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

fn ride_rep(
    task: &Task,
    road: &Road,
    from: Moment,
    pick: &Pick,
    candidate: &Candidate,
) -> (PlacedRep, Moment) {
    let demand = &task.demands[pick.block];
    let development_m = candidate.gear.development_m;
    let speed_ms = effort::speed_ms(candidate.aim_rpm, development_m);
    let pace = Pace::held(speed_ms, candidate.powers_w.0, candidate.powers_w.1);
    let mut trace = Trace::default();
    let after = advance(
        road,
        from,
        &pace,
        Until::Time(from.time_s + demand.work_s),
        |s| trace.take(from.time_s, &s),
    );
    let duration_s = after.time_s - from.time_s;
    let judged = trace.three_second_means(RUN_IN_S.min(0.5 * duration_s));
    let cadences: Vec<f64> = judged
        .iter()
        .map(|m| effort::cadence_rpm(m.0, development_m))
        .collect();
    let powers: Vec<f64> = judged.iter().map(|m| m.1).collect();
    let band = demand.bands.cadence_rpm;
    let inside = cadences
        .iter()
        .filter(|c| (band.from - 0.05..=band.to + 0.05).contains(*c))
        .count();
    let run_m = after.distance_m - from.distance_m;
    let power_w = trace.work_j / duration_s;
    let whole_cadence = effort::cadence_rpm(trace.length_m / duration_s, development_m);
    let torque_nm = effort::torque_nm(power_w * task.drive.crank_per_measured, whole_cadence);
    let rise_m = task.profile.elevation_at_m(after.distance_m)
        - task.profile.elevation_at_m(from.distance_m);
    let rep = PlacedRep {
        rep: pick.rep + 1,
        block: pick.block,
        climbs: climbs_between(task, from.distance_m, after.distance_m),
        start_m: from.distance_m,
        end_m: after.distance_m,
        end_if_fast_m: candidate.end_if_fast_m.max(after.distance_m),
        start_time_s: from.time_s,
        duration_s,
        entry_speed_ms: from.speed_ms,
        speed_ms: trace.length_m / duration_s,
        grade_pct: 100.0 * rise_m / run_m,
        gear: candidate.gear,
        aim_rpm: candidate.aim_rpm,
        cost: candidate.cost,
        power_w,
        power_range_w: extremes(&powers),
        cadence_rpm: cadences.iter().sum::<f64>() / cadences.len().max(1) as f64,
        cadence_range_rpm: extremes(&cadences),
        in_band_pct: 100.0 * inside as f64 / cadences.len().max(1) as f64,
        torque_nm,
        pedal_force_n: effort::pedal_force_n(torque_nm, task.drive.crank_mm),
        recovery_after_s: None,
        rest_after_s: None,
        recovery_how: RecoveryHow::RideOn,
        others: Vec::new(),
    };
    (rep, after)
}

/// Numbers of the climbs that a stretch touches for more than a few steps.
fn climbs_between(task: &Task, from_m: f64, to_m: f64) -> Vec<usize> {
    let overlap = |c: &crate::climbs::Climb| c.to_m.min(to_m) - c.from_m.max(from_m);
    task.climbs
        .climbs
        .iter()
        .filter(|c| overlap(c) > 3.0 * task.profile.spacing_m)
        .map(|c| c.id)
        .collect()
}

fn extremes(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low <= high { (low, high) } else { (0.0, 0.0) }
}

/// Speed and power over time in a rep.
#[derive(Default)]
struct Trace {
    /// End of each stretch since the rep's start (s), metres along the slope and joules up to there.
    marks: Vec<(f64, f64, f64)>,
    length_m: f64,
    work_j: f64,
    last_speed_ms: Option<f64>,
}

impl Trace {
    fn take(&mut self, rep_start_s: f64, sample: &Sample) {
        let speed_ms =
            0.5 * (self.last_speed_ms.unwrap_or(sample.to.speed_ms) + sample.to.speed_ms);
        self.last_speed_ms = Some(sample.to.speed_ms);
        self.length_m += speed_ms * sample.duration_s;
        self.work_j += sample.power_w * sample.duration_s;
        self.marks
            .push((sample.to.time_s - rep_start_s, self.length_m, self.work_j));
    }

    /// Mean speed (m/s) and power (W) over each three seconds from a time on.
    fn three_second_means(&self, from_s: f64) -> Vec<(f64, f64)> {
        let end_s = self.marks.last().map_or(0.0, |m| m.0);
        let windows = ((end_s - from_s) / 3.0 + 1e-6) as usize;
        let mut means = Vec::with_capacity(windows);
        let mut before = self.at(from_s);
        for k in 1..=windows {
            let now = self.at(from_s + 3.0 * k as f64);
            means.push(((now.0 - before.0) / 3.0, (now.1 - before.1) / 3.0));
            before = now;
        }
        means
    }

    /// Metres and joules at a time since the rep's start (s).
    fn at(&self, time_s: f64) -> (f64, f64) {
        let i = self
            .marks
            .partition_point(|m| m.0 < time_s)
            .min(self.marks.len().saturating_sub(1));
        let Some(after) = self.marks.get(i) else {
            return (0.0, 0.0);
        };
        let before = if i > 0 {
            self.marks[i - 1]
        } else {
            (0.0, 0.0, 0.0)
        };
        let share = ((time_s - before.0) / (after.0 - before.0).max(1e-9)).clamp(0.0, 1.0);
        (
            before.1 + share * (after.1 - before.1),
            before.2 + share * (after.2 - before.2),
        )
    }
}
