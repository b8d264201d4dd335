//! Any model of Python: its inputs, the budgets from its derivatives, its Monte Carlo trials.

use super::evaluation::{Budget, Trials};
use super::inputs::Input;
use crate::montecarlo::{self, MonteCarlo};
use crate::uncertainty::{self, JointResult, Output};
use crate::units::Unit;
use nalgebra::DMatrix;
use numpy::{PyArray1, PyArray2, PyReadonlyArray1, PyReadonlyArray2, ToPyArray};
use pyo3::prelude::*;

/// A matrix, shape `(m, m)`.
type Matrix<'py> = Bound<'py, PyArray2<f64>>;

/// Names, inputs and correlations, checked together.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct InputSet(uncertainty::InputSet);

/// Outputs from names and units.
fn outputs(named: Vec<(String, String)>) -> Vec<Output> {
    let output = |(name, unit): (String, String)| Output {
        name,
        unit: Unit::named(unit),
    };
    named.into_iter().map(output).collect()
}

/// A matrix as a numpy array.
fn array<'py>(py: Python<'py>, matrix: &DMatrix<f64>) -> Matrix<'py> {
    let rows: Vec<Vec<f64>> = matrix
        .row_iter()
        .map(|row| row.iter().copied().collect())
        .collect();
    // rows of one matrix are of equal length, for which this cannot fail
    PyArray2::from_vec2(py, &rows).unwrap_or_else(|_| PyArray2::zeros(py, [0, 0], false))
}

#[pymethods]
impl InputSet {
    #[new]
    fn new(
        inputs: Vec<(String, Py<Input>)>,
        correlations: Vec<(String, String, f64)>,
    ) -> PyResult<InputSet> {
        let named = |(name, input): (String, Py<Input>)| input.get().0.clone().named(name);
        let inputs = inputs.into_iter().map(named).collect();
        Ok(InputSet(uncertainty::InputSet::correlated(
            inputs,
            &correlations,
        )?))
    }

    #[getter]
    fn names(&self) -> Vec<String> {
        self.0
            .inputs()
            .iter()
            .map(|input| input.name().to_owned())
            .collect()
    }

    fn estimates<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        self.0.estimates().to_pyarray(py)
    }

    fn standard_uncertainties<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        let inputs = self.0.inputs().iter();
        inputs
            .map(|i| i.standard_uncertainty())
            .collect::<Vec<_>>()
            .to_pyarray(py)
    }

    /// Budgets from estimates, shape `(m,)`, and sensitivity coefficients, shape `(m, n)`.
    fn budgets(
        &self,
        names: Vec<(String, String)>,
        estimates: PyReadonlyArray1<'_, f64>,
        gradients: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<Vec<Budget>> {
        let (estimates, gradients) = (estimates.as_array(), gradients.as_array());
        let rows = estimates.iter().zip(gradients.rows());
        outputs(names)
            .into_iter()
            .zip(rows)
            .map(|(output, (&estimate, gradient))| {
                let gradient = gradient.to_vec();
                let budget =
                    uncertainty::Budget::from_gradient(output, estimate, &self.0, &gradient)?;
                Ok(Budget(budget))
            })
            .collect()
    }

    /// Covariance and correlation matrix of the outputs of budgets, shape `(m, m)` each.
    fn joint_result<'py>(
        &self,
        py: Python<'py>,
        budgets: Vec<Py<Budget>>,
    ) -> PyResult<(Matrix<'py>, Matrix<'py>)> {
        let budgets: Vec<_> = budgets
            .iter()
            .map(|budget| budget.get().0.clone())
            .collect();
        let joint = JointResult::of_budgets(&budgets, &self.0)?;
        Ok((
            array(py, &joint.covariance),
            array(py, &joint.correlations()),
        ))
    }

    fn draws(&self, trials: u64, seed: u64, allowed_failures: f64) -> PyResult<Draws> {
        let run = MonteCarlo {
            trials,
            seed,
            allowed_failures,
        };
        Ok(Draws(montecarlo::Draws::new(run, self.0.clone())?))
    }
}

/// The draws of a Monte Carlo run, block by block.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Draws(montecarlo::Draws);

#[pymethods]
impl Draws {
    /// Draws for trials `start..start + size`, one array of shape `(size,)` for each input.
    fn block<'py>(
        &self,
        py: Python<'py>,
        start: u64,
        size: usize,
    ) -> Vec<Bound<'py, PyArray1<f64>>> {
        let columns = py.detach(|| self.0.block(start, size));
        columns.iter().map(|column| column.to_pyarray(py)).collect()
    }

    /// Trials of every output from its values, and their covariance and correlation matrix.
    #[allow(
        clippy::type_complexity,
        reason = "three results, each of its own kind"
    )]
    fn trials<'py>(
        &self,
        py: Python<'py>,
        names: Vec<(String, String)>,
        values: Vec<PyReadonlyArray1<'_, f64>>,
    ) -> PyResult<(
        Vec<Trials>,
        Bound<'py, PyArray2<f64>>,
        Bound<'py, PyArray2<f64>>,
    )> {
        let values = values
            .iter()
            .map(|column| column.as_array().to_vec())
            .collect();
        let joint = self.0.trials(outputs(names), values)?;
        let result = joint.joint_result();
        let trials = joint.into_summaries().into_iter().map(Trials).collect();
        Ok((
            trials,
            array(py, &result.covariance),
            array(py, &result.correlations()),
        ))
    }
}
