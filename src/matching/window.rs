//! The cheapest of a window that slides along a sorted list.

use std::collections::VecDeque;

/// For each of `count` windows, the place of the least key in it; `None` where it is empty.
///
/// A window leaves out what lies `before` it and stops at the first that is no longer `within`. Both ends move only
/// forward from window to window, so that all windows together take time in proportion to the keys and the windows.
pub(super) fn least<K>(
    keys: &[K],
    count: usize,
    is_less: impl Fn(&K, &K) -> bool,
    before: impl Fn(usize, usize) -> bool,
    within: impl Fn(usize, usize) -> bool,
) -> Vec<Option<usize>> {
    let (mut first, mut next) = (0, 0);
    let mut rising: VecDeque<usize> = VecDeque::new();
    (0..count)
        .map(|window| {
            while next < keys.len() && within(window, next) {
                while rising
                    .back()
                    .is_some_and(|&last| !is_less(&keys[last], &keys[next]))
                {
                    rising.pop_back();
                }
                rising.push_back(next);
                next += 1;
            }
            while first < next && before(window, first) {
                first += 1;
            }
            while rising.front().is_some_and(|&front| front < first) {
                rising.pop_front();
            }
            rising.front().copied()
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn it_is_the_least_of_each_window(
            keys in prop::collection::vec(0_u32..50, 0..20),
            mut ends in prop::collection::vec((0_usize..22, 0_usize..22), 0..12),
        ) {
            let mut firsts: Vec<usize> = ends.iter().map(|e| e.0).collect();
            firsts.sort_unstable();
            ends.sort_unstable_by_key(|e| e.1);
            let lasts: Vec<usize> = ends.iter().map(|e| e.1).collect();
            let found = least(
                &keys,
                firsts.len(),
                |a, b| a < b,
                |w, i| i < firsts[w],
                |w, i| i < lasts[w],
            );
            for (w, place) in found.into_iter().enumerate() {
                let slow = (firsts[w]..lasts[w].min(keys.len())).map(|i| keys[i]).min();
                prop_assert_eq!(place.map(|i| keys[i]), slow);
            }
        }
    }
}
