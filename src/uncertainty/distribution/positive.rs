//! Distributions of quantities that cannot be negative: exponential, gamma, lognormal.

use super::law::Law;
use crate::scalar::InstructionSet;
use crate::scalar::math::{NormalQuantile, exp, ln, map, map_split};
use crate::scalar::special::{
    gamma_lower_ratio, gamma_quantile, log_gamma_density, normal_cdf, normal_density,
    normal_quantile,
};
use libm::{expm1, log1p};

/// JCGM 101:2008, 6.4.10.
#[derive(Debug)]
pub(super) struct Exponential {
    pub mean: f64,
}

impl Law for Exponential {
    fn mean(&self) -> f64 {
        self.mean
    }
    fn variance(&self) -> f64 {
        self.mean * self.mean
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(if x < 0.0 {
            0.0
        } else {
            exp(-x / self.mean) / self.mean
        })
    }
    fn cdf(&self, x: f64) -> f64 {
        -expm1(-x.max(0.0) / self.mean)
    }
    fn quantile(&self, p: f64) -> f64 {
        -self.mean * log1p(-p)
    }
}

/// JCGM 101:2008, 6.4.11 (there with an integer shape and scale one).
#[derive(Debug)]
pub(super) struct Gamma {
    pub shape: f64,
    pub scale: f64,
}

impl Law for Gamma {
    fn mean(&self) -> f64 {
        self.shape * self.scale
    }
    fn variance(&self) -> f64 {
        self.shape * self.scale * self.scale
    }
    fn density(&self, x: f64) -> Option<f64> {
        let t = x / self.scale;
        if t > 0.0 {
            return Some(exp(log_gamma_density(self.shape, t)) / self.scale);
        }
        let at_zero = if self.shape < 1.0 {
            f64::INFINITY
        } else if self.shape == 1.0 {
            1.0 / self.scale
        } else {
            0.0
        };
        Some(if t == 0.0 { at_zero } else { 0.0 })
    }
    fn cdf(&self, x: f64) -> f64 {
        gamma_lower_ratio(self.shape, x / self.scale)
    }
    fn quantile(&self, p: f64) -> f64 {
        self.scale * gamma_quantile(self.shape, p)
    }
}

/// A quantity whose logarithm is normal.
///
/// # Source
/// N. L. Johnson, S. Kotz and N. Balakrishnan, *Continuous Univariate Distributions* 1, 2nd ed.
/// 1994, chapter 14.
#[derive(Debug)]
pub(super) struct Lognormal {
    pub log_mean: f64,
    pub log_deviation: f64,
}

impl Lognormal {
    fn standard(&self, x: f64) -> f64 {
        (ln(x) - self.log_mean) / self.log_deviation
    }
}

impl Law for Lognormal {
    fn mean(&self) -> f64 {
        exp(self.log_mean + 0.5 * self.log_deviation * self.log_deviation)
    }
    fn variance(&self) -> f64 {
        let mean = self.mean();
        mean * mean * expm1(self.log_deviation * self.log_deviation)
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(if x <= 0.0 {
            0.0
        } else {
            normal_density(self.standard(x)) / (x * self.log_deviation)
        })
    }
    fn cdf(&self, x: f64) -> f64 {
        if x <= 0.0 {
            0.0
        } else {
            normal_cdf(self.standard(x))
        }
    }
    fn quantile(&self, p: f64) -> f64 {
        exp(self.log_mean + self.log_deviation * normal_quantile(p))
    }
    fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        let (mean, deviation) = (self.log_mean, self.log_deviation);
        map_split::<NormalQuantile>(
            set,
            values,
            #[inline(always)]
            |z| exp(mean + deviation * z),
        );
    }
    fn at_normal_deviates(&self, set: InstructionSet, values: &mut [f64]) {
        let (mean, deviation) = (self.log_mean, self.log_deviation);
        map(
            set,
            values,
            #[inline(always)]
            |z| exp(mean + deviation * z),
        );
    }
}
