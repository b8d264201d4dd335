//! Chebyshev series in one and two variables, by Clenshaw's recurrence.

use super::Scalar;
use smallvec::SmallVec;
use std::f64::consts::PI;

/// The sums of `coefficient(k) T_k(x)` for `k < count`, `-1 <= x <= 1`, of several series side by
/// side: each step of one waits for its last, and others fill the time.
///
/// # Source
/// C. W. Clenshaw, Math. Comp. 9 (1955) 118.
pub(crate) fn clenshaw<S: Scalar, const N: usize>(
    count: usize,
    coefficient: impl Fn(usize) -> [S; N],
    x: S,
) -> [S; N] {
    let zeros = [S::constant(0.0); N];
    let step = |k: usize, factor: S, b1: [S; N], b2: [S; N]| {
        let coefficients = coefficient(k);
        std::array::from_fn(|i| coefficients[i] + factor * b1[i] - b2[i])
    };
    let twice_x = x * 2.0;
    let (mut b1, mut b2) = (zeros, zeros);
    for k in (1..count).rev() {
        (b1, b2) = (step(k, twice_x, b1, b2), b1);
    }
    step(0, x, b1, b2)
}

/// Coefficients of the derivative of a series, one fewer.
///
/// # Source
/// J. C. Mason and D. C. Handscomb, *Chebyshev Polynomials*, 2003, section 2.4.4 (from memory).
pub(crate) fn derivative(coefficients: &[f64]) -> SmallVec<[f64; 64]> {
    let degree = coefficients.len().saturating_sub(1);
    let mut slope: SmallVec<[f64; 64]> = SmallVec::from_elem(0.0, degree.max(1));
    for k in (1..=degree).rev() {
        let above = slope.get(k + 1).copied().unwrap_or(0.0);
        slope[k - 1] = above + 2.0 * k as f64 * coefficients[k];
    }
    slope[0] *= 0.5;
    slope
}

/// The zeros of the Chebyshev polynomial of degree `count`.
pub(crate) fn points(count: usize) -> Vec<f64> {
    (0..count)
        .map(|j| quarter_cosine(2 * j + 1, count))
        .collect()
}

/// `cos(pi m / (2 n))`.
fn quarter_cosine(m: usize, n: usize) -> f64 {
    Scalar::cos(PI * m as f64 / (2 * n) as f64)
}

/// From values at [`points`] to the coefficients of the series through them.
///
/// # Source
/// J. C. Mason and D. C. Handscomb, *Chebyshev Polynomials*, 2003, section 6.3 (from memory).
pub(crate) struct Interpolation {
    /// `cos(pi m / (2 n))` for `m < 4 n`.
    cosines: Vec<f64>,
}

impl Interpolation {
    /// For so many points.
    pub fn new(count: usize) -> Interpolation {
        Interpolation {
            cosines: (0..4 * count).map(|m| quarter_cosine(m, count)).collect(),
        }
    }

    /// Coefficients of the series that has these values.
    pub fn series(&self, values: &[f64]) -> Vec<f64> {
        let n = values.len();
        let coefficient = |k: usize| {
            // the cosine of k (2 j + 1) for each j
            let (mut at, mut sum) = (k, 0.0);
            for value in values {
                sum += value * self.cosines[at];
                at += 2 * k;
                if at >= 4 * n {
                    at -= 4 * n;
                }
            }
            let weight = if k == 0 { 1.0 } else { 2.0 };
            weight * sum / n as f64
        };
        (0..n).map(coefficient).collect()
    }
}

/// A series in powers of its variable, the lowest first. `add` adds a multiple of a coefficient to
/// a sum, so that coefficients may be rows of numbers.
pub(crate) fn in_powers<C: Clone>(
    coefficients: &[C],
    nothing: C,
    add: impl Fn(&mut C, f64, &C),
) -> Vec<C> {
    let n = coefficients.len();
    let mut powers = vec![nothing; n];
    let (mut before, mut now) = (vec![0.0; n], vec![0.0; n]);
    now[0] = 1.0;
    for (k, coefficient) in coefficients.iter().enumerate() {
        for (power, t) in powers.iter_mut().zip(&now) {
            if *t != 0.0 {
                add(power, *t, coefficient);
            }
        }
        // T_k+1 = 2 x T_k - T_k-1, and T_1 = x
        let factor = if k == 0 { 1.0 } else { 2.0 };
        let shifted = |i: usize| if i == 0 { 0.0 } else { now[i - 1] };
        let next = (0..n).map(|i| factor * shifted(i) - before[i]).collect();
        before = std::mem::replace(&mut now, next);
    }
    powers
}

/// Coefficients of the polynomial in powers of `x`, the lowest first, that has these values at the
/// [`points`].
pub(crate) fn polynomial_through<const N: usize>(value: impl Fn(f64) -> f64) -> [f64; N] {
    let values: Vec<f64> = points(N).into_iter().map(value).collect();
    let series = Interpolation::new(N).series(&values);
    let powers = in_powers(&series, 0.0, |sum, factor, c| *sum += factor * c);
    std::array::from_fn(|k| powers[k])
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
    pub(crate) fn sum<S: Scalar>(&self, x: S, y: S) -> S {
        const SIDE_BY_SIDE: usize = 4;
        let columns = self.columns;
        let count = self.coefficients.len() / columns;
        let mut rows: SmallVec<[S; 16]> = SmallVec::new();
        for first in (0..count).step_by(SIDE_BY_SIDE) {
            // beyond the last row it is taken again
            let row =
                |i: usize| &self.coefficients[(first + i).min(count - 1) * columns..][..columns];
            let side_by_side: [&[f64]; SIDE_BY_SIDE] = std::array::from_fn(row);
            rows.extend(clenshaw(
                columns,
                |j| side_by_side.map(|row| S::constant(row[j])),
                y,
            ));
        }
        let [sum] = clenshaw(count, |i| [rows[i]], x);
        sum
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
