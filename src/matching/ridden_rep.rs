//! One rep ridden from the speed of arrival until the clock stops it.

use super::candidates::{Candidate, RUN_IN_S};
use super::replay::PlacedRep;
use super::{Demand, Task, Way};
use crate::gearing::effort;
use crate::ride::{Moment, Pace, Pacing, Road, Sample, Until, advance};

/// Rides a candidate as rep `rep` (from 0) of a block (from 0).
pub(super) fn ride(
    task: &Task,
    road: &Road,
    from: Moment,
    (rep, block): (usize, usize),
    candidate: &Candidate,
) -> (PlacedRep, Moment) {
    let demand = &task.demands[block];
    let mut from = from;
    if let Some(start) = &demand.start {
        from.speed_ms = start.from_ms;
    }
    let (trace, after) = trace(task, road, from, demand, candidate);
    let duration_s = after.time_s - from.time_s;
    let judged = trace.three_second_means(RUN_IN_S.min(0.5 * duration_s));
    let cadences: Vec<f64> = judged.iter().map(|m| m.0).collect();
    let powers: Vec<f64> = judged.iter().map(|m| m.1).collect();
    let band = demand.bands.cadence_rpm;
    let inside = cadences
        .iter()
        .filter(|c| (band.from - 0.05..=band.to + 0.05).contains(*c))
        .count();
    let run_m = after.distance_m - from.distance_m;
    let power_w = trace.work_j / duration_s;
    let whole_cadence = 60.0 * trace.turns / duration_s;
    let torque_nm = effort::torque_nm(power_w * task.drive.crank_per_measured, whole_cadence);
    let rise_m = task.profile.elevation_at_m(after.distance_m)
        - task.profile.elevation_at_m(from.distance_m);
    let rep = PlacedRep {
        rep: rep + 1,
        block,
        maximal: demand.start.is_some(),
        pacing: task.wishes.pacing,
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
        shifts: candidate
            .shifts
            .iter()
            .filter(|s| s.at_m < after.distance_m)
            .copied()
            .collect(),
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
        waiting_after_s: 0.0,
        recovery_how: Way::RideOn,
        others: Vec::new(),
    };
    (rep, after)
}

/// Rides until the clock stops the rep, gear after gear.
fn trace(
    task: &Task,
    road: &Road,
    from: Moment,
    demand: &Demand,
    candidate: &Candidate,
) -> (Trace, Moment) {
    let until = Until::Time(from.time_s + demand.work_s);
    let ends = candidate.shifts.iter().map(|s| Some(s.at_m)).chain([None]);
    let gears = [candidate.gear]
        .into_iter()
        .chain(candidate.shifts.iter().map(|s| s.gear));
    let (mut trace, mut now) = (Trace::default(), from);
    for (gear, end_m) in gears.zip(ends) {
        let pace = if demand.start.is_some() {
            Pace::constant(candidate.powers_w.0 * task.drive.crank_per_measured)
        } else if task.wishes.pacing == Pacing::Power {
            Pace::constant(candidate.powers_w.0)
        } else {
            let speed_ms = effort::speed_ms(candidate.aim_rpm, gear.development_m);
            Pace::held(speed_ms, candidate.powers_w.0, candidate.powers_w.1)
        };
        // The clock may stop the rep before the shift.
        let stop = advance(road, now, &pace, until, |_| {});
        let until = match end_m {
            Some(end_m) if end_m < stop.distance_m => Until::Distance(end_m),
            _ => until,
        };
        let started_s = from.time_s;
        now = advance(road, now, &pace, until, |s| {
            trace.take(started_s, gear.development_m, &s);
        });
        if until == Until::Time(from.time_s + demand.work_s) {
            break;
        }
    }
    (trace, now)
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
    /// End of each stretch since the rep's start (s), turns of the cranks and joules up to there.
    marks: Vec<(f64, f64, f64)>,
    length_m: f64,
    turns: f64,
    work_j: f64,
    last_speed_ms: Option<f64>,
}

impl Trace {
    fn take(&mut self, rep_start_s: f64, development_m: f64, sample: &Sample) {
        let speed_ms =
            0.5 * (self.last_speed_ms.unwrap_or(sample.to.speed_ms) + sample.to.speed_ms);
        self.last_speed_ms = Some(sample.to.speed_ms);
        self.length_m += speed_ms * sample.duration_s;
        self.turns += speed_ms * sample.duration_s / development_m;
        self.work_j += sample.power_w * sample.duration_s;
        self.marks
            .push((sample.to.time_s - rep_start_s, self.turns, self.work_j));
    }

    /// Mean cadence (rpm) and power (W) over each three seconds from a time on.
    fn three_second_means(&self, from_s: f64) -> Vec<(f64, f64)> {
        let end_s = self.marks.last().map_or(0.0, |m| m.0);
        let windows = ((end_s - from_s) / 3.0 + 1e-6) as usize;
        let mut means = Vec::with_capacity(windows);
        let mut before = self.at(from_s);
        for k in 1..=windows {
            let now = self.at(from_s + 3.0 * k as f64);
            means.push((20.0 * (now.0 - before.0), (now.1 - before.1) / 3.0));
            before = now;
        }
        means
    }

    /// Turns and joules at a time since the rep's start (s).
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
