//! Where a cadence sensor reads double: it counts both pedals, or the magnet twice.
//!
//! Each value reads true or double. Legs neither double their cadence from one second to the next nor turn at 160 for long, so
//! the likeliest sequence of the two has few changes, small steps of the true cadence, and true cadences that riders turn.
//! Dynamic programming (Viterbi) finds it.

use crate::prescription::duration_text;

/// True cadences: two bells (easy riding, big gears), each with its share, middle and spread, in turns a minute (common
/// practice, no source).
const RIDDEN_RPM: [(f64, f64, f64); 2] = [(0.75, 82.0, 14.0), (0.25, 58.0, 9.0)];
/// No cadence is less likely than this, in 1/rpm.
const LEAST_DENSITY: f64 = 1e-5;
/// Neighbouring seconds are alike: so much of what a value says is new. With 1, a minute of spinning at 110 would be halved.
const NEW_SHARE: f64 = 0.15;
/// How far the true cadence moves from one value to the next, as a share, and the most that a step can speak against.
const STEP_SHARE: f64 = 0.1;
const MOST_FOR_STEP: f64 = 20.0;
/// What a change between true and double costs: more than half a wild step, so that one of them is no reason for two changes.
const CHANGE_PRICE: f64 = 12.0;
/// Slower, cranks hardly turn, in turns a minute.
const TURNING_RPM: f32 = 10.0;

/// Halves the values that read double, and tells.
pub(super) fn halve(values: &mut [Option<f32>], time_s: &[f64]) -> Option<String> {
    let turning: Vec<usize> = (0..values.len())
        .filter(|i| values[*i].is_some_and(|c| c > TURNING_RPM))
        .collect();
    let read: Vec<f64> = turning
        .iter()
        .filter_map(|i| values[*i])
        .map(f64::from)
        .collect();
    // A step across a halt or a drop-out says nothing.
    let joined: Vec<bool> = turning.windows(2).map(|w| w[1] == w[0] + 1).collect();
    let is_double = likeliest(&read, &joined);
    let halved: Vec<usize> = turning
        .iter()
        .zip(&is_double)
        .filter(|(_, d)| **d)
        .map(|(i, _)| *i)
        .collect();
    for i in &halved {
        values[*i] = values[*i].map(|c| 0.5 * c);
    }
    let first = *halved.first()?;
    if halved.len() == turning.len() {
        return Some("cadence: the sensor reads double all along; halved".to_owned());
    }
    let spacing_s = |i: usize| time_s.get(i + 1).map_or(1.0, |t| (t - time_s[i]).min(10.0));
    let all_s: f64 = halved.iter().map(|i| spacing_s(*i)).sum();
    Some(format!(
        "cadence: the sensor reads double for {} in all, first at {}; halved there",
        duration_text(all_s),
        duration_text(time_s[first])
    ))
}

fn likeliest(read: &[f64], joined: &[bool]) -> Vec<bool> {
    let Some(first) = read.first() else {
        return Vec::new();
    };
    let true_rpm = |i: usize, state: usize| read[i] / (1.0 + state as f64);
    let mut cost = [0, 1].map(|state| -says(first / (1.0 + state as f64)));
    let mut came: Vec<[usize; 2]> = Vec::with_capacity(read.len());
    for i in 1..read.len() {
        let mut next = [0.0; 2];
        let mut from = [0; 2];
        for state in 0..2 {
            let by = |before: usize| {
                let step = if joined[i - 1] {
                    let z = (true_rpm(i, state) / true_rpm(i - 1, before)).ln() / STEP_SHARE;
                    (0.5 * z * z).min(MOST_FOR_STEP)
                } else {
                    0.0
                };
                cost[before] + step + if before == state { 0.0 } else { CHANGE_PRICE }
            };
            from[state] = usize::from(by(1) < by(0));
            next[state] = by(from[state]) - says(true_rpm(i, state));
        }
        cost = next;
        came.push(from);
    }
    let mut state = usize::from(cost[1] < cost[0]);
    let mut states = vec![state == 1];
    for from in came.iter().rev() {
        state = from[state];
        states.push(state == 1);
    }
    states.reverse();
    states
}

/// How likely a true cadence is, as a logarithm, scaled.
fn says(rpm: f64) -> f64 {
    let bell = |(share, middle, sd): (f64, f64, f64)| {
        let z = (rpm - middle) / sd;
        share * (-0.5 * z * z).exp() / (sd * std::f64::consts::TAU.sqrt())
    };
    let density: f64 = RIDDEN_RPM.into_iter().map(bell).sum();
    NEW_SHARE * density.max(LEAST_DENSITY).ln()
}
