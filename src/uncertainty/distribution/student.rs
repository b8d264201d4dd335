//! Scaled and shifted Student's t.

use super::law::Law;
use crate::scalar::InstructionSet;
use crate::scalar::math::{NormalQuantile, map_split};
use crate::scalar::special::{StudentDeviates, StudentT};
use std::sync::OnceLock;

/// JCGM 101:2008, 6.4.9.
#[derive(Debug)]
pub(super) struct ScaledT {
    pub location: f64,
    pub scale: f64,
    pub dof: f64,
    pub standard: StudentT,
    /// Made for the first block.
    pub deviates: OnceLock<StudentDeviates>,
}

impl Law for ScaledT {
    fn mean(&self) -> f64 {
        self.location
    }
    fn variance(&self) -> f64 {
        if self.dof <= 2.0 {
            return f64::INFINITY;
        }
        let widened = if self.dof.is_finite() {
            self.dof / (self.dof - 2.0)
        } else {
            1.0
        };
        self.scale * self.scale * widened
    }
    fn density(&self, x: f64) -> Option<f64> {
        Some(self.standard.density((x - self.location) / self.scale) / self.scale)
    }
    fn cdf(&self, x: f64) -> f64 {
        self.standard.cdf((x - self.location) / self.scale)
    }
    fn quantile(&self, p: f64) -> f64 {
        self.location + self.scale * self.standard.quantile(p)
    }
    fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        let (location, scale) = (self.location, self.scale);
        if !self.dof.is_finite() {
            return map_split::<NormalQuantile>(set, values, |z| location + scale * z);
        }
        let deviates = self.deviates.get_or_init(|| StudentDeviates::new(self.dof));
        map_split::<NormalQuantile>(set, values, |z| location + scale * deviates.at(z));
    }
}
