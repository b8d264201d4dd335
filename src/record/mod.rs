//! The record of a result: one JSON file with all inputs in the words given and all results to the
//! last bit, from which anybody can recompute the result and see whether it was changed.

mod compare;
mod content;
mod evaluation;
mod model_record;
mod reading;
mod schema;
mod verification;
mod worksheet;

pub use crate::digest::{canonical_json, sha256};
pub use compare::{Difference, Reproduction};
pub use content::{
    BudgetRow, Check, Checks, ComponentShare, Content, ContributionRow, CorrelationRow,
    EvaluationInputs, EvaluationRecord, EvaluationResults, FixedRow, MonteCarloInputs,
    MonteCarloResults, NamedNumber, NamedText, PointRow, ProgrammedResult, ReconciledInput,
    ReconciliationResults, RunReadings, RunRow, Software, VerificationInputs, VerificationRecord,
    VerificationResults, VerificationTrials, VerifiedPoint, WarningRow,
};
pub use evaluation::{Extras, Recomputed};
pub use model_record::{ModelRecord, RecordedContribution, RecordedOutput, RecordedTrials};
pub use worksheet::{Form, Line, Worksheet};

use crate::error::{Error, Result};
use crate::evaluate::{CAUTIONS, Evaluation};
use crate::files::{Kind, read_text};
use crate::model::SiteModel;
use crate::montecarlo::JointTrials;
use crate::saving::write_whole;
use crate::verify::VerificationResult;
use crate::watch::{Watch, unwatched};
use content::{Digest, Document};
use std::path::Path;
use std::sync::Arc;

/// A record: what was computed from what, with which software.
///
/// # Example
/// Record an evaluation, read the record back and recompute it:
/// ```
/// use flowdoubt::record::{Extras, Record};
/// use flowdoubt::{evaluate::Readings, montecarlo::MonteCarlo, site::Site};
///
/// let site = Site::load("notebooks/demo/site.toml")?;
/// let evaluation = site.evaluate(&Readings::from_csv("notebooks/demo/readings.csv")?)?;
/// let trials = evaluation.monte_carlo(MonteCarlo { trials: 1000, ..MonteCarlo::default() })?;
/// let record = Record::of(&evaluation, Extras { trials: Some(&trials), ..Extras::default() })?;
///
/// let folder = tempfile::tempdir().expect("a folder");
/// let path = folder.path().join("run.json");
/// record.save(&path, false)?;
/// assert!(record.save(&path, false).is_err()); // what exists is not overwritten unasked
///
/// let reproduction = Record::load(&path)?.reproduce()?;
/// assert!(reproduction.agrees(), "{}", reproduction.in_words());
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone)]
pub struct Record {
    software: Software,
    /// In the words of the version that wrote it.
    cautions: String,
    content: Content,
    /// The text that was read, where it was read.
    given: Option<Arc<str>>,
}

impl PartialEq for Record {
    /// Whether two records say the same, however their text is laid out.
    fn eq(&self, other: &Record) -> bool {
        (&self.software, &self.cautions, &self.content)
            == (&other.software, &other.cautions, &other.content)
    }
}

impl Record {
    /// What stands first in every record.
    pub const FORMAT: &'static str = "flowdoubt record";

    /// The version of the format that is written. Every version from 1 on is read.
    pub const VERSION: u32 = 1;

    /// Largest size in bytes of a record that is written or read.
    pub const MOST_BYTES: u64 = Kind::Record.most_bytes();

    /// The record of an evaluation, with what was done besides it.
    ///
    /// # Errors
    /// Results that cannot be recorded, such as trials too few for the coverage probability of the
    /// site or more than [`MonteCarloInputs::MOST_TRIALS`].
    pub fn of(evaluation: &Evaluation, extras: Extras<'_>) -> Result<Record> {
        Record::of_watched(evaluation, extras, &mut unwatched)
    }

    /// As [`Record::of`], with a watch that may end the comparison of first order with the trials.
    ///
    /// # Errors
    /// As [`Record::of`]; [`Error::Cancelled`].
    pub fn of_watched(
        evaluation: &Evaluation,
        extras: Extras<'_>,
        watch: &mut Watch<'_>,
    ) -> Result<Record> {
        let recorded = EvaluationRecord::of(evaluation, extras, watch)?;
        Ok(Record::with(Content::Evaluation(Box::new(recorded))))
    }

    /// The record of a verification, with the Monte Carlo trials of its flow points where they were
    /// made.
    ///
    /// # Errors
    /// As [`Record::of`]; runs that name the same file and have other readings.
    ///
    /// # Example
    /// Verify the meter of a site, keep the record, and recompute it as an auditor would:
    /// ```
    /// use flowdoubt::{record::Record, site::Site, verify::Verification};
    ///
    /// let site = Site::load("notebooks/demo/site.toml")?;
    /// let result = site.verify(&Verification::load("notebooks/demo/verification.toml")?)?;
    /// for point in &result.points {
    ///     let (error, u) = (100.0 * point.error.value, 100.0 * point.error.expanded_uncertainty);
    ///     println!("{}: error ({error:+.2} +/- {u:.2}) %", point.point);
    /// }
    /// println!("{}", result.headline());
    ///
    /// let folder = tempfile::tempdir().expect("a folder");
    /// let path = folder.path().join("verification.json");
    /// Record::of_verification(&result, None)?.save(&path, false)?;
    ///
    /// let reproduction = Record::load(&path)?.reproduce()?;
    /// println!("{}", reproduction.in_words());
    /// assert!(reproduction.agrees() && result.accepted() == Some(true));
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn of_verification(
        result: &VerificationResult,
        trials: Option<&JointTrials>,
    ) -> Result<Record> {
        let recorded = VerificationRecord::of(result, trials)?;
        Ok(Record::with(Content::Verification(Box::new(recorded))))
    }

    /// A record of this software with the given content.
    pub(crate) fn with(content: Content) -> Record {
        Record {
            software: Software::this(),
            cautions: CAUTIONS.to_owned(),
            content,
            given: None,
        }
    }

    /// The software that computed the results.
    pub fn software(&self) -> &Software {
        &self.software
    }

    /// What everybody who uses a result must know, in the words of the version that wrote it.
    pub fn cautions(&self) -> &str {
        &self.cautions
    }

    /// Inputs and results.
    pub fn content(&self) -> &Content {
        &self.content
    }

    /// SHA-256 in hexadecimal digits of the canonical form (RFC 8785) of the record without its
    /// digest.
    pub fn digest(&self) -> String {
        self.document().digest_of_the_rest()
    }

    /// The record as JSON text: the very text that was read, where it was read.
    pub fn to_text(&self) -> String {
        if let Some(text) = &self.given {
            return text.to_string();
        }
        let mut document = self.document();
        document.digest = Some(Digest::sha256(document.digest_of_the_rest()));
        // numbers, texts and lists always have a form in JSON
        let mut text = serde_json::to_string_pretty(&document).unwrap_or_default();
        text.push('\n');
        text
    }

    /// Reads the text of a record.
    ///
    /// # Errors
    /// [`Error::Syntax`] for what is no JSON or was cut short, [`Error::RecordVersion`],
    /// [`Error::UnknownKey`], [`Error::Missing`] or [`Error::WrongType`] for what is no record,
    /// [`Error::Edited`] where the digest is not that of the rest, [`Error::TooLarge`].
    pub fn from_text(text: &str) -> Result<Record> {
        reading::record(text)
    }

    /// Writes the record to a file: the file is there as a whole or not at all, and an interrupted
    /// write leaves what was there before.
    ///
    /// # Errors
    /// [`Error::Exists`] where `path` exists, unless `overwrite` is asked for; [`Error::File`];
    /// [`Error::TooLarge`].
    pub fn save(&self, path: impl AsRef<Path>, overwrite: bool) -> Result<()> {
        let (path, text) = (path.as_ref(), self.to_text());
        within(text.len() as u64, path)?;
        write_whole(path, overwrite, |file| {
            std::io::Write::write_all(file, text.as_bytes())
        })
    }

    /// Reads a record from a file. The size is looked at before anything is read.
    ///
    /// # Errors
    /// [`Error::File`], and those of [`Record::from_text`].
    pub fn load(path: impl AsRef<Path>) -> Result<Record> {
        let text = read_text(path.as_ref(), Kind::Record)?;
        Record::from_text(&text)
    }

    /// Refuses to compute anew what another measurement model computed: the numbers would differ, and
    /// nobody could tell whether that is all that is wrong.
    fn check_model(&self) -> Result<()> {
        let recorded = self.content.model();
        if recorded == SiteModel::IDENTIFIER {
            return Ok(());
        }
        Err(Error::OtherModel {
            recorded: recorded.to_owned(),
            current: SiteModel::IDENTIFIER,
            version: self.software.version.clone(),
        })
    }

    /// Computes everything anew from the inputs of the record and compares it with the results.
    ///
    /// # Errors
    /// [`Error::OtherModel`] for a record of another measurement model, which names the version of the
    /// software that reproduces it; inputs that cannot be evaluated.
    pub fn reproduce(&self) -> Result<Reproduction> {
        self.reproduce_watched(&mut unwatched)
    }

    /// As [`Record::reproduce`], with a watch that is told the trials done and may end it.
    ///
    /// # Errors
    /// As [`Record::reproduce`]; [`Error::Cancelled`].
    pub fn reproduce_watched(&self, watch: &mut Watch<'_>) -> Result<Reproduction> {
        self.check_model()?;
        let recomputed = match &self.content {
            Content::Evaluation(record) => Content::Evaluation(Box::new(record.recompute(watch)?)),
            Content::Verification(record) => {
                Content::Verification(Box::new(record.recompute(watch)?))
            }
        };
        Ok(Reproduction::of(self, &recomputed))
    }

    /// Evaluation and trials, computed anew from the inputs of the record.
    ///
    /// # Errors
    /// [`Error::OtherModel`]; inputs that cannot be evaluated; a record of something else than an evaluation.
    pub fn recomputed(&self) -> Result<Recomputed> {
        self.recomputed_watched(&mut unwatched)
    }

    /// As [`Record::recomputed`], with a watch that is told the trials done and may end it.
    ///
    /// # Errors
    /// As [`Record::recomputed`]; [`Error::Cancelled`].
    pub fn recomputed_watched(&self, watch: &mut Watch<'_>) -> Result<Recomputed> {
        self.check_model()?;
        match &self.content {
            Content::Evaluation(record) => record.recomputed(watch),
            Content::Verification(_) => Err(Error::Conflict {
                field: "content".to_owned(),
                found: "the record of a verification".to_owned(),
                allowed: "the record of an evaluation".to_owned(),
            }),
        }
    }

    /// The verification, computed anew from the inputs of the record: to be put back into a site by
    /// [`Site::calibrated_by`](crate::site::Site::calibrated_by).
    ///
    /// # Errors
    /// [`Error::OtherModel`]; inputs that cannot be evaluated; a record of something else than a
    /// verification.
    pub fn verified(&self) -> Result<VerificationResult> {
        self.check_model()?;
        match &self.content {
            Content::Verification(record) => record.verify(),
            Content::Evaluation(_) => Err(Error::Conflict {
                field: "content".to_owned(),
                found: "the record of an evaluation".to_owned(),
                allowed: "the record of a verification".to_owned(),
            }),
        }
    }

    /// The worksheet of the evaluation, computed anew from the inputs of the record.
    ///
    /// # Errors
    /// [`Error::OtherModel`]; inputs that cannot be evaluated; a record of something else than an evaluation.
    pub fn worksheet(&self) -> Result<Worksheet> {
        self.check_model()?;
        match &self.content {
            Content::Evaluation(record) => record.evaluate()?.worksheet(),
            Content::Verification(_) => Err(Error::Conflict {
                field: "content".to_owned(),
                found: "the record of a verification".to_owned(),
                allowed: "the record of an evaluation, of which there is a worksheet".to_owned(),
            }),
        }
    }

    /// The JSON Schema (draft 2020-12) of a record, as text.
    pub fn schema() -> String {
        format!("{:#}", schema::of_a_record())
    }

    fn document(&self) -> Document {
        Document {
            format: Record::FORMAT.to_owned(),
            version: Record::VERSION,
            software: self.software.clone(),
            cautions: self.cautions.clone(),
            content: self.content.clone(),
            digest: None,
        }
    }
}

/// Refuses a record that is too large to be read again.
fn within(bytes: u64, path: &Path) -> Result<()> {
    if bytes <= Record::MOST_BYTES {
        return Ok(());
    }
    Err(Error::TooLarge {
        file: path.to_owned(),
        bytes,
        most: Record::MOST_BYTES,
    })
}
