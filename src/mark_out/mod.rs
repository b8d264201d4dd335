//! Mark-out: where the sensors go on the pipe, and what it costs to miss the place.
//!
//! No readings are needed: the sound path follows from the survey of the pipe, the sensors and the
//! state of the liquid. All of it comes from the measurement model of the site.
//!
//! # Example
//! ```
//! use flowdoubt::mark_out::Conditions;
//! use flowdoubt::model::AngleFrom;
//! use flowdoubt::site::Site;
//!
//! let site = Site::load("notebooks/demo/site.toml")?;
//! // the site file leaves the temperature of the liquid to the readings
//! let conditions = Conditions { temperature: Some(281.4), ..Conditions::default() };
//! let mark_out = site.mark_out(&conditions)?;
//! assert!((mark_out.spacing.estimate - 0.3449).abs() < 1e-4);
//! assert!(!mark_out.is_direct()); // both sensors on one line along the pipe
//! assert_eq!(mark_out.offset_round_pipe(), 0.0);
//! assert!((2.0 * mark_out.half_circumference.estimate - 1.2768).abs() < 1e-9);
//! // what 1 mm along the pipe costs where the ray follows the spacing
//! let per_mm = 1e-3 * mark_out.axial_sensitivity(AngleFrom::Spacing).unwrap_or(f64::NAN);
//! assert!(per_mm.abs() < 0.01);
//! print!("{}", mark_out.in_words());
//! # Ok::<(), flowdoubt::Error>(())
//! ```

mod inch_tape;
mod mark_out_text;
mod marked_lengths;

pub use inch_tape::inch_fraction;
pub use mark_out_text::Line;

use crate::acoustics::offset_of_misplacement;
use crate::digest::sha256;
use crate::error::{Error, Result};
use crate::evaluate::{BeforeReadings, Evaluation, Warning};
use crate::model::{AngleFrom, Quantity};
use crate::profile::MOST_OFFSET;
use crate::site::Site;
use crate::uncertainty::{Budget, propagate};
use marked_lengths::Marks;

/// The state of operation for which the sensors are placed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Conditions {
    /// Temperature of the liquid in K, where the site file leaves it to the readings.
    pub temperature: Option<f64>,
    /// Its standard uncertainty in K, besides that of the thermometer in the site file.
    pub temperature_standard_uncertainty: f64,
    /// Mean velocity on the path in m/s at which the cost of a placement error is computed. It
    /// matters little: through the profile factor alone.
    pub velocity: f64,
}

impl Default for Conditions {
    fn default() -> Conditions {
        Conditions {
            temperature: None,
            temperature_standard_uncertainty: 0.0,
            velocity: 1.0,
        }
    }
}

/// Where the sensors go on the pipe. All numbers are in SI units.
#[derive(Debug, Clone)]
pub struct MarkOut {
    /// The name of the site.
    pub site: String,
    /// SHA-256 of the text of the site file, in hexadecimal digits.
    pub site_digest: String,
    /// Axial spacing of the exit points of the sensors.
    pub spacing: Budget,
    /// Circumference on the outside of the pipe, over whatever coating the tape was on.
    pub circumference: Budget,
    /// Half of it.
    pub half_circumference: Budget,
    /// Spacing from the wedge less the spacing as placed, where the site file states both.
    pub wedge_less_placed: Option<Budget>,
    /// The spacing as placed, in m, where the site file states it.
    pub placed: Option<f64>,
    /// Number of traverses.
    pub traverses: u32,
    /// What determines the angle of the ray.
    pub angle_from: AngleFrom,
    /// Length in m of one sensor along the pipe, where the site file states it.
    pub sensor_length: Option<f64>,
    /// Temperature of the liquid in K, unless its properties are stated.
    pub liquid_temperature: Option<f64>,
    /// Sound speed of the liquid, in m/s.
    pub liquid_sound_speed: f64,
    /// Outside diameter under the sensors, over layers that stay there, in m: the mean of largest and
    /// smallest.
    pub outside_diameter: f64,
    /// Inside diameter, in m: that of the circle of the same area.
    pub inside_diameter: f64,
    /// Wall with all that lines it, in m.
    pub wall_and_lining: f64,
    /// Angles of the ray from the normal in wall and liquid, in rad.
    pub angles: [f64; 2],
    /// What must be known before the sensors are mounted.
    pub warnings: Vec<Warning>,
    /// What common practice says of mounting them, one sentence each.
    pub advice: Vec<String>,
    /// The evaluation of the readings expected, for the cost of a placement error.
    expected: Evaluation,
}

impl Site {
    /// Where the sensors go on the pipe.
    ///
    /// # Errors
    /// [`Error::Missing`] for what the sound path rests on and the site does not state, or for the
    /// temperature of the liquid where neither site file nor conditions have it; a temperature that
    /// both have; no sound path; a pipe without bore; a liquid outside its formulation; a velocity
    /// for which the profile laws do not hold.
    pub fn mark_out(&self, conditions: &Conditions) -> Result<MarkOut> {
        let u = conditions.temperature_standard_uncertainty;
        let velocity = conditions.velocity;
        let moving = velocity > 0.0 && velocity <= MOST_VELOCITY;
        let allowed = format!("above 0 to {MOST_VELOCITY} m/s");
        Error::range(moving, "velocity", velocity, "m/s", allowed)?;
        let before = self.before_readings(conditions.temperature.map(|kelvin| (kelvin, u)))?;
        let expected = before.at_velocity(velocity)?;
        let [spacing, circumference, half_circumference, difference] = budgets(&before)?;
        let (steps, model) = (&before.steps, &before.model);
        let both = model.has(Quantity::Spacing) && has_wedge(&before);
        Ok(MarkOut {
            site: self.name.clone(),
            site_digest: sha256(self.text().as_bytes()),
            spacing,
            circumference,
            half_circumference,
            wedge_less_placed: both.then_some(difference),
            placed: expected.estimate_of(Quantity::Spacing),
            traverses: model.choices().traverses,
            angle_from: model.choices().angle_from,
            sensor_length: self.sensor_length,
            liquid_temperature: expected.estimate_of(Quantity::Temperature),
            liquid_sound_speed: steps.liquid_sound_speed,
            outside_diameter: steps.surface_diameter,
            inside_diameter: steps.inside_diameter,
            wall_and_lining: 0.5 * (steps.outside_diameter - steps.inside_diameter),
            angles: steps.angles(),
            warnings: Vec::new(),
            advice: expected.mounting_advice(),
            expected,
        }
        .with_warnings())
    }
}

/// Fastest flow in m/s for which anybody mounts sensors: our choice.
const MOST_VELOCITY: f64 = 30.0;

fn has_wedge(before: &BeforeReadings) -> bool {
    let has = |q: Quantity| before.model.has(q);
    has(Quantity::WedgeAngle) && has(Quantity::WedgeSoundSpeed)
}

/// Budgets of what [`Marks`] computes, without the lines of inputs that have no part in them.
fn budgets(before: &BeforeReadings) -> Result<[Budget; 4]> {
    let marks = Marks {
        model: &before.model,
        differs: before.model.has(Quantity::Spacing) && has_wedge(before),
    };
    let mut found = propagate(&marks, &before.inputs)?.into_iter();
    let mut next = || {
        let mut budget = found.next().ok_or_else(|| Error::Length {
            field: "mark-out".to_owned(),
            found: 0,
            allowed: "a budget for each output".to_owned(),
        })?;
        budget.lines.retain(|line| line.sensitivity != 0.0);
        Ok::<_, Error>(budget)
    };
    Ok([next()?, next()?, next()?, next()?])
}

impl MarkOut {
    /// Whether the sensors sit on opposite sides of the pipe: a direct path, an odd number of
    /// traverses. Else both are on one line along it: a reflected path.
    pub fn is_direct(&self) -> bool {
        !self.traverses.is_multiple_of(2)
    }

    /// Distance round the outside from one sensor to the other in m: half the circumference of a
    /// direct path, zero of a reflected one.
    pub fn offset_round_pipe(&self) -> f64 {
        if self.is_direct() {
            self.half_circumference.estimate
        } else {
            0.0
        }
    }

    /// Room in m between two sensors on the same side, if they sit with their exit points in their
    /// middle; negative where they overlap. `None` on opposite sides, or where the length of a
    /// sensor is not known.
    pub fn gap(&self) -> Option<f64> {
        let length = self.sensor_length.filter(|_| !self.is_direct())?;
        Some(self.spacing.estimate - length)
    }

    /// Relative change of the flow with the spacing in 1/m, when the same readings come from
    /// sensors farther apart than the evaluation takes. From the wedge it is zero: a wide beam
    /// keeps its angle wherever the sensors sit in it, and signal is lost, not flow. `None` where
    /// nothing is stated of the wedge.
    pub fn axial_sensitivity(&self, angle_from: AngleFrom) -> Option<f64> {
        let model = self.expected.model.clone().with_angle_from(angle_from);
        let start = if self.placed.is_some() {
            0.0
        } else {
            self.spacing.estimate
        };
        let moved = self
            .expected
            .flow_with_term(model, Quantity::Spacing, start);
        let relative = moved.gradient[0] / moved.value;
        relative.is_finite().then_some(relative)
    }

    /// Relative change of the flow that the same readings mean when the sensors sit `axial` in m
    /// farther apart, or one of them `round_pipe` in m too far round the outside, than the
    /// evaluation takes. Finite changes, since a placement error round the pipe has no effect in
    /// first order.
    ///
    /// # Errors
    /// Sensors in the same place or beyond; a path farther from the axis than 0.7 of the radius;
    /// nothing stated of the wedge, where the angle is to come from it.
    pub fn flow_change(&self, angle_from: AngleFrom, axial: f64, round_pipe: f64) -> Result<f64> {
        let spacing = self.spacing.estimate;
        let apart = axial > -spacing && axial.is_finite();
        let allowed = format!("above {:.4} m, the negative spacing", -spacing);
        Error::range(apart, "axial", axial, "m", allowed)?;
        let steps = &self.expected.steps;
        let offset = offset_of_misplacement(
            round_pipe,
            steps.surface_diameter,
            steps.inside_diameter,
            self.traverses,
        );
        let most = 0.5 * MOST_OFFSET * steps.inside_diameter;
        let quarter = 0.25 * self.circumference.estimate;
        let near = (steps.chord_offset + offset).abs() <= most;
        let within = near && round_pipe.abs() <= quarter;
        let allowed = format!(
            "{quarter:.4} m at most, a quarter of the circumference, and a path within {most:.4} m \
             of the axis, 0.7 of the radius"
        );
        Error::range(within, "round_pipe", round_pipe, "m", allowed)?;

        let model = self.expected.model.clone().with_angle_from(angle_from);
        let start = if self.placed.is_some() { 0.0 } else { spacing };
        let estimates = self.expected.inputs.estimates();
        let mut terms = model.terms().to_vec();
        terms.extend([Quantity::Spacing, Quantity::Misplacement]);
        let model = model.with_terms(terms, self.expected.site.flow_unit.clone());
        let flow = |axial: f64, round_pipe: f64| {
            let fixed = estimates.iter().copied();
            let x: Vec<f64> = fixed.chain([start + axial, round_pipe]).collect();
            model.steps(&x).volume_flow
        };
        // both on the chord, so that no rounding is taken for an effect
        let change = flow(axial, round_pipe) / flow(0.0, 0.0) - 1.0;
        if change.is_finite() {
            return Ok(change);
        }
        Err(Error::Missing {
            field: "path.wedge_angle".to_owned(),
            needed: "angle and sound speed of the wedge, for the angle of the ray from it"
                .to_owned(),
        })
    }

    fn with_warnings(mut self) -> MarkOut {
        self.warnings = self.expected.mounting_warnings();
        let differs = self.wedge_less_placed.as_ref();
        if let Some(difference) = differs
            && difference.estimate.abs() > 2.0 * difference.standard_uncertainty
        {
            let words = format!(
                "the wedge asks for a spacing {:.1} mm {} than that stated as placed, more than \
                 twice the standard uncertainty of {:.1} mm: check spacing, wall, liquid and wedge",
                1e3 * difference.estimate.abs(),
                if difference.estimate > 0.0 {
                    "larger"
                } else {
                    "smaller"
                },
                1e3 * difference.standard_uncertainty
            );
            self.warnings.push(Warning::new("spacings-differ", words));
        }
        self
    }
}
