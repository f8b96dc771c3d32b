//! Robust least squares: the mass, drag area and rolling coefficient that balance the stretches' energy best.
//!
//! The sum of ρ(r²) over the stretches' residuals r is made least, with the smooth bound ρ(z) = 2 (√(1 + z) − 1): small residuals
//! count squared, large ones (a gust, a lorry's wake, a brake) as themselves. The crate `levenberg-marquardt` (a port of
//! MINPACK's) makes sums of squares least, so it is given r·√(ρ(r²)/r²), whose squares are the same sum.

use levenberg_marquardt::{LeastSquaresProblem, LevenbergMarquardt};
use nalgebra::{DMatrix, DVector, Dyn, Owned};

use super::stretches::Stretch;

/// Mass (kg), drag area (m²), rolling coefficient.
pub type Values = [f64; 3];

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// The values; those held are as they were given.
    pub values: Values,
    /// Standard errors; 0 for what was held.
    pub errors: Values,
    /// Correlations of the errors: mass with drag, mass with rolling, drag with rolling; 0 where one was held.
    pub correlations: [f64; 3],
    /// Spread of the residuals, in units of the stretches' stated errors.
    pub scale: f64,
}

/// Rounds of scale and solution; the scale settles to a thousandth in three.
const ROUNDS: usize = 4;
/// Median of the absolute value of a standard normal deviate, inverted.
const MAD_TO_SD: f64 = 1.4826;

/// A rolling coefficient that is known from elsewhere, and its standard error.
pub type KnownCrr = Option<(f64, f64)>;

/// Fits the values that are free, from a start; `None` where that can't be done.
pub fn solve(
    stretches: &[Stretch],
    start: Values,
    free: [bool; 3],
    known: KnownCrr,
) -> Option<Solution> {
    let mut values = start;
    let mut scale = scale_of(stretches, &values)?;
    for _ in 0..ROUNDS {
        values = minimise(stretches, values, free, scale, known)?;
        scale = scale_of(stretches, &values)?;
    }
    values = minimise(stretches, values, free, scale, known)?;
    let (errors, correlations) = errors(stretches, &values, free, scale, known)?;
    Some(Solution {
        values,
        errors,
        correlations,
        scale,
    })
}

/// Makes the bounded sum least at one scale.
fn minimise(
    stretches: &[Stretch],
    start: Values,
    free: [bool; 3],
    scale: f64,
    known: KnownCrr,
) -> Option<Values> {
    let problem = Problem {
        stretches,
        unit: start,
        free: (0..3).filter(|k| free[*k]).collect(),
        scale,
        known,
        x: DVector::from_element(free.iter().filter(|f| **f).count(), 1.0),
    };
    let (solved, report) = LevenbergMarquardt::new()
        .with_ftol(1e-14)
        .with_xtol(1e-12)
        .with_gtol(0.0)
        .minimize(problem);
    let values = solved.values();
    (report.termination.was_successful() && values.iter().all(|v| v.is_finite())).then_some(values)
}

/// A stretch's residual, in units of its stated error.
pub fn residual(stretch: &Stretch, [mass_kg, cda_m2, crr]: &Values) -> f64 {
    let needed_j = stretch
        .terms
        .wheel_work_j(*mass_kg, *cda_m2, *crr, stretch.wheel_radius_m);
    (stretch.wheel_work_j - needed_j) / stretch.error_j
}

/// How the residual changes with each value.
fn slopes(stretch: &Stretch, [mass_kg, _, crr]: &Values) -> Values {
    let t = &stretch.terms;
    let lift = t.gravity_m_s2 * (t.rise_m + crr * t.run_m) + t.half_dv2_m2_s2;
    [
        -lift / stretch.error_j,
        -t.air_j_per_m2 / stretch.error_j,
        -mass_kg * t.gravity_m_s2 * t.run_m / stretch.error_j,
    ]
}

/// Robust spread of the residuals: from the middle of their sizes.
fn scale_of(stretches: &[Stretch], values: &Values) -> Option<f64> {
    let mut sizes: Vec<f64> = stretches
        .iter()
        .map(|s| residual(s, values).abs())
        .collect();
    sizes.sort_by(f64::total_cmp);
    let middle = *sizes.get(sizes.len() / 2)?;
    (middle > 0.0).then_some(MAD_TO_SD * middle)
}

struct Problem<'a> {
    stretches: &'a [Stretch],
    /// What a value of 1 stands for.
    unit: Values,
    free: Vec<usize>,
    scale: f64,
    known: KnownCrr,
    x: DVector<f64>,
}

impl Problem<'_> {
    fn values(&self) -> Values {
        let mut values = self.unit;
        for (x, k) in self.x.iter().zip(&self.free) {
            values[*k] *= x;
        }
        values
    }
}

/// r·√(ρ(r²)/r²) with ρ(z)/z = 2 / (√(1 + z) + 1), and its slope, which is ρ'(r²)·r over it.
fn bounded(r: f64) -> (f64, f64) {
    let root = (1.0 + r * r).sqrt();
    let share = (2.0 / (root + 1.0)).sqrt();
    (r * share, 1.0 / (root * share))
}

impl LeastSquaresProblem<f64, Dyn, Dyn> for Problem<'_> {
    type ParameterStorage = Owned<f64, Dyn>;
    type ResidualStorage = Owned<f64, Dyn>;
    type JacobianStorage = Owned<f64, Dyn, Dyn>;

    fn set_params(&mut self, x: &DVector<f64>) {
        self.x.copy_from(x);
    }

    fn params(&self) -> DVector<f64> {
        self.x.clone()
    }

    fn residuals(&self) -> Option<DVector<f64>> {
        let values = self.values();
        let each = self
            .stretches
            .iter()
            .map(|s| bounded(residual(s, &values) / self.scale).0);
        let known = self.known.map(|(crr, error)| (values[2] - crr) / error);
        let rows = self.stretches.len() + usize::from(known.is_some());
        Some(DVector::from_iterator(rows, each.chain(known)))
    }

    fn jacobian(&self) -> Option<DMatrix<f64>> {
        let values = self.values();
        let rows = self.stretches.len() + usize::from(self.known.is_some());
        let mut jacobian = DMatrix::zeros(rows, self.free.len());
        for (i, stretch) in self.stretches.iter().enumerate() {
            let (_, change) = bounded(residual(stretch, &values) / self.scale);
            let slopes = slopes(stretch, &values);
            for (column, k) in self.free.iter().enumerate() {
                jacobian[(i, column)] = change * slopes[*k] * self.unit[*k] / self.scale;
            }
        }
        if let (Some((_, error)), Some(column)) =
            (self.known, self.free.iter().position(|k| *k == 2))
        {
            jacobian[(rows - 1, column)] = self.unit[2] / error;
        }
        Some(jacobian)
    }
}

/// Standard errors and correlations, by the sandwich (Huber, Proc. 5th Berkeley Symp. 1, 1967, 221–233): what the residuals show
/// and not what was assumed. Neighbours share an end, whose error they feel with opposite signs; their products are taken in with
/// half weight (Newey and West, Econometrica 55, 1987, 703–708, one lag).
fn errors(
    stretches: &[Stretch],
    values: &Values,
    free: [bool; 3],
    scale: f64,
    known: KnownCrr,
) -> Option<(Values, Values)> {
    let free: Vec<usize> = (0..3).filter(|k| free[*k]).collect();
    let n = free.len();
    let mut bread = DMatrix::<f64>::zeros(n, n);
    let mut filling = DMatrix::<f64>::zeros(n, n);
    let mut before = DVector::<f64>::zeros(n);
    for stretch in stretches {
        let r = residual(stretch, values) / scale;
        let root = (1.0 + r * r).sqrt();
        let slopes = slopes(stretch, values);
        let each = free.iter().map(|k| slopes[*k] * values[*k] / scale);
        let slope = DVector::from_iterator(n, each);
        // The second derivative of ρ(r²)/2, and its first.
        bread += (1.0 / root.powi(3)) * &slope * slope.transpose();
        let pull = (r / root) * slope;
        filling += &pull * pull.transpose();
        if stretch.joined {
            let both = 0.5 * (&pull * before.transpose());
            filling += &both + both.transpose();
        }
        before = pull;
    }
    if let (Some((_, error)), Some(i)) = (known, free.iter().position(|k| *k == 2)) {
        let pull = (values[2] / error).powi(2);
        bread[(i, i)] += pull;
        filling[(i, i)] += pull;
    }
    let inverse = bread.try_inverse()?;
    let spread = &inverse * filling * &inverse;
    let mut errors = [0.0; 3];
    for (i, k) in free.iter().enumerate() {
        errors[*k] = values[*k].abs() * spread[(i, i)].max(0.0).sqrt();
    }
    let correlation = |a: usize, b: usize| {
        let at = |k: usize| free.iter().position(|f| *f == k);
        match (at(a), at(b)) {
            (Some(i), Some(j)) => spread[(i, j)] / (spread[(i, i)] * spread[(j, j)]).sqrt(),
            _ => 0.0,
        }
    };
    Some((
        errors,
        [correlation(0, 1), correlation(0, 2), correlation(1, 2)],
    ))
}
