//! What a verification comes to.

use super::file::ReferenceKind;
use super::judgement::{Conformity, Verdict};
use super::model::{PointsModel, RunsModel};
use super::question::{FixedValue, Indicated, Question};
use super::reference::ReferenceSteps;
use super::scatter::{Repeatability, Reproducibility};
use super::scores::{e_n, zeta_score};
use crate::error::Result;
use crate::evaluate::{Evaluation, Warning};
use crate::json::nullable;
use crate::message::{Sentence, Told, message};
use crate::montecarlo::{JointTrials, MonteCarlo};
use crate::scalar::special::chi_squared_quantile;
use crate::uncertainty::conformity::Permissible;
use crate::uncertainty::{Budget, InputSet, JointResult, StraightLine, propagate};
use crate::units::Unit;
use crate::watch::{Watch, unwatched};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// A value with its uncertainty, in SI units; errors and factors are ratios.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct OfQuantity {
    /// The estimate.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
    /// Its effective degrees of freedom; `None` where they are infinite.
    #[serde(deserialize_with = "nullable")]
    pub effective_dof: Option<f64>,
    /// The coverage factor for the coverage probability of the site.
    pub coverage_factor: f64,
    /// The expanded uncertainty.
    pub expanded_uncertainty: f64,
}

impl OfQuantity {
    pub(super) fn of(budget: &Budget, coverage_probability: f64) -> Result<OfQuantity> {
        let expanded = budget.expanded(coverage_probability)?;
        Ok(OfQuantity {
            value: budget.estimate,
            standard_uncertainty: budget.standard_uncertainty,
            effective_dof: Some(budget.effective_dof).filter(|dof| dof.is_finite()),
            coverage_factor: expanded.coverage_factor,
            expanded_uncertainty: expanded.expanded_uncertainty,
        })
    }
}

/// How far meter and reference lie apart in their own uncertainties; `None` where neither has any.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Scores {
    /// Difference over its expanded uncertainty, see [`e_n`].
    #[serde(deserialize_with = "nullable")]
    pub e_n: Option<f64>,
    /// Difference over its standard uncertainty, see [`zeta_score`].
    #[serde(deserialize_with = "nullable")]
    pub zeta: Option<f64>,
}

impl Scores {
    /// From both flows and their correlation.
    pub(super) fn of_sides(meter: &OfQuantity, reference: &OfQuantity, correlation: f64) -> Scores {
        let (x, y) = (meter.value, reference.value);
        let expanded = (meter.expanded_uncertainty, reference.expanded_uncertainty);
        let standard = (meter.standard_uncertainty, reference.standard_uncertainty);
        Scores {
            e_n: e_n(x, expanded.0, y, expanded.1, correlation).ok(),
            zeta: zeta_score(x, standard.0, y, standard.1, correlation).ok(),
        }
    }

    /// From a relative error, whose uncertainty is that of both sides.
    pub(super) fn of_error(error: &OfQuantity) -> Scores {
        Scores {
            e_n: e_n(error.value, error.expanded_uncertainty, 0.0, 0.0, 0.0).ok(),
            zeta: zeta_score(error.value, error.standard_uncertainty, 0.0, 0.0, 0.0).ok(),
        }
    }
}

/// A step of the reference: its name, with the unit as its last part where it has one.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct NamedStep {
    /// The name.
    pub name: &'static str,
    /// The value, in SI units.
    pub value: f64,
}

pub(super) fn step_list(steps: &ReferenceSteps<f64>) -> Vec<NamedStep> {
    let all = [
        ("air_density_kg_m3", steps.air_density),
        ("buoyancy_factor", steps.buoyancy_factor),
        ("mass_kg", steps.mass),
        ("density_at_meter_kg_m3", steps.density_at_meter),
        ("tank_expansion_factor", steps.tank_expansion_factor),
        ("volume_at_reference_m3", steps.volume_at_reference),
        ("density_ratio", steps.density_ratio),
        ("line_pack_m3", steps.line_pack),
        ("duration_s", steps.duration),
        ("volume_m3", steps.volume),
        ("volume_flow_m3_s", steps.volume_flow),
    ];
    let known = all.into_iter().filter(|(_, value)| value.is_finite());
    known
        .map(|(name, value)| NamedStep { name, value })
        .collect()
}

/// One run.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct RunResult {
    /// Its number in the file, from 1.
    pub run: usize,
    /// The flow point.
    pub point: String,
    /// The placement of the sensors.
    pub placement: String,
    /// Remarks in words.
    pub note: String,
    /// The file of readings, as the verification file has it.
    pub readings_file: String,
    /// Volume flow that is compared with the reference value, in m3/s.
    pub meter_flow: OfQuantity,
    /// Volume flow at the meter by the reference, in m3/s.
    pub reference_flow: OfQuantity,
    /// Correlation coefficient of the two; `None` where one has no uncertainty.
    pub correlation: Option<f64>,
    /// Volume by the meter in m3, where the duration is known.
    pub meter_volume: Option<f64>,
    /// Volume at the meter by the reference, in m3.
    pub reference_volume: Option<f64>,
    /// Relative error: flow by the meter less flow by the reference, over the latter.
    pub error: OfQuantity,
    /// Flow by the reference over flow by the meter.
    pub meter_factor: OfQuantity,
    /// How far the flows lie apart; `None` where their agreement is not asked.
    pub scores: Option<Scores>,
    /// The steps from the readings of the reference to its flow.
    pub steps: Vec<NamedStep>,
    /// The budget of the error, in SI units as JSON.
    pub error_budget: Budget,
}

/// One flow point.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct PointResult {
    /// Its name.
    pub point: String,
    /// The numbers of its runs.
    pub runs: Vec<usize>,
    /// Number of placements.
    pub placements: usize,
    /// Mean flow by the reference, in m3/s.
    pub flow: OfQuantity,
    /// Relative error: mean of the means of the placements.
    pub error: OfQuantity,
    /// Flow by the reference over flow by the meter, from the mean error.
    pub meter_factor: OfQuantity,
    /// How far the error lies from zero; `None` where agreement is not asked.
    pub scores: Option<Scores>,
    /// How the runs scatter; `None` where nothing tells it.
    pub repeatability: Option<Repeatability>,
    /// How placements differ; `None` where nothing tells it.
    pub reproducibility: Option<Reproducibility>,
    /// Whether the error conforms; `None` without permissible errors.
    pub conformity: Option<Conformity>,
    /// The budget of the error, in SI units as JSON.
    pub error_budget: Budget,
}

impl PointResult {
    /// The verdict; `None` where nothing is to be decided.
    pub fn verdict(&self) -> Option<Verdict> {
        let by_score = |e_n: f64| {
            if e_n.abs() <= 1.0 {
                Verdict::Agrees
            } else {
                Verdict::DoesNotAgree
            }
        };
        match &self.conformity {
            Some(conformity) => Some(conformity.verdict),
            None => self.scores?.e_n.map(by_score),
        }
    }
}

/// The straight line of relative error against flow through the points.
///
/// # Source
/// Generalised least squares over the covariance matrix of all flows and errors, ISO/TS 28037:2010,
/// clause 10.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct ErrorLine {
    /// The error at no flow, to which the line is an extrapolation.
    pub intercept: f64,
    /// Its standard uncertainty.
    pub intercept_uncertainty: f64,
    /// Change of the error with flow, in s/m3.
    pub slope: f64,
    /// Its standard uncertainty.
    pub slope_uncertainty: f64,
    /// Covariance of the two.
    pub covariance: f64,
    /// The weighted sum of squared residuals.
    #[serde(deserialize_with = "nullable")]
    pub chi_squared: Option<f64>,
    /// The probability of a larger one if the points lie on a line.
    #[serde(deserialize_with = "nullable")]
    pub p_value: Option<f64>,
    /// The least and the greatest flow of the points, in m3/s.
    pub range: (f64, f64),
}

impl ErrorLine {
    pub(super) fn of(line: &StraightLine) -> ErrorLine {
        ErrorLine {
            intercept: line.intercept(),
            intercept_uncertainty: line.intercept_uncertainty(),
            slope: line.slope(),
            slope_uncertainty: line.slope_uncertainty(),
            covariance: line.parameter_covariance(),
            chi_squared: line.chi_squared,
            p_value: line.p_value(),
            range: line.range(),
        }
    }

    /// The error on the line at a flow in m3/s and its standard uncertainty.
    pub fn at(&self, flow: f64) -> (f64, f64) {
        let of_slope = flow * self.slope_uncertainty;
        let square = |x: f64| x * x;
        let variance =
            square(self.intercept_uncertainty) + square(of_slope) + 2.0 * flow * self.covariance;
        (self.intercept + self.slope * flow, variance.max(0.0).sqrt())
    }
}

/// The answer for all flow points together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Decision {
    /// The verdict: no where one point says so, undecided where one point is.
    pub verdict: Verdict,
    /// The points at which the answer is no.
    pub not_accepted: Vec<String>,
    /// The points at which nothing can be decided.
    pub undecided: Vec<String>,
    /// An upper bound of the probability that some point does not conform: the sum of those of the
    /// points (Bonferroni); `None` for the agreement of results.
    #[serde(deserialize_with = "nullable")]
    pub largest_consumers_risk: Option<f64>,
    /// The decision in words.
    pub words: String,
    /// The same, to be said in any language; nothing as read from a record.
    #[serde(skip)]
    pub sentence: Sentence,
}

/// The result of a verification.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct VerificationResult {
    /// The name of the verification.
    pub name: String,
    /// Remarks in words.
    pub note: String,
    /// The name of the site.
    pub site: String,
    /// What is asked.
    pub question: Question,
    /// What is compared with the reference value.
    pub indicated: Indicated,
    /// The values on the side of the meter that the error contains, right or wrong, and whose
    /// uncertainty is none of the error.
    pub fixed: Vec<FixedValue>,
    /// The kind of reference.
    pub reference: ReferenceKind,
    /// The reference in words.
    pub reference_name: String,
    /// The coverage probability of expanded uncertainties.
    pub coverage_probability: f64,
    /// The runs in the order of the file.
    pub runs: Vec<RunResult>,
    /// The flow points.
    pub points: Vec<PointResult>,
    /// Covariance matrix of the errors of the points.
    pub error_covariance: Vec<Vec<f64>>,
    /// Their correlation matrix; `None` where a point has no uncertainty.
    pub error_correlation: Vec<Vec<Option<f64>>>,
    /// The line of error against flow, through three points or more.
    pub line: Option<ErrorLine>,
    /// Why there is no line, where three points have none.
    pub line_refused: Option<String>,
    /// The decision; `None` without permissible errors, or without uncertainties where agreement is
    /// asked.
    pub decision: Option<Decision>,
    /// What a reader must be told beside.
    pub warnings: Vec<Warning>,
    /// The unit in which flows are shown.
    pub flow_unit: Unit,
    pub(super) limits: Option<Permissible>,
    /// The verification file: its name without its folders, and its text.
    pub(crate) file: (String, Arc<str>),
    /// The measurement model of the runs.
    pub run_model: RunsModel,
    /// Its inputs: the union of those of all runs.
    pub run_inputs: InputSet,
    /// The measurement model of the flow points.
    pub model: PointsModel,
    /// Its inputs: those of the runs and their scatter.
    pub inputs: InputSet,
    /// The evaluation of the site in each run.
    pub evaluations: Vec<Evaluation>,
}

/// Share of the permissible error above which the uncertainty of the reference is large: a third,
/// common practice without source.
const REFERENCE_SHARE: f64 = 1.0 / 3.0;

impl VerificationResult {
    /// Whether every flow point is accepted, or both results agree at each; `None` without a
    /// question to decide, and where it cannot be decided.
    pub fn accepted(&self) -> Option<bool> {
        self.verdict()?.accepted()
    }

    /// The verdict; `None` without permissible errors.
    pub fn verdict(&self) -> Option<Verdict> {
        self.decision.as_ref().map(|decision| decision.verdict)
    }

    /// Propagates the distributions of all inputs through the model of the flow points
    /// (JCGM 101:2008): error, meter factor and flow of each point, trial by trial.
    ///
    /// # Errors
    /// As [`MonteCarlo::joint`]; so for an input with two degrees of freedom or less, such as the
    /// scatter of three runs: Student's t then has no finite variance. Pool it, or make more runs.
    pub fn monte_carlo(&self, run: MonteCarlo) -> Result<JointTrials> {
        self.monte_carlo_watched(run, &mut unwatched)
    }

    /// As [`VerificationResult::monte_carlo`], with somebody who looks on and may end it.
    ///
    /// # Errors
    /// As [`VerificationResult::monte_carlo`]; [`Error::Cancelled`](crate::Error::Cancelled).
    pub fn monte_carlo_watched(
        &self,
        run: MonteCarlo,
        watch: &mut Watch<'_>,
    ) -> Result<JointTrials> {
        run.joint_watched(&self.model, &self.inputs, watch)
    }

    /// The share of trials in which the errors of all points are permissible; `None` without
    /// permissible errors.
    pub fn conforming_share(&self, trials: &JointTrials) -> Option<f64> {
        let limits = self.limits?;
        let errors: Vec<&[f64]> = (0..self.points.len())
            .map(|point| trials.values(PointsModel::error_of(point)))
            .collect();
        let count = trials.trials();
        let conforms = |trial: &usize| errors.iter().all(|error| limits.contains(error[*trial]));
        let conforming = (0..count).filter(conforms).count();
        Some(conforming as f64 / count as f64)
    }

    /// Error, meter factor and flow of all points with their covariance matrix, of first order.
    ///
    /// # Errors
    /// None for a result of [`Site::verify`](crate::site::Site::verify).
    pub fn joint_result(&self) -> Result<JointResult> {
        let budgets = propagate(&self.model, &self.inputs)?;
        JointResult::of_budgets(&budgets, &self.inputs)
    }

    pub(super) fn warn(&mut self, stated_remounting: f64) {
        let mut warnings = Vec::new();
        for point in &self.points {
            let name = &point.point;
            match &point.repeatability {
                None => warnings.push(Warning::told(
                    "repeatability-unknown",
                    message!(
                        "warnings.repeatability-unknown",
                        "point {point} has one run, which does not tell its repeatability",
                        point = Told::Theirs(name.clone())
                    ),
                )),
                Some(r) if r.standard_deviation == 0.0 => warnings.push(Warning::told(
                    "no-scatter",
                    message!(
                        "warnings.no-scatter",
                        "the runs of point {point} do not scatter at all; are they copies?",
                        point = Told::Theirs(name.clone())
                    ),
                )),
                Some(r) if r.dof < 3.0 => warnings.push(Warning::told(
                    "few-runs",
                    message!(
                        "warnings.few-runs",
                        "the repeatability of point {point} has {dof} degrees of freedom, so the \
                         coverage factor is large and Monte Carlo without a finite variance up to \
                         2; make more runs, or pool it with {pooled}",
                        point = Told::Theirs(name.clone()),
                        dof = format!("{:.0}", r.dof),
                        pooled = Told::Key("repeatability = \"pooled\"")
                    ),
                )),
                Some(_) => {}
            }
            let found = point.reproducibility.as_ref();
            if let Some(found) = found.filter(|_| stated_remounting > 0.0) {
                let dof = (found.placements - 1) as f64;
                let limit = (chi_squared_quantile(0.95, dof) / dof).sqrt() * stated_remounting;
                if found.between_placements > limit {
                    warnings.push(Warning::told(
                        "placements-differ",
                        message!(
                            "warnings.placements-differ",
                            "at point {point} placements differ with a standard deviation of \
                             {found}, more than {key} allows ({stated})",
                            point = Told::Theirs(name.clone()),
                            found = format!("{:.2} %", 100.0 * found.between_placements),
                            key = Told::Key("installation.remounting"),
                            stated = format!("{:.2} %", 100.0 * stated_remounting)
                        ),
                    ));
                }
            }
            if let Some(limits) = self.limits {
                let width = limits.upper() - limits.lower();
                let runs = self.runs.iter().filter(|run| run.point == *name);
                let relative =
                    runs.map(|r| r.reference_flow.expanded_uncertainty / r.reference_flow.value);
                let largest = relative.fold(0.0, f64::max);
                if width.is_finite() && largest > REFERENCE_SHARE * 0.5 * width {
                    warnings.push(Warning::told(
                        "weak-reference",
                        message!(
                            "warnings.weak-reference",
                            "at point {point} the expanded uncertainty of the reference, {largest}, \
                             is more than a third of the permissible error",
                            point = Told::Theirs(name.clone()),
                            largest = format!("{:.2} %", 100.0 * largest)
                        ),
                    ));
                }
            }
        }
        let mut placements: Vec<&str> = self.runs.iter().map(|r| r.placement.as_str()).collect();
        placements.sort_unstable();
        placements.dedup();
        let elsewhere = self.question != Question::ErrorAsInstalled;
        if elsewhere && placements.len() == 1 && stated_remounting == 0.0 {
            warnings.push(Warning::told(
                "placement-unknown",
                message!(
                    "warnings.placement-unknown",
                    "one placement of the sensors, and no {key} in the site file: \
                     nothing tells what mounting them anew would change",
                    key = Told::Key("installation.remounting")
                ),
            ));
        }
        for (evaluation, run) in self.evaluations.iter().zip(&self.runs) {
            for found in evaluation.warnings() {
                if !warnings.iter().any(|w: &Warning| w.code == found.code) {
                    let words = match found.message {
                        Some(message) => Told::from(message),
                        None => Told::Theirs(found.words),
                    };
                    let message = message!(
                        "warnings.of-run",
                        "run {run}: {words}",
                        run = run.run.to_string(),
                        words = words
                    );
                    warnings.push(Warning::told(found.code, message));
                }
            }
        }
        self.warnings = warnings;
    }
}
