//! The session as a whole: counts, time in the bands, and how torque and cadence held from the first rep to the last.

use super::ReviewedRep;
use super::measure::Held;
use super::verdict::Done;

/// What the reps come to together.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// How many reps were planned.
    pub planned: usize,
    /// How many of them were ridden, however.
    pub ridden: usize,
    /// How many were ridden as planned.
    pub as_planned: usize,
    /// How many were ridden that were not planned.
    pub extra: usize,
    /// Work in all reps, in seconds.
    pub work_s: f64,
    /// Share of the reps' time with the cadence in its band, in per cent.
    pub cadence_in_band_pct: Option<f64>,
    /// Share of it with the power in its band, in per cent.
    pub power_in_band_pct: Option<f64>,
    /// What the first whole rep held, and the last; `None` with fewer than two of one block.
    pub first_and_last: Option<(Held, Held)>,
    /// How many of the easy ridings between reps were recoveries, of how many.
    pub recoveries: (usize, usize),
}

impl Session {
    /// Sums reps up.
    pub fn of(reps: &[ReviewedRep]) -> Session {
        let is = |rep: &&ReviewedRep, done: Done| rep.done.contains(&done);
        let planned = reps.iter().filter(|r| r.planned.is_some());
        let recoveries = reps.iter().filter_map(|r| r.recovery);
        Session {
            planned: planned.clone().count(),
            ridden: planned.clone().filter(|r| r.ridden.is_some()).count(),
            as_planned: planned.filter(|r| is(r, Done::AsPlanned)).count(),
            extra: reps.iter().filter(|r| is(r, Done::Extra)).count(),
            work_s: reps.iter().map(work_s).sum(),
            cadence_in_band_pct: weighed(reps, |r| r.cadence_in_band_pct),
            power_in_band_pct: weighed(reps, |r| r.power_in_band_pct),
            first_and_last: first_and_last(reps),
            recoveries: (
                recoveries.clone().filter(|r| r.was_one).count(),
                recoveries.count(),
            ),
        }
    }
}

fn work_s(rep: &ReviewedRep) -> f64 {
    rep.ridden
        .as_ref()
        .map_or(0.0, |r| (r.found.to - r.found.from) as f64)
}

/// The mean of a share over all reps' time.
fn weighed(
    reps: &[ReviewedRep],
    share: impl Fn(&super::measure::RiddenRep) -> Option<f64>,
) -> Option<f64> {
    let parts: Vec<(f64, f64)> = reps
        .iter()
        .filter_map(|r| Some((work_s(r), share(r.ridden.as_ref()?)?)))
        .collect();
    let all_s: f64 = parts.iter().map(|p| p.0).sum();
    (all_s > 0.0).then(|| parts.iter().map(|(s, pct)| s * pct).sum::<f64>() / all_s)
}

/// The first and the last rep of the first rep's block that were not cut short.
fn first_and_last(reps: &[ReviewedRep]) -> Option<(Held, Held)> {
    let mut whole = reps.iter().filter(|r| !r.done.contains(&Done::Shorter));
    let ridden = |r: &ReviewedRep| r.ridden.as_ref().map(|x| (x.found.block, x.whole));
    let (block, first) = whole.by_ref().find_map(ridden)?;
    let mut of_block = whole.filter_map(ridden).filter(|(b, _)| *b == block);
    let last = of_block.next_back()?.1;
    Some((first, last))
}

/// By how much a value has changed, in per cent.
pub fn change_pct(from: Option<f64>, to: Option<f64>) -> Option<f64> {
    let (from, to) = (from?, to?);
    (from.abs() > 1e-9).then(|| 100.0 * (to / from - 1.0))
}
