//! Correlation between input quantities.

use crate::error::{Error, Result};
use nalgebra::DMatrix;

/// A correlation matrix, shape `(n, n)`: symmetric, unit diagonal, positive semi-definite.
///
/// # Source
/// JCGM 100:2008, 5.2.2; JCGM 102:2011, 3.20 and 3.21.
#[derive(Debug, Clone, PartialEq)]
pub struct Correlations {
    matrix: DMatrix<f64>,
    any: bool,
}

/// How far below zero the smallest eigenvalue may fall by rounding, per row of the matrix.
const ROUNDING: f64 = 1e-13;

impl Correlations {
    /// `n` uncorrelated quantities.
    pub fn none(n: usize) -> Self {
        Self {
            matrix: DMatrix::identity(n, n),
            any: false,
        }
    }

    /// Correlation coefficients by pairs of names; all other pairs are uncorrelated.
    ///
    /// # Errors
    /// A name that is not among `names`, a pair of a quantity with itself or given twice, a
    /// coefficient outside -1 to 1, a matrix that is not positive semi-definite.
    pub fn from_pairs(names: &[&str], pairs: &[(String, String, f64)]) -> Result<Self> {
        let mut matrix = DMatrix::identity(names.len(), names.len());
        let mut seen = Vec::new();
        for (a, b, coefficient) in pairs {
            let field = format!("correlation of {a} and {b}");
            let index = |name: &str| {
                names
                    .iter()
                    .position(|n| *n == name)
                    .ok_or_else(|| Error::unknown_name(&field, name, names))
            };
            let (i, j) = (index(a)?, index(b)?);
            let conflict = |found: &str, allowed: &str| Error::Conflict {
                field: field.clone(),
                found: found.to_owned(),
                allowed: allowed.to_owned(),
            };
            if i == j {
                return Err(conflict("the same quantity twice", "two quantities"));
            }
            let pair = (i.min(j), i.max(j));
            if seen.contains(&pair) {
                return Err(conflict("a pair given twice", "each pair once"));
            }
            seen.push(pair);
            let inside = (-1.0..=1.0).contains(coefficient);
            Error::range(inside, &field, *coefficient, "", "-1 to 1")?;
            matrix[(i, j)] = *coefficient;
            matrix[(j, i)] = *coefficient;
        }
        let any = !pairs.is_empty();
        if any {
            let smallest = matrix.symmetric_eigenvalues().min();
            if smallest < -ROUNDING * names.len() as f64 {
                return Err(Error::NotPositiveSemiDefinite {
                    field: "correlation".to_owned(),
                    smallest_eigenvalue: smallest,
                });
            }
        }
        Ok(Self { matrix, any })
    }

    /// Whether any pair was given.
    pub fn any(&self) -> bool {
        self.any
    }

    /// Number of quantities.
    pub fn len(&self) -> usize {
        self.matrix.nrows()
    }

    /// Whether there is no quantity at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The correlation coefficient of quantities `i` and `j`.
    pub fn coefficient(&self, i: usize, j: usize) -> f64 {
        self.matrix[(i, j)]
    }

    /// Whether quantity `i` is correlated with any other.
    pub fn is_correlated(&self, i: usize) -> bool {
        (0..self.len()).any(|j| j != i && self.matrix[(i, j)] != 0.0)
    }

    /// The lower triangular factor `L` with `L L^T` equal to the matrix, by rows.
    ///
    /// Written here because the matrix may be singular (fully correlated quantities), which a
    /// library's Cholesky decomposition refuses.
    pub fn lower_factor(&self) -> Vec<Vec<f64>> {
        let n = self.len();
        let mut rows: Vec<Vec<f64>> = vec![vec![0.0; n]; n];
        for j in 0..n {
            let squares: f64 = rows[j][..j].iter().map(|l| l * l).sum();
            let pivot = self.matrix[(j, j)] - squares;
            let diagonal = if pivot > ROUNDING * n as f64 {
                pivot.sqrt()
            } else {
                0.0
            };
            rows[j][j] = diagonal;
            for i in j + 1..n {
                let products: f64 = (0..j).map(|k| rows[i][k] * rows[j][k]).sum();
                rows[i][j] = if diagonal > 0.0 {
                    (self.matrix[(i, j)] - products) / diagonal
                } else {
                    0.0
                };
            }
        }
        rows
    }
}
