//! Scales and ticks of axes.

/// A linear scale from values to places on the page.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    domain: (f64, f64),
    range: (f64, f64),
}

impl Scale {
    /// Maps the two ends of the domain, which differ, to those of the range.
    pub(super) fn new(domain: (f64, f64), range: (f64, f64)) -> Self {
        Scale { domain, range }
    }

    pub(super) fn domain(&self) -> (f64, f64) {
        self.domain
    }

    /// Where a value lies on the page.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share = (value - self.domain.0) / (self.domain.1 - self.domain.0);
        self.range.0 + share * (self.range.1 - self.range.0)
    }
}

/// Round values inside a domain, 1, 2 or 5 times a power of ten apart, at most `most` of them and more than a third of that.
pub(super) fn ticks(domain: (f64, f64), most: usize) -> Vec<f64> {
    let width = domain.1 - domain.0;
    if width.partial_cmp(&0.0) != Some(std::cmp::Ordering::Greater) || most == 0 {
        return Vec::new();
    }
    let rough = width / most as f64;
    let power = 10f64.powf(rough.log10().floor());
    let steps = [1.0, 2.0, 5.0, 10.0].map(|s| s * power);
    let step = steps
        .into_iter()
        .find(|s| width / s <= most as f64)
        .unwrap_or(steps[3]);
    let decimals = (-step.log10().floor()).max(0.0) as i32;
    let first = (domain.0 / step - 1e-9).ceil() as i64;
    let last = (domain.1 / step + 1e-9).floor() as i64;
    (first..=last)
        .map(|k| super::rounded(k as f64 * step, decimals))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_inside() {
        assert_eq!(
            ticks((3.0, 12.0), 10),
            [3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0]
        );
        assert_eq!(ticks((0.0, 0.35), 4), [0.0, 0.1, 0.2, 0.3]);
        assert_eq!(ticks((-7.0, 33.0), 5), [0.0, 10.0, 20.0, 30.0]);
        assert!(ticks((1.0, 1.0), 5).is_empty());
    }

    #[test]
    fn a_scale_maps_ends_to_ends() {
        let scale = Scale::new((2.0, 4.0), (100.0, 0.0));
        assert_eq!(
            [scale.at(2.0), scale.at(3.0), scale.at(4.0)],
            [100.0, 50.0, 0.0]
        );
    }
}
