//! Rows of tables as dictionaries.

use crate::plan::{Cell, Row};
use pyo3::prelude::*;
use pyo3::types::PyDict;

fn entry<'py>(py: Python<'py>, row: Row) -> PyResult<Bound<'py, PyDict>> {
    let entry = PyDict::new(py);
    for (name, cell) in row {
        match cell {
            Cell::Number(number) => entry.set_item(name, number)?,
            Cell::Whole(number) => entry.set_item(name, number)?,
            Cell::Words(words) => entry.set_item(name, words)?,
            Cell::Flag(flag) => entry.set_item(name, flag)?,
            Cell::Nothing => entry.set_item(name, py.None())?,
        }
    }
    Ok(entry)
}

/// A dictionary for each row.
pub(super) fn entries<'py>(py: Python<'py>, rows: Vec<Row>) -> PyResult<Vec<Bound<'py, PyDict>>> {
    rows.into_iter().map(|row| entry(py, row)).collect()
}
