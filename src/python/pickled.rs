//! What pickle keeps of an object: its class makes it again from one argument.

use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;

/// A method of the class and its only argument.
pub(super) type Rebuilt<'py> = (Bound<'py, PyAny>, (Bound<'py, PyAny>,));

/// That `_kept` of the object's class makes it again.
pub(super) fn rebuilt<'py, T>(
    object: &Bound<'py, T>,
    argument: impl IntoPyObject<'py>,
) -> PyResult<Rebuilt<'py>> {
    let argument = argument.into_bound_py_any(object.py())?;
    let class = object.as_any().get_type();
    Ok((class.getattr("_kept")?, (argument,)))
}
