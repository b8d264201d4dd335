//! What the record of a verification holds.

use super::{
    ContributionRow, CorrelationRow, MonteCarloInputs, NamedNumber, NamedText, WarningRow,
};
use crate::evaluate::GivenReadings;
use crate::json::nullable;
use crate::verify::{
    Conformity, Decision, ErrorLine, Indicated, OfQuantity, Question, ReferenceKind, Repeatability,
    Reproducibility, Scores,
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A verification: everything it was computed from, and everything that was computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct VerificationRecord {
    /// The inputs in the words given.
    pub inputs: VerificationInputs,
    /// The results to the last bit.
    pub results: VerificationResults,
}

/// The inputs of a verification in the words given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct VerificationInputs {
    /// The measurement model of the site.
    pub model: String,
    /// The site file.
    pub site: NamedText,
    /// The verification file.
    pub verification: NamedText,
    /// The readings of the meter, each file once.
    pub readings: Vec<RunReadings>,
    /// How Monte Carlo was run.
    #[serde(deserialize_with = "nullable")]
    pub monte_carlo: Option<MonteCarloInputs>,
}

/// The readings of the runs that name the same file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct RunReadings {
    /// The file as the verification file names it.
    pub name: String,
    /// The readings.
    pub readings: GivenReadings,
}

/// The results of a verification. Errors and factors are ratios.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct VerificationResults {
    /// The name of the site.
    pub site: String,
    /// The name of the verification.
    pub verification: String,
    /// The decision or, without permissible errors, the errors in one line.
    pub headline: String,
    /// What is asked.
    pub question: Question,
    /// What is compared with the reference value.
    pub indicated: Indicated,
    /// The values on the side of the meter that the error contains, in SI units.
    pub fixed: Vec<FixedRow>,
    /// The kind of reference.
    pub reference: ReferenceKind,
    /// The reference in words.
    pub reference_name: String,
    /// The coverage probability of expanded uncertainties.
    pub coverage_probability: f64,
    /// The unit in which flows are shown.
    pub flow_unit: String,
    /// The runs in the order of the file.
    pub runs: Vec<RunRow>,
    /// The flow points.
    pub points: Vec<PointRow>,
    /// Covariance matrix of the errors of the points.
    pub error_covariance: Vec<Vec<f64>>,
    /// Their correlation matrix, with `null` where a point has no uncertainty.
    pub error_correlation: Vec<Vec<Option<f64>>>,
    /// The line of error against flow.
    #[serde(deserialize_with = "nullable")]
    pub line: Option<ErrorLine>,
    /// Why there is no line, where three points have none.
    #[serde(deserialize_with = "nullable")]
    pub line_refused: Option<String>,
    /// The correlated inputs of the points.
    pub correlations: Vec<CorrelationRow>,
    /// The decision; `null` where nothing is to be decided.
    #[serde(deserialize_with = "nullable")]
    pub decision: Option<Decision>,
    /// What Monte Carlo found.
    #[serde(deserialize_with = "nullable")]
    pub monte_carlo: Option<VerificationTrials>,
    /// What a reader must be told beside.
    pub warnings: Vec<WarningRow>,
}

/// A value on the side of the meter that has no uncertainty in the answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct FixedRow {
    /// Its name.
    pub name: String,
    /// The value, in `unit`.
    pub value: f64,
    /// Its SI unit.
    pub unit: String,
}

/// One run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct RunRow {
    /// Its number in the file, from 1.
    pub name: String,
    /// The flow point.
    pub point: String,
    /// The placement of the sensors.
    pub placement: String,
    /// Volume flow that is compared with the reference value, in m3/s.
    pub meter_flow_m3_s: OfQuantity,
    /// Volume flow at the meter by the reference, in m3/s.
    pub reference_flow_m3_s: OfQuantity,
    /// Correlation coefficient of the two; `null` where one has no uncertainty.
    #[serde(deserialize_with = "nullable")]
    pub correlation: Option<f64>,
    /// Volume by the meter, where the duration is known.
    #[serde(deserialize_with = "nullable")]
    pub meter_volume_m3: Option<f64>,
    /// Volume at the meter by the reference.
    #[serde(deserialize_with = "nullable")]
    pub reference_volume_m3: Option<f64>,
    /// Relative error.
    pub error: OfQuantity,
    /// Flow by the reference over flow by the meter.
    pub meter_factor: OfQuantity,
    /// How far the flows lie apart; `null` where their agreement is not asked.
    #[serde(deserialize_with = "nullable")]
    pub scores: Option<Scores>,
    /// The steps from the readings of the reference to its flow.
    pub steps: Vec<NamedNumber>,
    /// The budget of the error.
    pub budget: Vec<ContributionRow>,
}

/// One flow point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct PointRow {
    /// Its name.
    pub name: String,
    /// The numbers of its runs.
    pub runs: Vec<usize>,
    /// Number of placements.
    pub placements: usize,
    /// Mean flow by the reference, in m3/s.
    pub flow_m3_s: OfQuantity,
    /// Relative error.
    pub error: OfQuantity,
    /// Flow by the reference over flow by the meter.
    pub meter_factor: OfQuantity,
    /// How far the error lies from zero; `null` where agreement is not asked.
    #[serde(deserialize_with = "nullable")]
    pub scores: Option<Scores>,
    /// How the runs scatter; `null` where nothing tells it.
    #[serde(deserialize_with = "nullable")]
    pub repeatability: Option<Repeatability>,
    /// How placements differ; `null` where nothing tells it.
    #[serde(deserialize_with = "nullable")]
    pub reproducibility: Option<Reproducibility>,
    /// Whether the error conforms; `null` without permissible errors.
    #[serde(deserialize_with = "nullable")]
    pub conformity: Option<Conformity>,
    /// The budget of the error.
    pub budget: Vec<ContributionRow>,
}

/// What Monte Carlo found of a verification (JCGM 101:2008).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct VerificationTrials {
    /// The flow points.
    pub points: Vec<VerifiedPoint>,
    /// The share of trials in which all points conform; `null` without permissible errors.
    #[serde(deserialize_with = "nullable")]
    pub conforming_share: Option<f64>,
}

/// What the trials say of the error of a flow point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct VerifiedPoint {
    /// The flow point.
    pub name: String,
    /// The mean of the trials.
    pub mean: f64,
    /// Their standard deviation.
    pub standard_uncertainty: f64,
    /// The shortest coverage interval.
    pub shortest_interval: [f64; 2],
}
