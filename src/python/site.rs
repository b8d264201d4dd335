//! The site and its readings.

use super::checks::InterchangedZero;
use super::evaluation::Evaluation;
use super::layout::layout_entry;
use super::pickled::{Rebuilt, rebuilt};
use super::readings::readings_of;
use super::table_options::StatedTable;
use super::told;
use super::user_class::{Made, made_as, taken};
use super::watched::watched;
use crate::error::Error;
use crate::model::Basis;
use crate::site as core;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyType};
use std::path::PathBuf;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Site>()?;
    module.add_function(wrap_pyfunction!(site_of, module)?)
}

/// A site as described by its file.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Site(pub(super) core::Site);

#[pymethods]
impl Site {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(
            value,
            "Site.load(path) for a file, Site.from_toml(text) for the text of one, or sections: \
             Site(site={...}, liquid={...}, pipe={...}, path={...})",
        )
    }

    /// The text of a site file to begin with: usual keys, comments, values to be replaced.
    #[classattr]
    #[pyo3(name = "STARTER")]
    fn starter() -> String {
        core::Site::starter()
    }

    /// The text of a site file to begin with for a basis and a liquid.
    #[staticmethod]
    fn _starter_for(basis: &str, liquid: &str) -> PyResult<String> {
        let basis = Basis::from_name(basis, "basis")?;
        Ok(core::Site::starter_for(basis, liquid)?)
    }

    /// Read a site file.
    #[classmethod]
    fn load<'py>(class: &Bound<'py, PyType>, path: PathBuf) -> PyResult<Bound<'py, PyAny>> {
        let site = class.py().detach(|| core::Site::load(path))?;
        made_as(class, Site(site))
    }

    /// Read a site from the text of a site file.
    ///
    /// Parameters
    /// ----------
    /// text
    ///     TOML.
    /// file
    ///     The name that errors give to it.
    ///
    /// Returns
    /// -------
    /// Site
    ///
    /// Raises
    /// ------
    /// FlowdoubtError
    ///     As for `Site.load`.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> fd.Site.from_toml(fd.Site.starter()).name
    /// 'plant, line, place on the line'
    #[classmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml<'py>(
        class: &Bound<'py, PyType>,
        text: &str,
        file: PathBuf,
    ) -> PyResult<Bound<'py, PyAny>> {
        made_as(class, Site(core::Site::from_toml(text, file)?))
    }

    /// A site of sections, as JSON.
    #[classmethod]
    fn _from_sections<'py>(class: &Bound<'py, PyType>, json: &str) -> PyResult<Bound<'py, PyAny>> {
        let sections: serde_json::Value =
            serde_json::from_str(json).map_err(|error| Error::Syntax {
                format: "site",
                reason: error.to_string(),
            })?;
        made_as(class, Site(core::Site::from_sections(&sections)?))
    }

    /// Return the text of a site file that says what the site is made from.
    ///
    /// It is that of its own file or, where that has no comments, such as the text of an alternative,
    /// laid out by sections, with comments that say what each key is, its unit and what is usual. Read
    /// again, it gives the same site.
    ///
    /// Returns
    /// -------
    /// str
    ///     TOML.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/box/small_plastic_pipe.toml")
    /// >>> fd.Site.from_toml(site.to_toml()).stated == site.stated
    /// True
    fn to_toml(&self) -> String {
        self.0.to_toml()
    }

    /// A site from what pickle keeps of it: the name and the text of its file.
    #[classmethod]
    fn _kept<'py>(
        class: &Bound<'py, PyType>,
        named: (PathBuf, String),
    ) -> PyResult<Bound<'py, PyAny>> {
        Site::from_toml(class, &named.1, named.0)
    }

    /// The name of the site.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Remarks in words.
    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

    /// The coverage probability at which expanded uncertainties are stated.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// The text of the site file.
    #[getter]
    fn text(&self) -> &str {
        self.0.text()
    }

    fn _choices_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<told::Headed<'py>>> {
        let choices = self.0.choices_told().into_iter();
        let told = choices.map(|(heading, own)| Ok((heading, Some(told::message(py, &own)?))));
        told.collect()
    }

    /// What the file chooses rather than measures, as pairs of a heading and words.
    #[getter]
    fn choices(&self) -> Vec<(&'static str, String)> {
        self.0.choices_in_words()
    }

    /// What the file states of each input, rounded for people; a data frame takes it as it is.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> stated = fd.Site.load("notebooks/demo/site.toml").stated
    /// >>> (wall,) = (line for line in stated if line["input"] == "pipe.wall")
    /// >>> wall["input"], wall["estimate"], wall["standard_uncertainty"], wall["unit"]
    /// ('pipe.wall', '8.767', '0.015', 'mm')
    #[getter]
    fn stated<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |line: core::StatedLine| {
            let found = PyDict::new(py);
            found.set_item("component", line.component)?;
            found.set_item("input", line.input)?;
            found.set_item("words", line.words)?;
            found.set_item("estimate", line.estimate)?;
            found.set_item("standard_uncertainty", line.standard_uncertainty)?;
            found.set_item("unit", line.unit)?;
            found.set_item("distribution", line.distribution)?;
            found.set_item("dof", line.dof)?;
            found.set_item("evidence", line.evidence)?;
            Ok(found)
        };
        self.0.stated_lines().into_iter().map(entry).collect()
    }

    /// The sound path to draw it to scale, in SI units, as far as the file alone tells it.
    ///
    /// ``None`` where it takes readings, such as those of the temperature, or is not known;
    /// ``evaluation.path_layout`` has it with the readings. ``ray_m`` has the corners of the ray,
    /// shape ``(n, 2)``: axial position from the first exit point and height over the axis.
    #[getter]
    fn path_layout<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let layout = self.0.path_layout();
        layout.map(|layout| layout_entry(py, &layout)).transpose()
    }

    /// What the file states, field by field: section, path, words, evidence and parts, each with its
    /// path, words, text, the texts of a slider and those to choose from.
    fn _fields<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |field: core::Field| {
            let found = PyDict::new(py);
            found.set_item("section", field.section)?;
            found.set_item("path", field.path)?;
            found.set_item("words", field.words)?;
            found.set_item("evidence", field.evidence)?;
            let part = |part: core::Part| {
                let found = PyDict::new(py);
                found.set_item("path", part.path)?;
                found.set_item("words", part.words)?;
                found.set_item("text", part.text)?;
                found.set_item("rungs", part.rungs)?;
                found.set_item("options", part.options)?;
                Ok(found)
            };
            let parts = field.parts.into_iter().map(part);
            found.set_item("parts", parts.collect::<PyResult<Vec<_>>>()?)?;
            Ok(found)
        };
        self.0.fields()?.into_iter().map(entry).collect()
    }

    /// The site with other texts at paths of its file.
    fn _with_texts(&self, texts: Vec<(String, String)>) -> PyResult<Made<Site>> {
        let texts: Vec<(&str, &str)> = texts
            .iter()
            .map(|(path, text)| (path.as_str(), text.as_str()))
            .collect();
        Ok(Made(Site(self.0.with_texts(&texts)?)))
    }

    /// Evaluates readings: the path of a file, or columns by name.
    fn _evaluate(
        &self,
        py: Python<'_>,
        readings: &Bound<'_, PyAny>,
        stated: Option<StatedTable>,
    ) -> PyResult<Made<Evaluation>> {
        let options = StatedTable::or(stated, self.0.table_options())?;
        let readings = readings_of(readings, &options)?;
        let found = watched(py, None, |watch| self.0.evaluate_watched(&readings, watch))?;
        Ok(Made(Evaluation(found)))
    }

    /// The zero from runs before, with and after interchanged sensors.
    fn _zero_from_interchange(
        &self,
        before: &Bound<'_, PyAny>,
        interchanged: &Bound<'_, PyAny>,
        after: &Bound<'_, PyAny>,
    ) -> PyResult<InterchangedZero> {
        let read = |readings| readings_of(readings, self.0.table_options());
        let runs = [before, interchanged, after].map(read);
        let [before, interchanged, after] = runs;
        let (before, interchanged, after) = (before?, interchanged?, after?);
        let found = self
            .0
            .zero_from_interchange(&before, &interchanged, &after)?;
        Ok(InterchangedZero(found))
    }

    /// The names of ours for columns of a frame; `None` for what is none. Without a map they are
    /// taken as they are.
    fn _names_of_columns(
        &self,
        names: Vec<String>,
        stated: Option<StatedTable>,
        others: Vec<String>,
    ) -> PyResult<Option<Vec<Option<String>>>> {
        let options = StatedTable::or(stated, self.0.table_options())?;
        Ok(options.names_in_memory(&names, &others)?)
    }

    /// The column of the status and the states of good rows, as the site file says them.
    #[getter]
    fn _status(&self) -> Option<(String, Vec<String>)> {
        let status = self.0.table_options().status.as_ref();
        status.map(|status| (status.column.clone(), status.good.clone()))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        let site = &slf.get().0;
        rebuilt(slf, (site.file_name(), site.text()))
    }

    fn __repr__(&self) -> String {
        format!("<Site {:?}>", self.0.name)
    }
}

/// The site that was evaluated.
#[pyfunction]
fn site_of(evaluation: &Bound<'_, Evaluation>) -> Made<Site> {
    Made(Site(evaluation.get().0.site.clone()))
}
