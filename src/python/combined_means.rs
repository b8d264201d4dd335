//! Means of values whose standard uncertainties are known.

use super::budget::Expanded;
use super::statistics::vector;
use crate::error::Error;
use crate::uncertainty as core;
use crate::units::Unit;
use numpy::{PyArray1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<WeightedMean>()?;
    module.add_class::<RandomEffects>()
}

/// The weighted mean of results for one quantity, and whether they agree.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct WeightedMean(core::WeightedMean);

#[pymethods]
impl WeightedMean {
    /// The mean of results with standard uncertainties, each of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// results
    ///     Shape ``(n,)``, two or more.
    /// standard_uncertainties
    ///     Shape ``(n,)``, above 0.
    /// significance
    ///     Probability of a false alarm of the test that refuses results which disagree; 0 to
    ///     refuse none.
    ///
    /// Returns
    /// -------
    /// WeightedMean
    ///     The mean.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Results that are not finite, uncertainties that are not above 0, a significance outside
    ///     0 to below 1.
    /// InputError
    ///     Fewer than two results, arrays of different length, results that do not agree.
    #[staticmethod]
    fn of(
        results: Argument<'_>,
        standard_uncertainties: Argument<'_>,
        significance: f64,
    ) -> PyResult<WeightedMean> {
        let (x, u) = (vector(&results), vector(&standard_uncertainties));
        Ok(WeightedMean(core::WeightedMean::of(&x, &u, significance)?))
    }

    /// The weighted mean, in the unit of the results.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    /// The standard uncertainty of the mean, in the unit of the results.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    /// The weighted sum of squares of the deviations.
    #[getter]
    fn chi_squared(&self) -> f64 {
        self.0.chi_squared
    }

    /// Degrees of freedom.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    /// The probability of such a chi-squared or a larger one where the results agree.
    #[getter]
    fn p_value(&self) -> f64 {
        self.0.p_value
    }

    /// `sqrt(chi^2 / dof)`: above one where the results scatter by more than their uncertainties
    /// say.
    #[getter]
    fn birge_ratio(&self) -> f64 {
        self.0.birge_ratio
    }

    /// Results less the weighted mean, shape `(n,)`.
    #[getter]
    fn differences<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.0.differences.to_pyarray(py)
    }

    /// Standard uncertainties of the differences, shape `(n,)`.
    #[getter]
    fn difference_uncertainties<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.0.difference_uncertainties.to_pyarray(py)
    }

    /// Whether the results agree at the level `significance`.
    ///
    /// Parameters
    /// ----------
    /// significance
    ///     Probability of a false alarm.
    ///
    /// Returns
    /// -------
    /// bool
    ///     Whether the chi-square test passes.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A significance that is not strictly between 0 and 1.
    ///
    /// Examples
    /// --------
    /// >>> from flowdoubt import statistics
    /// >>> w = statistics.weighted_mean([10.0, 10.3], [0.1, 0.2])
    /// >>> w.consistent()
    /// True
    #[pyo3(signature = (significance = 0.05))]
    fn consistent(&self, significance: f64) -> PyResult<bool> {
        let inside = significance > 0.0 && significance < 1.0;
        let allowed = "strictly between 0 and 1";
        Error::range(inside, "significance", significance, "", allowed)?;
        Ok(self.0.consistent(significance))
    }

    fn __repr__(&self) -> String {
        format!(
            "<WeightedMean {}, standard uncertainty {}, chi-squared {:.3} with {} degrees of \
             freedom>",
            self.0.mean, self.0.standard_uncertainty, self.0.chi_squared, self.0.dof
        )
    }
}

/// The mean of results of several sets, each with an effect of its own.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct RandomEffects(core::RandomEffects);

#[pymethods]
impl RandomEffects {
    /// The mean of results with standard uncertainties, each of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// results
    ///     Shape ``(n,)``, two or more.
    /// standard_uncertainties
    ///     Shape ``(n,)``, above 0.
    /// method
    ///     The estimator of the variance between sets, by its name.
    ///
    /// Returns
    /// -------
    /// RandomEffects
    ///     Mean and variance between sets.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Results that are not finite, uncertainties that are not above 0.
    /// InputError
    ///     An unknown method, fewer than two results, arrays of different length.
    #[staticmethod]
    fn of(
        results: Argument<'_>,
        standard_uncertainties: Argument<'_>,
        method: &str,
    ) -> PyResult<RandomEffects> {
        let (x, u) = (vector(&results), vector(&standard_uncertainties));
        let found = core::RandomEffects::of(&x, &u, method.parse()?)?;
        Ok(RandomEffects(found))
    }

    /// How the variance between the sets was found.
    #[getter]
    fn method(&self) -> &'static str {
        self.0.method.name()
    }

    /// The mean, in the unit of the results.
    #[getter]
    fn mean(&self) -> f64 {
        self.0.mean
    }

    /// The standard uncertainty of the mean, in the unit of the results.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    /// The standard uncertainty as if `tau` were known, in the unit of the results.
    #[getter]
    fn standard_uncertainty_for_known_between_sets(&self) -> f64 {
        self.0.standard_uncertainty_for_known_between_sets
    }

    /// Degrees of freedom of the standard uncertainty.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof()
    }

    /// The standard deviation between the sets, `tau`, in the unit of the results; zero where they
    /// scatter by no more than their uncertainties say.
    #[getter]
    fn between_sets(&self) -> f64 {
        self.0.between_sets
    }

    /// The share of each result in the mean, shape `(k,)`.
    #[getter]
    fn weights<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.0.weights.to_pyarray(py)
    }

    /// The weighted mean without an effect of the sets.
    #[getter]
    fn without_effect(&self) -> WeightedMean {
        WeightedMean(self.0.without_effect.clone())
    }

    /// The expanded uncertainty of the mean.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1.
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
    /// >>> from flowdoubt import statistics
    /// >>> r = statistics.random_effects([10.0, 10.3, 10.9], 0.1)
    /// >>> round(r.expanded(0.95).coverage_factor, 2)
    /// 4.3
    #[pyo3(signature = (coverage_probability = 0.95))]
    fn expanded(&self, coverage_probability: f64) -> PyResult<Expanded> {
        let expanded = self.0.expanded(coverage_probability)?;
        Ok(Expanded::of(expanded, &Unit::named("")))
    }

    fn __repr__(&self) -> String {
        format!(
            "<RandomEffects mean {}, standard uncertainty {}, {} degrees of freedom, between sets \
             {}>",
            self.0.mean,
            self.0.standard_uncertainty,
            self.0.dof(),
            self.0.between_sets
        )
    }
}
