//! The uncertainty budget.

use super::shown::asked;
use super::told;
use super::user_class::taken;
use crate::input_words::{in_words, phrases, phrases_of_name, words_by_key};
use crate::uncertainty::{self, TableColumn, TableRow, Units};
use crate::units::Unit;
use numpy::ToPyArray;
use pyo3::prelude::*;
use pyo3::types::{IntoPyDict, PyDict, PyTuple};

/// A number as text with a count of significant digits.
#[pyfunction]
#[pyo3(signature = (value, digits = 2))]
pub(super) fn rounded(value: f64, digits: i32) -> String {
    uncertainty::rounded(value, digits)
}

/// An estimate and its uncertainty as text (JCGM 100:2008, 7.2.6).
#[pyfunction]
pub(super) fn rounded_pair(estimate: f64, uncertainty: f64) -> (String, String) {
    uncertainty::rounded_pair(estimate, uncertainty)
}

/// A Reynolds number for people.
#[pyfunction]
pub(super) fn grouped(value: f64) -> String {
    uncertainty::grouped(value)
}

/// As `rounded_pair` for an expanded uncertainty, which is rounded up.
#[pyfunction]
pub(super) fn rounded_pair_up(estimate: f64, expanded_uncertainty: f64) -> (String, String) {
    uncertainty::rounded_pair_up(estimate, expanded_uncertainty)
}

/// The words of inputs in English by their keys.
#[pyfunction]
#[pyo3(name = "_words_by_key")]
pub(super) fn english_words(py: Python<'_>) -> PyResult<Bound<'_, PyDict>> {
    words_by_key().into_py_dict(py)
}

/// Key and number of each part of the words of an input, by its name.
#[pyfunction]
#[pyo3(name = "_phrases_of")]
pub(super) fn phrases_of(name: &str) -> Vec<(&'static str, String)> {
    let phrases = phrases_of_name(name).into_iter();
    phrases.map(|phrase| (phrase.key, phrase.number)).collect()
}

/// An uncertainty budget.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Budget(pub(super) uncertainty::Budget);

#[pymethods]
impl Budget {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(
            value,
            "the budget of an evaluation, a plan or a propagation",
        )
    }

    /// The name of the output quantity.
    #[getter]
    fn output(&self) -> &str {
        &self.0.output.name
    }

    /// The unit of the output quantity.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.output.unit.symbol
    }

    /// The estimate, in `unit`.
    #[getter]
    fn estimate(&self) -> f64 {
        self.0.result_shown().0
    }

    /// The combined standard uncertainty, in `unit`.
    #[getter]
    fn standard_uncertainty(&self) -> f64 {
        self.0.result_shown().1
    }

    /// Effective degrees of freedom by Welch and Satterthwaite; `inf` where they are not limited.
    /// JCGM 100:2008, G.4.1.
    #[getter]
    fn effective_dof(&self) -> f64 {
        self.0.effective_dof
    }

    /// The result in one line, rounded (JCGM 100:2008, 7.2.6).
    #[getter]
    fn result_in_words(&self) -> String {
        self.0.result_in_words()
    }

    /// The expanded uncertainty at a coverage probability, with its coverage factor. JCGM 100:2008,
    /// clause 6.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     From above 0 to below 1.
    ///
    /// Returns
    /// -------
    /// Expanded
    ///     Expanded uncertainty, coverage factor and degrees of freedom.
    ///
    /// Raises
    /// ------
    /// RangeError
    ///     A coverage probability that is not strictly between 0 and 1, an expanded uncertainty
    ///     that is not finite.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> round(budget.expanded(0.95).coverage_factor, 2)
    /// 1.96
    fn expanded(&self, coverage_probability: f64) -> PyResult<Expanded> {
        let expanded = self.0.expanded(coverage_probability)?;
        Ok(Expanded::of(expanded, &self.0.output.unit))
    }

    /// The estimate.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// float
    ///     The estimate.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    /// InputError
    ///     Another unit, where that of the result is one of the user's own.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> round(budget.value("L/s"), 1)
    /// 290.1
    #[pyo3(signature = (unit = None))]
    fn value(&self, unit: Option<&str>) -> PyResult<f64> {
        Ok(self.result(unit)?.0)
    }

    /// Estimate and standard uncertainty.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// tuple of float
    ///     Estimate and standard uncertainty.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    /// InputError
    ///     Another unit, where that of the result is one of the user's own.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> [round(number) for number in budget.result("L/s")]
    /// [290, 4]
    #[pyo3(signature = (unit = None))]
    fn result(&self, unit: Option<&str>) -> PyResult<(f64, f64)> {
        let unit = asked(&self.0.output.unit, unit)?;
        let u = unit.difference_from_si(self.0.standard_uncertainty);
        Ok((unit.from_si(self.0.estimate), u))
    }

    /// Shares of the variance by component.
    ///
    /// Returns
    /// -------
    /// dict of float
    ///     Shares of the variance by component; they add up to 1, and a share below 0 comes from
    ///     correlation.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> max(budget.components(), key=budget.components().get)
    /// 'installation'
    fn components<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let shares = PyDict::new(py);
        for subtotal in self.0.components() {
            shares.set_item(subtotal.component, subtotal.share)?;
        }
        Ok(shares)
    }

    /// The columns of the budget: lists of words and arrays of numbers. `words` says what the input is,
    /// whose name `input` is the path of its key.
    ///
    /// Parameters
    /// ----------
    /// si
    ///     Numbers in SI units, with the unit in their names; otherwise in the units of the site.
    ///
    /// Returns
    /// -------
    /// dict
    ///     Lists of words and arrays by column, each of shape ``(number of inputs,)``.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> list(budget.columns())[:4]
    /// ['component', 'input', 'words', 'estimate']
    #[pyo3(signature = (si = false))]
    fn columns<'py>(&self, py: Python<'py>, si: bool) -> PyResult<Bound<'py, PyDict>> {
        let rows = self.0.rows(if si { Units::Si } else { Units::Shown });
        let columns = PyDict::new(py);
        for (name, column) in TableRow::COLUMNS {
            match column {
                TableColumn::Words(of) => {
                    columns.set_item(name, rows.iter().map(of).collect::<Vec<_>>())?;
                    if name == "input" {
                        columns.set_item("words", self.words())?;
                    }
                }
                TableColumn::Numbers(of) => {
                    let numbers: Vec<f64> = rows.iter().map(of).collect();
                    columns.set_item(name, numbers.to_pyarray(py))?;
                }
            }
        }
        Ok(columns)
    }

    /// The lines as rounded text, component first and evidence last.
    ///
    /// Returns
    /// -------
    /// list of list of str
    ///     A list of texts for each input.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> budget = evaluation.budget
    /// >>> budget.rounded_lines()[0][1:4]
    /// ['meter.calibration_factor', '1.0000', '0.0045']
    fn rounded_lines(&self) -> Vec<Vec<String>> {
        self.0.rounded_lines()
    }

    /// The evidence of each input, to be said in any language.
    fn _evidence_told<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyTuple>>> {
        let lines = self.0.lines.iter();
        lines
            .map(|line| told::of(py, &line.input.evidence_told()))
            .collect()
    }

    /// What each input is, in words.
    #[pyo3(name = "_words")]
    fn words(&self) -> Vec<String> {
        let lines = self.0.lines.iter();
        lines.map(|line| in_words(&line.input)).collect()
    }

    /// Key and number of each part of the words of each input; none for an input of a model of the
    /// user's own.
    #[pyo3(name = "_phrases")]
    fn phrases(&self) -> Vec<Vec<(&'static str, String)>> {
        let of = |input| {
            let phrases = phrases(input).into_iter();
            phrases.map(|phrase| (phrase.key, phrase.number)).collect()
        };
        self.0.lines.iter().map(|line| of(&line.input)).collect()
    }

    fn __repr__(&self) -> String {
        format!("<Budget of {}>", self.0.result_in_words())
    }

    fn __str__(&self) -> String {
        self.0.to_string()
    }
}

/// An expanded uncertainty, with the unit in which it is shown.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct Expanded(uncertainty::Expanded, Unit);

impl Expanded {
    /// Of a quantity that is shown in the unit.
    pub(super) fn of(expanded: uncertainty::Expanded, unit: &Unit) -> Expanded {
        Expanded(expanded, unit.of_differences())
    }
}

#[pymethods]
impl Expanded {
    /// The coverage probability.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// Effective degrees of freedom; `inf` where they are not limited.
    #[getter]
    fn dof(&self) -> f64 {
        self.0.dof
    }

    /// The coverage factor `k`.
    #[getter]
    fn coverage_factor(&self) -> f64 {
        self.0.coverage_factor
    }

    /// The unit of the expanded uncertainty.
    #[getter]
    fn unit(&self) -> &str {
        &self.1.symbol
    }

    /// The expanded uncertainty `U = k u`, in `unit`.
    #[getter]
    fn expanded_uncertainty(&self) -> f64 {
        self.1.difference_from_si(self.0.expanded_uncertainty)
    }

    /// The expanded uncertainty.
    ///
    /// Parameters
    /// ----------
    /// unit
    ///     A unit of the quantity, or ``"SI"``; the unit of the result if not given.
    ///
    /// Returns
    /// -------
    /// float
    ///     The expanded uncertainty.
    ///
    /// Raises
    /// ------
    /// UnitError
    ///     Text that is no unit, or one of another kind of quantity.
    /// InputError
    ///     Another unit, where that of the result is one of the user's own.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> site = fd.Site.load("notebooks/demo/site.toml")
    /// >>> evaluation = site.evaluate("notebooks/demo/readings.csv")
    /// >>> round(evaluation.expanded().value("L/s"), 1)
    /// 8.1
    #[pyo3(signature = (unit = None))]
    fn value(&self, unit: Option<&str>) -> PyResult<f64> {
        let unit = asked(&self.1, unit)?;
        Ok(unit.difference_from_si(self.0.expanded_uncertainty))
    }

    fn __repr__(&self) -> String {
        format!(
            "<Expanded {}, coverage factor {:.4}, coverage probability {}>",
            self.1
                .after(&uncertainty::rounded(self.expanded_uncertainty(), 3)),
            self.0.coverage_factor,
            self.0.coverage_probability
        )
    }
}
