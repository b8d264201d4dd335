//! Degrees of freedom, coverage factor and expanded uncertainty.

use crate::error::{Error, Result};
use crate::scalar::special::StudentT;
use serde::Serialize;

/// Effective degrees of freedom of a combined standard uncertainty.
///
/// ```text
/// nu_eff = u_c^4 / sum (c_i u_i)^4 / nu_i
/// ```
/// `contributions` are pairs of `c_i u_i` and `nu_i`. Infinite where every `nu_i` is infinite.
/// For correlated inputs `u_c` includes the covariance terms while the sum does not: exact where
/// the correlated inputs have infinite degrees of freedom, an approximation otherwise.
///
/// # Source
/// JCGM 100:2008, G.4.1, equation (G.2b) (Welch 1947, Satterthwaite 1941).
pub fn effective_dof(combined: f64, contributions: impl Iterator<Item = (f64, f64)>) -> f64 {
    let fourth = |v: f64| (v * v) * (v * v);
    let sum: f64 = contributions
        .filter(|(_, dof)| dof.is_finite())
        .map(|(contribution, dof)| fourth(contribution / combined) / dof)
        .sum();
    if sum > 0.0 { 1.0 / sum } else { f64::INFINITY }
}

/// An expanded uncertainty and what it rests on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Expanded {
    /// The coverage probability.
    pub coverage_probability: f64,
    /// The degrees of freedom used for the coverage factor.
    pub dof: f64,
    /// The coverage factor.
    pub coverage_factor: f64,
    /// The expanded uncertainty, in SI units.
    pub expanded_uncertainty: f64,
}

/// The expanded uncertainty `U = t_p(nu_eff) u_c`.
///
/// Effective degrees of freedom of one and more are truncated to the next lower integer, as
/// JCGM 100:2008, G.4.1 note 1 and example H.1 do; so the coverage factor never errs to the low
/// side.
///
/// # Errors
/// A coverage probability that is not strictly between 0 and 1, or nearer to 1 than 1e-9; an expanded
/// uncertainty that is not finite.
///
/// # Source
/// JCGM 100:2008, G.6.4.
pub fn expanded(combined: f64, effective_dof: f64, coverage_probability: f64) -> Result<Expanded> {
    probability_inside(coverage_probability)?;
    let dof = if effective_dof >= 1.0 {
        effective_dof.floor()
    } else {
        effective_dof
    };
    let coverage_factor = StudentT::new(dof).quantile(0.5 + 0.5 * coverage_probability);
    for (field, value) in [
        ("coverage factor", coverage_factor),
        ("expanded uncertainty", coverage_factor * combined),
    ] {
        let allowed = "finite numbers: a smaller uncertainty, more degrees of freedom or a lower coverage \
                       probability";
        Error::range(value.is_finite(), field, value, "", allowed)?;
    }
    Ok(Expanded {
        coverage_probability,
        dof,
        coverage_factor,
        expanded_uncertainty: coverage_factor * combined,
    })
}

/// The largest coverage probability: beyond, nothing is known of the tails of anything measured, and
/// factors get infinite. Our choice.
pub(crate) const LARGEST_PROBABILITY: f64 = 1.0 - 1e-9;

/// Refuses a coverage probability that is not strictly between 0 and 1, or nearer to 1 than 1e-9.
pub(crate) fn probability_inside(coverage_probability: f64) -> Result<()> {
    let inside = coverage_probability > 0.0 && coverage_probability <= LARGEST_PROBABILITY;
    let (field, allowed) = (
        "coverage_probability",
        "strictly between 0 and 1, such as 0.95",
    );
    Error::range(inside, field, coverage_probability, "", allowed)
}
