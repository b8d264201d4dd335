//! Any model of Python: its inputs, the budgets from its derivatives, its Monte Carlo trials.

use super::budget::Budget;
use super::inputs::Input;
use super::joint::{self, AdaptiveRun, JointTrials, SecondOrder, Sensitivity};
use super::low_discrepancy::LowDiscrepancyRun;
use super::pickled::{Rebuilt, rebuilt};
use super::tally::{Tallied, Tally, TallyPlan};
use super::user_class::Made;
use super::watched::{Looker, watched};
use crate::error::{Error, Result};
use crate::montecarlo::{
    Adaptive, BlockModel, IntervalKind, LowDiscrepancy, MonteCarlo, SobolIndices, Watch,
};
use crate::uncertainty::{self, DirectionalDerivatives, Output};
use crate::units::Unit;
use numpy::{PyArray1, PyReadonlyArray1, PyReadonlyArray2, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyType};
use std::sync::{Arc, Mutex};

/// Names, inputs and correlations, checked together.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct InputSet(uncertainty::InputSet);

/// Names and units of outputs.
type Named = Vec<(String, String)>;

fn outputs(named: Named) -> Vec<Output> {
    let output = |(name, unit): (String, String)| Output {
        name,
        unit: Unit::named(unit),
    };
    named.into_iter().map(output).collect()
}

fn named_inputs(inputs: Vec<(String, Py<Input>)>) -> Vec<uncertainty::Input> {
    let named = |(name, input): (String, Py<Input>)| input.get().0.clone().named(name);
    inputs.into_iter().map(named).collect()
}

fn rows(matrix: &PyReadonlyArray2<'_, f64>) -> Vec<Vec<f64>> {
    matrix
        .as_array()
        .rows()
        .into_iter()
        .map(|row| row.to_vec())
        .collect()
}

/// A Python function of arrays, one for each input, that returns a list of arrays.
struct PythonModel {
    function: Py<PyAny>,
    outputs: Vec<Output>,
    sensitivities: Option<Vec<Vec<f64>>>,
    /// What the function raised, to be raised again when the run has ended.
    raised: Mutex<Option<PyErr>>,
}

/// Trials that are handed to a Python function at once: enough to forget the cost of the call.
const BLOCK: u64 = 65_536;

impl BlockModel for PythonModel {
    fn output_quantities(&self) -> Vec<Output> {
        self.outputs.clone()
    }

    fn evaluate_block(&self, x: &[&[f64]], _size: usize) -> Result<Vec<Vec<f64>>> {
        Python::attach(|py| {
            let call = || -> PyResult<Vec<Vec<f64>>> {
                let columns: Vec<_> = x.iter().map(|column| column.to_pyarray(py)).collect();
                let result = self.function.call1(py, (columns,))?;
                let columns: Vec<PyReadonlyArray1<'_, f64>> = result.extract(py)?;
                Ok(columns
                    .iter()
                    .map(|column| column.as_array().to_vec())
                    .collect())
            };
            call().map_err(|error| {
                let own = Error::model(error.to_string());
                if let Ok(mut raised) = self.raised.lock() {
                    *raised = Some(error);
                }
                own
            })
        })
    }

    fn block_size(&self) -> u64 {
        BLOCK
    }

    fn sensitivities(&self, _: &uncertainty::InputSet) -> Option<Vec<Vec<f64>>> {
        self.sensitivities.clone()
    }

    // Python runs one thread at a time, and Ctrl-C is heard on the main thread only.
    fn sequential(&self) -> bool {
        true
    }
}

impl PythonModel {
    fn new(function: Py<PyAny>, named: Named) -> PythonModel {
        PythonModel {
            function,
            outputs: outputs(named),
            sensitivities: None,
            raised: Mutex::new(None),
        }
    }

    /// Runs `work` with the model and raises again what the function raised.
    fn run<T: Send>(
        self,
        py: Python<'_>,
        looker: Looker,
        work: impl Send + FnOnce(&PythonModel, &mut Watch<'_>) -> Result<T>,
    ) -> PyResult<T> {
        let result = watched(py, looker, |watch| work(&self, watch));
        match self.raised.into_inner() {
            Ok(Some(raised)) => Err(raised),
            _ => result,
        }
    }
}

#[pymethods]
impl InputSet {
    #[new]
    fn new(
        inputs: Vec<(String, Py<Input>)>,
        correlations: Vec<(String, String, f64)>,
    ) -> PyResult<InputSet> {
        let inputs = named_inputs(inputs);
        Ok(InputSet(uncertainty::InputSet::correlated(
            inputs,
            &correlations,
        )?))
    }

    /// As the constructor, with the valid correlations nearest to the given ones.
    #[staticmethod]
    fn _nearest(
        inputs: Vec<(String, Py<Input>)>,
        correlations: Vec<(String, String, f64)>,
    ) -> PyResult<InputSet> {
        let inputs = named_inputs(inputs);
        Ok(InputSet(uncertainty::InputSet::correlated_nearest(
            inputs,
            &correlations,
        )?))
    }

    /// Jointly normal inputs from a vector estimate and its covariance matrix.
    ///
    /// Parameters
    /// ----------
    /// names
    ///     Names of the quantities.
    /// estimates
    ///     Shape ``(n,)``.
    /// covariance
    ///     Shape ``(n, n)``.
    ///
    /// Returns
    /// -------
    /// InputSet
    ///     The inputs, with their correlation.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Shapes that do not fit, a name that is there twice.
    /// RangeError
    ///     An estimate that is not finite, a negative variance, a matrix that is not symmetric, a
    ///     correlation coefficient outside -1 to 1.
    /// CorrelationError
    ///     A matrix that no set of random variables can have.
    #[staticmethod]
    fn multivariate_normal(
        names: Vec<String>,
        estimates: PyReadonlyArray1<'_, f64>,
        covariance: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<InputSet> {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let estimates = estimates.as_array().to_vec();
        let rows = rows(&covariance);
        let set = uncertainty::InputSet::multivariate_normal(&names, &estimates, &rows)?;
        Ok(InputSet(set))
    }

    /// Means of quantities that were read at the same times, one row of readings for each.
    ///
    /// Parameters
    /// ----------
    /// names
    ///     Names of the quantities.
    /// readings
    ///     Shape ``(number of quantities, number of readings)``.
    ///
    /// Returns
    /// -------
    /// InputSet
    ///     The means, with their correlation.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Shapes that do not fit, a name that is there twice, no more readings than quantities.
    /// RangeError
    ///     Readings that are not finite or beyond 1e100, or that do not vary.
    #[staticmethod]
    fn joint_readings(
        names: Vec<String>,
        readings: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<InputSet> {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let set = uncertainty::InputSet::from_joint_readings(&names, &rows(&readings))?;
        Ok(InputSet(set))
    }

    /// This set followed by another that is independent of it.
    ///
    /// Parameters
    /// ----------
    /// other
    ///     A set whose names are others.
    ///
    /// Returns
    /// -------
    /// InputSet
    ///     The inputs of both.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A name that is in both sets, more inputs than a set can have.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = fd.input_set({"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.2)}, {("a", "b"): 0.5})
    /// >>> inputs.joined_with(fd.input_set({"c": fd.exact(3.0)})).names
    /// ['a', 'b', 'c']
    fn joined_with(&self, other: &InputSet) -> PyResult<InputSet> {
        Ok(InputSet(self.0.clone().and(other.0.clone())?))
    }

    /// The correlation matrix, shape `(n, n)`.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Shape ``(n, n)`` for `n` inputs, ones on the diagonal.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = fd.input_set({"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.2)}, {("a", "b"): 0.5})
    /// >>> float(inputs.correlation()[0, 1])
    /// 0.5
    fn correlation<'py>(&self, py: Python<'py>) -> joint::Matrix<'py> {
        joint::matrix(py, &self.0.correlations().coefficients())
    }

    /// The names in order.
    #[getter]
    fn names(&self) -> Vec<String> {
        self.0
            .inputs()
            .iter()
            .map(|input| input.name().to_owned())
            .collect()
    }

    /// The estimates, of shape `(number of inputs,)`, each in the unit of its input.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Shape ``(n,)`` for `n` inputs.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = fd.input_set({"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.2)}, {("a", "b"): 0.5})
    /// >>> inputs.estimates().tolist()
    /// [1.0, 2.0]
    fn estimates<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        self.0.estimates().to_pyarray(py)
    }

    /// The standard uncertainties, of shape `(number of inputs,)`, each in the unit of its input.
    ///
    /// Returns
    /// -------
    /// ndarray
    ///     Shape ``(n,)`` for `n` inputs.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> inputs = fd.input_set({"a": fd.normal(1.0, 0.1), "b": fd.normal(2.0, 0.2)}, {("a", "b"): 0.5})
    /// >>> inputs.standard_uncertainties().tolist()
    /// [0.1, 0.2]
    fn standard_uncertainties<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        let inputs = self.0.inputs().iter();
        inputs
            .map(|i| i.standard_uncertainty())
            .collect::<Vec<_>>()
            .to_pyarray(py)
    }

    /// Budgets from estimates, shape `(m,)`, and sensitivity coefficients, shape `(m, n)`.
    fn _budgets(
        &self,
        named: Named,
        estimates: PyReadonlyArray1<'_, f64>,
        gradients: PyReadonlyArray2<'_, f64>,
    ) -> PyResult<Vec<Made<Budget>>> {
        let (estimates, gradients) = (estimates.as_array(), gradients.as_array());
        let rows = estimates.iter().zip(gradients.rows());
        outputs(named)
            .into_iter()
            .zip(rows)
            .map(|(output, (&estimate, gradient))| {
                let gradient = gradient.to_vec();
                let budget =
                    uncertainty::Budget::from_gradient(output, estimate, &self.0, &gradient)?;
                Ok(Made(Budget(budget)))
            })
            .collect()
    }

    /// Estimates and covariance matrix of the outputs of budgets.
    fn _joint_result(&self, budgets: Vec<Py<Budget>>) -> PyResult<joint::JointResult> {
        let budgets: Vec<_> = budgets
            .iter()
            .map(|budget| budget.get().0.clone())
            .collect();
        Ok(joint::JointResult(uncertainty::JointResult::of_budgets(
            &budgets, &self.0,
        )?))
    }

    /// Second order from budgets and a function that returns, for a direction of shape `(n,)`, the
    /// second derivative along it, the gradient of the first and the gradient of the second
    /// derivative, for each output.
    fn _second_order(
        &self,
        py: Python<'_>,
        budgets: Vec<Py<Budget>>,
        derivatives: &Bound<'_, PyAny>,
    ) -> PyResult<Vec<SecondOrder>> {
        type Three<'py> = (f64, PyReadonlyArray1<'py, f64>, PyReadonlyArray1<'py, f64>);
        let budgets = budgets
            .iter()
            .map(|budget| budget.get().0.clone())
            .collect();
        let mut raised = None;
        let along = |direction: &[f64]| {
            let call = || -> PyResult<Vec<DirectionalDerivatives>> {
                let result = derivatives.call1((direction.to_pyarray(py),))?;
                let result: Vec<Three<'_>> = result.extract()?;
                let read = |(curvature, slope, second): &Three<'_>| DirectionalDerivatives {
                    curvature: *curvature,
                    slope_gradient: slope.as_array().to_vec(),
                    curvature_gradient: second.as_array().to_vec(),
                };
                Ok(result.iter().map(read).collect())
            };
            call().map_err(|error| {
                let own = Error::model(error.to_string());
                raised = Some(error);
                own
            })
        };
        let result = uncertainty::second_order(budgets, &self.0, along);
        match raised {
            Some(error) => Err(error),
            None => Ok(result?.into_iter().map(SecondOrder).collect()),
        }
    }

    /// A set from the text that pickle keeps of it.
    #[classmethod]
    fn _kept(_: &Bound<'_, PyType>, text: &str) -> PyResult<InputSet> {
        Ok(InputSet(uncertainty::InputSet::from_text(text)?))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        rebuilt(slf, slf.get().0.to_text()?)
    }

    /// Monte Carlo trials of a model of these inputs.
    #[allow(clippy::too_many_arguments, reason = "the parameters of a run")]
    fn _monte_carlo(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        trials: u64,
        seed: u64,
        allowed_failures: f64,
        looker: Looker,
    ) -> PyResult<JointTrials> {
        let run = MonteCarlo {
            trials,
            seed,
            allowed_failures,
        };
        let work =
            |model: &PythonModel, watch: &mut Watch<'_>| run.joint_watched(model, &self.0, watch);
        let trials = PythonModel::new(function, named).run(py, looker, work)?;
        Ok(JointTrials(trials))
    }

    /// A run with scrambled Sobol points, of a model with these sensitivity coefficients, shape
    /// `(m, n)`, if any.
    #[allow(clippy::too_many_arguments, reason = "the parameters of a run")]
    fn _low_discrepancy(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        sensitivities: Option<PyReadonlyArray2<'_, f64>>,
        points: u64,
        replicates: u64,
        antithetic: bool,
        seed: u64,
        coverage_probability: f64,
        kind: &str,
        looker: Looker,
    ) -> PyResult<LowDiscrepancyRun> {
        let run = LowDiscrepancy {
            points,
            replicates,
            antithetic,
            seed,
            coverage_probability,
            kind: IntervalKind::from_name(kind, "kind")?,
        };
        let mut model = PythonModel::new(function, named);
        model.sensitivities = sensitivities.map(|matrix| rows(&matrix));
        let work =
            |model: &PythonModel, watch: &mut Watch<'_>| run.run_watched(model, &self.0, watch);
        Ok(LowDiscrepancyRun(model.run(py, looker, work)?))
    }

    /// The plan of a run whose values are not kept.
    fn _tally_plan(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        trials: u64,
        seed: u64,
        allowed_failures: f64,
    ) -> PyResult<TallyPlan> {
        let run = MonteCarlo {
            trials,
            seed,
            allowed_failures,
        };
        let work =
            |model: &PythonModel, watch: &mut Watch<'_>| run.plan_watched(model, &self.0, watch);
        let plan = PythonModel::new(function, named).run(py, None, work)?;
        Ok(TallyPlan(plan))
    }

    /// All trials of a run.
    fn _tally(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        plan: &TallyPlan,
        looker: Looker,
    ) -> PyResult<Tallied> {
        let work = |model: &PythonModel, watch: &mut Watch<'_>| {
            let all = 0..plan.0.leaves();
            let tally = plan.0.tally(model, &self.0, all, false, watch)?;
            plan.0.finish(model, &self.0, tally)
        };
        let tallied = PythonModel::new(function, named).run(py, looker, work)?;
        Ok(Tallied(Arc::new(tallied)))
    }

    /// Some leaves of a run, as bytes.
    #[allow(clippy::too_many_arguments, reason = "the parameters of a part")]
    fn _tally_part<'py>(
        &self,
        py: Python<'py>,
        function: Py<PyAny>,
        named: Named,
        plan: &TallyPlan,
        first: u64,
        last: u64,
        looker: Looker,
    ) -> PyResult<Bound<'py, PyBytes>> {
        let work = |model: &PythonModel, watch: &mut Watch<'_>| {
            let tally = plan.0.tally(model, &self.0, first..last, false, watch)?;
            tally.to_bytes()
        };
        let bytes = PythonModel::new(function, named).run(py, looker, work)?;
        Ok(PyBytes::new(py, &bytes))
    }

    /// The results of a run, from the tally of all its parts.
    fn _tally_finish(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        plan: &TallyPlan,
        tally: &Tally,
    ) -> PyResult<Tallied> {
        let tally = tally.take(plan);
        let work = |model: &PythonModel, _: &mut Watch<'_>| plan.0.finish(model, &self.0, tally);
        let tallied = PythonModel::new(function, named).run(py, None, work)?;
        Ok(Tallied(Arc::new(tallied)))
    }

    /// Adaptive Monte Carlo of a model of these inputs: JCGM 101:2008, 7.9.
    #[allow(
        clippy::too_many_arguments,
        reason = "the parameters of an adaptive run"
    )]
    fn _adaptive(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        digits: u32,
        coverage_probability: f64,
        kind: &str,
        seed: u64,
        most_trials: u64,
        allowed_failures: f64,
    ) -> PyResult<AdaptiveRun> {
        let run = Adaptive {
            digits,
            coverage_probability,
            kind: IntervalKind::from_name(kind, "kind")?,
            seed,
            most_trials,
            allowed_failures,
        };
        let work =
            |model: &PythonModel, watch: &mut Watch<'_>| run.run_watched(model, &self.0, watch);
        let run = PythonModel::new(function, named).run(py, None, work)?;
        Ok(AdaptiveRun(run))
    }

    /// Sobol indices of a model of these inputs, which must be independent.
    fn _sobol_indices(
        &self,
        py: Python<'_>,
        function: Py<PyAny>,
        named: Named,
        trials: u64,
        seed: u64,
        confidence: f64,
    ) -> PyResult<Vec<Made<Sensitivity>>> {
        let run = SobolIndices {
            trials,
            seed,
            confidence,
        };
        let work =
            |model: &PythonModel, watch: &mut Watch<'_>| run.run_watched(model, &self.0, watch);
        let indices = PythonModel::new(function, named).run(py, None, work)?;
        Ok(indices.into_iter().map(|i| Made(Sensitivity(i))).collect())
    }
}
