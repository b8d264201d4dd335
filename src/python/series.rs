//! Series.

use super::budget::{Budget, Expanded};
use super::readings::{columns_of, readings_of};
use super::series_settings::{Settings, WhenRead, seconds};
use super::site::Site;
use super::table_options::StatedTable;
use super::user_class::{Made, taken};
use super::watched::{Looker, watched};
use crate::evaluate::{self as core, Log, Repeatability, Times};
use crate::uncertainty;
use numpy::{IntoPyArray, PyArray1, PyArray2};
use pyo3::prelude::*;
use pyo3::types::PyDict;
use std::path::PathBuf;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Series>()?;
    module.add_function(wrap_pyfunction!(evaluate_series, module)?)
}

/// Columns of a series in memory that Python shares.
struct Columns {
    seconds: Py<PyArray1<f64>>,
    flow: Py<PyArray1<f64>>,
    standard_uncertainty: Py<PyArray1<f64>>,
    random_uncertainty: Py<PyArray1<f64>>,
    reynolds: Py<PyArray1<f64>>,
}

/// Flow row by row and the total volume.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Series {
    /// Without its columns.
    pub(super) series: core::Series,
    columns: Columns,
    /// Times as a file has them.
    stamps: Option<Vec<String>>,
}

/// An array that shares its memory with nobody who writes.
fn shared(py: Python<'_>, values: &mut Vec<f64>) -> PyResult<Py<PyArray1<f64>>> {
    let array = std::mem::take(values).into_pyarray(py);
    array.call_method1("setflags", (false,))?;
    Ok(array.unbind())
}

/// Evaluates a log: columns with times, or a CSV file with a column of times.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "what is known of a log")]
fn evaluate_series(
    py: Python<'_>,
    site: &Site,
    log: &Bound<'_, PyAny>,
    times: Option<WhenRead<'_>>,
    settings: Settings,
    no_flow: Option<Bound<'_, PyAny>>,
    table: Option<StatedTable>,
    looker: Looker,
) -> PyResult<Made<Series>> {
    let table = StatedTable::or(table, site.0.table_options())?;
    let mut options = settings.options()?;
    if let Some(readings) = &no_flow {
        // what is stated comes first and counts
        let found = Repeatability::at_no_flow(&readings_of(readings, site.0.table_options())?)?;
        options.repeatability.extend(found);
    }
    let interval = match &settings.interval {
        Some(stated) => Some(seconds(stated, "interval")?),
        None => None,
    };
    let log = if let Ok(path) = log.extract::<PathBuf>() {
        py.detach(|| settings.read(path, interval, &table))?
    } else {
        let times = match (times, interval) {
            (Some(WhenRead::Nanoseconds(times)), _) => {
                let known = |time: &i64| Some(*time).filter(|time| *time != i64::MIN);
                let times = times.as_array().iter().map(known).collect();
                if settings.zoned {
                    Times::Nanoseconds(times)
                } else {
                    Times::Local(times)
                }
            }
            (Some(WhenRead::Seconds(times)), _) => Times::Seconds(times.as_array().to_vec()),
            (Some(WhenRead::Texts(texts)), _) => {
                Times::from_text(texts.iter().map(String::as_str))?
            }
            (None, interval) => Times::Interval(interval.unwrap_or(f64::NAN)),
        };
        let columns = columns_of(log.cast::<PyDict>()?)?;
        let columns = columns.iter().map(|(name, values)| {
            // the package hands over contiguous arrays
            (name.as_str(), values.as_slice().unwrap_or_default())
        });
        settings.with_rows(Log::from_columns(columns, times)?)?
    };
    let log = match &settings.time_zone {
        Some(zone) => log.in_time_zone(zone)?,
        None => log,
    };
    let series = watched(py, looker, |watch| {
        site.0.evaluate_series_watched(&log, options, watch)
    })?;
    let stamps = log.stamps().map(<[String]>::to_vec);
    Ok(Made(Series::of(py, series, stamps)?))
}

impl Series {
    fn of(
        py: Python<'_>,
        mut series: core::Series,
        stamps: Option<Vec<String>>,
    ) -> PyResult<Series> {
        let columns = Columns {
            seconds: shared(py, &mut series.seconds)?,
            flow: shared(py, &mut series.flow)?,
            standard_uncertainty: shared(py, &mut series.standard_uncertainty)?,
            random_uncertainty: shared(py, &mut series.random_uncertainty)?,
            reynolds: shared(py, &mut series.reynolds)?,
        };
        Ok(Series {
            series,
            columns,
            stamps,
        })
    }
}

#[pymethods]
impl Series {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.evaluate_series(table)`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.series.site.name
    }

    /// The coverage probability of the site.
    #[getter]
    fn coverage_probability(&self) -> f64 {
        self.series.site.coverage_probability
    }

    /// The unit in which the site shows its flow.
    #[getter]
    fn flow_unit(&self) -> &str {
        self._flow_unit().0
    }

    /// The unit of volume that goes with the flow of the site.
    #[getter]
    fn volume_unit(&self) -> &str {
        self._volume_unit().0
    }

    /// Symbol and SI value of the unit of flow.
    #[getter]
    fn _flow_unit(&self) -> (&str, f64) {
        let unit = &self.series.site.flow_unit;
        (&unit.symbol, unit.factor)
    }

    /// The budget of the total volume: estimate, standard uncertainty and lines.
    #[getter]
    fn total(&self) -> Made<Budget> {
        Made(Budget(self.series.total.clone()))
    }

    /// The budgets of the volumes that flowed forward and back; with ``reverse="separate"``.
    #[getter]
    fn directions(&self) -> Option<(Made<Budget>, Made<Budget>)> {
        let both = self.series.directions.as_ref();
        let made = |total: &uncertainty::Budget| Made(Budget(total.clone()));
        both.map(|[forward, reverse]| (made(forward), made(reverse)))
    }

    /// The time that the total covers, in s.
    #[getter]
    fn duration_s(&self) -> f64 {
        self.series.duration
    }

    /// The usual step between rows, in s.
    #[getter]
    fn usual_step_s(&self) -> f64 {
        self.series.usual_step
    }

    /// The total volume over the time that it covers, in `flow_unit`.
    #[getter]
    fn mean_flow(&self) -> f64 {
        self.series.site.flow_unit.from_si(self.series.mean_flow())
    }

    /// The volume by which gaps were filled, in `volume_unit`; the total contains it.
    #[getter]
    fn filled_volume(&self) -> f64 {
        let unit = &self.series.total.output.unit;
        unit.from_si(self.series.filled_volume())
    }

    /// How the flow goes between two rows.
    #[getter]
    fn rule(&self) -> &'static str {
        self.series.options.rule.name()
    }

    /// Return the expanded uncertainty of the total.
    ///
    /// Parameters
    /// ----------
    /// coverage_probability
    ///     That of the site if not given.
    ///
    /// Returns
    /// -------
    /// Expanded
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
    /// >>> log = {
    /// ...     "time_s": [0.0, 60.0, 120.0],
    /// ...     "transit_time_us": [609.5] * 3,
    /// ...     "time_difference_ns": [800.0, 802.0, 801.0],
    /// ...     "temperature_degC": [8.1] * 3,
    /// ... }
    /// >>> scatter = {"time_difference": "0.8 ns", "transit_time": "5 ns", "temperature": "0.02 K"}
    /// >>> series = site.evaluate_series(log, repeatability=scatter)
    /// >>> round(series.expanded().coverage_factor, 2)
    /// 1.96
    #[pyo3(signature = (coverage_probability = None))]
    fn expanded(&self, coverage_probability: Option<f64>) -> PyResult<Expanded> {
        let p = coverage_probability.unwrap_or(self.series.site.coverage_probability);
        let total = &self.series.total;
        Ok(Expanded::of(total.expanded(p)?, &total.output.unit))
    }

    /// The total volume with its expanded uncertainty, in one line.
    #[getter]
    fn headline(&self) -> PyResult<String> {
        Ok(self.series.headline()?)
    }

    /// How the file of the log was read, where it was not plain CSV, one sentence each.
    #[getter]
    fn how_read(&self) -> Vec<String> {
        self.series.how_read()
    }

    /// How many rows were used and what became of the others, one sentence each.
    #[getter]
    fn findings(&self) -> Vec<String> {
        self.series.findings()
    }

    fn __len__(&self) -> usize {
        self.series.counts.rows
    }

    fn __repr__(&self) -> PyResult<String> {
        let (site, headline) = (&self.series.site.name, self.series.headline()?);
        Ok(format!("<Series of {site:?}: {headline}>"))
    }

    fn __str__(&self) -> PyResult<String> {
        Ok(self.series.in_words()?)
    }

    /// The columns in SI units, in memory that they share.
    #[getter]
    fn _arrays<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        let own = &self.columns;
        columns.set_item("seconds", &own.seconds)?;
        columns.set_item("flow", &own.flow)?;
        columns.set_item("standard_uncertainty", &own.standard_uncertainty)?;
        columns.set_item("random_uncertainty", &own.random_uncertainty)?;
        columns.set_item("reynolds", &own.reynolds)?;
        Ok(columns)
    }

    /// How many rows were used and how many not and why; resets, gaps, regimes.
    #[getter]
    fn counts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let (counts, found) = (&self.series.counts, PyDict::new(py));
        for (name, count) in [
            ("rows", counts.rows),
            ("used", counts.used),
            ("no_time", counts.no_time),
            ("not_a_number", counts.not_a_number),
            ("duplicate", counts.duplicate),
            ("out_of_order", counts.out_of_order),
            ("status", counts.status),
            ("signal", counts.signal),
            ("error_code", counts.error_code),
            ("inconceivable", counts.inconceivable),
            ("spike", counts.spike),
            ("current_fault", counts.current_fault),
            ("counter_start", counts.counter_start),
            ("counter_reset", counts.counter_reset),
            ("skipped_period", counts.skipped_period),
            ("velocity", counts.velocity),
            ("sound_speed", counts.sound_speed),
            ("outside_model", counts.outside_model),
            ("resets", counts.resets),
            ("gaps", counts.gaps),
            ("below_cut_off", counts.below_cut_off),
            ("laminar", counts.laminar),
            ("transition", counts.transition),
        ] {
            found.set_item(name, count)?;
        }
        Ok(found)
    }

    /// Times as a file has them; `None` where the log is no file with times as text.
    #[getter]
    fn _stamps(&self) -> Option<Vec<String>> {
        self.stamps.clone()
    }

    /// Label, limits in s after the first row, covered time in s, budget and random part of each
    /// period.
    #[getter]
    fn _periods(&self) -> Vec<(String, f64, f64, f64, Made<Budget>, f64)> {
        let periods = self.series.periods.iter();
        periods
            .map(|p| {
                (
                    p.label.clone(),
                    p.limits.start,
                    p.limits.end,
                    p.duration,
                    Made(Budget(p.total.clone())),
                    p.random_uncertainty,
                )
            })
            .collect()
    }

    /// Covariances of the totals of the periods, shape ``(periods, periods)``, in the square of
    /// `volume_unit`.
    #[getter]
    fn period_covariance<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let unit = &self.series.total.output.unit;
        let mut rows = self.series.period_covariance();
        for v in rows.iter_mut().flatten() {
            *v = unit.square_from_si(*v);
        }
        Ok(PyArray2::from_vec2(py, &rows)?)
    }

    /// Symbol and SI value of the unit of volume.
    #[getter]
    fn _volume_unit(&self) -> (&str, f64) {
        let unit = &self.series.total.output.unit;
        (&unit.symbol, unit.factor)
    }

    /// Name and values of the signal.
    #[getter]
    fn _signal(&self) -> Option<(String, Vec<f64>)> {
        let signal = self.series.signal.as_ref();
        signal.map(|signal| (signal.name.clone(), signal.values.clone()))
    }

    /// Zone, rows of an hour run through twice, rows of one leapt over.
    #[getter]
    fn _clock(&self) -> Option<(String, Vec<usize>, Vec<usize>)> {
        let clock = self.series.clock.as_ref();
        clock.map(|clock| {
            (
                clock.zone.clone(),
                clock.twice.clone(),
                clock.skipped.clone(),
            )
        })
    }

    /// What to know beside the uncertainty: a name that never changes, and words.
    #[getter]
    fn warnings(&self) -> Vec<(&'static str, String)> {
        let warnings = self.series.warnings.iter();
        warnings.map(|w| (w.code, w.words.clone())).collect()
    }

    /// Row, code and words of each row that was not used.
    #[getter]
    fn _rejected(&self) -> Vec<(usize, &'static str, String)> {
        let rejected = self.series.rejected.iter();
        rejected
            .map(|r| (r.row, r.reason.code(), r.reason.to_string()))
            .collect()
    }

    /// Rows before and after, length in s and filled volume in m3 of each gap.
    #[getter]
    fn _gaps(&self) -> Vec<(usize, usize, f64, f64)> {
        let gaps = self.series.gaps.iter();
        gaps.map(|g| (g.from_row, g.to_row, g.duration(), g.filled_volume))
            .collect()
    }
}
