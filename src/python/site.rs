//! The site and its readings.

use super::evaluation::Evaluation;
use super::tally::{Rebuilt, rebuilt};
use crate::evaluate::Readings;
use crate::site as core;
use numpy::PyReadonlyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// A site as described by its file.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Site(pub(super) core::Site);

#[pymethods]
impl Site {
    /// The text of a site file to begin with.
    #[classattr]
    const STARTER: &'static str = core::Site::STARTER;

    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf) -> PyResult<Site> {
        Ok(Site(py.detach(|| core::Site::load(path))?))
    }

    #[staticmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml(text: &str, file: PathBuf) -> PyResult<Site> {
        Ok(Site(core::Site::from_toml(text, file)?))
    }

    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// The choices of the site, as pairs of a heading and words.
    #[getter]
    fn choices(&self) -> Vec<(&'static str, String)> {
        self.0.choices_in_words()
    }

    /// What is stated of each input, rounded, as dictionaries.
    #[getter]
    fn stated<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |line: core::StatedLine| {
            let found = PyDict::new(py);
            found.set_item("component", line.component)?;
            found.set_item("input", line.input)?;
            found.set_item("words", line.words)?;
            found.set_item("estimate", line.estimate)?;
            found.set_item("standard_uncertainty", line.standard_uncertainty)?;
            found.set_item("unit", line.unit)?;
            found.set_item("distribution", line.distribution)?;
            found.set_item("dof", line.dof)?;
            found.set_item("evidence", line.evidence)?;
            Ok(found)
        };
        self.0.stated_lines().into_iter().map(entry).collect()
    }

    /// Evaluates readings: the path of a CSV file, or columns by name.
    fn evaluate(&self, py: Python<'_>, readings: &Bound<'_, PyAny>) -> PyResult<Evaluation> {
        let readings = readings_of(readings)?;
        Ok(Evaluation(py.detach(|| self.0.evaluate(&readings))?))
    }

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Rebuilt<'py>> {
        let named = (self.0.file_name(), self.0.text());
        rebuilt(py, "site", named.into_pyobject(py)?.into_any())
    }

    fn __repr__(&self) -> String {
        format!("<Site {:?}>", self.0.name)
    }
}

/// Readings from the path of a CSV file, or from what the package can read columns from.
pub(super) fn readings_of(readings: &Bound<'_, PyAny>) -> PyResult<Readings> {
    if let Ok(path) = readings.extract::<PathBuf>() {
        return Ok(readings.py().detach(|| Readings::from_csv(path))?);
    }
    let module = readings.py().import("flowdoubt._site")?;
    let columns = module.call_method1("columns_of", (readings,))?;
    let columns = columns_of(columns.cast::<PyDict>()?)?;
    let columns = columns.iter();
    let columns = columns.map(|(name, v)| (name.as_str(), v.as_slice().unwrap_or_default()));
    Ok(Readings::from_columns(columns)?)
}

/// Columns by name, in the memory of Python.
pub(super) fn columns_of<'py>(
    columns: &Bound<'py, PyDict>,
) -> PyResult<Vec<(String, PyReadonlyArray1<'py, f64>)>> {
    let read = |(name, values): (Bound<'py, PyAny>, Bound<'py, PyAny>)| {
        Ok((
            name.extract()?,
            values.extract::<PyReadonlyArray1<'py, f64>>()?,
        ))
    };
    columns.iter().map(read).collect()
}
