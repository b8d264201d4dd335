//! The standard normal distribution.

use libm::{exp, log};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Probability density of the standard normal distribution.
pub fn normal_density(x: f64) -> f64 {
    exp(-0.5 * x * x) / (2.0 * PI).sqrt()
}

/// Cumulative distribution function of the standard normal distribution.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x * FRAC_1_SQRT_2)
}

/// Quantile of the standard normal distribution for a probability strictly between 0 and 1.
///
/// NaN outside that range. Relative error below 1e-15.
///
/// # Source
/// M. J. Wichura, Algorithm AS 241 (PPND16), Appl. Statist. 37 (1988) 477.
pub fn normal_quantile(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180625 - q * q;
        return q * polynomial(&CENTRE_A, r) / polynomial(&CENTRE_B, r);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    let r = (-log(tail)).sqrt();
    let x = if r <= 5.0 {
        polynomial(&MIDDLE_C, r - 1.6) / polynomial(&MIDDLE_D, r - 1.6)
    } else {
        polynomial(&TAIL_E, r - 5.0) / polynomial(&TAIL_F, r - 5.0)
    };
    if q < 0.0 { -x } else { x }
}

/// Horner's rule; coefficients from the constant term upwards.
fn polynomial(coefficients: &[f64; 8], x: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * x + c)
}

const CENTRE_A: [f64; 8] = [
    3.387_132_872_796_366_5,
    133.141_667_891_784_38,
    1_971.590_950_306_551_3,
    13_731.693_765_509_46,
    45_921.953_931_549_87,
    67_265.770_927_008_7,
    33_430.575_583_588_13,
    2_509.080_928_730_122_7,
];
const CENTRE_B: [f64; 8] = [
    1.0,
    42.313_330_701_600_91,
    687.187_007_492_057_9,
    5_394.196_021_424_751,
    21_213.794_301_586_597,
    39_307.895_800_092_71,
    28_729.085_735_721_943,
    5_226.495_278_852_545,
];
const MIDDLE_C: [f64; 8] = [
    1.423_437_110_749_683_5,
    4.630_337_846_156_546,
    5.769_497_221_460_691,
    3.647_848_324_763_204_5,
    1.270_458_252_452_368_4,
    0.241_780_725_177_450_6,
    0.022_723_844_989_269_184,
    7.745_450_142_783_414e-4,
];
const MIDDLE_D: [f64; 8] = [
    1.0,
    2.053_191_626_637_759,
    1.676_384_830_183_803_8,
    0.689_767_334_985_1,
    0.148_103_976_427_480_08,
    0.015_198_666_563_616_457,
    5.475_938_084_995_345e-4,
    1.050_750_071_644_416_9e-9,
];
const TAIL_E: [f64; 8] = [
    6.657_904_643_501_103,
    5.463_784_911_164_114,
    1.784_826_539_917_291_3,
    0.296_560_571_828_504_87,
    0.026_532_189_526_576_124,
    0.001_242_660_947_388_078_4,
    2.711_555_568_743_487_6e-5,
    2.010_334_399_292_288_1e-7,
];
const TAIL_F: [f64; 8] = [
    1.0,
    0.599_832_206_555_888,
    0.136_929_880_922_735_8,
    0.014_875_361_290_850_615,
    7.868_691_311_456_133e-4,
    1.846_318_317_510_054_8e-5,
    1.421_511_758_316_446e-7,
    2.044_263_103_389_939_8e-15,
];
