//! Runs with Sobol points.

use super::joint::JointTrials;
use crate::montecarlo::{self, Estimated};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// What a run with scrambled Sobol points found.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct LowDiscrepancyRun(pub(super) montecarlo::LowDiscrepancyRun);

#[pymethods]
impl LowDiscrepancyRun {
    /// All trials together, replicate after replicate.
    #[getter]
    fn trials(&self) -> JointTrials {
        JointTrials(self.0.trials.clone())
    }

    /// Points of a replicate.
    #[getter]
    fn points(&self) -> u64 {
        self.0.run.points
    }

    /// Independent replicates.
    #[getter]
    fn replicates(&self) -> u64 {
        self.0.run.replicates
    }

    /// Whether half of the points of a replicate mirror the others.
    #[getter]
    fn antithetic(&self) -> bool {
        self.0.run.antithetic
    }

    /// The seed.
    #[getter]
    fn seed(&self) -> u64 {
        self.0.run.seed
    }

    /// For each output a dictionary: figure to value and standard error of it, in SI units.
    #[getter]
    fn outputs<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |output: &montecarlo::EstimatedOutput| {
            let found = PyDict::new(py);
            let pair = |figure: Estimated| (figure.value, figure.standard_error);
            found.set_item("mean", pair(output.mean))?;
            found.set_item("standard_uncertainty", pair(output.standard_uncertainty))?;
            found.set_item("low", pair(output.low))?;
            found.set_item("high", pair(output.high))?;
            Ok(found)
        };
        self.0.outputs.iter().map(entry).collect()
    }

    /// What the run found, one sentence for each output.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    fn __repr__(&self) -> String {
        format!("<LowDiscrepancyRun: {}>", self.0.in_words())
    }
}
