//! Sentences of the core for Python, to be said in any language.

use crate::evaluate::Warning;
use crate::message::{Message, Told};
use crate::uncertainty::grouped;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList, PyTuple};

/// A sentence as `("said", key, {place: told})`.
pub(super) fn message<'py>(py: Python<'py>, message: &Message) -> PyResult<Bound<'py, PyTuple>> {
    let places = PyDict::new(py);
    for (name, told) in message.told() {
        places.set_item(name, of(py, told)?)?;
    }
    ("said", message.key(), places).into_pyobject(py)
}

/// A sentence with a name before it: that of a warning, or a heading.
pub(super) type Headed<'py> = (&'static str, Option<Bound<'py, PyTuple>>);

/// Warnings with their codes; no sentence where a warning has words alone.
pub(super) fn warnings<'py>(py: Python<'py>, all: &[Warning]) -> PyResult<Vec<Headed<'py>>> {
    let told = all.iter().map(|warning| {
        let own = warning.message.as_ref();
        Ok((warning.code, own.map(|m| message(py, m)).transpose()?))
    });
    told.collect()
}

/// Several sentences.
pub(super) fn messages<'py>(
    py: Python<'py>,
    all: &[Message],
) -> PyResult<Vec<Bound<'py, PyTuple>>> {
    all.iter().map(|one| message(py, one)).collect()
}

/// What a sentence tells of: its kind, and its text or parts.
pub(super) fn of<'py>(py: Python<'py>, told: &Told) -> PyResult<Bound<'py, PyTuple>> {
    match told {
        Told::Number(text) => ("number", text).into_pyobject(py),
        Told::Reynolds(value) => ("number", grouped(*value)).into_pyobject(py),
        Told::Word(word) => ("word", word).into_pyobject(py),
        Told::Input(path) => ("input", path).into_pyobject(py),
        Told::Key(key) => ("key", key).into_pyobject(py),
        Told::Theirs(text) => ("theirs", text).into_pyobject(py),
        Told::Said(said) => message(py, said),
        Told::Joined(each, between) => {
            let each: PyResult<Vec<_>> = each.iter().map(|one| of(py, one)).collect();
            ("joined", PyList::new(py, each?)?, between).into_pyobject(py)
        }
    }
}
