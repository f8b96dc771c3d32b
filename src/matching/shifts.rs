//! Rear shifts within a rep: as few as keep the cadence in its band.
//!
//! Along an ascent, on one chainring, each step in each sprocket costs its seconds out of band and its distance from the aims, and
//! each shift costs its rate. Dynamic programming finds the cheapest sequence of sprockets along the whole ascent; a rep that
//! starts anywhere on it may follow that sequence instead of staying in one gear, where that is cheaper.

use super::risk::Risk;
use super::sums::{Way, held_speed_ms, miss};
use crate::gearing::{Gear, effort};

/// The cheapest sequence of gears (places in `gears`, one a step) along a way's ascent for each chainring on which some shift pays.
///
/// `risks` has what each gear risks on each step.
pub(super) fn sequences(way: &Way, gears: &[Gear], risks: &[Vec<Risk>]) -> Vec<Vec<usize>> {
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
            let sequence = cheapest(&own, way.speeds.slow.len(), rates.shift, &step_s);
            let shifts = sequence.windows(2).any(|w| w[0] != w[1]);
            shifts.then_some(sequence)
        })
        .collect()
}

/// The gear on each of `steps` steps such that the steps' costs and the shifts between them are least in all.
fn cheapest(
    gears: &[usize],
    steps: usize,
    shift_s: f64,
    step_s: &dyn Fn(usize, usize) -> f64,
) -> Vec<usize> {
    let mut total_s = vec![0.0_f64; gears.len()];
    let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(steps);
    for i in 0..steps {
        let lowest = least(&total_s);
        let shifted_s = total_s[lowest] + shift_s;
        let arrived = total_s.iter().enumerate().map(|(g, &stayed_s)| {
            if i > 0 && shifted_s < stayed_s {
                (lowest, shifted_s + step_s(i, gears[g]))
            } else {
                (g, stayed_s + step_s(i, gears[g]))
            }
        });
        let (from, now): (Vec<usize>, Vec<f64>) = arrived.unzip();
        came_from.push(from);
        total_s = now;
    }
    let mut at = least(&total_s);
    let mut sequence = Vec::with_capacity(steps);
    for from in came_from.iter().rev() {
        sequence.push(gears[at]);
        at = from[at];
    }
    sequence.reverse();
    sequence
}

/// The place of the least value; `values` is not empty.
fn least(values: &[f64]) -> usize {
    (0..values.len())
        .min_by(|&a, &b| values[a].total_cmp(&values[b]))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What a sequence costs, added up.
    fn cost_s(sequence: &[usize], shift_s: f64, table: &[Vec<u32>]) -> f64 {
        let steps = sequence
            .iter()
            .zip(table)
            .map(|(&g, row)| f64::from(row[g]));
        let shifts = sequence.windows(2).filter(|w| w[0] != w[1]).count();
        steps.sum::<f64>() + shift_s * shifts as f64
    }

    proptest! {
        #[test]
        fn the_sequence_is_as_cheap_as_the_cheapest_of_all(
            table in prop::collection::vec(prop::collection::vec(0_u32..10, 3), 1..7),
            shift in 0_u32..8,
        ) {
            let shift_s = f64::from(shift);
            let found = cheapest(&[0, 1, 2], table.len(), shift_s, &|i, g| f64::from(table[i][g]));
            let every = (0..3_usize.pow(table.len() as u32)).map(|mut code| {
                let sequence: Vec<usize> = table.iter().map(|_| { let g = code % 3; code /= 3; g }).collect();
                cost_s(&sequence, shift_s, &table)
            });
            prop_assert_eq!(Some(cost_s(&found, shift_s, &table)), every.reduce(f64::min));
        }
    }
}
