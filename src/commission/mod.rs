//! Commissioning: the steps on site from the clean surface to zero and sound-speed check, with the
//! numbers of this site, what each should show, and what was found.
//!
//! Nothing here is a second model. What a step should show, and within which limits, comes from the
//! inputs of the site by propagation through its measurement model; where no number can be had that
//! way, a step is a box to tick.
//!
//! ```text
//! limits = expected -+ t_p(nu_eff) sqrt(u^2(expected) + u^2(reading))
//! ```
//! with `p` the coverage probability of the site (JCGM 100:2008, G.4 and G.6). A right meter on the
//! pipe that the site file describes lies outside of one of them in `1 - p` of all cases.
//!
//! # Example
//! ```
//! use flowdoubt::commission::CommissioningRequest;
//! use flowdoubt::site::Site;
//!
//! let site = Site::load("notebooks/demo/site.toml")?;
//! let request = CommissioningRequest { temperature: Some(281.4), ..Default::default() };
//! let list = site.commissioning(&request)?;
//! let speed = list.entry("times.sound_speed").expect("a sound path and water");
//! let [low, high] = speed.limits.expect("an uncertainty");
//! assert!(low < 1441.0 && 1441.0 < high); // water of 8.25 degC
//! // the form that is filled in on site
//! let form = list.form().replace("no_flow = false", "no_flow = true");
//! let found = site.commissioned(&form, "form.toml")?;
//! assert!(!found.is_as_it_should_be()); // nothing was done yet
//! # Ok::<(), flowdoubt::Error>(())
//! ```

mod commission_text;
mod entry;
mod evidence;
mod expected_readings;
mod form;
mod found;
mod found_text;
mod read_form;
mod steps;

pub use entry::{Entry, Question, Step};
pub use evidence::TakenOver;
pub use found::{Commissioned, EntryFound, Outcome, StepFound};

use crate::digest::sha256;
use crate::error::{Error, Result};
use crate::evaluate::Warning;
use crate::site::Site;
use crate::units::Unit;
use steps::Steps;

/// For what state of operation the list is made.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct CommissioningRequest {
    /// Temperature of the liquid in K, where the site file leaves it to the readings.
    pub temperature: Option<f64>,
    /// The standard uncertainty with which that temperature is foreseen, in K, besides that of the
    /// thermometer in the site file. Once the temperature has been noted on site, it counts instead.
    pub temperature_standard_uncertainty: f64,
    /// Volume flow that is foreseen, in m3/s, above 0; for the time difference to come, and for the
    /// scatter of readings where the sensors are placed anew.
    pub flow: Option<f64>,
}

/// The steps of commissioning with the numbers of a site.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Commissioning {
    /// The name of the site.
    pub site: String,
    /// SHA-256 of the text of the site file, in hexadecimal digits.
    pub site_digest: String,
    /// The coverage probability of all limits.
    pub coverage_probability: f64,
    /// The state of operation.
    pub request: CommissioningRequest,
    /// The unit in which the site shows its flow.
    pub flow_unit: Unit,
    /// The steps, in their order.
    pub steps: Vec<Step>,
    /// What must be known before the sensors are mounted.
    pub warnings: Vec<Warning>,
}

impl Site {
    /// The steps of commissioning with the numbers of this site.
    ///
    /// # Errors
    /// A temperature that is missing, stated already or of no effect; a flow that is not above 0 or
    /// at which the site cannot measure; what [`Site::mark_out`] refuses, but for what a meter needs
    /// not that indicates flow or velocity.
    pub fn commissioning(&self, request: &CommissioningRequest) -> Result<Commissioning> {
        let (field, u) = (
            "temperature_standard_uncertainty",
            request.temperature_standard_uncertainty,
        );
        Error::range(u >= 0.0 && u.is_finite(), field, u, "K", "0 or above")?;
        let (steps, warnings) = Steps::of(self, request)?;
        Ok(Commissioning {
            site: self.name.clone(),
            site_digest: sha256(self.text().as_bytes()),
            coverage_probability: self.coverage_probability,
            request: *request,
            flow_unit: self.flow_unit.clone(),
            steps,
            warnings,
        })
    }
}

impl Commissioning {
    /// A step by its key.
    pub fn step(&self, key: &str) -> Option<&Step> {
        self.steps.iter().find(|step| step.key == key)
    }

    /// What is to be noted, by its path in the form, such as `zero.time_difference`.
    pub fn entry(&self, path: &str) -> Option<&Entry> {
        let (step, key) = path.split_once('.')?;
        let step = self.step(step)?;
        step.entries.iter().find(|entry| entry.key == key)
    }
}
