//! Running sums along an ascent, ridden in one way: what every start on it costs, in time that grows with the ascent alone.

use super::candidates::{Candidate, RUN_IN_S, Shift};
use super::cost::{BEST_GRADES, CostParts, Rates};
use super::{Demand, Task};
use crate::climbs::Rule;
use crate::gearing::{Band, Gear, effort};
use crate::ride::Road;
use crate::ride::motion::STALL_SPEED_MS;

/// One gear a step and one aim on one ascent.
pub(super) struct Way<'a> {
    pub(super) task: &'a Task<'a>,
    pub(super) road: &'a Road,
    pub(super) demand: &'a Demand,
    /// The ascent's first node.
    pub(super) from: usize,
    /// The gear on each step of the ascent.
    pub(super) gears: Vec<Gear>,
    pub(super) aim_rpm: f64,
    pub(super) powers_w: (f64, f64),
    /// A rep that is out of band for a larger share of its time is not offered.
    pub(super) most_out_share: f64,
}

/// Steady speeds on each step of an ascent, in metres per second.
pub(super) struct Speeds<'a> {
    /// At the lowest power of those ridden at.
    pub(super) slow: &'a [f64],
    /// At the highest.
    pub(super) fast: &'a [f64],
    /// At the highest that the bands allow, which tells where a rep that is ridden fast ends.
    pub(super) quickest: &'a [f64],
}

/// Running sums over the ascent's cells; entry `i` covers the cells before the ascent's node `i`.
struct Sums {
    time_s: Vec<f64>,
    fast_time_s: Vec<f64>,
    out_s: Vec<f64>,
    turns: Vec<f64>,
    work_j: Vec<f64>,
    grade_s: Vec<f64>,
    grade_squared_s: Vec<f64>,
    off_grade_s: Vec<f64>,
    crossed_s: Vec<f64>,
    /// Shifts at the nodes before this one's step.
    shifts: Vec<f64>,
}

impl Way<'_> {
    fn sums(&self, speeds: &Speeds) -> Sums {
        let Speeds {
            slow,
            fast,
            quickest,
        } = *speeds;
        let n = slow.len();
        let fresh = || {
            let mut column = Vec::with_capacity(n + 1);
            column.push(0.0);
            column
        };
        let mut sums = Sums {
            time_s: fresh(),
            fast_time_s: fresh(),
            out_s: fresh(),
            turns: fresh(),
            work_j: fresh(),
            grade_s: fresh(),
            grade_squared_s: fresh(),
            off_grade_s: fresh(),
            crossed_s: fresh(),
            shifts: fresh(),
        };
        let band = self.demand.bands.cadence_rpm;
        let mut totals = [0.0; 10];
        for i in 0..n {
            let cell = &self.road.cells[self.from + i];
            let gear = &self.gears[i];
            let speed = held_speed_ms(self.aim_rpm, gear, slow[i], fast[i]);
            let top_ms = effort::speed_ms(band.to, gear.development_m);
            let quickest_ms = quickest[i].min(top_ms).max(speed);
            let cadence = effort::cadence_rpm(speed, gear.development_m);
            let shifted = i > 0 && self.gears[i - 1] != *gear;
            let power = cell
                .power_for_speed_w(speed, self.road.drivetrain_efficiency)
                .max(0.0);
            let grade = self.grade(i);
            let dt = cell.slope_length_m / speed;
            let outside = |no: bool| if no { 0.0 } else { dt };
            let add = [
                dt,
                cell.slope_length_m / quickest_ms,
                outside((band.from - 1e-9..=band.to + 1e-9).contains(&cadence)),
                dt * cadence,
                dt * power,
                dt * grade,
                dt * grade * grade,
                outside(BEST_GRADES.contains(&grade)),
                outside(!gear.crossed),
                f64::from(u8::from(shifted)),
            ];
            for (total, more) in totals.iter_mut().zip(add) {
                *total += more;
            }
            sums.time_s.push(totals[0]);
            sums.fast_time_s.push(totals[1]);
            sums.out_s.push(totals[2]);
            sums.turns.push(totals[3]);
            sums.work_j.push(totals[4]);
            sums.grade_s.push(totals[5]);
            sums.grade_squared_s.push(totals[6]);
            sums.off_grade_s.push(totals[7]);
            sums.crossed_s.push(totals[8]);
            sums.shifts.push(totals[9]);
        }
        sums
    }

    fn grade(&self, i: usize) -> f64 {
        let z = &self.task.profile.elevation_m;
        (z[self.from + i + 1] - z[self.from + i]) / self.road.spacing_m
    }

    /// Puts this way of riding beside the best so far at each start where the rep fits.
    pub(super) fn offer(&self, speeds: &Speeds, best: &mut [Option<Candidate>]) {
        let sums = &self.sums(speeds);
        let work_s = self.demand.work_s;
        let (mut end, mut fast_end, mut judged) =
            (Cursor::default(), Cursor::default(), Cursor::default());
        for start in 0..best.len() {
            let (Some(end), Some(fast_end), Some(judged)) = (
                end.seek(&sums.time_s, sums.time_s[start] + work_s),
                fast_end.seek(&sums.fast_time_s, sums.fast_time_s[start] + work_s),
                judged.seek(&sums.time_s, sums.time_s[start] + RUN_IN_S.min(work_s)),
            ) else {
                return;
            };
            let out_s = at(&sums.out_s, end) - at(&sums.out_s, judged);
            if out_s > self.most_out_share * work_s {
                continue;
            }
            let mean = |column: &[f64]| (at(column, end) - column[start]) / work_s;
            let cost = self.cost(sums, start, end, out_s, &mean);
            if best[start]
                .as_ref()
                .is_some_and(|b| b.cost.total_s() <= cost.total_s())
            {
                continue;
            }
            let metres = |position: f64| (self.from as f64 + position) * self.road.spacing_m;
            best[start] = Some(Candidate {
                start_m: metres(start as f64),
                end_m: metres(end),
                end_if_fast_m: metres(fast_end),
                gear: self.gears[start],
                shifts: self.shifts(start, end),
                aim_rpm: self.aim_rpm,
                powers_w: self.powers_w,
                cost,
            });
        }
    }

    /// The shifts between a node and a fractional one.
    fn shifts(&self, start: usize, end: f64) -> Vec<Shift> {
        (start + 1..=last_step(end))
            .filter(|&i| self.gears[i] != self.gears[i - 1])
            .map(|i| Shift {
                at_m: (self.from + i) as f64 * self.road.spacing_m,
                gear: self.gears[i],
            })
            .collect()
    }

    fn cost(
        &self,
        sums: &Sums,
        start: usize,
        end: f64,
        out_s: f64,
        mean: &dyn Fn(&[f64]) -> f64,
    ) -> CostParts {
        let work_s = self.demand.work_s;
        let bands = &self.demand.bands;
        let rates: &Rates = self.task.rates;
        let cadence = mean(&sums.turns);
        let power = mean(&sums.work_j);
        let grade = mean(&sums.grade_s);
        let spread = (mean(&sums.grade_squared_s) - grade * grade)
            .max(0.0)
            .sqrt();
        let tolerance = Rule::default().tolerance(grade);
        let crank_w = power * self.task.drive.crank_per_measured;
        let torque_s = bands
            .torque_nm
            .map_or(0.0, |band| miss(&band, effort::torque_nm(crank_w, cadence)));
        CostParts {
            out_of_band_s: out_s,
            cadence_s: rates.cadence * work_s * miss(&bands.cadence_rpm, cadence),
            power_s: rates.power * work_s * miss(&bands.power_w, power),
            torque_s: rates.torque * work_s * torque_s,
            unsteadiness_s: rates.unsteadiness * work_s * spread / tolerance,
            off_grade_s: rates.off_grade * (at(&sums.off_grade_s, end) - sums.off_grade_s[start]),
            crossed_s: rates.crossed * (at(&sums.crossed_s, end) - sums.crossed_s[start]),
            shifts_s: rates.shift * (sums.shifts[last_step(end) + 1] - sums.shifts[start + 1]),
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
    fn seek(&mut self, column: &[f64], value: f64) -> Option<f64> {
        while self.0 + 1 < column.len() && column[self.0 + 1] < value {
            self.0 += 1;
        }
        let next = column.get(self.0 + 1)?;
        let here = column[self.0];
        Some(self.0 as f64 + ((value - here) / (next - here)).clamp(0.0, 1.0))
    }
}

/// A running sum at a fractional node.
fn at(column: &[f64], position: f64) -> f64 {
    let i = (position as usize).min(column.len() - 2);
    column[i] + (position - i as f64) * (column[i + 1] - column[i])
}
