//! Rear shifts within a rep: as few as keep the cadence in its band.
//!
//! Along an ascent, on one chainring, each step in each sprocket costs its seconds out of band and its distance from the aims, and
//! each shift costs its rate. Dynamic programming finds the cheapest sequence of sprockets along the whole ascent; a rep that
//! starts anywhere on it may follow that sequence instead of staying in one gear, where that is cheaper.

use super::sums::{held_speed_ms, miss};
use super::{Demand, Task};
use crate::gearing::{Gear, effort};
use crate::ride::Road;

/// The cheapest sequence of gears along an ascent (one a step, from the node `from` on) for each chainring on which some
/// shift pays.
///
/// `slow` and `fast` have the steady speeds of each step at the ends of the power band.
pub(super) fn sequences(
    task: &Task,
    road: &Road,
    demand: &Demand,
    from: usize,
    gears: &[Gear],
    slow: &[f64],
    fast: &[f64],
) -> Vec<Vec<Gear>> {
    let mut chainrings: Vec<u32> = gears.iter().map(|g| g.chainring).collect();
    chainrings.sort_unstable();
    chainrings.dedup();
    let step_s = |i: usize, gear: &Gear| {
        let bands = &demand.bands;
        let cell = &road.cells[from + i];
        let speed_ms = held_speed_ms(bands.cadence_rpm.aim, gear, slow[i], fast[i]);
        let cadence_rpm = effort::cadence_rpm(speed_ms, gear.development_m);
        let power_w = cell.power_for_speed_w(speed_ms, road.drivetrain_efficiency);
        let inside =
            (bands.cadence_rpm.from - 1e-9..=bands.cadence_rpm.to + 1e-9).contains(&cadence_rpm);
        let rates = task.rates;
        cell.slope_length_m / speed_ms
            * (f64::from(u8::from(!inside))
                + rates.cadence * miss(&bands.cadence_rpm, cadence_rpm)
                + rates.power * miss(&bands.power_w, power_w)
                + rates.crossed * f64::from(u8::from(gear.crossed)))
    };
    chainrings
        .into_iter()
        .filter_map(|chainring| {
            let own: Vec<Gear> = gears
                .iter()
                .filter(|g| g.chainring == chainring)
                .copied()
                .collect();
            let sequence = cheapest(&own, slow.len(), task.rates.shift, &step_s);
            let shifts = sequence.windows(2).any(|w| w[0] != w[1]);
            shifts.then_some(sequence)
        })
        .collect()
}

/// The gear on each of `steps` steps such that the steps' costs and the shifts between them are least in all.
fn cheapest(
    gears: &[Gear],
    steps: usize,
    shift_s: f64,
    step_s: &dyn Fn(usize, &Gear) -> f64,
) -> Vec<Gear> {
    let mut total_s = vec![0.0_f64; gears.len()];
    let mut came_from: Vec<Vec<usize>> = Vec::with_capacity(steps);
    for i in 0..steps {
        let lowest = least(&total_s);
        let shifted_s = total_s[lowest] + shift_s;
        let arrived = total_s.iter().enumerate().map(|(g, &stayed_s)| {
            if i > 0 && shifted_s < stayed_s {
                (lowest, shifted_s + step_s(i, &gears[g]))
            } else {
                (g, stayed_s + step_s(i, &gears[g]))
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

    fn gear(sprocket: u32) -> Gear {
        Gear {
            chainring: 34,
            sprocket,
            hub_ratio: None,
            development_m: 72.0 / f64::from(sprocket),
            crossed: false,
        }
    }

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
            let gears = [gear(17), gear(19), gear(21)];
            let place = |g: &Gear| gears.iter().position(|o| o == g).unwrap_or(0);
            let shift_s = f64::from(shift);
            let found = cheapest(&gears, table.len(), shift_s, &|i, g| f64::from(table[i][place(g)]));
            let found: Vec<usize> = found.iter().map(place).collect();
            let every = (0..3_usize.pow(table.len() as u32)).map(|mut code| {
                let sequence: Vec<usize> = table.iter().map(|_| { let g = code % 3; code /= 3; g }).collect();
                cost_s(&sequence, shift_s, &table)
            });
            prop_assert_eq!(Some(cost_s(&found, shift_s, &table)), every.reduce(f64::min));
        }
    }
}
