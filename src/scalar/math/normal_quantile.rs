//! Quantile of the standard normal distribution.

use super::double_double::{DoubleDouble, fast_two_sum, two_product, two_sum};
use super::exponential::{LN, LN2_HI, LN2_LO, mantissa_and_exponent};
use super::normal_quantile_fit::{
    FAR, FAR_MIDDLE, FAR_REST, NEAR, NEAR_MIDDLE, NEAR_REST, SPLIT, USUAL, USUAL_MIDDLE, USUAL_REST,
};
use super::power::ln_in_two_parts;
use super::{Split, polynomial};

/// Quantile of the standard normal distribution for a probability strictly between 0 and 1.
///
/// NaN outside that range. Between 0.002 and 0.998
///
/// ```text
/// x = (p - 1/2) F(w),   w = -ln(4 p (1 - p))
/// ```
/// with a polynomial `F`; the tails follow from a polynomial in `1/sqrt(-ln p)`.
///
/// # Source
/// The variable `w`: M. B. Giles, *GPU Computing Gems* Jade edition 2011, chapter 10. Our own
/// polynomials, see `normal_quantile_fit.rs`.
pub struct NormalQuantile;

const LARGEST_USUAL: f64 = 0.498;

impl Split for NormalQuantile {
    #[inline(always)]
    fn is_usual(p: f64) -> bool {
        (p - 0.5).abs() <= LARGEST_USUAL
    }

    #[inline(always)]
    fn usual(p: f64) -> f64 {
        let q = two_sum(p, -0.5);
        // the logarithm as a sum that has not been rounded
        let other = 1.0 - p;
        let (f, k) = mantissa_and_exponent(4.0 * p * other);
        let half_square = 0.5 * f * f;
        let s = f / (2.0 + f);
        let z = s * s;
        let rest = (s * (half_square + z * polynomial(&LN, z)) + k * LN2_LO) - half_square;
        // what rounding took from 1 - p, times about its reciprocal: it counts only near 1/2
        let rest = rest + ((1.0 - other) - p) * (1.0 + 2.0 * p);
        let main = two_sum(k * LN2_HI, f);
        let shifted = two_sum(main.hi, USUAL_MIDDLE);
        let t = fast_two_sum(shifted.hi, shifted.lo + main.lo + rest);
        let t = DoubleDouble {
            hi: -t.hi,
            lo: -t.lo,
        };
        // a line outweighs the rest, and only the operations on it matter for the error
        let line = fast_two_sum(USUAL[0], 0.5 * t.hi);
        let line_end = fast_two_sum(line.hi, 0.1875 * t.hi);
        let curve = t.hi * above_first(&USUAL, t.hi) + (t.lo * 0.6875 + USUAL_REST);
        let factor = DoubleDouble {
            hi: line_end.hi,
            lo: (line_end.lo + line.lo) + curve,
        };
        product(q, factor)
    }

    fn rare(p: f64) -> f64 {
        // not a comparison that holds for NaN
        if !(p > 0.0 && p < 1.0) {
            return f64::NAN;
        }
        let ln = ln_in_two_parts(p.min(1.0 - p));
        // r = sqrt(-ln p) and v = 1 / r, each with what its double lacks
        let r = (-ln.hi).sqrt();
        let square = two_product(r, r);
        let r_lo = (((-ln.hi - square.hi) - square.lo) - ln.lo) / (2.0 * r);
        let r = DoubleDouble { hi: r, lo: r_lo };
        let v = DoubleDouble { hi: 1.0, lo: 0.0 }.over(r);
        let from = |middle: f64| {
            let t = two_sum(v.hi, -middle);
            fast_two_sum(t.hi, t.lo + v.lo)
        };
        let x = if v.hi < SPLIT {
            times_polynomial(r, &FAR, FAR_REST, from(FAR_MIDDLE))
        } else {
            times_polynomial(r, &NEAR, NEAR_REST, from(NEAR_MIDDLE))
        };
        if p < 0.5 { -x } else { x }
    }
}

/// `factor` times a polynomial in `t` whose first term outweighs the others.
fn times_polynomial<const N: usize>(
    factor: DoubleDouble,
    coefficients: &[f64; N],
    rest_of_first: f64,
    t: DoubleDouble,
) -> f64 {
    let slope = above_first(coefficients, t.hi);
    let sum = fast_two_sum(coefficients[0], t.hi * slope);
    let lo = sum.lo + (t.lo * slope + rest_of_first);
    product(factor, DoubleDouble { hi: sum.hi, lo })
}

/// A polynomial less its first term, over `t`.
#[inline(always)]
fn above_first<const N: usize>(coefficients: &[f64; N], t: f64) -> f64 {
    let mut sum = coefficients[N - 1];
    for k in (1..N - 1).rev() {
        sum = sum * t + coefficients[k];
    }
    sum
}

/// A product, rounded once.
#[inline(always)]
fn product(a: DoubleDouble, b: DoubleDouble) -> f64 {
    let leading = two_product(a.hi, b.hi);
    leading.hi + (leading.lo + (a.hi * b.lo + a.lo * b.hi))
}
