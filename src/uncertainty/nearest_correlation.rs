//! The valid correlation matrix nearest to one that no set of random variables can have.

use super::linear::symmetric_eigen;
use nalgebra::DMatrix;

/// Steps of the alternating projections; some hundred are needed for a badly wrong matrix.
const MOST_STEPS: usize = 2000;

/// The correlation matrix nearest in the sum of squared differences.
///
/// Alternating projections on the positive semi-definite matrices and on those of unit diagonal,
/// with Dykstra's correction. A last step takes out what rounding has left below zero, by drawing
/// all coefficients towards zero by that amount.
///
/// # Source
/// N. J. Higham, Computing the nearest correlation matrix, IMA J. Numer. Anal. 22 (2002) 329,
/// algorithm 3.3.
pub(super) fn nearest_correlation(given: &DMatrix<f64>) -> DMatrix<f64> {
    let n = given.nrows();
    let mut y = given.clone();
    let mut correction = DMatrix::zeros(n, n);
    for _ in 0..MOST_STEPS {
        let r = &y - &correction;
        let x = without_negative_part(&r);
        correction = &x - &r;
        let mut next = x;
        next.fill_diagonal(1.0);
        let change = (&next - &y).iter().fold(0.0_f64, |m, d| m.max(d.abs()));
        y = next;
        if change < 1e-14 {
            break;
        }
    }
    let smallest = symmetric_eigen(&y).0.first().copied().unwrap_or(0.0);
    if smallest < 0.0 {
        let keep = 1.0 / (1.0 - smallest);
        y *= keep;
        y.fill_diagonal(1.0);
    }
    y
}

/// The nearest positive semi-definite matrix: negative eigenvalues become zero.
fn without_negative_part(matrix: &DMatrix<f64>) -> DMatrix<f64> {
    let (values, vectors) = symmetric_eigen(matrix);
    let n = matrix.nrows();
    let sum = |i: usize, j: usize| {
        let terms = values.iter().enumerate().filter(|(_, v)| **v > 0.0);
        terms
            .map(|(k, v)| v * vectors[(i, k)] * vectors[(j, k)])
            .sum()
    };
    let mut result = DMatrix::zeros(n, n);
    for i in 0..n {
        for j in 0..=i {
            result[(i, j)] = sum(i, j);
            result[(j, i)] = result[(i, j)];
        }
    }
    result
}
