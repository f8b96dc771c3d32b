//! What is wrong with sensors, found and told; what can't be true is taken out, a cadence that reads double is halved.

use super::double;
use super::recording::Samples;
use crate::prescription::duration_text;

/// A missing stretch of at least this is a drop-out, in seconds.
const DROP_OUT_S: f64 = 5.0;
/// A sensor that is silent for so long before the recording's end has stopped, in seconds.
const STOPPED_S: f64 = 60.0;
/// More than this from a power meter is a fault, in watts: above the best of track sprinters.
const MOST_W: f32 = 2500.0;
/// A power this much above its neighbours for one or two values is a spike: so many times them, and so many watts more. A sprint
/// lasts longer.
const SPIKE_W: (f32, f32) = (3.0, 300.0);
/// More than this from a cadence sensor is a fault even if it reads double, in turns a minute.
const MOST_RPM: f32 = 250.0;
/// A cadence this far from its neighbours for one or two values is a fault, in turns a minute: legs have inertia.
const SPIKE_RPM: f32 = 35.0;
/// Heart rates outside these are faults, in beats a minute.
const HEART_BPM: (f32, f32) = (30.0, 230.0);
/// The same value, not 0, for at least so many values and seconds: a sensor that is stuck. A power in whole watts is never the
/// same for long; a cadence in whole turns may be for half a minute, a heart rate for minutes.
const STUCK_POWER: (usize, f64) = (15, 20.0);
const STUCK_CADENCE: (usize, f64) = (40, 75.0);
const STUCK_HEART: (usize, f64) = (120, 600.0);
/// Cleans the sensor values, and tells what was wrong.
pub fn clean(samples: &mut Samples) -> Vec<String> {
    let time_s = &samples.time_s;
    let sensors = &mut samples.sensors;
    let mut told = Vec::new();
    let cadence = &mut sensors.cadence_rpm;
    told.extend(double::halve(cadence, time_s));
    told.extend(drop_spikes("cadence", cadence, time_s, |x, near| {
        x > MOST_RPM || (x - near).abs() > SPIKE_RPM
    }));
    told.extend(drop_stuck(
        "cadence",
        "turns a minute",
        cadence,
        time_s,
        STUCK_CADENCE,
    ));
    told.extend(gaps("cadence", cadence, time_s));
    let power = &mut sensors.power_w;
    told.extend(drop_spikes("power", power, time_s, |x, near| {
        !(0.0..=MOST_W).contains(&x) || (x > SPIKE_W.0 * near && x > near + SPIKE_W.1)
    }));
    told.extend(drop_stuck("power", "W", power, time_s, STUCK_POWER));
    told.extend(gaps("power", power, time_s));
    let heart = &mut sensors.heart_rate_bpm;
    told.extend(drop_spikes("heart rate", heart, time_s, |x, _| {
        !(HEART_BPM.0..=HEART_BPM.1).contains(&x)
    }));
    told.extend(drop_stuck(
        "heart rate",
        "beats a minute",
        heart,
        time_s,
        STUCK_HEART,
    ));
    told.extend(gaps("heart rate", heart, time_s));
    told
}

/// Takes out values that can't be true beside their neighbours: those `wrong` says so of, given the middle of three
/// values on each side, where no more than two in a row are so: of two on each side, two wrong ones would be half.
fn drop_spikes(
    name: &str,
    values: &mut [Option<f32>],
    time_s: &[f64],
    wrong: impl Fn(f32, f32) -> bool,
) -> Option<String> {
    let count = values.len();
    let is_wrong: Vec<bool> = (0..count)
        .map(|i| {
            let near = middle(around(values, i));
            values[i].is_some_and(|x| near.is_some_and(|near| wrong(x, near)))
        })
        .collect();
    let mut dropped = 0;
    let mut first_s = None;
    for (from, to) in super::seconds::runs(&is_wrong) {
        if to - from > 2 && values[from..to].iter().flatten().all(|x| !wrong(*x, *x)) {
            continue;
        }
        values[from..to].fill(None);
        dropped += to - from;
        first_s.get_or_insert(time_s[from]);
    }
    let first_s = first_s?;
    let values = if dropped == 1 {
        "1 value"
    } else {
        &format!("{dropped} values")
    };
    Some(format!(
        "{name}: {values} that can't be true left out, the first at {}",
        duration_text(first_s)
    ))
}

/// Three values on each side.
fn around(values: &[Option<f32>], i: usize) -> Vec<f32> {
    let (from, to) = (i.saturating_sub(3), (i + 4).min(values.len()));
    (from..to)
        .filter(|k| *k != i)
        .filter_map(|k| values[k])
        .collect()
}

fn middle(mut values: Vec<f32>) -> Option<f32> {
    values.sort_by(f32::total_cmp);
    values.get(values.len() / 2).copied()
}

/// Takes out long runs of one value.
fn drop_stuck(
    name: &str,
    unit: &str,
    values: &mut [Option<f32>],
    time_s: &[f64],
    (least, least_s): (usize, f64),
) -> Option<String> {
    let mut from = 0;
    let mut stuck = 0.0;
    let mut first = None;
    while from < values.len() {
        let same = values[from..]
            .iter()
            .take_while(|v| **v == values[from])
            .count();
        let to = from + same;
        let lasted_s = time_s[to - 1] - time_s[from];
        if let Some(value) = values[from].filter(|v| *v != 0.0)
            && same >= least
            && lasted_s >= least_s
        {
            values[from..to].fill(None);
            stuck += lasted_s;
            first.get_or_insert((value, time_s[from]));
        }
        from = to;
    }
    let (value, at_s) = first?;
    Some(format!(
        "{name}: stuck for {} in all, first at {} with {value} {unit}; left out",
        duration_text(stuck),
        duration_text(at_s)
    ))
}

/// Tells drop-outs, and a sensor that stopped or began late.
fn gaps(name: &str, values: &[Option<f32>], time_s: &[f64]) -> Option<String> {
    let last = values.iter().rposition(Option::is_some)?;
    let first = values.iter().position(Option::is_some)?;
    let missing: Vec<bool> = values.iter().map(Option::is_none).collect();
    let mut lengths_s: Vec<(f64, f64)> = Vec::new();
    for (from, to) in super::seconds::runs(&missing[..last]) {
        if from > first {
            let lasted_s = time_s[to] - time_s[from];
            if lasted_s >= DROP_OUT_S {
                lengths_s.push((lasted_s, time_s[from]));
            }
        }
    }
    let mut parts = Vec::new();
    let longest = lengths_s.iter().copied().max_by(|a, b| a.0.total_cmp(&b.0));
    if let Some((longest_s, at_s)) = longest {
        let all_s: f64 = lengths_s.iter().map(|l| l.0).sum();
        parts.push(match lengths_s.len() {
            1 => format!(
                "a drop-out of {} at {}",
                duration_text(longest_s),
                duration_text(at_s)
            ),
            n => format!(
                "{n} drop-outs, {} in all, the longest of {} at {}",
                duration_text(all_s),
                duration_text(longest_s),
                duration_text(at_s)
            ),
        });
    }
    let end_s = time_s.last().copied().unwrap_or(0.0);
    if time_s[first] - time_s[0] > STOPPED_S {
        parts.push(format!("nothing before {}", duration_text(time_s[first])));
    }
    if end_s - time_s[last] > STOPPED_S {
        parts.push(format!("nothing after {}", duration_text(time_s[last])));
    }
    (!parts.is_empty()).then(|| format!("{name}: {}", parts.join(", ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::Sensors;

    fn samples(cadence: Vec<Option<f32>>, power: Vec<Option<f32>>) -> Samples {
        Samples {
            start_unix_s: 0.0,
            time_s: (0..cadence.len().max(power.len()))
                .map(|t| t as f64)
                .collect(),
            sensors: Sensors {
                cadence_rpm: cadence,
                power_w: power,
                ..Sensors::default()
            },
        }
    }

    /// A number that wanders by up to `by` around `middle`.
    fn lively(middle: f32, by: i64, count: i64) -> Vec<Option<f32>> {
        (0..count)
            .map(|i| Some(middle + ((i * 7919) % (2 * by + 1) - by) as f32))
            .collect()
    }

    #[test]
    fn good_sensors_are_left_alone() {
        let mut good = samples(lively(85.0, 3, 600), lively(180.0, 25, 600));
        let before = good.clone();
        assert_eq!(clean(&mut good), Vec::<String>::new());
        assert_eq!(good, before);
    }

    #[test]
    fn a_spike_a_drop_out_and_a_stuck_power_are_told_and_left_out() {
        let mut faulty = samples(lively(85.0, 3, 600), lively(180.0, 25, 600));
        let power = &mut faulty.sensors.power_w;
        power[100] = Some(1900.0);
        power[200..230].fill(None);
        power[400..440].fill(Some(203.0));
        let told = clean(&mut faulty);
        let all = told.join("\n");
        assert!(
            all.contains("power: 1 value that can't be true left out, the first at 1:40"),
            "{all}"
        );
        assert!(
            all.contains("power: stuck for 0:39 in all, first at 6:40 with 203 W"),
            "{all}"
        );
        assert!(all.contains("drop-outs"), "{all}");
        assert!(faulty.sensors.power_w[100].is_none() && faulty.sensors.power_w[420].is_none());
    }

    #[test]
    fn a_sprint_is_no_spike() {
        let mut sprint = samples(Vec::new(), lively(150.0, 20, 200));
        sprint.sensors.power_w[100..110].copy_from_slice(&lively(900.0, 40, 10));
        assert_eq!(clean(&mut sprint), Vec::<String>::new());
    }

    #[test]
    fn a_cadence_that_reads_double_for_a_while_is_halved_there() {
        let mut double = samples(lively(56.0, 2, 600), Vec::new());
        for value in double.sensors.cadence_rpm[300..400].iter_mut().flatten() {
            *value *= 2.0;
        }
        let told = clean(&mut double);
        assert_eq!(told.len(), 1);
        assert!(
            told[0].contains("reads double for 1:40 in all, first at 5:00"),
            "{told:?}"
        );
        let all = double.sensors.cadence_rpm.iter().flatten();
        assert!(all.clone().all(|c| (53.0..=59.0).contains(c)));
    }

    #[test]
    fn zero_is_not_missing() {
        let mut coasting = samples(Vec::new(), lively(180.0, 25, 300));
        coasting.sensors.power_w[100..200].fill(Some(0.0));
        assert_eq!(clean(&mut coasting), Vec::<String>::new());
        assert_eq!(coasting.sensors.power_w[150], Some(0.0));
    }
}
