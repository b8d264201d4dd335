//! Exponential function and natural logarithm.

use super::polynomial;

/// ln 2 in two parts; the product of the first with any exponent is exact.
pub(super) const LN2_HI: f64 = 0.693_147_180_369_123_8;
pub(super) const LN2_LO: f64 = 1.908_214_929_270_587_7e-10;
const TWO_52: f64 = 4_503_599_627_370_496.0;
/// Adding it rounds a number below 2^51 to an integer, which then stands in the lowest bits.
pub(super) const ROUNDER: f64 = 1.5 * TWO_52;

/// Coefficients of `(r - c) / r^2` with `exp(r) = 1 + r + r c / (2 - c)`, in powers of `r^2`.
const EXP: [f64; 5] = [
    1.666_666_666_666_660_2e-1,
    -2.777_777_777_701_559_3e-3,
    6.613_756_321_437_934e-5,
    -1.653_390_220_546_525_2e-6,
    4.138_136_797_057_238_5e-8,
];

/// `y 2^k` for an integer `k` of -1075 to 1024, given as `k + ROUNDER`.
#[inline(always)]
pub(super) fn scaled(y: f64, k_rounded: f64) -> f64 {
    // two factors, since 2^k itself may be too large or too small for a double
    let n = k_rounded.to_bits().wrapping_add(2046) & 0xfff;
    let half = n >> 1;
    let power = |n: u64| f64::from_bits(n << 52);
    y * power(half) * power(n - half)
}

/// `exp(hi - lo)` for a reduced argument.
#[inline(always)]
pub(super) fn exp_reduced(hi: f64, lo: f64) -> f64 {
    1.0 + exp_reduced_m1(hi, lo)
}

/// `exp(hi - lo) - 1` for a reduced argument, with `c` as above.
#[inline(always)]
fn exp_reduced_m1(hi: f64, lo: f64) -> f64 {
    let r = hi - lo;
    let square = r * r;
    let c = r - square * polynomial(&EXP, square);
    (r * c / (2.0 - c) - lo) + hi
}

/// Exponential function.
///
/// # Source
/// K. C. Ng, FDLIBM `e_exp.c`, Sun Microsystems 1993: argument less `k ln 2`, then a rational
/// function by Remez.
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    // beyond these the result is zero or infinite anyway
    let x = if x < -746.0 { -746.0 } else { x };
    let x = if x > 710.0 { 710.0 } else { x };
    let rounded = x * std::f64::consts::LOG2_E + ROUNDER;
    let k = rounded - ROUNDER;
    scaled(exp_reduced(x - k * LN2_HI, k * LN2_LO), rounded)
}

/// `exp(x) - 1` for `x` from 0 to 700, with an error of a few ulp.
#[inline(always)]
pub fn exp_m1(x: f64) -> f64 {
    let rounded = x * std::f64::consts::LOG2_E + ROUNDER;
    let k = rounded - ROUNDER;
    let (hi, lo) = (x - k * LN2_HI, k * LN2_LO);
    scaled(exp_reduced_m1(hi, lo), rounded) + (scaled(1.0, rounded) - 1.0)
}

/// Coefficients of `(ln(1 + f) - 2 s) / s` with `s = f / (2 + f)`, in powers of `s^2` from the
/// first.
pub(super) const LN: [f64; 7] = [
    0.666_666_666_666_673_5,
    0.399_999_999_994_094_2,
    0.285_714_287_436_623_9,
    0.222_221_984_321_497_84,
    0.181_835_721_616_180_5,
    0.153_138_376_992_093_73,
    0.147_981_986_051_165_86,
];

const SQRT_HALF_BITS: u64 = 0x3fe6_a09e_667f_3bcd;

/// A positive number as `m 2^k`, `m` from sqrt(1/2) to sqrt(2): `(m - 1, k)`.
#[inline(always)]
pub(super) fn mantissa_and_exponent(x: f64) -> (f64, f64) {
    let subnormal = x < f64::MIN_POSITIVE;
    let (f, k) = split_normal_number(if subnormal { x * (4.0 * TWO_52) } else { x });
    (f, if subnormal { k - 54.0 } else { k })
}

/// As [`mantissa_and_exponent`], of a number that is not subnormal.
#[inline(always)]
pub fn split_normal_number(x: f64) -> (f64, f64) {
    let bits = x.to_bits();
    // offset so that the exponent is positive and needs no arithmetic shift
    let offset = bits.wrapping_add((1024 << 52) - SQRT_HALF_BITS);
    let exponent = offset >> 52;
    let mantissa = f64::from_bits(bits.wrapping_sub(exponent.wrapping_sub(1024) << 52));
    let k = f64::from_bits(TWO_52.to_bits() | exponent) - (TWO_52 + 1024.0);
    (mantissa - 1.0, k)
}

/// Natural logarithm.
///
/// # Source
/// K. C. Ng, FDLIBM `e_log.c`, Sun Microsystems 1993.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    let (f, k) = mantissa_and_exponent(x);
    let half_square = 0.5 * f * f;
    let s = f / (2.0 + f);
    let z = s * s;
    let rest = z * polynomial(&LN, z);
    let value = ((s * (half_square + rest) + k * LN2_LO) - half_square) + f + k * LN2_HI;
    let inside = x > 0.0 && x < f64::INFINITY;
    if inside { value } else { ln_at_edges(x) }
}

/// The logarithm at zero, at infinity and at what is no positive number.
#[inline(always)]
pub(super) fn ln_at_edges(x: f64) -> f64 {
    let at_zero = if x == 0.0 {
        f64::NEG_INFINITY
    } else {
        f64::NAN
    };
    if x == f64::INFINITY {
        f64::INFINITY
    } else {
        at_zero
    }
}
