//! A series of readings that depend on each other, such as a logged flow.

use super::{AboutCourse, Damping, TypeA, cosine, variance_inflation};
use crate::error::{Error, Result};
use crate::watch::{Watch, map_watched, unwatched};

/// The autocorrelation coefficients of a series from lag one to lag `lags`, or to the last lag that
/// the series has; zero where readings do not vary.
///
/// ```text
/// r_k = sum_{t=1}^{n-k} (x_t - m) (x_{t+k} - m) / sum_{t=1}^{n} (x_t - m)^2
/// ```
///
/// # Errors
/// Fewer than two readings, or one that is not finite.
///
/// # Source
/// G. E. P. Box and G. M. Jenkins, *Time Series Analysis*, Holden-Day 1970, 2.1.5.
pub fn autocorrelation(readings: &[f64], lags: usize, field: &str) -> Result<Vec<f64>> {
    autocorrelation_watched(readings, lags, field, &mut unwatched)
}

/// As [`autocorrelation`], with a watch that is told the number of lags done and may end it.
///
/// # Errors
/// As [`autocorrelation`]; [`Error::Cancelled`].
pub fn autocorrelation_watched(
    readings: &[f64],
    lags: usize,
    field: &str,
    watch: &mut Watch<'_>,
) -> Result<Vec<f64>> {
    let mean = TypeA::of(readings, field)?.mean;
    let product = |lag: usize| -> f64 {
        let pairs = readings.iter().zip(&readings[lag..]);
        pairs.map(|(a, b)| (a - mean) * (b - mean)).sum()
    };
    let whole = product(0);
    let coefficient = |lag: usize| {
        if whole > 0.0 {
            product(lag) / whole
        } else {
            0.0
        }
    };
    map_watched(lags.min(readings.len() - 1), watch, |i| coefficient(i + 1))
}

/// The mean of a stationary series of readings taken at equal intervals.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Autocorrelated {
    /// Number of readings, `n`.
    pub count: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation of a single reading, as if readings were independent.
    pub standard_deviation: f64,
    /// The standard uncertainty of the mean.
    pub standard_uncertainty: f64,
    /// Degrees of freedom of the standard uncertainty.
    pub dof: f64,
    /// Whether stated damping, and not what the readings show, gives the standard uncertainty.
    pub from_damping: bool,
}

impl Autocorrelated {
    /// The statistics of a series, shape `(n,)`, in the unit of the readings.
    ///
    /// The variance of the mean is the power spectrum of the series at frequency zero over `n`. No
    /// model of the noise is fitted: the spectrum near zero is the mean of the first squares of the
    /// cosine transform,
    ///
    /// ```text
    /// P_j = 2/n (sum_{t=1}^{n} x_t cos(pi j (t - 1/2) / n))^2,   j = 1, 2, ...
    /// ```
    /// each with one degree of freedom; a mean over `k` of them has `k`. Four are taken at first,
    /// then twice as many, and so on up to 256 or `n - 1`, as long as the next terms are not below
    /// the ones before by more than chance allows: that is, unless the mean `h` of `m` further
    /// terms and the mean `l` of the `k` before have
    ///
    /// ```text
    /// h < l exp(-1.28 sqrt(2/k + 2/m))
    /// ```
    /// The logarithm of the ratio of two such means of a flat spectrum has that standard deviation,
    /// and independent readings stop by chance in one case of ten at each step. Where the spectrum
    /// falls it has fallen within the terms before already, and the line through both means is
    /// followed to below zero by as much again: `2 l - h` takes the place of `l`. Independent
    /// readings pass all the way: up to 257 of them have `s / sqrt(n)` and `n - 1`. No less than
    /// `s / sqrt(n)` is claimed ever, though a series that swings from reading to reading would
    /// allow it.
    ///
    /// A drift is not stationary. It counts as three independent readings, whatever its length; so
    /// few of them in a long series ask for a look at it. A record that is shorter than some ten
    /// times the time over which readings depend on each other shows too little of the dependence:
    /// its uncertainty is too small.
    ///
    /// # Errors
    /// Fewer than two readings, or one that is not finite.
    ///
    /// # Source
    /// JCGM 100:2008, 4.2.7 asks for such a treatment. Cosine terms near zero with Student's t of
    /// as many degrees of freedom: U. K. Müller, J. Econometrics 141 (2007) 1331; E. Lazarus,
    /// D. J. Lewis, J. H. Stock, M. W. Watson, J. Bus. Econ. Stat. 36 (2018) 541 (both from memory).
    /// Following the spectrum down to zero: P. Heidelberger and P. D. Welch, Commun. ACM 24 (1981)
    /// 233 (from memory). How many terms, and how far it is followed, is our choice, from the
    /// coverage of simulated series of many kinds.
    pub fn of(readings: &[f64], field: &str) -> Result<Autocorrelated> {
        Autocorrelated::of_watched(readings, field, &mut unwatched)
    }

    /// As [`Autocorrelated::of`], with a watch that may end it.
    ///
    /// # Errors
    /// As [`Autocorrelated::of`]; [`Error::Cancelled`].
    pub fn of_watched(
        readings: &[f64],
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let a = TypeA::of(readings, field)?;
        let independent = Autocorrelated {
            count: a.count,
            mean: a.mean,
            standard_deviation: a.standard_deviation,
            standard_uncertainty: a.standard_uncertainty(),
            dof: a.dof(),
            from_damping: false,
        };
        let level = cosine::level_at_zero(readings, a.mean, watch)?;
        let standard_uncertainty = (level.density / a.count as f64).sqrt();
        let all = level.terms + 1 == a.count;
        if all || standard_uncertainty <= independent.standard_uncertainty {
            return Ok(independent);
        }
        Ok(Autocorrelated {
            standard_uncertainty,
            dof: level.terms as f64,
            ..independent
        })
    }

    /// The same series where the meter is known to damp its readings, which were taken at an
    /// `interval` in seconds: the larger standard uncertainty of what the readings show and of what
    /// the damping alone makes of independent noise,
    ///
    /// ```text
    /// u^2 = s^2 (n - 1) / (n (n_eff - 1)),   n_eff = n / (1 + 2 sum_k (1 - k/n) rho_k)
    /// ```
    /// with the degrees of freedom of `s`, `n / (1 + 2 sum_k (1 - k/n) rho_k^2) - 1` and no fewer
    /// than one. It is a lower bound: where the flow itself varies slowly, or noise is added after
    /// the damping, the readings tell.
    ///
    /// # Errors
    /// Damping or an interval not above zero; readings that span too little of the damping to hold
    /// more than one independent reading.
    ///
    /// # Source
    /// Bayley and Hammersley 1946, see [`variance_inflation`].
    pub fn damped(self, damping: Damping, interval: f64, field: &str) -> Result<Autocorrelated> {
        let rho = damping.autocorrelation(interval, self.count, field)?;
        let lags = rho.len();
        let n = self.count as f64;
        let inflation = variance_inflation(self.count, lags, |k| rho[k - 1]);
        let effective = n / inflation;
        let place = format!("{field}, effective number of readings");
        let allowed = "readings that span several times the damping, so that they hold more than \
                       one independent reading";
        Error::range(effective > 1.0, place, effective, "", allowed)?;
        let s = self.standard_deviation;
        let variance = s * s * (n - 1.0) / (n * (effective - 1.0));
        let standard_uncertainty = variance.sqrt();
        if standard_uncertainty <= self.standard_uncertainty {
            return Ok(self);
        }
        let squares = variance_inflation(self.count, lags, |k| rho[k - 1] * rho[k - 1]);
        Ok(Autocorrelated {
            standard_uncertainty,
            dof: (n / squares - 1.0).max(1.0),
            from_damping: true,
            ..self
        })
    }

    /// The mean of readings over the time in which they were taken, where the course of what is read
    /// is not noise: the standard uncertainty is that of the scatter about the course, see
    /// [`AboutCourse`]. Readings that are too few to tell have that of a steady quantity.
    ///
    /// # Errors
    /// As [`Autocorrelated::of`].
    pub fn over_the_period(readings: &[f64], field: &str) -> Result<Autocorrelated> {
        Autocorrelated::over_the_period_watched(readings, field, &mut unwatched)
    }

    /// As [`Autocorrelated::over_the_period`], with a watch that may end it.
    ///
    /// # Errors
    /// As [`Autocorrelated::of`]; [`Error::Cancelled`].
    pub fn over_the_period_watched(
        readings: &[f64],
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let steady = Autocorrelated::of_watched(readings, field, watch)?;
        let whole = 0..readings.len();
        let Ok(scatter) = AboutCourse::of(readings, &[whole], None, field) else {
            return Ok(steady);
        };
        let n = readings.len() as f64;
        let s = scatter.standard_deviation;
        Ok(Autocorrelated {
            standard_deviation: s,
            standard_uncertainty: s * (scatter.readings_for_one / n).sqrt(),
            dof: scatter.dof,
            ..steady
        })
    }

    /// The number of independent readings whose mean is known as well, at most `n`:
    ///
    /// ```text
    /// n_eff = 1 + s^2 (n - 1) / (n u^2)
    /// ```
    /// in which `s` is below the standard deviation of the readings since their mean moves with
    /// them.
    pub fn effective_count(&self) -> f64 {
        let n = self.count as f64;
        let (s, u) = (self.standard_deviation, self.standard_uncertainty);
        if u <= s / n.sqrt() {
            return n; // exactly, whatever the rounding below
        }
        (1.0 + s * s * (n - 1.0) / (n * u * u)).min(n)
    }
}
