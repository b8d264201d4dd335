//! Calibration lines.

use super::user_class::{Made, taken};
use super::watched::watched;
use crate::error::{Error, Result};
use crate::uncertainty as core;
use crate::watch::Watch;
use numpy::{PyArray1, PyArray2, PyReadonlyArray1, PyReadonlyArray2, ToPyArray};
use pyo3::prelude::*;

type Array<'py> = Bound<'py, PyArray1<f64>>;
type Argument<'py> = PyReadonlyArray1<'py, f64>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<StraightLine>()
}

/// A straight line through points, with the covariance matrix of its parameters
/// (JCGM 100:2008, H.3; ISO/TS 28037:2010).
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct StraightLine {
    line: core::StraightLine,
    x: Vec<f64>,
    y: Vec<f64>,
}

/// Both coordinates of the points.
struct Points {
    x: Vec<f64>,
    y: Vec<f64>,
}

impl Points {
    fn of(x: &Argument<'_>, y: &Argument<'_>) -> Points {
        let [x, y] = [x, y].map(|column| column.as_array().to_vec());
        Points { x, y }
    }

    fn line(
        self,
        fit: impl FnOnce(&[f64], &[f64]) -> Result<core::StraightLine>,
    ) -> PyResult<Made<StraightLine>> {
        let Points { x, y } = self;
        let line = fit(&x, &y)?;
        Ok(Made(StraightLine { line, x, y }))
    }

    fn watched_line(
        self,
        py: Python<'_>,
        fit: impl Send + FnOnce(&[f64], &[f64], &mut Watch<'_>) -> Result<core::StraightLine>,
    ) -> PyResult<Made<StraightLine>> {
        let Points { x, y } = self;
        let line = watched(py, None, |watch| fit(&x, &y, watch))?;
        Ok(Made(StraightLine { line, x, y }))
    }
}

/// Applies a checked prediction to pairs of a value and its standard uncertainty; returns values
/// and standard uncertainties.
fn predictions<'py>(
    py: Python<'py>,
    name: &str,
    values: &Argument<'py>,
    uncertainties: &Argument<'py>,
    predict: impl Fn(f64, f64) -> Result<core::Prediction>,
) -> PyResult<(Array<'py>, Array<'py>)> {
    let (values, uncertainties) = (values.as_array(), uncertainties.as_array());
    let (mut found, mut uncertainty) = (Vec::new(), Vec::new());
    for (i, (v, u)) in values.iter().zip(uncertainties).enumerate() {
        let place = |what: &str| format!("{what}{name}[{i}]");
        Error::range(v.is_finite(), place(""), *v, "", "finite numbers")?;
        let usable = *u >= 0.0 && u.is_finite();
        Error::range(usable, place("u_"), *u, "", "0 or above")?;
        let prediction = predict(*v, *u)?;
        found.push(prediction.value);
        uncertainty.push(prediction.standard_uncertainty);
    }
    Ok((found.to_pyarray(py), uncertainty.to_pyarray(py)))
}

#[pymethods]
impl StraightLine {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "what `straight_line` returns")
    }

    /// A line by ordinary least squares through `x` and `y`, each of shape `(n,)`.
    #[staticmethod]
    fn _ordinary(x: Argument<'_>, y: Argument<'_>) -> PyResult<Made<StraightLine>> {
        Points::of(&x, &y).line(core::StraightLine::ordinary)
    }

    /// A line through points with standard uncertainties of `y`, each of shape `(n,)`.
    #[staticmethod]
    fn _weighted(
        x: Argument<'_>,
        y: Argument<'_>,
        u_y: Argument<'_>,
    ) -> PyResult<Made<StraightLine>> {
        let u_y = u_y.as_array().to_vec();
        Points::of(&x, &y).line(|x, y| core::StraightLine::weighted(x, y, &u_y))
    }

    /// A line through points with uncertainty in both coordinates.
    #[staticmethod]
    fn _with_uncertainties(
        py: Python<'_>,
        x: Argument<'_>,
        u_x: Argument<'_>,
        y: Argument<'_>,
        u_y: Argument<'_>,
    ) -> PyResult<Made<StraightLine>> {
        let [u_x, u_y] = [u_x, u_y].map(|column| column.as_array().to_vec());
        let points = Points::of(&x, &y);
        points.watched_line(py, |x, y, watch| {
            core::StraightLine::with_uncertainties_watched([x, &u_x], [y, &u_y], watch)
        })
    }

    /// `covariance` has shape `(2 n, 2 n)`, first all x, then all y.
    #[staticmethod]
    fn _generalized(
        py: Python<'_>,
        x: Argument<'_>,
        y: Argument<'_>,
        covariance: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<Made<StraightLine>> {
        let rows = covariance.as_array();
        let rows: Vec<Vec<f64>> = rows.rows().into_iter().map(|row| row.to_vec()).collect();
        let points = Points::of(&x, &y);
        points.watched_line(py, |x, y, watch| {
            core::StraightLine::generalized_watched(x, y, &rows, watch)
        })
    }

    /// The intercept, in the unit of `y`.
    #[getter]
    fn intercept(&self) -> f64 {
        self.line.intercept()
    }

    /// The slope, in the unit of `y` over that of `x`.
    #[getter]
    fn slope(&self) -> f64 {
        self.line.slope()
    }

    /// Its standard uncertainty, in the unit of `y`.
    #[getter]
    fn intercept_uncertainty(&self) -> f64 {
        self.line.intercept_uncertainty()
    }

    /// Its standard uncertainty, in the unit of `y` over that of `x`.
    #[getter]
    fn slope_uncertainty(&self) -> f64 {
        self.line.slope_uncertainty()
    }

    /// Covariance matrix of intercept and slope, shape `(2, 2)`.
    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray2<f64>> {
        PyArray2::from_owned_array(py, self.line.parameter_covariance_matrix().to_vec().into())
    }

    /// Correlation coefficient of intercept and slope.
    #[getter]
    fn correlation(&self) -> f64 {
        self.line.parameter_correlation()
    }

    /// The `x` of the points, of shape `(n,)`.
    #[getter]
    fn x<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.x.to_pyarray(py)
    }

    /// The `y` of the points, of shape `(n,)`.
    #[getter]
    fn y<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.y.to_pyarray(py)
    }

    /// The residuals, of shape `(n,)`, in the unit of `y`.
    #[getter]
    fn residuals<'py>(&self, py: Python<'py>) -> Array<'py> {
        self.line.residuals.to_pyarray(py)
    }

    /// The standard deviation of the residuals, in the unit of `y`.
    #[getter]
    fn residual_deviation(&self) -> f64 {
        self.line.residual_deviation()
    }

    /// Degrees of freedom.
    #[getter]
    fn dof(&self) -> f64 {
        self.line.dof
    }

    /// The weighted sum of squares of the residuals; `None` without uncertainties.
    #[getter]
    fn chi_squared(&self) -> Option<f64> {
        self.line.chi_squared
    }

    /// The probability of such a chi-squared or a larger one; `None` without uncertainties.
    #[getter]
    fn p_value(&self) -> Option<f64> {
        self.line.p_value()
    }

    /// The least and the greatest abscissa of the points.
    #[getter]
    fn range(&self) -> (f64, f64) {
        self.line.range()
    }

    /// The line at `x`, both of shape `(n,)`: values and standard uncertainties.
    fn _predict_columns<'py>(
        &self,
        py: Python<'py>,
        x: Argument<'py>,
        u_x: Argument<'py>,
    ) -> PyResult<(Array<'py>, Array<'py>)> {
        predictions(py, "x", &x, &u_x, |x, u| {
            Ok(self.line.predict_at_uncertain(x, u))
        })
    }

    /// Where the line takes the values `y`, both of shape `(n,)`: abscissae and standard
    /// uncertainties.
    fn _solve_columns<'py>(
        &self,
        py: Python<'py>,
        y: Argument<'py>,
        u_y: Argument<'py>,
    ) -> PyResult<(Array<'py>, Array<'py>)> {
        predictions(py, "y", &y, &u_y, |y, u| self.line.solve(y, u))
    }

    fn __repr__(&self) -> String {
        let line = &self.line;
        format!(
            "<StraightLine through {} points: intercept {} with standard uncertainty {}, slope {} \
             with {}, correlation {:.3}>",
            self.x.len(),
            line.intercept(),
            line.intercept_uncertainty(),
            line.slope(),
            line.slope_uncertainty(),
            line.parameter_correlation()
        )
    }
}
