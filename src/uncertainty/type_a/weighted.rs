//! The weighted mean of results for one quantity, and whether they agree.

use crate::bounds::{is_moderate, is_moderate_uncertainty};
use crate::error::{Error, Result};
use crate::scalar::special::chi_squared_upper_tail;

/// The weighted mean of independent results `x_i` with standard uncertainties `u_i`.
///
/// # Source
/// M. G. Cox, The evaluation of key comparison data, Metrologia 39 (2002) 589, procedure A;
/// R. T. Birge, Phys. Rev. 40 (1932) 207.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct WeightedMean {
    /// `y = sum(x_i / u_i^2) / sum(1 / u_i^2)`.
    pub mean: f64,
    /// `u(y)`, with `1 / u(y)^2 = sum(1 / u_i^2)`.
    pub standard_uncertainty: f64,
    /// `chi^2 = sum((x_i - y)^2 / u_i^2)`.
    pub chi_squared: f64,
    /// Degrees of freedom, the number of results less one.
    pub dof: f64,
    /// The probability of a larger chi-squared if the results agree.
    pub p_value: f64,
    /// The Birge ratio, `sqrt(chi^2 / dof)`: above one where the results scatter by more than
    /// their uncertainties say. It is no factor for `u(y)`: that would take all of the excess for
    /// a common factor of the `u_i`, and leave the mean with the result that claims most.
    pub birge_ratio: f64,
    /// `d_i = x_i - y`, shape `(n,)`.
    pub differences: Vec<f64>,
    /// `u(d_i)`, shape `(n,)`: `u(d_i)^2 = u_i^2 - u(y)^2`, since `y` contains `x_i`.
    pub difference_uncertainties: Vec<f64>,
}

impl WeightedMean {
    /// From results and their standard uncertainties, both of shape `(n,)`, in one unit, if they
    /// agree: a mean of results that differ by more than their uncertainties say has no standard
    /// uncertainty that could follow from these alone (step 4 of procedure A).
    ///
    /// # Errors
    /// Results whose chi-squared is exceeded with less than the probability `significance`, such
    /// as 0.05, if they agree. Fewer than two results, lists of different length, an uncertainty
    /// not above zero, numbers that are not finite.
    pub fn of(
        results: &[f64],
        standard_uncertainties: &[f64],
        significance: f64,
    ) -> Result<WeightedMean> {
        let inside = (0.0..1.0).contains(&significance);
        Error::range(inside, "significance", significance, "", "0 to below 1")?;
        let found = WeightedMean::whether_or_not_they_agree(results, standard_uncertainties)?;
        if found.consistent(significance) {
            return Ok(found);
        }
        Err(Error::Disagree {
            field: "results".to_owned(),
            chi_squared: found.chi_squared,
            dof: found.dof,
            p_value: found.p_value,
            significance,
        })
    }

    /// As [`WeightedMean::of`], to see how far results lie apart that do not agree. The standard
    /// uncertainty is then too small; [`RandomEffects`](super::RandomEffects) has one that is not.
    ///
    /// # Errors
    /// As [`WeightedMean::of`] but for results that do not agree.
    pub fn whether_or_not_they_agree(
        results: &[f64],
        standard_uncertainties: &[f64],
    ) -> Result<WeightedMean> {
        let n = results.len();
        let length = |field: &str, found: usize, allowed: String| Error::Length {
            field: field.to_owned(),
            found,
            allowed,
        };
        if n < 2 {
            return Err(length("results", n, "two results or more".to_owned()));
        }
        let found = standard_uncertainties.len();
        if found != n {
            let allowed = format!("{n}, one a result");
            return Err(length("standard_uncertainties", found, allowed));
        }
        for (i, (x, u)) in results.iter().zip(standard_uncertainties).enumerate() {
            let allowed = "finite numbers of magnitude 1e100 at most";
            Error::range(is_moderate(*x), format!("results[{i}]"), *x, "", allowed)?;
            let usable = is_moderate_uncertainty(*u);
            let field = format!("standard_uncertainties[{i}]");
            let allowed = "above 0 and finite, from 1e-100 to 1e100";
            Error::range(usable, field, *u, "", allowed)?;
        }
        let weights: Vec<f64> = standard_uncertainties
            .iter()
            .map(|u| 1.0 / (u * u))
            .collect();
        let total: f64 = weights.iter().sum();
        let first = results[0];
        // results share many leading digits, so the deviations from the first are averaged
        let weighted = results.iter().zip(&weights).map(|(x, w)| (x - first) * w);
        let mean = first + weighted.sum::<f64>() / total;
        let differences: Vec<f64> = results.iter().map(|x| x - mean).collect();
        let squares = differences.iter().zip(&weights).map(|(d, w)| d * d * w);
        let chi_squared: f64 = squares.sum();
        if !chi_squared.is_finite() {
            return Err(Error::Conflict {
                field: "results".to_owned(),
                found:
                    "differences so far beyond their uncertainties that their squares are beyond \
                        all numbers"
                        .to_owned(),
                allowed: "results that differ about as much as their uncertainties say".to_owned(),
            });
        }
        let dof = (n - 1) as f64;
        let own = |u: &f64| (u * u - 1.0 / total).max(0.0).sqrt();
        Ok(WeightedMean {
            mean,
            standard_uncertainty: (1.0 / total).sqrt(),
            chi_squared,
            dof,
            p_value: chi_squared_upper_tail(chi_squared, dof),
            birge_ratio: (chi_squared / dof).sqrt(),
            difference_uncertainties: standard_uncertainties.iter().map(own).collect(),
            differences,
        })
    }

    /// Whether the results agree at the level `significance`, such as 0.05.
    pub fn consistent(&self, significance: f64) -> bool {
        self.p_value >= significance
    }
}
