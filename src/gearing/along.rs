//! A gear held along a stretch of road, and the fewest shifts that keep the cadence in its band.
//!
//! The road is ridden in every gear from the speed of arrival, so that the cadence is what it is as the grade wanders. Along
//! the steps of the road dynamic programming then finds, for each chainring, the fewest shifts that keep the cadence in its band,
//! where a shift has to save some seconds out of band to be worth it; of equal ones those nearest to the aim. Costs are whole
//! milliseconds, so that equal ones are equal.

use std::ops::{Add, Sub};

use super::chart::CROSSED_MISS;
use super::{Band, Bands, Drive, Gear, effort, sequence};
use crate::ride::motion::STALL_SPEED_MS;
use crate::ride::pacing::RUN_IN_S;
use crate::ride::{Moment, Pace, Pacing, Road, Until, advance};

/// How a stretch is ridden in the gear that suits it best, and how with shifts.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    /// How the power is dosed in the one gear.
    pub pace: Pace,
    /// One gear from foot to top.
    pub held: GearAlong,
    /// With rear shifts, where they keep the cadence longer in its band than one gear does.
    pub shifting: Option<Shifting>,
}

/// A gear on a stretch.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GearAlong {
    /// The gear.
    pub gear: Gear,
    /// The cadence, after the run-in.
    pub cadence: Cadence,
}

/// A cadence as the grade wanders.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cadence {
    /// Mean cadence, in turns a minute.
    pub mean_rpm: f64,
    /// The cadence is lower for a twentieth of the time, in turns a minute.
    pub lowest_rpm: f64,
    /// The cadence is higher for a twentieth of the time, in turns a minute.
    pub highest_rpm: f64,
    /// Share of the time with the cadence in its band, in per cent.
    pub in_band_pct: f64,
}

/// A stretch ridden with rear shifts.
#[derive(Debug, Clone, PartialEq)]
pub struct Shifting {
    /// The gear at the foot.
    pub gear: Gear,
    /// The shifts on the way, in order.
    pub shifts: Vec<ShiftAt>,
    /// The cadence, after the run-in.
    pub cadence: Cadence,
}

/// A rear shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ShiftAt {
    /// Where along the route, in metres.
    pub at_m: f64,
    /// The gear from there on.
    pub gear: Gear,
}

/// Share of the time that is left out at each end of a range: the first and last metres of a climb are half flat.
const TAIL_SHARE: f64 = 0.05;
/// A cadence this near to its band is in it, in turns a minute: nobody feels less.
const SLACK_RPM: f64 = 0.05;

/// Rides the road's cells `from..to` from a speed of arrival (m/s), holding what the pacing says, in every gear, and says which one
/// is best and where shifts would help. `None` where there is no cell or no gear.
///
/// Held is the aimed cadence with the power inside its band, or the aimed power; powers are where they are measured.
pub fn along(
    drive: &Drive,
    road: &Road,
    (from, to): (usize, usize),
    entry_speed_ms: f64,
    bands: &Bands,
    pacing: Pacing,
) -> Option<Along> {
    road.cells.get(from..to).filter(|cells| !cells.is_empty())?;
    let ride = |pace: &Pace| ridden(road, (from, to), entry_speed_ms, pace);
    let pace_in = |gear: &Gear| match pacing {
        Pacing::Power => Pace::constant(bands.power_w.aim),
        Pacing::Cadence => Pace::held(
            effort::speed_ms(bands.cadence_rpm.aim, gear.development_m),
            bands.power_w.from,
            bands.power_w.to,
        ),
    };
    // A constant power makes the same speed in every gear.
    let first = drive.gears.first()?;
    let shared = (pacing == Pacing::Power).then(|| ride(&pace_in(first)));
    let tracks: Vec<Track> = drive
        .gears
        .iter()
        .map(|&gear| {
            let steps = match &shared {
                Some(steps) => steps.clone(),
                None => ride(&pace_in(&gear)),
            };
            Track::new(gear, &steps, &bands.cadence_rpm)
        })
        .collect();
    let whole = |track: &Track| track.costs.iter().copied().fold(Cost::default(), Cost::add);
    let best = tracks.iter().min_by_key(|track| whole(track))?;
    let held = GearAlong {
        gear: best.gear,
        cadence: cadence(best.steps.iter().copied(), &bands.cadence_rpm),
    };
    let shifting = rings(&tracks)
        .into_iter()
        .map(|own| cheapest(&own, sequence::least_stay(road.spacing_m)))
        .min_by_key(|(cost, _)| *cost)
        .filter(|(cost, _)| cost.out_ms < whole(best).out_ms)
        .map(|(_, sequence)| shifting(road, from, &sequence, &bands.cadence_rpm));
    Some(Along {
        pace: pace_in(&best.gear),
        held,
        shifting,
    })
}

/// A step of the road as it is ridden in a gear.
#[derive(Debug, Clone, Copy)]
struct Step {
    duration_s: f64,
    cadence_rpm: f64,
    judged: bool,
}

/// What a gear costs on each step.
struct Track {
    gear: Gear,
    steps: Vec<Step>,
    costs: Vec<Cost>,
}

impl Track {
    /// `ridden` has the time of each step and the speed on it.
    fn new(gear: Gear, ridden: &[(f64, f64)], band: &Band) -> Track {
        let mut passed_s = 0.0;
        let steps: Vec<Step> = ridden
            .iter()
            .map(|&(duration_s, speed_ms)| {
                passed_s += duration_s;
                Step {
                    duration_s,
                    cadence_rpm: effort::cadence_rpm(speed_ms, gear.development_m),
                    judged: passed_s > RUN_IN_S,
                }
            })
            .collect();
        let costs = steps.iter().map(|s| Cost::of(s, &gear, band)).collect();
        Track { gear, steps, costs }
    }
}

/// What riding costs: first time out of band and what shifts are worth of it, then shifts, then distance from the aim and a
/// chain that runs askew.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
struct Cost {
    out_ms: u64,
    shifts: u32,
    miss_ms: u64,
}

/// A shift is worth so much time in band, in milliseconds: for less nobody shifts (common practice, no source).
const SHIFT_WORTH_MS: u64 = 6000;

impl Cost {
    const SHIFT: Cost = Cost {
        out_ms: SHIFT_WORTH_MS,
        shifts: 1,
        miss_ms: 0,
    };

    fn of(step: &Step, gear: &Gear, band: &Band) -> Cost {
        let ms = |share: f64| (1000.0 * step.duration_s * share).round() as u64;
        let askew = if gear.crossed { CROSSED_MISS } else { 0.0 };
        let judged = |share: f64| if step.judged { ms(share) } else { 0 };
        Cost {
            out_ms: judged(f64::from(u8::from(!in_band(step.cadence_rpm, band)))),
            shifts: 0,
            miss_ms: judged((step.cadence_rpm / band.aim).ln().abs()) + ms(askew),
        }
    }
}

impl Add for Cost {
    type Output = Cost;

    fn add(self, other: Cost) -> Cost {
        Cost {
            out_ms: self.out_ms + other.out_ms,
            shifts: self.shifts + other.shifts,
            miss_ms: self.miss_ms + other.miss_ms,
        }
    }
}

impl Sub for Cost {
    type Output = Cost;

    fn sub(self, other: Cost) -> Cost {
        Cost {
            out_ms: self.out_ms - other.out_ms,
            shifts: self.shifts - other.shifts,
            miss_ms: self.miss_ms - other.miss_ms,
        }
    }
}

fn in_band(cadence_rpm: f64, band: &Band) -> bool {
    (band.from - SLACK_RPM..=band.to + SLACK_RPM).contains(&cadence_rpm)
}

/// How long each cell takes (s), and the mean speed on it (m/s).
fn ridden(
    road: &Road,
    (from, to): (usize, usize),
    entry_speed_ms: f64,
    pace: &Pace,
) -> Vec<(f64, f64)> {
    let start = Moment {
        distance_m: from as f64 * road.spacing_m,
        time_s: 0.0,
        speed_ms: entry_speed_ms,
    };
    let mut times_s = vec![0.0; to - from];
    let end = Until::Distance(to as f64 * road.spacing_m);
    advance(road, start, pace, end, |sample| {
        let cell = (sample.to.distance_m / road.spacing_m - 1e-6).floor() as usize;
        times_s[cell.clamp(from, to - 1) - from] += sample.duration_s;
    });
    let cells = road.cells[from..to].iter();
    cells
        .zip(times_s)
        .map(|(cell, s)| (s, (cell.slope_length_m / s.max(1e-9)).max(STALL_SPEED_MS)))
        .collect()
}

/// The gears of each chainring: shifts are at the rear only.
fn rings(tracks: &[Track]) -> Vec<Vec<&Track>> {
    let mut rings: Vec<u32> = tracks.iter().map(|t| t.gear.chainring).collect();
    rings.sort_unstable_by(|a, b| b.cmp(a));
    rings.dedup();
    rings
        .into_iter()
        .map(|ring| tracks.iter().filter(|t| t.gear.chainring == ring).collect())
        .collect()
}

/// The sequence of gears, one a step, that costs least, and what it costs; `tracks` is not empty.
fn cheapest<'a>(tracks: &[&'a Track], stay: usize) -> (Cost, Vec<(&'a Track, usize)>) {
    let steps = tracks.first().map_or(0, |t| t.costs.len());
    let cost = |step: usize, gear: usize| tracks[gear].costs[step];
    let (least, gears) = sequence::cheapest(tracks.len(), steps, stay, Cost::SHIFT, &cost);
    let sequence = gears.into_iter().enumerate();
    (least, sequence.map(|(i, gear)| (tracks[gear], i)).collect())
}

fn shifting(road: &Road, from: usize, sequence: &[(&Track, usize)], band: &Band) -> Shifting {
    let shifts = sequence
        .windows(2)
        .filter(|pair| pair[0].0.gear != pair[1].0.gear)
        .map(|pair| ShiftAt {
            at_m: (from + pair[1].1) as f64 * road.spacing_m,
            gear: pair[1].0.gear,
        })
        .collect();
    Shifting {
        gear: sequence[0].0.gear,
        shifts,
        cadence: cadence(sequence.iter().map(|(track, i)| track.steps[*i]), band),
    }
}

/// Mean, range and share in band of the steps that are judged; of all where none is.
fn cadence(steps: impl Iterator<Item = Step> + Clone, band: &Band) -> Cadence {
    let any_judged = steps.clone().any(|s| s.judged);
    let mut timed: Vec<(f64, f64)> = steps
        .filter(|s| s.judged || !any_judged)
        .map(|s| (s.cadence_rpm, s.duration_s))
        .collect();
    timed.sort_by(|a, b| a.0.total_cmp(&b.0));
    let time_s: f64 = timed.iter().map(|t| t.1).sum();
    let turns: f64 = timed.iter().map(|t| t.0 * t.1).sum();
    let inside_s: f64 = timed
        .iter()
        .filter(|t| in_band(t.0, band))
        .map(|t| t.1)
        .sum();
    Cadence {
        mean_rpm: turns / time_s,
        lowest_rpm: by_time(&timed, TAIL_SHARE * time_s),
        highest_rpm: by_time(&timed, (1.0 - TAIL_SHARE) * time_s),
        in_band_pct: 100.0 * inside_s / time_s,
    }
}

/// The cadence below which the rider is for a time (seconds), of cadences in order and how long each is ridden.
fn by_time(timed: &[(f64, f64)], time_s: f64) -> f64 {
    let mut passed_s = 0.0;
    for (cadence_rpm, duration_s) in timed {
        passed_s += duration_s;
        if passed_s >= time_s {
            return *cadence_rpm;
        }
    }
    timed.last().map_or(0.0, |last| last.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn track(sprocket: u32, cadences: &[f64], band: &Band) -> Track {
        let gear = Gear {
            chainring: 34,
            sprocket,
            hub_ratio: None,
            development_m: 60.0,
            crossed: false,
        };
        // A minute a step, so that every one but the first seconds is judged; 60 m a turn makes the speed the cadence.
        let ridden: Vec<(f64, f64)> = cadences.iter().map(|rpm| (60.0, *rpm)).collect();
        Track::new(gear, &ridden, band)
    }

    const BAND: Band = Band {
        from: 50.0,
        to: 60.0,
        aim: 55.0,
    };

    #[test]
    fn one_step_in_the_grade_takes_one_shift_where_it_lies() {
        let (a, b) = (
            track(17, &[55.0, 55.0, 40.0, 41.0], &BAND),
            track(21, &[70.0, 70.0, 52.0, 53.0], &BAND),
        );
        let (cost, sequence) = cheapest(&[&a, &b], 1);
        assert_eq!((cost.out_ms, cost.shifts), (SHIFT_WORTH_MS, 1));
        let teeth: Vec<u32> = sequence.iter().map(|(t, _)| t.gear.sprocket).collect();
        assert_eq!(teeth, [17, 17, 21, 21]);
    }

    #[test]
    fn nobody_shifts_to_and_fro_for_ten_seconds() {
        let ridden = |rpm: f64| vec![(60.0, 55.0), (10.0, rpm), (60.0, 55.0)];
        let (a, b) = (track(17, &[], &BAND).gear, track(19, &[], &BAND).gear);
        let (a, b) = (
            Track::new(a, &ridden(61.0), &BAND),
            Track::new(b, &[(60.0, 61.0), (10.0, 55.0), (60.0, 61.0)], &BAND),
        );
        assert_eq!(cheapest(&[&a, &b], 1).0.shifts, 0);
    }

    #[test]
    fn a_gear_that_holds_the_band_is_never_left_to_come_nearer_to_the_aim() {
        let (a, b) = (
            track(17, &[51.0, 51.0, 51.0, 51.0], &BAND),
            track(19, &[55.0, 55.0, 65.0, 55.0], &BAND),
        );
        assert_eq!(cheapest(&[&a, &b], 1).0.shifts, 0);
    }
}
