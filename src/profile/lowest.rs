//! Where a smooth function of a few numbers is lowest.

/// More rounds than this are not made, should the ground be such that each leads on.
const MOST_ROUNDS: usize = 40;

/// A lowest point so many steps away, or farther, lies beyond what three values a step apart tell.
const BEYOND: f64 = 1.5;
/// Smaller steps are this share of the ones before.
const SHRINKS: f64 = 0.3;

/// Where a function is lowest near a start, sought with steps from the first size down to the last.
///
/// Coordinates in turn, each moved to the lowest point of the parabola through three values (successive parabolic interpolation; Brent,
/// Algorithms for Minimization without Derivatives, 1973, chapter 5), and to none that is not lower.
pub(super) fn lowest<const N: usize>(
    height: impl Fn(&[f64; N]) -> f64,
    start: [f64; N],
    (first, last): (f64, f64),
) -> [f64; N] {
    let mut best = start;
    let mut least = height(&best);
    let mut step = first;
    for _ in 0..MOST_ROUNDS {
        let mut farthest: f64 = 0.0;
        for axis in 0..N {
            let at = |steps: f64| {
                let mut place = best;
                place[axis] += steps * step;
                (height(&place), place)
            };
            let (below, above) = (at(-1.0), at(1.0));
            let bend = below.0 + above.0 - 2.0 * least;
            let rise = above.0 - below.0;
            let steps = if bend > 0.0 {
                (-0.5 * rise / bend).clamp(-2.0, 2.0)
            } else {
                -2.0 * rise.signum()
            };
            farthest = farthest.max(steps.abs());
            for (found, place) in [below, above, at(steps)] {
                if found < least {
                    (least, best) = (found, place);
                }
            }
        }
        // Beyond the three values a parabola only says which way to go: the same steps again. Between them it is to be trusted.
        if farthest >= BEYOND {
            continue;
        }
        if step <= last && farthest < 1.0 {
            break;
        }
        step = last.max(SHRINKS * step);
    }
    best
}

#[cfg(test)]
mod tests {
    use super::lowest;

    /// Booth's function, `(x + 2y − 7)² + (2x + y − 5)²`, is 0 at (1, 3) and nowhere else (a usual test of such searches, from memory).
    #[test]
    fn the_bottom_of_a_slanting_valley_is_found() {
        let booth = |[x, y]: &[f64; 2]| (x + 2.0 * y - 7.0).powi(2) + (2.0 * x + y - 5.0).powi(2);
        let [x, y] = lowest(booth, [-2.0, 0.5], (0.8, 0.02));
        assert!((x - 1.0).abs() < 0.05 && (y - 3.0).abs() < 0.05, "{x} {y}");
    }

    /// A parabola's lowest point is where three of its values say, however far the steps are.
    #[test]
    fn a_parabola_takes_one_round() {
        let asked = std::cell::Cell::new(0);
        let parabola = |[x]: &[f64; 1]| {
            asked.set(asked.get() + 1);
            3.0 * (x - 0.7).powi(2)
        };
        let [x] = lowest(parabola, [0.0], (1.0, 1.0));
        assert!((x - 0.7).abs() < 1e-12, "{x}");
        assert_eq!(asked.get(), 4);
    }

    #[test]
    fn where_nothing_is_lower_the_start_is_the_answer() {
        assert_eq!(lowest(|_| f64::NAN, [2.0, 3.0], (0.5, 0.1)), [2.0, 3.0]);
        assert_eq!(lowest(|_| 1.0, [2.0], (0.5, 0.1)), [2.0]);
    }
}
