//! A site before anything is read: its sound path, and the readings that a flow would make.

use super::{Evaluation, GivenReadings, estimates_of};
use crate::acoustics::time_difference_of_velocity;
use crate::error::{Error, Result};
use crate::model::{Basis, Intermediates, LiquidModel, Quantity, Reading, SiteModel};
use crate::scalar::Dual;
use crate::site::Site;
use crate::uncertainty::{Input, InputSet, propagate};
use crate::units::{Dimension, Unit};
use std::sync::Arc;

/// What is known of a site without readings: pipe, liquid and sound path.
#[derive(Debug, Clone)]
pub(crate) struct BeforeReadings {
    /// The measurement model, without the inputs that come with readings.
    pub(crate) model: SiteModel,
    /// What the site file states, with what follows from it.
    pub(crate) inputs: InputSet,
    /// The steps from the pipe to the sound path; the flow is NaN.
    pub(crate) steps: Intermediates<f64>,
    site: Site,
}

impl Site {
    /// The site before anything is read. `temperature` of the liquid in K with its standard
    /// uncertainty, where the site file leaves it to the readings.
    ///
    /// # Errors
    /// A temperature that is missing, stated already or of no effect; no sound path; a pipe
    /// without bore; a liquid outside its formulation; a correlation that no errors can have.
    pub(crate) fn before_readings(
        &self,
        temperature: Option<(f64, f64)>,
    ) -> Result<BeforeReadings> {
        let read = self.given_temperature(temperature)?.into_iter();
        let mut terms = self.stated_with(read.map(|input| (Quantity::Temperature, input)));
        terms.extend(self.formulation_inputs(&terms));
        terms.extend(self.ovality_input(&terms)?);
        terms.sort_by_key(|(quantity, _)| quantity.index());
        // correlations with readings and with what follows from the flow wait for them
        let known = |name: &String| terms.iter().any(|(_, input)| input.name() == name);
        let mut site = self.clone();
        site.correlations
            .retain(|c| known(&c.pair.0) && known(&c.pair.1));
        let (model, inputs) = site.model_with(terms)?;
        let steps = model.checked_sound_path(&inputs.estimates())?;
        Ok(BeforeReadings {
            model,
            inputs,
            steps,
            site,
        })
    }

    fn given_temperature(&self, given: Option<(f64, f64)>) -> Result<Option<Input>> {
        let field = "temperature";
        let conflict = |found: &str, allowed: &str| Error::Conflict {
            field: field.to_owned(),
            found: found.to_owned(),
            allowed: allowed.to_owned(),
        };
        let computed = self.skeleton.choices().liquid != LiquidModel::Stated;
        match given {
            Some(_) if !computed => Err(conflict(
                "a temperature beside a liquid whose properties are stated",
                "none; the stated sound speed is that of the temperature in operation",
            )),
            Some(_) if self.states_temperature() => Err(conflict(
                "a temperature beside a stated liquid.temperature",
                "one of the two",
            )),
            None if computed && !self.states_temperature() => Err(Error::Missing {
                field: field.to_owned(),
                needed: "temperature of the liquid in operation, on which its sound speed rests: \
                         liquid.temperature in the site file, or the argument temperature"
                    .to_owned(),
            }),
            None => Ok(None),
            Some((kelvin, u)) => {
                let quantity = Quantity::Temperature;
                let path = quantity.path();
                let component = quantity.component(self.skeleton.choices().basis);
                let unit = Unit::parse("degC", Dimension::Temperature, field)?;
                let input = Input::with_standard_uncertainty(&path, kelvin, u, f64::INFINITY)?
                    .shown_in(unit)
                    .in_component(component.in_words())
                    .evidence_in_words("temperature expected in operation");
                Ok(Some(input))
            }
        }
    }
}

/// A quantity that is read, the step that it makes, and what that comes to.
type Made = (
    Quantity,
    fn(&Intermediates<Dual<f64, 1>>) -> Dual<f64, 1>,
    f64,
);

impl BeforeReadings {
    /// The evaluation of the readings that a path-mean `velocity` in m/s would make, all exact, and
    /// without what only the flow tells: the uncertainty of the profile law and the fitting upstream.
    ///
    /// # Errors
    /// A velocity for which the profile laws do not hold.
    pub(crate) fn at_velocity(&self, velocity: f64) -> Result<Evaluation> {
        self.with_transit_time(velocity, None)
    }

    /// As [`BeforeReadings::at_velocity`], with a transit time that was read in place of the one that
    /// the model leads to.
    ///
    /// # Errors
    /// Those, and a transit time below the dead time.
    pub(crate) fn with_transit_time(
        &self,
        velocity: f64,
        time_read: Option<Input>,
    ) -> Result<Evaluation> {
        let steps = &self.steps;
        let (path, speed) = (&steps.path, steps.liquid_sound_speed);
        let difference = time_difference_of_velocity(velocity, path, speed);
        // what is read, the step that it makes, and what that is
        let time_difference: Made = (Quantity::TimeDifference, |s| s.time_difference, difference);
        let time_in_liquid = path.time_in_liquid;
        let transit_time: Made = (Quantity::TransitTime, |s| s.time_in_liquid, time_in_liquid);
        let indicated: Made = (Quantity::IndicatedVelocity, |s| s.path_velocity, velocity);
        let read = match self.model.choices().basis {
            Basis::Timed => vec![time_difference, transit_time],
            Basis::Geometric => vec![time_difference],
            Basis::Indicated => vec![indicated],
        };
        let own = self.model.terms().iter().copied();
        let mut terms: Vec<(Quantity, Input)> =
            own.zip(self.inputs.inputs().iter().cloned()).collect();
        let programmed =
            |model: SiteModel| model.with_slowness_programmed(steps.path.axial_slowness);
        let geometric = self.model.choices().basis == Basis::Geometric;
        let beside = time_read.clone().filter(|_| geometric);
        for (quantity, step, made) in read {
            if let Some(read) = time_read
                .clone()
                .filter(|_| quantity == Quantity::TransitTime)
            {
                terms.push((quantity, read));
                continue;
            }
            terms.push((quantity, Input::exact(&quantity.path(), 0.0)?));
            let model = programmed(self.site.model_of(&terms));
            let reading = Reading::of(model, estimates_of(&terms), quantity).at_which(step, made);
            terms.pop();
            terms.push((quantity, Input::exact(&quantity.path(), reading)?));
        }
        terms.sort_by_key(|(quantity, _)| quantity.index());
        let (model, inputs) = self.site.model_with(terms)?;
        let model = programmed(model);
        let steps = model.checked_steps(&inputs.estimates())?;
        let budget = propagate(&model, &inputs)?.swap_remove(0);
        Ok(Evaluation {
            site: self.site.clone(),
            steps,
            model,
            inputs,
            budget,
            readings: 0,
            transit_time: beside,
            given: Arc::new(GivenReadings::default()),
            of_readings: Arc::default(),
            agreement: None,
            uncovered: None,
        })
    }
}
