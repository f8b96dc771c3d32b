//! Which seconds are reps: the cut of the recording that the evidence speaks for most.
//!
//! Each second belongs to a rep of one of the blocks or to other riding. A cut is worth the evidence of its reps' seconds, less
//! a price for each change; reps shorter than their block's least are not allowed. Dynamic programming over the seconds finds
//! the best cut there is.

/// Price of beginning a rep and of ending one, in units of evidence: about eight seconds of riding plainly in the bands
/// each. Cheaper, and a minute of other riding that passes through the bands becomes a rep; dearer, and short ones go.
pub const CHANGE_PRICE: f64 = 10.0;

/// A rep found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Found {
    /// Its first second.
    pub from: usize,
    /// The second after its last.
    pub to: usize,
    /// Which block it is like, from 0.
    pub block: usize,
}

/// One kind of rep to look for.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// Evidence of each second.
    pub evidence: Vec<f64>,
    /// Shortest rep, in seconds; at least 1.
    pub least_s: usize,
}

/// The best cut: its reps in order.
pub fn cut(kinds: &[Kind]) -> Vec<Found> {
    let count = kinds.iter().map(|k| k.evidence.len()).min().unwrap_or(0);
    let sums: Vec<Vec<f64>> = kinds.iter().map(|k| running_sum(&k.evidence)).collect();
    // Worth of the best cut of the first seconds that ends in other riding, and in a rep of each kind.
    let mut other = vec![0.0; count + 1];
    let mut rep = vec![f64::NEG_INFINITY; kinds.len()];
    // From where each came: the rep that ended here, and where the rep that is open here began.
    let mut ended: Vec<Option<usize>> = vec![None; count + 1];
    let mut began: Vec<Vec<usize>> = vec![vec![0; count + 1]; kinds.len()];
    for t in 1..=count {
        other[t] = other[t - 1];
        for (k, kind) in kinds.iter().enumerate() {
            let went_on = rep[k] + kind.evidence[t - 1];
            let begun = match t.checked_sub(kind.least_s.max(1)) {
                Some(from) => other[from] + sums[k][t] - sums[k][from] - CHANGE_PRICE,
                None => f64::NEG_INFINITY,
            };
            if begun > went_on {
                (rep[k], began[k][t]) = (begun, t - kind.least_s.max(1));
            } else {
                (rep[k], began[k][t]) = (went_on, began[k][t - 1]);
            }
        }
        for (k, worth) in rep.iter().enumerate() {
            if worth - CHANGE_PRICE > other[t] {
                (other[t], ended[t]) = (worth - CHANGE_PRICE, Some(k));
            }
        }
    }
    trace(&other, &rep, &ended, &began)
}

fn trace(other: &[f64], rep: &[f64], ended: &[Option<usize>], began: &[Vec<usize>]) -> Vec<Found> {
    let mut t = other.len() - 1;
    let mut found = Vec::new();
    // A recording that stops within a rep has no end of it to pay for.
    let open = (0..rep.len()).max_by(|a, b| rep[*a].total_cmp(&rep[*b]));
    if let Some(k) = open.filter(|k| rep[*k] > other[t]) {
        found.push(Found {
            from: began[k][t],
            to: t,
            block: k,
        });
        t = began[k][t];
    }
    while t > 0 {
        match ended[t] {
            Some(k) => {
                found.push(Found {
                    from: began[k][t],
                    to: t,
                    block: k,
                });
                t = began[k][t];
            }
            None => t -= 1,
        }
    }
    found.reverse();
    found
}

fn running_sum(values: &[f64]) -> Vec<f64> {
    let mut sum = 0.0;
    std::iter::once(0.0)
        .chain(values.iter().map(|v| {
            sum += v;
            sum
        }))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn worth(kinds: &[Kind], cut: &[Found], count: usize) -> f64 {
        let reps = cut.iter().map(|f| {
            let ends = if f.to == count { 1.0 } else { 2.0 };
            kinds[f.block].evidence[f.from..f.to].iter().sum::<f64>() - ends * CHANGE_PRICE
        });
        reps.sum()
    }

    /// The best worth by trying every cut.
    fn best(kinds: &[Kind], count: usize) -> f64 {
        fn from(kinds: &[Kind], at: usize, count: usize) -> f64 {
            let mut best = 0.0_f64;
            for begin in at..count {
                for (k, kind) in kinds.iter().enumerate() {
                    for end in begin + kind.least_s..=count {
                        let own: f64 = kinds[k].evidence[begin..end].iter().sum();
                        let ends = if end == count { 1.0 } else { 2.0 };
                        best = best.max(own - ends * CHANGE_PRICE + from(kinds, end, count));
                    }
                }
            }
            best
        }
        from(kinds, 0, count)
    }

    proptest! {
        #[test]
        fn no_cut_is_worth_more_than_the_one_found(
            a in proptest::collection::vec(-12.0_f64..12.0, 9),
            b in proptest::collection::vec(-12.0_f64..12.0, 9),
            least in 1_usize..4,
        ) {
            let kinds = [Kind { evidence: a, least_s: least }, Kind { evidence: b, least_s: 2 }];
            let found = cut(&kinds);
            let (ours, theirs) = (worth(&kinds, &found, 9), best(&kinds, 9));
            prop_assert!((ours - theirs).abs() < 1e-9, "{ours} {theirs} {found:?}");
            prop_assert!(found.windows(2).all(|w| w[0].to <= w[1].from));
            prop_assert!(found.iter().all(|f| f.to - f.from >= kinds[f.block].least_s));
        }
    }

    #[test]
    fn a_recording_without_seconds_has_no_reps() {
        assert!(cut(&[]).is_empty());
        let nothing = Kind {
            evidence: Vec::new(),
            least_s: 5,
        };
        assert!(cut(&[nothing]).is_empty());
    }
}
