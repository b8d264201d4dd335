//! The mark-out of a site.

use super::budget::Budget;
use super::record::loaded;
use super::site::Site;
use super::user_class::{Made, taken};
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
pub(super) enum Given {
    Number(f64),
    Text(String),
}

impl Given {
    pub(super) fn temperature(self) -> Result<f64, Error> {
        match self {
            Given::Number(kelvin) => Ok(kelvin),
            Given::Text(text) => {
                Ok(units::quantity(&text, Dimension::Temperature, "temperature")?.si)
            }
        }
    }

    pub(super) fn temperature_uncertainty(self, temperature: f64) -> Result<f64, Error> {
        let (kind, field) = (Dimension::Temperature, "temperature_standard_uncertainty");
        match self {
            Given::Number(kelvin) => Ok(kelvin),
            Given::Text(text) => units::difference(&text, temperature, kind, field),
        }
    }

    pub(super) fn volume_flow(self) -> Result<f64, Error> {
        match self {
            Given::Number(cubic_metres_per_second) => Ok(cubic_metres_per_second),
            Given::Text(text) => Ok(units::quantity(&text, Dimension::VolumeFlow, "flow")?.si),
        }
    }

    pub(super) fn velocity(self) -> Result<f64, Error> {
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
) -> PyResult<Made<MarkOut>> {
    let temperature = temperature.map(Given::temperature).transpose()?;
    let at = temperature.unwrap_or(f64::NAN);
    let conditions = Conditions {
        temperature,
        temperature_standard_uncertainty: temperature_standard_uncertainty
            .temperature_uncertainty(at)?,
        velocity: velocity.velocity()?,
    };
    Ok(Made(MarkOut(site.0.mark_out(&conditions)?)))
}

/// A length in m in inches to the nearest part.
#[pyfunction]
fn inch_fraction(length: f64, parts: u32) -> String {
    core::inch_fraction(length, parts)
}

/// Where the sensors go on the pipe.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct MarkOut(core::MarkOut);

#[pymethods]
impl MarkOut {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.mark_out()`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.site
    }

    /// SHA-256 of the text of the site file.
    #[getter]
    fn site_digest(&self) -> &str {
        &self.0.site_digest
    }

    /// Name and version of what computed it.
    #[getter]
    fn software(&self) -> String {
        core::MarkOut::software()
    }

    /// Number of traverses.
    #[getter]
    fn traverses(&self) -> u32 {
        self.0.traverses
    }

    /// Whether the sensors sit on opposite sides; else both are on one line along the pipe.
    #[getter]
    fn direct(&self) -> bool {
        self.0.is_direct()
    }

    /// What determines the angle of the ray: ``"wedge"`` or ``"spacing"``.
    #[getter]
    fn angle_from(&self) -> &'static str {
        self.0.angle_from.in_words()
    }

    /// Axial spacing of the exit points, in m.
    #[getter]
    fn spacing_m(&self) -> f64 {
        self.0.spacing.estimate
    }

    /// Its standard uncertainty, in m.
    #[getter]
    fn spacing_standard_uncertainty_m(&self) -> f64 {
        self.0.spacing.standard_uncertainty
    }

    /// The spacing that the site file states as placed, in m; ``None`` where it states none.
    #[getter]
    fn placed_spacing_m(&self) -> Option<f64> {
        self.0.placed
    }

    /// Circumference on the outside of the pipe, over whatever coating the tape was on, in m.
    #[getter]
    fn circumference_m(&self) -> f64 {
        self.0.circumference.estimate
    }

    /// Its standard uncertainty, in m.
    #[getter]
    fn circumference_standard_uncertainty_m(&self) -> f64 {
        self.0.circumference.standard_uncertainty
    }

    /// Half the circumference, in m.
    #[getter]
    fn half_circumference_m(&self) -> f64 {
        self.0.half_circumference.estimate
    }

    /// Its standard uncertainty, in m.
    #[getter]
    fn half_circumference_standard_uncertainty_m(&self) -> f64 {
        self.0.half_circumference.standard_uncertainty
    }

    /// Distance round the pipe between the sensors in m: half the circumference of a direct path,
    /// zero of a reflected one.
    #[getter]
    fn offset_round_pipe_m(&self) -> f64 {
        self.0.offset_round_pipe()
    }

    /// Length of one sensor along the pipe in m, where the site file states it.
    #[getter]
    fn sensor_length_m(&self) -> Option<f64> {
        self.0.sensor_length
    }

    /// Room between two sensors on one side in m, exit points in their middle; negative where they
    /// overlap.
    #[getter]
    fn gap_m(&self) -> Option<f64> {
        self.0.gap()
    }

    /// Outside diameter in m, the mean of largest and smallest.
    #[getter]
    fn outside_diameter_m(&self) -> f64 {
        self.0.outside_diameter
    }

    /// Wall with all that lines it, in m.
    #[getter]
    fn wall_and_lining_m(&self) -> f64 {
        self.0.wall_and_lining
    }

    /// Inside diameter in m, that of the circle of the same area.
    #[getter]
    fn inside_diameter_m(&self) -> f64 {
        self.0.inside_diameter
    }

    /// Temperature of the liquid in K, unless its properties are stated.
    #[getter]
    fn liquid_temperature_k(&self) -> Option<f64> {
        self.0.liquid_temperature
    }

    /// Sound speed of the liquid, in m/s.
    #[getter]
    fn liquid_sound_speed_m_s(&self) -> f64 {
        self.0.liquid_sound_speed
    }

    /// Angle of the ray in the wall from its normal, in rad.
    #[getter]
    fn angle_in_wall_rad(&self) -> f64 {
        self.0.angles[0]
    }

    /// Angle of the ray in the liquid, in rad.
    #[getter]
    fn angle_in_liquid_rad(&self) -> f64 {
        self.0.angles[1]
    }

    /// Relative change of the flow in 1/m when the same readings come from sensors farther apart
    /// and the ray follows from the spacing; a tenth of it is in percent per millimetre.
    #[getter]
    fn axial_sensitivity_from_spacing_per_m(&self) -> Option<f64> {
        self.0.axial_sensitivity(AngleFrom::Spacing)
    }

    /// The same where the wedge determines the angle: zero in a wide beam, which loses signal and
    /// not flow. ``None`` where nothing is stated of the wedge.
    #[getter]
    fn axial_sensitivity_from_wedge_per_m(&self) -> Option<f64> {
        self.0.axial_sensitivity(AngleFrom::Wedge)
    }

    /// Whether two sensors on one side overlap; ``None`` where that cannot be told or not happen.
    #[getter]
    fn sensors_overlap(&self) -> Option<bool> {
        self.0.gap().map(|gap| gap < 0.0)
    }

    /// What common practice says of mounting them.
    #[getter]
    fn advice(&self) -> Vec<String> {
        self.0.advice.clone()
    }

    /// Code and words of what must be known before the sensors are mounted.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, &str)> {
        let warnings = self.0.warnings.iter();
        warnings.map(|w| (w.code, w.words.as_str())).collect()
    }

    /// The uncertainty budget of the axial spacing.
    #[getter]
    fn spacing_budget(&self) -> Made<Budget> {
        Made(Budget(self.0.spacing.clone()))
    }

    /// The uncertainty budget of the half circumference.
    #[getter]
    fn half_circumference_budget(&self) -> Made<Budget> {
        Made(Budget(self.0.half_circumference.clone()))
    }

    /// Every number for people: words, text in mm, text in inches (decimal and to 1/32).
    #[getter]
    fn lines(&self) -> Vec<(String, String, String)> {
        let lines = self.0.lines().into_iter();
        lines.map(|line| (line.words, line.si, line.inch)).collect()
    }

    /// The mark-out as text, in both systems of units.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    /// Return what a placement error costs: the relative change of the flow.
    ///
    /// Parameters
    /// ----------
    /// axial_m
    ///     How much farther apart the sensors sit than the evaluation takes, in m.
    /// round_pipe_m
    ///     How far one of them is too far round the outside of the pipe, in m.
    /// angle_from
    ///     ``"wedge"`` or ``"spacing"``; that of the site if not given.
    ///
    /// Returns
    /// -------
    /// float
    ///     Flow of the same readings with the sensors where they sit, over that with the sensors
    ///     where they belong, less one.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Sensors in the same place or beyond; more than a quarter of the circumference; a path
    ///     farther from the axis than 0.7 of the radius.
    /// InputError
    ///     An unknown `angle_from`, or ``"wedge"`` where nothing is stated of the wedge.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> mark_out = fd.Site.load("notebooks/demo/site.toml").mark_out(temperature="8 degC")
    /// >>> round(100 * mark_out.flow_change(axial_m=1e-3, angle_from="spacing"), 2)
    /// -0.2
    /// >>> mark_out.flow_change(axial_m=1e-3)  # the wedge of the site has a wide beam
    /// 0.0
    #[pyo3(signature = (*, axial_m = 0.0, round_pipe_m = 0.0, angle_from = None))]
    fn flow_change(
        &self,
        axial_m: f64,
        round_pipe_m: f64,
        angle_from: Option<&str>,
    ) -> PyResult<f64> {
        let angle_from = match angle_from {
            Some(name) => AngleFrom::from_name(name, "angle_from")?,
            None => self.0.angle_from,
        };
        Ok(self.0.flow_change(angle_from, axial_m, round_pipe_m)?)
    }

    /// Every number in SI units by name, as JSON has them.
    ///
    /// Returns
    /// -------
    /// dict
    ///     Numbers, texts and lists.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> mark_out = site.mark_out(temperature="8 degC")
    /// >>> list(mark_out.to_dict())[:2]
    /// ['software', 'site']
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_json())
    }

    fn __repr__(&self) -> String {
        format!("<MarkOut of {:?}: {}>", self.0.site, self.0.in_one_line())
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}
