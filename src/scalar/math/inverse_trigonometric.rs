//! Arc sine and arc tangent.

use super::polynomial;
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

/// What pi/2 has beyond a double.
const FRAC_PI_2_LO: f64 = 6.123_233_995_736_766e-17;

/// Numerator and denominator of `(asin x - x) / x^3`, in powers of `x^2`.
const ASIN_P: [f64; 6] = [
    1.666_666_666_666_666_6e-1,
    -3.255_658_186_224_009e-1,
    2.012_125_321_348_629_3e-1,
    -4.005_553_450_067_941e-2,
    7.915_349_942_898_145e-4,
    3.479_331_075_960_212e-5,
];
const ASIN_Q: [f64; 5] = [
    1.0,
    -2.403_394_911_734_414,
    2.020_945_760_233_505_7,
    -6.882_839_716_054_533e-1,
    7.703_815_055_590_194e-2,
];

/// Arc sine, in radians; NaN outside -1 to 1.
///
/// Above 1/2 from `asin x = pi/2 - 2 asin sqrt((1 - x) / 2)`, with the root in two parts.
///
/// # Source
/// K. C. Ng, FDLIBM `e_asin.c`, Sun Microsystems 1993.
#[inline(always)]
pub fn asin(x: f64) -> f64 {
    let magnitude = x.abs();
    let near = magnitude < 0.5;
    let z = if near { x * x } else { (1.0 - magnitude) * 0.5 };
    let ratio = z * polynomial(&ASIN_P, z) / polynomial(&ASIN_Q, z);
    let small = x + x * ratio;

    let root = z.sqrt();
    let upper = f64::from_bits(root.to_bits() & 0xffff_ffff_0000_0000);
    let sum = root + upper;
    let lower = (z - upper * upper) / if sum > 0.0 { sum } else { 1.0 };
    let correction = 2.0 * root * ratio - (FRAC_PI_2_LO - 2.0 * lower);
    let large = FRAC_PI_4 - (correction - (FRAC_PI_4 - 2.0 * upper));
    let large = if x < 0.0 { -large } else { large };

    let inside = if near { small } else { large };
    if magnitude <= 1.0 { inside } else { f64::NAN }
}

/// Coefficients of `(x - atan x) / x^3` in powers of `x^2`.
const ATAN: [f64; 11] = [
    3.333_333_333_333_293e-1,
    -1.999_999_999_987_648_3e-1,
    1.428_571_427_250_346_6e-1,
    -1.111_111_040_546_235_6e-1,
    9.090_887_133_436_507e-2,
    -7.691_876_205_044_83e-2,
    6.661_073_137_387_531e-2,
    -5.833_570_133_790_573_5e-2,
    4.976_877_994_615_932e-2,
    -3.653_157_274_421_691_6e-2,
    1.628_582_011_536_578_2e-2,
];

/// From here on the argument is turned about the centre: beginning of the range, centre, arc
/// tangent of the centre in two parts.
const CENTRES: [(f64, f64, f64, f64); 3] = [
    (
        0.4375,
        0.5,
        4.636_476_090_008_061e-1,
        2.269_877_745_296_168_7e-17,
    ),
    (0.6875, 1.0, FRAC_PI_4, 3.061_616_997_868_383e-17),
    (
        1.1875,
        1.5,
        9.827_937_232_473_29e-1,
        1.390_331_103_123_099_8e-17,
    ),
];

/// Arc tangent, in radians.
///
/// # Source
/// K. C. Ng, FDLIBM `s_atan.c`, Sun Microsystems 1993:
/// `atan x = atan c + atan((x - c) / (1 + c x))`.
#[inline(always)]
pub fn atan(x: f64) -> f64 {
    let magnitude = x.abs();
    let (mut above, mut below, mut hi, mut lo) = (magnitude, 1.0, 0.0, 0.0);
    for (begin, centre, centre_hi, centre_lo) in CENTRES {
        let turned = magnitude >= begin;
        above = if turned { magnitude - centre } else { above };
        below = if turned {
            1.0 + centre * magnitude
        } else {
            below
        };
        hi = if turned { centre_hi } else { hi };
        lo = if turned { centre_lo } else { lo };
    }
    let far = magnitude >= 2.4375;
    above = if far { -1.0 } else { above };
    below = if far { magnitude } else { below };
    hi = if far { FRAC_PI_2 } else { hi };
    lo = if far { FRAC_PI_2_LO } else { lo };

    let t = above / below;
    let z = t * t;
    let value = hi - ((t * (z * polynomial(&ATAN, z)) - lo) - t);
    if x < 0.0 {
        -value
    } else if x > 0.0 {
        value
    } else {
        x
    }
}
