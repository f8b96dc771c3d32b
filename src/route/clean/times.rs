//! Times that run backwards, stand still, or are missing.

use super::line::{Count, Line, Note};

/// If more than this share of the times must go for the rest to increase, none can be trusted: the points are then not in
/// the order in which they were ridden, or the clock was no clock.
const MOST_BAD_SHARE: f64 = 0.1;

/// Makes times strictly increasing by dropping as few as possible, or all if that is too many.
pub(super) fn repair(line: &mut Line) -> Vec<Note> {
    let timed: Vec<usize> = (0..line.points.len())
        .filter(|i| line.points[*i].time_s.is_some())
        .collect();
    if timed.is_empty() {
        return Vec::new();
    }
    let times_s: Vec<f64> = timed
        .iter()
        .filter_map(|i| line.points[*i].time_s)
        .collect();
    let increasing = longest_increasing(&times_s);
    let mut bad = Count::default();
    for (i, _) in timed.iter().zip(&increasing).filter(|(_, good)| !**good) {
        bad.see(1, line.origin[*i]);
    }
    if bad.count as f64 > MOST_BAD_SHARE * timed.len() as f64 {
        line.points.iter_mut().for_each(|point| point.time_s = None);
        let text = format!(
            "{} of {} times do not increase; all times left out",
            bad.count,
            timed.len()
        );
        return vec![Note {
            text,
            first: bad.first,
        }];
    }
    for (i, _) in timed.iter().zip(&increasing).filter(|(_, good)| !**good) {
        line.points[*i].time_s = None;
    }
    let mut without = Count::default();
    let mut timed = timed.iter().peekable();
    for i in 0..line.points.len() {
        if timed.next_if_eq(&&i).is_none() {
            without.see(1, line.origin[i]);
        }
    }
    let bad = bad.note("time", "times", "not later than the ones before left out");
    bad.into_iter()
        .chain(without.note("point", "points", "without a time"))
        .collect()
}

/// Of the times of all points of a recording, keeps those of a line whose times are repaired, and between them, as many as
/// increase: cleaning merges the points of a halt, but what sensors wrote there has its own times.
pub(super) fn keep_between(times_s: &mut [Option<f64>], line: &Line) {
    let kept = line.origin.iter().zip(&line.points);
    let mut after: Vec<(usize, f64)> = kept
        .filter_map(|(i, point)| Some((*i, point.time_s?)))
        .collect();
    if after.is_empty() {
        times_s.fill(None);
        return;
    }
    after.push((times_s.len(), f64::INFINITY));
    let (mut from, mut before_s) = (0, f64::NEG_INFINITY);
    for (to, until_s) in after {
        let inside: Vec<(usize, f64)> = (from..to)
            .filter_map(|i| Some((i, times_s[i]?)))
            .filter(|(_, time_s)| before_s < *time_s && *time_s < until_s)
            .collect();
        let values: Vec<f64> = inside.iter().map(|(_, time_s)| *time_s).collect();
        times_s[from..to].fill(None);
        for ((i, time_s), _) in inside
            .iter()
            .zip(longest_increasing(&values))
            .filter(|(_, good)| *good)
        {
            times_s[*i] = Some(*time_s);
        }
        if let Some(own) = times_s.get_mut(to) {
            *own = Some(until_s);
        }
        (from, before_s) = (to + 1, until_s);
    }
}

/// Which values make up a longest strictly increasing subsequence (Schensted, Canad. J. Math. 13, 1961, 179–191). The
/// search is skipped where a value is the largest so far, so a recording in order takes linear time.
fn longest_increasing(values: &[f64]) -> Vec<bool> {
    // For each length, the index of the least value that ends an increasing run of it.
    let mut ends: Vec<usize> = Vec::new();
    let mut before: Vec<Option<usize>> = Vec::with_capacity(values.len());
    for (i, value) in values.iter().enumerate() {
        let length = match ends.last() {
            Some(last) if values[*last] < *value => ends.len(),
            _ => ends.partition_point(|end| values[*end] < *value),
        };
        before.push(length.checked_sub(1).map(|shorter| ends[shorter]));
        if length == ends.len() {
            ends.push(i);
        } else {
            ends[length] = i;
        }
    }
    let mut chosen = vec![false; values.len()];
    let mut at = ends.last().copied();
    while let Some(i) = at {
        chosen[i] = true;
        at = before[i];
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::longest_increasing;
    use proptest::prelude::*;

    #[test]
    fn one_time_out_of_order_is_the_one_to_go() {
        assert_eq!(
            longest_increasing(&[1.0, 2.0, 99.0, 3.0, 4.0]),
            [true, true, false, true, true]
        );
        assert_eq!(
            longest_increasing(&[1.0, 2.0, -9.0, 3.0, 3.0])
                .iter()
                .filter(|chosen| **chosen)
                .count(),
            3
        );
    }

    proptest! {
        #[test]
        fn what_is_chosen_increases(values in proptest::collection::vec(-5.0_f64..5.0, 0..60)) {
            let chosen = longest_increasing(&values);
            let kept: Vec<f64> = values.iter().zip(chosen).filter(|(_, chosen)| *chosen).map(|(value, _)| *value).collect();
            prop_assert!(kept.windows(2).all(|pair| pair[0] < pair[1]));
        }
    }
}
