//! Distributions from what is known, in the words in which evidence comes.

use super::Distribution;
use crate::error::{Error, Result};
use libm::{log, log1p};

impl Distribution {
    /// Limits that are known only to within `limit_half_width` each, and nothing else:
    /// curvilinear trapezoid.
    ///
    /// # Errors
    /// Limits in the wrong order, a half-width not above zero or so large that the ranges of the
    /// two limits meet.
    ///
    /// # Source
    /// JCGM 101:2008, 6.4.3.
    pub fn inexactly_known_limits(
        lower: f64,
        upper: f64,
        limit_half_width: f64,
    ) -> Result<Distribution> {
        Distribution::CurvilinearTrapezoid {
            lower,
            upper,
            limit_half_width,
        }
        .check("inexactly known limits")
    }

    /// The sum of two independent quantities about `estimate`, each between limits of its own
    /// half-width: trapezoidal, or triangular where the half-widths are equal.
    ///
    /// # Errors
    /// A half-width not above zero, a number that is not finite.
    ///
    /// # Source
    /// JCGM 101:2008, 6.4.4 and 6.4.5.
    pub fn sum_of_two_within_limits(
        estimate: f64,
        first_half_width: f64,
        second_half_width: f64,
    ) -> Result<Distribution> {
        let field = "sum of two quantities within limits";
        for half_width in [first_half_width, second_half_width] {
            Error::range(
                half_width > 0.0,
                field,
                half_width,
                "",
                "half-width above 0",
            )?;
        }
        let sum = first_half_width + second_half_width;
        Distribution::Trapezoidal {
            lower: estimate - sum,
            upper: estimate + sum,
            top_ratio: (first_half_width - second_half_width).abs() / sum,
        }
        .check(field)
    }

    /// A quantity that cannot be negative and of which the best estimate is known, but no
    /// uncertainty: exponential.
    ///
    /// # Errors
    /// An estimate not above zero or not finite.
    ///
    /// # Source
    /// JCGM 101:2008, 6.4.10.
    pub fn non_negative_best_estimate_only(estimate: f64) -> Result<Distribution> {
        Distribution::Exponential { mean: estimate }.check("non-negative best estimate")
    }

    /// The mean number of objects or events in a sample of fixed size, of which `count` were
    /// counted, with nothing known before: gamma of shape `count + 1`.
    ///
    /// # Source
    /// JCGM 101:2008, 6.4.11.
    pub fn count_of_objects(count: u64) -> Distribution {
        Distribution::Gamma {
            shape: count as f64 + 1.0,
            scale: 1.0,
        }
    }

    /// The share of objects of a kind, of which `found` were found among `inspected`, with nothing
    /// known before: beta with `found + 1` and `inspected - found + 1`.
    ///
    /// # Errors
    /// More found than inspected.
    ///
    /// # Source
    /// Bayes's theorem with a rectangular prior for the share (T. Bayes 1763).
    pub fn share_of_objects(found: u64, inspected: u64) -> Result<Distribution> {
        let field = "share of objects";
        let allowed = format!("at most {inspected} found");
        Error::range(found <= inspected, field, found as f64, "", allowed)?;
        Distribution::Beta {
            alpha: found as f64 + 1.0,
            beta: (inspected - found) as f64 + 1.0,
            lower: 0.0,
            upper: 1.0,
        }
        .check(field)
    }

    /// A positive quantity with a best estimate and a relative standard uncertainty: lognormal
    /// with that mean and that standard deviation.
    ///
    /// # Errors
    /// An estimate or an uncertainty not above zero or not finite.
    pub fn positive_with_relative_uncertainty(
        estimate: f64,
        relative_standard_uncertainty: f64,
    ) -> Result<Distribution> {
        let field = "positive quantity";
        let r = relative_standard_uncertainty;
        Error::range(estimate > 0.0, field, estimate, "", "estimate above 0")?;
        Error::range(
            r > 0.0,
            field,
            r,
            "",
            "relative standard uncertainty above 0",
        )?;
        let log_variance = log1p(r * r);
        Distribution::Lognormal {
            log_mean: log(estimate) - 0.5 * log_variance,
            log_standard_deviation: log_variance.sqrt(),
        }
        .check(field)
    }

    /// An estimate with a standard uncertainty, of a quantity that cannot lie beyond limits:
    /// normal, truncated.
    ///
    /// # Errors
    /// A standard uncertainty not above zero, limits in the wrong order or so far from the
    /// estimate that nothing is left.
    pub fn normal_within_limits(
        estimate: f64,
        standard_uncertainty: f64,
        lower: Option<f64>,
        upper: Option<f64>,
    ) -> Result<Distribution> {
        Distribution::TruncatedNormal {
            location: estimate,
            scale: standard_uncertainty,
            lower,
            upper,
        }
        .check("normal within limits")
    }

    /// Values that stand for the distribution, each as probable as any other, shape `(n,)`.
    ///
    /// # Errors
    /// No value, or one that is not finite.
    pub fn of_sample(values: &[f64]) -> Result<Distribution> {
        Distribution::Sample {
            values: values.into(),
        }
        .check("sample")
    }

    /// A density at increasing points, straight between them; both of shape `(n,)`.
    ///
    /// # Errors
    /// Fewer than two points, points out of order, a negative density, none above zero.
    pub fn of_density_table(x: &[f64], density: &[f64]) -> Result<Distribution> {
        Distribution::DensityTable {
            x: x.into(),
            density: density.into(),
        }
        .check("density table")
    }

    /// A distribution function at increasing points, straight between them; both of shape `(n,)`.
    ///
    /// # Errors
    /// Fewer than two points, points out of order, probabilities that fall or do not go from 0
    /// to 1.
    pub fn of_probability_table(x: &[f64], probability: &[f64]) -> Result<Distribution> {
        Distribution::ProbabilityTable {
            x: x.into(),
            probability: probability.into(),
        }
        .check("probability table")
    }
}
