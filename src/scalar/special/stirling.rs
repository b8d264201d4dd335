//! Stirling's series for the gamma function.

/// `ln Gamma(a) - ((a - 1/2) ln a - a + ln(2 pi) / 2)` for `a >= 10`.
///
/// # Source
/// Stirling's series, Abramowitz and Stegun 6.1.41.
pub(super) fn stirling_remainder(a: f64) -> f64 {
    const TERMS: [f64; 7] = [
        1.0 / 12.0,
        -1.0 / 360.0,
        1.0 / 1260.0,
        -1.0 / 1680.0,
        1.0 / 1188.0,
        -691.0 / 360_360.0,
        1.0 / 156.0,
    ];
    let r = 1.0 / a;
    TERMS.iter().rev().fold(0.0, |sum, t| sum * (r * r) + t) * r
}
