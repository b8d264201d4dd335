//! The evaluation of a site.

use super::budget::{Budget, Expanded};
use super::checks::{SoundSpeedCheck, ZeroCheck};
use super::joint::{AdaptiveRun, SecondOrder};
use super::layout::layout_entry;
use super::low_discrepancy::LowDiscrepancyRun;
use super::pickled::{Rebuilt, rebuilt};
use super::readings::readings_of;
use super::shown::{asked, ends};
use super::stress_test::StressTest;
use super::tally::{AnyTrials, Tallied, Tally, TallyPlan};
use super::told;
use super::trials::{Trials, Validation, plain_run};
use super::user_class::{Made, made_as, taken};
use super::watched::{Looker, watched};
use super::worksheet::Worksheet;
use crate::error::Result;
use crate::evaluate as core;
use crate::montecarlo::{Adaptive, Interval, IntervalKind, LowDiscrepancy};
use crate::uncertainty;
use crate::units::{Dimension, quantity};
use numpy::{AllowTypeChange, PyArray1, PyArrayLike1, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyTuple, PyType};
use std::sync::Arc;

type Array<'py> = Bound<'py, PyArray1<f64>>;

/// A volume flow with everything it rests on.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Evaluation(pub(super) core::Evaluation);

#[pymethods]
impl Evaluation {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.evaluate(readings)`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.site.name
    }

    /// The unit in which the flow is shown, and in which its numbers are.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.budget.output.unit.symbol
    }

    /// The volume flow, in `unit`.
    #[getter]
    fn estimate(&self) -> f64 {
        self.0.budget.result_shown().0
    }

    /// The combined standard uncertainty of the volume flow, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.budget.result_shown().1
    }

    /// The volume flow.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// float
    ///     The volume flow.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> round(evaluation.value("L/s"))
    /// 290
    #[pyo3(signature = (unit = None))]
    fn value(&self, unit: Option<&str>) -> PyResult<f64> {
        let unit = asked(&self.0.budget.output.unit, unit)?;
        Ok(unit.from_si(self.0.estimate()))
    }

    /// Volume flow and standard uncertainty.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Volume flow and standard uncertainty.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> [round(number) for number in evaluation.result()]
    /// [1044, 15]
    #[pyo3(signature = (unit = None))]
    fn result(&self, unit: Option<&str>) -> PyResult<(f64, f64)> {
        let unit = asked(&self.0.budget.output.unit, unit)?;
        let u = unit.difference_from_si(self.0.standard_uncertainty());
        Ok((unit.from_si(self.0.estimate()), u))
    }

    /// The standard uncertainty as a share of the estimate.
    #[getter]
    fn relative_standard_uncertainty(&self) -> f64 {
        self.0.budget.relative_standard_uncertainty()
    }

    /// Effective degrees of freedom of the result; `inf` where they are not limited.
    #[getter]
    fn effective_dof(&self) -> f64 {
        self.0.budget.effective_dof
    }

    /// The coverage probability of the site.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.site.coverage_probability
    }

    /// How the file of readings was read, where it was not plain CSV: encoding, delimiter, decimals,
    /// units, columns and rows left out, one sentence each.
    #[getter]
    fn how_read(&self) -> Vec<String> {
        self.0.how_read()
    }

    /// Number of readings.
    #[getter]
    fn readings(&self) -> usize {
        self.0.readings
    }

    /// The state of the flow: laminar, in transition or turbulent.
    #[getter]
    fn regime(&self) -> &'static str {
        self.0.regime().in_words()
    }

    /// The result in one line, rounded.
    #[getter]
    fn headline(&self) -> PyResult<String> {
        Ok(self.0.headline()?)
    }

    /// The result in one line, by Monte Carlo unless trials validate first order.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same result.
    /// digits
    ///     Number of significant digits of the standard uncertainty that count.
    ///
    /// Returns
    /// -------
    /// str
    ///     One line.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Digits outside 1 to 4, trials too few for the coverage probability, a standard
    ///     uncertainty of 0.
    /// InputError
    ///     A negative number of digits.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=100_000, seed=1)
    /// >>> evaluation.headline_with(trials)[:23]
    /// 'volume flow 1044.8 m3/h'
    #[pyo3(signature = (trials, digits = 2))]
    fn headline_with(&self, trials: AnyTrials<'_>, digits: u32) -> PyResult<String> {
        Ok(trials.ask(|t| self.0.headline_with(t, digits))?)
    }

    /// The expanded uncertainty, at the coverage probability of the site unless another is given.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1; that of the site if not given.
    ///
    /// Returns
    /// -------
    /// Expanded
    ///     Expanded uncertainty, coverage factor and degrees of freedom.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1, an expanded uncertainty
    ///     that is not finite.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> round(evaluation.expanded().coverage_factor, 2)
    /// 1.96
    #[pyo3(signature = (coverage_probability = None))]
    fn expanded(&self, coverage_probability: Option<f64>) -> PyResult<Expanded> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        let budget = &self.0.budget;
        Ok(Expanded::of(budget.expanded(p)?, &budget.output.unit))
    }

    /// The coverage interval of first order.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1; that of the site if not given.
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Lower and upper end.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1, an expanded uncertainty
    ///     that is not finite.
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> [round(end) for end in evaluation.interval()]
    /// [1015, 1073]
    #[pyo3(signature = (coverage_probability = None, unit = None))]
    fn interval(
        &self,
        coverage_probability: Option<f64>,
        unit: Option<&str>,
    ) -> PyResult<(f64, f64)> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        let interval = Interval::of_budget(&self.0.budget, p)?;
        ends(interval, &self.0.budget.output.unit, unit)
    }

    /// Warnings as pairs of a code that never changes and words.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, String)> {
        let warnings = self.0.warnings().into_iter();
        warnings.map(|w| (w.code, w.words)).collect()
    }

    /// A flow as text, such as "900 m3/h", in the unit of the result.
    fn _flow_of(&self, text: &str, field: &str) -> PyResult<f64> {
        let read = quantity(text, Dimension::VolumeFlow, field)?;
        Ok(self.0.budget.output.unit.from_si(read.si))
    }

    /// The sentences of this evaluation, to be said in any language: warnings with their codes.
    fn _warnings_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<told::Headed<'py>>> {
        told::warnings(py, &self.0.warnings())
    }

    fn _mounting_advice_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyTuple>>> {
        told::messages(py, &self.0.mounting_advice_told())
    }

    fn _how_read_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyTuple>>> {
        told::messages(py, &self.0.how_read_told())
    }

    /// What common practice says of mounting sensors on this pipe.
    #[getter]
    fn mounting_advice(&self) -> Vec<String> {
        self.0.mounting_advice()
    }

    /// Spacing of the sensors and its effect on the flow, units in the names; `None` where the path is
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
        let unit = &self.0.budget.output.unit;
        let other = placement.other_flow.map(|flow| unit.from_si(flow));
        found.set_item(format!("other_volume_flow_{}", unit.suffix()), other)?;
        Ok(Some(found))
    }

    /// The sound path in its own plane, to draw it to scale, in SI units; `None` where it is not
    /// known.
    #[getter]
    fn path_layout<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let layout = self.0.path_layout();
        layout.map(|layout| layout_entry(py, &layout)).transpose()
    }

    /// Profile factor and relative standard uncertainty of its law at Reynolds numbers of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// reynolds
    ///     Reynolds numbers, shape ``(n,)``.
    ///
    /// Returns
    /// -------
    /// tuple of ndarray
    ///     Factors and relative standard uncertainties, each of shape ``(n,)``.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Reynolds numbers outside the range of the laws of profile and friction.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> import numpy as np
    /// >>> factors = evaluation.profile_factor_at(np.array([1e6]))
    /// >>> round(float(factors[0][0]), 3)
    /// 0.935
    fn profile_factor_at<'py>(
        &self,
        py: Python<'py>,
        reynolds: PyArrayLike1<'py, f64, AllowTypeChange>,
    ) -> PyResult<(Array<'py>, Array<'py>)> {
        let reynolds = reynolds.as_array();
        let at = reynolds.iter().map(|re| self.0.profile_factor_at(*re));
        let at = at.collect::<Result<Vec<core::FactorAt>>>()?;
        let column = |of: fn(&core::FactorAt) -> f64| at.iter().map(of).collect::<Vec<f64>>();
        Ok((
            column(|at| at.factor).to_pyarray(py),
            column(|at| at.standard_uncertainty).to_pyarray(py),
        ))
    }

    /// Velocity in m/s at relative radii of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// radius
    ///     Distances from the axis over the radius, shape ``(n,)``, 0 to below 1.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Shape ``(n,)``.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A radius outside 0 to below 1.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> import numpy as np
    /// >>> round(float(evaluation.velocity_at(np.array([0.0]))[0]), 2)
    /// 2.95
    fn velocity_at<'py>(
        &self,
        py: Python<'py>,
        radius: PyArrayLike1<'py, f64, AllowTypeChange>,
    ) -> PyResult<Array<'py>> {
        let radius = radius.as_array();
        let found = radius.iter().map(|r| self.0.velocity_at(*r));
        Ok(found.collect::<Result<Vec<f64>>>()?.to_pyarray(py))
    }

    /// How often the interval holds made-up truths, and how seldom if one statement is wrong.
    ///
    /// Parameters
    /// ----------
    /// wrong
    ///     By how much statements are wrong: a difference as text with a unit, such as ``"0.3
    ///     mm"``, or ``"-2 %"`` of the estimate, by the name of the input. If not given, every
    ///     input with a thousandth of the variance or more is wrong by two of its standard
    ///     uncertainties in turn.
    /// trials
    ///     Number of made-up truths.
    /// seed
    ///     The seed of the draws: the same seed gives the same bits.
    ///
    /// Returns
    /// -------
    /// StressTest
    ///     How often the interval holds the truth.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     An input that the evaluation does not have, a negative number of trials, a negative
    ///     seed.
    /// UnitError
    ///     Text that is no difference of the kind of its input.
    /// RangeError
    ///     Trials outside 100 to 2e8, an input with 2 degrees of freedom or fewer.
    /// TrialsError
    ///     A trial without a finite result.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> round(evaluation.stress_test(trials=10_000).held, 2)
    /// 0.96
    #[pyo3(signature = (wrong = None, *, trials = 100_000, seed = 1))]
    fn stress_test(
        &self,
        py: Python<'_>,
        wrong: Option<&Bound<'_, PyDict>>,
        trials: u64,
        seed: u64,
    ) -> PyResult<StressTest> {
        StressTest::of(py, &self.0, wrong, trials, seed)
    }

    /// The measured sound speed of the liquid against the expected one.
    ///
    /// Returns
    /// -------
    /// SoundSpeedCheck
    ///     Measured and expected sound speed, and what may explain their difference.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     No transit time, or a sound path that is not known.
    /// RangeError
    ///     A transit time in which no sound crosses the liquid at the angle of the wedge.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.sound_speed_check().agrees
    /// True
    fn sound_speed_check(&self) -> PyResult<SoundSpeedCheck> {
        Ok(SoundSpeedCheck(self.0.sound_speed_check()?))
    }

    /// Readings at no flow against the stated zero.
    fn _zero_check(&self, readings: &Bound<'_, PyAny>) -> PyResult<ZeroCheck> {
        let readings = readings_of(readings, self.0.site.table_options())?;
        Ok(ZeroCheck(self.0.zero_check(&readings)?))
    }

    /// Programmed against surveyed parameters, as dictionaries in SI units.
    ///
    /// Returns
    /// -------
    /// list of dict
    ///     One for each parameter that was programmed into the meter.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.programmed_check()
    /// []
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

    /// The uncertainty budget of the volume flow.
    #[getter]
    fn budget(&self) -> Made<Budget> {
        Made(Budget(self.0.budget.clone()))
    }

    /// Every step from readings to flow, by name, which ends in the unit.
    #[getter]
    fn steps<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let steps = PyDict::new(py);
        for step in self.0.steps.named() {
            steps.set_item(step.name, step.value)?;
        }
        Ok(steps)
    }

    /// An evaluation from the text that pickle keeps of it.
    #[classmethod]
    fn _kept<'py>(class: &Bound<'py, PyType>, text: &str) -> PyResult<Bound<'py, PyAny>> {
        let py = class.py();
        let made = Evaluation(py.detach(|| core::Evaluation::from_text(text))?);
        made_as(class, made)
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        rebuilt(slf, slf.get().0.to_text()?)
    }

    /// Trials of which all values are kept.
    fn _kept_trials(
        &self,
        py: Python<'_>,
        trials: u64,
        seed: u64,
        looker: Looker,
    ) -> PyResult<Made<Trials>> {
        let run = plain_run(trials, seed);
        let kept = watched(py, looker, |watch| {
            let trials = run.joint_watched(&self.0.model, &self.0.inputs, watch)?;
            Ok(trials.into_trials().swap_remove(0))
        })?;
        Ok(Made(Trials(kept)))
    }

    /// The plan of a run whose values are not kept.
    fn _tally_plan(&self, py: Python<'_>, trials: u64, seed: u64) -> PyResult<TallyPlan> {
        let run = plain_run(trials, seed);
        let plan = watched(py, None, |watch| {
            run.plan_watched(&self.0.model, &self.0.inputs, watch)
        })?;
        Ok(TallyPlan(plan))
    }

    /// All trials of a run.
    fn _tally(&self, py: Python<'_>, plan: &TallyPlan, looker: Looker) -> PyResult<Tallied> {
        let tallied = watched(py, looker, |watch| {
            let (model, inputs, all) = (&self.0.model, &self.0.inputs, 0..plan.0.leaves());
            let tally = plan.0.tally(model, inputs, all, true, watch)?;
            plan.0.finish(model, inputs, tally)
        })?;
        Ok(Tallied(Arc::new(tallied)))
    }

    /// Some leaves of a run, on this thread, as bytes.
    fn _tally_part<'py>(
        &self,
        py: Python<'py>,
        plan: &TallyPlan,
        first: u64,
        last: u64,
        looker: Looker,
    ) -> PyResult<Bound<'py, PyBytes>> {
        let bytes = watched(py, looker, |watch| {
            let (model, inputs) = (&self.0.model, &self.0.inputs);
            let tally = plan.0.tally(model, inputs, first..last, false, watch)?;
            tally.to_bytes()
        })?;
        Ok(PyBytes::new(py, &bytes))
    }

    /// The results of a run, from the tally of all its parts.
    fn _tally_finish(&self, plan: &TallyPlan, tally: &Tally) -> PyResult<Tallied> {
        let tally = tally.take(plan);
        let tallied = plan.0.finish(&self.0.model, &self.0.inputs, tally)?;
        Ok(Tallied(Arc::new(tallied)))
    }

    /// Monte Carlo until the results have settled (JCGM 101:2008, 7.9).
    ///
    /// Parameters
    /// ----------
    /// digits
    ///     Number of significant digits of the standard uncertainty to settle, 1 to 4.
    /// seed
    ///     The seed of the draws: the same seed gives the same bits.
    /// most_trials
    ///     Number of trials after which to stop.
    ///
    /// Returns
    /// -------
    /// AdaptiveRun
    ///     The trials, and whether they settled.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Digits outside 1 to 4, fewer trials than two batches or more than 2e8, an input with 2
    ///     degrees of freedom or fewer.
    /// InputError
    ///     A negative number of digits or trials, a negative seed.
    /// TrialsError
    ///     A trial without a finite result.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.adaptive_monte_carlo(digits=1, seed=1).settled
    /// True
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
        Ok(AdaptiveRun(watched(py, None, |watch| {
            run.run_watched(&self.0.model, &self.0.inputs, watch)
        })?))
    }

    /// Propagate the distributions with scrambled Sobol points instead of random trials.
    ///
    /// An alternative to the trials of JCGM 101, not a replacement. The first-order part of the
    /// measurand is a control variate of mean and standard uncertainty, so that a few dozen points
    /// settle these; the ends of the interval need thousands.
    ///
    /// Parameters
    /// ----------
    /// points
    ///     Points of a replicate, a power of two from 16.
    /// replicates
    ///     Independent replicates, 4 to 1000, whose scatter is the error of each figure.
    /// seed
    ///     Same seed, same bits.
    /// kind
    ///     ``"symmetric"`` or ``"shortest"`` coverage interval.
    /// antithetic
    ///     Whether half of the points mirror the others: mean and standard uncertainty are then
    ///     better known, the ends of the interval a little less.
    ///
    /// Returns
    /// -------
    /// LowDiscrepancyRun
    ///     With the standard error of every figure.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Points that are no power of two from 16 to 2^27 or too few for the coverage probability,
    ///     replicates outside 4 to 1000, more than 2e8 points in all, more than 100 inputs, an
    ///     input with 2 degrees of freedom or fewer.
    /// InputError
    ///     An unknown `kind`, a negative number of points or replicates, a negative seed.
    /// TrialsError
    ///     A trial without a finite result.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.low_discrepancy().points
    /// 4096
    #[pyo3(signature = (points = 4096, replicates = 16, seed = 1, kind = "symmetric", antithetic = false))]
    fn low_discrepancy(
        &self,
        py: Python<'_>,
        points: u64,
        replicates: u64,
        seed: u64,
        kind: &str,
        antithetic: bool,
    ) -> PyResult<LowDiscrepancyRun> {
        let run = LowDiscrepancy {
            points,
            replicates,
            antithetic,
            seed,
            coverage_probability: self.0.site.coverage_probability,
            kind: IntervalKind::from_name(kind, "kind")?,
        };
        let found = watched(py, None, |watch| {
            run.run_watched(&self.0.model, &self.0.inputs, watch)
        })?;
        Ok(LowDiscrepancyRun(found))
    }

    /// Second order (JCGM 100:2008, 5.1.2 note).
    ///
    /// Returns
    /// -------
    /// SecondOrder
    ///     Standard uncertainty and bias with the terms of second order.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Derivatives that are not finite, a variance that the terms of second order make
    ///     negative.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> round(evaluation.second_order().standard_uncertainty)
    /// 15
    fn second_order(&self) -> PyResult<SecondOrder> {
        let mut orders = uncertainty::propagate_second_order(&self.0.model, &self.0.inputs)?;
        Ok(SecondOrder(orders.swap_remove(0)))
    }

    /// Compares the interval of first order with that of trials: JCGM 101:2008, clause 8.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same result.
    /// digits
    ///     Number of significant digits of the standard uncertainty that count.
    /// coverage_probability
    ///     From above 0 to below 1; that of the site if not given.
    ///
    /// Returns
    /// -------
    /// Validation
    ///     The verdict and the differences of both ends.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1 or that so many trials do
    ///     not resolve, digits outside 1 to 4, a standard uncertainty of 0.
    /// InputError
    ///     A negative number of digits.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=100_000, seed=1)
    /// >>> evaluation.validate(trials).digits
    /// 2
    #[pyo3(signature = (trials, digits = 2, coverage_probability = None))]
    fn validate(
        &self,
        py: Python<'_>,
        trials: AnyTrials<'_>,
        digits: u32,
        coverage_probability: Option<f64>,
    ) -> PyResult<Validation> {
        let p = coverage_probability.unwrap_or(self.0.site.coverage_probability);
        let found = trials.ask(|trials| {
            watched(py, None, |watch| {
                self.0.validation_watched(trials, p, digits, watch)
            })
        });
        Ok(Validation(found?))
    }

    /// The results as JSON text, those of a record, with those of trials where they are given.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same evaluation, if there are any.
    /// digits
    ///     Number of significant digits of the standard uncertainty that count.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON in SI units, the units in the names.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Digits outside 1 to 4, trials too few for the coverage probability, a standard
    ///     uncertainty of 0.
    /// InputError
    ///     A negative number of digits.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.to_json()[:1]
    /// '{'
    #[pyo3(signature = (trials = None, digits = 2))]
    fn to_json(&self, trials: Option<AnyTrials<'_>>, digits: u32) -> PyResult<String> {
        Ok(match trials {
            Some(trials) => trials.ask(|t| self.0.to_json(Some((t, digits))))?,
            None => self.0.to_json(None)?,
        })
    }

    /// Every step from raw readings to expanded uncertainty.
    #[getter]
    fn worksheet(&self) -> PyResult<Worksheet> {
        Ok(Worksheet(self.0.worksheet()?))
    }

    /// Result, budget, warnings and cautions in words.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same evaluation to hold it against, if there are any.
    /// digits
    ///     Number of significant digits of the standard uncertainty that count.
    ///
    /// Returns
    /// -------
    /// str
    ///     Lines of text.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Digits outside 1 to 4, trials too few for the coverage probability, a standard
    ///     uncertainty of 0.
    /// InputError
    ///     A negative number of digits.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> evaluation.in_words().splitlines()[0]
    /// 'Harrowmere district cooling, plant 2, supply main'
    #[pyo3(signature = (trials = None, digits = 2))]
    fn in_words(&self, trials: Option<AnyTrials<'_>>, digits: u32) -> PyResult<String> {
        Ok(match trials {
            Some(trials) => trials.ask(|t| self.0.in_words_with(t, digits))?,
            None => self.0.in_words()?,
        })
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
}
