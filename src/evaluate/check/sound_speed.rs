//! The measured sound speed of the liquid against the one expected from its state.

use super::standardised;
use crate::acoustics::{sound_speed_at_slowness, sound_speed_at_spacing};
use crate::error::{Error, Result};
use crate::evaluate::Evaluation;
use crate::evaluate::quantities::standard_uncertainty_of;
use crate::model::{AngleFrom, Basis, Quantity, SiteModel};
use crate::scalar::Scalar;
use crate::uncertainty::{Budget, InputSet, MeasurementModel, Output, propagate};
use crate::units::{Dimension, Unit};
use serde::Serialize;

/// The model whose outputs are the measured sound speed less the expected one, then these two.
pub(in crate::evaluate) struct SoundSpeeds<'a>(pub(in crate::evaluate) &'a SiteModel);

impl MeasurementModel for SoundSpeeds<'_> {
    type Outputs<S: Scalar> = [S; 3];

    fn outputs(&self) -> Vec<Output> {
        [
            "sound speed, measured less expected",
            "measured sound speed",
            "expected sound speed",
        ]
        .map(|name| Output {
            name: name.to_owned(),
            unit: Dimension::Velocity.si_unit(),
        })
        .to_vec()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 3]> {
        let steps = self.0.steps(x);
        let choices = self.0.choices();
        let across = steps.chord * f64::from(choices.traverses);
        let expected = steps.liquid_sound_speed;
        let measured = match choices.angle_from {
            AngleFrom::Wedge => sound_speed_at_slowness(steps.time_in_liquid, &steps.path, across),
            AngleFrom::Spacing => sound_speed_at_spacing(steps.time_in_liquid, &steps.path, across),
        };
        Ok([measured - expected, measured, expected])
    }
}

/// A quantity that may be the reason why the sound speeds differ.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[non_exhaustive]
pub struct Cause {
    /// The quantity, by its path in the site file or the name of its reading.
    pub quantity: String,
    /// What it is, in words.
    pub words: &'static str,
    /// By how much it alone would have to be different for the sound speeds to agree, in the unit.
    pub shift: f64,
    /// The unit of the shift.
    pub unit: String,
    /// The shift in standard uncertainties; infinite for a quantity that is taken as exact.
    pub standard_uncertainties: f64,
}

/// The measured sound speed against the expected one.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct SoundSpeedCheck {
    /// Sound speed from the transit time, in m/s.
    pub measured: f64,
    /// Sound speed from the state of the liquid, in m/s.
    pub expected: f64,
    /// Measured less expected, in m/s, with its budget: both share inputs, so that their
    /// uncertainties do not simply add.
    pub difference: Budget,
    /// What may be the reason, the most plausible first: that which would have to be off by the
    /// fewest standard uncertainties.
    pub causes: Vec<Cause>,
}

impl SoundSpeedCheck {
    /// The difference in standard uncertainties.
    pub fn standardised(&self) -> f64 {
        let difference = &self.difference;
        standardised(difference.estimate, difference.standard_uncertainty)
    }

    /// Whether the difference is within twice its standard uncertainty.
    pub fn agrees(&self) -> bool {
        self.standardised().abs() <= 2.0
    }
}

impl Evaluation {
    /// Compares the measured sound speed with the expected one.
    ///
    /// # Errors
    /// [`Error::Missing`] on the indicated basis, which leaves the sound path unknown, and where
    /// the readings have no transit time; [`Error::OutOfRange`] for a transit time in which no sound
    /// crosses the liquid at the angle of the wedge.
    pub fn sound_speed_check(&self) -> Result<SoundSpeedCheck> {
        let (model, inputs) = self.with_transit_time()?;
        check_time(&model, &inputs)?;
        let mut budgets = propagate(&SoundSpeeds(&model), &inputs)?.into_iter();
        let Some(difference) = budgets.next() else {
            return Err(no_transit_time()); // not reached: the model has three outputs
        };
        let values: Vec<f64> = budgets.map(|budget| budget.estimate).collect();
        let causes = causes(&model, &inputs, &difference);
        Ok(SoundSpeedCheck {
            measured: values[0],
            expected: values[1],
            difference,
            causes,
        })
    }

    /// Model and inputs with the transit time, which the geometric basis itself does not use.
    pub(crate) fn with_transit_time(&self) -> Result<(SiteModel, InputSet)> {
        if self.model.choices().basis == Basis::Indicated {
            return Err(no_transit_time());
        }
        if self.model.has(Quantity::TransitTime) {
            return Ok((self.model.clone(), self.as_stated().clone()));
        }
        let Some(transit_time) = &self.transit_time else {
            return Err(no_transit_time());
        };
        let one = InputSet::independent(vec![transit_time.clone()])?;
        let mut terms = self.model.terms().to_vec();
        terms.push(Quantity::TransitTime);
        let model = self
            .model
            .clone()
            .with_terms(terms, self.site.flow_unit.clone());
        Ok((model, self.as_stated().clone().and(one)?))
    }
}

/// Refuses a transit time that is too short for any liquid: see [`sound_speed_at_slowness`].
pub(in crate::evaluate) fn check_time(model: &SiteModel, inputs: &InputSet) -> Result<()> {
    let choices = model.choices();
    if choices.angle_from == AngleFrom::Spacing {
        return Ok(());
    }
    let steps = model.steps(&inputs.estimates());
    let across = steps.chord * f64::from(choices.traverses);
    let least = 2.0 * steps.path.axial_slowness * across;
    let dead_time = steps.dead_time;
    Error::range_told_by(
        steps.time_in_liquid >= least,
        "readings.transit_time",
        steps.time_in_liquid + dead_time,
        "s",
        || {
            format!(
                "{:.4e} s and more, for in less time no sound crosses this pipe at the angle of the \
                 wedge; check traverses, diameter, wedge angle and dead time",
                least + dead_time
            )
        },
    )
}

fn no_transit_time() -> Error {
    Error::Missing {
        field: "readings.transit_time".to_owned(),
        needed: "readings of transit time with a known sound path (basis timed or geometric)"
            .to_owned(),
    }
}

/// One cause for each quantity: its terms together would have to shift by the difference over
/// their common sensitivity.
fn causes(model: &SiteModel, inputs: &InputSet, difference: &Budget) -> Vec<Cause> {
    let terms = model.terms();
    let mut causes: Vec<Cause> = Vec::new();
    for (i, &q) in terms.iter().enumerate() {
        let Some(words) = q.row().cause else {
            continue;
        };
        if terms[..i].contains(&q) {
            continue;
        }
        let sensitivity = difference.lines[i].sensitivity;
        let shift = -difference.estimate / sensitivity;
        if !shift.is_finite() {
            continue;
        }
        let unit: Unit = inputs.inputs()[i].unit().of_differences();
        causes.push(Cause {
            quantity: q.path().into_owned(),
            words,
            shift: unit.difference_from_si(shift),
            unit: unit.symbol.into_owned(),
            standard_uncertainties: shift.abs() / standard_uncertainty_of(model, inputs, q),
        });
    }
    let by_uncertainty = |a: &Cause, b: &Cause| {
        a.standard_uncertainties
            .total_cmp(&b.standard_uncertainties)
    };
    causes.sort_by(by_uncertainty);
    causes
}
