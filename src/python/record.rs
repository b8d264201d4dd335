//! Records of results.

use super::checks::ZeroCheck;
use super::evaluation::Evaluation;
use super::readings::readings_of;
use super::told;
use super::trials::Trials;
use super::user_class::{Made, taken};
use super::verification::{VerificationResult, VerificationTrials};
use super::watched::watched;
use super::worksheet::Worksheet;
use crate::record::{self as core, Extras};
use crate::text::shown;
use pyo3::prelude::*;
use pyo3::types::PyTuple;
use std::io::Write as _;
use std::path::PathBuf;

/// The record of a result: all inputs in the words given, all results to the last bit.
#[pyclass(frozen, eq, subclass, module = "flowdoubt._core")]
#[derive(PartialEq)]
pub(super) struct Record(core::Record);

/// Writes a file that is there as a whole or not at all.
#[pyfunction]
pub(super) fn write_whole(
    py: Python<'_>,
    path: PathBuf,
    content: &[u8],
    overwrite: bool,
) -> PyResult<()> {
    let write = || crate::saving::write_whole(&path, overwrite, |file| file.write_all(content));
    Ok(py.detach(write)?)
}

/// What a record is of, computed anew.
type Recomputed = (
    Made<Evaluation>,
    Option<Made<Trials>>,
    u32,
    Option<ZeroCheck>,
);

/// Text of JSON as Python objects.
pub(super) fn loaded<'py>(py: Python<'py>, text: &str) -> PyResult<Bound<'py, PyAny>> {
    py.import("json")?.call_method1("loads", (text,))
}

#[pymethods]
impl Record {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`evaluation.record()`, or Record.load(path)")
    }

    /// The record of an evaluation.
    ///
    /// Parameters
    /// ----------
    /// evaluation
    ///     What is to be recorded.
    /// trials
    ///     Monte Carlo trials of the same evaluation, if there are any.
    /// digits
    ///     Number of significant digits with which trials are compared.
    /// at_no_flow
    ///     Readings at no flow, if there are any, as for `Site.evaluate`.
    ///
    /// Returns
    /// -------
    /// Record
    ///     The record.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     More than 2e7 trials, too few of them for the coverage probability, digits outside 1 to
    ///     4.
    /// InputError
    ///     A negative number of digits.
    /// FlowdoubtError
    ///     Readings at no flow that `Evaluation.zero_check` refuses.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> fd.Record.of(evaluation).digest == record.digest
    /// True
    #[staticmethod]
    #[pyo3(signature = (evaluation, trials = None, digits = 2, at_no_flow = None))]
    pub(super) fn of(
        py: Python<'_>,
        evaluation: &Evaluation,
        trials: Option<&Trials>,
        digits: u32,
        at_no_flow: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Made<Record>> {
        let options = evaluation.0.site.table_options();
        let at_no_flow = at_no_flow.map(|readings| readings_of(readings, options));
        let at_no_flow = at_no_flow.transpose()?;
        let extras = Extras {
            trials: trials.map(|trials| &trials.0),
            digits,
            at_no_flow: at_no_flow.as_ref(),
        };
        let record = watched(py, None, |watch| {
            core::Record::of_watched(&evaluation.0, extras, watch)
        })?;
        Ok(Made(Record(record)))
    }

    /// The record of a verification.
    ///
    /// Parameters
    /// ----------
    /// result
    ///     What is to be recorded.
    /// trials
    ///     Monte Carlo trials of the same verification, if there are any.
    ///
    /// Returns
    /// -------
    /// Record
    ///     The record.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     More than 2e7 values of trials over all outputs, trials too few for the coverage
    ///     probability.
    /// InputError
    ///     Runs that name the same file and have other readings.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> fd.Record.of_verification(result).digest == result.record().digest
    /// True
    #[staticmethod]
    #[pyo3(signature = (result, trials = None))]
    pub(super) fn of_verification(
        result: &VerificationResult,
        trials: Option<&VerificationTrials>,
    ) -> PyResult<Made<Record>> {
        let trials = trials.map(|trials| &trials.trials);
        let record = core::Record::of_verification(&result.0, trials)?;
        Ok(Made(Record(record)))
    }

    /// Reads a record from a file.
    ///
    /// Parameters
    /// ----------
    /// path
    ///     The file.
    ///
    /// Returns
    /// -------
    /// Record
    ///     The record.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record that was changed, is too large, or has a version that cannot be read.
    /// InputError
    ///     A file that cannot be read or is no record.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> import tempfile
    /// >>> path = tempfile.mkdtemp() + "/record.json"
    /// >>> record.save(path)
    /// >>> fd.Record.load(path).digest == record.digest
    /// True
    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf) -> PyResult<Made<Record>> {
        Ok(Made(Record(py.detach(|| core::Record::load(path))?)))
    }

    /// Reads the text of a record.
    ///
    /// Parameters
    /// ----------
    /// text
    ///     JSON, as `text` has it.
    ///
    /// Returns
    /// -------
    /// Record
    ///     The record.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record that was changed, is too large, or has a version that cannot be read.
    /// InputError
    ///     Text that is no record.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> fd.Record.from_text(record.text).digest == record.digest
    /// True
    #[staticmethod]
    fn from_text(py: Python<'_>, text: &str) -> PyResult<Made<Record>> {
        Ok(Made(Record(py.detach(|| core::Record::from_text(text))?)))
    }

    /// The verification, computed anew.
    ///
    /// Returns
    /// -------
    /// VerificationResult
    ///     The verification.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record of another measurement model.
    /// InputError
    ///     The record of an evaluation.
    /// FlowdoubtError
    ///     Inputs that cannot be evaluated.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> result.record().verified().accepted
    /// True
    fn verified(&self, py: Python<'_>) -> PyResult<Made<VerificationResult>> {
        let found = py.detach(|| self.0.verified())?;
        Ok(Made(VerificationResult(found)))
    }

    /// The JSON Schema of a record.
    ///
    /// Returns
    /// -------
    /// dict
    ///     A JSON Schema.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> fd.Record.schema()["type"]
    /// 'object'
    #[staticmethod]
    fn schema(py: Python<'_>) -> PyResult<Bound<'_, PyAny>> {
        loaded(py, &core::Record::schema())
    }

    /// Writes the record to a file, which is there as a whole or not at all.
    ///
    /// Parameters
    /// ----------
    /// path
    ///     The file.
    /// overwrite
    ///     Whether a file that exists may be replaced. It is written whole or not at all.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A file that exists and may not be replaced, a record that is too large.
    /// InputError
    ///     A file that cannot be written.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> import os, tempfile
    /// >>> folder = tempfile.mkdtemp()
    /// >>> record.save(f"{folder}/record.json")
    /// >>> os.listdir(folder)
    /// ['record.json']
    #[pyo3(signature = (path, overwrite = false))]
    fn save(&self, py: Python<'_>, path: PathBuf, overwrite: bool) -> PyResult<()> {
        Ok(py.detach(|| self.0.save(path, overwrite))?)
    }

    /// Computes everything anew and compares it.
    ///
    /// Returns
    /// -------
    /// Reproduction
    ///     Which figures agree, and the first that differ.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record of another measurement model.
    /// FlowdoubtError
    ///     Inputs that cannot be evaluated.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> bool(record.reproduce())
    /// True
    fn reproduce(&self, py: Python<'_>) -> PyResult<Made<Reproduction>> {
        let found = watched(py, None, |watch| self.0.reproduce_watched(watch))?;
        Ok(Made(Reproduction(found)))
    }

    /// The worksheet, computed anew from the inputs of the record.
    ///
    /// Returns
    /// -------
    /// Worksheet
    ///     The worksheet.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record of another measurement model.
    /// InputError
    ///     The record of a verification.
    /// FlowdoubtError
    ///     Inputs that cannot be evaluated.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> len(record.worksheet()) > 100
    /// True
    fn worksheet(&self, py: Python<'_>) -> PyResult<Worksheet> {
        Ok(Worksheet(py.detach(|| self.0.worksheet())?))
    }

    /// The evaluation, its trials (or `None`), the digits of their comparison and the check of the
    /// zero (or `None`), computed anew from the inputs of the record.
    ///
    /// Returns
    /// -------
    /// tuple
    ///     Evaluation, trials or None, digits, check of the zero or None.
    ///
    /// Raises
    /// ------
    /// RecordError
    ///     A record of another measurement model.
    /// InputError
    ///     The record of a verification.
    /// FlowdoubtError
    ///     Inputs that cannot be evaluated.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> record.recomputed()[0].value() == evaluation.value()
    /// True
    fn recomputed(&self, py: Python<'_>) -> PyResult<Recomputed> {
        let found = watched(py, None, |watch| self.0.recomputed_watched(watch))?;
        let zero = found.at_no_flow.as_ref();
        let zero = zero.map(|readings| found.evaluation.zero_check(readings));
        Ok((
            Made(Evaluation(found.evaluation)),
            found.trials.map(|trials| Made(Trials(trials))),
            found.digits,
            zero.transpose()?.map(ZeroCheck),
        ))
    }

    /// The record as JSON text.
    #[getter]
    fn text(&self) -> String {
        self.0.to_text()
    }

    /// The record as dictionaries and lists.
    ///
    /// Returns
    /// -------
    /// dict
    ///     The record as JSON has it.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> record = evaluation.record()
    /// >>> list(record.to_dict())[:2]
    /// ['format', 'version']
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_text())
    }

    /// SHA-256 of the record without its digest, in hexadecimal digits.
    #[getter]
    fn digest(&self) -> String {
        self.0.digest()
    }

    /// Name and version of the software that computed the results.
    #[getter]
    fn software(&self) -> String {
        self.0.software().in_words()
    }

    fn __repr__(&self) -> String {
        let (site, headline) = self.0.content().headline();
        let (headline, digest) = (shown(headline), self.digest());
        format!("<Record of {site:?}: {headline}, SHA-256 {digest}>")
    }
}

/// What recomputing a record found.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Reproduction(core::Reproduction);

#[pymethods]
impl Reproduction {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`record.reproduce()`")
    }

    /// Whether everything agrees to the last bit.
    #[getter]
    fn agrees(&self) -> bool {
        self.0.agrees()
    }

    /// The names of what agrees.
    #[getter]
    fn agreed(&self) -> Vec<String> {
        self.0.agreed.clone()
    }

    /// Triples of name, recorded and recomputed.
    #[getter]
    fn differences(&self) -> Vec<(String, String, String)> {
        let differences = self.0.differences.iter().cloned();
        let triple = |d: core::Difference| (d.name, d.recorded, d.recomputed);
        differences.map(triple).collect()
    }

    /// Name of the numbers that are farthest apart, and their relative difference.
    #[getter]
    fn largest_difference(&self) -> Option<(String, f64)> {
        let largest = self.0.largest()?;
        Some((largest.name.clone(), largest.relative?))
    }

    /// SHA-256 of the record that was given.
    #[getter]
    fn digest(&self) -> String {
        self.0.digest.clone()
    }

    /// What the differences mean, or what agreement cannot say.
    #[getter]
    fn meaning(&self) -> String {
        self.0.meaning()
    }

    /// The software that wrote the record.
    #[getter]
    fn recorded_by(&self) -> String {
        self.0.recorded_by.in_words()
    }

    fn _meaning_told<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyTuple>> {
        told::message(py, &self.0.meaning_told())
    }

    /// The software that computed it anew.
    #[getter]
    fn recomputed_by(&self) -> String {
        self.0.recomputed_by.in_words()
    }

    fn __bool__(&self) -> bool {
        self.0.agrees()
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }

    fn __repr__(&self) -> String {
        let (agreed, differ) = (self.0.agreed.len(), self.0.differences.len());
        format!("<Reproduction: {agreed} agree, {differ} differ>")
    }
}
