//! Results of several outputs and of what goes beyond first order and plain Monte Carlo.

use super::budget::{Budget, Expanded};
use super::trials::Trials;
use super::user_class::{Made, taken};
use crate::error::{Error, Result};
use crate::montecarlo::{self, SobolIndex};
use crate::uncertainty::{self, Output};
use crate::units::Unit;
use numpy::{AllowTypeChange, PyArray1, PyArray2, PyArrayLike1, PyReadonlyArray1, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// A matrix, shape `(m, m)`.
pub(super) type Matrix<'py> = Bound<'py, PyArray2<f64>>;

pub(super) fn matrix<'py>(py: Python<'py>, rows: &[Vec<f64>]) -> Matrix<'py> {
    // rows of one matrix are of equal length, for which this cannot fail
    PyArray2::from_vec2(py, rows).unwrap_or_else(|_| PyArray2::zeros(py, [0, 0], false))
}

fn units_of(outputs: &[Output]) -> Vec<Unit> {
    outputs.iter().map(|output| output.unit.clone()).collect()
}

/// Values in SI units, each in a unit of its own.
fn values_in(units: &[Unit], values: &[f64]) -> Vec<f64> {
    let each = units.iter().zip(values);
    each.map(|(unit, value)| unit.from_si(*value)).collect()
}

/// A point in SI units, from numbers each in a unit of its own.
fn point_in(units: &[Unit], y: &PyReadonlyArray1<'_, f64>) -> Result<Vec<f64>> {
    let y = y.as_array();
    if y.len() != units.len() {
        return Err(Error::Length {
            field: "y".to_owned(),
            found: y.len(),
            allowed: format!("{}, one number for each output", units.len()),
        });
    }
    let each = units.iter().zip(y).enumerate();
    each.map(|(i, (unit, y))| {
        Error::range(y.is_finite(), format!("y[{i}]"), *y, "", "finite numbers")?;
        Ok(unit.to_si(*y))
    })
    .collect()
}

/// Estimates of several outputs with their covariance matrix.
#[pyclass(frozen, module = "flowdoubt._core")]
pub(super) struct JointResult(pub(super) uncertainty::JointResult);

#[pymethods]
impl JointResult {
    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.covariance_shown())
    }

    #[getter]
    fn correlation<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.correlations())
    }

    fn ellipsoidal_region(&self, coverage_probability: f64) -> PyResult<EllipsoidalRegion> {
        let region = self.0.ellipsoidal_region(coverage_probability)?;
        Ok(EllipsoidalRegion(region, units_of(&self.0.outputs)))
    }

    fn rectangular_region(&self, coverage_probability: f64) -> PyResult<RectangularRegion> {
        let region = self.0.rectangular_region(coverage_probability)?;
        Ok(RectangularRegion(region, units_of(&self.0.outputs)))
    }
}

/// Trials of several outputs, kept together.
#[pyclass(frozen, module = "flowdoubt._core")]
pub(super) struct JointTrials(pub(super) montecarlo::JointTrials);

#[pymethods]
impl JointTrials {
    fn members(&self) -> Vec<Made<Trials>> {
        let count = self.0.outputs().len();
        (0..count)
            .map(|output| Made(Trials(self.0.of_output(output))))
            .collect()
    }

    /// The units of the outputs.
    #[getter]
    fn units(&self) -> Vec<String> {
        let outputs = self.0.outputs().iter();
        outputs
            .map(|o| o.unit.symbol.clone().into_owned())
            .collect()
    }

    /// The values of each output in the order of the trials.
    fn values<'py>(&self, py: Python<'py>) -> Vec<Bound<'py, PyArray1<f64>>> {
        let count = self.0.outputs().len();
        (0..count)
            .map(|output| {
                let unit = &self.0.outputs()[output].unit;
                let shown = self.0.values(output).iter().map(|v| unit.from_si(*v));
                shown.collect::<Vec<f64>>().to_pyarray(py)
            })
            .collect()
    }

    #[getter]
    fn covariance<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.joint_result().covariance_shown())
    }

    #[getter]
    fn correlation<'py>(&self, py: Python<'py>) -> Matrix<'py> {
        matrix(py, &self.0.joint_result().correlations())
    }

    fn ellipsoidal_region(&self, coverage_probability: f64) -> PyResult<EllipsoidalRegion> {
        let region = self.0.ellipsoidal_region(coverage_probability)?;
        Ok(EllipsoidalRegion(region, units_of(self.0.outputs())))
    }

    fn rectangular_region(&self, coverage_probability: f64) -> PyResult<RectangularRegion> {
        let region = self.0.rectangular_region(coverage_probability)?;
        Ok(RectangularRegion(region, units_of(self.0.outputs())))
    }
}

/// A hyper-ellipsoidal coverage region.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct EllipsoidalRegion(uncertainty::EllipsoidalRegion, Vec<Unit>);

#[pymethods]
impl EllipsoidalRegion {
    /// The centre, one number for each output, in its unit.
    #[getter]
    fn centre<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        values_in(&self.1, &self.0.centre).to_pyarray(py)
    }

    /// The coverage probability.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// The coverage factor `k_p`.
    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    /// Whether a point, one number for each output in its unit, lies in the region.
    ///
    /// Parameters
    /// ----------
    /// y
    ///     A point, shape ``(number of outputs,)``, each number in the unit of its output.
    ///
    /// Returns
    /// -------
    /// bool
    ///     Whether the region holds the point; its surface belongs to it.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A point of another length.
    /// RangeError
    ///     Numbers that are not finite.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
    /// >>> model = lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}
    /// >>> both = fd.propagate(model, inputs)
    /// >>> import numpy as np
    /// >>> region = both.ellipsoidal_region(0.95)
    /// >>> region.contains(np.array([3.0, 2.5]))
    /// False
    fn contains(&self, y: PyArrayLike1<'_, f64, AllowTypeChange>) -> PyResult<bool> {
        Ok(self.0.contains(&point_in(&self.1, &y)?))
    }

    fn __repr__(&self) -> String {
        format!(
            "<EllipsoidalRegion, coverage probability {}, coverage factor {:.4}>",
            self.0.coverage_probability, self.0.coverage_factor
        )
    }
}

/// A hyper-rectangular coverage region.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct RectangularRegion(uncertainty::RectangularRegion, Vec<Unit>);

#[pymethods]
impl RectangularRegion {
    /// The centre, one number for each output, in its unit.
    #[getter]
    fn centre<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        values_in(&self.1, &self.0.centre).to_pyarray(py)
    }

    /// The half-widths, one for each output, in its unit.
    #[getter]
    fn half_widths<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        let each = self.1.iter().zip(&self.0.half_widths);
        let shown = each.map(|(unit, width)| unit.difference_from_si(*width));
        shown.collect::<Vec<f64>>().to_pyarray(py)
    }

    /// The coverage probability.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// The coverage factor `k_q`.
    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    /// Whether a point, one number for each output in its unit, lies in the region.
    ///
    /// Parameters
    /// ----------
    /// y
    ///     A point, shape ``(number of outputs,)``, each number in the unit of its output.
    ///
    /// Returns
    /// -------
    /// bool
    ///     Whether the region holds the point; its surface belongs to it.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A point of another length.
    /// RangeError
    ///     Numbers that are not finite.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
    /// >>> model = lambda x: {"sum": x["a"] + x["b"], "product": x["a"] * x["b"]}
    /// >>> both = fd.propagate(model, inputs)
    /// >>> import numpy as np
    /// >>> region = both.rectangular_region(0.95)
    /// >>> region.contains(np.array([3.0, 2.5]))
    /// True
    fn contains(&self, y: PyArrayLike1<'_, f64, AllowTypeChange>) -> PyResult<bool> {
        Ok(self.0.contains(&point_in(&self.1, &y)?))
    }

    fn __repr__(&self) -> String {
        format!(
            "<RectangularRegion, coverage probability {}, coverage factor {:.4}>",
            self.0.coverage_probability, self.0.coverage_factor
        )
    }
}

/// First and second order of one output.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct SecondOrder(pub(super) uncertainty::SecondOrder);

impl SecondOrder {
    fn own_unit(&self) -> &Unit {
        &self.0.budget.output.unit
    }
}

#[pymethods]
impl SecondOrder {
    /// The budget of first order.
    #[getter]
    fn budget(&self) -> Made<Budget> {
        Made(Budget(self.0.budget.clone()))
    }

    /// The unit of all figures; the variance and its terms are in the square of it.
    #[getter]
    fn unit(&self) -> &str {
        &self.own_unit().symbol
    }

    /// The standard uncertainty with second order, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        let u = self.0.standard_uncertainty;
        self.own_unit().difference_from_si(u)
    }

    /// The variance with second order, in the square of `unit`.
    #[getter]
    fn variance(&self) -> f64 {
        self.own_unit().square_from_si(self.0.variance)
    }

    /// What second order adds to the estimate, in `unit`.
    #[getter]
    fn bias(&self) -> f64 {
        self.own_unit().difference_from_si(self.0.bias)
    }

    /// The change that matters, in `unit`: half a unit of the last significant digit.
    #[getter]
    fn tolerance(&self) -> f64 {
        self.own_unit().difference_from_si(self.0.tolerance)
    }

    /// Whether second order changes the result by more than the tolerance.
    #[getter]
    fn matters(&self) -> bool {
        self.0.matters
    }

    /// The expanded uncertainty with second order, at a coverage probability.
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
    /// >>> import flowdoubt as fd
    /// >>> order = fd.second_order(lambda x: x["a"] ** 2, {"a": fd.normal(0.0, 0.1)})
    /// >>> round(order.expanded(0.95).coverage_factor, 2)
    /// 1.96
    fn expanded(&self, coverage_probability: f64) -> PyResult<Expanded> {
        let expanded = self.0.expanded(coverage_probability)?;
        Ok(Expanded::of(expanded, self.own_unit()))
    }

    /// The terms by pairs of input names.
    ///
    /// Returns
    /// -------
    /// dict of float
    ///     Parts of the variance by pairs of names, in the square of the unit.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> order = fd.second_order(lambda x: x["a"] ** 2, {"a": fd.normal(0.0, 0.1)})
    /// >>> len(order.terms())
    /// 1
    fn terms<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let terms = PyDict::new(py);
        let name = |i: usize| self.0.budget.lines.get(i).map(|line| line.input.name());
        for term in &self.0.terms {
            let variance = self.own_unit().square_from_si(term.variance);
            terms.set_item((name(term.first), name(term.second)), variance)?;
        }
        Ok(terms)
    }

    fn __repr__(&self) -> String {
        format!(
            "<SecondOrder: standard uncertainty {}, first order {}, bias {} {}, {}>",
            uncertainty::rounded(self.standard_uncertainty(), 3),
            uncertainty::rounded(self.0.budget.result_shown().1, 3),
            uncertainty::rounded(self.bias(), 2),
            self.unit(),
            if self.0.matters {
                "matters"
            } else {
                "does not matter"
            }
        )
    }
}

/// An adaptive Monte Carlo run.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct AdaptiveRun(pub(super) montecarlo::AdaptiveRun);

#[pymethods]
impl AdaptiveRun {
    /// All trials together, as of a plain run of as many.
    #[getter]
    fn trials(&self) -> JointTrials {
        JointTrials(self.0.trials.clone())
    }

    /// Whether everything has settled; else the largest number of trials was reached first.
    #[getter]
    fn settled(&self) -> bool {
        self.0.settled
    }

    /// Number of batches, `h`.
    #[getter]
    fn batches(&self) -> u64 {
        self.0.batches
    }

    /// Number of trials in each batch, `M`.
    #[getter]
    fn batch_trials(&self) -> u64 {
        self.0.batch_trials
    }

    /// What has settled and what has not, in words.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    fn __repr__(&self) -> String {
        format!("<AdaptiveRun: {}>", self.0.in_words())
    }
}

/// Sobol indices of every input for one output.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Sensitivity(pub(super) montecarlo::Sensitivity);

#[pymethods]
impl Sensitivity {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "what `sobol_indices` returns")
    }

    /// The unit in whose square the variance is.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    /// The variance of the output, in the square of its unit.
    #[getter]
    fn variance(&self) -> f64 {
        self.0.output.unit.square_from_si(self.0.variance)
    }

    /// The columns of a table: input, then index, lower and upper end of its confidence interval,
    /// for first order and in total.
    ///
    /// Returns
    /// -------
    /// dict
    ///     A list of names and arrays of numbers by column, each of shape ``(number of inputs,)``.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = {"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.1)}
    /// >>> indices = fd.sobol_indices(lambda x: x["a"] + x["b"], inputs)
    /// >>> list(indices.columns())[:2]
    /// ['input', 'first_order']
    fn columns<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        let inputs = &self.0.inputs;
        let names: Vec<&str> = inputs.iter().map(|i| i.name.as_str()).collect();
        columns.set_item("input", names)?;
        for (which, first) in [("first_order", true), ("total", false)] {
            type Pick = fn(&SobolIndex) -> f64;
            let parts: [(&str, Pick); 3] = [
                ("", |index| index.value),
                ("_low", |index| index.low),
                ("_high", |index| index.high),
            ];
            for (part, pick) in parts {
                let values: Vec<f64> = inputs
                    .iter()
                    .map(|i| pick(if first { &i.first_order } else { &i.total }))
                    .collect();
                columns.set_item(format!("{which}{part}"), values.to_pyarray(py))?;
            }
        }
        Ok(columns)
    }

    fn __repr__(&self) -> String {
        let words: Vec<String> = self
            .0
            .inputs
            .iter()
            .map(|i| {
                format!(
                    "{}: {:.3}, total {:.3}",
                    i.name, i.first_order.value, i.total.value
                )
            })
            .collect();
        format!(
            "<Sensitivity of {}: {}>",
            self.0.output.name,
            words.join("; ")
        )
    }
}
