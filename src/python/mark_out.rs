//! The mark-out of a site.

use super::budget::Budget;
use super::record::loaded;
use super::site::Site;
use crate::error::Error;
use crate::mark_out::{self as core, Conditions};
use crate::model::AngleFrom;
use crate::units::{self, Dimension};
use pyo3::prelude::*;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(mark_out, module)?)?;
    module.add_function(wrap_pyfunction!(inch_fraction, module)?)?;
    module.add_class::<MarkOut>()
}

/// A number in SI units, or text with a unit.
#[derive(FromPyObject)]
enum Given {
    Number(f64),
    Text(String),
}

impl Given {
    fn temperature(self) -> Result<f64, Error> {
        match self {
            Given::Number(kelvin) => Ok(kelvin),
            Given::Text(text) => {
                Ok(units::quantity(&text, Dimension::Temperature, "temperature")?.si)
            }
        }
    }

    fn temperature_uncertainty(self, temperature: f64) -> Result<f64, Error> {
        let (kind, field) = (Dimension::Temperature, "temperature_standard_uncertainty");
        match self {
            Given::Number(kelvin) => Ok(kelvin),
            Given::Text(text) => units::difference(&text, temperature, kind, field),
        }
    }

    fn velocity(self) -> Result<f64, Error> {
        match self {
            Given::Number(metres_per_second) => Ok(metres_per_second),
            Given::Text(text) => Ok(units::quantity(&text, Dimension::Velocity, "velocity")?.si),
        }
    }
}

/// Where the sensors of a site go.
#[pyfunction]
fn mark_out(
    site: &Site,
    temperature: Option<Given>,
    temperature_standard_uncertainty: Given,
    velocity: Given,
) -> PyResult<MarkOut> {
    let temperature = temperature.map(Given::temperature).transpose()?;
    let at = temperature.unwrap_or(f64::NAN);
    let conditions = Conditions {
        temperature,
        temperature_standard_uncertainty: temperature_standard_uncertainty
            .temperature_uncertainty(at)?,
        velocity: velocity.velocity()?,
    };
    Ok(MarkOut(site.0.mark_out(&conditions)?))
}

/// A length in m in inches to the nearest part.
#[pyfunction]
fn inch_fraction(length: f64, parts: u32) -> String {
    core::inch_fraction(length, parts)
}

/// Where the sensors go on the pipe.
#[pyclass(frozen, module = "flowdoubt._flowdoubt")]
pub(super) struct MarkOut(core::MarkOut);

#[pymethods]
impl MarkOut {
    #[getter]
    fn spacing_budget(&self) -> Budget {
        Budget(self.0.spacing.clone())
    }

    #[getter]
    fn half_circumference_budget(&self) -> Budget {
        Budget(self.0.half_circumference.clone())
    }

    /// Words, SI text and inch text of every number.
    #[getter]
    fn lines(&self) -> Vec<(String, String, String)> {
        let lines = self.0.lines().into_iter();
        lines.map(|line| (line.words, line.si, line.inch)).collect()
    }

    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    fn flow_change(&self, angle_from: Option<&str>, axial: f64, round_pipe: f64) -> PyResult<f64> {
        let angle_from = match angle_from {
            Some(name) => AngleFrom::from_name(name, "angle_from")?,
            None => self.0.angle_from,
        };
        Ok(self.0.flow_change(angle_from, axial, round_pipe)?)
    }

    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_json().to_string())
    }
}
