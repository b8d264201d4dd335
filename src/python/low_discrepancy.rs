//! Runs with Sobol points.

use super::joint::JointTrials;
use crate::montecarlo::{self, Estimated};
use crate::units::Unit;
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

    /// For each output a dictionary: figure to value and standard error of it, in `unit`.
    #[getter]
    fn outputs<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |(output, unit): (&montecarlo::EstimatedOutput, &Unit)| {
            let found = PyDict::new(py);
            let (value, difference) = (unit.clone(), unit.of_differences());
            let of = |unit: &Unit, figure: Estimated| {
                let error = unit.difference_from_si(figure.standard_error);
                (unit.from_si(figure.value), error)
            };
            let u = of(&difference, output.standard_uncertainty);
            found.set_item("mean", of(&value, output.mean))?;
            found.set_item("standard_uncertainty", u)?;
            found.set_item("low", of(&value, output.low))?;
            found.set_item("high", of(&value, output.high))?;
            found.set_item("unit", &unit.symbol)?;
            Ok(found)
        };
        let units = self.0.trials.outputs().iter().map(|output| &output.unit);
        self.0.outputs.iter().zip(units).map(entry).collect()
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
