//! Fewer explanations without bias: Fearnhead and Clifford, J. R. Stat. Soc. B 65, 2003, 887–899.
//!
//! Those heavier than a threshold are all kept; of the others some are drawn, in order, and each weighs the threshold after.

use super::super::rng::Rng;

/// Thins to about `most`, keeping every weight in the mean.
pub fn thin<T>(
    rng: &mut Rng,
    all: &mut Vec<T>,
    most: usize,
    weight_of: impl Fn(&mut T) -> &mut f64,
) {
    if all.len() <= most {
        return;
    }
    let mut weights: Vec<f64> = all.iter_mut().map(|one| *weight_of(one)).collect();
    weights.sort_by(|a, b| b.total_cmp(a));
    let threshold = threshold(&weights, most);
    let mut saved = threshold * rng.uniform();
    all.retain_mut(|one| {
        let weight = weight_of(one);
        if *weight >= threshold {
            return true;
        }
        saved -= *weight;
        if saved >= 0.0 {
            return false;
        }
        saved += threshold;
        *weight = threshold;
        true
    });
}

/// The weight `c` with as many kept as wanted: those above `c`, and the sum of the others over `c`.
///
/// The others' sum is taken from the lightest up: what is left of one after subtracting the heavy ones would be noise.
fn threshold(descending: &[f64], most: usize) -> f64 {
    let mut rest = descending.to_vec();
    for index in (1..rest.len()).rev() {
        rest[index - 1] += rest[index];
    }
    let fits = (0..most).find(|&kept| descending[kept] * (most - kept) as f64 <= rest[kept]);
    fits.map_or(rest[most], |kept| rest[kept] / (most - kept) as f64)
}
