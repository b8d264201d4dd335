//! The evaluation of a site.

use super::budget::{Budget, Expanded};
use super::checks::{Reconciliation, SoundSpeedCheck, ZeroCheck};
use super::joint::{AdaptiveRun, SecondOrder};
use super::low_discrepancy::LowDiscrepancyRun;
use super::record::Record;
use super::site::readings_of;
use super::trials::{Trials, Validation, ends};
use super::worksheet::Worksheet;
use crate::evaluate as core;
use crate::montecarlo::{
    self, Adaptive, Interval, IntervalKind, LowDiscrepancy, MonteCarlo, Propagated,
};
use crate::uncertainty;
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

    /// Scrambled Sobol points instead of random trials, with the standard error of every figure.
    #[pyo3(signature = (points = 4096, replicates = 16, seed = 1, kind = "symmetric"))]
    fn low_discrepancy(
        &self,
        py: Python<'_>,
        points: u64,
        replicates: u64,
        seed: u64,
        kind: &str,
    ) -> PyResult<LowDiscrepancyRun> {
        let run = LowDiscrepancy {
            points,
            replicates,
            seed,
            coverage_probability: self.0.site.coverage_probability,
            kind: IntervalKind::from_name(kind, "kind")?,
        };
        let found = py.detach(|| run.run(&self.0.model, &self.0.inputs))?;
        Ok(LowDiscrepancyRun(found))
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
        let value = self
            .0
            .to_json(trials.map(|t| (&t.0 as &dyn Propagated, digits)))?;
        Ok(format!("{value:#}"))
    }

    /// Every step from raw readings to expanded uncertainty.
    #[getter]
    fn worksheet(&self) -> PyResult<Worksheet> {
        Ok(Worksheet(self.0.worksheet()?))
    }

    /// The record, with what was done beside the evaluation.
    #[pyo3(signature = (trials = None, digits = 2, at_no_flow = None))]
    fn record(
        &self,
        trials: Option<&Trials>,
        digits: u32,
        at_no_flow: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Record> {
        Record::of(self, trials, digits, at_no_flow)
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
