//! Worksheets.

use crate::record::{self as core, Form};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// Every step from raw readings to expanded uncertainty.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Worksheet(pub(super) core::Worksheet);

#[pymethods]
impl Worksheet {
    /// The lines, each as a dictionary.
    #[getter]
    fn lines<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |line: &core::Line| {
            let found = PyDict::new(py);
            found.set_item("number", line.number)?;
            found.set_item("section", line.section)?;
            found.set_item("symbol", &line.symbol)?;
            found.set_item("words", &line.words)?;
            found.set_item("equation", &line.equation)?;
            found.set_item("numbers", &line.numbers)?;
            found.set_item("value", line.value)?;
            found.set_item("shown", &line.shown)?;
            found.set_item("unit", &line.unit)?;
            found.set_item("source", &line.source)?;
            Ok(found)
        };
        self.0.lines.iter().map(entry).collect()
    }

    /// The worksheet as plain text.
    #[getter]
    fn text(&self) -> String {
        self.0.in_form(Form::Text)
    }

    /// The worksheet as Markdown.
    #[getter]
    fn markdown(&self) -> String {
        self.0.in_form(Form::Markdown)
    }

    /// The worksheet as a page of HTML.
    #[getter]
    fn html(&self) -> String {
        self.0.in_form(Form::Html)
    }

    /// Writes the worksheet; the suffix tells the form.
    ///
    /// Parameters
    /// ----------
    /// path
    ///     A file that ends in ``.txt``, ``.md`` or ``.html``.
    /// overwrite
    ///     Whether a file that exists may be replaced. It is written whole or not at all.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     Another suffix, a file that cannot be written.
    /// RecordError
    ///     A file that exists and may not be replaced.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> import os, tempfile
    /// >>> folder = tempfile.mkdtemp()
    /// >>> evaluation.worksheet.save(f"{folder}/worksheet.md")
    /// >>> os.listdir(folder)
    /// ['worksheet.md']
    #[pyo3(signature = (path, overwrite = false))]
    fn save(&self, py: Python<'_>, path: PathBuf, overwrite: bool) -> PyResult<()> {
        Ok(py.detach(|| self.0.save(path, overwrite))?)
    }

    fn __len__(&self) -> usize {
        self.0.lines.len()
    }

    fn __str__(&self) -> String {
        self.text()
    }

    fn __repr__(&self) -> String {
        format!(
            "<Worksheet of {:?}: {} lines>",
            self.0.site,
            self.0.lines.len()
        )
    }

    fn _repr_html_(&self) -> String {
        self.0.html_fragment()
    }
}
