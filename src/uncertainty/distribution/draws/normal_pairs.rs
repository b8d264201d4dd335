//! Pairs of normal draws from pairs of uniform numbers.

#![allow(
    clippy::needless_range_loop,
    reason = "plain loops over several arrays at once"
)]

use crate::scalar::InstructionSet;
use crate::scalar::math::{Aligned, CHUNK, SIDE_BY_SIDE, horner, in_chunks, split_normal_number};
use std::f64::consts::LN_2;

/// Numbers of a group; each of its first half makes a pair with one of the second.
pub(in super::super) const NORMAL_GROUP: usize = CHUNK;

/// `-2 ln((1 + s)/(1 - s)) / s` in powers of `s^2`, up to `s = (sqrt(2) - 1)/(sqrt(2) + 1)`; the
/// relative error is below 7e-10.
const LOGARITHM: [f64; 4] = [
    -3.999_999_997_262_636_3,
    -1.333_336_306_763_023_7,
    -0.799_497_010_350_381,
    -0.598_487_809_582_899_7,
];
/// `cos(pi t)` in powers of `t^2`, up to `t = 1/2`; the error is below 3e-10.
const COSINE: [f64; 6] = [
    0.999_999_999_779_154,
    -4.934_802_136_928_946,
    4.058_709_154_763_134,
    -1.335_211_949_390_550_3,
    0.234_937_068_595_086_5,
    -0.024_395_932_097_550_446,
];
/// `sin(pi t)/t` in powers of `t^2`, up to `t = 1/2`; the relative error is below 7e-9.
const SINE: [f64; 5] = [
    3.141_592_640_077_203_4,
    -5.167_710_076_668_315,
    2.550_077_386_528_912,
    -0.598_290_411_283_427_5,
    0.077_655_912_276_013_87,
];

/// Replaces independent numbers, uniform between 0 and 1, by independent draws from the normal
/// distribution with that mean and standard deviation.
///
/// ```text
/// -r sin(2 pi v), r cos(2 pi v),   r = sqrt(-2 ln u)
/// ```
/// in the places of `u` and `v`, which is half a group of [`NORMAL_GROUP`] numbers after `u`. The
/// polynomials, through Chebyshev points, leave an error below 1e-8 of `r`. What is left over after
/// the last whole group is without meaning.
///
/// # Source
/// JCGM 101:2008, C.4; G. E. P. Box and M. E. Muller, Ann. Math. Statist. 29 (1958) 610.
pub(in super::super) fn normal_pairs(
    set: InstructionSet,
    uniforms: &mut [f64],
    mean: f64,
    deviation: f64,
) {
    in_chunks(
        set,
        uniforms,
        #[inline(always)]
        |group| {
            let mut all_radii = Aligned([0.0; NORMAL_GROUP / 2]);
            let (first, second) = group.split_at_mut(NORMAL_GROUP / 2);
            let first = first.as_chunks_mut::<SIDE_BY_SIDE>().0.iter_mut();
            let second = second.as_chunks_mut::<SIDE_BY_SIDE>().0.iter_mut();
            let to = all_radii.0.as_chunks_mut::<SIDE_BY_SIDE>().0.iter_mut();
            for ((u, v), to) in first.zip(second).zip(to) {
                *to = radii(u, deviation);
                pairs(to, u, v, mean);
            }
        },
    );
}

/// `deviation sqrt(-2 ln u)`.
#[inline(always)]
fn radii(u: &[f64; SIDE_BY_SIDE], deviation: f64) -> [f64; SIDE_BY_SIDE] {
    let mut ratios = [0.0; SIDE_BY_SIDE];
    let mut squares = [0.0; SIDE_BY_SIDE];
    let mut exponents = [0.0; SIDE_BY_SIDE];
    for i in 0..SIDE_BY_SIDE {
        let (f, exponent) = split_normal_number(u[i]);
        ratios[i] = f / (f + 2.0);
        squares[i] = ratios[i] * ratios[i];
        exponents[i] = exponent;
    }
    let series = horner(&LOGARITHM, &squares);
    let mut radii = [0.0; SIDE_BY_SIDE];
    for i in 0..SIDE_BY_SIDE {
        let square = ratios[i] * series[i] + exponents[i] * (-2.0 * LN_2);
        radii[i] = deviation * square.sqrt();
    }
    radii
}

/// Puts pairs at these radii in the places of the numbers, of which `v` gives the angles.
#[inline(always)]
fn pairs(
    radii: &[f64; SIDE_BY_SIDE],
    u: &mut [f64; SIDE_BY_SIDE],
    v: &mut [f64; SIDE_BY_SIDE],
    mean: f64,
) {
    const SIGN: u64 = 1 << 63;
    let mut halves = [0.0; SIDE_BY_SIDE];
    let mut turns = [0.0; SIDE_BY_SIDE];
    let mut squares = [0.0; SIDE_BY_SIDE];
    for i in 0..SIDE_BY_SIDE {
        // cosine and sine of pi t are -sin(2 pi v), but for its sign, and cos(2 pi v)
        halves[i] = v[i] - 0.5;
        turns[i] = 2.0 * halves[i].abs() - 0.5;
        squares[i] = turns[i] * turns[i];
    }
    let sines = horner(&SINE, &squares);
    let cosines = horner(&COSINE, &squares);
    for i in 0..SIDE_BY_SIDE {
        let cosine = f64::from_bits(cosines[i].to_bits() ^ (halves[i].to_bits() & SIGN));
        u[i] = mean + radii[i] * cosine;
        v[i] = mean + radii[i] * (sines[i] * turns[i]);
    }
}
