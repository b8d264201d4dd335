//! Student's t distribution.

use super::beta::beta_fraction;
use super::{normal_cdf, normal_density, normal_quantile};
use libm::{exp, log};

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
            return normal_density(x);
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
