//! Pooled experimental standard deviation: many short series under the same conditions.

use super::TypeA;
use crate::error::{Error, Result};

/// The standard deviation of single readings from several series of readings.
///
/// # Source
/// JCGM 100:2008, 4.2.4 note and H.3.6 note.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub struct Pooled {
    /// The pooled experimental standard deviation of a single reading.
    pub standard_deviation: f64,
    /// Its degrees of freedom, the sum of those of the series.
    pub dof: f64,
}

impl Pooled {
    /// `s_p^2 = sum nu_i s_i^2 / sum nu_i` of series that may have different means.
    ///
    /// # Errors
    /// No series.
    pub fn of(series: &[TypeA]) -> Result<Pooled> {
        if series.is_empty() {
            return Err(Error::Length {
                field: "series".to_owned(),
                found: 0,
                allowed: "one series or more".to_owned(),
            });
        }
        let dof: f64 = series.iter().map(TypeA::dof).sum();
        let squares = series
            .iter()
            .map(|a| a.dof() * a.standard_deviation * a.standard_deviation);
        Ok(Pooled {
            standard_deviation: (squares.sum::<f64>() / dof).sqrt(),
            dof,
        })
    }

    /// The standard uncertainty of the mean of `count` new readings under the same conditions,
    /// `s_p / sqrt(count)`, which has the degrees of freedom of the pool.
    ///
    /// # Errors
    /// No reading.
    pub fn of_mean(&self, count: usize) -> Result<f64> {
        Error::range(count > 0, "count", count as f64, "", "one reading or more")?;
        Ok(self.standard_deviation / (count as f64).sqrt())
    }
}
