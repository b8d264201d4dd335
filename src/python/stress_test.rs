//! Stress tests: what an interval holds if one statement is wrong.

use super::trials::plain_run;
use super::watched::watched;
use crate::evaluate::{self as core, WrongStatement};
use pyo3::prelude::*;
use pyo3::types::PyDict;

/// What made-up truths say of the interval of an evaluation.
#[pyclass(frozen, module = "flowdoubt")]
pub(super) struct StressTest(core::StressTest);

impl StressTest {
    pub(super) fn of(
        py: Python<'_>,
        evaluation: &core::Evaluation,
        wrong: Option<&Bound<'_, PyDict>>,
        trials: u64,
        seed: u64,
    ) -> PyResult<StressTest> {
        let mut statements: Vec<WrongStatement> = Vec::new();
        for (input, by) in wrong.into_iter().flatten() {
            let (input, by): (String, String) = (input.extract()?, by.extract()?);
            statements.push(evaluation.wrong_statement(&input, &by)?);
        }
        let run = plain_run(trials, seed);
        let found = watched(py, None, |watch| {
            evaluation.stress_test_watched(&run, &statements, watch)
        })?;
        Ok(StressTest(found))
    }
}

#[pymethods]
impl StressTest {
    /// The coverage probability of the interval.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.0.coverage_probability
    }

    /// Share of the truths that the interval holds if all statements are right.
    #[getter]
    fn held(&self) -> f64 {
        self.0.held
    }

    /// Standard error of the shares by the number of trials.
    #[getter]
    fn standard_error(&self) -> f64 {
        self.0.standard_error
    }

    /// Number of trials.
    #[getter]
    fn trials(&self) -> u64 {
        self.0.trials
    }

    /// What comes of wrong statements, as dictionaries: the most harmful first.
    #[getter]
    fn stresses<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let row = |stress: &core::Stress| {
            let row = PyDict::new(py);
            row.set_item("input", &stress.input)?;
            row.set_item("off_by", stress.unit.difference_from_si(stress.by))?;
            row.set_item("unit", &*stress.unit.symbol)?;
            row.set_item(
                "in_standard_uncertainties",
                stress.in_standard_uncertainties,
            )?;
            row.set_item("held", stress.held)?;
            row.set_item("relative_error", stress.relative_error)?;
            Ok(row)
        };
        self.0.stresses.iter().map(row).collect()
    }

    fn __repr__(&self) -> String {
        self.0.in_words().trim_end().to_owned()
    }
}
