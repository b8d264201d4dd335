//! The uncertainty budget.

use super::evaluation::delegate;
use crate::uncertainty::{self, TableRow, Units};
use numpy::{PyArray1, ToPyArray};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// A number as text with a count of significant digits.
#[pyfunction]
#[pyo3(signature = (value, digits = 2))]
pub(super) fn rounded(value: f64, digits: i32) -> String {
    uncertainty::rounded(value, digits)
}

/// An estimate and its uncertainty as text (JCGM 100:2008, 7.2.6).
#[pyfunction]
pub(super) fn rounded_pair(estimate: f64, uncertainty: f64) -> (String, String) {
    uncertainty::rounded_pair(estimate, uncertainty)
}

/// An uncertainty budget.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Budget(pub(super) uncertainty::Budget);

#[pymethods]
impl Budget {
    #[getter]
    fn output(&self) -> &str {
        &self.0.output.name
    }

    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    #[getter]
    fn estimate(&self) -> f64 {
        self.0.estimate
    }

    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.standard_uncertainty
    }

    #[getter]
    fn effective_dof(&self) -> f64 {
        self.0.effective_dof
    }

    #[getter]
    fn result_in_words(&self) -> String {
        self.0.result_in_words()
    }

    fn expanded(&self, coverage_probability: f64) -> PyResult<Expanded> {
        Ok(Expanded(self.0.expanded(coverage_probability)?))
    }

    /// Estimate and standard uncertainty.
    #[pyo3(signature = (si = true))]
    fn result(&self, si: bool) -> (f64, f64) {
        if si {
            (self.0.estimate, self.0.standard_uncertainty)
        } else {
            self.0.result_shown()
        }
    }

    /// A value in SI units in the unit of the output.
    fn value_shown(&self, si: f64) -> f64 {
        self.0.output.unit.from_si(si)
    }

    /// A difference in SI units, such as an uncertainty, in the unit of the output.
    fn difference_shown(&self, si: f64) -> f64 {
        self.0.output.unit.difference_from_si(si)
    }

    /// Shares of the variance by component.
    fn components<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let shares = PyDict::new(py);
        for subtotal in self.0.components() {
            shares.set_item(subtotal.component, subtotal.share)?;
        }
        Ok(shares)
    }

    /// The columns of the budget: lists of words and arrays of numbers.
    #[pyo3(signature = (si = false))]
    fn columns<'py>(&self, py: Python<'py>, si: bool) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.0.rows(if si { Units::Si } else { Units::Shown });
        let columns = PyDict::new(py);
        let words = |pick: fn(&TableRow) -> &str| -> Vec<String> {
            rows.iter().map(|row| pick(row).to_owned()).collect()
        };
        let numbers = |pick: fn(&TableRow) -> f64| -> Bound<'py, PyArray1<f64>> {
            rows.iter().map(pick).collect::<Vec<_>>().to_pyarray(py)
        };
        columns.set_item("component", words(|r| &r.component))?;
        columns.set_item("input", words(|r| &r.input))?;
        columns.set_item("estimate", numbers(|r| r.estimate))?;
        columns.set_item("standard_uncertainty", numbers(|r| r.standard_uncertainty))?;
        columns.set_item("unit", words(|r| &r.unit))?;
        columns.set_item("distribution", words(|r| r.distribution))?;
        columns.set_item("dof", numbers(|r| r.dof.unwrap_or(f64::INFINITY)))?;
        columns.set_item("sensitivity", numbers(|r| r.sensitivity))?;
        columns.set_item("contribution", numbers(|r| r.contribution))?;
        columns.set_item(
            "relative_sensitivity",
            numbers(|r| r.relative_sensitivity.unwrap_or(f64::NAN)),
        )?;
        columns.set_item(
            "relative_contribution",
            numbers(|r| r.relative_contribution.unwrap_or(f64::NAN)),
        )?;
        columns.set_item("share", numbers(|r| r.share))?;
        columns.set_item("evidence", words(|r| &r.evidence))?;
        Ok(columns)
    }

    /// The lines as rounded text, component first and evidence last.
    fn rounded_lines(&self) -> Vec<Vec<String>> {
        self.0.rounded_lines()
    }

    fn to_pandas<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._tables", "budget_to_pandas")
    }

    fn to_polars<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._tables", "budget_to_polars")
    }

    fn __repr__(&self) -> String {
        format!("<Budget of {}>", self.0.result_in_words())
    }

    fn __str__(&self) -> String {
        self.0.to_string()
    }

    fn _repr_latex_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._display", "budget_latex")
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        delegate(slf.as_any(), "flowdoubt._display", "budget_html")
    }
}

/// An expanded uncertainty.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Expanded(pub(super) uncertainty::Expanded);

#[pymethods]
impl Expanded {
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    #[getter]
    fn expanded_uncertainty(&self) -> f64 {
        self.0.expanded_uncertainty
    }

    fn __repr__(&self) -> String {
        format!(
            "<Expanded {:e}, coverage factor {:.4}, coverage probability {}>",
            self.0.expanded_uncertainty, self.0.coverage_factor, self.0.coverage_probability
        )
    }
}
