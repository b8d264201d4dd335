//! The standard normal distribution.

use crate::scalar::math::{NormalQuantile, Split, exp};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Probability density of the standard normal distribution.
pub fn normal_density(x: f64) -> f64 {
    exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Cumulative distribution function of the standard normal distribution.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// Quantile of the standard normal distribution for a probability strictly between 0 and 1.
///
/// NaN outside that range. The error is below 1 ulp.
#[inline]
pub fn normal_quantile(p: f64) -> f64 {
    NormalQuantile::at(p)
}
