//! The little linear algebra that covariance matrices need.
//!
//! Matrices are stored in a library's type, but products, factors and eigenvalues are computed
//! here: the library's product runs through kernels with fused multiply-add where the processor
//! has it, and a result must have the same bits on every machine.

use nalgebra::DMatrix;

/// A square matrix by rows.
pub(crate) fn by_rows(n: usize, value: impl Fn(usize, usize) -> f64) -> Vec<Vec<f64>> {
    let row = |i| (0..n).map(|j| value(i, j)).collect();
    (0..n).map(row).collect()
}

/// The matrix of rows that are as many as they are long.
pub(super) fn square(rows: &[Vec<f64>]) -> DMatrix<f64> {
    DMatrix::from_fn(rows.len(), rows.len(), |i, j| rows[i][j])
}

/// The lower triangular factor `L` of a symmetric positive semi-definite matrix `L L^T`.
///
/// A pivot of no more than `rounding` times its diagonal element counts as zero, and so does its
/// column: fully correlated quantities, which a library's Cholesky decomposition refuses.
/// `None` where a pivot is below zero by more than that.
pub(crate) fn semidefinite_factor(matrix: &DMatrix<f64>, rounding: f64) -> Option<DMatrix<f64>> {
    let n = matrix.nrows();
    let mut l = DMatrix::zeros(n, n);
    for j in 0..n {
        let squares: f64 = (0..j).map(|k| l[(j, k)] * l[(j, k)]).sum();
        let pivot: f64 = matrix[(j, j)] - squares;
        let zero = rounding * matrix[(j, j)].abs();
        if pivot.is_nan() || pivot < -zero {
            return None;
        }
        if pivot <= zero {
            continue;
        }
        l[(j, j)] = pivot.sqrt();
        for i in j + 1..n {
            let products: f64 = (0..j).map(|k| l[(i, k)] * l[(j, k)]).sum();
            l[(i, j)] = (matrix[(i, j)] - products) / l[(j, j)];
        }
    }
    Some(l)
}

/// The lower triangular factor of a positive definite matrix; `None` for any other.
pub(crate) fn definite_factor(matrix: &DMatrix<f64>) -> Option<DMatrix<f64>> {
    let factor = semidefinite_factor(matrix, 1e-14)?;
    (0..matrix.nrows())
        .all(|i| factor[(i, i)] > 0.0)
        .then_some(factor)
}

/// The solution `x` of `L x = b` for a lower triangular matrix without zero on its diagonal.
pub(crate) fn solve_lower(l: &DMatrix<f64>, b: &[f64]) -> Vec<f64> {
    let mut x: Vec<f64> = Vec::with_capacity(b.len());
    for (i, b) in b.iter().enumerate() {
        let known: f64 = x.iter().enumerate().map(|(k, x)| l[(i, k)] * x).sum();
        x.push((b - known) / l[(i, i)]);
    }
    x
}

/// The solution `x` of `L^T x = b` for a lower triangular matrix without zero on its diagonal.
pub(crate) fn solve_lower_transposed(l: &DMatrix<f64>, b: &[f64]) -> Vec<f64> {
    let n = b.len();
    let mut x = vec![0.0; n];
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| l[(k, i)] * x[k]).sum();
        x[i] = (b[i] - known) / l[(i, i)];
    }
    x
}

/// Eigenvalues in ascending order and the matrix whose columns are the eigenvectors, of a
/// symmetric matrix.
///
/// # Source
/// Cyclic Jacobi rotations: C. G. J. Jacobi 1846; H. Rutishauser, Numer. Math. 9 (1966) 1.
pub(crate) fn symmetric_eigen(matrix: &DMatrix<f64>) -> (Vec<f64>, DMatrix<f64>) {
    let n = matrix.nrows();
    let mut a = matrix.clone();
    let mut vectors = DMatrix::identity(n, n);
    for _sweep in 0..60 {
        let off: f64 = (0..n)
            .flat_map(|i| (0..i).map(move |j| (i, j)))
            .map(|(i, j)| a[(i, j)] * a[(i, j)])
            .sum();
        if off == 0.0 {
            break;
        }
        for p in 0..n {
            for q in p + 1..n {
                rotate(&mut a, &mut vectors, p, q);
            }
        }
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|i, j| a[(*i, *i)].total_cmp(&a[(*j, *j)]));
    let values = order.iter().map(|i| a[(*i, *i)]).collect();
    let sorted = DMatrix::from_fn(n, n, |i, j| vectors[(i, order[j])]);
    (values, sorted)
}

/// The Jacobi rotation that makes the element `(p, q)` zero.
fn rotate(a: &mut DMatrix<f64>, vectors: &mut DMatrix<f64>, p: usize, q: usize) {
    let apq = a[(p, q)];
    if apq == 0.0 {
        return;
    }
    // below the last digit of both neighbours: nothing to rotate
    let scale = a[(p, p)].abs().min(a[(q, q)].abs());
    if apq.abs() < 1e-18 * scale || apq.abs() < f64::MIN_POSITIVE {
        a[(p, q)] = 0.0;
        a[(q, p)] = 0.0;
        return;
    }
    let theta = (a[(q, q)] - a[(p, p)]) / (2.0 * apq);
    let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    let n = a.nrows();
    for k in 0..n {
        let (akp, akq) = (a[(k, p)], a[(k, q)]);
        a[(k, p)] = c * akp - s * akq;
        a[(k, q)] = s * akp + c * akq;
    }
    for k in 0..n {
        let (apk, aqk) = (a[(p, k)], a[(q, k)]);
        a[(p, k)] = c * apk - s * aqk;
        a[(q, k)] = s * apk + c * aqk;
    }
    a[(p, q)] = 0.0;
    a[(q, p)] = 0.0;
    for k in 0..n {
        let (vkp, vkq) = (vectors[(k, p)], vectors[(k, q)]);
        vectors[(k, p)] = c * vkp - s * vkq;
        vectors[(k, q)] = s * vkp + c * vkq;
    }
}
