//! The normal distribution, whole and truncated.

use super::draws::{NORMAL_GROUP, QuantileFit, normal_pairs};
use super::law::Law;
use crate::scalar::InstructionSet;
use crate::scalar::math::{NormalQuantile, Split, map};
use crate::scalar::special::{integrate, normal_cdf, normal_density, normal_quantile};
use once_cell::race::OnceBox;

/// JCGM 101:2008, 6.4.7.
#[derive(Debug)]
pub(super) struct Normal {
    pub mean: f64,
    pub deviation: f64,
}

impl Law for Normal {
    fn mean(&self) -> f64 {
        self.mean
    }
    fn variance(&self) -> f64 {
        self.deviation * self.deviation
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(normal_density((x - self.mean) / self.deviation) / self.deviation)
    }
    fn cdf(&self, x: f64) -> f64 {
        normal_cdf((x - self.mean) / self.deviation)
    }
    fn quantile(&self, p: f64) -> f64 {
        self.mean + self.deviation * normal_quantile(p)
    }
    fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        static FIT: OnceBox<QuantileFit> = OnceBox::new();
        let fit = FIT.get_or_init(|| Box::new(QuantileFit::new(|above| -normal_quantile(above))));
        fit.quantiles(set, values, self.mean, self.deviation, NormalQuantile::rare);
    }
    fn draws(&self, set: InstructionSet, uniforms: &mut [f64]) {
        normal_pairs(set, uniforms, self.mean, self.deviation);
    }
    fn drawn_together(&self) -> usize {
        NORMAL_GROUP
    }
    fn at_normal_deviates(&self, set: InstructionSet, values: &mut [f64]) {
        let (mean, deviation) = (self.mean, self.deviation);
        map(
            set,
            values,
            #[inline(always)]
            |z| mean + deviation * z,
        );
    }
}

/// A normal distribution cut off at limits, each of which may be infinite.
///
/// # Source
/// N. L. Johnson, S. Kotz and N. Balakrishnan, *Continuous Univariate Distributions* 1, 2nd ed.
/// 1994, 13.10.1. The moments are integrated: their closed forms cancel for narrow or far limits.
#[derive(Debug)]
pub(super) struct TruncatedNormal {
    location: f64,
    scale: f64,
    /// Limits in standard units; if need be reflected, so that most of the mass is below zero.
    low: f64,
    high: f64,
    reflected: bool,
    mass: f64,
    mean: f64,
    variance: f64,
}

impl TruncatedNormal {
    /// The probability that the whole distribution has within the limits.
    pub fn mass_within(location: f64, scale: f64, lower: f64, upper: f64) -> f64 {
        let (low, high) = ((lower - location) / scale, (upper - location) / scale);
        if low > 0.0 {
            normal_cdf(-low) - normal_cdf(-high)
        } else {
            normal_cdf(high) - normal_cdf(low)
        }
    }

    pub fn new(location: f64, scale: f64, lower: f64, upper: f64) -> TruncatedNormal {
        let (low, high) = ((lower - location) / scale, (upper - location) / scale);
        // differences of small probabilities keep their digits, those of large ones do not
        let reflected = low > 0.0;
        let (low, high) = if reflected {
            (-high, -low)
        } else {
            (low, high)
        };
        let peak = 0.0_f64.clamp(low, high);
        // beyond these the density is below exp(-40) of its peak
        let reach = (peak * peak + 80.0).sqrt();
        let (from, to) = (low.max(-reach), high.min(reach));
        let relative = |z: f64| libm::exp(0.5 * (peak - z) * (peak + z));
        let moment = |f: &dyn Fn(f64) -> f64| {
            let size = (to - from).min(1.0);
            integrate(|z| f(z) * relative(z), from, to, 1e-16 * size).value
        };
        let total = moment(&|_| 1.0);
        // about the peak, so that narrow limits lose no digits
        let offset = moment(&|z| z - peak) / total;
        let variance = moment(&|z| {
            let deviation = (z - peak) - offset;
            deviation * deviation
        }) / total;
        let mean = if reflected {
            -(peak + offset)
        } else {
            peak + offset
        };
        TruncatedNormal {
            location,
            scale,
            low,
            high,
            reflected,
            mass: normal_cdf(high) - normal_cdf(low),
            mean: location + scale * mean,
            variance: variance * scale * scale,
        }
    }

    /// The value in the standard units of `low` and `high`.
    fn standard(&self, x: f64) -> f64 {
        let z = (x - self.location) / self.scale;
        if self.reflected { -z } else { z }
    }
}

impl Law for TruncatedNormal {
    fn mean(&self) -> f64 {
        self.mean
    }
    fn variance(&self) -> f64 {
        self.variance
    }
    fn density(&self, x: f64) -> Option<f64> {
        let z = self.standard(x);
        Some(if (self.low..=self.high).contains(&z) {
            normal_density(z) / (self.mass * self.scale)
        } else {
            0.0
        })
    }
    fn cdf(&self, x: f64) -> f64 {
        let z = self.standard(x).clamp(self.low, self.high);
        if self.reflected {
            (normal_cdf(self.high) - normal_cdf(z)) / self.mass
        } else {
            (normal_cdf(z) - normal_cdf(self.low)) / self.mass
        }
    }
    fn quantile(&self, p: f64) -> f64 {
        let p = if self.reflected { 1.0 - p } else { p };
        let below = normal_cdf(self.low) + p * self.mass;
        // above the median the upper tail has the digits
        let z = if below < 0.5 {
            normal_quantile(below)
        } else {
            -normal_quantile(normal_cdf(-self.high) + (1.0 - p) * self.mass)
        };
        let z = z.clamp(self.low, self.high);
        self.location + self.scale * if self.reflected { -z } else { z }
    }
}
