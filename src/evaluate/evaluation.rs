//! The evaluation of a site with its readings.

use super::reconcile::Agreement;
use super::{GivenReadings, Readings, Warning, suspicious_readings};
use crate::error::{Error, Result};
use crate::message::Message;
use crate::model::{Intermediates, Quantity, SiteModel};
use crate::montecarlo::{MonteCarlo, Trials};
use crate::profile::Regime;
use crate::site::Site;
use crate::table::TableFormat;
use crate::uncertainty::{Budget, Correlations, Expanded, Input, InputSet, propagate};
use crate::watch::{Watch, unwatched};
use std::sync::Arc;

/// A volume flow with everything it rests on.
#[derive(Debug, Clone)]
pub struct Evaluation {
    /// The site.
    pub site: Site,
    /// The measurement model.
    pub model: SiteModel,
    /// Its inputs, with their correlations.
    pub inputs: InputSet,
    /// The uncertainty budget of the volume flow.
    pub budget: Budget,
    /// The steps from readings to flow at the estimates, in SI units.
    pub steps: Intermediates<f64>,
    /// Number of readings.
    pub readings: usize,
    /// The transit time, where it was read though the basis does not use it.
    pub(super) transit_time: Option<Input>,
    /// The readings in the words given.
    pub(crate) given: Arc<GivenReadings>,
    /// What the columns of readings show that their means do not.
    pub(super) of_readings: Arc<[Warning]>,
    /// What reconciliation with the transit time found, where the inputs have been adjusted.
    pub(crate) agreement: Option<Agreement>,
    /// The inputs with the uncertainty that an in-situ calibration covers.
    pub(super) uncovered: Option<InputSet>,
}

impl Site {
    /// Evaluates readings to a volume flow with its uncertainty budget.
    ///
    /// The estimate of each reading is its mean, its standard uncertainty that of the mean.
    ///
    /// # Errors
    /// A column that the basis needs and the readings lack, a correlation with an input that does
    /// not exist, estimates outside the model (no sound path, boiling water, a transit time below
    /// the dead time, a Reynolds number outside the profile laws).
    pub fn evaluate(&self, readings: &Readings) -> Result<Evaluation> {
        self.evaluate_watched(readings, &mut unwatched)
    }

    /// As [`Site::evaluate`], with a watch that may end the statistics of long columns.
    ///
    /// # Errors
    /// As [`Site::evaluate`]; [`Error::Cancelled`].
    pub fn evaluate_watched(
        &self,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Evaluation> {
        let read = self.inputs_of_readings(readings, watch)?;
        suspicious_readings::check_read(&read)?;
        let evaluation = self.evaluate_inputs(read).map_err(|e| self.at_its_key(e))?;
        evaluation.check_velocity()?;
        Ok(Evaluation {
            readings: readings.rows(),
            of_readings: suspicious_readings::of_columns(readings).into(),
            transit_time: self.spare_transit_time(readings, watch)?,
            given: Arc::clone(&readings.given),
            ..evaluation
        })
    }

    /// The evaluation of what stands for the means of readings, without the readings themselves.
    ///
    /// # Errors
    /// As [`Site::evaluate`], but for what concerns columns.
    pub(crate) fn evaluate_inputs(&self, read: Vec<(Quantity, Input)>) -> Result<Evaluation> {
        let mut terms = self.stated_with(read);
        terms.extend(self.formulation_inputs(&terms));
        terms.extend(self.installation_inputs(&terms)?);
        terms.extend(self.ovality_input(&terms)?);
        let derived = self.law_inputs(&terms)?;
        terms.extend(derived);
        // stable, so that terms of one quantity keep their order
        terms.sort_by_key(|(quantity, _)| quantity.index());

        let (model, mut inputs) = self.model_with(terms)?;
        let estimates = inputs.estimates();
        let steps = model.checked_steps(&estimates)?;
        model.check_calibration(&steps, &self.flow_unit)?;
        let uncovered = match &self.in_situ {
            Some(in_situ) => {
                let covered = in_situ.covering(model.terms(), &inputs, steps.reynolds)?;
                Some(std::mem::replace(&mut inputs, self.correlated(covered)?))
            }
            None => None,
        };
        let budget = propagate(&model, &inputs)?.swap_remove(0);
        Ok(Evaluation {
            site: self.clone(),
            steps,
            model,
            inputs,
            budget,
            readings: 0,
            transit_time: None,
            given: Arc::default(),
            of_readings: Arc::default(),
            agreement: None,
            uncovered,
        })
    }

    /// What the site file states, with what is read of the meter.
    pub(crate) fn stated_with(
        &self,
        read: impl IntoIterator<Item = (Quantity, Input)>,
    ) -> Vec<(Quantity, Input)> {
        let mut terms = self.stated.to_vec();
        for (quantity, input) in read {
            // a mean of readings comes before the correction of the instrument
            terms.insert(0, (quantity, input));
        }
        terms
    }

    pub(super) fn model_with(
        &self,
        terms: Vec<(Quantity, Input)>,
    ) -> Result<(SiteModel, InputSet)> {
        let model = self.model_of(&terms);
        let inputs = terms.into_iter().map(|(_, input)| input).collect();
        Ok((model, self.correlated(inputs)?))
    }

    /// The inputs with the correlations that the site file states. Only with the readings is it
    /// known which inputs there are.
    pub(super) fn correlated(&self, inputs: Vec<Input>) -> Result<InputSet> {
        let stated = &self.correlations;
        let pairs: Vec<_> = stated.iter().map(|c| c.pair.clone()).collect();
        InputSet::joined(inputs, |names| {
            Correlations::from_pairs(names, &pairs).map_err(|error| {
                // all are needed to judge a matrix; otherwise the first pair that does not fit those
                // before it, after which the rest changes nothing
                let fits = |n: &usize| {
                    let some = Correlations::from_pairs(names, &pairs[..*n]);
                    matches!(some, Ok(_) | Err(Error::NotPositiveSemiDefinite { .. }))
                };
                let counts: Vec<usize> = (1..=pairs.len()).collect();
                let place = match error {
                    Error::NotPositiveSemiDefinite { .. } => pairs.len().checked_sub(1),
                    _ => Some(counts.partition_point(fits)),
                };
                match place.and_then(|place| stated.get(place)) {
                    Some(stated) => error.in_file(&self.file, stated.line),
                    None => error,
                }
            })
        })
    }
}

impl Evaluation {
    /// How the table of readings was read, one sentence each; nothing of one in the plain form.
    pub fn how_read(&self) -> Vec<String> {
        let format = self.given.format();
        format.map(TableFormat::in_words).unwrap_or_default()
    }

    /// As [`Evaluation::how_read`], to be said in any language.
    pub fn how_read_told(&self) -> Vec<Message> {
        let format = self.given.format();
        format.map(TableFormat::told).unwrap_or_default()
    }

    /// The inputs with the uncertainties that have been stated, whatever an in-situ calibration
    /// covers: for the checks of what they are.
    pub(super) fn as_stated(&self) -> &InputSet {
        self.uncovered.as_ref().unwrap_or(&self.inputs)
    }

    /// The volume flow, in m3/s.
    pub fn estimate(&self) -> f64 {
        self.budget.estimate
    }

    /// Its combined standard uncertainty, in m3/s.
    pub fn standard_uncertainty(&self) -> f64 {
        self.budget.standard_uncertainty
    }

    /// Its expanded uncertainty at the site's coverage probability, in m3/s.
    ///
    /// # Errors
    /// None for a site that was read from a file, whose coverage probability has been checked.
    pub fn expanded(&self) -> Result<Expanded> {
        self.budget.expanded(self.site.coverage_probability)
    }

    /// The state of the flow.
    pub fn regime(&self) -> Regime {
        Regime::within(self.steps.reynolds, self.site.transition)
    }

    /// Propagates the distributions of the inputs through the same model (JCGM 101:2008).
    ///
    /// # Errors
    /// As [`MonteCarlo::run`].
    pub fn monte_carlo(&self, run: MonteCarlo) -> Result<Trials> {
        self.monte_carlo_watched(run, &mut unwatched)
    }

    /// As [`Evaluation::monte_carlo`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// As [`MonteCarlo::run`]; [`Error::Cancelled`](crate::Error::Cancelled).
    pub fn monte_carlo_watched(&self, run: MonteCarlo, watch: &mut Watch<'_>) -> Result<Trials> {
        let trials = run.joint_watched(&self.model, &self.inputs, watch)?;
        Ok(trials.into_trials().swap_remove(0))
    }
}
