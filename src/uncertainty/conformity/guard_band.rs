//! Where to put the limit of measured values for a chosen probability of a right decision.

use crate::error::{Error, Result};
use crate::scalar::special::StudentT;

/// Which limit of the tolerance interval.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitSide {
    /// True values must not lie below it.
    Lower,
    /// True values must not lie above it.
    Upper,
}

/// Who is protected by the guard band.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DecisionRule {
    /// What is accepted conforms with the chosen probability: the acceptance limit lies inside the
    /// tolerance limit (JCGM 106:2012, 8.3.2).
    GuardedAcceptance,
    /// What is rejected does not conform with the chosen probability: the acceptance limit lies
    /// outside the tolerance limit (JCGM 106:2012, 8.3.3).
    GuardedRejection,
}

/// How the standard uncertainty depends on the measured value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum StandardUncertainty {
    /// It is the same at all values, in SI units.
    Absolute(f64),
    /// It is this share of the measured value, which must be positive.
    Relative(f64),
}

/// The acceptance limit at which the decision is right with the stated probability.
///
/// ```text
/// A = T -+ t u        A = T / (1 +- t u_r)
/// ```
/// with `t` the one-sided quantile of Student's t for `dof` degrees of freedom of the uncertainty,
/// of the normal distribution where `dof` is infinite. The length of the guard band is `|T - A|`.
///
/// # Errors
/// A probability outside 0.5 to 1, degrees of freedom or an uncertainty not above zero, a relative
/// uncertainty so large that no measured value would do.
///
/// # Source
/// JCGM 106:2012, 8.3.2, 8.3.3 and their examples.
pub fn decision_limit(
    tolerance_limit: f64,
    side: LimitSide,
    rule: DecisionRule,
    uncertainty: StandardUncertainty,
    dof: f64,
    probability: f64,
) -> Result<f64> {
    let inside = (0.5..1.0).contains(&probability);
    Error::range(inside, "probability", probability, "", "0.5 to below 1")?;
    Error::range(dof > 0.0, "dof", dof, "", "degrees of freedom above 0")?;
    let finite = tolerance_limit.is_finite();
    Error::range(finite, "limit", tolerance_limit, "", "finite numbers")?;
    let (StandardUncertainty::Absolute(u) | StandardUncertainty::Relative(u)) = uncertainty;
    let usable = u > 0.0 && u.is_finite();
    Error::range(usable, "standard uncertainty", u, "", "above 0")?;
    let t = StudentT::new(dof).quantile(probability);
    let inwards = match side {
        LimitSide::Upper => -1.0,
        LimitSide::Lower => 1.0,
    };
    let direction = match rule {
        DecisionRule::GuardedAcceptance => inwards,
        DecisionRule::GuardedRejection => -inwards,
    };
    match uncertainty {
        StandardUncertainty::Absolute(u) => Ok(tolerance_limit + direction * t * u),
        StandardUncertainty::Relative(u) => {
            let allowed = "above 0 for an uncertainty relative to it";
            Error::range(tolerance_limit > 0.0, "limit", tolerance_limit, "", allowed)?;
            let divisor = 1.0 - direction * t * u;
            let allowed = format!("relative standard uncertainty below {}", 1.0 / t);
            Error::range(divisor > 0.0, "standard uncertainty", u, "", allowed)?;
            Ok(tolerance_limit / divisor)
        }
    }
}
