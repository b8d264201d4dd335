//! The variance of the mean of readings that depend on each other.

/// By what the variance of the mean of `n` readings exceeds `sigma^2 / n`:
///
/// ```text
/// 1 + 2 sum_{k=1}^{n-1} (1 - k / n) rho_k
/// ```
/// `autocorrelation(k)` is the coefficient of readings `k` apart; `lags` bounds the sum where the
/// rest is zero.
///
/// # Source
/// G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184.
pub fn variance_inflation(n: usize, lags: usize, autocorrelation: impl Fn(usize) -> f64) -> f64 {
    let terms = (1..n.min(lags + 1)).map(|k| (1.0 - k as f64 / n as f64) * autocorrelation(k));
    1.0 + 2.0 * terms.sum::<f64>()
}
