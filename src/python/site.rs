//! The site and its readings.

use super::checks::InterchangedZero;
use super::evaluation::Evaluation;
use super::pickled::{Rebuilt, rebuilt};
use super::user_class::{Made, made_as, taken};
use super::verification::VerificationResult;
use super::watched::watched;
use crate::evaluate::Readings;
use crate::model::{Basis, PathLayout};
use crate::site as core;
use numpy::{PyArray2, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyType};
use std::path::PathBuf;

/// A site as described by its file.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Site(pub(super) core::Site);

#[pymethods]
impl Site {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(
            value,
            "Site.load(path) for a file, Site.from_toml(text) for the text of one",
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
    #[classmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml<'py>(
        class: &Bound<'py, PyType>,
        text: &str,
        file: PathBuf,
    ) -> PyResult<Bound<'py, PyAny>> {
        made_as(class, Site(core::Site::from_toml(text, file)?))
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

    /// The site with the result of a verification as its in-situ calibration.
    fn _calibrated_by(&self, found: &VerificationResult) -> PyResult<Made<Site>> {
        Ok(Made(Site(self.0.calibrated_by(&found.0)?)))
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

    /// Evaluates readings: the path of a CSV file, or columns by name.
    fn _evaluate(&self, py: Python<'_>, readings: &Bound<'_, PyAny>) -> PyResult<Made<Evaluation>> {
        let readings = readings_of(readings)?;
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
        let runs = [before, interchanged, after].map(readings_of);
        let [before, interchanged, after] = runs;
        let (before, interchanged, after) = (before?, interchanged?, after?);
        let found = self
            .0
            .zero_from_interchange(&before, &interchanged, &after)?;
        Ok(InterchangedZero(found))
    }

    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> PyResult<Rebuilt<'py>> {
        let site = &slf.get().0;
        rebuilt(slf, (site.file_name(), site.text()))
    }

    fn __repr__(&self) -> String {
        format!("<Site {:?}>", self.0.name)
    }
}

/// A layout as a dictionary in SI units.
pub(super) fn layout_entry<'py>(
    py: Python<'py>,
    layout: &PathLayout,
) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    found.set_item("traverses", layout.traverses)?;
    found.set_item("is_direct", layout.is_direct())?;
    found.set_item("outside_diameter_m", layout.outside_diameter)?;
    found.set_item("half_circumference_m", layout.half_circumference)?;
    found.set_item("inside_diameter_m", layout.inside_diameter)?;
    found.set_item("chord_offset_m", layout.chord_offset)?;
    found.set_item("liquid_sound_speed_m_s", layout.liquid_sound_speed)?;
    found.set_item("liquid_angle_rad", layout.liquid_angle)?;
    found.set_item("wedge_angle_rad", layout.wedge_angle)?;
    found.set_item("spacing_m", layout.spacing)?;
    let layers = layout.layers.iter().map(|layer| {
        let found = PyDict::new(py);
        found.set_item("name", &layer.name)?;
        found.set_item("thickness_m", layer.thickness)?;
        found.set_item("sound_speed_m_s", layer.sound_speed)?;
        found.set_item("angle_rad", layer.angle)?;
        Ok(found)
    });
    found.set_item("layers", layers.collect::<PyResult<Vec<_>>>()?)?;
    let ray: Vec<Vec<f64>> = layout.ray.iter().map(|corner| corner.to_vec()).collect();
    found.set_item("ray_m", PyArray2::from_vec2(py, &ray)?)?;
    Ok(found)
}

/// Readings from the path of a CSV file, or columns by name as the package hands them over.
pub(super) fn readings_of(readings: &Bound<'_, PyAny>) -> PyResult<Readings> {
    // a dictionary is no path, and asking whether it is one raises and forgets an exception
    if !readings.is_instance_of::<PyDict>()
        && let Ok(path) = readings.extract::<PathBuf>()
    {
        return Ok(readings.py().detach(|| Readings::from_csv(path))?);
    }
    let columns = columns_of(readings.cast::<PyDict>()?)?;
    let columns = columns.iter();
    let columns = columns.map(|(name, v)| (name.as_str(), v.as_slice().unwrap_or_default()));
    Ok(Readings::from_columns(columns)?)
}

/// Columns by name, in the memory of Python.
pub(super) fn columns_of<'py>(
    columns: &Bound<'py, PyDict>,
) -> PyResult<Vec<(String, PyReadonlyArray1<'py, f64>)>> {
    let read = |(name, values): (Bound<'py, PyAny>, Bound<'py, PyAny>)| {
        Ok((
            name.extract()?,
            values.extract::<PyReadonlyArray1<'py, f64>>()?,
        ))
    };
    columns.iter().map(read).collect()
}
