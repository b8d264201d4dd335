//! Errors as Python exceptions: a base class and a subclass for each kind, all of them
//! `ValueError`.

use crate::error::{Error, ErrorKind};
use crate::text::shown;
use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;

pyo3::create_exception!(
    flowdoubt,
    FlowdoubtError,
    PyValueError,
    "Base class of all errors of flowdoubt.\n\n\
     Attributes: ``code``, ``field``, ``value``, ``allowed``, ``file``, ``line``; ``None`` where an \
     error has no such part."
);
pyo3::create_exception!(
    flowdoubt,
    InputError,
    FlowdoubtError,
    "Something missing, unknown, contradictory or not in the syntax of its format."
);
pyo3::create_exception!(
    flowdoubt,
    UnitError,
    FlowdoubtError,
    "Text that is not a quantity with a unit of the right kind."
);
pyo3::create_exception!(
    flowdoubt,
    RangeError,
    FlowdoubtError,
    "A number outside its permitted range, or a sound path that does not exist."
);
pyo3::create_exception!(
    flowdoubt,
    CorrelationError,
    FlowdoubtError,
    "A correlation matrix that no set of random variables can have."
);
pyo3::create_exception!(
    flowdoubt,
    TrialsError,
    FlowdoubtError,
    "Monte Carlo trials without a finite result."
);
pyo3::create_exception!(
    flowdoubt,
    ModelError,
    FlowdoubtError,
    "A measurement model written in Python that raised an exception, which is the cause."
);

pyo3::create_exception!(
    flowdoubt,
    RecordError,
    FlowdoubtError,
    "A record that was changed after it was written, is too large, has a version that cannot be read, \
     or would be overwritten."
);

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    let py = module.py();
    let base = py.get_type::<FlowdoubtError>();
    base.setattr("code", "")?;
    for part in ["field", "value", "allowed", "file", "line"] {
        base.setattr(part, py.None())?;
    }
    module.add("FlowdoubtError", py.get_type::<FlowdoubtError>())?;
    module.add("InputError", py.get_type::<InputError>())?;
    module.add("UnitError", py.get_type::<UnitError>())?;
    module.add("ModelError", py.get_type::<ModelError>())?;
    module.add("RangeError", py.get_type::<RangeError>())?;
    module.add("CorrelationError", py.get_type::<CorrelationError>())?;
    module.add("RecordError", py.get_type::<RecordError>())?;
    module.add("TrialsError", py.get_type::<TrialsError>())
}

fn exception(error: &Error) -> PyErr {
    let message = error.to_string();
    match error.kind() {
        ErrorKind::Unit => UnitError::new_err(message),
        ErrorKind::Range => RangeError::new_err(message),
        ErrorKind::Correlation => CorrelationError::new_err(message),
        ErrorKind::Model => ModelError::new_err(message),
        ErrorKind::Record => RecordError::new_err(message),
        ErrorKind::Trials => TrialsError::new_err(message),
        ErrorKind::Input | ErrorKind::Cancelled | ErrorKind::File => InputError::new_err(message),
    }
}

impl From<Error> for PyErr {
    fn from(error: Error) -> PyErr {
        let exception = exception(&error);
        Python::attach(|py| {
            let value = exception.value(py);
            let context = error.context();
            let (file, line) = match &error {
                Error::InFile { file, line, .. } => (
                    Some(shown(&file.display().to_string()).into_owned()),
                    Some(*line),
                ),
                Error::File { file, .. } => {
                    (Some(shown(&file.display().to_string()).into_owned()), None)
                }
                _ => (None, None),
            };
            let set = || -> PyResult<()> {
                value.setattr("code", error.code())?;
                value.setattr("field", context.field)?;
                value.setattr("value", context.found)?;
                value.setattr("allowed", context.allowed)?;
                value.setattr("file", file)?;
                value.setattr("line", line)
            };
            match set() {
                Ok(()) => exception,
                Err(other) => other,
            }
        })
    }
}
