//! Chebyshev series in one and two variables, by Clenshaw's recurrence.

use super::Scalar;
use smallvec::SmallVec;

/// The sum of `coefficient(k) T_k(x)` for `k < count`, `-1 <= x <= 1`.
///
/// # Source
/// C. W. Clenshaw, Math. Comp. 9 (1955) 118.
pub(super) fn clenshaw<S: Scalar>(count: usize, coefficient: impl Fn(usize) -> S, x: S) -> S {
    let zero = S::constant(0.0);
    let twice_x = x * 2.0;
    let (mut b1, mut b2) = (zero, zero);
    for k in (1..count).rev() {
        (b1, b2) = (coefficient(k) + twice_x * b1 - b2, b1);
    }
    coefficient(0) + x * b1 - b2
}

/// Coefficients of the derivative of a series, one fewer.
///
/// # Source
/// J. C. Mason and D. C. Handscomb, *Chebyshev Polynomials*, 2003, section 2.4.4 (from memory).
pub(super) fn derivative(coefficients: &[f64]) -> SmallVec<[f64; 64]> {
    let degree = coefficients.len().saturating_sub(1);
    let mut slope: SmallVec<[f64; 64]> = SmallVec::from_elem(0.0, degree.max(1));
    for k in (1..=degree).rev() {
        let above = slope.get(k + 1).copied().unwrap_or(0.0);
        slope[k - 1] = above + 2.0 * k as f64 * coefficients[k];
    }
    slope[0] *= 0.5;
    slope
}

/// The coefficients `c[i][j]` of `sum c[i][j] T_i(x) T_j(y)`, row after row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChebyshevTable<'a> {
    coefficients: &'a [f64],
    columns: usize,
}

impl<'a> ChebyshevTable<'a> {
    /// The table of these rows.
    pub fn new<const COLUMNS: usize>(rows: &'a [[f64; COLUMNS]]) -> ChebyshevTable<'a> {
        ChebyshevTable {
            coefficients: rows.as_flattened(),
            columns: COLUMNS,
        }
    }

    /// The coefficients, row after row.
    pub fn coefficients(&self) -> &'a [f64] {
        self.coefficients
    }

    /// Coefficients in a row.
    pub fn columns(&self) -> usize {
        self.columns
    }

    /// The sum at `x` and `y`, each from -1 to 1.
    pub(super) fn sum<S: Scalar>(&self, x: S, y: S) -> S {
        let columns = self.columns;
        let row = |i: usize| {
            let row = &self.coefficients[i * columns..(i + 1) * columns];
            clenshaw(columns, |j| S::constant(row[j]), y)
        };
        clenshaw(self.coefficients.len() / columns, row, x)
    }
}

/// `x` mapped linearly from `range` onto -1..1.
fn normalised<S: Scalar>(x: S, range: [f64; 2]) -> S {
    let width = range[1] - range[0];
    x * (2.0 / width) - (range[0] + range[1]) / width
}

/// The Chebyshev series with the given coefficients over `range`, evaluated at `x`.
pub fn chebyshev<S: Scalar>(coefficients: &[f64], range: [f64; 2], x: S) -> S {
    normalised(x, range).chebyshev_series(coefficients)
}

/// The bivariate Chebyshev series `sum c[i][j] T_i(x) T_j(y)` over a box, evaluated at `(x, y)`.
pub fn chebyshev_surface<S: Scalar, const NX: usize, const NY: usize>(
    coefficients: &[[f64; NY]; NX],
    x_range: [f64; 2],
    y_range: [f64; 2],
    x: S,
    y: S,
) -> S {
    let table = ChebyshevTable::new(coefficients);
    S::chebyshev_surface(&table, normalised(x, x_range), normalised(y, y_range))
}
