//! The empirical distribution of a sample: each value as probable as any other.

use super::Values;
use super::law::Law;

/// A discrete distribution with probability `1 / n` at each of `n` values.
#[derive(Debug)]
pub(super) struct Sample {
    sorted: Vec<f64>,
    mean: f64,
    variance: f64,
}

impl Sample {
    pub fn new(values: &Values) -> Sample {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len() as f64;
        let first = sorted.first().copied().unwrap_or(f64::NAN);
        let offset = sorted.iter().map(|v| v - first).sum::<f64>() / n;
        let squares = sorted.iter().map(|v| {
            let deviation = (v - first) - offset;
            deviation * deviation
        });
        let variance = squares.sum::<f64>() / n;
        Sample {
            sorted,
            mean: first + offset,
            variance,
        }
    }
}

impl Law for Sample {
    fn mean(&self) -> f64 {
        self.mean
    }
    /// Of the sample as it stands, with `n` in the denominator.
    fn variance(&self) -> f64 {
        self.variance
    }
    fn density(&self, _: f64) -> Option<f64> {
        None
    }
    fn cdf(&self, x: f64) -> f64 {
        self.sorted.partition_point(|v| *v <= x) as f64 / self.sorted.len() as f64
    }
    fn quantile(&self, p: f64) -> f64 {
        // the smallest value at which the distribution function reaches p
        let place = (p * self.sorted.len() as f64).ceil() as usize;
        let last = self.sorted.len().wrapping_sub(1);
        let value = self.sorted.get(place.saturating_sub(1).min(last));
        value.copied().unwrap_or(f64::NAN)
    }
}
