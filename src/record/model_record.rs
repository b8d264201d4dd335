//! The record of a result that a model of one's own gave.

use super::compare::Comparison;
use super::content::{Digest, MonteCarloInputs, Software};
use super::{Difference, canonical_json, sha256, within};
use crate::error::{Error, Result};
use crate::files::{Kind, read_text};
use crate::json::nullable;
use crate::montecarlo::{IntervalKind, JointTrials};
use crate::saving::write_whole;
use crate::uncertainty::{Budget, InputSet, MeasurementModel, propagate};
use crate::watch::Watch;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::io::Write as _;
use std::path::Path;

/// The record of what a [`MeasurementModel`] of one's own gave: its inputs, budgets and trials to the last
/// bit, with a digest as a [`Record`](super::Record) of a site has it. Whoever has the model
/// [reproduces](ModelRecord::reproduce) it; the model itself is code and is not in the record, so it
/// is recorded by a name, which changes whenever the model does.
///
/// # Example
/// ```
/// use flowdoubt::montecarlo::MonteCarlo;
/// use flowdoubt::record::ModelRecord;
/// use flowdoubt::scalar::Scalar;
/// use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, propagate};
/// use flowdoubt::units::Unit;
///
/// struct Power;
/// impl MeasurementModel for Power {
///     type Outputs<S: Scalar> = [S; 1];
///     fn outputs(&self) -> Vec<Output> {
///         vec![Output { name: "power".into(), unit: Unit::named("W") }]
///     }
///     fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 1]> {
///         Ok([x[0] * x[0] / x[1]])
///     }
/// }
/// let inputs = InputSet::independent(vec![
///     Input::with_standard_uncertainty("voltage", 10.0, 0.1, 9.0)?,
///     Input::with_standard_uncertainty("resistance", 50.0, 0.5, f64::INFINITY)?,
/// ])?;
/// let budgets = propagate(&Power, &inputs)?;
/// let trials = MonteCarlo { trials: 10_000, ..MonteCarlo::default() }.joint(&Power, &inputs)?;
/// let record = ModelRecord::of("power 1", &inputs, &budgets, Some(&trials), 0.95)?;
/// assert_eq!(record.outputs()[0].estimate, 2.0);
///
/// let read = ModelRecord::from_text(&record.to_text())?;
/// let differences = read.reproduce("power 1", &Power, &mut |_| std::ops::ControlFlow::Continue(()))?;
/// assert!(differences.is_empty());
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ModelRecord {
    format: String,
    version: u32,
    software: Software,
    model: String,
    /// The text of the inputs, in TOML, which has infinite numbers.
    inputs: String,
    coverage_probability: f64,
    #[serde(deserialize_with = "nullable")]
    monte_carlo: Option<MonteCarloInputs>,
    outputs: Vec<RecordedOutput>,
    #[serde(skip_serializing_if = "Option::is_none")]
    digest: Option<Digest>,
}

/// What was found of an output quantity, in its SI unit.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct RecordedOutput {
    /// The name of the measurand.
    pub name: String,
    /// The SI unit of all numbers.
    pub unit: String,
    /// The estimate.
    pub estimate: f64,
    /// Its combined standard uncertainty.
    pub standard_uncertainty: f64,
    /// Its effective degrees of freedom; `None` where there are infinitely many.
    #[serde(deserialize_with = "nullable")]
    pub effective_dof: Option<f64>,
    /// The expanded uncertainty at the coverage probability of the record.
    pub expanded_uncertainty: f64,
    /// The budget, a row for each input.
    pub budget: Vec<RecordedContribution>,
    /// What the trials gave.
    #[serde(deserialize_with = "nullable")]
    pub monte_carlo: Option<RecordedTrials>,
}

/// What an input contributes to an output.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct RecordedContribution {
    /// The input.
    pub name: String,
    /// The component of the budget to which it belongs.
    pub component: String,
    /// The sensitivity coefficient, in SI units.
    pub sensitivity: f64,
    /// The contribution with its sign, in the unit of the output.
    pub contribution: f64,
}

/// What the trials of an output gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct RecordedTrials {
    /// Their mean.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_uncertainty: f64,
    /// The probabilistically symmetric coverage interval.
    pub symmetric_interval: [f64; 2],
    /// The shortest coverage interval.
    pub shortest_interval: [f64; 2],
    /// Trials without a finite result, which were allowed and left out.
    pub failed: u64,
}

impl ModelRecord {
    /// What stands first in every such record.
    pub const FORMAT: &'static str = "flowdoubt model record";

    /// The version of the format that is written and read.
    pub const VERSION: u32 = 1;

    /// The record of budgets, and of trials where they were made, of the model of that name with these
    /// inputs.
    ///
    /// # Errors
    /// A coverage probability outside 0 to 1 or not resolved by the trials; more trials than
    /// [`MonteCarloInputs::MOST_TRIALS`] over all outputs; trials of other outputs than the budgets; a
    /// result that is not finite.
    pub fn of(
        model: &str,
        inputs: &InputSet,
        budgets: &[Budget],
        trials: Option<&JointTrials>,
        coverage_probability: f64,
    ) -> Result<ModelRecord> {
        if let Some(trials) = trials
            && !budgets.iter().map(|b| &b.output).eq(trials.outputs())
        {
            return Err(Error::Conflict {
                field: "trials".to_owned(),
                found: "outputs that are not those of the budgets".to_owned(),
                allowed: "budgets and trials of one model".to_owned(),
            });
        }
        let monte_carlo = trials.map(|trials| MonteCarloInputs {
            trials: trials.trials() as u64 + trials.failed(),
            seed: trials.seed().to_string(),
            digits: 2,
        });
        if let Some(run) = &monte_carlo {
            run.check(budgets.len())?;
        }
        let outputs = budgets.iter().enumerate().map(|(i, budget)| {
            let trials = trials.map(|trials| RecordedTrials::of(trials, i, coverage_probability));
            RecordedOutput::of(budget, trials.transpose()?, coverage_probability)
        });
        let outputs = outputs.collect::<Result<Vec<_>>>()?;
        outputs.iter().try_for_each(RecordedOutput::check)?;
        Ok(ModelRecord {
            format: ModelRecord::FORMAT.to_owned(),
            version: ModelRecord::VERSION,
            software: Software::this(),
            model: model.to_owned(),
            inputs: inputs.to_text()?,
            coverage_probability,
            monte_carlo,
            outputs,
            digest: None,
        })
    }

    /// The software that computed the results.
    pub fn software(&self) -> &Software {
        &self.software
    }

    /// The name of the model.
    pub fn model(&self) -> &str {
        &self.model
    }

    /// The coverage probability of expanded uncertainties and intervals.
    pub fn coverage_probability(&self) -> f64 {
        self.coverage_probability
    }

    /// The inputs.
    ///
    /// # Errors
    /// A record that was written by hand, whose text is no set of inputs.
    pub fn inputs(&self) -> Result<InputSet> {
        InputSet::from_text(&self.inputs)
    }

    /// What was found, for each output quantity.
    pub fn outputs(&self) -> &[RecordedOutput] {
        &self.outputs
    }

    /// SHA-256 in hexadecimal digits of the canonical form (RFC 8785) of the record without its
    /// digest.
    pub fn digest(&self) -> String {
        // numbers, texts and lists always have a form in JSON
        sha256(&canonical_json(self).unwrap_or_default())
    }

    /// The record as JSON text, with its digest.
    pub fn to_text(&self) -> String {
        let with_digest = ModelRecord {
            digest: Some(Digest::sha256(self.digest())),
            ..self.clone()
        };
        let mut text = serde_json::to_string_pretty(&with_digest).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Reads the text of a record.
    ///
    /// # Errors
    /// As [`Record::from_text`](super::Record::from_text).
    pub fn from_text(text: &str) -> Result<ModelRecord> {
        super::reading::model_record(text)
    }

    /// Takes the digest off the record that was read, if there is one.
    pub(super) fn take_digest(&mut self) -> Option<Digest> {
        self.digest.take()
    }

    /// Writes the record to a file, as [`Record::save`](super::Record::save) does.
    ///
    /// # Errors
    /// [`Error::Exists`] where `path` exists, unless `overwrite` is asked for; [`Error::File`];
    /// [`Error::TooLarge`].
    pub fn save(&self, path: impl AsRef<Path>, overwrite: bool) -> Result<()> {
        let (path, text) = (path.as_ref(), self.to_text());
        within(text.len() as u64, path)?;
        write_whole(path, overwrite, |file| file.write_all(text.as_bytes()))
    }

    /// Reads a record from a file.
    ///
    /// # Errors
    /// [`Error::File`], and those of [`ModelRecord::from_text`].
    pub fn load(path: impl AsRef<Path>) -> Result<ModelRecord> {
        ModelRecord::from_text(&read_text(path.as_ref(), Kind::Record)?)
    }

    /// Computes everything anew from the inputs of the record with the model of that name, and gives what
    /// differs: nothing where all numbers have the same bits.
    ///
    /// # Errors
    /// [`Error::OtherModel`] for a record of a model of another name; inputs with which the model cannot
    /// be evaluated; [`Error::Cancelled`].
    pub fn reproduce<M: MeasurementModel>(
        &self,
        name: &'static str,
        model: &M,
        watch: &mut Watch<'_>,
    ) -> Result<Vec<Difference>> {
        if self.model != name {
            return Err(Error::OtherModel {
                recorded: self.model.clone(),
                current: name,
                version: self.software.version.clone(),
            });
        }
        let inputs = self.inputs()?;
        let budgets = propagate(model, &inputs)?;
        let trials = match &self.monte_carlo {
            Some(run) => {
                run.check(budgets.len())?;
                let results = self.outputs.iter().filter_map(|o| o.monte_carlo.as_ref());
                let failed = results.map(|trials| trials.failed).sum::<u64>() > 0;
                Some(run.as_run(failed)?.joint_watched(model, &inputs, watch)?)
            }
            None => None,
        };
        let recomputed = ModelRecord::of(
            name,
            &inputs,
            &budgets,
            trials.as_ref(),
            self.coverage_probability,
        )?;
        let [old, new] = [self, &recomputed].map(|record| json!({ "outputs": record.outputs }));
        Ok(Comparison::of(&old, &new).differences)
    }
}

impl RecordedOutput {
    /// Refuses a number that JSON does not have.
    fn check(&self) -> Result<()> {
        let trials = self.monte_carlo.iter().flat_map(|trials| {
            let [low, high] = trials.symmetric_interval;
            let [shortest_low, shortest_high] = trials.shortest_interval;
            [
                trials.mean,
                trials.standard_uncertainty,
                low,
                high,
                shortest_low,
                shortest_high,
            ]
        });
        let own = [
            self.estimate,
            self.standard_uncertainty,
            self.expanded_uncertainty,
        ];
        let mut all = own.into_iter().chain(trials);
        match all.find(|number| !number.is_finite()) {
            None => Ok(()),
            Some(number) => Error::range(false, &*self.name, number, &self.unit, "a finite number"),
        }
    }

    fn of(
        budget: &Budget,
        trials: Option<RecordedTrials>,
        coverage_probability: f64,
    ) -> Result<RecordedOutput> {
        let contributions = budget.lines.iter().map(|line| RecordedContribution {
            name: line.input.name().to_owned(),
            component: line.input.component().to_owned(),
            sensitivity: line.sensitivity,
            contribution: line.contribution,
        });
        Ok(RecordedOutput {
            name: budget.output.name.clone(),
            unit: budget.output.unit.si_symbol.to_string(),
            estimate: budget.estimate,
            standard_uncertainty: budget.standard_uncertainty,
            effective_dof: Some(budget.effective_dof).filter(|dof| dof.is_finite()),
            expanded_uncertainty: budget.expanded(coverage_probability)?.expanded_uncertainty,
            budget: contributions.collect(),
            monte_carlo: trials,
        })
    }
}

impl RecordedTrials {
    fn of(trials: &JointTrials, output: usize, probability: f64) -> Result<RecordedTrials> {
        let own = trials.of_output(output);
        let ends = |kind| {
            let interval = own.interval(probability, kind)?;
            Ok([interval.low, interval.high])
        };
        Ok(RecordedTrials {
            mean: own.mean,
            standard_uncertainty: own.standard_uncertainty,
            symmetric_interval: ends(IntervalKind::Symmetric)?,
            shortest_interval: ends(IntervalKind::Shortest)?,
            failed: trials.failed(),
        })
    }
}
