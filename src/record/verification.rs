//! The record of a verification: taken from it, and computed anew.

use super::content::{
    CorrelationRow, FixedRow, MonteCarloInputs, NamedNumber, NamedText, PointRow, RunReadings,
    RunRow, VerificationInputs, VerificationRecord, VerificationResults, VerificationTrials,
    VerifiedPoint, WarningRow, budget_rows,
};
use super::evaluation::correlation_rows;
use crate::error::{Error, Result};
use crate::evaluate::Evaluation;
use crate::model::SiteModel;
use crate::montecarlo::JointTrials;
use crate::site::Site;
use crate::uncertainty::MeasurementModel;
use crate::verify::{FixedValue, PointResult, RunResult, Verification, VerificationResult};
use crate::watch::Watch;
use serde_json::json;
use std::collections::HashSet;

impl VerificationRecord {
    pub(super) fn of(
        result: &VerificationResult,
        trials: Option<&JointTrials>,
    ) -> Result<VerificationRecord> {
        let monte_carlo = trials.map(|trials| MonteCarloInputs {
            trials: trials.trials() as u64 + trials.failed(),
            seed: trials.seed().to_string(),
            digits: 2,
        });
        if let Some(run) = &monte_carlo {
            run.check(result.model.outputs().len())?;
        }
        // a verification has a run or more, and all are of one site
        let site = result.evaluations.first().map(|evaluation| NamedText {
            file: evaluation.site.file_name(),
            text: evaluation.site.text.to_string(),
        });
        let (file, text) = &result.file;
        Ok(VerificationRecord {
            inputs: VerificationInputs {
                model: SiteModel::IDENTIFIER.to_owned(),
                site: site.unwrap_or_default(),
                verification: NamedText {
                    file: file.clone(),
                    text: text.to_string(),
                },
                readings: readings_of(&result.runs, &result.evaluations)?,
                monte_carlo,
            },
            results: VerificationResults::of(result, trials)?,
        })
    }

    /// The verification of the inputs.
    pub(super) fn verify(&self) -> Result<VerificationResult> {
        let inputs = &self.inputs;
        let mut names = HashSet::new();
        for own in &inputs.readings {
            if !names.insert(own.name.as_str()) {
                return Err(unexpected(&own.name, "a second entry of this name"));
            }
        }
        let site = Site::from_toml(&inputs.site.text, &inputs.site.file)?;
        let (text, file) = (&inputs.verification.text, &inputs.verification.file);
        let verification = Verification::with_readings(text, file, |name| {
            let named = inputs.readings.iter().find(|own| own.name == name);
            let missing = || Error::Missing {
                field: format!("readings[{name}]"),
                needed: "the readings that a run of the verification file names".to_owned(),
            };
            named.ok_or_else(missing)?.readings.read()
        })?;
        for used in verification.readings_files() {
            names.remove(used);
        }
        // in the order of the record
        match inputs
            .readings
            .iter()
            .find(|own| names.contains(own.name.as_str()))
        {
            Some(unused) => Err(unexpected(&unused.name, "an entry that no run uses")),
            None => site.verify(&verification),
        }
    }

    /// The record computed anew from its inputs.
    pub(super) fn recompute(&self, watch: &mut Watch<'_>) -> Result<VerificationRecord> {
        let result = self.verify()?;
        let trials = match &self.inputs.monte_carlo {
            Some(run) => {
                run.check(result.model.outputs().len())?;
                Some(result.monte_carlo_watched(run.as_run(false)?, watch)?)
            }
            None => None,
        };
        VerificationRecord::of(&result, trials.as_ref())
    }
}

/// The error of readings without effect.
fn unexpected(name: &str, found: &str) -> Error {
    Error::Conflict {
        field: format!("inputs.readings[{name}]"),
        found: found.to_owned(),
        allowed: "each file that a run of the verification file names, once".to_owned(),
    }
}

/// The readings of all runs, those of one name once.
fn readings_of(runs: &[RunResult], evaluations: &[Evaluation]) -> Result<Vec<RunReadings>> {
    let mut all: Vec<RunReadings> = Vec::new();
    for (run, evaluation) in runs.iter().zip(evaluations) {
        let (name, readings) = (&run.readings_file, evaluation.given.as_ref());
        match all.iter().find(|own| own.name == *name) {
            None => all.push(RunReadings {
                name: name.clone(),
                readings: readings.clone(),
            }),
            Some(own) if own.readings == *readings => {}
            Some(_) => {
                return Err(Error::Conflict {
                    field: format!("run[{}].readings", run.run),
                    found: format!("other readings under the name \"{name}\" than another run"),
                    allowed: "a name of its own for each file of readings".to_owned(),
                });
            }
        }
    }
    Ok(all)
}

impl VerificationResult {
    /// The results as JSON text: those that its [record](super::Record) holds, all numbers in SI units and
    /// with every bit; errors and factors are ratios, what is infinite is `null`. With trials, where
    /// they were made.
    ///
    /// # Errors
    /// As [`VerificationResult::trials_in_words`] where trials are given.
    pub fn to_json(&self, trials: Option<&JointTrials>) -> Result<String> {
        let results = VerificationResults::of(self, trials)?;
        Ok(format!("{:#}", json!(results)))
    }
}

impl VerificationResults {
    fn of(
        result: &VerificationResult,
        trials: Option<&JointTrials>,
    ) -> Result<VerificationResults> {
        let warnings = result.warnings.iter().cloned();
        Ok(VerificationResults {
            site: result.site.clone(),
            verification: result.name.clone(),
            headline: result.headline(),
            question: result.question,
            indicated: result.indicated,
            fixed: result.fixed.iter().map(FixedRow::of).collect(),
            reference: result.reference,
            reference_name: result.reference_name.clone(),
            coverage_probability: result.coverage_probability,
            flow_unit: result.flow_unit.symbol.to_string(),
            runs: result.runs.iter().map(RunRow::of).collect(),
            points: result.points.iter().map(PointRow::of).collect(),
            error_covariance: result.error_covariance.clone(),
            error_correlation: result.error_correlation.clone(),
            line: result.line,
            line_refused: result.line_refused.clone(),
            correlations: correlations_of(result),
            decision: result.decision.clone(),
            monte_carlo: trials
                .map(|trials| VerificationTrials::of(result, trials))
                .transpose()?,
            warnings: warnings.map(WarningRow::from).collect(),
        })
    }
}

/// The correlations between inputs on which a point depends.
fn correlations_of(result: &VerificationResult) -> Vec<CorrelationRow> {
    let lines = result
        .points
        .iter()
        .flat_map(|point| &point.error_budget.lines);
    let used: HashSet<&str> = lines.map(|line| line.input.name()).collect();
    let mut rows = correlation_rows(&result.inputs);
    rows.retain(|row| row.between.iter().all(|name| used.contains(name.as_str())));
    rows
}

impl FixedRow {
    fn of(fixed: &FixedValue) -> FixedRow {
        FixedRow {
            name: fixed.name.clone(),
            value: fixed.value,
            unit: fixed.unit.si_symbol.to_string(),
        }
    }
}

impl RunRow {
    fn of(run: &RunResult) -> RunRow {
        let steps = run.steps.iter();
        RunRow {
            name: run.run.to_string(),
            point: run.point.clone(),
            placement: run.placement.clone(),
            meter_flow_m3_s: run.meter_flow,
            reference_flow_m3_s: run.reference_flow,
            correlation: run.correlation,
            meter_volume_m3: run.meter_volume,
            reference_volume_m3: run.reference_volume,
            error: run.error,
            meter_factor: run.meter_factor,
            scores: run.scores,
            steps: steps
                .map(|step| NamedNumber {
                    name: step.name.to_owned(),
                    value: step.value,
                })
                .collect(),
            budget: budget_rows(&run.error_budget),
        }
    }
}

impl PointRow {
    fn of(point: &PointResult) -> PointRow {
        PointRow {
            name: point.point.clone(),
            runs: point.runs.clone(),
            placements: point.placements,
            flow_m3_s: point.flow,
            error: point.error,
            meter_factor: point.meter_factor,
            scores: point.scores,
            repeatability: point.repeatability.clone(),
            reproducibility: point.reproducibility.clone(),
            conformity: point.conformity.clone(),
            budget: budget_rows(&point.error_budget),
        }
    }
}

impl VerificationTrials {
    fn of(result: &VerificationResult, trials: &JointTrials) -> Result<VerificationTrials> {
        let points = result.trials_of_points(trials)?.into_iter();
        let points = points.map(|point| VerifiedPoint {
            name: point.point,
            mean: point.mean,
            standard_uncertainty: point.standard_uncertainty,
            shortest_interval: point.interval.into(),
        });
        Ok(VerificationTrials {
            points: points.collect(),
            conforming_share: result.conforming_share(trials),
        })
    }
}
