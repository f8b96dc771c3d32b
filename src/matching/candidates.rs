//! Every place where a rep can start.
//!
//! In a rep the rider holds one cadence in one gear, and so one speed v, as long as the power that takes lies in its band;
//! on steeper ground they ride at the band's upper power, on gentler ground at its lower one, and the cadence gives.
//! Away from changes of speed that is `v` clamped between the steady speeds at the two ends of the power band, so that
//! time, time out of band and energy of every candidate come from running sums along the ascent.

use super::Task;
use super::cost::{BEST_GRADES, CostParts, Rates};
use crate::gearing::{Band, Bands, Drive, Gear, effort};
use crate::prescription::{PrescriptionError, Set};
use crate::ride::Road;

/// What a block of equal reps asks for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Demand {
    /// How many reps.
    pub reps: u32,
    /// How long each lasts, in seconds.
    pub work_s: f64,
    /// Shortest recovery after each, in seconds.
    pub recovery_at_least_s: f64,
    /// Longest recovery after each that costs nothing, in seconds.
    pub recovery_at_most_s: Option<f64>,
    /// Power, cadence, torque during the work.
    pub bands: Bands,
}

/// Why a set can't be matched to climbs.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DemandError {
    /// The bands of a block don't go together.
    #[error("block {block}: {source}")]
    Bands {
        /// Which block, from 1.
        block: usize,
        /// What is wrong with them.
        source: PrescriptionError,
    },
    /// Maximal starts have no power band to match a grade with.
    #[error(
        "block {block} is of maximal starts; only blocks with bands of power, cadence or torque can be placed on climbs"
    )]
    Maximal {
        /// Which block, from 1.
        block: usize,
    },
}

impl Demand {
    /// What each block of a set asks of a rider with a threshold (watts).
    ///
    /// # Errors
    /// [`DemandError`] where a block has no bands or they don't go together.
    pub fn of_set(set: &Set, threshold_w: f64) -> Result<Vec<Demand>, DemandError> {
        set.blocks
            .iter()
            .zip(1..)
            .map(|(block, number)| {
                let bands = crate::prescription::resolve(block, threshold_w)
                    .map_err(|source| DemandError::Bands {
                        block: number,
                        source,
                    })?
                    .ok_or(DemandError::Maximal { block: number })?;
                Ok(Demand {
                    reps: block.reps,
                    work_s: block.work_s,
                    recovery_at_least_s: block.recovery.at_least_s,
                    recovery_at_most_s: block.recovery.at_most_s,
                    bands,
                })
            })
            .collect()
    }
}

/// A place where a rep can start, ridden as well as it can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Candidate {
    /// Where it starts along the route, in metres.
    pub start_m: f64,
    /// Where the clock is expected to stop it, in metres.
    pub end_m: f64,
    /// Where the clock stops it if it is ridden as fast as the bands allow, in metres.
    pub end_if_fast_m: f64,
    /// The gear.
    pub gear: Gear,
    /// The cadence to aim for, in turns a minute.
    pub aim_rpm: f64,
    /// The powers between which that cadence is held, where they are measured, in watts.
    pub powers_w: (f64, f64),
    /// What it costs by itself.
    pub cost: CostParts,
}

/// The start of a rep, in seconds, in which the cadence is not judged.
pub const RUN_IN_S: f64 = 15.0;
/// A rep out of band for a larger share of its time is no rep.
pub const MOST_OUT_OF_BAND_SHARE: f64 = 0.2;
/// Aims that are tried, as shares of the way from the block's aim to the ends of its band.
const AIM_SHARES: [f64; 5] = [0.0, -0.5, 0.5, -0.25, 0.25];

/// The best candidate at each start on each ascent, in route order.
pub fn list(task: &Task, road: &Road, demand: &Demand) -> Vec<Candidate> {
    let mut all = Vec::new();
    for ascent in &task.climbs.ascents {
        let from = task.profile.node_at(ascent.from_m);
        let to = task.profile.node_at(ascent.to_m).min(road.cells.len());
        if from < to {
            all.extend(between(
                task,
                road,
                demand,
                from,
                to,
                MOST_OUT_OF_BAND_SHARE,
            ));
        }
    }
    all
}

/// The best candidate at each node of a stretch that is out of band for at most a share of its time.
pub fn between(
    task: &Task,
    road: &Road,
    demand: &Demand,
    from: usize,
    to: usize,
    most_out_share: f64,
) -> Vec<Candidate> {
    let efficiency = road.drivetrain_efficiency;
    let steady = |power_w: f64| -> Vec<f64> {
        road.cells[from..to]
            .iter()
            .map(|c| c.speed_for_power_ms(power_w, efficiency))
            .collect()
    };
    let (slow, fast) = (
        steady(demand.bands.power_w.from),
        steady(demand.bands.power_w.to),
    );
    let mut best: Vec<Option<Candidate>> = vec![None; to - from];
    for gear in task
        .drive
        .gears
        .iter()
        .filter(|g| reaches(g, &demand.bands, &slow, &fast))
    {
        for share in AIM_SHARES {
            let aim_rpm = toward(&demand.bands.cadence_rpm, share);
            let Some(powers_w) = powers_at_w(task.drive, &demand.bands, aim_rpm) else {
                continue;
            };
            let way = Way {
                task,
                road,
                demand,
                from,
                gear: *gear,
                aim_rpm,
                powers_w,
                most_out_share,
            };
            let sums = if demand.bands.torque_nm.is_some() {
                way.sums(&steady(powers_w.0), &steady(powers_w.1))
            } else {
                way.sums(&slow, &fast)
            };
            way.offer(&sums, &mut best);
        }
    }
    best.into_iter().flatten().collect()
}

/// Whether a gear can turn a cadence in its band anywhere on the ascent.
fn reaches(gear: &Gear, bands: &Bands, slow: &[f64], fast: &[f64]) -> bool {
    let from = effort::speed_ms(bands.cadence_rpm.from, gear.development_m);
    let to = effort::speed_ms(bands.cadence_rpm.to, gear.development_m);
    slow.iter()
        .zip(fast)
        .any(|(low, high)| *low <= to && *high >= from)
}

/// A share of the way from the aim to an end of the band, up for positive shares.
fn toward(band: &Band, share: f64) -> f64 {
    let end = if share < 0.0 { band.from } else { band.to };
    band.aim + share.abs() * (end - band.aim)
}

/// One gear and one aim on one ascent.
struct Way<'a> {
    task: &'a Task<'a>,
    road: &'a Road,
    demand: &'a Demand,
    from: usize,
    gear: Gear,
    aim_rpm: f64,
    powers_w: (f64, f64),
    most_out_share: f64,
}

/// The powers (where they are measured) inside the power band and, at a cadence, the torque band.
fn powers_at_w(drive: &Drive, bands: &Bands, cadence_rpm: f64) -> Option<(f64, f64)> {
    let crank = drive.crank_per_measured;
    let at_crank = Bands {
        power_w: bands.power_w.scaled(crank),
        ..*bands
    };
    at_crank
        .powers_at_w(cadence_rpm)
        .map(|(from, to)| (from / crank, to / crank))
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
}

impl Way<'_> {
    fn sums(&self, slow: &[f64], fast: &[f64]) -> Sums {
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
        };
        let band = self.demand.bands.cadence_rpm;
        let aim_ms = effort::speed_ms(self.aim_rpm, self.gear.development_m);
        let top_ms = effort::speed_ms(band.to, self.gear.development_m);
        let mut totals = [0.0; 8];
        for i in 0..n {
            let cell = &self.road.cells[self.from + i];
            let speed = aim_ms
                .max(slow[i])
                .min(fast[i])
                .max(crate::ride::motion::STALL_SPEED_MS);
            let quickest = fast[i].min(top_ms).max(speed);
            let cadence = effort::cadence_rpm(speed, self.gear.development_m);
            let power = cell
                .power_for_speed_w(speed, self.road.drivetrain_efficiency)
                .max(0.0);
            let grade = self.grade(i);
            let dt = cell.slope_length_m / speed;
            let outside = |no: bool| if no { 0.0 } else { dt };
            let add = [
                dt,
                cell.slope_length_m / quickest,
                outside((band.from - 1e-9..=band.to + 1e-9).contains(&cadence)),
                dt * cadence,
                dt * power,
                dt * grade,
                dt * grade * grade,
                outside(BEST_GRADES.contains(&grade)),
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
        }
        sums
    }

    fn grade(&self, i: usize) -> f64 {
        let z = &self.task.profile.elevation_m;
        (z[self.from + i + 1] - z[self.from + i]) / self.road.spacing_m
    }

    /// Puts this way of riding beside the best so far at each start where the rep fits.
    fn offer(&self, sums: &Sums, best: &mut [Option<Candidate>]) {
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
            if best[start].is_some_and(|b| b.cost.total_s() <= cost.total_s()) {
                continue;
            }
            let metres = |position: f64| (self.from as f64 + position) * self.road.spacing_m;
            best[start] = Some(Candidate {
                start_m: metres(start as f64),
                end_m: metres(end),
                end_if_fast_m: metres(fast_end),
                gear: self.gear,
                aim_rpm: self.aim_rpm,
                powers_w: self.powers_w,
                cost,
            });
        }
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
        let tolerance = 0.2 * (grade.abs() + 0.01);
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
            crossed_s: if self.gear.crossed {
                rates.crossed * work_s
            } else {
                0.0
            },
            ..CostParts::default()
        }
    }
}

/// How far a value lies from its aim, 1 at the end of the band.
fn miss(band: &Band, value: f64) -> f64 {
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

/// How long a stretch of cells takes as fast and as slow as the power band allows, whatever the gear, in seconds.
pub fn stretch_times_s(
    road: &Road,
    drive: &Drive,
    bands: &Bands,
    from: usize,
    to: usize,
) -> (f64, f64) {
    let efficiency = drive.system.resistance.drivetrain_efficiency;
    let time = |power_w: f64| -> f64 {
        let speed = |c: &crate::ride::Cell| c.speed_for_power_ms(power_w, efficiency);
        road.cells[from..to]
            .iter()
            .map(|c| c.slope_length_m / speed(c).max(0.1))
            .sum()
    };
    (time(bands.power_w.to), time(bands.power_w.from))
}
