//! Rear shifts within a rep: as few as keep the cadence in its band.
//!
//! Along an ascent, on one chainring, each step in each sprocket costs its seconds out of band and its distance from the aims, and
//! each shift costs its rate. A rep that starts anywhere on it may follow the cheapest sequence of sprockets along the whole ascent
//! instead of staying in one gear, where that is cheaper.

use super::risk::Risk;
use super::sums::{Stretch, held_speed_ms, miss};
use crate::gearing::{Gear, effort, sequence};

/// The cheapest sequence of gears (places in `gears`, one a step) along a way's ascent for each chainring on which some shift pays.
///
/// `risks` has what each gear risks on each step.
pub(super) fn sequences(way: &Stretch, gears: &[Gear], risks: &[Vec<Risk>]) -> Vec<Vec<usize>> {
    let mut chainrings: Vec<u32> = gears.iter().map(|g| g.chainring).collect();
    chainrings.sort_unstable();
    chainrings.dedup();
    let (bands, rates) = (&way.demand.bands, way.task.rates);
    let step_s = |i: usize, at: usize| {
        let gear = &gears[at];
        let cell = &way.road.cells[way.from + i];
        let speed_ms = held_speed_ms(way.aim_rpm, gear, way.speeds.slow[i], way.speeds.fast[i]);
        let cadence_rpm = effort::cadence_rpm(speed_ms, gear.development_m);
        let power_w = way.power_w(i, speed_ms);
        cell.slope_length_m / speed_ms
            * (risks[at][i].out
                + rates.cadence * miss(&bands.cadence_rpm, cadence_rpm)
                + rates.power * miss(&bands.power_w, power_w)
                + rates.crossed * f64::from(u8::from(gear.crossed)))
    };
    chainrings
        .into_iter()
        .filter_map(|chainring| {
            let own: Vec<usize> = (0..gears.len())
                .filter(|&at| gears[at].chainring == chainring)
                .collect();
            let (steps, stay) = (
                way.speeds.slow.len(),
                sequence::least_stay(way.road.spacing_m),
            );
            let in_own = |step: usize, gear: usize| step_s(step, own[gear]);
            let (_, found) = sequence::cheapest(own.len(), steps, stay, rates.shift, &in_own);
            let shifts = found.windows(2).any(|w| w[0] != w[1]);
            shifts.then(|| found.into_iter().map(|gear| own[gear]).collect())
        })
        .collect()
}
