//! Functions of a number for arrays of any shape.

use crate::error::{Error, Result};
use numpy::{Element, PyReadonlyArrayDyn, ToPyArray};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;

/// Applies a function to a number, or to every element of what numpy makes an array of. The
/// function is told the name of the element for its errors.
pub(super) fn elementwise<'py, T: Element + IntoPyObject<'py>>(
    name: &str,
    x: &Bound<'py, PyAny>,
    function: impl Fn(f64, &dyn Fn() -> String) -> Result<T>,
) -> PyResult<Bound<'py, PyAny>> {
    let py = x.py();
    if let Ok(number) = x.extract::<f64>() {
        return function(number, &|| name.to_owned())?.into_bound_py_any(py);
    }
    let masked = py.import("numpy.ma")?.call_method1("is_masked", (x,))?;
    if masked.extract()? {
        return Err(PyErr::from(Error::WrongType {
            field: name.to_owned(),
            found: "masked elements".to_owned(),
            allowed: "numbers".to_owned(),
        }));
    }
    let array = py
        .import("numpy")?
        .call_method1("asarray", (x, "float64"))?;
    let array: PyReadonlyArrayDyn<'_, f64> = array.extract()?;
    let array = array.as_array();
    let each = array.iter().enumerate();
    let values = each.map(|(i, v)| function(*v, &|| format!("{name}[{i}]")));
    let values = values.collect::<Result<Vec<T>>>()?.to_pyarray(py);
    values.call_method1("reshape", (array.shape().to_vec(),))
}
