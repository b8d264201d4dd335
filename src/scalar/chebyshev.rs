//! Chebyshev series in one and two variables, by Clenshaw's recurrence.

use super::Scalar;

/// The sum of `coefficient(k) T_k(x)` for `k < count`, `-1 <= x <= 1`.
///
/// # Source
/// C. W. Clenshaw, Math. Comp. 9 (1955) 118.
fn clenshaw<S: Scalar>(count: usize, coefficient: impl Fn(usize) -> S, x: S) -> S {
    let zero = S::constant(0.0);
    let twice_x = x * 2.0;
    let (mut b1, mut b2) = (zero, zero);
    for k in (1..count).rev() {
        (b1, b2) = (coefficient(k) + twice_x * b1 - b2, b1);
    }
    coefficient(0) + x * b1 - b2
}

/// `x` mapped linearly from `range` onto -1..1.
fn normalised<S: Scalar>(x: S, range: [f64; 2]) -> S {
    (x * 2.0 - (range[0] + range[1])) / (range[1] - range[0])
}

/// The Chebyshev series with the given coefficients over `range`, evaluated at `x`.
pub fn chebyshev<S: Scalar>(coefficients: &[f64], range: [f64; 2], x: S) -> S {
    let x = normalised(x, range);
    clenshaw(coefficients.len(), |k| S::constant(coefficients[k]), x)
}

/// The bivariate Chebyshev series `sum c[i][j] T_i(x) T_j(y)` over a box, evaluated at `(x, y)`.
pub fn chebyshev_surface<S: Scalar, const NX: usize, const NY: usize>(
    coefficients: &[[f64; NY]; NX],
    x_range: [f64; 2],
    y_range: [f64; 2],
    x: S,
    y: S,
) -> S {
    let (x, y) = (normalised(x, x_range), normalised(y, y_range));
    let row = |i: usize| clenshaw(NY, |j| S::constant(coefficients[i][j]), y);
    clenshaw(NX, row, x)
}
