//! Monte Carlo trials and their comparison with first order.

use super::shown::{asked, ends};
use super::user_class::taken;
use crate::montecarlo::{self, IntervalKind, MonteCarlo};
use crate::uncertainty;
use numpy::{PyArray1, ToPyArray};
use pyo3::prelude::*;

/// A run of which no trial may fail.
pub(super) fn plain_run(trials: u64, seed: u64) -> MonteCarlo {
    MonteCarlo {
        trials,
        seed,
        ..MonteCarlo::default()
    }
}

/// Monte Carlo trials of one output.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Trials(pub(super) montecarlo::Trials);

#[pymethods]
impl Trials {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "what a Monte Carlo run returns")
    }

    /// Number of trials.
    #[getter]
    fn trials(&self) -> usize {
        self.0.trials()
    }

    /// The seed.
    #[getter]
    fn seed(&self) -> u64 {
        self.0.seed
    }

    /// The unit of the output quantity.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    /// What the trials are of.
    #[getter]
    fn output(&self) -> &str {
        &self.0.output.name
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
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1)
    /// >>> [round(number) for number in trials.result()]
    /// [1045, 15]
    #[pyo3(signature = (unit = None))]
    fn result(&self, unit: Option<&str>) -> PyResult<(f64, f64)> {
        let unit = asked(&self.0.output.unit, unit)?;
        let u = unit.difference_from_si(self.0.standard_uncertainty);
        Ok((unit.from_si(self.0.mean), u))
    }

    /// The mean, in `unit`.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.output.unit.from_si(self.0.mean)
    }

    /// The standard deviation, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        let unit = &self.0.output.unit;
        unit.difference_from_si(self.0.standard_uncertainty)
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
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1)
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
        let interval = self.0.interval(coverage_probability, kind)?;
        ends(interval, &self.0.output.unit, unit)
    }

    /// The values in ascending order.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Shape ``(trials,)``.
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
    /// >>> trials = evaluation.monte_carlo(trials=10_000, seed=1)
    /// >>> trials.values().shape
    /// (10000,)
    #[pyo3(signature = (unit = None))]
    fn values<'py>(
        &self,
        py: Python<'py>,
        unit: Option<&str>,
    ) -> PyResult<Bound<'py, PyArray1<f64>>> {
        let unit = asked(&self.0.output.unit, unit)?;
        Ok(self.0.sorted_in(&unit).to_pyarray(py))
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
pub(super) struct Validation(pub(super) montecarlo::Validation);

#[pymethods]
impl Validation {
    /// The coverage probability of the intervals.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// Number of significant digits of the tolerance.
    #[getter]
    fn digits(&self) -> u32 {
        self.0.digits
    }

    /// The unit of tolerance, intervals and differences.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit().symbol
    }

    /// The numerical tolerance, in `unit`: JCGM 101:2008, 7.9.2.
    #[getter]
    fn tolerance(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.tolerance)
    }

    /// The interval of first order, in `unit`.
    #[getter]
    fn first_order(&self) -> PyResult<(f64, f64)> {
        ends(self.0.first_order, self.0.unit(), None)
    }

    /// The interval of the trials, in `unit`.
    #[getter]
    fn monte_carlo(&self) -> PyResult<(f64, f64)> {
        ends(self.0.monte_carlo, self.0.unit(), None)
    }

    /// The difference of the lower ends, in `unit`.
    #[getter]
    fn low_difference(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.low_difference)
    }

    /// The difference of the upper ends, in `unit`.
    #[getter]
    fn high_difference(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.high_difference)
    }

    /// Whether the verdict is that first order may be used.
    #[getter]
    fn validated(&self) -> bool {
        self.0.validated
    }

    /// The comparison in words.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    /// ``validated``, ``not validated`` or ``undecided``.
    #[getter]
    fn verdict(&self) -> &'static str {
        self.0.verdict.in_words()
    }

    /// About how many more trials would decide.
    #[getter]
    fn more_trials(&self) -> Option<u64> {
        self.0.more_trials
    }

    /// Standard errors of the lower and the upper end of Monte Carlo.
    #[getter]
    fn standard_errors(&self) -> (f64, f64) {
        let unit = self.0.unit();
        (
            unit.difference_from_si(self.0.low_standard_error),
            unit.difference_from_si(self.0.high_standard_error),
        )
    }

    /// Number of trials, or of points of low discrepancy, that the ends come from.
    #[getter]
    fn trials(&self) -> u64 {
        self.0.trials
    }

    /// Whether Sobol points and not random trials were compared.
    #[getter]
    fn by_points(&self) -> bool {
        self.0.by_points
    }

    /// The verdict in words.
    #[getter]
    fn verdict_in_words(&self) -> String {
        self.0.verdict_in_words()
    }

    fn __bool__(&self) -> bool {
        self.0.validated
    }

    fn __repr__(&self) -> String {
        format!(
            "<Validation: {}, endpoints differ by {} and {}, tolerance {} {}>",
            self.0.verdict_in_words(),
            uncertainty::rounded(self.low_difference(), 2),
            uncertainty::rounded(self.high_difference(), 2),
            uncertainty::plain(self.tolerance()),
            self.unit()
        )
    }
}
