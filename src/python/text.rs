//! Text from outside, made fit to be shown.

use crate::text;
use pyo3::prelude::*;

/// Text with all that is not seen but does something as an escape.
#[pyfunction]
pub(super) fn shown(text: &str) -> String {
    text::shown(text).into_owned()
}
