//! Alternatives of a plan side by side.

use super::rows::entries;
use super::user_class::taken;
use crate::plan as core;
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// The alternatives of a plan side by side: what `plan.comparison` is.
///
/// One row an alternative, by rank: the largest and the typical expanded uncertainty over the points
/// of the plan, effort, spacing and whether it fits. ``to_pandas()`` and ``to_polars()`` have these
/// rows; ``remarks`` has each warning once.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct PlanComparison(pub(super) core::Comparison);

#[pymethods]
impl PlanComparison {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`plan.comparison`")
    }

    /// The unit of the flows.
    #[getter]
    fn flow_unit(&self) -> &str {
        &self.0.flow_unit.symbol
    }

    /// The alternatives as dictionaries by rank, flows in the unit of the site or in m3/s.
    ///
    /// Parameters
    /// ----------
    /// si
    ///     Flows in m3/s, and not in the unit of the site.
    ///
    /// Returns
    /// -------
    /// list of dict
    ///     One for each alternative, all with the same keys.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
    /// >>> comparison = plan.comparison
    /// >>> comparison.rows()[0]["rank_by_uncertainty"]
    /// 1
    #[pyo3(signature = (si = false))]
    fn rows<'py>(&self, py: Python<'py>, si: bool) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let rows = self.0.rows();
        if si {
            return entries(py, rows);
        }
        let unit = &self.0.flow_unit;
        let rows = rows.into_iter().map(|row| core::row_shown_in(row, unit));
        entries(py, rows.collect())
    }

    /// Warnings and reasons why nothing can be measured, each once, with what it belongs to.
    #[getter]
    fn remarks<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        entries(py, self.0.remark_rows())
    }

    /// The alternative that fits and reaches the target at every point with the least effort, by its
    /// label; `None` without target or without such an alternative.
    #[getter]
    fn least_effort_on_target(&self) -> Option<&str> {
        let found = self.0.least_effort_on_target();
        found.map(|one| one.label.as_str())
    }

    /// What must be known to read the table, and what follows from it, one sentence each.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.0.notes()
    }

    /// The headings of `shown`.
    #[getter]
    fn headings(&self) -> Vec<String> {
        self.0.headings()
    }

    /// The alternatives by rank as words rounded for display.
    ///
    /// Returns
    /// -------
    /// list of list of str
    ///     A list of texts for each alternative, under `headings`.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
    /// >>> comparison = plan.comparison
    /// >>> comparison.shown()[0][:2]
    /// ['1', '2 traverses (reflected)']
    fn shown(&self) -> Vec<Vec<String>> {
        self.0.shown()
    }

    /// Remarks as words: what kind it is, what it says, and what it belongs to.
    ///
    /// Returns
    /// -------
    /// list of list of str
    ///     Three texts for each remark.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
    /// >>> comparison = plan.comparison
    /// >>> comparison.remarks_shown()
    /// []
    fn remarks_shown(&self) -> Vec<[String; 3]> {
        self.0.remarks_shown()
    }

    /// The comparison as JSON text.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON in SI units, the units in the names.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
    /// >>> comparison = plan.comparison
    /// >>> comparison.to_json()[:1]
    /// '{'
    fn to_json(&self) -> String {
        self.0.to_json()
    }

    /// The comparison in words.
    ///
    /// Returns
    /// -------
    /// str
    ///     Lines of text.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> plan = site.plan("1000 m3/h", "8 degC", traverses=[1, 2])
    /// >>> comparison = plan.comparison
    /// >>> len(comparison.in_words().splitlines()) > 2
    /// True
    fn in_words(&self) -> String {
        self.0.in_words() + &self.0.remarks_in_words()
    }

    fn __len__(&self) -> usize {
        self.0.alternatives.len()
    }

    fn __repr__(&self) -> String {
        let (alternatives, points) = (self.0.alternatives.len(), self.0.conditions.len());
        format!("<PlanComparison of {alternatives} alternatives at {points} points each>")
    }

    fn __str__(&self) -> String {
        self.in_words()
    }
}
