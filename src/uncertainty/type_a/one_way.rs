//! One-way analysis of variance: repeatability within groups and between groups, such as within
//! and between placements of the sensors.

use super::{Pooled, TypeA};
use crate::error::{Error, Result};
use crate::scalar::special::fisher_upper_tail;

/// Groups of readings, under repeatability conditions within each group.
///
/// # Source
/// JCGM 100:2008, H.5. For groups of unequal size: H. Scheffé, *The Analysis of Variance*, Wiley
/// 1959, 7.2.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct OneWay {
    /// Number of groups, `J`.
    pub groups: usize,
    /// Number of readings in all.
    pub readings: usize,
    /// The mean of the means of the groups.
    pub mean: f64,
    /// The square root of the mean square between groups, `s_a`, with `J - 1` degrees of freedom.
    pub between_deviation: f64,
    /// The square root of the mean square within groups, `s_b`; also the estimate of the
    /// repeatability standard deviation within groups, `s_W`.
    pub within_deviation: f64,
    /// `F = s_a^2 / s_b^2`.
    pub f: f64,
    /// The probability of a larger `F` if there is no effect between groups.
    pub p_value: f64,
    /// The standard deviation of the effect between groups, `s_B`, from
    /// `s_B^2 = (s_a^2 - s_b^2) / K'`; zero where that is negative. `K'` is the number of readings
    /// in a group, corrected for unequal groups.
    pub between_component: f64,
    /// The standard deviation of the means of the groups.
    pub deviation_of_means: f64,
}

impl OneWay {
    /// From the readings of each group, shape `(J,)` of shape `(K_j,)`.
    ///
    /// # Errors
    /// Fewer than two groups, fewer than two readings in a group, readings that are not finite or
    /// do not vary within any group.
    pub fn of(groups: &[Vec<f64>], field: &str) -> Result<OneWay> {
        let named = groups.iter().enumerate();
        let statistics: Vec<TypeA> = named
            .map(|(j, readings)| TypeA::of(readings, &format!("{field}[{j}]")))
            .collect::<Result<_>>()?;
        OneWay::of_statistics(&statistics, field)
    }

    /// From the mean, standard deviation and number of readings of each group.
    ///
    /// # Errors
    /// As above.
    pub fn of_statistics(groups: &[TypeA], field: &str) -> Result<OneWay> {
        let count = groups.len();
        if count < 2 {
            return Err(Error::Length {
                field: field.to_owned(),
                found: count,
                allowed: "two groups or more".to_owned(),
            });
        }
        let means: Vec<f64> = groups.iter().map(|g| g.mean).collect();
        let of_means = TypeA::of(&means, field)?;
        let within = Pooled::of(groups)?;
        let s_b = within.standard_deviation;
        Error::range(
            s_b > 0.0,
            field,
            s_b,
            "",
            "readings that vary within groups",
        )?;
        let sizes: Vec<f64> = groups.iter().map(|g| g.count as f64).collect();
        let total: f64 = sizes.iter().sum();
        let degrees = (count - 1) as f64;
        // deviations from the first mean keep the digits
        let first = means[0];
        let shifts = sizes.iter().zip(&means).map(|(k, m)| k * (m - first));
        let weighted = shifts.sum::<f64>() / total;
        let squares = sizes.iter().zip(&means).map(|(k, m)| {
            let deviation = (m - first) - weighted;
            k * deviation * deviation
        });
        let between_square = squares.sum::<f64>() / degrees;
        let sum_of_squares: f64 = sizes.iter().map(|k| k * k).sum();
        let size = (total - sum_of_squares / total) / degrees;
        let f = between_square / (s_b * s_b);
        Ok(OneWay {
            groups: count,
            readings: total as usize,
            mean: of_means.mean,
            between_deviation: between_square.sqrt(),
            within_deviation: s_b,
            f,
            p_value: fisher_upper_tail(f, degrees, within.dof),
            between_component: ((between_square - s_b * s_b) / size).max(0.0).sqrt(),
            deviation_of_means: of_means.standard_deviation,
        })
    }

    /// Degrees of freedom within groups.
    pub fn within_dof(&self) -> f64 {
        (self.readings - self.groups) as f64
    }

    /// Degrees of freedom between groups.
    pub fn between_dof(&self) -> f64 {
        (self.groups - 1) as f64
    }

    /// The standard uncertainty of the mean, `s(means) / sqrt(J)`, and its degrees of freedom:
    /// valid whether or not there is an effect between groups (H.5.2.5, H.5.3.1).
    pub fn standard_uncertainty(&self) -> (f64, f64) {
        let u = self.deviation_of_means / (self.groups as f64).sqrt();
        (u, self.between_dof())
    }

    /// The standard uncertainty of the mean and its degrees of freedom if there is no effect
    /// between groups, from both mean squares (H.5.2.5). Smaller, and right only then.
    pub fn standard_uncertainty_without_between_effect(&self) -> (f64, f64) {
        let n = self.readings as f64;
        let between = self.between_dof() * self.between_deviation * self.between_deviation;
        let within = self.within_dof() * self.within_deviation * self.within_deviation;
        (((between + within) / (n - 1.0) / n).sqrt(), n - 1.0)
    }
}
