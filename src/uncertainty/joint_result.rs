//! Several outputs at once: their covariance matrix and joint coverage regions.

use super::linear::{by_rows, definite_factor, solve_lower, square, symmetric_eigen};
use super::{Budget, InputSet, Output, probability_inside};
use crate::error::{Error, Result};
use crate::scalar::special::{chi_squared_quantile, normal_quantile};
use nalgebra::DMatrix;

/// Estimates of several outputs and their covariance matrix, in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct JointResult {
    /// The output quantities.
    pub outputs: Vec<Output>,
    /// Their estimates, shape `(m,)`.
    pub estimates: Vec<f64>,
    /// Their covariance matrix by rows, shape `(m, m)`.
    pub covariance: Vec<Vec<f64>>,
}

impl JointResult {
    /// First order: `U_y = C U_x C^T`, from the budgets of the outputs of one model.
    ///
    /// # Errors
    /// Budgets that are not all of these inputs.
    ///
    /// # Source
    /// JCGM 102:2011, 6.2.1.3, formula (3); JCGM 100:2008, H.2.3.
    pub fn of_budgets(budgets: &[Budget], inputs: &InputSet) -> Result<JointResult> {
        let n = inputs.inputs().len();
        for budget in budgets {
            if budget.lines.len() != n {
                return Err(Error::Length {
                    field: budget.output.name.clone(),
                    found: budget.lines.len(),
                    allowed: format!("{n} lines, one an input"),
                });
            }
        }
        let contributions =
            DMatrix::from_fn(budgets.len(), n, |k, i| budgets[k].lines[i].contribution);
        let correlations = inputs.correlations();
        let correlated = DMatrix::from_fn(budgets.len(), n, |k, j| {
            let of = |i: &usize| contributions[(k, *i)] * correlations.coefficient(*i, j);
            correlations.partners(&j).iter().map(of).sum::<f64>()
        });
        // a model of many parts has many contributions that are zero
        let known = |k: usize| (0..n).filter(|i| correlated[(k, *i)] != 0.0).collect();
        let places: Vec<Vec<usize>> = (0..budgets.len()).map(known).collect();
        let covariance = DMatrix::from_fn(budgets.len(), budgets.len(), |k, l| {
            let of = |i: &usize| correlated[(k, *i)] * contributions[(l, *i)];
            places[k].iter().map(of).sum::<f64>()
        });
        Ok(JointResult {
            outputs: budgets.iter().map(|b| b.output.clone()).collect(),
            estimates: budgets.iter().map(|b| b.estimate).collect(),
            // the two halves are sums in different order
            covariance: by_rows(budgets.len(), |i, j| covariance[(i.max(j), i.min(j))]),
        })
    }

    /// The standard uncertainty of output `i`.
    pub fn standard_uncertainty(&self, i: usize) -> f64 {
        self.covariance[i][i].max(0.0).sqrt()
    }

    /// The correlation coefficient of outputs `i` and `j`; NaN where one has no uncertainty.
    pub fn correlation(&self, i: usize, j: usize) -> f64 {
        if i == j {
            return 1.0;
        }
        let r =
            self.covariance[i][j] / (self.standard_uncertainty(i) * self.standard_uncertainty(j));
        r.clamp(-1.0, 1.0)
    }

    /// The correlation matrix by rows, shape `(m, m)`.
    pub fn correlations(&self) -> Vec<Vec<f64>> {
        by_rows(self.estimates.len(), |i, j| self.correlation(i, j))
    }

    /// The covariance matrix by rows, in the units in which the outputs are shown.
    pub fn covariance_shown(&self) -> Vec<Vec<f64>> {
        let unit = |i: usize| &self.outputs[i].unit;
        by_rows(self.estimates.len(), |i, j| {
            unit(i).difference_from_si(unit(j).difference_from_si(self.covariance[i][j]))
        })
    }

    /// The hyper-ellipsoidal coverage region of a jointly normal result: `k_p^2` is a quantile of
    /// the chi-squared distribution with as many degrees of freedom as outputs.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1; outputs that determine each other.
    ///
    /// # Source
    /// JCGM 102:2011, 6.5.2.
    pub fn ellipsoidal_region(&self, coverage_probability: f64) -> Result<EllipsoidalRegion> {
        probability_inside(coverage_probability)?;
        let m = self.estimates.len() as f64;
        let factor = chi_squared_quantile(coverage_probability, m).sqrt();
        EllipsoidalRegion::new(self, coverage_probability, factor)
    }

    /// A hyper-rectangular coverage region of at least the stated probability, of a jointly normal
    /// result: each of the `m` outputs keeps `1 - (1 - p) / m` (Bonferroni's inequality).
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1; an output without uncertainty.
    ///
    /// # Source
    /// JCGM 102:2011, 6.5.3.
    pub fn rectangular_region(&self, coverage_probability: f64) -> Result<RectangularRegion> {
        probability_inside(coverage_probability)?;
        let m = self.estimates.len() as f64;
        let factor = normal_quantile(1.0 - 0.5 * (1.0 - coverage_probability) / m);
        RectangularRegion::new(self, coverage_probability, factor)
    }
}

/// The points within `k_p` of the estimate, in units of the covariance matrix:
/// `(y - centre)^T U^-1 (y - centre) <= k_p^2`.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct EllipsoidalRegion {
    /// The centre, shape `(m,)`.
    pub centre: Vec<f64>,
    /// The coverage probability.
    pub coverage_probability: f64,
    /// The coverage factor `k_p`.
    pub coverage_factor: f64,
    factor: DMatrix<f64>,
}

impl EllipsoidalRegion {
    pub(crate) fn new(
        joint: &JointResult,
        coverage_probability: f64,
        coverage_factor: f64,
    ) -> Result<EllipsoidalRegion> {
        let factor =
            definite_factor(&square(&joint.covariance)).ok_or_else(|| Error::Conflict {
                field: "outputs".to_owned(),
                found:
                    "a singular covariance matrix: an output without uncertainty, or outputs that \
                    determine each other"
                        .to_owned(),
                allowed: "outputs none of which follows from the others".to_owned(),
            })?;
        Ok(EllipsoidalRegion {
            centre: joint.estimates.clone(),
            coverage_probability,
            coverage_factor,
            factor,
        })
    }

    /// The distance of `y`, shape `(m,)`, from the centre in units of the covariance matrix.
    pub fn distance(&self, y: &[f64]) -> f64 {
        let difference: Vec<f64> = y.iter().zip(&self.centre).map(|(y, c)| y - c).collect();
        let standardised = solve_lower(&self.factor, &difference);
        standardised.iter().map(|d| d * d).sum::<f64>().sqrt()
    }

    /// Whether `y`, shape `(m,)`, lies in the region.
    pub fn contains(&self, y: &[f64]) -> bool {
        self.distance(y) <= self.coverage_factor
    }
}

/// The points each of whose coordinates is within `k_q` standard uncertainties of the estimate.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct RectangularRegion {
    /// The centre, shape `(m,)`.
    pub centre: Vec<f64>,
    /// Half of the length of each side, `k_q u`, shape `(m,)`.
    pub half_widths: Vec<f64>,
    /// The coverage probability.
    pub coverage_probability: f64,
    /// The coverage factor `k_q`.
    pub coverage_factor: f64,
}

impl RectangularRegion {
    pub(crate) fn new(
        joint: &JointResult,
        coverage_probability: f64,
        coverage_factor: f64,
    ) -> Result<RectangularRegion> {
        let mut half_widths = Vec::with_capacity(joint.estimates.len());
        for (i, output) in joint.outputs.iter().enumerate() {
            let u = joint.standard_uncertainty(i);
            let field = format!("standard uncertainty of {}", output.name);
            Error::range(u > 0.0, field, u, "", "above 0 for a coverage region")?;
            half_widths.push(u * coverage_factor);
        }
        Ok(RectangularRegion {
            centre: joint.estimates.clone(),
            half_widths,
            coverage_probability,
            coverage_factor,
        })
    }

    /// The largest distance of a coordinate of `y`, shape `(m,)`, from the centre in standard
    /// uncertainties.
    pub fn distance(&self, y: &[f64]) -> f64 {
        let sides = self.centre.iter().zip(&self.half_widths);
        y.iter().zip(sides).fold(0.0, |largest, (y, (c, h))| {
            f64::max(largest, (y - c).abs() / h * self.coverage_factor)
        })
    }

    /// Whether `y`, shape `(m,)`, lies in the region.
    pub fn contains(&self, y: &[f64]) -> bool {
        self.distance(y) <= self.coverage_factor
    }
}

/// The largest eigenvalue of a correlation matrix; NaN where a coefficient is.
pub(crate) fn largest_eigenvalue(correlations: &[Vec<f64>]) -> f64 {
    if correlations.iter().flatten().any(|r| !r.is_finite()) {
        return f64::NAN;
    }
    symmetric_eigen(&square(correlations))
        .0
        .last()
        .copied()
        .unwrap_or(f64::NAN)
}
