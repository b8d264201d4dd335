//! A positive number to any power.

use super::double_double::{DoubleDouble, fast_two_sum, two_product, two_sum};
use super::exponential::{
    LN2_HI, LN2_LO, ROUNDER, exp_reduced, ln_at_edges, mantissa_and_exponent, scaled,
};
use super::polynomial;

const THIRD: DoubleDouble = DoubleDouble {
    hi: 0.333_333_333_333_333_3,
    lo: 1.850_371_707_708_594e-17,
};
/// What ln 2 has beyond its two parts.
const LN2_REST: f64 = 1.161_222_722_936_253_2e-26;

/// Natural logarithm of a positive finite number, with a relative error of about 2^-68.
///
/// ```text
/// ln((1 + s) / (1 - s)) = 2 s (1 + s^2 / 3 + s^4 / 5 + ...)
/// ```
#[inline(always)]
pub(super) fn ln_in_two_parts(x: f64) -> DoubleDouble {
    let (f, k) = mantissa_and_exponent(x);
    let numerator = DoubleDouble { hi: f, lo: 0.0 };
    let s = numerator.over(two_sum(f, 2.0));
    let z = s.times(s);
    // terms from the second on are below 2^-12 of the sum
    let rest = z.hi * z.hi * polynomial(&RECIPROCAL_ODD, z.hi);
    let third = z.times(THIRD);
    let bracket = fast_two_sum(third.hi, third.lo + rest);
    let correction = s.times(bracket);
    let series = fast_two_sum(s.hi, correction.hi);
    let ln_mantissa = DoubleDouble {
        hi: 2.0 * series.hi,
        lo: 2.0 * (series.lo + (s.lo + correction.lo)),
    };
    let main = two_sum(k * LN2_HI, ln_mantissa.hi);
    let small = two_sum(k * LN2_LO, ln_mantissa.lo);
    let sum = two_sum(main.hi, small.hi);
    fast_two_sum(sum.hi, sum.lo + (main.lo + small.lo + k * LN2_REST))
}

/// 1/5, 1/7, ...: enough terms for `s^2` below 0.0295.
const RECIPROCAL_ODD: [f64; 10] = [
    1.0 / 5.0,
    1.0 / 7.0,
    1.0 / 9.0,
    1.0 / 11.0,
    1.0 / 13.0,
    1.0 / 15.0,
    1.0 / 17.0,
    1.0 / 19.0,
    1.0 / 21.0,
    1.0 / 23.0,
];

/// `x` to the power `y`, for `x >= 0`; NaN for negative `x`.
#[inline(always)]
pub fn powf(x: f64, y: f64) -> f64 {
    let ln = ln_in_two_parts(x);
    let p = two_product(ln.hi, y);
    let (hi, lo) = (p.hi, p.lo + ln.lo * y);
    let rounded = hi * std::f64::consts::LOG2_E + ROUNDER;
    let k = rounded - ROUNDER;
    let value = scaled(exp_reduced(hi - k * LN2_HI, k * LN2_LO - lo), rounded);

    let too_large = if hi > 0.0 { f64::INFINITY } else { 0.0 };
    let value = if hi.abs() < 746.0 { value } else { too_large };
    // zero and infinity: exp(y ln x) with the infinite logarithm
    let inside = x > 0.0 && x < f64::INFINITY;
    let exponent = y * ln_at_edges(x);
    let at_edge = if exponent > 0.0 { f64::INFINITY } else { 0.0 };
    let at_edge = if exponent.is_nan() { f64::NAN } else { at_edge };
    let value = if inside { value } else { at_edge };
    let value = if y.is_nan() { f64::NAN } else { value };
    if y == 0.0 || x == 1.0 { 1.0 } else { value }
}
