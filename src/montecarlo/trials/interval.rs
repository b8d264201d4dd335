//! Coverage intervals, and the ranks at which the trials have them.

use crate::error::{Error, Result};
use crate::uncertainty::Budget;
use crate::units::Unit;
use serde::{Deserialize, Serialize};

/// Which of the many coverage intervals of a given probability.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum IntervalKind {
    /// Equal probabilities below and above (JCGM 101:2008, 3.15).
    Symmetric,
    /// The shortest (JCGM 101:2008, 3.16).
    Shortest,
}

impl IntervalKind {
    const NAMES: [&'static str; 2] = ["symmetric", "shortest"];

    /// The kind of that name.
    ///
    /// # Errors
    /// Neither `symmetric` nor `shortest`; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<IntervalKind> {
        match name {
            "symmetric" => Ok(IntervalKind::Symmetric),
            "shortest" => Ok(IntervalKind::Shortest),
            _ => Err(Error::unknown_name(field, name, &Self::NAMES)),
        }
    }
}

/// A coverage interval, in SI units.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// The lower endpoint.
    pub low: f64,
    /// The upper endpoint.
    pub high: f64,
}

impl Interval {
    /// The interval `y - U, y + U` of first order.
    ///
    /// # Errors
    /// A coverage probability that is not strictly between 0 and 1.
    pub fn of_budget(budget: &Budget, coverage_probability: f64) -> Result<Interval> {
        let expanded = budget.expanded(coverage_probability)?.expanded_uncertainty;
        Ok(Interval {
            low: budget.estimate - expanded,
            high: budget.estimate + expanded,
        })
    }

    /// The interval in another unit than SI.
    pub fn shown_in(self, unit: &Unit) -> Interval {
        Interval {
            low: unit.from_si(self.low),
            high: unit.from_si(self.high),
        }
    }
}

/// The ranks within one standard deviation of `rank`, which is that of a quantile, of so many trials.
pub(in crate::montecarlo) fn ranks_reached(trials: u64, rank: u64) -> [u64; 2] {
    let n = trials as f64;
    let p = (rank as f64 + 0.5) / n;
    let reach = (n * p * (1.0 - p)).sqrt().ceil() as u64;
    [rank.saturating_sub(reach), (trials - 1).min(rank + reach)]
}

/// `q` of JCGM 101:2008, 7.7: the nearest integer to `p M`.
pub(in crate::montecarlo) fn covered(trials: u64, coverage_probability: f64) -> Result<u64> {
    let covered = (coverage_probability * trials as f64 + 0.5).floor();
    let inside = coverage_probability < 1.0 && covered >= 1.0 && covered < trials as f64;
    let allowed = format!("strictly between 0 and 1, and resolved by {trials} trials");
    let field = "coverage_probability";
    Error::range(inside, field, coverage_probability, "", allowed)?;
    Ok(covered as u64)
}

/// The rank, from 0, at which the symmetric interval starts (JCGM 101:2008, 7.7).
pub(in crate::montecarlo) fn symmetric_start(trials: u64, covered: u64) -> u64 {
    ((trials - covered) as f64 / 2.0 + 0.5).floor() as u64 - 1
}
