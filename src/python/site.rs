//! The site and its readings.

use super::evaluation::Evaluation;
use crate::evaluate::Readings;
use crate::site as core;
use numpy::PyReadonlyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// A site as described by its file.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Site(core::Site);

#[pymethods]
impl Site {
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

    /// Evaluates the readings in a CSV file.
    fn evaluate_csv(&self, py: Python<'_>, path: PathBuf) -> PyResult<Evaluation> {
        let evaluate = || self.0.evaluate(&Readings::from_csv(path)?);
        Ok(Evaluation(py.detach(evaluate)?))
    }

    /// Evaluates readings in columns, a dictionary of names and one-dimensional arrays.
    fn evaluate_columns(
        &self,
        py: Python<'_>,
        columns: &Bound<'_, PyDict>,
    ) -> PyResult<Evaluation> {
        let read = |(name, values): (Bound<'_, PyAny>, Bound<'_, PyAny>)| {
            let name: String = name.extract()?;
            let values: PyReadonlyArray1<'_, f64> = values.extract()?;
            Ok((name, values.as_array().to_vec()))
        };
        let columns: Vec<(String, Vec<f64>)> = columns.iter().map(read).collect::<PyResult<_>>()?;
        let evaluate = || {
            let columns = columns
                .iter()
                .map(|(name, v)| (name.as_str(), v.as_slice()));
            self.0.evaluate(&Readings::from_columns(columns)?)
        };
        Ok(Evaluation(py.detach(evaluate)?))
    }

    fn __repr__(&self) -> String {
        format!("<Site {:?}>", self.0.name)
    }
}
