//! Correlation between input quantities.

use super::linear::{by_rows, semidefinite_factor, symmetric_eigen};
use super::nearest_correlation::nearest_correlation;
use crate::error::{Error, Result};
use nalgebra::DMatrix;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// A correlation matrix, shape `(n, n)`: symmetric, unit diagonal, positive semi-definite.
///
/// # Source
/// JCGM 100:2008, 5.2.2; JCGM 102:2011, 3.20 and 3.21.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(from = "Rows", into = "Rows")]
pub struct Correlations {
    matrix: DMatrix<f64>,
    /// The quantities that are correlated with any other, in order: often few or none of many, so
    /// that sums over all pairs need not be made.
    correlated: Vec<usize>,
}

/// The matrix alone, as text keeps it.
#[derive(Serialize, Deserialize)]
struct Rows {
    #[serde(with = "super::rows")]
    matrix: DMatrix<f64>,
}

impl From<Rows> for Correlations {
    fn from(rows: Rows) -> Self {
        Correlations::of(rows.matrix)
    }
}

impl From<Correlations> for Rows {
    fn from(correlations: Correlations) -> Self {
        Rows {
            matrix: correlations.matrix,
        }
    }
}

/// How far below zero the smallest eigenvalue may fall by rounding, per row of the matrix.
const ROUNDING: f64 = 1e-13;

impl Correlations {
    fn of(matrix: DMatrix<f64>) -> Self {
        let n = matrix.nrows();
        let correlated = |i: &usize| (0..n).any(|j| j != *i && matrix[(*i, j)] != 0.0);
        Self {
            correlated: (0..n).filter(correlated).collect(),
            matrix,
        }
    }

    /// `n` uncorrelated quantities.
    pub fn none(n: usize) -> Self {
        Self {
            matrix: DMatrix::identity(n, n),
            correlated: Vec::new(),
        }
    }

    /// The correlations of two groups that are independent of each other.
    pub(super) fn beside(&self, other: &Correlations) -> Correlations {
        let (n, m) = (self.len(), other.len());
        let mut both = DMatrix::identity(n + m, n + m);
        both.view_mut((0, 0), (n, n)).copy_from(&self.matrix);
        both.view_mut((n, n), (m, m)).copy_from(&other.matrix);
        Correlations::of(both)
    }

    /// Correlation coefficients by pairs of names; all other pairs are uncorrelated.
    ///
    /// # Errors
    /// A name that is not among `names`, a pair of a quantity with itself or given twice, a
    /// coefficient outside -1 to 1; a matrix that is not positive semi-definite, with its smallest
    /// eigenvalue and the pair that is farthest from [`Correlations::nearest`].
    pub fn from_pairs(names: &[&str], pairs: &[(String, String, f64)]) -> Result<Self> {
        let own = Self::of(matrix_of(names, pairs)?);
        // the other eigenvalues are 1
        let eigenvalues = symmetric_eigen(&own.among_correlated()).0;
        let smallest = eigenvalues.first().copied().unwrap_or(1.0);
        if smallest < -ROUNDING * names.len() as f64 {
            return Err(not_semidefinite(names, &own.matrix, smallest));
        }
        Ok(own)
    }

    /// The valid correlations nearest to the given ones, in the sum of squared differences: the
    /// matrix itself where it is positive semi-definite.
    ///
    /// A matrix that is not positive semi-definite is a contradiction in the evidence, which this
    /// does not resolve; so it happens only where it is asked for.
    ///
    /// # Errors
    /// Those of [`Correlations::from_pairs`], but for the last.
    ///
    /// # Source
    /// N. J. Higham, IMA J. Numer. Anal. 22 (2002) 329.
    pub fn nearest(names: &[&str], pairs: &[(String, String, f64)]) -> Result<Self> {
        match Self::from_pairs(names, pairs) {
            Err(Error::NotPositiveSemiDefinite { .. }) => {
                Ok(Self::of(nearest_correlation(&matrix_of(names, pairs)?)))
            }
            other => other,
        }
    }

    /// Whether any two quantities are correlated.
    pub fn any(&self) -> bool {
        !self.correlated.is_empty()
    }

    /// Number of quantities.
    pub fn len(&self) -> usize {
        self.matrix.nrows()
    }

    /// Whether there is no quantity at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The correlation matrix by rows, shape `(n, n)`.
    pub fn coefficients(&self) -> Vec<Vec<f64>> {
        by_rows(self.len(), |i, j| self.coefficient(i, j))
    }

    /// The correlation coefficient of quantities `i` and `j`.
    pub fn coefficient(&self, i: usize, j: usize) -> f64 {
        self.matrix[(i, j)]
    }

    /// Whether quantity `i` is correlated with any other.
    pub fn is_correlated(&self, i: usize) -> bool {
        self.correlated.binary_search(&i).is_ok()
    }

    /// The quantities that may be correlated with quantity `i`, itself included, in order.
    pub(super) fn partners<'a>(&'a self, i: &'a usize) -> &'a [usize] {
        if self.is_correlated(*i) {
            &self.correlated
        } else {
            std::slice::from_ref(i)
        }
    }

    /// Every pair of quantities that are correlated, the one that comes first in order before the
    /// other, with its coefficient.
    pub fn pairs(&self) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        let own = &self.correlated;
        let pairs = own
            .iter()
            .enumerate()
            .flat_map(move |(n, j)| own[..n].iter().map(move |i| (*i, *j)));
        pairs
            .map(|(i, j)| (i, j, self.coefficient(i, j)))
            .filter(|(_, _, r)| *r != 0.0)
    }

    /// The matrix of the correlated quantities alone.
    fn among_correlated(&self) -> DMatrix<f64> {
        let (own, n) = (&self.correlated, self.correlated.len());
        DMatrix::from_fn(n, n, |i, j| self.matrix[(own[i], own[j])])
    }

    /// The lower triangular factor `L` with `L L^T` equal to the matrix, by rows.
    ///
    /// The matrix may be singular: fully correlated quantities have a zero on the diagonal.
    pub fn lower_factor(&self) -> Vec<Vec<f64>> {
        let n = self.len();
        let matrix = self.among_correlated();
        // valid by construction, so a factor exists for any rounding that was let through
        let factor = semidefinite_factor(&matrix, ROUNDING * n as f64)
            .or_else(|| semidefinite_factor(&matrix, 1e-6))
            .unwrap_or_else(|| DMatrix::identity(matrix.nrows(), matrix.nrows()));
        let unit = |i: usize| (0..n).map(|j| if i == j { 1.0 } else { 0.0 }).collect();
        let mut rows: Vec<Vec<f64>> = (0..n).map(unit).collect();
        for (i, row) in self.correlated.iter().zip(factor.row_iter()) {
            for (j, value) in self.correlated.iter().zip(row.iter()) {
                rows[*i][*j] = *value;
            }
        }
        rows
    }
}

/// The symmetric matrix with unit diagonal and the given coefficients.
fn matrix_of(names: &[&str], pairs: &[(String, String, f64)]) -> Result<DMatrix<f64>> {
    let mut matrix = DMatrix::identity(names.len(), names.len());
    // of names that there are twice the first
    let mut places = BTreeMap::new();
    for (place, name) in names.iter().enumerate() {
        places.entry(*name).or_insert(place);
    }
    let mut seen = BTreeSet::new();
    for (a, b, coefficient) in pairs {
        let field = format!("correlation of {a} and {b}");
        let index = |name: &str| {
            let place = places.get(name).copied();
            place.ok_or_else(|| Error::unknown_name(&field, name, names))
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
        if !seen.insert(pair) {
            return Err(conflict("a pair given twice", "each pair once"));
        }
        let inside = (-1.0..=1.0).contains(coefficient);
        Error::range(inside, &field, *coefficient, "", "-1 to 1")?;
        matrix[(i, j)] = *coefficient;
        matrix[(j, i)] = *coefficient;
    }
    Ok(matrix)
}

/// The error that names the pair which the nearest valid matrix would change most.
fn not_semidefinite(names: &[&str], given: &DMatrix<f64>, smallest_eigenvalue: f64) -> Error {
    let valid = nearest_correlation(given);
    let mut worst = (0, 0);
    for i in 0..names.len() {
        for j in 0..i {
            let change = |(i, j): (usize, usize)| f64::abs(valid[(i, j)] - given[(i, j)]);
            if change((i, j)) > change(worst) {
                worst = (i, j);
            }
        }
    }
    let (i, j) = worst;
    Error::NotPositiveSemiDefinite {
        field: "correlation".to_owned(),
        smallest_eigenvalue,
        worst_pair: format!("{} and {}", names[j], names[i]),
        found: given[worst],
        nearest: valid[worst],
    }
}
