//! A series of readings that depend on each other, such as a logged flow.

use super::TypeA;
use crate::error::{Error, Result};

/// By what the variance of the mean of `n` readings exceeds `sigma^2 / n`:
///
/// ```text
/// 1 + 2 sum_{k=1}^{n-1} (1 - k / n) rho_k
/// ```
/// `autocorrelation(k)` is the coefficient of readings `k` apart; `lags` bounds the sum where the
/// rest is zero.
///
/// # Source
/// G. V. Bayley and J. M. Hammersley, J. R. Stat. Soc. Suppl. 8 (1946) 184.
pub fn variance_inflation(n: usize, lags: usize, autocorrelation: impl Fn(usize) -> f64) -> f64 {
    let terms = (1..n.min(lags + 1)).map(|k| (1.0 - k as f64 / n as f64) * autocorrelation(k));
    1.0 + 2.0 * terms.sum::<f64>()
}

/// The mean of a stationary series of readings taken at equal intervals.
#[derive(Debug, Clone, PartialEq)]
pub struct Autocorrelated {
    /// Number of readings, `n`.
    pub count: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation of a single reading, as if readings were independent.
    pub standard_deviation: f64,
    /// The number of independent readings whose mean is known as well, at most `n`.
    pub effective_count: f64,
    /// The standard uncertainty of the mean.
    pub standard_uncertainty: f64,
    /// The estimated autocorrelation coefficients that were used, from lag one on.
    pub autocorrelation: Vec<f64>,
}

impl Autocorrelated {
    /// The statistics of a series, shape `(n,)`, in the unit of the readings.
    ///
    /// Autocorrelation coefficients are summed in pairs of neighbouring lags as long as the pairs
    /// are positive and do not rise: beyond that they are noise. Both the dependence and the
    /// shortfall of `s` that it causes are in the standard uncertainty:
    ///
    /// ```text
    /// u^2 = s^2 (n - 1) / (n (n_eff - 1))
    /// ```
    /// which is `s^2 / n` for independent readings. A series that swings from reading to reading
    /// would have `n_eff > n`; that is not claimed.
    ///
    /// A drift is not stationary, and its autocorrelation cannot tell it from one slow swing:
    /// whatever its length it counts as three to five independent readings. So few of them in a
    /// long series ask for a look at it.
    ///
    /// # Errors
    /// Fewer than eight readings, one that is not finite, or a series that holds fewer than two
    /// independent readings.
    ///
    /// # Source
    /// JCGM 100:2008, 4.2.7 asks for such a treatment. Bayley and Hammersley 1946 (see
    /// [`variance_inflation`]); the truncation: C. J. Geyer, Statist. Sci. 7 (1992) 473, initial
    /// monotone sequence.
    pub fn of(readings: &[f64], field: &str) -> Result<Autocorrelated> {
        let n = readings.len();
        if n < 8 {
            return Err(Error::Length {
                field: field.to_owned(),
                found: n,
                allowed: "eight readings or more for autocorrelation".to_owned(),
            });
        }
        let a = TypeA::of(readings, field)?;
        let autocorrelation = if a.standard_deviation > 0.0 {
            significant(readings, a.mean)
        } else {
            Vec::new()
        };
        let inflation = variance_inflation(n, autocorrelation.len(), |k| autocorrelation[k - 1]);
        let count = n as f64;
        let effective_count = (count / inflation.max(1.0)).min(count);
        let allowed = "a series of at least two independent readings; longer, or without drift";
        let place = format!("{field}, effective number of readings");
        Error::range(effective_count >= 2.0, place, effective_count, "", allowed)?;
        let variance = a.standard_deviation * a.standard_deviation * (count - 1.0)
            / (count * (effective_count - 1.0));
        Ok(Autocorrelated {
            count: n,
            mean: a.mean,
            standard_deviation: a.standard_deviation,
            effective_count,
            standard_uncertainty: variance.sqrt(),
            autocorrelation,
        })
    }

    /// Degrees of freedom, `n_eff - 1`.
    pub fn dof(&self) -> f64 {
        self.effective_count - 1.0
    }
}

/// The autocorrelation coefficients up to the end of the initial monotone sequence.
fn significant(readings: &[f64], mean: f64) -> Vec<f64> {
    let n = readings.len();
    let covariance = |lag: usize| -> f64 {
        let pairs = readings.iter().zip(&readings[lag..]);
        pairs.map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>() / n as f64
    };
    let variance = covariance(0);
    let mut coefficients = vec![1.0];
    let mut before = f64::INFINITY;
    for lag in (0..n - 1).step_by(2) {
        let (even, odd) = (covariance(lag) / variance, covariance(lag + 1) / variance);
        let pair = even + odd;
        if pair <= 0.0 {
            break;
        }
        // a pair larger than the one before is lowered to it
        let keep = (before / pair).min(1.0);
        if lag > 0 {
            coefficients.push(even * keep);
        }
        coefficients.push(odd * keep);
        before = pair.min(before);
    }
    coefficients.remove(0);
    coefficients
}
