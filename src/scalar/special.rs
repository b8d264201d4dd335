//! Special functions of `f64` that the standard library lacks: normal and Student's t.
//!
//! Written here, and not taken from a statistics library, for two reasons: the bits must not
//! depend on the platform's mathematical library, and the quantile of Student's t must hold for
//! the very large effective degrees of freedom that a budget of type B inputs has.

use libm::{exp, log};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

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

/// Student's t distribution with `dof` degrees of freedom (any positive real number).
#[derive(Clone, Copy, Debug)]
pub struct StudentT {
    dof: f64,
    log_beta: f64,
}

/// From here on the expansion in 1/dof gives the quantile to all digits.
const EXPANSION_DOF: f64 = 1e4;
/// From here on the distribution differs from its first-order expansion by less than rounding.
const NEARLY_NORMAL_DOF: f64 = 1e8;

impl StudentT {
    /// The distribution with `dof > 0` degrees of freedom; infinity gives the normal distribution.
    pub fn new(dof: f64) -> Self {
        let log_beta = log_beta_half(0.5 * dof);
        Self { dof, log_beta }
    }

    /// Probability density.
    pub fn density(&self, x: f64) -> f64 {
        if self.dof >= NEARLY_NORMAL_DOF {
            return exp(-0.5 * x * x) / (2.0 * PI).sqrt();
        }
        exp(self.log_density(x))
    }

    fn log_density(&self, x: f64) -> f64 {
        let log_kernel = -0.5 * (self.dof + 1.0) * libm::log1p(x * x / self.dof);
        log_kernel - self.log_beta - 0.5 * log(self.dof)
    }

    /// Cumulative distribution function; relative error below 1e-12, and below `1e-16 dof` for
    /// more than 1e4 degrees of freedom.
    pub fn cdf(&self, x: f64) -> f64 {
        if x == 0.0 {
            0.5
        } else if self.dof >= NEARLY_NORMAL_DOF {
            normal_cdf(x - x * (x * x + 1.0) / (4.0 * self.dof))
        } else if x > 0.0 {
            1.0 - exp(self.log_upper_tail(x))
        } else {
            exp(self.log_upper_tail(-x))
        }
    }

    /// Logarithm of the probability of a value above `x > 0`, from the regularised incomplete
    /// beta function.
    fn log_upper_tail(&self, x: f64) -> f64 {
        let a = 0.5 * self.dof;
        let square = x * x;
        // ln(dof / (dof + x^2)) and ln(x^2 / (dof + x^2)) without cancellation
        let log_w = -libm::log1p(square / self.dof);
        let log_v = -libm::log1p(self.dof / square);
        let log_front = a * log_w + 0.5 * log_v - self.log_beta;
        let w = exp(log_w);
        // the continued fraction converges fast on the side of the mean
        if w < (a + 1.0) / (a + 2.5) {
            log_front + log(0.5 * beta_fraction(a, 0.5, w) / a)
        } else {
            log(0.5 - exp(log_front) * beta_fraction(0.5, a, exp(log_v)))
        }
    }

    /// Quantile for a probability strictly between 0 and 1; NaN outside.
    ///
    /// Relative error below 1e-12 for `dof >= 0.5` and probabilities not closer than 1e-9 to 1/2.
    pub fn quantile(&self, p: f64) -> f64 {
        if p.is_nan() || p <= 0.0 || p >= 1.0 {
            return f64::NAN;
        }
        if p == 0.5 {
            return 0.0;
        }
        if self.dof >= EXPANSION_DOF {
            return self.expansion(normal_quantile(p));
        }
        let tail = p.min(1.0 - p);
        let x = self.upper_quantile(tail);
        if p < 0.5 { -x } else { x }
    }

    /// The quantile in powers of 1/dof from the normal quantile `z`.
    ///
    /// # Source
    /// R. A. Fisher and E. A. Cornish 1960; Abramowitz and Stegun, *Handbook of Mathematical
    /// Functions*, 26.7.5.
    fn expansion(&self, z: f64) -> f64 {
        let s = z * z;
        let g1 = z * (s + 1.0) / 4.0;
        let g2 = z * ((5.0 * s + 16.0) * s + 3.0) / 96.0;
        let g3 = z * (((3.0 * s + 19.0) * s + 17.0) * s - 15.0) / 384.0;
        let g4 = z * ((((79.0 * s + 776.0) * s + 1482.0) * s - 1920.0) * s - 945.0) / 92_160.0;
        let r = 1.0 / self.dof;
        z + r * (g1 + r * (g2 + r * (g3 + r * g4)))
    }

    /// The positive `x` with probability `tail < 1/2` above it.
    ///
    /// Newton's method on the logarithm of the tail as a function of ln x. That function is
    /// concave and decreasing, so after one step the iterates fall monotonically to the root.
    fn upper_quantile(&self, tail: f64) -> f64 {
        let z = -normal_quantile(tail);
        let mut x = if self.dof > 2.0 && z * z < self.dof {
            self.expansion(z)
        } else {
            (0.5 - tail) / self.density(0.0)
        };
        let log_tail = log(tail);
        for _ in 0..100 {
            let log_upper = self.log_upper_tail(x);
            let slope = -exp(self.log_density(x) - log_upper) * x;
            let step = (log_tail - log_upper) / slope;
            x *= exp(step);
            if step.abs() < 1e-9 {
                break;
            }
        }
        x
    }
}

/// Logarithm of the beta function B(a, 1/2).
///
/// # Source
/// Abramowitz and Stegun 6.2.2; for large `a` the asymptotic series of the ratio of gamma
/// functions (NIST DLMF 5.11.13), which avoids the difference of two large numbers.
fn log_beta_half(a: f64) -> f64 {
    const LOG_SQRT_PI: f64 = 0.572_364_942_924_700_1;
    let log_ratio = if a < 50.0 {
        libm::lgamma(a + 0.5) - libm::lgamma(a)
    } else {
        let r = 1.0 / a;
        let s = r * r;
        0.5 * log(a) - r * (1.0 / 8.0 - s * (1.0 / 192.0 - s * (1.0 / 640.0 - s * 17.0 / 14_336.0)))
    };
    LOG_SQRT_PI - log_ratio
}

/// The continued fraction of the incomplete beta function, by Lentz's method.
///
/// # Source
/// NIST Digital Library of Mathematical Functions, 8.17.22; modified Lentz method: I. J. Thompson
/// and A. R. Barnett, J. Comput. Phys. 64 (1986) 490.
fn beta_fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let guard = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / guard(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    for m in 1..20_000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / guard(1.0 + even * d);
        c = guard(1.0 + even / c);
        h *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / guard(1.0 + odd * d);
        c = guard(1.0 + odd / c);
        let factor = d * c;
        h *= factor;
        if (factor - 1.0).abs() <= f64::EPSILON {
            break;
        }
    }
    h
}
