//! The beta distribution, stretched to any limits.

use super::law::Law;
use crate::scalar::special::{beta_quantile, beta_ratio, log_beta};
use libm::{exp, log};

/// `lower + (upper - lower) B` with `B` beta distributed.
///
/// # Source
/// N. L. Johnson, S. Kotz and N. Balakrishnan, *Continuous Univariate Distributions* 2, 2nd ed.
/// 1995, chapter 25.
#[derive(Debug)]
pub(super) struct Beta {
    pub alpha: f64,
    pub beta: f64,
    pub lower: f64,
    pub upper: f64,
}

impl Law for Beta {
    fn mean(&self) -> f64 {
        self.lower + (self.upper - self.lower) * self.alpha / (self.alpha + self.beta)
    }
    fn variance(&self) -> f64 {
        let sum = self.alpha + self.beta;
        let width = self.upper - self.lower;
        width * width * (self.alpha / sum) * (self.beta / sum) / (sum + 1.0)
    }
    fn density(&self, x: f64) -> Option<f64> {
        let width = self.upper - self.lower;
        let (t, rest) = ((x - self.lower) / width, (self.upper - x) / width);
        if t < 0.0 || rest < 0.0 {
            return Some(0.0);
        }
        // a power of zero: 0, 1 or infinity, and not the NaN of 0 ln 0
        let log_power = |base: f64, power: f64| {
            if power == 0.0 { 0.0 } else { power * log(base) }
        };
        let logarithm = log_power(t, self.alpha - 1.0) + log_power(rest, self.beta - 1.0)
            - log_beta(self.alpha, self.beta);
        Some(exp(logarithm) / width)
    }
    fn cdf(&self, x: f64) -> f64 {
        let t = (x - self.lower) / (self.upper - self.lower);
        beta_ratio(self.alpha, self.beta, t.clamp(0.0, 1.0))
    }
    fn quantile(&self, p: f64) -> f64 {
        self.lower + (self.upper - self.lower) * beta_quantile(self.alpha, self.beta, p)
    }
}
