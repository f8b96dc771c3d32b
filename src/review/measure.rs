//! What one ridden rep was: places, times, shares of time in the bands, torque, how it held.

use super::gear::{GearRidden, gears};
use super::planned::AskedBlock;
use super::seconds::Seconds;
use super::segments::Found;
use crate::gearing::Drive;
use crate::gearing::effort::angular_speed_rad_s;
use crate::ride::pacing;

/// The first seconds of a rep are a run-in; what is held is judged after it.
pub const RUN_IN_S: usize = pacing::RUN_IN_S as usize;
/// Cadence is judged on means over so many seconds, and power over so many: from second to second a power meter shows the
/// strokes.
const CADENCE_MEAN_S: usize = 3;
const POWER_MEAN_S: usize = 10;
/// The first and the last minute are compared.
const MINUTE_S: usize = 60;
/// A halt is told from this on, in seconds.
pub const HALT_S: usize = 3;
/// A rep starts from standing where the rider stood within so many seconds before it.
const STANDING_START_S: usize = 5;

/// What a rider held over some time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held {
    /// Mean power, in watts.
    pub power_w: Option<f64>,
    /// Mean cadence while the cranks turn, in turns a minute.
    pub cadence_rpm: Option<f64>,
    /// Mean torque at the cranks while they turn, in newton metres.
    pub torque_nm: Option<f64>,
    /// Mean heart rate, in beats a minute.
    pub heart_rate_bpm: Option<f64>,
}

/// A rep as it was ridden.
#[derive(Debug, Clone, PartialEq)]
pub struct RiddenRep {
    /// Its seconds, and which block it is like.
    pub found: Found,
    /// Length along the road, in metres.
    pub length_m: f64,
    /// Metres climbed; `None` where the recording has no profile.
    pub rise_m: Option<f64>,
    /// Halts within it, as seconds since the recording's start and lengths in seconds.
    pub halts_s: Vec<(usize, usize)>,
    /// Seconds of rolling with cranks at rest; 0 where there is no cadence.
    pub coasting_s: f64,
    /// Whether it was started from standing.
    pub from_standing: bool,
    /// All of it.
    pub whole: Held,
    /// The first minute after the run-in, or the first half if it is shorter.
    pub first_minute: Held,
    /// The last minute, or the last half.
    pub last_minute: Held,
    /// Share of the moving time after the run-in with the three-second cadence in its band, in per cent.
    pub cadence_in_band_pct: Option<f64>,
    /// The same for the ten-second power.
    pub power_in_band_pct: Option<f64>,
    /// The gears, in order.
    pub gears: Vec<GearRidden>,
}

/// What is needed to measure.
#[derive(Debug, Clone, Copy)]
pub struct Rule<'a> {
    /// The recording; its power column measured or estimated.
    pub seconds: &'a Seconds,
    /// The bike, where it is known.
    pub drive: Option<&'a Drive>,
}

impl Rule<'_> {
    /// Measures a rep that was found, against its block.
    pub fn rep(
        &self,
        found: Found,
        block: &AskedBlock,
        planned_gear: Option<(u32, u32)>,
    ) -> RiddenRep {
        let (from, to) = (found.from, found.to);
        let s = self.seconds;
        let last = to.min(s.count() - 1);
        let run_in_s = if block.maximal {
            0
        } else {
            RUN_IN_S.min((to - from) / 4)
        };
        let settled = from + run_in_s;
        let part_s = MINUTE_S.min((to - settled) / 2).max(1);
        let moving: Vec<bool> = (settled..to).map(|i| !s.halted[i] && s.known[i]).collect();
        let in_band = |column: &[Option<f64>], width: usize, inside: &dyn Fn(f64) -> bool| {
            share_in_band(&column[settled..to], &moving, width, inside)
        };
        let bands = &block.bands;
        RiddenRep {
            found,
            length_m: s.distance_m[last] - s.distance_m[from],
            rise_m: s.elevation_m.as_ref().map(|e| e[last] - e[from]),
            halts_s: s
                .halts_between(from, to, HALT_S)
                .into_iter()
                .map(|(a, b)| (a, b - a))
                .collect(),
            coasting_s: (from..to).filter(|i| is_coasting(s, *i)).count() as f64,
            from_standing: s.halted
                [from.saturating_sub(STANDING_START_S)..=from.min(s.count() - 1)]
                .contains(&true),
            whole: self.held(from, to),
            first_minute: self.held(settled, settled + part_s),
            last_minute: self.held(to - part_s, to),
            cadence_in_band_pct: in_band(&s.cadence_rpm, CADENCE_MEAN_S, &|c| {
                bands.cadence_rpm.holds_cadence(c)
            }),
            power_in_band_pct: in_band(&s.power_w, POWER_MEAN_S, &|p| bands.power_w.contains(p)),
            gears: self
                .drive
                .map_or(Vec::new(), |d| gears(s, (from, to), d, planned_gear)),
        }
    }

    /// Means over some seconds.
    pub fn held(&self, from: usize, to: usize) -> Held {
        let s = self.seconds;
        let at_crank = self.drive.map_or(1.0, |d| d.crank_per_measured);
        let (mut work_j, mut angle_rad) = (0.0, 0.0);
        for i in from..to {
            if let (Some(rpm), Some(power_w)) =
                (s.cadence_rpm[i].filter(|c| *c > 1.0), s.power_w[i])
            {
                work_j += power_w * at_crank;
                angle_rad += angular_speed_rad_s(rpm);
            }
        }
        Held {
            power_w: mean(s.power_w[from..to].iter().flatten().copied()),
            cadence_rpm: mean(
                s.cadence_rpm[from..to]
                    .iter()
                    .flatten()
                    .copied()
                    .filter(|c| *c > 1.0),
            ),
            torque_nm: (angle_rad > 0.0).then(|| work_j / angle_rad),
            heart_rate_bpm: mean(s.heart_rate_bpm[from..to].iter().flatten().copied()),
        }
    }
}

pub(super) fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (count, sum) = values.fold((0_usize, 0.0), |(n, s), x| (n + 1, s + x));
    (count > 0).then(|| sum / count as f64)
}

fn is_coasting(seconds: &Seconds, i: usize) -> bool {
    let at_rest = seconds.cadence_rpm[i].is_some_and(|c| c < 1.0);
    at_rest && !seconds.halted[i] && seconds.known[i]
}

/// Share of the seconds that count (per cent) whose mean over `width` seconds is inside.
fn share_in_band(
    values: &[Option<f64>],
    counts: &[bool],
    width: usize,
    is_inside: &dyn Fn(f64) -> bool,
) -> Option<f64> {
    let half = width / 2;
    let (mut inside, mut all) = (0_usize, 0_usize);
    for i in (0..values.len()).filter(|i| counts[*i]) {
        let around = i.saturating_sub(half)..(i + width - half).min(values.len());
        if let Some(mean) = mean(values[around].iter().flatten().copied()) {
            all += 1;
            inside += usize::from(is_inside(mean));
        }
    }
    (all > 0).then(|| 100.0 * inside as f64 / all as f64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gearing::Band;

    #[test]
    fn a_cadence_at_the_end_of_its_band_counts_to_rounding_as_in_a_plan() {
        let band = Band {
            from: 50.0,
            to: 60.0,
            aim: 55.0,
        };
        let share = |rpm: f64| {
            share_in_band(&[Some(rpm); 9], &[true; 9], CADENCE_MEAN_S, &|c| {
                band.holds_cadence(c)
            })
        };
        assert_eq!(share(60.04), Some(100.0));
        assert_eq!(share(60.06), Some(0.0));
    }
}
