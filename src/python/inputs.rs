//! Input quantities from Python.

use super::elementwise::elementwise;
use super::pickled::{Rebuilt, rebuilt};
use crate::uncertainty::{self, Distribution, Shape};
use crate::units::Unit;
use numpy::PyReadonlyArray1;
use pyo3::prelude::*;
use pyo3::types::PyType;

/// An input quantity.
#[pyclass(frozen, module = "flowdoubt")]
#[derive(Clone)]
pub(super) struct Input(pub(super) uncertainty::Input);

impl Input {
    /// An input with the words that every constructor takes.
    fn described(input: uncertainty::Input, unit: String, evidence: String) -> Input {
        Input(
            input
                .shown_in(Unit::named(unit))
                .evidence_in_words(evidence),
        )
    }
}

#[pymethods]
impl Input {
    /// An input with a standard uncertainty.
    ///
    /// Parameters
    /// ----------
    /// estimate
    ///     The value stated.
    /// u
    ///     Its standard uncertainty.
    /// dof
    ///     Degrees of freedom, above 0; infinite where the uncertainty is certain.
    /// unit
    ///     Unit of the quantity, in words for budgets.
    /// evidence
    ///     Where the value comes from, in words, for budgets.
    ///
    /// Returns
    /// -------
    /// Input
    ///     The input.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A negative uncertainty, degrees of freedom below 0.1, an estimate that is not finite.
    #[staticmethod]
    fn of_standard_uncertainty(
        estimate: f64,
        u: f64,
        dof: f64,
        unit: String,
        evidence: String,
    ) -> PyResult<Input> {
        let input = uncertainty::Input::with_standard_uncertainty(
            "standard_uncertainty",
            estimate,
            u,
            dof,
        )?;
        Ok(Input::described(input, unit, evidence))
    }

    /// An input from a certificate: expanded uncertainty and coverage factor.
    ///
    /// Parameters
    /// ----------
    /// estimate
    ///     The value stated.
    /// expanded
    ///     The expanded uncertainty.
    /// coverage_factor
    ///     The factor by which it was expanded.
    /// dof
    ///     Degrees of freedom, above 0; infinite where the uncertainty is certain.
    /// unit
    ///     Unit of the quantity, in words for budgets.
    /// evidence
    ///     Where the value comes from, in words, for budgets.
    ///
    /// Returns
    /// -------
    /// Input
    ///     The input.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A negative uncertainty, a coverage factor that is not above 0, degrees of freedom below
    ///     0.1, an estimate that is not finite.
    #[staticmethod]
    fn of_expanded_uncertainty(
        estimate: f64,
        expanded: f64,
        coverage_factor: f64,
        dof: f64,
        unit: String,
        evidence: String,
    ) -> PyResult<Input> {
        let name = "expanded_uncertainty";
        let factor = coverage_factor;
        let input =
            uncertainty::Input::with_expanded_uncertainty(name, estimate, expanded, factor, dof)?;
        Ok(Input::described(input, unit, evidence))
    }

    /// An input that lies within a half-width of its estimate, with a shape.
    ///
    /// Parameters
    /// ----------
    /// estimate
    ///     The middle of the limits.
    /// half_width
    ///     Half of their distance.
    /// shape
    ///     ``"rectangular"``, ``"triangular"`` or ``"arcsine"``.
    /// dof
    ///     Degrees of freedom, above 0; infinite where the uncertainty is certain.
    /// unit
    ///     Unit of the quantity, in words for budgets.
    /// evidence
    ///     Where the value comes from, in words, for budgets.
    ///
    /// Returns
    /// -------
    /// Input
    ///     The input.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A negative half-width, degrees of freedom below 0.1, an estimate that is not finite.
    /// InputError
    ///     An unknown shape.
    #[staticmethod]
    fn of_half_width(
        estimate: f64,
        half_width: f64,
        shape: &str,
        dof: f64,
        unit: String,
        evidence: String,
    ) -> PyResult<Input> {
        let shape = Shape::from_name(shape, "shape")?;
        let input =
            uncertainty::Input::with_half_width("half_width", estimate, half_width, shape, dof)?;
        Ok(Input::described(input, unit, evidence))
    }

    /// An input that is the mean of independent readings, of shape `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// readings
    ///     Readings, shape ``(n,)``, two or more.
    /// unit
    ///     Unit of the quantity, in words for budgets.
    /// evidence
    ///     Where the value comes from, in words, for budgets.
    ///
    /// Returns
    /// -------
    /// Input
    ///     The input.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Fewer than two readings.
    /// RangeError
    ///     Readings that are not finite or beyond 1e100.
    #[staticmethod]
    fn of_readings(
        readings: PyReadonlyArray1<'_, f64>,
        unit: String,
        evidence: String,
    ) -> PyResult<Input> {
        let readings = readings.as_array().to_vec();
        let input = uncertainty::Input::from_readings("readings", &readings)?;
        Ok(Input::described(input, unit, evidence))
    }

    /// An input of any distribution, given as the JSON of its serde form.
    ///
    /// Parameters
    /// ----------
    /// json
    ///     The kind of the distribution and its parameters.
    /// unit
    ///     Unit of the quantity, in words for budgets.
    /// evidence
    ///     Where the value comes from, in words, for budgets.
    ///
    /// Returns
    /// -------
    /// Input
    ///     The input.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Text that is no distribution, a table or sample of too few elements or of lists that do
    ///     not fit.
    /// RangeError
    ///     Parameters outside the range of the distribution, a mean or variance that is not finite.
    #[staticmethod]
    fn of_distribution(json: &str, unit: String, evidence: String) -> PyResult<Input> {
        let distribution: Distribution =
            serde_json::from_str(json).map_err(|e| crate::Error::Syntax {
                format: "distribution",
                reason: e.to_string(),
            })?;
        let name = distribution.name();
        let input = uncertainty::Input::with_distribution(name, distribution)?;
        Ok(Input::described(input, unit, evidence))
    }

    /// An input from the text that pickle keeps of it.
    #[classmethod]
    fn _kept(_: &Bound<'_, PyType>, text: &str) -> PyResult<Input> {
        Ok(Input(uncertainty::Input::from_text(text)?))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        rebuilt(slf, slf.get().0.to_text()?)
    }

    /// The estimate, in `unit`.
    #[getter]
    fn estimate(&self) -> f64 {
        self.0.estimate()
    }

    /// The standard uncertainty, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty()
    }

    /// Degrees of freedom of the standard uncertainty; `inf` where they are not limited.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof()
    }

    /// The name of the distribution.
    #[getter]
    fn distribution(&self) -> &'static str {
        self.0.distribution().name()
    }

    /// The unit of estimate and uncertainty.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit().symbol
    }

    /// Where estimate and uncertainty come from, in words.
    #[getter]
    fn evidence(&self) -> &str {
        self.0.evidence()
    }

    /// The variance of the distribution, which for Student's t exceeds that of the budget.
    #[getter]
    fn variance(&self) -> f64 {
        self.0.distribution().variance()
    }

    /// The values with probabilities `p` below them; arrays of any shape.
    ///
    /// Parameters
    /// ----------
    /// p
    ///     Probabilities from 0 to 1, of any shape.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Values of the shape of `p`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Masked elements, or text that is no number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> import numpy as np
    /// >>> fd.rectangular(0.0, 4.0).quantile(np.array([0.25])).tolist()
    /// [1.0]
    fn quantile<'py>(&self, p: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let sampler = self.0.distribution().sampler();
        elementwise("p", p, |p, _| Ok(sampler.quantile(p)))
    }

    /// The probabilities below `x`; arrays of any shape.
    ///
    /// Parameters
    /// ----------
    /// x
    ///     Values, of any shape.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Probabilities of the shape of `x`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Masked elements, or text that is no number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> import numpy as np
    /// >>> fd.normal(1.0, 0.1).cdf(np.array([1.0])).tolist()
    /// [0.5]
    fn cdf<'py>(&self, x: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        elementwise("x", x, |x, _| Ok(self.0.distribution().cdf(x)))
    }

    /// The probability densities at `x`, NaN where there is none; arrays of any shape.
    ///
    /// Parameters
    /// ----------
    /// x
    ///     Values, of any shape.
    ///
    /// Returns
    /// -------
    /// float or ndarray
    ///     Densities of the shape of `x`.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Masked elements, or text that is no number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> import numpy as np
    /// >>> fd.rectangular(0.0, 4.0).density(np.array([1.0])).tolist()
    /// [0.25]
    fn density<'py>(&self, x: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        elementwise("x", x, |x, _| {
            Ok(self.0.distribution().density(x).unwrap_or(f64::NAN))
        })
    }

    fn __repr__(&self) -> String {
        format!(
            "<Input {}, standard uncertainty {}, {}>",
            uncertainty::plain(self.0.estimate()),
            uncertainty::plain(self.0.standard_uncertainty()),
            self.0.distribution().name()
        )
    }
}
