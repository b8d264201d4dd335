//! The verification file: TOML sections as they are written.

use super::quantity::{ReferenceQuantity, with_quantities};
use super::question::{Indicated, Question};
use crate::error::Result;
use crate::site::{CorrelationSection, Stated, parse_sections};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::path::Path;
use toml::Spanned;

pub(super) type Entry = Option<Spanned<Stated>>;

/// A whole verification file.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct VerificationFile {
    /// What is verified and how it is judged.
    pub verification: VerificationSection,
    /// The reference; what is stated here is one input that all runs share.
    pub reference: Spanned<ReferenceSection>,
    /// Flow points; what is stated here is one input that the runs of the point share.
    #[serde(default)]
    pub point: Vec<Spanned<PointSection>>,
    /// The runs; what is stated here belongs to the run.
    pub run: Vec<Spanned<RunSection>>,
    /// Correlated inputs, by their names in the budget.
    #[serde(default)]
    pub correlation: Vec<CorrelationSection>,
}

/// Section `[verification]`.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct VerificationSection {
    /// The name of the verification.
    #[serde(deserialize_with = "crate::site::fit_to_show")]
    pub name: String,
    /// Remarks in words.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub note: String,
    /// What is asked.
    pub question: Option<Spanned<Question>>,
    /// What is compared with the reference value.
    pub indicated: Option<Spanned<Indicated>>,
    /// The largest permissible relative error either way, such as `2 %`.
    pub permissible_error: Option<Spanned<String>>,
    /// The lower limit of the relative error, where the two differ.
    pub lower_limit: Option<Spanned<String>>,
    /// The upper limit of the relative error.
    pub upper_limit: Option<Spanned<String>>,
    /// Where the acceptance limits lie.
    pub rule: Option<Spanned<Rule>>,
    /// The largest expanded uncertainty for simple acceptance, as a share of the permissible error;
    /// a third where not stated.
    pub uncertainty_at_most: Option<Spanned<UncertaintyLimit>>,
    /// The probability with which the guarded decision is right; 0.95 where not stated.
    pub probability: Option<Spanned<f64>>,
    /// What was known of the error of such meters beforehand, for Bayesian and global risks.
    pub prior: Option<Spanned<PriorSection>>,
    /// From which runs the repeatability of a point is judged.
    #[serde(default)]
    pub repeatability: Option<Spanned<RepeatabilityFrom>>,
}

/// Table `prior` of `[verification]`: a normal distribution of true errors.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct PriorSection {
    /// Its mean; 0 where not stated.
    pub mean: Option<String>,
    /// Its standard deviation.
    pub standard_deviation: String,
    /// Where it comes from, in words.
    #[expect(dead_code, reason = "for who reads the file")]
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub evidence: String,
}

/// The decision rule (JCGM 106:2012, clause 8).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
#[non_exhaustive]
pub enum Rule {
    /// Acceptance limits at the permissible limits (8.2), where the expanded uncertainty is small
    /// against them.
    #[serde(rename = "simple acceptance")]
    SimpleAcceptance,
    /// Acceptance limits a guard band inside, for the consumer (8.3.2). The default.
    #[default]
    #[serde(rename = "guarded acceptance")]
    GuardedAcceptance,
    /// Acceptance limits a guard band outside, for the producer (8.3.3).
    #[serde(rename = "guarded rejection")]
    GuardedRejection,
}

impl Rule {
    /// The rule in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Rule::SimpleAcceptance => "simple acceptance",
            Rule::GuardedAcceptance => "guarded acceptance",
            Rule::GuardedRejection => "guarded rejection",
        }
    }
}

/// The largest expanded uncertainty for simple acceptance, as a share of the permissible error: half
/// of the distance between two limits, or the one limit there is.
///
/// # Source
/// Practice of OIML recommendations, from memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, JsonSchema)]
pub enum UncertaintyLimit {
    /// A third. The default.
    #[default]
    #[serde(rename = "1/3")]
    Third,
    /// A fifth.
    #[serde(rename = "1/5")]
    Fifth,
}

impl UncertaintyLimit {
    /// The share of the permissible error.
    pub fn share(self) -> f64 {
        match self {
            UncertaintyLimit::Third => 1.0 / 3.0,
            UncertaintyLimit::Fifth => 0.2,
        }
    }
}

/// From which runs the repeatability of a point is judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum RepeatabilityFrom {
    /// From the runs of the point alone. The default.
    #[default]
    Point,
    /// From the runs of all points together, where they scatter alike.
    Pooled,
}

/// What the reference is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[non_exhaustive]
pub enum ReferenceKind {
    /// A weighed tank (ISO 4185).
    #[serde(rename = "weighing")]
    Weighing,
    /// A tank of known volume (ISO 8316).
    #[serde(rename = "volumetric tank")]
    VolumetricTank,
    /// Another meter with a certificate.
    #[serde(rename = "master meter")]
    MasterMeter,
}

impl ReferenceKind {
    /// The kind in words.
    pub fn in_words(self) -> &'static str {
        match self {
            ReferenceKind::Weighing => "weighing",
            ReferenceKind::VolumetricTank => "volumetric tank",
            ReferenceKind::MasterMeter => "master meter",
        }
    }
}

/// How a run begins and ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum Start {
    /// The flow runs all the time and a diverter turns it into the tank.
    Flying,
    /// The flow starts from rest and comes to rest again.
    Standing,
}

/// Whether meter and reference were read at the same time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Deserialize)]
pub(super) enum Timing {
    /// At the same time. The default.
    #[default]
    #[serde(rename = "simultaneous")]
    Simultaneous,
    /// One after the other, so that the flow may have changed.
    #[serde(rename = "in series")]
    InSeries,
}

/// On which side of the reference the meter is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(super) enum MeterPlace {
    /// The liquid passes the meter first.
    Upstream,
    /// The liquid passes the reference first.
    Downstream,
}

macro_rules! section {
    ($($name:ident, $key:ident, $dimension:ident, $component:ident, $default:expr, $label:expr, $doc:expr;)*) => {
        /// Section `[reference]`.
        #[derive(Debug, Clone, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(super) struct ReferenceSection {
            /// What it is, in words.
            #[serde(default, deserialize_with = "crate::site::fit_to_show")]
            pub name: String,
            /// The kind of reference.
            pub kind: Spanned<ReferenceKind>,
            /// How a run begins and ends, for tanks.
            pub start: Option<Spanned<Start>>,
            /// Whether meter and reference were read at the same time.
            #[serde(default)]
            pub timing: Option<Spanned<Timing>>,
            /// On which side of the reference the meter is, for the line between them.
            pub meter: Option<Spanned<MeterPlace>>,
            $(#[doc = $doc] pub $key: Entry,)*
        }

        /// Table `[[point]]`.
        #[derive(Debug, Clone, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(super) struct PointSection {
            /// The name by which runs refer to it.
            #[serde(deserialize_with = "crate::site::fit_to_show_at")]
            pub name: Spanned<String>,
            $(#[doc = $doc] pub $key: Entry,)*
        }

        /// Table `[[run]]`.
        #[derive(Debug, Clone, Deserialize)]
        #[serde(deny_unknown_fields)]
        pub(super) struct RunSection {
            /// The flow point to which the run belongs.
            #[serde(deserialize_with = "crate::site::fit_to_show_at")]
            pub point: Spanned<String>,
            /// The placement of the sensors with which it was made.
            #[serde(default = "only_placement", deserialize_with = "crate::site::fit_to_show")]
            pub placement: String,
            /// The file of readings of the meter (CSV), from the directory of this file.
            pub readings: Spanned<String>,
            /// Remarks in words.
            #[serde(default, deserialize_with = "crate::site::fit_to_show")]
            pub note: String,
            $(#[doc = $doc] pub $key: Entry,)*
        }

        impl ReferenceSection {
            pub(super) fn stated(&self) -> Vec<(ReferenceQuantity, &Entry)> {
                vec![$((ReferenceQuantity::$name, &self.$key),)*]
            }
        }

        impl PointSection {
            pub(super) fn stated(&self) -> Vec<(ReferenceQuantity, &Entry)> {
                vec![$((ReferenceQuantity::$name, &self.$key),)*]
            }
        }

        impl RunSection {
            pub(super) fn stated(&self) -> Vec<(ReferenceQuantity, &Entry)> {
                vec![$((ReferenceQuantity::$name, &self.$key),)*]
            }
        }
    };
}
with_quantities!(section);

fn only_placement() -> String {
    "1".to_owned()
}

impl VerificationFile {
    /// Reads the sections; `file` is the name used in errors.
    ///
    /// # Errors
    /// What is not TOML, an unknown key, a missing section or key, a value of the wrong kind.
    pub fn parse(text: &str, file: &Path) -> Result<VerificationFile> {
        parse_sections(text, file, "verification file")
    }
}
