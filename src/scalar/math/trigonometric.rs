//! Sine, cosine and tangent.

use super::double_double::{DoubleDouble, fast_two_sum, two_product, two_sum};
use super::exponential::ROUNDER;
use super::large_angle::{self, Reduced};
use super::{Split, polynomial};
use std::f64::consts::FRAC_2_PI;

/// pi/2 in four parts; the first three have 33 bits, so that their products with an integer of up
/// to 20 bits are exact.
const HALF_PI: [f64; 4] = [
    1.570_796_326_734_125_6,
    6.077_100_506_303_966e-11,
    2.022_266_248_711_166_5e-21,
    8.478_427_660_368_9e-32,
];
/// Up to here the multiple of pi/2 has no more than 20 bits.
const LARGEST_USUAL: f64 = 1e6;

/// # Source
/// W. J. Cody and W. Waite, *Software Manual for the Elementary Functions*, Prentice-Hall 1980.
#[inline(always)]
fn reduced(x: f64) -> Reduced {
    let rounded = x * FRAC_2_PI + ROUNDER;
    let n = rounded - ROUNDER;
    // the first difference is exact, the next two keep what they round away
    let a = two_sum(x - n * HALF_PI[0], -(n * HALF_PI[1]));
    let b = two_sum(a.hi, -(n * HALF_PI[2]));
    Reduced {
        angle: fast_two_sum(b.hi, (a.lo + b.lo) - n * HALF_PI[3]),
        quadrant: rounded.to_bits() & 3,
    }
}

/// Coefficients of `(sin x - x) / x^3` in powers of `x^2`.
const SINE: [f64; 6] = [
    -1.666_666_666_666_663_2e-1,
    8.333_333_333_322_49e-3,
    -1.984_126_982_985_795e-4,
    2.755_731_370_707_006_8e-6,
    -2.505_076_025_340_686_3e-8,
    1.589_690_995_211_55e-10,
];
/// Coefficients of `(cos x - 1 + x^2 / 2) / x^4` in powers of `x^2`.
const COSINE: [f64; 6] = [
    4.166_666_666_666_66e-2,
    -1.388_888_888_887_411e-3,
    2.480_158_728_947_673e-5,
    -2.755_731_435_139_066_3e-7,
    2.087_572_321_298_175e-9,
    -1.135_964_755_778_819_5e-11,
];

/// The sine of an angle of -pi/4 to pi/4, as a sum that has not been rounded.
///
/// # Source
/// Polynomials: K. C. Ng, FDLIBM `k_sin.c` and `k_cos.c`, Sun Microsystems 1993.
#[inline(always)]
fn sine_of(angle: DoubleDouble) -> DoubleDouble {
    let (x, y) = (angle.hi, angle.lo);
    let z = x * x;
    let lo = x * (z * polynomial(&SINE, z)) + y * (1.0 - 0.5 * z);
    fast_two_sum(x, lo)
}

/// The cosine of such an angle.
#[inline(always)]
fn cosine_of(angle: DoubleDouble) -> DoubleDouble {
    let (x, y) = (angle.hi, angle.lo);
    let square = two_product(x, x);
    let z = square.hi;
    let first = fast_two_sum(1.0, -0.5 * z);
    let lo = (first.lo - 0.5 * square.lo) + (z * z * polynomial(&COSINE, z) - x * y);
    fast_two_sum(first.hi, lo)
}

#[inline(always)]
fn select(condition: bool, a: DoubleDouble, b: DoubleDouble) -> DoubleDouble {
    DoubleDouble {
        hi: if condition { a.hi } else { b.hi },
        lo: if condition { a.lo } else { b.lo },
    }
}

/// The sine of `quadrant` right angles and an angle.
#[inline(always)]
fn sine_in(quadrant: u64, angle: DoubleDouble) -> f64 {
    let odd = quadrant & 1 != 0;
    // the leading part is the rounded result
    let value = select(odd, cosine_of(angle), sine_of(angle)).hi;
    if quadrant & 2 != 0 { -value } else { value }
}

#[inline(always)]
fn tangent_in(quadrant: u64, angle: DoubleDouble) -> f64 {
    let (sine, cosine) = (sine_of(angle), cosine_of(angle));
    let odd = quadrant & 1 != 0;
    let quotient = select(odd, cosine, sine).over(select(odd, sine, cosine)).hi;
    if odd { -quotient } else { quotient }
}

/// Sine of an angle in radians.
pub struct Sine;
/// Cosine of an angle in radians.
pub struct Cosine;
/// Tangent of an angle in radians.
pub struct Tangent;

/// Implements a function from its value at a reduced angle.
macro_rules! of_reduced_angle {
    ($function:ty, |$x:ident, $reduced:ident| $value:expr) => {
        impl Split for $function {
            #[inline(always)]
            fn is_usual(x: f64) -> bool {
                x.abs() <= LARGEST_USUAL
            }
            #[inline(always)]
            fn usual($x: f64) -> f64 {
                let $reduced = reduced($x);
                $value
            }
            fn rare($x: f64) -> f64 {
                if !$x.is_finite() {
                    return f64::NAN;
                }
                let $reduced = large_angle::reduced($x);
                $value
            }
        }
    };
}

// a zero keeps its sign
of_reduced_angle!(Sine, |x, r| if x == 0.0 {
    x
} else {
    sine_in(r.quadrant, r.angle)
});
of_reduced_angle!(Cosine, |x, r| sine_in(r.quadrant + 1, r.angle));
of_reduced_angle!(Tangent, |x, r| if x == 0.0 {
    x
} else {
    tangent_in(r.quadrant, r.angle)
});
