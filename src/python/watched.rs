//! Long runs: the interpreter is free meanwhile, Ctrl-C is heard, and Python may look on.

use crate::error::Result;
use crate::montecarlo::Watch;
use pyo3::prelude::*;
use std::ops::ControlFlow;

/// A Python function of the number of trials done, called between batches; what it raises ends the
/// run.
pub(super) type Looker = Option<Py<PyAny>>;

/// Does `work` without holding the interpreter. Between batches signals are heard and the looker is
/// called; what either raises is raised again when all threads have stopped.
pub(super) fn watched<T: Send>(
    py: Python<'_>,
    looker: Looker,
    work: impl Send + FnOnce(&mut Watch<'_>) -> Result<T>,
) -> PyResult<T> {
    let mut raised = None;
    let result = py.detach(|| {
        let mut watch = |done: u64| {
            let heard = Python::attach(|py| {
                py.check_signals()?;
                match &looker {
                    Some(looker) => looker.call1(py, (done,)).map(drop),
                    None => Ok(()),
                }
            });
            match heard {
                Ok(()) => ControlFlow::Continue(()),
                Err(error) => {
                    raised = Some(error);
                    ControlFlow::Break(())
                }
            }
        };
        work(&mut watch)
    });
    match raised {
        Some(error) => Err(error),
        None => Ok(result?),
    }
}
