//! The difference of two flows.

use super::budget::{Budget, Expanded};
use super::evaluation::Evaluation;
use super::record::loaded;
use super::series::Series;
use super::user_class::{Made, taken};
use crate::difference::{self as core, Flow, InCommon, Same};
use crate::error::Error;
use pyo3::prelude::*;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Difference>()?;
    module.add_function(wrap_pyfunction!(difference, module)?)
}

/// An evaluation, a series, or a series with the label of one of its periods.
fn flow_of(given: &Bound<'_, PyAny>, field: &str) -> PyResult<Flow> {
    if let Ok(evaluation) = given.cast::<Evaluation>() {
        return Ok(Flow::from(&evaluation.get().0));
    }
    if let Ok(series) = given.cast::<Series>() {
        return Ok(series.get().series.mean_as_flow()?);
    }
    if let Ok((series, label)) = given.extract::<(Bound<'_, Series>, String)>() {
        return Ok(series.get().series.period_as_flow(&label)?);
    }
    let found = given.get_type().name()?.to_string();
    Err(PyErr::from(Error::WrongType {
        field: field.to_owned(),
        found,
        allowed:
            "an evaluation, a record of one, a series, or a pair of a series and the label of \
                  one of its periods"
                .to_owned(),
    }))
}

/// The second flow less the first.
#[pyfunction]
fn difference(
    first: &Bound<'_, PyAny>,
    second: &Bound<'_, PyAny>,
    labels: Option<[String; 2]>,
    same: &str,
    also: Vec<String>,
    but: Vec<String>,
) -> PyResult<Made<Difference>> {
    let mut flows = [flow_of(first, "first")?, flow_of(second, "second")?];
    for (flow, label) in flows.iter_mut().zip(labels.into_iter().flatten()) {
        flow.label = label;
    }
    let [first, second] = flows;
    let same = Same::from_name(same)?;
    let in_common = InCommon { same, also, but };
    let found = core::Difference::of(first, second, in_common)?;
    Ok(Made(Difference(found)))
}

/// The difference of two flows: what `flowdoubt.difference` returns.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Difference(core::Difference);

#[pymethods]
impl Difference {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`flowdoubt.difference(first, second, same=...)`")
    }

    /// What the two flows are called.
    #[getter]
    fn labels(&self) -> (&str, &str) {
        (&self.0.labels[0], &self.0.labels[1])
    }

    /// What they have in common, by name.
    #[getter]
    fn same(&self) -> &'static str {
        self.0.in_common.same.name()
    }

    /// What they have in common, in words.
    #[getter]
    fn same_in_words(&self) -> &'static str {
        self.0.in_common.same.in_words()
    }

    /// The inputs that both share and depend on.
    #[getter]
    fn shared(&self) -> Vec<String> {
        self.0.shared.clone()
    }

    /// The unit of the flows and of their difference.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.difference.output.unit.symbol
    }

    /// The budget of the first flow, over the inputs of both.
    #[getter]
    fn first(&self) -> Made<Budget> {
        Made(Budget(self.0.flows[0].clone()))
    }

    /// The budget of the second flow, over the inputs of both.
    #[getter]
    fn second(&self) -> Made<Budget> {
        Made(Budget(self.0.flows[1].clone()))
    }

    /// The budget of the second less the first.
    #[getter]
    fn budget(&self) -> Made<Budget> {
        Made(Budget(self.0.difference.clone()))
    }

    /// The budget of the difference over the first, in percent; None where the first is no flow.
    #[getter]
    fn relative(&self) -> Option<Made<Budget>> {
        let relative = self.0.relative.clone();
        relative.map(|budget| Made(Budget(budget)))
    }

    /// The second less the first, in `unit`.
    #[getter]
    fn estimate(&self) -> f64 {
        let budget = &self.0.difference;
        budget.output.unit.from_si(budget.estimate)
    }

    /// The standard uncertainty of the difference, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        let budget = &self.0.difference;
        budget
            .output
            .unit
            .difference_from_si(budget.standard_uncertainty)
    }

    /// The expanded uncertainty of the difference, in `unit`, with its coverage factor. JCGM 100:2008,
    /// clause 6.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1; that of the first site if not given.
    ///
    /// Returns
    /// -------
    /// Expanded
    ///     Expanded uncertainty, coverage factor and degrees of freedom.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> difference = fd.difference(evaluation, evaluation, same="meter")
    /// >>> round(difference.expanded().coverage_factor, 2)
    /// 1.96
    #[pyo3(signature = (coverage_probability = None))]
    fn expanded(&self, coverage_probability: Option<f64>) -> PyResult<Expanded> {
        let p = coverage_probability.unwrap_or(self.0.coverage_probability);
        let expanded = self.0.difference.expanded(p)?;
        Ok(Expanded::of(expanded, &self.0.difference.output.unit))
    }

    /// The correlation coefficient of the two flows; None where one has no uncertainty.
    #[getter]
    fn correlation(&self) -> Option<f64> {
        self.0.correlation
    }

    /// Whether the flows differ by more than the expanded uncertainty of their difference.
    #[getter]
    fn differs(&self) -> PyResult<bool> {
        Ok(self.0.differs()?)
    }

    /// The difference in one line.
    #[getter]
    fn headline(&self) -> PyResult<String> {
        Ok(self.0.headline()?)
    }

    /// Whether the flows differ, in words.
    #[getter]
    fn verdict(&self) -> PyResult<&'static str> {
        Ok(self.0.verdict()?)
    }

    /// Both flows, their difference and what they have in common, as text.
    #[getter]
    fn in_words(&self) -> PyResult<String> {
        Ok(self.0.in_words()?)
    }

    /// Everything as a dictionary, numbers in SI units with the unit in their names.
    ///
    /// Returns
    /// -------
    /// dict
    ///     Both flows, difference, covariance, what is in common and the contributions.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> difference = fd.difference(evaluation, evaluation, same="meter")
    /// >>> difference.to_dict()["same"]
    /// 'meter'
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        loaded(py, &self.0.to_json()?.to_string())
    }

    fn __str__(&self) -> PyResult<String> {
        self.in_words()
    }

    fn __repr__(&self) -> PyResult<String> {
        Ok(format!("<Difference: {}>", self.0.headline()?))
    }
}
