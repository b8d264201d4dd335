//! Comparison of the law of propagation of uncertainty with Monte Carlo.

use super::{Interval, IntervalKind, Propagated};
use crate::error::Result;
use crate::uncertainty::{Budget, Output, numerical_tolerance, rounded};
use crate::units::Unit;
use serde::Serialize;

/// The outcome of the comparison, with all numbers in SI units of the output.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Validation {
    /// The coverage probability of both intervals.
    pub coverage_probability: f64,
    /// Number of significant digits of the standard uncertainty regarded as meaningful.
    pub digits: u32,
    /// The numerical tolerance `delta`.
    pub tolerance: f64,
    /// The interval `y - U, y + U` of first order.
    pub first_order: Interval,
    /// The probabilistically symmetric interval of Monte Carlo.
    pub monte_carlo: Interval,
    /// Magnitude of the difference of the lower endpoints, `d_low`.
    pub low_difference: f64,
    /// Magnitude of the difference of the upper endpoints, `d_high`.
    pub high_difference: f64,
    /// Whether neither difference exceeds the tolerance.
    pub validated: bool,
    #[serde(skip)]
    output: Output,
}

impl Validation {
    /// Compares a budget with the trials of the same output.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1, digits outside 1 to 4, an uncertainty of zero.
    ///
    /// # Source
    /// JCGM 101:2008, clause 8.
    pub fn of(
        budget: &Budget,
        summary: &dyn Propagated,
        coverage_probability: f64,
        digits: u32,
    ) -> Result<Validation> {
        let first_order = Interval::of_budget(budget, coverage_probability)?;
        // significant digits are those of the number as reported, so in the unit shown
        let unit = &budget.output.unit;
        let shown = unit.difference_from_si(budget.standard_uncertainty);
        let tolerance = numerical_tolerance(shown, digits)? * unit.factor;
        let monte_carlo = summary.interval(coverage_probability, IntervalKind::Symmetric)?;
        let low_difference = (first_order.low - monte_carlo.low).abs();
        let high_difference = (first_order.high - monte_carlo.high).abs();
        Ok(Validation {
            coverage_probability,
            digits,
            tolerance,
            first_order,
            monte_carlo,
            low_difference,
            high_difference,
            validated: low_difference <= tolerance && high_difference <= tolerance,
            output: budget.output.clone(),
        })
    }

    /// The unit in which the output is shown.
    pub fn unit(&self) -> &Unit {
        &self.output.unit
    }

    /// What the comparison found and what follows from it.
    pub fn in_words(&self) -> String {
        let unit = &self.output.unit;
        let shown = |v: f64| {
            let number = rounded(unit.difference_from_si(v), 2);
            unit.after(&number)
        };
        let (verdict, advice) = if self.validated {
            ("agrees with", "First order may be used.")
        } else {
            ("differs from", "Use the result of Monte Carlo.")
        };
        format!(
            "{}: the {} % interval of first order {verdict} that of Monte Carlo to {} significant \
             digit{}: the ends differ by {} and {}, the numerical tolerance is {}. {advice}",
            self.output.name,
            100.0 * self.coverage_probability,
            self.digits,
            if self.digits == 1 { "" } else { "s" },
            shown(self.low_difference),
            shown(self.high_difference),
            shown(self.tolerance),
        )
    }
}
