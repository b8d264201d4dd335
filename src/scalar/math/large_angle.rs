//! Reduction of angles that are so large that pi/2 needs a thousand bits.

use super::double_double::{DoubleDouble, fast_two_sum};

/// The bits of 2/pi after the binary point, behind 64 zeros.
#[rustfmt::skip]
const TWO_OVER_PI: [u64; 22] = [
    0x0000_0000_0000_0000, 0xa2f9_836e_4e44_1529, 0xfc27_57d1_f534_ddc0, 0xdb62_9599_3c43_9041,
    0xfe51_63ab_debb_c561, 0xb724_6e3a_424d_d2e0, 0x0649_2eea_09d1_921c, 0xfe1d_eb1c_b129_a73e,
    0xe882_35f5_2ebb_4484, 0xe99c_7026_b45f_7e41, 0x3991_d639_8353_39f4, 0x9c84_5f8b_bdf9_283b,
    0x1ff8_97ff_de05_980f, 0xef2f_118b_5a0a_6d1f, 0x6d36_7ecf_27cb_09b7, 0x4f46_3f66_9e5f_ea2d,
    0x7527_bac7_ebe5_f17b, 0x3d07_39f7_8a52_92ea, 0x6bfb_5fb1_1f8d_5d08, 0x5603_3046_fc7b_6bab,
    0xf0cf_bc20_9af4_361d, 0xa9e3_9161_5ee6_1b08,
];
const HALF_PI: DoubleDouble = DoubleDouble {
    hi: std::f64::consts::FRAC_PI_2,
    lo: 6.123_233_995_736_766e-17,
};

/// An angle less the nearest multiple of pi/2.
#[derive(Clone, Copy)]
pub(super) struct Reduced {
    pub angle: DoubleDouble,
    /// The multiple, modulo four.
    pub quadrant: u64,
}

/// A finite angle of magnitude 2^19 or more, less the nearest multiple of pi/2.
///
/// The product with 2/pi is formed from those 192 bits of 2/pi that decide on the fraction.
///
/// # Source
/// M. H. Payne and R. N. Hanek, ACM SIGNUM Newsletter 18 (1983) 19.
pub(super) fn reduced(x: f64) -> Reduced {
    let bits = x.to_bits();
    let mantissa = (bits & 0x000f_ffff_ffff_ffff) | 0x0010_0000_0000_0000;
    // |x| = mantissa 2^exponent
    let exponent = ((bits >> 52) & 0x7ff) as i64 - 1075;
    // bits of higher weight give multiples of four right angles
    let skipped = (exponent - 2 + 64) as usize;
    let (word, shift) = (skipped / 64, skipped % 64);
    let window = |i: usize| {
        let pair = u128::from(TWO_OVER_PI[word + i]) << 64 | u128::from(TWO_OVER_PI[word + i + 1]);
        (pair >> (64 - shift)) as u64
    };
    let product = |w: u64, carry: u128| u128::from(w) * u128::from(mantissa) + (carry >> 64);
    let low = product(window(2), 0);
    let middle = product(window(1), low);
    let high = product(window(0), middle) as u64;
    let mut quadrant = high >> 62;
    // the fraction of a right angle, in units of 2^-190
    let mut fraction = [
        (high & (u64::MAX >> 2)) << 2 | (middle as u64) >> 62,
        (middle as u64) << 2 | (low as u64) >> 62,
        (low as u64) << 2,
    ];
    let beyond_half = fraction[0] >> 63 == 1;
    if beyond_half {
        quadrant += 1;
        fraction = fraction.map(|w| !w);
    }
    let zeros = u128::from(fraction[0]) << 64 | u128::from(fraction[1]);
    let shift = zeros.leading_zeros().min(127);
    let top = zeros << shift | u128::from(fraction[2]) << 64 >> (128 - shift).min(127);
    // the leading 106 bits as two doubles
    let unit = super::exponential::scaled(1.0, super::exponential::ROUNDER - f64::from(shift));
    let hi = (top >> 75) as f64 * (unit * TWO_MINUS_53);
    let lo = ((top >> 22) & ((1 << 53) - 1)) as f64 * (unit * TWO_MINUS_53 * TWO_MINUS_53);
    let angle = fast_two_sum(hi, lo).times(HALF_PI);
    let negative = (x < 0.0) != beyond_half;
    let sign = if negative { -1.0 } else { 1.0 };
    Reduced {
        angle: DoubleDouble {
            hi: sign * angle.hi,
            lo: sign * angle.lo,
        },
        quadrant: if x < 0.0 {
            quadrant.wrapping_neg() & 3
        } else {
            quadrant & 3
        },
    }
}

const TWO_MINUS_53: f64 = 1.0 / (1_u64 << 53) as f64;
