//! What every kind of distribution can answer.

use crate::scalar::InstructionSet;
use crate::scalar::special::normal_cdf;
use std::fmt::Debug;

/// A distribution whose parameters have been checked, prepared for many evaluations.
pub(super) trait Law: Debug + Send + Sync {
    fn mean(&self) -> f64;
    /// May be infinite.
    fn variance(&self) -> f64;
    /// Zero outside the limits; `None` where there is no density (exact value, sample).
    fn density(&self, x: f64) -> Option<f64>;
    /// The probability of a value not above `x`.
    fn cdf(&self, x: f64) -> f64;
    /// The value with probability `p` below it, `0 < p < 1`.
    fn quantile(&self, p: f64) -> f64;
    /// Replaces each probability by its [`Law::quantile`], where a law says so by an approximation.
    fn quantiles(&self, set: InstructionSet, values: &mut [f64]) {
        set.run(
            #[inline(always)]
            || {
                for value in values {
                    *value = self.quantile(*value);
                }
            },
        );
    }
    /// Replaces independent uniform numbers by independent draws, groups of
    /// [`Law::drawn_together`] at once.
    fn draws(&self, set: InstructionSet, uniforms: &mut [f64]) {
        self.quantiles(set, uniforms);
    }
    fn drawn_together(&self) -> usize {
        1
    }
    /// Replaces each standard normal deviate by the value with the same probability below it.
    fn at_normal_deviates(&self, set: InstructionSet, values: &mut [f64]) {
        values.iter_mut().for_each(|z| *z = normal_cdf(*z));
        self.quantiles(set, values);
    }
}

/// A quantity that is known exactly.
#[derive(Debug)]
pub(super) struct Exact(pub f64);

impl Law for Exact {
    fn mean(&self) -> f64 {
        self.0
    }
    fn variance(&self) -> f64 {
        0.0
    }
    fn density(&self, _: f64) -> Option<f64> {
        None
    }
    fn cdf(&self, x: f64) -> f64 {
        if x < self.0 { 0.0 } else { 1.0 }
    }
    #[inline(always)]
    fn quantile(&self, _: f64) -> f64 {
        self.0
    }
}
