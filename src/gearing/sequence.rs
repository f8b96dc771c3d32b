//! Rear shifts along a road: the cheapest sequence of gears.

use std::ops::{Add, Sub};

/// Whoever has shifted stays in that gear for so long, in metres: some ten seconds uphill (common practice, no source). With 60 m one rep in
/// 180 more leaves its band on recordings in whole metres (seeds 5000 to 5029 of the truth bench).
const LEAST_STAY_M: f64 = 40.0;

/// The least that a gear is ridden after a shift, in steps of a road.
pub fn least_stay(step_m: f64) -> usize {
    ((LEAST_STAY_M / step_m).round() as usize).max(1)
}

/// What the cheapest sequence costs, and its gear on each of so many steps; gears are counted from 0, and there is at least one.
///
/// A step in a gear costs what `cost` says of the step and the gear, and each shift `shift` besides; after a shift the gear stays for at
/// least `stay` steps. The sequence is the cheapest there is: a shift goes to the first step after the stay at once, so that
/// the best way to each step in each gear follows from the best ways to the step before and to the one `stay` before.
pub fn cheapest<C>(
    gears: usize,
    steps: usize,
    stay: usize,
    shift: C,
    cost: &dyn Fn(usize, usize) -> C,
) -> (C, Vec<usize>)
where
    C: Copy + Default + PartialOrd + Add<Output = C> + Sub<Output = C>,
{
    let start = vec![C::default(); gears];
    // Of each gear up to each step: what all steps before cost in it, and the best way there; whether that came by a shift.
    let mut alone = vec![start.clone()];
    let mut total = vec![start];
    let mut shifted: Vec<Vec<bool>> = vec![vec![false; gears]];
    for step in 1..=steps {
        let own = |gear| cost(step - 1, gear);
        alone.push((0..gears).map(|g| alone[step - 1][g] + own(g)).collect());
        let before = step.checked_sub(stay).filter(|before| *before > 0);
        let left = before.map(|before| (before, total[before][least(&total[before])] + shift));
        let arrived = (0..gears).map(|gear| {
            let stayed = total[step - 1][gear] + own(gear);
            match left {
                Some((before, cost)) => {
                    let came = cost + (alone[step][gear] - alone[before][gear]);
                    if came < stayed {
                        (came, true)
                    } else {
                        (stayed, false)
                    }
                }
                None => (stayed, false),
            }
        });
        let (now, came): (Vec<C>, Vec<bool>) = arrived.unzip();
        total.push(now);
        shifted.push(came);
    }
    let mut gear = least(&total[steps]);
    let least_cost = total[steps][gear];
    let mut sequence = Vec::with_capacity(steps);
    let mut step = steps;
    while step > 0 {
        if shifted[step][gear] {
            sequence.extend(std::iter::repeat_n(gear, stay));
            step -= stay;
            gear = least(&total[step]);
        } else {
            sequence.push(gear);
            step -= 1;
        }
    }
    sequence.reverse();
    (least_cost, sequence)
}

/// The place of the least cost, the first of equals; there is at least one.
fn least<C: PartialOrd>(costs: &[C]) -> usize {
    (1..costs.len()).fold(0, |a, b| if costs[b] < costs[a] { b } else { a })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// What a sequence costs, added up; nothing where a gear is left too soon after a shift.
    fn cost(sequence: &[usize], stay: usize, shift: u32, table: &[Vec<u32>]) -> Option<u32> {
        let mut since = stay;
        let mut sum = 0;
        for (step, gear) in sequence.iter().enumerate() {
            if step > 0 && *gear != sequence[step - 1] {
                if since < stay {
                    return None;
                }
                since = 0;
                sum += shift;
            }
            since += 1;
            sum += table[step][*gear];
        }
        (since >= stay).then_some(sum)
    }

    proptest! {
        #[test]
        fn the_sequence_is_as_cheap_as_the_cheapest_of_all(
            table in prop::collection::vec(prop::collection::vec(0_u32..10, 3), 1..7),
            stay in 1_usize..4,
            shift in 0_u32..8,
        ) {
            let signed = |step: usize, gear: usize| i64::from(table[step][gear]);
            let (least, found) = cheapest(3, table.len(), stay, i64::from(shift), &signed);
            let every = (0..3_usize.pow(table.len() as u32)).filter_map(|mut code| {
                let sequence: Vec<usize> = table.iter().map(|_| { let g = code % 3; code /= 3; g }).collect();
                cost(&sequence, stay, shift, &table)
            });
            prop_assert_eq!(Some(least), every.min().map(i64::from));
            prop_assert_eq!(cost(&found, stay, shift, &table).map(i64::from), Some(least));
        }
    }
}
