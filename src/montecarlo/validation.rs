//! Comparison of the law of propagation of uncertainty with Monte Carlo.

use super::{Interval, IntervalKind, LowDiscrepancyRun, TrialStatistics};
use crate::error::Result;
use crate::uncertainty::{Budget, Output, expanded, numerical_tolerance, rounded};
use crate::units::Unit;
use serde::{Deserialize, Serialize};

/// Whether first order is good enough, judged with the error that the ends of the Monte Carlo interval
/// have themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "site", derive(schemars::JsonSchema))]
#[cfg_attr(feature = "site", schemars(rename = "VerdictOnFirstOrder"))]
pub enum Verdict {
    /// Both ends differ by no more than the tolerance.
    #[serde(rename = "validated")]
    Validated,
    /// An end differs by more.
    #[serde(rename = "not validated")]
    NotValidated,
    /// The error of the ends leaves both possible.
    #[serde(rename = "undecided")]
    Undecided,
}

impl Verdict {
    /// In words.
    pub fn in_words(self) -> &'static str {
        match self {
            Verdict::Validated => "validated",
            Verdict::NotValidated => "not validated",
            Verdict::Undecided => "undecided",
        }
    }
}

/// The coverage probability of the error of an end with which a verdict is given: one in two hundred is
/// wrong where the true difference is at the tolerance, fewer elsewhere. Our choice.
const SURE: f64 = 0.99;

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
    /// The standard error of the lower endpoint of Monte Carlo.
    pub low_standard_error: f64,
    /// The standard error of the upper endpoint of Monte Carlo.
    pub high_standard_error: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Whether the verdict is that first order may be used.
    pub validated: bool,
    /// Number of trials, or of points of low discrepancy, from which the endpoints come.
    pub trials: u64,
    /// Whether they come from points of low discrepancy.
    pub by_points: bool,
    /// How many more would decide, about; `None` where it is decided.
    pub more_trials: Option<u64>,
    #[serde(skip)]
    output: Output,
}

/// The endpoints of Monte Carlo with their errors.
struct Ends {
    interval: Interval,
    standard_errors: [f64; 2],
    /// By what factor of the standard error an end can be off.
    reach: f64,
    trials: u64,
    by_points: bool,
}

/// More trials than anybody makes.
const MOST: f64 = 1e15;

impl Validation {
    /// Compares a budget with the trials of the same output.
    ///
    /// ```text
    /// validated:      d + k s <= delta  at both ends
    /// not validated:  d - k s > delta  at one of them
    /// ```
    /// `s` is the standard error of the end, `k` the factor for 99 %. Between the two more trials are
    /// needed.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1, digits outside 1 to 4, an uncertainty of zero.
    ///
    /// # Source
    /// JCGM 101:2008, clause 8; that the trials be so many that their own error does not decide is
    /// asked for in 8.2, note 2 (from memory).
    pub fn of(
        budget: &Budget,
        trials: &dyn TrialStatistics,
        coverage_probability: f64,
        digits: u32,
    ) -> Result<Validation> {
        let ends = Ends {
            interval: trials.interval(coverage_probability, IntervalKind::Symmetric)?,
            standard_errors: trials.end_errors(coverage_probability)?,
            reach: expanded(1.0, f64::INFINITY, SURE)?.coverage_factor,
            trials: trials.trials(),
            by_points: false,
        };
        Validation::with(budget, &ends, coverage_probability, digits)
    }

    /// Compares a budget with the endpoints that points of low discrepancy give to its output, the
    /// first of the run. The error is that of the replicates.
    ///
    /// # Errors
    /// As [`Validation::of`].
    pub fn of_points(budget: &Budget, run: &LowDiscrepancyRun, digits: u32) -> Result<Validation> {
        let figures = run.outputs[0];
        let replicates = run.run.replicates;
        let ends = Ends {
            interval: Interval {
                low: figures.low.value,
                high: figures.high.value,
            },
            standard_errors: [figures.low.standard_error, figures.high.standard_error],
            reach: expanded(1.0, replicates as f64 - 1.0, SURE)?.coverage_factor,
            trials: run.run.points * replicates,
            by_points: true,
        };
        Validation::with(budget, &ends, run.run.coverage_probability, digits)
    }

    fn with(
        budget: &Budget,
        ends: &Ends,
        coverage_probability: f64,
        digits: u32,
    ) -> Result<Validation> {
        let first_order = Interval::of_budget(budget, coverage_probability)?;
        // significant digits are those of the number as reported, so in the unit shown
        let unit = &budget.output.unit;
        let shown = unit.difference_from_si(budget.standard_uncertainty);
        let tolerance = numerical_tolerance(shown, digits)? * unit.factor;
        let monte_carlo = ends.interval;
        let low_difference = (first_order.low - monte_carlo.low).abs();
        let high_difference = (first_order.high - monte_carlo.high).abs();
        let [low_error, high_error] = ends.standard_errors;
        let both = [(low_difference, low_error), (high_difference, high_error)];
        let reach = |error: f64| ends.reach * error;
        let within = |(d, error): &(f64, f64)| d + reach(*error) <= tolerance;
        let beyond = |(d, error): &(f64, f64)| d - reach(*error) > tolerance;
        let verdict = if both.iter().any(beyond) {
            Verdict::NotValidated
        } else if both.iter().all(within) {
            Verdict::Validated
        } else {
            Verdict::Undecided
        };
        // the error falls with the root of the number, with points even faster
        let needed = |(d, error): &(f64, f64)| {
            let ratio = reach(*error) / (d - tolerance).abs();
            ends.trials as f64 * (ratio * ratio - 1.0)
        };
        let open = both.iter().filter(|end| !within(end)).map(needed);
        let more = open.fold(0.0, f64::max).clamp(1.0, MOST);
        Ok(Validation {
            coverage_probability,
            digits,
            tolerance,
            first_order,
            monte_carlo,
            low_difference,
            high_difference,
            low_standard_error: low_error,
            high_standard_error: high_error,
            verdict,
            validated: verdict == Verdict::Validated,
            trials: ends.trials,
            by_points: ends.by_points,
            more_trials: (verdict == Verdict::Undecided).then_some(more as u64),
            output: budget.output.clone(),
        })
    }

    /// The unit in which the output is shown.
    pub fn unit(&self) -> &Unit {
        &self.output.unit
    }

    /// Whether neither difference exceeds the tolerance, whatever its error.
    pub fn within_tolerance(&self) -> bool {
        self.low_difference <= self.tolerance && self.high_difference <= self.tolerance
    }

    /// The verdict as a sentence, with what would decide where it is undecided.
    pub fn verdict_in_words(&self) -> String {
        match self.more_trials {
            None => format!("first order is {}", self.verdict.in_words()),
            Some(more) => format!(
                "whether first order is validated is undecided; about {} more trials would decide",
                rounded(more as f64, 2)
            ),
        }
    }

    /// What the comparison found and what follows from it.
    pub fn in_words(&self) -> String {
        let unit = &self.output.unit;
        let shown = |v: f64| {
            let number = rounded(unit.difference_from_si(v), 2);
            unit.after(&number)
        };
        let (verdict, advice) = match self.verdict {
            Verdict::Validated => ("agrees with", "First order may be used.".to_owned()),
            Verdict::NotValidated => ("differs from", "Use the result of Monte Carlo.".to_owned()),
            Verdict::Undecided => (
                "cannot be told from, or apart from,",
                format!(
                    "Use the result of Monte Carlo, or decide with about {} more trials.",
                    rounded(self.more_trials.unwrap_or_default() as f64, 2)
                ),
            ),
        };
        format!(
            "{}: the {} % interval of first order {verdict} that of Monte Carlo to {} significant \
             digit{}: the ends differ by {} and {}, known to {} and {} (standard errors of {} {}), the \
             numerical tolerance is {}. {advice}",
            self.output.name,
            100.0 * self.coverage_probability,
            self.digits,
            if self.digits == 1 { "" } else { "s" },
            shown(self.low_difference),
            shown(self.high_difference),
            shown(self.low_standard_error),
            shown(self.high_standard_error),
            self.trials,
            if self.by_points {
                "points of low discrepancy"
            } else {
                "trials"
            },
            shown(self.tolerance),
        )
    }
}
