//! Verification against a reference.

use super::budget::Budget;
use super::site::Site;
use super::told;
use super::trials::Trials;
use super::user_class::{Made, taken};
use super::verification_rows::{point_entry, run_entry};
use super::watched::watched;
use crate::error::{Error, Result};
use crate::montecarlo::{self, MonteCarlo};
use crate::verify as core;
use numpy::{AllowTypeChange, PyArray1, PyArray2, PyArrayLike1, ToPyArray};
use pyo3::exceptions::PyIndexError;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyTuple};
use std::path::PathBuf;

type Array<'py> = Bound<'py, PyArray1<f64>>;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("VERIFICATION_CAUTIONS", core::VERIFICATION_CAUTIONS)?;
    module.add_class::<Verification>()?;
    module.add_class::<VerificationResult>()?;
    module.add_class::<VerificationTrials>()?;
    module.add_function(wrap_pyfunction!(verify, module)?)?;
    module.add_function(wrap_pyfunction!(calibrated_by, module)?)
}

/// Runs of a meter against a reference, as described by their file.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Verification(core::Verification);

#[pymethods]
impl Verification {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(
            value,
            "Verification.load(path) for a file, Verification.from_toml(text) for the text of one",
        )
    }

    /// The text of a verification file to begin with.
    #[classattr]
    #[pyo3(name = "STARTER")]
    const STARTER: &'static str = core::Verification::STARTER;

    /// From a file; readings lie below its folder, or below `readings_below`.
    ///
    /// Parameters
    /// ----------
    /// path
    ///     The file.
    /// readings_below
    ///     The folder below which readings must lie; that of the file if not given.
    ///
    /// Returns
    /// -------
    /// Verification
    ///     The verification as stated.
    ///
    /// Raises
    /// ------
    /// FlowdoubtError
    ///     Anything wrong in the file or its readings, with file, line, what was found and what is
    ///     allowed.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> fd.Verification.load("notebooks/demo/verification.toml").points
    /// ['low', 'middle', 'high']
    #[staticmethod]
    #[pyo3(signature = (path, readings_below = None))]
    fn load(
        py: Python<'_>,
        path: PathBuf,
        readings_below: Option<PathBuf>,
    ) -> PyResult<Made<Verification>> {
        let load = || match readings_below {
            None => core::Verification::load(path),
            Some(folder) => core::Verification::load_with_readings_below(path, folder),
        };
        Ok(Made(Verification(py.detach(load)?)))
    }

    /// From text; readings are named from the folder of `file` and lie below it.
    ///
    /// Parameters
    /// ----------
    /// text
    ///     TOML.
    /// file
    ///     The name of the file for messages, whose folder names of readings start from.
    ///
    /// Returns
    /// -------
    /// Verification
    ///     The verification as stated.
    ///
    /// Raises
    /// ------
    /// FlowdoubtError
    ///     As for `Verification.load`.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> text = fd.Verification.STARTER
    /// >>> len(text) > 100
    /// True
    #[staticmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml(py: Python<'_>, text: &str, file: PathBuf) -> PyResult<Made<Verification>> {
        let read = py.detach(|| core::Verification::from_toml(text, file))?;
        Ok(Made(Verification(read)))
    }

    /// The name of the verification.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Remarks in words.
    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

    /// What is asked.
    #[getter]
    fn question(&self) -> &'static str {
        self.0.question().in_words()
    }

    /// What is compared with the reference value.
    #[getter]
    fn indicated(&self) -> &'static str {
        self.0.indicated().in_words()
    }

    /// The kind of reference.
    #[getter]
    fn reference(&self) -> &'static str {
        self.0.reference_kind().in_words()
    }

    /// The names of the flow points in order.
    #[getter]
    fn points(&self) -> Vec<String> {
        self.0.points().to_vec()
    }

    /// The names of the files of readings, run by run.
    #[getter]
    fn readings_files(&self) -> Vec<&str> {
        self.0.readings_files()
    }

    fn __repr__(&self) -> String {
        format!("<Verification {:?}>", self.0.name)
    }
}

/// Verifies the meter of a site.
#[pyfunction]
fn verify(
    py: Python<'_>,
    site: &Bound<'_, Site>,
    verification: &Bound<'_, Verification>,
) -> PyResult<Made<VerificationResult>> {
    let (site, verification) = (&site.get().0, &verification.get().0);
    let found = py.detach(|| site.verify(verification))?;
    Ok(Made(VerificationResult(found)))
}

/// The site with the result of a verification as its in-situ calibration.
#[pyfunction]
fn calibrated_by(
    site: &Bound<'_, Site>,
    found: &Bound<'_, VerificationResult>,
) -> PyResult<Made<Site>> {
    let calibrated = site.get().0.calibrated_by(&found.get().0)?;
    Ok(Made(Site(calibrated)))
}

/// The result of a verification.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct VerificationResult(pub(super) core::VerificationResult);

fn place<T>(of: &[T], place: usize) -> PyResult<&T> {
    let found = format!("place {place}; allowed: 0 to {}", of.len() - 1);
    of.get(place).ok_or_else(|| PyIndexError::new_err(found))
}

#[pymethods]
impl VerificationResult {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.verify(verification)`")
    }

    /// The name of the verification.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.site
    }

    /// The coverage probability.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// Whether every flow point is accepted, or both results agree at each; `None` where nothing is
    /// to be decided, or can be.
    #[getter]
    fn accepted(&self) -> Option<bool> {
        self.0.accepted()
    }

    /// The verdict in words; `None` where nothing is to be decided.
    #[getter]
    fn verdict(&self) -> Option<&'static str> {
        self.0.verdict().map(core::Verdict::in_words)
    }

    /// What is asked.
    #[getter]
    fn question(&self) -> &'static str {
        self.0.question.in_words()
    }

    /// What the uncertainties of the answer contain.
    #[getter]
    fn contains(&self) -> &'static str {
        self.0.question.contains()
    }

    /// What is compared with the reference value.
    #[getter]
    fn indicated(&self) -> &'static str {
        self.0.indicated.in_words()
    }

    /// The values on the side of the meter that the error contains: name, and value with unit.
    #[getter]
    fn fixed(&self) -> Vec<(&str, String)> {
        let fixed = self.0.fixed.iter();
        fixed
            .map(|f| (f.name.as_str(), f.value_in_words()))
            .collect()
    }

    /// The result in one line.
    #[getter]
    fn headline(&self) -> String {
        self.0.headline()
    }

    /// The unit in which flows are shown.
    #[getter]
    fn flow_unit(&self) -> &str {
        &self.0.flow_unit.symbol
    }

    fn _warnings_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<told::Headed<'py>>> {
        told::warnings(py, &self.0.warnings)
    }

    fn _decision_told<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyTuple>>> {
        let decision = self.0.decision.as_ref();
        let message = decision.and_then(|decision| decision.sentence.message());
        message.map(|m| told::message(py, m)).transpose()
    }

    /// Of each flow point: its decision, and what would be needed for one.
    #[allow(clippy::type_complexity, reason = "a list of pairs")]
    fn _point_decisions_told<'py>(
        &self,
        py: Python<'py>,
    ) -> PyResult<Vec<(Option<Bound<'py, PyTuple>>, Option<Bound<'py, PyTuple>>)>> {
        let told = self.0.points.iter().map(|point| {
            let conformity = point.conformity.as_ref();
            let decision = conformity
                .map(|c| told::message(py, &c.told()))
                .transpose()?;
            let needed = conformity.and_then(|c| c.needed_told());
            let needed = needed.map(|m| told::message(py, &m)).transpose()?;
            Ok((decision, needed))
        });
        told.collect()
    }

    /// Warnings as pairs of a code that never changes and words.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, &str)> {
        let warnings = self.0.warnings.iter();
        warnings.map(|w| (w.code, w.words.as_str())).collect()
    }

    /// One dictionary a run; the unit is the last part of a name, errors are ratios.
    #[getter]
    fn runs<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let (runs, unit) = (self.0.runs.iter(), &self.0.flow_unit);
        runs.map(|run| run_entry(py, run, unit)).collect()
    }

    /// One dictionary a flow point; the unit is the last part of a name, errors are ratios.
    #[getter]
    fn points<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let (points, unit) = (self.0.points.iter(), &self.0.flow_unit);
        points.map(|point| point_entry(py, point, unit)).collect()
    }

    /// The steps from the readings of the reference to its flow, of the run at a place from 0.
    ///
    /// Parameters
    /// ----------
    /// run
    ///     The number of the run, from 0.
    ///
    /// Returns
    /// -------
    /// dict of float
    ///     Steps by name, in SI units.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last run.
    /// InputError
    ///     A negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> list(result.reference_steps(0))[:1]
    /// ['density_at_meter_kg_m3']
    fn reference_steps<'py>(&self, py: Python<'py>, run: usize) -> PyResult<Bound<'py, PyDict>> {
        let steps = PyDict::new(py);
        for step in &place(&self.0.runs, run)?.steps {
            steps.set_item(step.name, step.value)?;
        }
        Ok(steps)
    }

    /// The budget of the error of the run at a place from 0.
    ///
    /// Parameters
    /// ----------
    /// run
    ///     The number of the run, from 0.
    ///
    /// Returns
    /// -------
    /// Budget
    ///     The budget.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last run.
    /// InputError
    ///     A negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> result.run_budget(0).output
    /// 'run[1] error'
    fn run_budget(&self, run: usize) -> PyResult<Made<Budget>> {
        let of = place(&self.0.runs, run)?;
        Ok(Made(Budget(of.error_budget.clone())))
    }

    /// The budget of the error of the flow point at a place from 0.
    ///
    /// Parameters
    /// ----------
    /// point
    ///     The number of the flow point, from 0.
    ///
    /// Returns
    /// -------
    /// Budget
    ///     The budget.
    ///
    /// Raises
    /// ------
    /// IndexError
    ///     A number beyond the last flow point.
    /// InputError
    ///     A negative number.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> result.point_budget(0).output
    /// 'point[low] error'
    fn point_budget(&self, point: usize) -> PyResult<Made<Budget>> {
        let of = place(&self.0.points, point)?;
        Ok(Made(Budget(of.error_budget.clone())))
    }

    /// Covariance matrix of the errors of the points.
    #[getter]
    fn error_covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        Ok(PyArray2::from_vec2(py, &self.0.error_covariance)?)
    }

    /// Correlation matrix of the errors of the points; NaN where one has no uncertainty.
    #[getter]
    fn error_correlation<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let number = |row: &Vec<Option<f64>>| row.iter().map(|r| r.unwrap_or(f64::NAN)).collect();
        let rows: Vec<Vec<f64>> = self.0.error_correlation.iter().map(number).collect();
        Ok(PyArray2::from_vec2(py, &rows)?)
    }

    /// The line of error against flow; `None` for fewer than three points.
    #[getter]
    fn line<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyDict>>> {
        let Some(line) = &self.0.line else {
            return Ok(None);
        };
        let found = PyDict::new(py);
        found.set_item("intercept", line.intercept)?;
        found.set_item("intercept_uncertainty", line.intercept_uncertainty)?;
        let (unit, end) = (&self.0.flow_unit, self.0.flow_unit.suffix());
        let (slope, u) = (
            line.slope * unit.factor,
            line.slope_uncertainty * unit.factor,
        );
        found.set_item(format!("slope_per_{end}"), slope)?;
        found.set_item(format!("slope_uncertainty_per_{end}"), u)?;
        let covariance = line.covariance * unit.factor;
        found.set_item(format!("covariance_per_{end}"), covariance)?;
        found.set_item("chi_squared", line.chi_squared)?;
        found.set_item("p_value", line.p_value)?;
        let (low, high) = line.range;
        let range = (unit.from_si(low), unit.from_si(high));
        found.set_item(format!("range_{end}"), range)?;
        Ok(Some(found))
    }

    /// The error on the line and its standard uncertainty at flows in the unit of the site, shape
    /// `(n,)`.
    ///
    /// Parameters
    /// ----------
    /// flow
    ///     Flows in the unit of the site, shape ``(n,)``.
    ///
    /// Returns
    /// -------
    /// tuple of ndarray or None
    ///     Errors and standard uncertainties, each of shape ``(n,)``; None where there is no line.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A flow so far out that the line has no number there.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> import numpy as np
    /// >>> values, u = result.line_at(np.array([800.0]))
    /// >>> values.shape
    /// (1,)
    fn line_at<'py>(
        &self,
        py: Python<'py>,
        flow: PyArrayLike1<'py, f64, AllowTypeChange>,
    ) -> PyResult<Option<(Array<'py>, Array<'py>)>> {
        let Some(line) = self.0.line else {
            return Ok(None);
        };
        let at = |(i, flow): (usize, &f64)| {
            let (error, u) = line.at(self.0.flow_unit.to_si(*flow));
            let inside = error.is_finite() && u.is_finite();
            let allowed = "flows about those of the points";
            Error::range(inside, format!("flow[{i}]"), *flow, "", allowed)?;
            Ok((error, u))
        };
        let found = flow.as_array();
        let found = found.iter().enumerate().map(at);
        let (error, u): (Vec<f64>, Vec<f64>) =
            found.collect::<Result<Vec<_>>>()?.into_iter().unzip();
        Ok(Some((error.to_pyarray(py), u.to_pyarray(py))))
    }

    /// Monte Carlo trials of the errors of all flow points.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Number of trials.
    /// seed
    ///     The seed of the draws: the same seed gives the same bits.
    ///
    /// Returns
    /// -------
    /// VerificationTrials
    ///     Trials of the error of every flow point.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Trials outside 100 to 2e8, an input with 2 degrees of freedom or fewer, such as the
    ///     scatter of three runs.
    /// InputError
    ///     A negative number of trials, a negative seed.
    /// TrialsError
    ///     A trial without a finite result.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> result.monte_carlo(trials=10_000, seed=1).trials
    /// 10000
    #[pyo3(signature = (trials = 1_000_000, seed = 1))]
    fn monte_carlo(&self, py: Python<'_>, trials: u64, seed: u64) -> PyResult<VerificationTrials> {
        let run = MonteCarlo {
            trials,
            seed,
            ..MonteCarlo::default()
        };
        let trials = watched(py, None, |watch| self.0.monte_carlo_watched(run, watch))?;
        let conforming_share = self.0.conforming_share(&trials);
        Ok(VerificationTrials {
            trials,
            seed,
            conforming_share,
            points: self.0.points.len(),
        })
    }

    /// The results as JSON text, those of a record, with those of trials where they are given.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same verification, if there are any.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON in SI units, the units in the names.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Trials too few for the coverage probability.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> result.to_json()[:1]
    /// '{'
    #[pyo3(signature = (trials = None))]
    fn to_json(&self, trials: Option<&VerificationTrials>) -> PyResult<String> {
        Ok(self.0.to_json(trials.map(|t| &t.trials))?)
    }

    /// Runs, points, verdict and cautions in words.
    ///
    /// Parameters
    /// ----------
    /// trials
    ///     Monte Carlo trials of the same verification, if there are any.
    ///
    /// Returns
    /// -------
    /// str
    ///     Lines of text.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     Trials too few for the coverage probability.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> result = site.verify("notebooks/demo/verification.toml")
    /// >>> "conforms" in result.in_words()
    /// True
    #[pyo3(signature = (trials = None))]
    fn in_words(&self, trials: Option<&VerificationTrials>) -> PyResult<String> {
        let mut text = self.0.in_words()?;
        if let Some(trials) = trials {
            text += "\n";
            text += &self.0.trials_in_words(&trials.trials)?;
        }
        Ok(text)
    }

    fn __repr__(&self) -> String {
        format!(
            "<VerificationResult of {:?}: {}>",
            self.0.name,
            self.0.headline()
        )
    }

    fn __str__(&self) -> PyResult<String> {
        Ok(self.0.in_words()?)
    }
}

/// Monte Carlo trials of the flow points of a verification, kept together.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct VerificationTrials {
    pub(super) trials: montecarlo::JointTrials,
    seed: u64,
    conforming_share: Option<f64>,
    points: usize,
}

#[pymethods]
impl VerificationTrials {
    /// Number of trials.
    #[getter]
    fn trials(&self) -> usize {
        self.trials.trials()
    }

    /// The seed.
    #[getter]
    fn seed(&self) -> u64 {
        self.seed
    }

    /// The share of trials in which all points conform; `None` without permissible errors.
    #[getter]
    fn conforming_share(&self) -> Option<f64> {
        self.conforming_share
    }

    /// The trials of the error of each point.
    #[getter]
    fn errors(&self) -> Vec<Made<Trials>> {
        let error = |point| self.trials.of_output(core::PointsModel::error_of(point));
        (0..self.points)
            .map(|point| Made(Trials(error(point))))
            .collect()
    }

    fn __repr__(&self) -> String {
        format!(
            "<VerificationTrials: {} trials of {} points, seed {}>",
            self.trials.trials(),
            self.points,
            self.seed
        )
    }
}
