//! Monte Carlo runs whose values are not kept.

use super::joint::{Matrix, matrix};
use super::pickled::{Rebuilt, rebuilt};
use super::shown::{asked, ends};
use super::trials::Trials;
use crate::montecarlo::{self, IntervalKind, TrialStatistics};
use crate::uncertainty;
use crate::units::Unit;
use numpy::{PyArray1, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict, PyType};
use std::sync::{Arc, Mutex, PoisonError};

/// What all parts of a run share.
#[pyclass(frozen, module = "flowdoubt._core")]
pub(super) struct TallyPlan(pub(super) montecarlo::TallyPlan);

#[pymethods]
impl TallyPlan {
    /// What pickle keeps, made a plan again.
    #[classmethod]
    fn _kept(_: &Bound<'_, PyType>, bytes: &[u8]) -> PyResult<TallyPlan> {
        Ok(TallyPlan(montecarlo::TallyPlan::from_bytes(bytes)?))
    }

    fn to_bytes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyBytes>> {
        Ok(PyBytes::new(py, &self.0.to_bytes()?))
    }

    #[getter]
    fn trials(&self) -> u64 {
        self.0.trials()
    }

    #[getter]
    fn leaves(&self) -> u64 {
        self.0.leaves()
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        rebuilt(slf, slf.get().to_bytes(slf.py())?)
    }
}

/// The tally of some trials of a run, to which others are added.
#[pyclass(frozen, module = "flowdoubt._core")]
pub(super) struct Tally(Mutex<Option<montecarlo::Tally>>);

#[pymethods]
impl Tally {
    #[new]
    fn new(plan: &TallyPlan) -> Tally {
        Tally(Mutex::new(Some(montecarlo::Tally::new(&plan.0))))
    }

    /// Adds a part that came as bytes.
    fn add(&self, py: Python<'_>, plan: &TallyPlan, part: &[u8]) -> PyResult<()> {
        py.detach(|| {
            let mut tally = self.0.lock().unwrap_or_else(PoisonError::into_inner);
            let tally = tally.get_or_insert_with(|| montecarlo::Tally::new(&plan.0));
            tally.merge_bytes(&plan.0, part)
        })?;
        Ok(())
    }

    /// Number of trials tallied.
    #[getter]
    fn trials(&self) -> u64 {
        let tally = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        tally.as_ref().map_or(0, montecarlo::Tally::trials)
    }
}

impl Tally {
    /// What was tallied, which is gone from here then.
    pub(super) fn take(&self, plan: &TallyPlan) -> montecarlo::Tally {
        let mut tally = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        tally
            .take()
            .unwrap_or_else(|| montecarlo::Tally::new(&plan.0))
    }
}

/// All outputs of a run whose values were not kept.
#[pyclass(frozen, module = "flowdoubt._core")]
pub(super) struct Tallied(pub(super) Arc<montecarlo::TalliedJoint>);

#[pymethods]
impl Tallied {
    fn members(&self) -> Vec<TalliedTrials> {
        let count = self.0.outputs().len();
        (0..count)
            .map(|which| TalliedTrials(Arc::clone(&self.0), which))
            .collect()
    }

    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.joint_result().covariance)
    }

    #[getter]
    fn correlation<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.joint_result().correlations())
    }
}

/// One output of a run whose values were not kept.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct TalliedTrials(Arc<montecarlo::TalliedJoint>, usize);

impl TalliedTrials {
    fn statistics(&self) -> montecarlo::TalliedTrials<'_> {
        self.0.of_output(self.1)
    }

    fn own_unit(&self) -> &Unit {
        &self.0.outputs()[self.1].unit
    }
}

#[pymethods]
impl TalliedTrials {
    /// Number of trials.
    #[getter]
    fn trials(&self) -> u64 {
        self.0.trials()
    }

    /// Number of trials without a finite result.
    #[getter]
    fn failed(&self) -> u64 {
        self.0.failed()
    }

    /// The seed.
    #[getter]
    fn seed(&self) -> u64 {
        self.statistics().seed()
    }

    /// The unit of the output quantity.
    #[getter]
    fn unit(&self) -> &str {
        &self.own_unit().symbol
    }

    /// What the trials are of.
    #[getter]
    fn output(&self) -> &str {
        &self.0.outputs()[self.1].name
    }

    /// Mean and standard deviation.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Mean and standard deviation.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    /// InputError
    ///     Another unit, where that of the result is one of the user's own.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> [round(number) for number in trials.result()]
    /// [1045, 15]
    #[pyo3(signature = (unit = None))]
    fn result(&self, unit: Option<&str>) -> PyResult<(f64, f64)> {
        let (unit, found) = (asked(self.own_unit(), unit)?, self.statistics());
        let u = unit.difference_from_si(found.standard_uncertainty);
        Ok((unit.from_si(found.mean), u))
    }

    /// The mean, in `unit`.
    #[getter]
    fn mean(&self) -> f64 {
        self.own_unit().from_si(self.statistics().mean)
    }

    /// The standard deviation, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        let u = self.statistics().standard_uncertainty;
        self.own_unit().difference_from_si(u)
    }

    /// The standard error of the mean, in `unit`.
    #[getter]
    fn standard_error(&self) -> f64 {
        let error = self.statistics().standard_error();
        self.own_unit().difference_from_si(error)
    }

    /// The coefficient of skewness; `None` where the values do not vary.
    #[getter]
    fn skewness(&self) -> Option<f64> {
        self.statistics().skewness()
    }

    /// The coefficient of kurtosis, 3 for a normal distribution; `None` where the values do not vary.
    #[getter]
    fn kurtosis(&self) -> Option<f64> {
        self.statistics().kurtosis()
    }

    /// The smallest value, in `unit`.
    #[getter]
    fn smallest(&self) -> f64 {
        self.own_unit().from_si(self.statistics().smallest())
    }

    /// The largest value, in `unit`.
    #[getter]
    fn largest(&self) -> f64 {
        self.own_unit().from_si(self.statistics().largest())
    }

    /// The coverage interval as lower and upper end, in `unit`.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1.
    /// kind
    ///     ``"symmetric"`` for equal probabilities on either side, or ``"shortest"``.
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
    ///     A coverage probability that is not strictly between 0 and 1, or that so many trials do
    ///     not resolve.
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    /// InputError
    ///     An unknown `kind`; another unit, where that of the result is one of the user's own.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> [round(end, -1) for end in trials.interval(0.95)]
    /// [1020.0, 1070.0]
    #[pyo3(signature = (coverage_probability = 0.95, kind = "symmetric", unit = None))]
    fn interval(
        &self,
        coverage_probability: f64,
        kind: &str,
        unit: Option<&str>,
    ) -> PyResult<(f64, f64)> {
        let kind = IntervalKind::from_name(kind, "kind")?;
        let interval = self.statistics().interval(coverage_probability, kind)?;
        ends(interval, self.own_unit(), unit)
    }

    /// By how much the interval can differ from that of the kept values.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1.
    /// kind
    ///     ``"symmetric"`` for equal probabilities on either side, or ``"shortest"``.
    ///
    /// Returns
    /// -------
    /// float
    ///     The bound for either end, in the unit of the output.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1, or that so many trials do
    ///     not resolve.
    /// InputError
    ///     An unknown `kind`.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> trials.interval_error(0.95) < 5.0
    /// True
    #[pyo3(signature = (coverage_probability = 0.95, kind = "symmetric"))]
    fn interval_error(&self, coverage_probability: f64, kind: &str) -> PyResult<f64> {
        let kind = IntervalKind::from_name(kind, "kind")?;
        let found = self.statistics();
        let bounded = found.bounded_interval(coverage_probability, kind)?;
        Ok(self.own_unit().difference_from_si(bounded.error_bound))
    }

    /// A quantile, the bound of its error and its standard error.
    ///
    /// Parameters
    /// ----------
    /// p
    ///     Probability from 0 to 1.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     The quantile, the bound of its error and its standard error.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A probability outside 0 to 1.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> round(trials.quantile(0.5)[0], -1)
    /// 1050.0
    fn quantile(&self, p: f64) -> PyResult<(f64, f64, f64)> {
        let (found, unit) = (self.statistics().quantile(p)?, self.own_unit());
        let [bound, error] =
            [found.error_bound(), found.standard_error].map(|e| unit.difference_from_si(e));
        Ok((unit.from_si(found.value), bound, error))
    }

    /// Correlation coefficients by names of inputs.
    ///
    /// Returns
    /// -------
    /// dict of float or None
    ///     Correlation of each input with the output; None where one of them never varied.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> len(trials.input_correlations()) > 10
    /// True
    fn input_correlations<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let found = PyDict::new(py);
        let coefficients = self.statistics().input_correlations();
        for (name, r) in self.0.input_names().iter().zip(coefficients) {
            found.set_item(name, r)?;
        }
        Ok(found)
    }

    /// Edges and counts of classes between two values.
    ///
    /// Parameters
    /// ----------
    /// classes
    ///     Number of classes of equal width.
    /// low
    ///     The lowest edge; the smallest value if not given.
    /// high
    ///     The highest edge; the largest value if not given.
    ///
    /// Returns
    /// -------
    /// tuple of ndarray
    ///     Edges, shape ``(classes + 1,)``, and counts, shape ``(classes,)``.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Classes outside 1 to 1e6, edges that are not finite or do not ascend.
    /// InputError
    ///     A negative number of classes.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> found = trials.histogram(classes=20)
    /// >>> len(found)
    /// 2
    #[pyo3(signature = (classes = 100, low = None, high = None))]
    #[allow(clippy::type_complexity, reason = "two arrays")]
    fn histogram<'py>(
        &self,
        py: Python<'py>,
        classes: usize,
        low: Option<f64>,
        high: Option<f64>,
    ) -> PyResult<(Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<u64>>)> {
        let (found, unit) = (self.statistics(), self.own_unit());
        let si = |end: Option<f64>| end.map(|end| unit.to_si(end));
        let (low, high) = (
            si(low).unwrap_or(found.smallest()),
            si(high).unwrap_or(found.largest()),
        );
        let found = found.histogram(classes, low, high)?;
        let edges = found.edges.iter().map(|edge| unit.from_si(*edge));
        let edges: Vec<f64> = edges.collect();
        Ok((edges.to_pyarray(py), found.counts.to_pyarray(py)))
    }

    /// The whole tally of the run: the same bytes wherever and however it was made.
    ///
    /// Returns
    /// -------
    /// bytes
    ///     The tally.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1, keep=False)
    /// >>> len(trials.to_bytes()) > 100
    /// True
    fn to_bytes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyBytes>> {
        Ok(PyBytes::new(py, &self.0.tally().to_bytes()?))
    }

    fn __repr__(&self) -> String {
        let found = self.statistics();
        let unit = &found.output().unit;
        let (mean, u) = uncertainty::rounded_pair(
            unit.from_si(found.mean),
            unit.difference_from_si(found.standard_uncertainty),
        );
        format!(
            "<TalliedTrials of {}: {} trials, seed {}, mean {}, standard uncertainty {}>",
            found.output().name,
            found.trials(),
            found.seed(),
            unit.after(&mean),
            unit.after(&u),
        )
    }
}

/// Trials of either kind.
#[derive(FromPyObject)]
pub(super) enum AnyTrials<'py> {
    Kept(Bound<'py, Trials>),
    Tallied(Bound<'py, TalliedTrials>),
}

impl AnyTrials<'_> {
    /// Asks the trials, whatever their kind.
    pub(super) fn ask<T>(&self, question: impl FnOnce(&dyn TrialStatistics) -> T) -> T {
        match self {
            AnyTrials::Kept(trials) => question(&trials.get().0),
            AnyTrials::Tallied(trials) => question(&trials.get().statistics()),
        }
    }
}
