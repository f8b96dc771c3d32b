//! One rep ridden from the speed of arrival until the clock stops it.

use super::candidates::{Candidate, RUN_IN_S};
use super::course::{self, Passed};
use super::replay::PlacedRep;
use super::wishes::climbs_under;
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
    let means = |from_s: f64| {
        let crank_per_measured = task.drive.crank_per_measured;
        course::means(&trace.marks, from_s, 3.0, crank_per_measured)
    };
    let judged = means(RUN_IN_S.min(0.5 * duration_s));
    let cadences: Vec<f64> = judged.iter().map(|m| m.cadence_rpm).collect();
    let powers: Vec<f64> = judged.iter().map(|m| m.power_w).collect();
    let band = demand.bands.cadence_rpm;
    let inside = cadences.iter().filter(|c| band.holds_cadence(**c)).count();
    let run_m = after.distance_m - from.distance_m;
    let power_w = trace.done().work_j / duration_s;
    let whole_cadence = 60.0 * trace.done().turns / duration_s;
    let torque_nm = effort::torque_nm(power_w * task.drive.crank_per_measured, whole_cadence);
    let rise_m = task.profile.elevation_at_m(after.distance_m)
        - task.profile.elevation_at_m(from.distance_m);
    let mut climbs = climbs_under(&task.climbs.climbs, from.distance_m, after.distance_m);
    climbs.sort_unstable();
    let rep = PlacedRep {
        rep: rep + 1,
        block,
        maximal: demand.start.is_some(),
        pacing: task.wishes.pacing,
        climbs,
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
        over_recovery_s: 0.0,
        waiting_after_s: 0.0,
        recovery_how: Way::RideOn,
        others: Vec::new(),
        course: means(0.0),
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
    let (mut trace, mut now) = (Trace::starting(from), from);
    for (gear, end_m) in gears.zip(ends) {
        let pace = if demand.start.is_some() || task.wishes.pacing == Pacing::Power {
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

fn extremes(values: &[f64]) -> (f64, f64) {
    let low = values.iter().copied().fold(f64::INFINITY, f64::min);
    let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if low <= high { (low, high) } else { (0.0, 0.0) }
}

/// What is done over time in a rep.
struct Trace {
    /// At the rep's start and at the end of each stretch.
    marks: Vec<Passed>,
    length_m: f64,
    last_speed_ms: Option<f64>,
}

impl Trace {
    fn starting(from: Moment) -> Trace {
        Trace {
            marks: vec![Passed {
                distance_m: from.distance_m,
                ..Passed::default()
            }],
            length_m: 0.0,
            last_speed_ms: None,
        }
    }

    fn take(&mut self, rep_start_s: f64, development_m: f64, sample: &Sample) {
        let speed_ms =
            0.5 * (self.last_speed_ms.unwrap_or(sample.to.speed_ms) + sample.to.speed_ms);
        self.last_speed_ms = Some(sample.to.speed_ms);
        self.length_m += speed_ms * sample.duration_s;
        let before = self.done();
        self.marks.push(Passed {
            time_s: sample.to.time_s - rep_start_s,
            distance_m: sample.to.distance_m,
            turns: before.turns + speed_ms * sample.duration_s / development_m,
            work_j: before.work_j + sample.power_w * sample.duration_s,
        });
    }

    /// What has been done so far.
    fn done(&self) -> Passed {
        self.marks.last().copied().unwrap_or_default()
    }
}
