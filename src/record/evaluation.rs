//! The record of an evaluation: taken from it, and computed anew.

use super::content::{
    Check, Checks, ComponentShare, CorrelationRow, EvaluationInputs, EvaluationRecord,
    EvaluationResults, MonteCarloInputs, MonteCarloResults, NamedNumber, NamedText,
    ProgrammedResult, ReconciledInput, ReconciliationResults, WarningRow, budget_rows,
};
use crate::error::{Error, Result, shortened};
use crate::evaluate::{Evaluation, Readings};
use crate::model::SiteModel;
use crate::montecarlo::{
    Interval, IntervalKind, MonteCarlo, TrialStatistics, Trials, Validation, Verdict,
};
use crate::site::Site;
use crate::uncertainty::InputSet;
use crate::watch::{Watch, unwatched};
use serde_json::json;

/// What was done besides an evaluation and belongs into its record.
#[derive(Debug, Clone, Copy)]
pub struct Extras<'a> {
    /// Monte Carlo trials of the evaluation.
    pub trials: Option<&'a Trials>,
    /// Number of significant digits for the comparison of first order with the trials.
    pub digits: u32,
    /// Readings at no flow, to check the zero with.
    pub at_no_flow: Option<&'a Readings>,
}

impl Default for Extras<'_> {
    /// Nothing; two digits.
    fn default() -> Self {
        Extras {
            trials: None,
            digits: 2,
            at_no_flow: None,
        }
    }
}

/// `None` for what JSON has no number for.
fn finite(number: f64) -> Option<f64> {
    Some(number).filter(|number| number.is_finite())
}

fn ends(interval: Interval) -> [f64; 2] {
    [interval.low, interval.high]
}

/// What the inputs of a record come to, computed anew.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct Recomputed {
    /// The evaluation.
    pub evaluation: Evaluation,
    /// Its Monte Carlo trials, where there were some.
    pub trials: Option<Trials>,
    /// Number of significant digits for the comparison of first order with the trials.
    pub digits: u32,
    /// Readings at no flow, where the zero was checked.
    pub at_no_flow: Option<Readings>,
}

impl Evaluation {
    /// The results as JSON text: those that its [record](super::Record) holds, all numbers in SI units and
    /// with every bit; what is infinite is `null`. With trials and the number of significant digits
    /// for their comparison with first order, where they were made.
    ///
    /// # Errors
    /// As [`Evaluation::expanded`], and as [`Evaluation::validation`] where trials are given.
    pub fn to_json(&self, trials: Option<(&dyn TrialStatistics, u32)>) -> Result<String> {
        let results = EvaluationResults::of(self, trials, None, &mut unwatched)?;
        Ok(format!("{:#}", json!(results)))
    }
}

impl EvaluationRecord {
    pub(super) fn of(
        evaluation: &Evaluation,
        extras: Extras<'_>,
        watch: &mut Watch<'_>,
    ) -> Result<EvaluationRecord> {
        let monte_carlo = extras.trials.map(|trials| MonteCarloInputs {
            trials: trials.trials() as u64 + trials.failed,
            seed: trials.seed.to_string(),
            digits: extras.digits,
        });
        if let Some(run) = &monte_carlo {
            run.check(1)?;
        }
        Ok(EvaluationRecord {
            inputs: EvaluationInputs {
                model: SiteModel::IDENTIFIER.to_owned(),
                site: NamedText {
                    file: evaluation.site.file_name(),
                    text: evaluation.site.text.to_string(),
                },
                readings: evaluation.given.as_ref().clone(),
                readings_at_no_flow: extras.at_no_flow.map(|r| r.given().clone()),
                reconciled: evaluation.agreement.is_some(),
                monte_carlo,
            },
            results: EvaluationResults::of(
                evaluation,
                extras
                    .trials
                    .map(|trials| (trials as &dyn TrialStatistics, extras.digits)),
                extras.at_no_flow,
                watch,
            )?,
        })
    }

    /// The evaluation of the inputs.
    pub(super) fn evaluate(&self) -> Result<Evaluation> {
        let inputs = &self.inputs;
        let site = Site::from_toml(&inputs.site.text, &inputs.site.file)?;
        let evaluation = site.evaluate(&inputs.readings.read()?)?;
        if inputs.reconciled {
            Ok(evaluation.reconciled()?.after)
        } else {
            Ok(evaluation)
        }
    }

    /// Everything computed anew from the inputs.
    pub(super) fn recomputed(&self, watch: &mut Watch<'_>) -> Result<Recomputed> {
        let inputs = &self.inputs;
        let evaluation = self.evaluate()?;
        let at_no_flow = inputs.readings_at_no_flow.as_ref();
        let trials = match &inputs.monte_carlo {
            Some(run) => {
                run.check(1)?;
                let recorded = self.results.monte_carlo.as_ref();
                let failed = recorded.is_some_and(|results| results.failed > 0);
                Some(evaluation.monte_carlo_watched(run.as_run(failed)?, watch)?)
            }
            None => None,
        };
        Ok(Recomputed {
            evaluation,
            trials,
            digits: inputs.monte_carlo.as_ref().map_or(2, |run| run.digits),
            at_no_flow: at_no_flow.map(|given| given.read()).transpose()?,
        })
    }

    /// The record computed anew from its inputs.
    pub(super) fn recompute(&self, watch: &mut Watch<'_>) -> Result<EvaluationRecord> {
        let recomputed = self.recomputed(watch)?;
        let extras = Extras {
            trials: recomputed.trials.as_ref(),
            digits: recomputed.digits,
            at_no_flow: recomputed.at_no_flow.as_ref(),
        };
        EvaluationRecord::of(&recomputed.evaluation, extras, watch)
    }
}

impl MonteCarloInputs {
    /// Refuses a run of which a record with so many outputs would take too much to reproduce.
    pub(super) fn check(&self, outputs: usize) -> Result<()> {
        let most = Self::MOST_TRIALS / outputs.max(1) as u64;
        let (field, trials) = ("monte_carlo.trials", self.trials as f64);
        let allowed =
            format!("at most {most} in a record (2e7 over its {outputs} output quantities)");
        Error::range(self.trials <= most, field, trials, "", allowed)
    }

    /// The run, with as many failures as there are where some were allowed.
    pub(super) fn as_run(&self, failures_allowed: bool) -> Result<MonteCarlo> {
        let seed = self.seed.parse::<u64>().ok();
        // a seed has one way to be written: "+1" and "01" would have no effect of their own
        let seed = seed.filter(|seed| seed.to_string() == self.seed);
        let seed = seed.ok_or_else(|| Error::WrongType {
            field: "monte_carlo.seed".to_owned(),
            found: shortened(&self.seed).into_owned(),
            allowed:
                "a whole number from 0 to 2^64 - 1 in decimal digits, without a sign and without \
                      zeros before it"
                    .to_owned(),
        })?;
        Ok(MonteCarlo {
            trials: self.trials,
            seed,
            allowed_failures: if failures_allowed {
                1.0 - f64::EPSILON
            } else {
                0.0
            },
        })
    }
}

impl EvaluationResults {
    fn of(
        evaluation: &Evaluation,
        trials: Option<(&dyn TrialStatistics, u32)>,
        at_no_flow: Option<&Readings>,
        watch: &mut Watch<'_>,
    ) -> Result<EvaluationResults> {
        let budget = &evaluation.budget;
        let expanded = evaluation.expanded()?;
        let steps = evaluation.steps.named().into_iter();
        let choices = evaluation.model.choices();
        Ok(EvaluationResults {
            site: evaluation.site.name.clone(),
            headline: evaluation.headline()?,
            readings: evaluation.readings,
            volume_flow_m3_s: evaluation.estimate(),
            standard_uncertainty_m3_s: evaluation.standard_uncertainty(),
            effective_dof: finite(budget.effective_dof),
            coverage_probability: expanded.coverage_probability,
            coverage_dof: finite(expanded.dof),
            coverage_factor: expanded.coverage_factor,
            expanded_uncertainty_m3_s: expanded.expanded_uncertainty,
            flow_unit: budget.output.unit.symbol.to_string(),
            basis: choices.basis.in_words().to_owned(),
            profile_law: choices.law.in_words(),
            regime: evaluation.regime().in_words().to_owned(),
            steps: steps
                .map(|step| NamedNumber {
                    name: step.name.to_owned(),
                    value: step.value,
                })
                .collect(),
            budget: budget_rows(budget),
            correlations: correlation_rows(&evaluation.inputs),
            components: budget
                .components()
                .into_iter()
                .map(|part| ComponentShare {
                    name: part.component,
                    share: part.share,
                })
                .collect(),
            monte_carlo: trials
                .map(|(trials, digits)| MonteCarloResults::of(evaluation, trials, digits, watch))
                .transpose()?,
            reconciliation: ReconciliationResults::of(evaluation),
            checks: Checks::of(evaluation, at_no_flow)?,
            warnings: evaluation
                .warnings()
                .into_iter()
                .map(WarningRow::from)
                .collect(),
        })
    }
}

pub(super) fn correlation_rows(of: &InputSet) -> Vec<CorrelationRow> {
    let name = |i: usize| of.inputs()[i].name().to_owned();
    let pairs = of.correlations().pairs();
    pairs
        .map(|(i, j, coefficient)| CorrelationRow {
            between: [name(i), name(j)],
            coefficient,
        })
        .collect()
}

impl MonteCarloResults {
    fn of(
        evaluation: &Evaluation,
        trials: &dyn TrialStatistics,
        digits: u32,
        watch: &mut Watch<'_>,
    ) -> Result<MonteCarloResults> {
        let p = evaluation.site.coverage_probability;
        let validation = Validation::of(&evaluation.budget, trials, p, digits)?;
        let verdict = match validation.verdict {
            Verdict::Undecided => {
                let validation = evaluation.validation_watched(trials, p, digits, watch)?;
                validation.verdict
            }
            decided => decided,
        };
        Ok(MonteCarloResults {
            mean_m3_s: trials.mean(),
            standard_uncertainty_m3_s: trials.standard_uncertainty(),
            failed: trials.failed(),
            symmetric_interval_m3_s: ends(validation.monte_carlo),
            shortest_interval_m3_s: ends(trials.interval(p, IntervalKind::Shortest)?),
            first_order_interval_m3_s: ends(validation.first_order),
            tolerance_m3_s: validation.tolerance,
            first_order_validated: validation.within_tolerance(),
            verdict: Some(verdict),
        })
    }
}

impl ReconciliationResults {
    fn of(evaluation: &Evaluation) -> Option<ReconciliationResults> {
        let agreement = evaluation.agreement.as_ref()?;
        let adjustments = agreement.adjustments.iter();
        Some(ReconciliationResults {
            chi_square: agreement.chi_square,
            probability: agreement.probability,
            adjustments: adjustments
                .map(|adjusted| ReconciledInput {
                    name: adjusted.input.clone(),
                    before: adjusted.before,
                    uncertainty_before: adjusted.uncertainty_before,
                    after: adjusted.after,
                    uncertainty_after: adjusted.uncertainty_after,
                })
                .collect(),
        })
    }
}

impl Checks {
    fn of(evaluation: &Evaluation, at_no_flow: Option<&Readings>) -> Result<Checks> {
        // without a transit time or a known path there is nothing to check
        let sound_speed = evaluation.sound_speed_check().ok();
        let zero = at_no_flow.map(|r| evaluation.zero_check(r)).transpose()?;
        let programmed = evaluation.programmed_check()?.into_iter();
        Ok(Checks {
            sound_speed: sound_speed.map(|check| Check {
                found: check.measured,
                expected: check.expected,
                standard_uncertainty: check.difference.standard_uncertainty,
                standardised: finite(check.standardised()),
                agrees: check.agrees(),
            }),
            zero: zero.map(|check| Check {
                found: check.found,
                expected: check.stated,
                standard_uncertainty: check.difference_uncertainty(),
                standardised: finite(check.standardised()),
                agrees: check.agrees(),
            }),
            programmed: programmed
                .map(|check| ProgrammedResult {
                    name: check.parameter.to_owned(),
                    unit: check.unit.to_owned(),
                    programmed: check.programmed,
                    surveyed: check.surveyed,
                    standard_uncertainty: check.standard_uncertainty,
                    standardised: finite(check.standardised),
                })
                .collect(),
        })
    }
}
