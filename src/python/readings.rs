//! Readings from Python.

use crate::evaluate::Readings;
use crate::table::TableOptions;
use numpy::PyReadonlyArray1;
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// Readings from the path of a file, or columns by name as the package hands them over.
pub(super) fn readings_of(
    readings: &Bound<'_, PyAny>,
    options: &TableOptions,
) -> PyResult<Readings> {
    // a dictionary is no path, and asking whether it is one raises and forgets an exception
    if !readings.is_instance_of::<PyDict>()
        && let Ok(path) = readings.extract::<PathBuf>()
    {
        return Ok(readings
            .py()
            .detach(|| Readings::from_file(path, options))?);
    }
    let columns = columns_of(readings.cast::<PyDict>()?)?;
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
