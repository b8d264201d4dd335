//! The list of commissioning, and what was found.

use super::checks::SoundSpeedCheck;
use super::mark_out::Given;
use super::record::loaded;
use super::site::Site;
use super::user_class::{Made, taken};
use crate::commission::{self as core, CommissioningRequest};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(commissioning, module)?)?;
    module.add_function(wrap_pyfunction!(read_commissioning, module)?)?;
    module.add_function(wrap_pyfunction!(commissioned, module)?)?;
    module.add_class::<Commissioning>()?;
    module.add_class::<Commissioned>()?;
    module.add_class::<TakenOver>()
}

/// The steps of commissioning of a site.
#[pyfunction]
fn commissioning(
    site: &Site,
    temperature: Option<Given>,
    temperature_standard_uncertainty: Given,
    flow: Option<Given>,
) -> PyResult<Made<Commissioning>> {
    let temperature = temperature.map(Given::temperature).transpose()?;
    let at = temperature.unwrap_or(f64::NAN);
    let request = CommissioningRequest {
        temperature,
        temperature_standard_uncertainty: temperature_standard_uncertainty
            .temperature_uncertainty(at)?,
        flow: flow.map(Given::volume_flow).transpose()?,
    };
    Ok(Made(Commissioning(site.0.commissioning(&request)?)))
}

/// A form that was filled in, from a file.
#[pyfunction]
fn read_commissioning(py: Python<'_>, site: &Site, path: PathBuf) -> PyResult<Made<Commissioned>> {
    let found = py.detach(|| site.0.read_commissioning(path))?;
    Ok(Made(Commissioned(found)))
}

/// A form that was filled in, from its text.
#[pyfunction]
fn commissioned(site: &Site, text: &str, file: PathBuf) -> PyResult<Made<Commissioned>> {
    Ok(Made(Commissioned(site.0.commissioned(text, file)?)))
}

fn entry_of<'py>(py: Python<'py>, entry: &core::Entry) -> PyResult<Bound<'py, PyDict>> {
    let unit = &entry.unit;
    let made = PyDict::new(py);
    made.set_item("key", entry.key)?;
    made.set_item("words", entry.words)?;
    made.set_item("unit", unit.symbol.as_ref())?;
    made.set_item("expected", entry.expected.map(|si| unit.from_si(si)))?;
    let u = entry.standard_uncertainty;
    let u = u.map(|si| unit.difference_from_si(si));
    made.set_item("standard_uncertainty", u)?;
    set_limits(&made, entry, entry.limits)?;
    made.set_item("in_words", entry.expected_in_words())?;
    made.set_item("from", &entry.from)?;
    Ok(made)
}

fn set_limits(
    made: &Bound<'_, PyDict>,
    entry: &core::Entry,
    limits: Option<[f64; 2]>,
) -> PyResult<()> {
    let ends = limits.map(|ends| ends.map(|si| entry.unit.from_si(si)));
    made.set_item("lower_limit", ends.map(|ends| ends[0]))?;
    made.set_item("upper_limit", ends.map(|ends| ends[1]))
}

fn found_of<'py>(py: Python<'py>, found: &core::EntryFound) -> PyResult<Bound<'py, PyDict>> {
    let (entry, unit) = (&found.entry, &found.entry.unit);
    let made = entry_of(py, entry)?;
    made.set_item("found", unit.from_si(found.found))?;
    let u = found.standard_uncertainty;
    made.set_item(
        "standard_uncertainty",
        u.map(|si| unit.difference_from_si(si)),
    )?;
    set_limits(&made, entry, found.limits)?;
    made.set_item("within", found.is_within())?;
    made.set_item("standardised", found.standardised())?;
    made.set_item("in_words", found.in_words())?;
    Ok(made)
}

/// The steps of commissioning with the numbers of a site.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Commissioning(core::Commissioning);

#[pymethods]
impl Commissioning {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.commissioning()`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.site
    }

    /// SHA-256 of the text of the site file.
    #[getter]
    fn site_digest(&self) -> &str {
        &self.0.site_digest
    }

    /// For which state of operation the list holds, in words; empty where the site file tells all.
    #[getter]
    fn foreseen(&self) -> String {
        self.0.foreseen_in_words()
    }

    /// The coverage probability of all limits.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// Code and words of what must be known before the sensors are mounted.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, &str)> {
        let warnings = self.0.warnings.iter();
        warnings.map(|w| (w.code, w.words.as_str())).collect()
    }

    /// The steps in their order: ``key``, ``title``, ``words``, ``common_practice``, ``questions``
    /// (key and words), ``entries``, ``look_at``. Each entry has ``key``, ``words``, ``unit`` and, in
    /// that unit, ``expected``, ``standard_uncertainty``, ``lower_limit`` and ``upper_limit``, ``None``
    /// where there is none; ``in_words`` and ``from``, which says where they come from.
    #[getter]
    fn steps<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let step = |step: &core::Step| {
            let made = PyDict::new(py);
            made.set_item("key", step.key)?;
            made.set_item("title", step.title)?;
            made.set_item("words", &step.words)?;
            made.set_item("common_practice", step.common_practice)?;
            let questions = step.questions.iter().map(|own| (own.key, own.words));
            made.set_item("questions", questions.collect::<Vec<_>>())?;
            let entries = step.entries.iter().map(|entry| entry_of(py, entry));
            made.set_item("entries", entries.collect::<PyResult<Vec<_>>>()?)?;
            made.set_item("look_at", step.look_at)?;
            Ok(made)
        };
        self.0.steps.iter().map(step).collect()
    }

    /// Return the form that is filled in on site, with what is expected as comments.
    ///
    /// Returns
    /// -------
    /// str
    ///     TOML. `Site.read_commissioning` reads it back.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> "[zero]" in site.commissioning(temperature="8 degC").form()
    /// True
    fn form(&self) -> String {
        self.0.form()
    }

    /// The list as text.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    /// Return everything as JSON, numbers in SI units.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> steps = site.commissioning(temperature="8 degC")
    /// >>> steps.to_json()[:1]
    /// '{'
    fn to_json(&self) -> String {
        self.0.to_json()
    }

    /// Return everything as JSON has it, numbers in SI units.
    ///
    /// Returns
    /// -------
    /// dict
    ///     Numbers, texts and lists.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> steps = site.commissioning(temperature="8 degC")
    /// >>> list(steps.to_dict())[:3]
    /// ['software', 'site', 'site_digest']
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_json())
    }

    fn __repr__(&self) -> String {
        format!(
            "<Commissioning of {:?}: {}>",
            self.0.site,
            self.0.in_one_line()
        )
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}

/// What was found on site, step by step.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Commissioned(core::Commissioned);

#[pymethods]
impl Commissioned {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.read_commissioning(path)`")
    }

    /// The list, with transit time and sound speed at the temperature that was noted.
    #[getter]
    fn commissioning(&self) -> Made<Commissioning> {
        Made(Commissioning(self.0.commissioning.clone()))
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.commissioning.site
    }

    /// By whom.
    #[getter]
    fn by(&self) -> &str {
        &self.0.by
    }

    /// When, in words.
    #[getter]
    fn date(&self) -> &str {
        &self.0.date
    }

    /// Remarks in words.
    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

    /// Whether every step is done, and all is as it should be.
    #[getter]
    fn as_it_should_be(&self) -> bool {
        self.0.is_as_it_should_be()
    }

    /// The steps in their order: ``key``, ``title``, ``outcome`` (``"as it should be"``, ``"done"``,
    /// ``"not as it should be"``, ``"not done"``), ``done``, ``answers``, ``duration_s``, ``remarks``,
    /// ``note`` and ``entries``: those of `Commissioning.steps` that were noted, with ``found``,
    /// ``within`` and ``standardised``, and limits with the uncertainty of the reading where one was
    /// noted.
    #[getter]
    fn steps<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let step = |found: &core::StepFound| {
            let made = PyDict::new(py);
            made.set_item("key", found.step.key)?;
            made.set_item("title", found.step.title)?;
            made.set_item("outcome", found.outcome().in_words())?;
            made.set_item("done", found.done)?;
            made.set_item("answers", found.answers.clone())?;
            made.set_item("duration_s", found.duration)?;
            let entries = found.entries.iter().map(|entry| found_of(py, entry));
            made.set_item("entries", entries.collect::<PyResult<Vec<_>>>()?)?;
            made.set_item("remarks", found.remarks())?;
            made.set_item("note", &found.note)?;
            Ok(made)
        };
        self.0.steps.iter().map(step).collect()
    }

    /// The sound speed that follows from the transit time noted against that of the liquid, with the
    /// likely causes of a difference; ``None`` without one.
    #[getter]
    fn sound_speed(&self) -> Option<SoundSpeedCheck> {
        self.0.sound_speed.clone().map(SoundSpeedCheck)
    }

    /// The paths in the site file of what was noted and can be taken over.
    #[getter]
    fn offered(&self) -> Vec<String> {
        self.0.offered()
    }

    /// Return the site with what was found at these paths in place of what its file stated.
    ///
    /// Nothing is taken over that is not named. The evidence says in words when, by whom and for how
    /// long it was found; the sound-speed check stands as a remark at the end of the file.
    ///
    /// Parameters
    /// ----------
    /// paths
    ///     Paths of the site file out of `offered`, such as ``["meter.zero_time_difference"]``.
    ///
    /// Returns
    /// -------
    /// TakenOver
    ///     ``site``, ``changes`` and ``toml``.
    ///
    /// Raises
    /// ------
    /// InputError
    ///     A path that was not noted; a number without an uncertainty; no name or no date; a zero of
    ///     which it is not said that nothing flowed; what makes the site file contradictory.
    fn taken_over(&self, paths: Vec<String>) -> PyResult<TakenOver> {
        Ok(TakenOver(self.0.taken_over(&paths)?))
    }

    /// What was found as text.
    #[getter]
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    /// Return everything as JSON, numbers in SI units.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> steps = site.commissioning(temperature="8 degC")
    /// >>> found = site.commissioned(steps.form())
    /// >>> found.to_json()[:1]
    /// '{'
    fn to_json(&self) -> String {
        self.0.to_json()
    }

    /// Return everything as JSON has it, numbers in SI units.
    ///
    /// Returns
    /// -------
    /// dict
    ///     Numbers, texts and lists.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> steps = site.commissioning(temperature="8 degC")
    /// >>> found = site.commissioned(steps.form())
    /// >>> list(found.to_dict())[:3]
    /// ['software', 'site', 'site_digest']
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_json())
    }

    fn __repr__(&self) -> String {
        let site = &self.0.commissioning.site;
        format!("<Commissioned {site:?}: {}>", self.0.in_one_line())
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}

/// A site with what was found on commissioning in place of what was stated.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct TakenOver(core::TakenOver);

#[pymethods]
impl TakenOver {
    /// The site; its ``text`` is that of the site file with the changes.
    #[getter]
    fn site(&self) -> Made<Site> {
        Made(Site(self.0.site.clone()))
    }

    /// What changed: ``path``, ``before`` (``None`` where nothing was stated) and ``after``, as TOML.
    #[getter]
    fn changes<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let change = |change: &crate::site::Restated| {
            let made = PyDict::new(py);
            made.set_item("path", &change.path)?;
            made.set_item("before", &change.before)?;
            made.set_item("after", &change.after)?;
            Ok(made)
        };
        self.0.changes.iter().map(change).collect()
    }

    /// The changed lines of the site file, each under its section.
    #[getter]
    fn toml(&self) -> String {
        self.0.toml()
    }

    fn __repr__(&self) -> String {
        format!("<TakenOver: {} changes>", self.0.changes.len())
    }

    fn __str__(&self) -> String {
        self.0.toml()
    }
}
