//! A verification as its file describes it: the runs, the reference and how they are judged.

use super::file::{MeterPlace, ReferenceKind, RepeatabilityFrom};
use super::judgement::Judgement;
use super::quantity::ReferenceQuantity;
use super::question::{Indicated, Question};
use super::reference_curves::Curves;
use super::required_quantities::Setting;
use crate::evaluate::Readings;
use crate::site::StatedCorrelation;
use crate::uncertainty::union::Own;
use std::path::PathBuf;
use std::sync::Arc;

/// Runs of a meter against a reference: read, checked and ready to be compared.
#[derive(Debug, Clone)]
pub struct Verification {
    /// The name of the verification.
    pub name: String,
    /// Remarks in words.
    pub note: String,
    /// What the reference is, in words.
    pub reference_name: String,
    pub(super) question: Question,
    pub(super) indicated: Indicated,
    /// The line of the file at which both are stated.
    pub(super) question_line: usize,
    pub(super) setting: Setting,
    pub(super) meter: MeterPlace,
    pub(super) repeatability: RepeatabilityFrom,
    pub(super) judgement: Option<Judgement>,
    /// The flow points in order.
    pub(super) points: Vec<String>,
    pub(super) runs: Vec<Run>,
    /// What the certificate of the reference states point by point.
    pub(super) curves: Curves,
    pub(super) correlations: Vec<StatedCorrelation>,
    /// The file as named by the user, for errors that come to light with the site.
    pub(super) file: PathBuf,
    /// The text of the file.
    pub(super) text: Arc<str>,
}

/// One run.
#[derive(Debug, Clone)]
pub(super) struct Run {
    /// Its number in the file, from 1.
    pub(super) number: usize,
    pub(super) point: String,
    pub(super) placement: String,
    pub(super) note: String,
    pub(super) readings_file: String,
    pub(super) readings: Readings,
    /// What is stated of the reference for this run, on all levels.
    pub(super) stated: Vec<(ReferenceQuantity, Own)>,
    /// The line of the run in the file.
    pub(super) line: usize,
}

impl Run {
    pub(super) fn has(&self, q: ReferenceQuantity) -> bool {
        self.stated.iter().any(|(other, _)| *other == q)
    }
}

impl Verification {
    /// A verification file to begin with: comments, and values that stand for those of the user.
    pub const STARTER: &str = include_str!("starter.toml");

    /// What is asked.
    pub fn question(&self) -> Question {
        self.question
    }

    /// What is compared with the reference value.
    pub fn indicated(&self) -> Indicated {
        self.indicated
    }

    /// The kind of reference.
    pub fn reference_kind(&self) -> ReferenceKind {
        self.setting.kind
    }

    /// The flow points in order.
    pub fn points(&self) -> &[String] {
        &self.points
    }

    /// The names of the files of readings, run by run, as the file has them.
    pub fn readings_files(&self) -> Vec<&str> {
        self.runs
            .iter()
            .map(|run| run.readings_file.as_str())
            .collect()
    }
}
