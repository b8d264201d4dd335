//! The site and its readings.

use super::checks::InterchangedZero;
use super::evaluation::Evaluation;
use super::tally::{Rebuilt, rebuilt};
use super::verification::VerificationResult;
use super::watched::watched;
use crate::evaluate::Readings;
use crate::model::{Basis, PathLayout};
use crate::site as core;
use numpy::{PyArray2, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

/// A site as described by its file.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Site(pub(super) core::Site);

#[pymethods]
impl Site {
    /// The text of a site file to begin with.
    #[classattr]
    #[pyo3(name = "STARTER")]
    fn starter() -> String {
        core::Site::starter()
    }

    /// The text of a site file to begin with for a basis and a liquid.
    #[staticmethod]
    #[pyo3(signature = (basis = "timed", liquid = "water"))]
    fn starter_for(basis: &str, liquid: &str) -> PyResult<String> {
        let basis = Basis::from_name(basis, "basis")?;
        Ok(core::Site::starter_for(basis, liquid)?)
    }

    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf) -> PyResult<Site> {
        Ok(Site(py.detach(|| core::Site::load(path))?))
    }

    #[staticmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml(text: &str, file: PathBuf) -> PyResult<Site> {
        Ok(Site(core::Site::from_toml(text, file)?))
    }

    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

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
    fn calibrated_by(&self, found: &VerificationResult) -> PyResult<Site> {
        Ok(Site(self.0.calibrated_by(&found.0)?))
    }

    /// The choices of the site, as pairs of a heading and words.
    #[getter]
    fn choices(&self) -> Vec<(&'static str, String)> {
        self.0.choices_in_words()
    }

    /// What is stated of each input, rounded, as dictionaries.
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

    /// The sound path in its own plane as far as the site file alone tells it; `None` where it
    /// takes readings or is not known.
    #[getter]
    fn path_layout<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let layout = self.0.path_layout();
        layout.map(|layout| layout_entry(py, &layout)).transpose()
    }

    /// Evaluates readings: the path of a CSV file, or columns by name.
    fn evaluate(&self, py: Python<'_>, readings: &Bound<'_, PyAny>) -> PyResult<Evaluation> {
        let readings = readings_of(readings)?;
        let found = watched(py, None, |watch| self.0.evaluate_watched(&readings, watch))?;
        Ok(Evaluation(found))
    }

    /// The zero from runs before, with and after interchanged sensors.
    fn zero_from_interchange(
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

    fn __reduce__<'py>(&self, py: Python<'py>) -> PyResult<Rebuilt<'py>> {
        let named = (self.0.file_name(), self.0.text());
        rebuilt(py, "site", named.into_pyobject(py)?.into_any())
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

/// Readings from the path of a CSV file, or from what the package can read columns from.
pub(super) fn readings_of(readings: &Bound<'_, PyAny>) -> PyResult<Readings> {
    // a dictionary is no path, and asking whether it is one raises and forgets an exception
    if !readings.is_instance_of::<PyDict>()
        && let Ok(path) = readings.extract::<PathBuf>()
    {
        return Ok(readings.py().detach(|| Readings::from_csv(path))?);
    }
    let module = readings.py().import("flowdoubt._site")?;
    let columns = module.call_method1("columns_of", (readings,))?;
    let columns = columns_of(columns.cast::<PyDict>()?)?;
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
