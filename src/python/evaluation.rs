//! Results: evaluation, budget, trials.

use super::checks::{Reconciliation, SoundSpeedCheck, ZeroCheck};
use super::joint::{AdaptiveRun, SecondOrder};
use super::site::readings_of;
use crate::evaluate as core;
use crate::montecarlo::{self, Adaptive, Interval, IntervalKind, MonteCarlo};
use crate::uncertainty::{self, TableRow, Units};
use crate::units::Unit;
use numpy::{PyArray1, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// Calls a function of the Python package with the object itself, for what Python does better.
pub(super) fn delegate<'py>(
    own: &Bound<'py, PyAny>,
    module: &str,
    function: &str,
) -> PyResult<Bound<'py, PyAny>> {
    own.py().import(module)?.call_method1(function, (own,))
}

/// A volume flow with everything it rests on.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Evaluation(pub(super) core::Evaluation);

#[pymethods]
impl Evaluation {
    #[getter]
    fn site(&self) -> &str {
        &self.0.site.name
    }

    #[getter]
    fn estimate(&self) -> f64 {
        self.0.estimate()
    }

    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty()
    }

    #[getter]
    fn relative_standard_uncertainty(&self) -> f64 {
        self.0.budget.relative_standard_uncertainty()
    }

    #[getter]
    fn effective_dof(&self) -> f64 {
        self.0.budget.effective_dof
    }

    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.site.coverage_probability
    }

    #[getter]
    fn readings(&self) -> usize {
        self.0.readings
    }

    #[getter]
    fn regime(&self) -> &'static str {
        self.0.regime().in_words()
    }

    #[getter]
    fn headline(&self) -> PyResult<String> {
        Ok(self.0.headline()?)
    }

    #[pyo3(signature = (coverage_probability = None))]
    fn expanded(&self, coverage_probability: Option<f64>) -> PyResult<Expanded> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        Ok(Expanded(self.0.budget.expanded(p)?))
    }

    /// The coverage interval of first order.
    #[pyo3(signature = (coverage_probability = None, si = true))]
    fn interval(&self, coverage_probability: Option<f64>, si: bool) -> PyResult<(f64, f64)> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        let interval = Interval::of_budget(&self.0.budget, p)?;
        Ok(ends(interval, &self.0.budget.output.unit, si))
    }

    /// Warnings as pairs of a code that never changes and words.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, String)> {
        let warnings = self.0.warnings().into_iter();
        warnings.map(|w| (w.code, w.words)).collect()
    }

    /// What common practice says of mounting sensors on this pipe.
    #[getter]
    fn mounting_advice(&self) -> Vec<&'static str> {
        self.0.mounting_advice()
    }

    /// Spacing of the sensors and its effect on the flow, in SI units; `None` where the path is
    /// not known.
    #[getter]
    fn placement<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let Some(placement) = self.0.placement()? else {
            return Ok(None);
        };
        let found = PyDict::new(py);
        found.set_item("spacing_m", placement.spacing)?;
        found.set_item("placed_m", placement.placed)?;
        found.set_item("relative_sensitivity_1_m", placement.relative_sensitivity)?;
        found.set_item("other_volume_flow_m3_s", placement.other_flow)?;
        Ok(Some(found))
    }

    /// The measured sound speed of the liquid against the expected one.
    fn sound_speed_check(&self) -> PyResult<SoundSpeedCheck> {
        Ok(SoundSpeedCheck(self.0.sound_speed_check()?))
    }

    /// Readings at no flow against the stated zero.
    fn zero_check(&self, readings: &Bound<'_, PyAny>) -> PyResult<ZeroCheck> {
        Ok(ZeroCheck(self.0.zero_check(&readings_of(readings)?)?))
    }

    /// Programmed against surveyed parameters, as dictionaries in SI units.
    fn programmed_check<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let checks = self.0.programmed_check()?;
        let entry = |check: &core::ProgrammedCheck| {
            let found = PyDict::new(py);
            found.set_item("parameter", check.parameter)?;
            found.set_item("unit", check.unit)?;
            found.set_item("programmed", check.programmed)?;
            found.set_item("surveyed", check.surveyed)?;
            found.set_item("standard_uncertainty", check.standard_uncertainty)?;
            found.set_item("standardised", check.standardised)?;
            Ok(found)
        };
        checks.iter().map(entry).collect()
    }

    /// The evaluation with inputs reconciled with the measured transit time.
    fn reconciled(&self) -> PyResult<Reconciliation> {
        Ok(Reconciliation(self.0.reconciled()?))
    }

    #[getter]
    fn budget(&self) -> Budget {
        Budget(self.0.budget.clone())
    }

    /// Every step from readings to flow, by name, in SI units.
    #[getter]
    fn steps<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let steps = PyDict::new(py);
        for step in self.0.steps.named() {
            steps.set_item(step.name, step.value)?;
        }
        Ok(steps)
    }

    #[pyo3(signature = (trials = 1_000_000, seed = 1))]
    fn monte_carlo(&self, py: Python<'_>, trials: u64, seed: u64) -> PyResult<Trials> {
        let run = MonteCarlo {
            trials,
            seed,
            ..MonteCarlo::default()
        };
        Ok(Trials(py.detach(|| self.0.monte_carlo(run))?))
    }

    /// Monte Carlo until the results have settled (JCGM 101:2008, 7.9).
    #[pyo3(signature = (digits = 2, seed = 1, most_trials = 20_000_000))]
    fn adaptive_monte_carlo(
        &self,
        py: Python<'_>,
        digits: u32,
        seed: u64,
        most_trials: u64,
    ) -> PyResult<AdaptiveRun> {
        let run = Adaptive {
            digits,
            seed,
            most_trials,
            coverage_probability: self.0.site.coverage_probability,
            ..Adaptive::default()
        };
        Ok(AdaptiveRun(
            py.detach(|| run.run(&self.0.model, &self.0.inputs))?,
        ))
    }

    /// Second order (JCGM 100:2008, 5.1.2 note).
    fn second_order(&self) -> PyResult<SecondOrder> {
        let mut orders = uncertainty::propagate_second_order(&self.0.model, &self.0.inputs)?;
        Ok(SecondOrder(orders.swap_remove(0)))
    }

    #[pyo3(signature = (trials, digits = 2, coverage_probability = None))]
    fn validate(
        &self,
        trials: &Trials,
        digits: u32,
        coverage_probability: Option<f64>,
    ) -> PyResult<Validation> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        let budget = &self.0.budget;
        Ok(Validation(montecarlo::Validation::of(
            budget, &trials.0, p, digits,
        )?))
    }

    #[pyo3(signature = (trials = None, digits = 2))]
    fn to_json(&self, trials: Option<&Trials>, digits: u32) -> PyResult<String> {
        let value = self.0.to_json(trials.map(|t| (&t.0, digits)))?;
        Ok(format!("{value:#}"))
    }

    #[pyo3(signature = (trials = None, digits = 2))]
    fn in_words(&self, trials: Option<&Trials>, digits: u32) -> PyResult<String> {
        let mut text = self.0.in_words()?;
        if let Some(trials) = trials {
            text += "\n";
            text += &self.0.trials_in_words(&trials.0, digits)?;
        }
        Ok(text)
    }

    fn __repr__(&self) -> PyResult<String> {
        Ok(format!(
            "<Evaluation of {:?}: {}>",
            self.0.site.name,
            self.0.headline()?
        ))
    }

    fn __str__(&self) -> PyResult<String> {
        Ok(self.0.in_words()?)
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._display", "evaluation_html")
    }
}

/// An uncertainty budget.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Budget(pub(super) uncertainty::Budget);

#[pymethods]
impl Budget {
    #[getter]
    fn output(&self) -> &str {
        &self.0.output.name
    }

    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    #[getter]
    fn estimate(&self) -> f64 {
        self.0.estimate
    }

    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    #[getter]
    fn effective_dof(&self) -> f64 {
        self.0.effective_dof
    }

    #[getter]
    fn result_in_words(&self) -> String {
        self.0.result_in_words()
    }

    fn expanded(&self, coverage_probability: f64) -> PyResult<Expanded> {
        Ok(Expanded(self.0.expanded(coverage_probability)?))
    }

    /// Estimate and standard uncertainty.
    #[pyo3(signature = (si = true))]
    fn result(&self, si: bool) -> (f64, f64) {
        if si {
            (self.0.estimate, self.0.standard_uncertainty)
        } else {
            self.0.result_shown()
        }
    }

    /// Shares of the variance by component.
    fn components<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let shares = PyDict::new(py);
        for subtotal in self.0.components() {
            shares.set_item(subtotal.component, subtotal.share)?;
        }
        Ok(shares)
    }

    /// The columns of the budget: lists of words and arrays of numbers.
    #[pyo3(signature = (si = false))]
    fn columns<'py>(&self, py: Python<'py>, si: bool) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.0.rows(if si { Units::Si } else { Units::Shown });
        let columns = PyDict::new(py);
        let words = |pick: fn(&TableRow) -> &str| -> Vec<String> {
            rows.iter().map(|row| pick(row).to_owned()).collect()
        };
        let numbers = |pick: fn(&TableRow) -> f64| -> Bound<'py, PyArray1<f64>> {
            rows.iter().map(pick).collect::<Vec<_>>().to_pyarray(py)
        };
        columns.set_item("component", words(|r| &r.component))?;
        columns.set_item("input", words(|r| &r.input))?;
        columns.set_item("estimate", numbers(|r| r.estimate))?;
        columns.set_item("standard_uncertainty", numbers(|r| r.standard_uncertainty))?;
        columns.set_item("unit", words(|r| &r.unit))?;
        columns.set_item("distribution", words(|r| r.distribution))?;
        columns.set_item("dof", numbers(|r| r.dof.unwrap_or(f64::INFINITY)))?;
        columns.set_item("sensitivity", numbers(|r| r.sensitivity))?;
        columns.set_item("contribution", numbers(|r| r.contribution))?;
        columns.set_item(
            "relative_sensitivity",
            numbers(|r| r.relative_sensitivity.unwrap_or(f64::NAN)),
        )?;
        columns.set_item(
            "relative_contribution",
            numbers(|r| r.relative_contribution.unwrap_or(f64::NAN)),
        )?;
        columns.set_item("share", numbers(|r| r.share))?;
        columns.set_item("evidence", words(|r| &r.evidence))?;
        Ok(columns)
    }

    /// The lines as rounded text, component first and evidence last.
    fn rounded_lines(&self) -> Vec<Vec<String>> {
        self.0.rounded_lines()
    }

    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._tables", "budget_to_pandas")
    }

    fn to_polars<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._tables", "budget_to_polars")
    }

    fn __repr__(&self) -> String {
        format!("<Budget of {}>", self.0.result_in_words())
    }

    fn __str__(&self) -> String {
        self.0.to_string()
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._display", "budget_html")
    }
}

/// An expanded uncertainty.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Expanded(pub(super) uncertainty::Expanded);

#[pymethods]
impl Expanded {
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    #[getter]
    fn expanded_uncertainty(&self) -> f64 {
        self.0.expanded_uncertainty
    }

    fn __repr__(&self) -> String {
        format!(
            "<Expanded {:e}, coverage factor {:.4}, coverage probability {}>",
            self.0.expanded_uncertainty, self.0.coverage_factor, self.0.coverage_probability
        )
    }
}

/// Monte Carlo trials of one output.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Trials(pub(super) montecarlo::Summary);

/// The ends of an interval, in SI units or in the unit shown.
fn ends(interval: Interval, unit: &Unit, si: bool) -> (f64, f64) {
    let shown = if si {
        interval
    } else {
        interval.shown_in(unit)
    };
    (shown.low, shown.high)
}

#[pymethods]
impl Trials {
    #[getter]
    fn trials(&self) -> usize {
        self.0.trials()
    }

    #[getter]
    fn seed(&self) -> u64 {
        self.0.seed
    }

    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    #[pyo3(signature = (coverage_probability = 0.95, kind = "symmetric", si = true))]
    fn interval(&self, coverage_probability: f64, kind: &str, si: bool) -> PyResult<(f64, f64)> {
        let kind = IntervalKind::from_name(kind, "kind")?;
        let interval = self.0.interval(coverage_probability, kind)?;
        Ok(ends(interval, &self.0.output.unit, si))
    }

    /// The values in ascending order.
    #[pyo3(signature = (si = true))]
    fn values<'py>(&self, py: Python<'py>, si: bool) -> Bound<'py, PyArray1<f64>> {
        if si {
            self.0.sorted().to_pyarray(py)
        } else {
            self.0.sorted_shown().to_pyarray(py)
        }
    }

    fn __repr__(&self) -> String {
        let unit = &self.0.output.unit;
        let (mean, u) = uncertainty::rounded_pair(
            unit.from_si(self.0.mean),
            unit.difference_from_si(self.0.standard_uncertainty),
        );
        format!(
            "<Trials of {}: {} trials, seed {}, mean {}, standard uncertainty {}>",
            self.0.output.name,
            self.0.trials(),
            self.0.seed,
            unit.after(&mean),
            unit.after(&u),
        )
    }
}

/// Comparison of first order with Monte Carlo.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Validation(montecarlo::Validation);

#[pymethods]
impl Validation {
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    #[getter]
    fn digits(&self) -> u32 {
        self.0.digits
    }

    #[getter]
    fn tolerance(&self) -> f64 {
        self.0.tolerance
    }

    #[getter]
    fn first_order(&self) -> (f64, f64) {
        (self.0.first_order.low, self.0.first_order.high)
    }

    #[getter]
    fn monte_carlo(&self) -> (f64, f64) {
        (self.0.monte_carlo.low, self.0.monte_carlo.high)
    }

    #[getter]
    fn low_difference(&self) -> f64 {
        self.0.low_difference
    }

    #[getter]
    fn high_difference(&self) -> f64 {
        self.0.high_difference
    }

    #[getter]
    fn validated(&self) -> bool {
        self.0.validated
    }

    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    fn __bool__(&self) -> bool {
        self.0.validated
    }

    fn __repr__(&self) -> String {
        let outcome = if self.0.validated {
            "validated"
        } else {
            "not validated"
        };
        format!(
            "<Validation: first order is {outcome}, endpoints differ by {:.3e} and {:.3e}, \
             tolerance {:.3e}>",
            self.0.low_difference, self.0.high_difference, self.0.tolerance
        )
    }
}
