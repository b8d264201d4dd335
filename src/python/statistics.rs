//! Type A evaluation.

use super::watched::watched;
use crate::error::Error;
use crate::uncertainty as core;
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<TypeA>()?;
    module.add_class::<Pooled>()?;
    module.add_class::<Autocorrelated>()?;
    module.add_class::<OutlierTest>()?;
    module.add_class::<OneWay>()?;
    module.add_function(wrap_pyfunction!(variance_inflation, module)?)?;
    module.add_function(wrap_pyfunction!(autocorrelation, module)?)?;
    module.add_function(wrap_pyfunction!(grubbs_critical_value, module)?)
}

/// By what the variance of the mean of `count` readings exceeds `sigma^2 / count`;
/// `autocorrelation` holds the coefficients from lag one on, the rest being zero.
#[pyfunction]
fn variance_inflation(count: usize, autocorrelation: Argument<'_>) -> PyResult<f64> {
    Error::range(count > 0, "count", count as f64, "", "one reading or more")?;
    let coefficients = vector(&autocorrelation);
    for (i, r) in coefficients.iter().enumerate() {
        let inside = (-1.0..=1.0).contains(r);
        Error::range(inside, format!("autocorrelation[{i}]"), *r, "", "-1 to 1")?;
    }
    let lags = coefficients.len();
    Ok(core::variance_inflation(count, lags, |k| {
        coefficients[k - 1]
    }))
}

/// Autocorrelation coefficients from lag one to `lags`, shape `(lags,)`.
#[pyfunction]
fn autocorrelation<'py>(
    py: Python<'py>,
    readings: Argument<'py>,
    lags: usize,
) -> PyResult<Array<'py>> {
    let readings = vector(&readings);
    let found = watched(py, None, |watch| {
        core::autocorrelation_watched(&readings, lags, "readings", watch)
    })?;
    Ok(found.to_pyarray(py))
}

/// The value that Grubbs' `G` of `count` normal readings exceeds with probability `significance`.
#[pyfunction]
fn grubbs_critical_value(count: usize, significance: f64) -> PyResult<f64> {
    Ok(core::grubbs_critical_value(count, significance)?)
}

pub(super) fn vector(values: &Argument<'_>) -> Vec<f64> {
    values.as_array().to_vec()
}

/// Mean, spread and degrees of freedom of independent repeated readings (JCGM 100:2008, 4.2).
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct TypeA(core::TypeA);

#[pymethods]
impl TypeA {
    /// The statistics of independent readings, of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// readings
    ///     Readings, shape ``(n,)``, two or more.
    /// field
    ///     The name of the quantity for messages.
    ///
    /// Returns
    /// -------
    /// TypeA
    ///     The statistics.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two readings.
    /// RangeError
    ///     Readings that are not finite or beyond 1e100.
    #[staticmethod]
    fn of(readings: Argument<'_>, field: &str) -> PyResult<TypeA> {
        Ok(TypeA(core::TypeA::of(&vector(&readings), field)?))
    }

    /// The statistics that somebody else found: number, mean and standard deviation.
    ///
    /// Parameters
    /// ----------
    /// count
    ///     Number of readings, two or more.
    /// mean
    ///     Their mean.
    /// standard_deviation
    ///     Their standard deviation, not that of the mean.
    /// field
    ///     The name of the quantity for messages.
    ///
    /// Returns
    /// -------
    /// TypeA
    ///     The statistics.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two readings.
    /// RangeError
    ///     A mean that is not finite, a standard deviation that is negative or not finite.
    #[staticmethod]
    fn from_statistics(
        count: usize,
        mean: f64,
        standard_deviation: f64,
        field: &str,
    ) -> PyResult<TypeA> {
        let stated = core::TypeA::from_statistics(count, mean, standard_deviation, field)?;
        Ok(TypeA(stated))
    }

    /// Number of readings.
    #[getter]
    fn count(&self) -> usize {
        self.0.count
    }

    /// The mean, in the unit of the readings.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    /// The standard deviation of single readings, in the unit of the readings.
    #[getter]
    fn standard_deviation(&self) -> f64 {
        self.0.standard_deviation
    }

    /// The standard uncertainty of the mean, in the unit of the readings.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty()
    }

    /// Degrees of freedom.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof()
    }

    fn __repr__(&self) -> String {
        format!(
            "<TypeA mean {}, standard uncertainty {}, {} readings>",
            self.0.mean,
            self.0.standard_uncertainty(),
            self.0.count
        )
    }
}

/// The copies of the statistics of several series.
fn series(all: &[Py<TypeA>]) -> Vec<core::TypeA> {
    all.iter().map(|one| one.get().0).collect()
}

/// The pooled experimental standard deviation of several series (JCGM 100:2008, 4.2.4).
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Pooled(core::Pooled);

#[pymethods]
impl Pooled {
    /// Pools the standard deviations of several sets of readings.
    ///
    /// Parameters
    /// ----------
    /// all
    ///     Statistics of each set.
    ///
    /// Returns
    /// -------
    /// Pooled
    ///     The pooled standard deviation.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     No set of readings.
    #[staticmethod]
    fn of(all: Vec<Py<TypeA>>) -> PyResult<Pooled> {
        Ok(Pooled(core::Pooled::of(&series(&all))?))
    }

    /// The pooled standard deviation, in the unit of the readings.
    #[getter]
    fn standard_deviation(&self) -> f64 {
        self.0.standard_deviation
    }

    /// Degrees of freedom.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    /// The standard uncertainty of the mean of `count` new readings.
    ///
    /// Parameters
    /// ----------
    /// count
    ///     Number of new readings, one or more.
    ///
    /// Returns
    /// -------
    /// float
    ///     The standard uncertainty.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     No reading.
    /// InputError
    ///     A negative number of readings.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import statistics
    /// >>> p = statistics.pooled([[1.0, 3.0], [5.0, 5.0, 8.0]])
    /// >>> round(p.of_mean(4), 6)
    /// 0.816497
    fn of_mean(&self, count: usize) -> PyResult<f64> {
        Ok(self.0.of_mean(count)?)
    }

    fn __repr__(&self) -> String {
        format!(
            "<Pooled standard deviation {}, degrees of freedom {}>",
            self.0.standard_deviation, self.0.dof
        )
    }
}

/// The mean of a stationary series of readings at equal intervals.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Autocorrelated(core::Autocorrelated);

#[pymethods]
impl Autocorrelated {
    /// The statistics of readings in their order in time, of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// readings
    ///     Readings, shape ``(n,)``, two or more.
    /// field
    ///     The name of the quantity for messages.
    /// time_constant
    ///     Damping of the meter in s, as a lag of first order; with `interval`.
    /// window
    ///     Damping of the meter in s, as the mean over a moving window; with `interval`.
    /// interval
    ///     Time from reading to reading in s.
    ///
    /// Returns
    /// -------
    /// Autocorrelated
    ///     Mean, standard uncertainty and effective number of readings.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two readings.
    /// RangeError
    ///     Readings that are not finite or beyond 1e100; damping without an interval or not above
    ///     0; readings that span too little of the damping.
    #[staticmethod]
    #[pyo3(signature = (readings, field, time_constant=None, window=None, interval=None))]
    fn of(
        py: Python<'_>,
        readings: Argument<'_>,
        field: &str,
        time_constant: Option<f64>,
        window: Option<f64>,
        interval: Option<f64>,
    ) -> PyResult<Autocorrelated> {
        let readings = vector(&readings);
        let mut found = watched(py, None, |watch| {
            core::Autocorrelated::of_watched(&readings, field, watch)
        })?;
        let interval = interval.unwrap_or(f64::NAN);
        let stated = [
            time_constant.map(core::Damping::TimeConstant),
            window.map(core::Damping::Window),
        ];
        for damping in stated.into_iter().flatten() {
            found = found.damped(damping, interval, field)?;
        }
        Ok(Autocorrelated(found))
    }

    /// Number of readings.
    #[getter]
    fn count(&self) -> usize {
        self.0.count
    }

    /// The mean, in the unit of the readings.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    /// The standard deviation of single readings, in the unit of the readings.
    #[getter]
    fn standard_deviation(&self) -> f64 {
        self.0.standard_deviation
    }

    /// How many independent readings they are worth.
    #[getter]
    fn effective_count(&self) -> f64 {
        self.0.effective_count()
    }

    /// The standard uncertainty of the mean, in the unit of the readings.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    /// Degrees of freedom of the standard uncertainty; `inf` where they are not limited.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    /// Whether stated damping, and not what the readings show, gives the standard uncertainty.
    #[getter(from_damping)]
    fn is_from_damping(&self) -> bool {
        self.0.from_damping
    }

    fn __repr__(&self) -> String {
        format!(
            "<Autocorrelated mean {}, standard uncertainty {}, {} readings worth {:.1} independent \
             ones>",
            self.0.mean,
            self.0.standard_uncertainty,
            self.0.count,
            self.0.effective_count()
        )
    }
}

/// Grubbs' test of the reading farthest from the mean. It reports; nothing is removed.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct OutlierTest(core::OutlierTest);

#[pymethods]
impl OutlierTest {
    /// Tests the one of the readings, of shape `(n,)`, that is farthest from their mean.
    ///
    /// Parameters
    /// ----------
    /// readings
    ///     Readings, shape ``(n,)``, three or more.
    /// significance
    ///     Probability of a false alarm.
    /// field
    ///     The name of the quantity for messages.
    ///
    /// Returns
    /// -------
    /// OutlierTest
    ///     The test.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two readings.
    /// RangeError
    ///     Two readings, readings that are not finite or do not vary, a significance that is not
    ///     strictly between 0 and 1.
    #[staticmethod]
    fn of(readings: Argument<'_>, significance: f64, field: &str) -> PyResult<OutlierTest> {
        let test = core::OutlierTest::of(&vector(&readings), significance, field)?;
        Ok(OutlierTest(test))
    }

    /// The place of the reading farthest from the mean, counted from 0.
    #[getter]
    fn index(&self) -> usize {
        self.0.index
    }

    /// The reading that is tested.
    #[getter]
    fn reading(&self) -> f64 {
        self.0.reading
    }

    /// The distance from the mean in standard deviations.
    #[getter]
    fn statistic(&self) -> f64 {
        self.0.statistic
    }

    /// What the statistic has to exceed to stand out.
    #[getter]
    fn critical_value(&self) -> f64 {
        self.0.critical_value
    }

    /// The level of the test.
    #[getter]
    fn significance(&self) -> f64 {
        self.0.significance
    }

    /// An upper bound of the probability of such a reading without an outlier.
    #[getter]
    fn p_value(&self) -> f64 {
        self.0.p_value
    }

    /// Whether the reading stands out at the level of the test.
    #[getter]
    fn stands_out(&self) -> bool {
        self.0.stands_out()
    }

    /// The outcome in words.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    fn __repr__(&self) -> String {
        format!("<OutlierTest: {}>", self.0.in_words())
    }
}

/// One-way analysis of variance (JCGM 100:2008, H.5).
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct OneWay(core::OneWay);

#[pymethods]
impl OneWay {
    /// The analysis of variance of groups of readings.
    ///
    /// Parameters
    /// ----------
    /// groups
    ///     Statistics of each group, two or more.
    /// field
    ///     The name of the quantity for messages.
    ///
    /// Returns
    /// -------
    /// OneWay
    ///     The analysis.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two groups.
    /// RangeError
    ///     Readings that do not vary within groups.
    #[staticmethod]
    fn of(groups: Vec<Py<TypeA>>, field: &str) -> PyResult<OneWay> {
        Ok(OneWay(core::OneWay::of_statistics(
            &series(&groups),
            field,
        )?))
    }

    /// Number of groups.
    #[getter]
    fn groups(&self) -> usize {
        self.0.groups
    }

    /// Number of readings in all.
    #[getter]
    fn readings(&self) -> usize {
        self.0.readings
    }

    /// The mean of the means of the groups, in the unit of the readings.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    /// The square root of the mean square between groups, in the unit of the readings.
    #[getter]
    fn between_deviation(&self) -> f64 {
        self.0.between_deviation
    }

    /// The square root of the mean square within groups, in the unit of the readings.
    #[getter]
    fn within_deviation(&self) -> f64 {
        self.0.within_deviation
    }

    /// The standard deviation of the effect between groups, in the unit of the readings; zero where
    /// the groups differ by no more than the readings in them.
    #[getter]
    fn between_component(&self) -> f64 {
        self.0.between_component
    }

    /// The standard deviation of the means of the groups, in the unit of the readings.
    #[getter]
    fn deviation_of_means(&self) -> f64 {
        self.0.deviation_of_means
    }

    /// Degrees of freedom between groups.
    #[getter]
    fn between_dof(&self) -> f64 {
        self.0.between_dof()
    }

    /// Degrees of freedom within groups.
    #[getter]
    fn within_dof(&self) -> f64 {
        self.0.within_dof()
    }

    /// The ratio of the mean squares, `F`.
    #[getter]
    fn f(&self) -> f64 {
        self.0.f
    }

    /// The probability of such an `F` or a larger one without an effect between groups.
    #[getter]
    fn p_value(&self) -> f64 {
        self.0.p_value
    }

    /// The standard uncertainty of the mean, in the unit of the readings.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty().0
    }

    /// Degrees of freedom of the standard uncertainty of the mean.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.standard_uncertainty().1
    }

    /// The standard uncertainty of the mean and its degrees of freedom if there is no effect
    /// between groups.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Standard uncertainty and degrees of freedom.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import statistics
    /// >>> found = statistics.one_way({"first": [1.0, 2.0, 3.0], "second": [4.0, 5.0, 6.0]})
    /// >>> round(found.without_between_effect()[0], 3)
    /// 0.764
    fn without_between_effect(&self) -> (f64, f64) {
        self.0.standard_uncertainty_without_between_effect()
    }

    fn __repr__(&self) -> String {
        format!(
            "<OneWay mean {}, standard uncertainty {}, within groups {}, between groups {}, F {:.3} \
             with p {:.3}>",
            self.0.mean,
            self.0.standard_uncertainty().0,
            self.0.within_deviation,
            self.0.between_component,
            self.0.f,
            self.0.p_value
        )
    }
}
