//! Checks on site and reconciliation.

use super::budget::Budget;
use super::told;
use super::user_class::Made;
use crate::evaluate as core;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};

/// The measured sound speed of the liquid against the expected one.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct SoundSpeedCheck(pub(super) core::SoundSpeedCheck);

#[pymethods]
impl SoundSpeedCheck {
    /// The unit of all sound speeds.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.difference.output.unit.symbol
    }

    /// The sound speed from the transit time, in `unit`.
    #[getter]
    fn measured(&self) -> f64 {
        self.0.measured
    }

    /// The sound speed from the state of the liquid, in `unit`.
    #[getter]
    fn expected(&self) -> f64 {
        self.0.expected
    }

    /// Measured less expected, in `unit`.
    #[getter]
    fn difference(&self) -> f64 {
        self.0.difference.estimate
    }

    /// The standard uncertainty of the difference, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.difference.standard_uncertainty
    }

    /// The difference in standard uncertainties.
    #[getter]
    fn standardised(&self) -> f64 {
        self.0.standardised()
    }

    /// Whether the difference is within twice its standard uncertainty.
    #[getter]
    fn agrees(&self) -> bool {
        self.0.agrees()
    }

    /// The budget of the difference.
    #[getter]
    fn budget(&self) -> Made<Budget> {
        Made(Budget(self.0.difference.clone()))
    }

    /// Causes, the most plausible first, as dictionaries.
    #[getter]
    fn causes<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let cause = |cause: &core::Cause| {
            let found = PyDict::new(py);
            found.set_item("quantity", &cause.quantity)?;
            found.set_item("words", cause.words)?;
            found.set_item("shift", cause.shift)?;
            found.set_item("unit", &cause.unit)?;
            found.set_item("standard_uncertainties", cause.standard_uncertainties)?;
            Ok(found)
        };
        self.0.causes.iter().map(cause).collect()
    }

    fn _told<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        told::message(py, &self.0.told())
    }

    fn _causes_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyTuple>>> {
        told::messages(py, &self.0.causes_told())
    }

    fn __repr__(&self) -> String {
        self.0.in_one_line()
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}

/// The zero at no flow against the stated one.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct ZeroCheck(pub(super) core::ZeroCheck);

#[pymethods]
impl ZeroCheck {
    /// The unit of found and stated zero.
    #[getter]
    fn unit(&self) -> String {
        self.0.unit().symbol.into_owned()
    }

    /// The zero from readings at no flow, in `unit`.
    #[getter]
    fn found(&self) -> f64 {
        self.0.unit().from_si(self.0.found)
    }

    /// Its standard uncertainty, in `unit`.
    #[getter]
    fn found_uncertainty(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.found_uncertainty)
    }

    /// The zero of the site file, in `unit`.
    #[getter]
    fn stated(&self) -> f64 {
        self.0.unit().from_si(self.0.stated)
    }

    /// Its standard uncertainty, in `unit`.
    #[getter]
    fn stated_uncertainty(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.stated_uncertainty)
    }

    /// Found less stated, in standard uncertainties.
    #[getter]
    fn standardised(&self) -> f64 {
        self.0.standardised()
    }

    /// Whether found and stated zero agree within the uncertainty of both.
    #[getter]
    fn agrees(&self) -> bool {
        self.0.agrees()
    }

    /// How many independent readings those at no flow are worth.
    #[getter]
    fn effective_readings(&self) -> f64 {
        self.0.effective_readings
    }

    /// Standard uncertainties of the difference within which the zero agrees.
    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    /// The unit of the flow.
    #[getter]
    fn flow_unit(&self) -> &str {
        &self.0.flow_unit.symbol
    }

    /// What the difference would do to the flow.
    #[getter]
    fn flow(&self) -> f64 {
        self.0.flow_unit.difference_from_si(self.0.flow)
    }

    fn _told<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        told::message(py, &self.0.told())
    }

    fn __repr__(&self) -> String {
        self.0.in_words()
    }
}

/// The zero from runs with interchanged sensors.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct InterchangedZero(pub(super) core::InterchangedZero);

#[pymethods]
impl InterchangedZero {
    /// Whether the zero is one of velocity and not of time difference.
    #[getter]
    fn is_velocity(&self) -> bool {
        self.0.is_velocity
    }

    /// The unit of all figures but the degrees of freedom.
    #[getter]
    fn unit(&self) -> String {
        self.0.unit().symbol.into_owned()
    }

    /// The zero, in `unit`.
    #[getter]
    fn zero(&self) -> f64 {
        self.0.unit().from_si(self.0.zero)
    }

    /// The standard uncertainty of the zero, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        let u = self.0.standard_uncertainty;
        self.0.unit().difference_from_si(u)
    }

    /// Degrees of freedom of the zero; `inf` where they are not limited.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    /// What the flow alone would read, in `unit`.
    #[getter]
    fn reading_of_flow(&self) -> f64 {
        self.0.unit().from_si(self.0.reading_of_flow)
    }

    /// Change of the flow between the first and the last run, as a reading, in `unit`.
    #[getter]
    fn change(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.change)
    }

    /// The standard uncertainty of the change, in `unit`.
    #[getter]
    fn change_uncertainty(&self) -> f64 {
        self.0.unit().difference_from_si(self.0.change_uncertainty)
    }

    /// Whether the flow was the same before and after, within its uncertainty.
    #[getter]
    fn steady(&self) -> bool {
        self.0.steady()
    }

    fn __repr__(&self) -> String {
        self.0.in_words()
    }
}
