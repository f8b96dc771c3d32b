//! How a rep goes: cadence and power while the clock runs.

use crate::gearing::effort;

/// A few seconds of a rep.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// End of these seconds since the rep's start, in seconds.
    pub time_s: f64,
    /// Where along the route they end, in metres.
    pub distance_m: f64,
    /// Mean cadence in the gear ridden, in turns a minute.
    pub cadence_rpm: f64,
    /// Mean power where it is measured, in watts.
    pub power_w: f64,
    /// Mean torque at the cranks, in newton metres.
    pub torque_nm: f64,
}

/// Where the rider is at some time in a rep, and what was done until then.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Passed {
    /// Time since the rep's start, in seconds.
    pub(super) time_s: f64,
    /// Distance along the route, in metres.
    pub(super) distance_m: f64,
    /// Turns of the cranks.
    pub(super) turns: f64,
    /// Work where it is measured, in joules.
    pub(super) work_j: f64,
}

/// What was done by a time since the rep's start (s), given a mark for its start and at the end of each stretch.
pub(super) fn at(marks: &[Passed], time_s: f64) -> Passed {
    let next = marks.partition_point(|m| m.time_s < time_s);
    let (Some(before), Some(after)) = (
        marks.get(next.saturating_sub(1)).or(marks.last()),
        marks.get(next).or(marks.last()),
    ) else {
        return Passed::default();
    };
    let step_s = after.time_s - before.time_s;
    let share = ((time_s - before.time_s) / step_s.max(1e-9)).clamp(0.0, 1.0);
    let between = |a: f64, b: f64| a + share * (b - a);
    Passed {
        time_s,
        distance_m: between(before.distance_m, after.distance_m),
        turns: between(before.turns, after.turns),
        work_j: between(before.work_j, after.work_j),
    }
}

/// Means over `step_s` seconds from `from_s` on, whole steps only; `crank_per_measured` turns measured power into that at the cranks.
pub(super) fn means(
    marks: &[Passed],
    from_s: f64,
    step_s: f64,
    crank_per_measured: f64,
) -> Vec<Moments> {
    let end_s = marks.last().map_or(0.0, |m| m.time_s);
    let steps = ((end_s - from_s) / step_s + 1e-6) as usize;
    let mut before = at(marks, from_s);
    (1..=steps)
        .map(|k| {
            let now = at(marks, from_s + step_s * k as f64);
            let cadence_rpm = 60.0 / step_s * (now.turns - before.turns);
            let power_w = (now.work_j - before.work_j) / step_s;
            before = now;
            Moments {
                time_s: now.time_s,
                distance_m: now.distance_m,
                cadence_rpm,
                power_w,
                torque_nm: effort::torque_nm(power_w * crank_per_measured, cadence_rpm),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn means_are_those_of_what_was_done_between() {
        let mark = |time_s, distance_m, turns, work_j| Passed {
            time_s,
            distance_m,
            turns,
            work_j,
        };
        // Ten seconds at 60 rpm and 200 W, then two at 30 rpm and 100 W.
        let marks = [
            mark(0.0, 100.0, 0.0, 0.0),
            mark(10.0, 150.0, 10.0, 2000.0),
            mark(12.0, 155.0, 11.0, 2200.0),
        ];
        let means = means(&marks, 0.0, 3.0, 1.0);
        assert_eq!(means.len(), 4);
        approx::assert_relative_eq!(means[0].distance_m, 115.0);
        approx::assert_relative_eq!(means[0].cadence_rpm, 60.0);
        // One second of the first kind and two of the second: 2 turns and 400 J in 3 s.
        approx::assert_relative_eq!(means[3].cadence_rpm, 40.0);
        approx::assert_relative_eq!(means[3].power_w, 400.0 / 3.0);
        // P / ω by hand: 133.33 W at 40 rpm (4.18879 rad/s).
        approx::assert_relative_eq!(means[3].torque_nm, 31.831, max_relative = 1e-4);
    }
}
