//! Inputs reconciled with the transit time.

use super::budget::Budget;
use super::evaluation::Evaluation;
use super::user_class::Made;
use crate::evaluate as core;
use crate::units::Unit;
use pyo3::prelude::*;
use pyo3::types::PyDict;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Reconciliation>()?;
    module.add_function(wrap_pyfunction!(reconciled, module)?)
}

/// Reconciles the inputs of an evaluation.
#[pyfunction]
fn reconciled(evaluation: &Bound<'_, Evaluation>) -> PyResult<Reconciliation> {
    Ok(Reconciliation(evaluation.get().0.reconciled()?))
}

/// An evaluation reconciled with the measured transit time.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Reconciliation(pub(super) core::Reconciliation);

#[pymethods]
impl Reconciliation {
    /// The budget before.
    #[getter]
    fn before(&self) -> Made<Budget> {
        Made(Budget(self.0.before.clone()))
    }

    /// The evaluation with adjusted inputs.
    #[getter]
    fn after(&self) -> Made<Evaluation> {
        Made(Evaluation(self.0.after.clone()))
    }

    /// The weighted sum of squares of the adjustments.
    #[getter]
    fn chi_square(&self) -> f64 {
        self.0.chi_square
    }

    /// The probability of such a chi-square or a larger one where they agree.
    #[getter]
    fn probability(&self) -> f64 {
        self.0.probability
    }

    /// Whether inputs and transit time agree within their uncertainties.
    #[getter]
    fn is_consistent(&self) -> bool {
        self.0.is_consistent()
    }

    /// Inputs before and after, in the unit of each, as columns.
    #[getter]
    fn adjustments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let rows = &self.0.adjustments;
        let units: Vec<Unit> = rows.iter().map(|a| self.0.unit_of(a)).collect();
        let each = || rows.iter().zip(&units);
        let value = |of: fn(&core::Adjustment) -> f64| -> Vec<f64> {
            each().map(|(a, unit)| unit.from_si(of(a))).collect()
        };
        let uncertainty = |of: fn(&core::Adjustment) -> f64| -> Vec<f64> {
            let shown = each().map(|(a, unit)| unit.difference_from_si(of(a)));
            shown.collect()
        };
        let symbols: Vec<&str> = units.iter().map(|unit| unit.symbol.as_ref()).collect();
        let found = PyDict::new(py);
        let names: Vec<&str> = rows.iter().map(|a| a.input.as_str()).collect();
        found.set_item("input", names)?;
        found.set_item("unit", symbols)?;
        found.set_item("before", value(|a| a.before))?;
        found.set_item("uncertainty_before", uncertainty(|a| a.uncertainty_before))?;
        found.set_item("after", value(|a| a.after))?;
        found.set_item("uncertainty_after", uncertainty(|a| a.uncertainty_after))?;
        Ok(found)
    }

    fn __repr__(&self) -> String {
        self.0.in_words()
    }
}
