//! The little linear algebra that the floor needs: Cholesky factors of dense symmetric matrices.

/// The lower Cholesky factor of a positive definite matrix, row by row.
#[derive(Debug, Clone)]
pub struct Cholesky {
    size: usize,
    rows: Vec<f64>,
}

impl Cholesky {
    /// Factors the matrix whose elements on and below the diagonal `element(row, column)` gives; nothing where it is
    /// not positive definite.
    pub fn new(size: usize, element: impl Fn(usize, usize) -> f64) -> Option<Self> {
        let mut rows = vec![0.0; size * size];
        for row in 0..size {
            for column in 0..=row {
                let (above, here) = (column * size, row * size);
                let done = dot(&rows[above..above + column], &rows[here..here + column]);
                let left = element(row, column) - done;
                rows[here + column] = if column < row {
                    left / rows[above + column]
                } else if left > 0.0 {
                    left.sqrt()
                } else {
                    return None;
                };
            }
        }
        Some(Self { size, rows })
    }

    /// `x` with `L x = vector`: a vector with this covariance becomes white.
    pub fn whitened(&self, vector: &[f64]) -> Vec<f64> {
        let mut white: Vec<f64> = Vec::with_capacity(self.size);
        for (row, value) in vector.iter().enumerate() {
            let from = row * self.size;
            let done = dot(&self.rows[from..from + row], &white);
            white.push((value - done) / self.rows[from + row]);
        }
        white
    }

    /// `x` with `L Lᵀ x = vector`.
    pub fn solved(&self, vector: &[f64]) -> Vec<f64> {
        let mut solution = self.whitened(vector);
        for row in (0..self.size).rev() {
            let below = row + 1..self.size;
            let done: f64 = below
                .map(|lower| self.rows[lower * self.size + row] * solution[lower])
                .sum();
            solution[row] = (solution[row] - done) / self.rows[row * self.size + row];
        }
        solution
    }

    /// Natural logarithm of the matrix's determinant.
    pub fn log_determinant(&self) -> f64 {
        let diagonal = (0..self.size).map(|row| self.rows[row * self.size + row]);
        2.0 * diagonal.map(f64::ln).sum::<f64>()
    }
}

/// The inner product.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
