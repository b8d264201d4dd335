//! What a record holds. Numbers are in SI units unless a `unit` stands beside them; every key is
//! there always, with `null` for what does not exist or is infinite.

mod verification;

pub use verification::{
    FixedRow, PointRow, RunReadings, RunRow, VerificationInputs, VerificationRecord,
    VerificationResults, VerificationTrials, VerifiedPoint,
};

use crate::digest::{canonical_json, sha256};
use crate::evaluate::{GivenReadings, Warning};
use crate::json::nullable;
use crate::montecarlo::Verdict;
use crate::text::shown;
use crate::uncertainty::{Budget, TableRow, Units};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// The whole file.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Document {
    /// `flowdoubt record`.
    pub(super) format: String,
    /// The version of the format.
    pub(super) version: u32,
    /// The software that computed the results.
    pub(super) software: Software,
    /// What everybody who uses a result must know.
    pub(super) cautions: String,
    /// Inputs and results.
    pub(super) content: Content,
    /// The digest of all the rest.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) digest: Option<Digest>,
}

impl Document {
    /// The digest of the document without its digest.
    pub(super) fn digest_of_the_rest(&self) -> String {
        let rest = Document {
            digest: None,
            ..self.clone()
        };
        // numbers, texts and lists always have a form in JSON
        sha256(&canonical_json(&rest).unwrap_or_default())
    }
}

/// The digest of a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct Digest {
    algorithm: Algorithm,
    canonical_form: CanonicalForm,
    /// 64 hexadecimal digits in lower case.
    pub(super) value: String,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
enum Algorithm {
    /// FIPS 180-4.
    #[serde(rename = "SHA-256")]
    Sha256,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize, JsonSchema)]
enum CanonicalForm {
    /// The JSON canonicalization scheme, of the record without the key `digest`.
    #[serde(rename = "RFC 8785")]
    Rfc8785,
}

impl Digest {
    pub(super) fn sha256(value: String) -> Digest {
        Digest {
            algorithm: Algorithm::Sha256,
            canonical_form: CanonicalForm::Rfc8785,
            value,
        }
    }
}

/// The software that computed results.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Software {
    /// Its name.
    pub name: String,
    /// Its version.
    pub version: String,
}

impl Software {
    /// This software.
    pub fn this() -> Software {
        Software {
            name: env!("CARGO_PKG_NAME").to_owned(),
            version: env!("CARGO_PKG_VERSION").to_owned(),
        }
    }

    /// Name and version.
    pub fn in_words(&self) -> String {
        shown(&format!("{} {}", self.name, self.version)).into_owned()
    }
}

/// What a record is of.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
#[non_exhaustive]
pub enum Content {
    /// The evaluation of readings to a volume flow.
    Evaluation(Box<EvaluationRecord>),
    /// The verification of a meter against a reference.
    Verification(Box<VerificationRecord>),
}

/// An evaluation: everything it was computed from, and everything that was computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct EvaluationRecord {
    /// The inputs in the words given.
    pub inputs: EvaluationInputs,
    /// The results to the last bit.
    pub results: EvaluationResults,
}

/// The inputs of an evaluation in the words given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct EvaluationInputs {
    /// The measurement model.
    pub model: String,
    /// The site file.
    pub site: NamedText,
    /// The readings.
    pub readings: GivenReadings,
    /// Readings at no flow for the check of the zero.
    #[serde(deserialize_with = "nullable")]
    pub readings_at_no_flow: Option<GivenReadings>,
    /// Whether the inputs were reconciled with the transit time.
    pub reconciled: bool,
    /// How Monte Carlo was run.
    #[serde(deserialize_with = "nullable")]
    pub monte_carlo: Option<MonteCarloInputs>,
}

/// The text of a file.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct NamedText {
    /// The name of the file, without its folders.
    pub file: String,
    /// Its text.
    pub text: String,
}

/// How Monte Carlo was run.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct MonteCarloInputs {
    /// Number of trials.
    pub trials: u64,
    /// The seed in decimal digits: as a number it may have more of them than JSON keeps.
    pub seed: String,
    /// Number of significant digits of the standard uncertainty regarded as meaningful.
    pub digits: u32,
}

impl Content {
    /// The name of the measurement model that computed the results.
    pub fn model(&self) -> &str {
        match self {
            Content::Evaluation(record) => &record.inputs.model,
            Content::Verification(record) => &record.inputs.model,
        }
    }

    /// The name of the site and the result in one line.
    pub fn headline(&self) -> (&str, &str) {
        match self {
            Content::Evaluation(record) => (&record.results.site, &record.results.headline),
            Content::Verification(record) => (&record.results.site, &record.results.headline),
        }
    }
}

impl MonteCarloInputs {
    /// The largest number of trials in a record, divided among its outputs, so that none takes hours
    /// or all memory to reproduce.
    pub const MOST_TRIALS: u64 = 20_000_000;
}

/// The results of an evaluation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct EvaluationResults {
    /// The name of the site.
    pub site: String,
    /// The result in one line, rounded (JCGM 100:2008, 7.2.6).
    pub headline: String,
    /// Number of readings.
    pub readings: usize,
    /// The volume flow.
    pub volume_flow_m3_s: f64,
    /// Its combined standard uncertainty.
    pub standard_uncertainty_m3_s: f64,
    /// Its effective degrees of freedom.
    #[serde(deserialize_with = "nullable")]
    pub effective_dof: Option<f64>,
    /// The coverage probability.
    pub coverage_probability: f64,
    /// The degrees of freedom of the coverage factor, truncated.
    #[serde(deserialize_with = "nullable")]
    pub coverage_dof: Option<f64>,
    /// The coverage factor.
    pub coverage_factor: f64,
    /// The expanded uncertainty.
    pub expanded_uncertainty_m3_s: f64,
    /// The unit in which the flow is shown.
    pub flow_unit: String,
    /// How the path velocity follows from the readings.
    pub basis: String,
    /// The profile law.
    pub profile_law: String,
    /// The state of the flow.
    pub regime: String,
    /// Every step from readings to flow.
    pub steps: Vec<NamedNumber>,
    /// The budget, one row for each input.
    pub budget: Vec<BudgetRow>,
    /// The correlated inputs.
    pub correlations: Vec<CorrelationRow>,
    /// The shares of the variance by component.
    pub components: Vec<ComponentShare>,
    /// What Monte Carlo found.
    #[serde(deserialize_with = "nullable")]
    pub monte_carlo: Option<MonteCarloResults>,
    /// What the reconciliation found.
    #[serde(deserialize_with = "nullable")]
    pub reconciliation: Option<ReconciliationResults>,
    /// The checks made.
    pub checks: Checks,
    /// What a reader must be told beside the uncertainty.
    pub warnings: Vec<WarningRow>,
}

/// A number by name, with the unit as the last part of the name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct NamedNumber {
    /// The name.
    pub name: String,
    /// The value.
    pub value: f64,
}

/// A row of a budget in SI units: the one of the table of the budget, with the unit of the output in the
/// name of the contribution.
macro_rules! budget_row {
    ($(#[$what:meta])* $name:ident, $(#[$sensitivity:meta])* sensitivity, $contribution:ident) => {
        $(#[$what])*
        #[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            /// The input.
            pub name: String,
            /// The component of the budget to which it belongs.
            pub component: String,
            /// The estimate, in `unit`.
            pub estimate: f64,
            /// The standard uncertainty, in `unit`.
            pub standard_uncertainty: f64,
            /// The SI unit of both.
            pub unit: String,
            /// The distribution in words.
            pub distribution: String,
            /// The degrees of freedom.
            #[serde(deserialize_with = "nullable")]
            pub dof: Option<f64>,
            $(#[$sensitivity])*
            pub sensitivity: f64,
            /// The contribution with its sign.
            pub $contribution: f64,
            /// The share of the variance.
            pub share: f64,
            /// Where the input comes from, in words.
            pub evidence: String,
        }

        impl From<TableRow> for $name {
            fn from(row: TableRow) -> $name {
                $name {
                    name: row.input,
                    component: row.component,
                    estimate: row.estimate,
                    standard_uncertainty: row.standard_uncertainty,
                    unit: row.unit,
                    distribution: row.distribution.to_owned(),
                    dof: row.dof,
                    sensitivity: row.sensitivity,
                    $contribution: row.contribution,
                    share: row.share,
                    evidence: row.evidence,
                }
            }
        }
    };
}

budget_row! {
    /// A row of the budget, in SI units.
    BudgetRow,
    /// The sensitivity coefficient, in m3/s over `unit`.
    sensitivity, contribution_m3_s
}

budget_row! {
    /// A row of the budget of an error, which is a ratio; the input is in SI units.
    ContributionRow,
    /// The sensitivity coefficient, in 1 over `unit`.
    sensitivity, contribution
}

/// The rows of a budget, in SI units.
pub(super) fn budget_rows<R: From<TableRow>>(budget: &Budget) -> Vec<R> {
    budget.rows(Units::Si).into_iter().map(R::from).collect()
}

/// Two correlated inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct CorrelationRow {
    /// The names of the inputs.
    pub between: [String; 2],
    /// Their correlation coefficient.
    pub coefficient: f64,
}

/// The share of a component of the budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct ComponentShare {
    /// The component.
    pub name: String,
    /// Its share of the variance.
    pub share: f64,
}

/// What Monte Carlo found (JCGM 101:2008).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct MonteCarloResults {
    /// The mean of the trials.
    pub mean_m3_s: f64,
    /// Their standard deviation.
    pub standard_uncertainty_m3_s: f64,
    /// Trials without a finite result, which were allowed and left out.
    pub failed: u64,
    /// The probabilistically symmetric coverage interval.
    pub symmetric_interval_m3_s: [f64; 2],
    /// The shortest coverage interval.
    pub shortest_interval_m3_s: [f64; 2],
    /// The interval of first order.
    pub first_order_interval_m3_s: [f64; 2],
    /// The numerical tolerance of the comparison.
    pub tolerance_m3_s: f64,
    /// Whether the ends of the trials differ from those of first order by no more than the tolerance,
    /// whatever their error.
    pub first_order_validated: bool,
    /// Whether first order is validated (clause 8), with the error of the ends; older records have
    /// none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schemars(with = "Verdict")]
    pub verdict: Option<Verdict>,
}

/// What the reconciliation with the transit time found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct ReconciliationResults {
    /// The chi-square, with one degree of freedom.
    pub chi_square: f64,
    /// The probability of a larger one.
    pub probability: f64,
    /// The inputs that moved or gained.
    pub adjustments: Vec<ReconciledInput>,
}

/// An input before and after reconciliation, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct ReconciledInput {
    /// The input.
    pub name: String,
    /// Its estimate before.
    pub before: f64,
    /// Its standard uncertainty before.
    pub uncertainty_before: f64,
    /// Its estimate after.
    pub after: f64,
    /// Its standard uncertainty after.
    pub uncertainty_after: f64,
}

/// The checks made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Checks {
    /// Measured against expected sound speed of the liquid, in m/s.
    #[serde(deserialize_with = "nullable")]
    pub sound_speed: Option<Check>,
    /// The zero from readings at no flow against the stated one, in s, or in m/s on the indicated
    /// basis.
    #[serde(deserialize_with = "nullable")]
    pub zero: Option<Check>,
    /// Programmed against surveyed parameters.
    pub programmed: Vec<ProgrammedResult>,
}

/// Something found against something expected, in SI units.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct Check {
    /// What was found.
    pub found: f64,
    /// What was expected.
    pub expected: f64,
    /// The standard uncertainty of the difference.
    pub standard_uncertainty: f64,
    /// The difference in standard uncertainties.
    #[serde(deserialize_with = "nullable")]
    pub standardised: Option<f64>,
    /// Whether it is within two standard uncertainties.
    pub agrees: bool,
}

/// A programmed parameter against the surveyed one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct ProgrammedResult {
    /// The parameter.
    pub name: String,
    /// The unit of the numbers.
    pub unit: String,
    /// What was programmed.
    pub programmed: f64,
    /// What was surveyed.
    pub surveyed: f64,
    /// The standard uncertainty of what was surveyed.
    pub standard_uncertainty: f64,
    /// The difference in standard uncertainties.
    #[serde(deserialize_with = "nullable")]
    pub standardised: Option<f64>,
}

/// A warning.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct WarningRow {
    /// A name that never changes.
    pub name: String,
    /// What was found and what to do.
    pub words: String,
}

impl From<Warning> for WarningRow {
    fn from(warning: Warning) -> WarningRow {
        WarningRow {
            name: warning.code.to_owned(),
            words: warning.words,
        }
    }
}
