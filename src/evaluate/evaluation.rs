//! The evaluation of a site with its readings.

use super::readings::Column;
use super::reconcile::Agreement;
use super::{Channel, GivenReadings, Readings, Warning, suspicious_readings};
use crate::error::{Error, Result, file_name};
use crate::liquid::State;
use crate::model::{Basis, Intermediates, LiquidModel, Quantity, SiteModel};
use crate::montecarlo::{MonteCarlo, Trials};
use crate::profile::Regime;
use crate::site::{MeanOf, Site};
use crate::uncertainty::{
    Autocorrelated, Budget, Correlations, Expanded, Input, InputSet, Shape, propagate, rounded,
};
use crate::units::Unit;
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

    /// The means of the readings that the basis uses.
    fn inputs_of_readings(
        &self,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<(Quantity, Input)>> {
        let columns = readings.columns.iter();
        let of_file: Vec<Channel> = columns.map(|c| c.channel).collect();
        let wanted = self.wanted_channels(&of_file).map_err(|error| {
            if readings.origin.is_empty() {
                error
            } else {
                error.in_file(&readings.origin, 1)
            }
        })?;
        let mut read = Vec::new();
        for column in wanted
            .iter()
            .filter_map(|channel| readings.column(*channel))
        {
            match self.counter(column.channel)? {
                Some(counter) => read.extend(self.counted_inputs(&counter, readings)?),
                None => {
                    let mean = self.mean_of(column, readings, watch)?;
                    read.push((column.channel.quantity(), mean));
                }
            }
        }
        Ok(read)
    }

    /// The channels that the basis uses, all of which are among those read.
    pub(super) fn wanted_channels(&self, read: &[Channel]) -> Result<Vec<Channel>> {
        let basis = self.skeleton.choices().basis;
        let mut wanted = match basis {
            Basis::Timed => vec![Channel::TimeDifference, Channel::TransitTime],
            Basis::Geometric => vec![Channel::TimeDifference],
            Basis::Indicated => vec![self.indicated_channel(read)?],
        };
        let temperature = Quantity::Temperature;
        let temperature_stated = self.states_temperature();
        let temperature_read = read.contains(&Channel::Temperature);
        if self.skeleton.choices().liquid != LiquidModel::Stated {
            if temperature_stated && temperature_read {
                return Err(Error::Conflict {
                    field: temperature.path().into_owned(),
                    found: "a stated temperature beside temperature readings".to_owned(),
                    allowed: "one of the two".to_owned(),
                });
            }
            if !temperature_stated {
                wanted.push(Channel::Temperature);
            }
        }
        match wanted.iter().find(|channel| !read.contains(channel)) {
            None => Ok(wanted),
            Some(channel) => Err(Error::Missing {
                field: format!("readings.{}", channel.name()),
                needed: format!(
                    "a column of {} for basis = \"{}\"",
                    channel.name(),
                    basis.in_words()
                ),
            }),
        }
    }

    /// Whether the site file states the temperature of the liquid, and not only the correction of
    /// the thermometer.
    pub(super) fn states_temperature(&self) -> bool {
        let temperature = Quantity::Temperature;
        let mut stated = self.stated.iter();
        stated.any(|(q, input)| *q == temperature && input.name() == temperature.path())
    }

    /// The mean of a column.
    fn mean_of(
        &self,
        column: &Column,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Input> {
        let quantity = column.channel.quantity();
        let path = quantity.path();
        let component = quantity.component(self.skeleton.choices().basis);
        if let Some(alike) = suspicious_readings::without_scatter(&path, column, readings)? {
            return Ok(alike.in_component(component.in_words()));
        }
        let series = self.series_of(column, readings, &path, watch)?;
        let mut evidence = format!("mean of {} readings", column.values.len());
        if !readings.origin.is_empty() {
            evidence += &format!(" in {}", file_name(readings.origin.as_ref()));
        }
        let effective = series.effective_count();
        if effective < series.count as f64 {
            evidence += &format!(", worth {} independent ones", rounded(effective, 2));
        }
        Ok(Input::from_series(&path, &column.values, &series)?
            .shown_in(column.unit.clone())
            .in_component(component.in_words())
            .evidence_in_words(evidence))
    }

    /// Mean and standard uncertainty of a column, whose rows follow each other in time.
    pub(super) fn series_of(
        &self,
        column: &Column,
        readings: &Readings,
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let damps = column.channel != Channel::Temperature;
        let found = self.statistics_of(&column.values, damps, readings.interval, field, watch)?;
        Ok(
            match suspicious_readings::uncertainty_of_digits(column, readings) {
                Some(standard_uncertainty) => Autocorrelated {
                    standard_uncertainty,
                    dof: f64::INFINITY,
                    ..found
                },
                None => found,
            },
        )
    }

    /// Mean and standard uncertainty of values that follow each other in time, at an interval in s
    /// or at the stated one; those of a meter that damps depend on each other at least as it says.
    pub(super) fn statistics_of(
        &self,
        values: &[f64],
        damps: bool,
        interval: Option<f64>,
        field: &str,
        watch: &mut Watch<'_>,
    ) -> Result<Autocorrelated> {
        let found = match self.mean_of {
            MeanOf::SteadyFlow => Autocorrelated::of_watched(values, field, watch)?,
            MeanOf::Period => Autocorrelated::over_the_period_watched(values, field, watch)?,
        };
        let Some(damping) = self.damping.filter(|_| damps) else {
            return Ok(found);
        };
        let interval = interval.or(self.sampling_interval);
        let interval = interval.ok_or_else(|| Error::Missing {
            field: "meter.sampling_interval".to_owned(),
            needed:
                "the time from reading to reading beside meter.damping, since the readings have \
                     no times"
                    .to_owned(),
        })?;
        found.damped(damping, interval, field)
    }

    /// The transit time that was read though the geometric basis does not use it.
    fn spare_transit_time(
        &self,
        readings: &Readings,
        watch: &mut Watch<'_>,
    ) -> Result<Option<Input>> {
        let spare = self.skeleton.choices().basis == Basis::Geometric;
        let column = readings.column(Channel::TransitTime).filter(|_| spare);
        column
            .map(|column| self.mean_of(column, readings, watch))
            .transpose()
    }

    fn indicated_channel(&self, read: &[Channel]) -> Result<Channel> {
        let mut found = Channel::INDICATED.into_iter().filter(|c| read.contains(c));
        let programmed = self.skeleton.choices().programmed.unwrap_or_default();
        let missing = |field: &str, needed: &str| {
            Err(Error::Missing {
                field: field.to_owned(),
                needed: needed.to_owned(),
            })
        };
        let Some(channel) = found.next() else {
            let names = Channel::INDICATED.map(Channel::name).join(", ");
            let needed = format!("a column of one of {names}, for basis = \"indicated\"");
            return missing("readings.volume_flow", &needed);
        };
        if let Some(other) = found.next() {
            return Err(Error::Conflict {
                field: format!("readings.{}", other.name()),
                found: format!(
                    "a column of {} beside one of {}",
                    channel.name().replace('_', " "),
                    other.name().replace('_', " ")
                ),
                allowed: "one of the two".to_owned(),
            });
        }
        if channel != Channel::Velocity && programmed.inside_diameter.is_none() {
            return missing(
                "meter.programmed.inside_diameter",
                "the programmed inside diameter, for readings of volume flow",
            );
        }
        if channel == Channel::Current && programmed.current_span.is_none() {
            return missing(
                "meter.programmed.flow_at_4_mA",
                "the flows at 4 mA and at 20 mA, for readings of current",
            );
        }
        let stated = |q: Quantity| self.stated.iter().any(|(own, _)| *own == q);
        for (q, used) in [
            (Quantity::CurrentOutput, channel == Channel::Current),
            (Quantity::CurrentInput, channel == Channel::Current),
            (Quantity::CounterClock, channel.is_counted()),
        ] {
            if stated(q) && !used {
                return Err(Error::Conflict {
                    field: q.path().into_owned(),
                    found: format!("stated, with readings of {}", channel.name()),
                    allowed: "left out where it has no effect".to_owned(),
                });
            }
        }
        self.counter(channel)?;
        Ok(channel)
    }

    /// The formulations' own uncertainties, unless the site file states others.
    pub(super) fn formulation_inputs(&self, terms: &[(Quantity, Input)]) -> Vec<(Quantity, Input)> {
        let LiquidModel::Computed(liquid) = &self.skeleton.choices().liquid else {
            return Vec::new();
        };
        let uncertainties = liquid.uncertainties(&self.liquid_state(terms));
        let formulations = [
            (Quantity::DensityFactor, Some(uncertainties.density)),
            (Quantity::ViscosityFactor, Some(uncertainties.viscosity)),
            (Quantity::SoundSpeedFactor, uncertainties.sound_speed),
        ];
        let basis = self.skeleton.choices().basis;
        formulations
            .into_iter()
            .filter_map(|(quantity, uncertainty)| {
                Some((quantity, uncertainty.filter(|d| d.relative > 0.0)?))
            })
            .filter(|(quantity, _)| terms.iter().all(|(stated, _)| stated != quantity))
            .filter_map(|(quantity, uncertainty)| {
                let (path, dof) = (quantity.path(), f64::INFINITY);
                let u = uncertainty.relative;
                let input = Input::with_standard_uncertainty(&path, 1.0, u, dof).ok()?;
                let component = quantity.component(basis).in_words();
                let evidence = match self.liquid_evidence.as_str() {
                    "" => uncertainty.source.to_owned(),
                    evidence => format!("{}: {evidence}", uncertainty.source),
                };
                Some((
                    quantity,
                    input
                        .shown_in(Unit::named("1"))
                        .in_component(component)
                        .evidence_in_words(evidence),
                ))
            })
            .collect()
    }

    /// The state of the liquid at the estimates.
    fn liquid_state(&self, terms: &[(Quantity, Input)]) -> State<f64> {
        self.model_of(terms).liquid_state(&estimates_of(terms))
    }

    /// Where an oval pipe is not known to lie with its largest diameter: any way round, so that
    /// the cosine of twice the angle to the path follows an arcsine distribution.
    pub(super) fn ovality_input(
        &self,
        terms: &[(Quantity, Input)],
    ) -> Result<Option<(Quantity, Input)>> {
        let has = |q: Quantity| terms.iter().any(|(other, _)| *other == q);
        let quantity = Quantity::OvalityAlongPath;
        if !has(Quantity::Ovality) || has(quantity) {
            return Ok(None);
        }
        let dof = f64::INFINITY;
        let component = quantity.component(self.skeleton.choices().basis);
        let input = Input::with_half_width(&quantity.path(), 0.0, 1.0, Shape::Arcsine, dof)?
            .shown_in(Unit::named("1"))
            .in_component(component.in_words())
            .evidence_in_words("direction of the largest diameter unknown");
        Ok(Some((quantity, input)))
    }

    /// The steps at the estimates of the terms so far, from which further inputs are derived.
    pub(crate) fn steps_at(&self, terms: &[(Quantity, Input)]) -> Result<Intermediates<f64>> {
        self.model_of(terms).checked_steps(&estimates_of(terms))
    }
}

impl Evaluation {
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

/// The estimates of terms, in SI units.
pub(crate) fn estimates_of(terms: &[(Quantity, Input)]) -> Vec<f64> {
    terms.iter().map(|(_, input)| input.estimate()).collect()
}
