//! Running sums along an ascent, ridden in one way: what every start on it costs, in time that grows with the ascent alone.

use super::candidates::{Candidate, RUN_IN_S, Shift};
use super::cost::{BEST_GRADES, CostParts, Rates};
use super::risk::Risk;
use super::{Demand, Task, halts};
use crate::gearing::{Band, Gear, effort};
use crate::ride::Road;
use crate::ride::motion::STALL_SPEED_MS;

/// One gear a step and one aim on one ascent.
pub(super) struct Stretch<'a> {
    pub(super) task: &'a Task<'a>,
    pub(super) road: &'a Road,
    pub(super) demand: &'a Demand,
    /// The ascent's first node.
    pub(super) from: usize,
    pub(super) aim_rpm: f64,
    pub(super) powers_w: (f64, f64),
    pub(super) speeds: Speeds<'a>,
    /// A rep that is out of band for a larger share of its time is not offered.
    pub(super) most_out_share: f64,
}

/// Speeds on each step of an ascent, in metres per second.
pub(super) struct Speeds<'a> {
    /// At the lowest power of those ridden at.
    pub(super) slow: &'a [f64],
    /// At the highest.
    pub(super) fast: &'a [f64],
    /// At the highest that the bands allow, which tells where a rep that is ridden fast ends.
    pub(super) quickest: &'a [f64],
}

/// What is ridden up to a node of the ascent, and how.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Sum {
    time_s: f64,
    fast_time_s: f64,
    /// Out of band if the road is as it seems.
    out_s: f64,
    /// Out of band on average over what the road may be.
    likely_out_s: f64,
    turns: f64,
    work_j: f64,
    grade_s: f64,
    grade_squared_s: f64,
    off_grade_s: f64,
    /// Where no steady climb may lie.
    doubted_s: f64,
    crossed_s: f64,
    /// Shifts at the nodes before this one's step.
    shifts: f64,
}

impl Sum {
    /// A share of the way to another.
    fn toward(&self, other: &Sum, share: f64) -> Sum {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Sum {
            time_s: mix(self.time_s, other.time_s),
            fast_time_s: mix(self.fast_time_s, other.fast_time_s),
            out_s: mix(self.out_s, other.out_s),
            likely_out_s: mix(self.likely_out_s, other.likely_out_s),
            turns: mix(self.turns, other.turns),
            work_j: mix(self.work_j, other.work_j),
            grade_s: mix(self.grade_s, other.grade_s),
            grade_squared_s: mix(self.grade_squared_s, other.grade_squared_s),
            off_grade_s: mix(self.off_grade_s, other.off_grade_s),
            doubted_s: mix(self.doubted_s, other.doubted_s),
            crossed_s: mix(self.crossed_s, other.crossed_s),
            shifts: other.shifts,
        }
    }
}

/// The best so far at a start, and what it costs in all.
pub(super) struct Best {
    pub(super) candidate: Option<Candidate>,
    pub(super) cost_s: f64,
}

impl Best {
    pub(super) fn none() -> Self {
        Best {
            candidate: None,
            cost_s: f64::INFINITY,
        }
    }
}

impl Stretch<'_> {
    /// Running sums along the ascent in a gear a step, each with its risk, into `sums`; entry `i` covers the steps before the ascent's node `i`.
    fn sum_up<'g>(&self, each: impl Fn(usize) -> (&'g Gear, Risk), sums: &mut Vec<Sum>) {
        sums.clear();
        let mut sum = Sum::default();
        sums.push(sum);
        let band = self.demand.bands.cadence_rpm;
        let run_m = self.road.spacing_m;
        let z = &self.task.profile.elevation_m[self.from..];
        let mut last = None;
        for (i, cell) in self.road.cells[self.from..][..self.speeds.slow.len()]
            .iter()
            .enumerate()
        {
            let (gear, risk) = each(i);
            let speed = held_speed_ms(self.aim_rpm, gear, self.speeds.slow[i], self.speeds.fast[i]);
            let top_ms = effort::speed_ms(band.to, gear.development_m);
            let quickest = self.speeds.quickest[i].min(top_ms).max(speed);
            let grade = (z[i + 1] - z[i]) / run_m;
            let dt = cell.slope_length_m / speed;
            sum.time_s += dt;
            sum.fast_time_s += cell.slope_length_m / quickest;
            sum.out_s += if risk.is_out { dt } else { 0.0 };
            sum.likely_out_s += risk.out * dt;
            sum.turns += cell.slope_length_m / gear.development_m;
            sum.work_j += dt * self.power_w(i, speed);
            sum.grade_s += dt * grade;
            sum.grade_squared_s += dt * grade * grade;
            if !BEST_GRADES.contains(&grade) {
                sum.off_grade_s += dt;
            }
            if let Some(doubt) = self.task.climbs.doubt.get(self.from + i) {
                sum.doubted_s += doubt * dt;
            }
            if gear.crossed {
                sum.crossed_s += dt;
            }
            if last.is_some_and(|g| g != gear) {
                sum.shifts += 1.0;
            }
            last = Some(gear);
            sums.push(sum);
        }
    }

    /// The power on a step that is ridden at a speed (m/s), in watts: an end of the band where the cadence gives.
    pub(super) fn power_w(&self, step: usize, speed_ms: f64) -> f64 {
        if speed_ms <= self.speeds.slow[step] {
            self.powers_w.0
        } else if speed_ms >= self.speeds.fast[step] {
            self.powers_w.1
        } else {
            let cell = &self.road.cells[self.from + step];
            cell.power_for_speed_w(speed_ms, self.road.drivetrain_efficiency)
                .clamp(self.powers_w.0, self.powers_w.1)
        }
    }

    /// Puts this way of riding beside the best so far at each start where the rep fits; `sums` is room to work in.
    pub(super) fn offer<'g>(
        &self,
        each: impl Fn(usize) -> (&'g Gear, Risk),
        sums: &mut Vec<Sum>,
        best: &mut [Best],
    ) {
        self.sum_up(&each, sums);
        let work_s = self.demand.work_s;
        let most_out_s = self.most_out_share * work_s;
        let (mut end, mut fast_end, mut judged) =
            (Cursor::default(), Cursor::default(), Cursor::default());
        let time = |s: &Sum| s.time_s;
        for (start, best) in best.iter_mut().enumerate() {
            let begun = sums[start];
            let (Some(end), Some(fast_end), Some(judged)) = (
                end.seek(sums, time, begun.time_s + work_s),
                fast_end.seek(sums, |s| s.fast_time_s, begun.fast_time_s + work_s),
                judged.seek(sums, time, begun.time_s + RUN_IN_S.min(work_s)),
            ) else {
                return;
            };
            let (done, run_in) = (at(sums, end), at(sums, judged));
            let likely_out_s = done.likely_out_s - run_in.likely_out_s;
            if done.out_s - run_in.out_s > most_out_s || likely_out_s >= best.cost_s {
                continue;
            }
            let metres = |position: f64| (self.from as f64 + position) * self.road.spacing_m;
            let mut cost = self.cost(sums, start, end, &done, likely_out_s);
            cost.halts_s = halts::cost_s(self.task, metres(start as f64), metres(end));
            let cost_s = cost.total_s();
            if cost_s >= best.cost_s {
                continue;
            }
            best.cost_s = cost_s;
            best.candidate = Some(Candidate {
                start_m: metres(start as f64),
                end_m: metres(end),
                end_if_fast_m: metres(fast_end),
                gear: *each(start).0,
                shifts: self.shifts(&each, start, end),
                aim_rpm: self.aim_rpm,
                powers_w: self.powers_w,
                cost,
            });
        }
    }

    /// The shifts between a node and a fractional one.
    fn shifts<'g>(
        &self,
        each: &impl Fn(usize) -> (&'g Gear, Risk),
        start: usize,
        end: f64,
    ) -> Vec<Shift> {
        (start + 1..=last_step(end))
            .filter(|&i| each(i).0 != each(i - 1).0)
            .map(|i| Shift {
                at_m: (self.from + i) as f64 * self.road.spacing_m,
                gear: *each(i).0,
            })
            .collect()
    }

    fn cost(
        &self,
        sums: &[Sum],
        start: usize,
        end: f64,
        done: &Sum,
        likely_out_s: f64,
    ) -> CostParts {
        let work_s = self.demand.work_s;
        let bands = &self.demand.bands;
        let rates: &Rates = self.task.rates;
        let begun = &sums[start];
        let cadence = 60.0 * (done.turns - begun.turns) / work_s;
        let power = (done.work_j - begun.work_j) / work_s;
        let grade = (done.grade_s - begun.grade_s) / work_s;
        let grade_squared = (done.grade_squared_s - begun.grade_squared_s) / work_s;
        let spread = (grade_squared - grade * grade).max(0.0).sqrt();
        let tolerance = self.task.climbs.rule.tolerance(grade);
        let crank_w = power * self.task.drive.crank_per_measured;
        let torque_s = bands
            .torque_nm
            .map_or(0.0, |band| miss(&band, effort::torque_nm(crank_w, cadence)));
        CostParts {
            out_of_band_s: likely_out_s,
            cadence_s: rates.cadence * work_s * miss(&bands.cadence_rpm, cadence),
            power_s: rates.power * work_s * miss(&bands.power_w, power),
            torque_s: rates.torque * work_s * torque_s,
            unsteadiness_s: rates.unsteadiness * work_s * spread / tolerance,
            off_grade_s: rates.off_grade * (done.off_grade_s - begun.off_grade_s),
            doubt_s: rates.doubt * (done.doubted_s - begun.doubted_s),
            crossed_s: rates.crossed * (done.crossed_s - begun.crossed_s),
            shifts_s: rates.shift * (sums[last_step(end) + 1].shifts - sums[start + 1].shifts),
            ..CostParts::default()
        }
    }
}

/// The step in which a fractional node lies; of a whole one, the step before it.
fn last_step(position: f64) -> usize {
    (position.ceil() as usize).saturating_sub(1)
}

/// The steady speed (m/s) of a rider who holds a cadence in a gear between the speeds of the lowest and the highest power.
pub(super) fn held_speed_ms(aim_rpm: f64, gear: &Gear, slow_ms: f64, fast_ms: f64) -> f64 {
    effort::speed_ms(aim_rpm, gear.development_m)
        .max(slow_ms)
        .min(fast_ms)
        .max(STALL_SPEED_MS)
}

/// How far a value lies from its aim, 1 at the end of the band.
pub(super) fn miss(band: &Band, value: f64) -> f64 {
    let room = if value < band.aim {
        band.aim - band.from
    } else {
        band.to - band.aim
    };
    let off = (value - band.aim).abs();
    if room > 1e-9 {
        off / room
    } else {
        off / band.aim.abs().max(1e-9) * 20.0
    }
}

/// A place in a running sum that only moves forward.
#[derive(Default)]
struct Cursor(usize);

impl Cursor {
    /// The fractional node at which a running sum reaches a value; `None` where it never does.
    fn seek(&mut self, sums: &[Sum], of: impl Fn(&Sum) -> f64, value: f64) -> Option<f64> {
        while self.0 + 1 < sums.len() && of(&sums[self.0 + 1]) < value {
            self.0 += 1;
        }
        let next = of(sums.get(self.0 + 1)?);
        let here = of(&sums[self.0]);
        Some(self.0 as f64 + ((value - here) / (next - here)).clamp(0.0, 1.0))
    }
}

/// The running sums at a fractional node.
fn at(sums: &[Sum], position: f64) -> Sum {
    let i = (position as usize).min(sums.len() - 2);
    sums[i].toward(&sums[i + 1], position - i as f64)
}
