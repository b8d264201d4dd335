//! The incomplete beta function, and Fisher's F distribution through it.

use super::invert::{LogTail, solve_log_tail};
use super::stirling::stirling_remainder;
use libm::{exp, log, log1p};

/// Logarithm of the beta function, `ln B(a, b)`, for `a, b > 0`.
///
/// # Source
/// Abramowitz and Stegun 6.2.2; where an argument is large, Stirling's formula is written out
/// for the whole ratio, so that the large parts cancel on paper and not in rounding.
pub fn log_beta(a: f64, b: f64) -> f64 {
    const LARGE: f64 = 10.0;
    const HALF_LOG_TWO_PI: f64 = 0.918_938_533_204_672_7;
    let (small, large) = if a < b { (a, b) } else { (b, a) };
    let sum = small + large;
    if large < LARGE {
        return libm::lgamma(small) + libm::lgamma(large) - libm::lgamma(sum);
    }
    // ln(large / sum)
    let log_share = log1p(-small / sum);
    let remainder = stirling_remainder(large) - stirling_remainder(sum);
    if small < LARGE {
        return libm::lgamma(small) + (large - 0.5) * log_share - small * log(sum)
            + small
            + remainder;
    }
    HALF_LOG_TWO_PI - 0.5 * log(large)
        + (small - 0.5) * log(small / sum)
        + large * log_share
        + stirling_remainder(small)
        + remainder
}

/// The regularised incomplete beta function `I_x(a, b)` for `a, b > 0` and `0 <= x <= 1`.
///
/// Relative error below 1e-12 for `a + b` up to 1e3, growing in proportion beyond. `1 - I` comes
/// without cancellation as `beta_ratio(b, a, 1 - x)`.
///
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.2, 8.17.4 and 8.17.22.
pub fn beta_ratio(a: f64, b: f64, x: f64) -> f64 {
    beta_ratio_of(a, b, x, 1.0 - x)
}

/// As [`beta_ratio`], with `y = 1 - x` given by a caller who knows it without cancellation.
pub(crate) fn beta_ratio_of(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if y <= 0.0 {
        return 1.0;
    }
    let front = exp(a * log(x) + b * log(y) - log_beta(a, b));
    if x < (a + 1.0) / (a + b + 2.0) {
        front * beta_fraction(a, b, x) / a
    } else {
        1.0 - front * beta_fraction(b, a, y) / b
    }
}

/// The `x` at which [`beta_ratio`] is `p`, `0 < p < 1`.
pub fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    if p.is_nan() || p <= 0.0 || p >= 1.0 {
        return f64::NAN;
    }
    // seek the root from the end of the range whose tail is the smaller
    let mean = a / (a + b);
    if p <= beta_ratio(a, b, mean) {
        lower_beta_quantile(a, b, p)
    } else {
        1.0 - lower_beta_quantile(b, a, 1.0 - p)
    }
}

/// Newton's method for `ln I_x(a, b)` as a function of `ln x`.
fn lower_beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let normaliser = log_beta(a, b);
    // the leading term of the series for small x
    let start = ((log(p) + log(a) + normaliser) / a).min(log(a / (a + b)));
    let log_x = solve_log_tail(log(p), start, f64::NEG_INFINITY, 0.0, |log_x| {
        let x = exp(log_x);
        let ratio = beta_ratio(a, b, x);
        let density = exp(a * log_x + (b - 1.0) * log1p(-x) - normaliser);
        LogTail {
            value: log(ratio),
            slope: density / ratio,
        }
    });
    exp(log_x)
}

/// Fisher's F distribution: the probability of a value above `f` with `n1` and `n2` degrees of
/// freedom in numerator and denominator.
///
/// # Source
/// Abramowitz and Stegun 26.6.2.
pub fn fisher_upper_tail(f: f64, n1: f64, n2: f64) -> f64 {
    if f <= 0.0 {
        return 1.0;
    }
    let (numerator, denominator) = (n1 * f, n2 + n1 * f);
    beta_ratio_of(
        0.5 * n2,
        0.5 * n1,
        n2 / denominator,
        numerator / denominator,
    )
}

/// The value with probability `p` below it under Fisher's F distribution.
pub fn fisher_quantile(p: f64, n1: f64, n2: f64) -> f64 {
    let x = beta_quantile(0.5 * n2, 0.5 * n1, 1.0 - p);
    (1.0 - x) * n2 / (x * n1)
}

/// The continued fraction of the incomplete beta function, by Lentz's method.
///
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.22; modified Lentz method: I. J. Thompson
/// and A. R. Barnett, J. Comput. Phys. 64 (1986) 490.
pub(super) fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..20_000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / guard(1.0 + even * d);
        c = guard(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / guard(1.0 + odd * d);
        c = guard(1.0 + odd / c);
        let factor = d * c;
        h *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    h
}
