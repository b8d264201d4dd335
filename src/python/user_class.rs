//! Classes of users over classes of the core.
//!
//! A class of the core knows what the core computes. Where Python has a part in it (tables, pages,
//! figures, executors, arguments of many kinds) the package has a class that inherits from it. It
//! tells its classes once, when it is imported; from then on the core makes objects of them.

use crate::error::Error;
use pyo3::PyClass;
use pyo3::prelude::*;
use pyo3::sync::PyOnceLock;
use pyo3::types::{PyDict, PyType};
use std::any::Any;
use std::sync::{Mutex, PoisonError};

/// The module of the classes of the core.
const CORE: &str = "flowdoubt._core";

/// Classes of the package, each under its class of the core.
static CLASSES: PyOnceLock<Py<PyDict>> = PyOnceLock::new();

fn classes(py: Python<'_>) -> &Bound<'_, PyDict> {
    let made = CLASSES.get_or_init(py, || PyDict::new(py).unbind());
    made.bind(py)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Value>()?;
    module.add_function(wrap_pyfunction!(use_classes, module)?)
}

/// Makes objects of these classes from now on, each in place of the class that it inherits from.
#[pyfunction]
fn use_classes(inheriting: Vec<Bound<'_, PyType>>) -> PyResult<()> {
    for class in inheriting {
        classes(class.py()).set_item(of_the_core(&class)?, &class)?;
    }
    Ok(())
}

/// The class of the core that a class inherits from, directly or by one of the package.
fn of_the_core<'py>(class: &Bound<'py, PyType>) -> PyResult<Bound<'py, PyAny>> {
    let mut base = class.getattr("__base__")?;
    while base.getattr("__module__")?.extract::<String>()? != CORE {
        base = base.getattr("__base__")?;
    }
    Ok(base)
}

/// A value of the core on its way into an object, which takes it out.
#[pyclass(frozen, module = "flowdoubt._core")]
struct Value(Mutex<Option<Box<dyn Any + Send>>>);

/// What a class makes its object of; `instead` says how a user gets one.
pub(super) fn taken<T: PyClass>(of: &Bound<'_, PyAny>, instead: &str) -> PyResult<T> {
    let value = of.cast::<Value>().ok().and_then(|value| {
        let mut value = value.get().0.lock().unwrap_or_else(PoisonError::into_inner);
        value.take()?.downcast::<T>().ok()
    });
    value.map(|value| *value).ok_or_else(|| {
        let found = of.repr().map(|words| words.to_string());
        PyErr::from(Error::WrongType {
            field: <T as PyClass>::NAME.to_owned(),
            found: found.unwrap_or_default(),
            allowed: instead.to_owned(),
        })
    })
}

/// An object of `class`, which is that of `T` or inherits from it.
pub(super) fn made_as<'py, T: Send + 'static>(
    class: &Bound<'py, PyType>,
    value: T,
) -> PyResult<Bound<'py, PyAny>> {
    class.call1((Value(Mutex::new(Some(Box::new(value)))),))
}

/// A value that reaches Python as an object of the class that users know.
pub(super) struct Made<T>(pub(super) T);

impl<'py, T: PyClass + Send> IntoPyObject<'py> for Made<T> {
    type Target = PyAny;
    type Output = Bound<'py, PyAny>;
    type Error = PyErr;

    fn into_pyobject(self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let core = T::type_object(py);
        match classes(py).get_item(&core)? {
            Some(class) => made_as(class.cast::<PyType>()?, self.0),
            None => made_as(&core, self.0),
        }
    }
}
