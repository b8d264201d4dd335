//! Type A evaluation: statistics of repeated readings.

use crate::bounds::{is_moderate, is_moderate_uncertainty};
use crate::error::{Error, Result};

/// Mean, spread and degrees of freedom of independent repeated readings.
///
/// # Source
/// JCGM 100:2008, 4.2.1 to 4.2.3 and 4.2.6.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TypeA {
    /// Number of readings, `n`.
    pub count: usize,
    /// Arithmetic mean.
    pub mean: f64,
    /// Experimental standard deviation, with `n - 1` in the denominator.
    pub standard_deviation: f64,
}

impl TypeA {
    /// Statistics of `readings`, shape `(n,)`, in the unit of the readings.
    ///
    /// # Errors
    /// Fewer than two readings, or one that is not finite; the error names `field`.
    pub fn of(readings: &[f64], field: &str) -> Result<TypeA> {
        let count = readings.len();
        if count < 2 {
            return Err(Error::Length {
                field: field.to_owned(),
                found: count,
                allowed: "two readings or more".to_owned(),
            });
        }
        if let Some(i) = readings.iter().position(|r| !is_moderate(*r)) {
            let field = format!("{field}[{i}]");
            Error::range(
                false,
                field,
                readings[i],
                "",
                "finite numbers of magnitude 1e100 at most",
            )?;
        }
        let n = count as f64;
        let first = readings[0];
        // Readings share many leading digits, so the deviations from the first are summed.
        let offset = readings.iter().map(|r| r - first).sum::<f64>() / n;
        let mean = first + offset;
        let squares = |r: &f64| {
            let deviation = (r - first) - offset;
            deviation * deviation
        };
        let sum = readings.iter().map(squares).sum::<f64>();
        Ok(TypeA {
            count,
            mean,
            standard_deviation: (sum / (n - 1.0)).sqrt(),
        })
    }

    /// From statistics that were stated instead of the readings.
    ///
    /// # Errors
    /// Fewer than two readings, a mean that is not finite, a standard deviation that is negative
    /// or not finite; the error names `field`.
    pub fn from_statistics(
        count: usize,
        mean: f64,
        standard_deviation: f64,
        field: &str,
    ) -> Result<TypeA> {
        let place = |part: &str| format!("{field}.{part}");
        if count < 2 {
            return Err(Error::Length {
                field: place("count"),
                found: count,
                allowed: "two readings or more".to_owned(),
            });
        }
        let allowed = "finite numbers of magnitude 1e100 at most";
        Error::range(is_moderate(mean), place("mean"), mean, "", allowed)?;
        let s = standard_deviation;
        let usable = s == 0.0 || is_moderate_uncertainty(s);
        let allowed = "0 or above and finite, from 1e-100 to 1e100 where it is not 0";
        Error::range(usable, place("standard_deviation"), s, "", allowed)?;
        Ok(TypeA {
            count,
            mean,
            standard_deviation,
        })
    }

    /// Experimental standard deviation of the mean, `s / sqrt(n)`.
    pub fn standard_uncertainty(&self) -> f64 {
        self.standard_deviation / (self.count as f64).sqrt()
    }

    /// Degrees of freedom, `n - 1`.
    pub fn dof(&self) -> f64 {
        (self.count - 1) as f64
    }
}
