//! Series, and many sites at once.

use super::budget::{Budget, Expanded};
use super::site::{Site, columns_of, readings_of};
use super::user_class::{Made, taken};
use super::watched::{Looker, watched};
use crate::evaluate::{
    self as core, Channel, Faults, Gaps, Log, Period, Repeatability, Rule, Selection,
    SeriesOptions, SiteFiles, SiteRow, SiteTexts, Times,
};
use crate::uncertainty::{self, Damping};
use crate::units::{Dimension, difference, quantity};
use numpy::{IntoPyArray, PyArray1, PyArray2, PyReadonlyArray1};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::path::PathBuf;

/// A quantity as text with its unit, or as a number in SI.
#[derive(FromPyObject)]
enum Stated {
    Text(String),
    Number(f64),
}

/// When rows were read.
#[derive(FromPyObject)]
enum WhenRead<'py> {
    /// Points in time; the smallest integer is none, as in numpy.
    Nanoseconds(PyReadonlyArray1<'py, i64>),
    Seconds(PyReadonlyArray1<'py, f64>),
    Texts(Vec<String>),
}

/// How rows are chosen, and what is known of their times and of the meter.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
struct Settings {
    interval: Option<Stated>,
    rule: String,
    gaps: String,
    gap_factor: f64,
    repeatability: Vec<(String, Stated)>,
    time_constant: Option<Stated>,
    window: Option<Stated>,
    /// Name of the zone of a clock.
    time_zone: Option<String>,
    /// Whether times know their zone.
    zoned: bool,
    /// Column, or status by row, and accepted status.
    status: Option<(StatusRows, Vec<String>)>,
    /// Name, values where the log is no file, and least value.
    signal: Option<(String, Option<Vec<f64>>, Option<f64>)>,
    /// Whether forward and reverse flow have totals of their own.
    separate: bool,
    low_flow_cut_off: Option<Stated>,
    /// Calendar periods of which totals are wanted.
    period: Option<String>,
    /// Codes, spikes, velocity, sound speed.
    faults: (bool, Option<f64>, Option<f64>, Option<f64>),
}

#[derive(FromPyObject)]
enum StatusRows {
    Column(String),
    Rows(Vec<String>),
}

impl Settings {
    fn options(&self) -> PyResult<SeriesOptions> {
        let (codes, spikes, velocity, sound_speed) = self.faults;
        let seconds = |stated: &Option<Stated>, field: &str| match stated {
            Some(stated) => seconds(stated, field).map(Some),
            None => Ok(None),
        };
        let lag = seconds(&self.time_constant, "time_constant")?.map(Damping::TimeConstant);
        let window = seconds(&self.window, "window")?.map(Damping::Window);
        let repeatability = self.repeatability.iter();
        Ok(SeriesOptions {
            rule: Rule::from_name(&self.rule)?,
            gaps: Gaps::from_name(&self.gaps)?,
            gap_factor: self.gap_factor,
            repeatability: repeatability
                .map(|(channel, stated)| stated_repeatability(channel, stated))
                .collect::<PyResult<_>>()?,
            damping: lag.or(window),
            separate: self.separate,
            low_flow_cut_off: match &self.low_flow_cut_off {
                Some(Stated::Text(text)) => {
                    Some(quantity(text, Dimension::VolumeFlow, "low_flow_cut_off")?.si)
                }
                Some(Stated::Number(si)) => Some(*si),
                None => None,
            },
            period: self.period.as_deref().map(Period::from_name).transpose()?,
            faults: Faults {
                codes,
                spikes,
                velocity,
                sound_speed,
            },
        })
    }

    /// The log of a file.
    fn read(&self, path: PathBuf, interval: Option<f64>) -> crate::Result<Log> {
        let status = match &self.status {
            Some((StatusRows::Column(name), accepted)) => Some((name.clone(), accepted.clone())),
            _ => None,
        };
        let signal = self.signal.as_ref();
        let selection = Selection {
            status,
            signal: signal.map(|(name, _, least)| (name.clone(), *least)),
        };
        Log::selected_from_csv(path, interval, &selection)
    }

    /// The log with what is known of rows in memory.
    fn with_rows(&self, mut log: Log) -> crate::Result<Log> {
        if let Some((StatusRows::Rows(rows), accepted)) = &self.status {
            log = log.with_status(rows.iter().map(String::as_str), accepted)?;
        }
        if let Some((name, Some(values), least)) = &self.signal {
            log = log.with_signal(name, values.clone(), *least)?;
        }
        Ok(log)
    }
}

fn seconds(stated: &Stated, field: &str) -> PyResult<f64> {
    match stated {
        Stated::Text(text) => Ok(quantity(text, Dimension::Time, field)?.si),
        Stated::Number(seconds) => Ok(*seconds),
    }
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
    series: core::Series,
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
fn evaluate_series(
    py: Python<'_>,
    site: &Site,
    log: &Bound<'_, PyAny>,
    times: Option<WhenRead<'_>>,
    settings: Settings,
    no_flow: Option<Bound<'_, PyAny>>,
    looker: Looker,
) -> PyResult<Made<Series>> {
    let mut options = settings.options()?;
    if let Some(readings) = &no_flow {
        // what is stated comes first and counts
        let found = Repeatability::at_no_flow(&readings_of(readings)?)?;
        options.repeatability.extend(found);
    }
    let interval = match &settings.interval {
        Some(stated) => Some(seconds(stated, "interval")?),
        None => None,
    };
    let log = if let Ok(path) = log.extract::<PathBuf>() {
        py.detach(|| settings.read(path, interval))?
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

fn stated_repeatability(channel: &str, stated: &Stated) -> PyResult<(Channel, Repeatability)> {
    let channel = Channel::from_name(channel, "repeatability")?;
    let field = format!("repeatability.{}", channel.name());
    let standard_deviation = match stated {
        Stated::Text(text) => difference(text, f64::NAN, channel.quantity().dimension(), &field)?,
        Stated::Number(si) => *si,
    };
    let known = Repeatability::independent(standard_deviation, f64::INFINITY);
    Ok((channel, known))
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

fn site_row<'py>(py: Python<'py>, row: &SiteRow) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    found.set_item("site", &row.name)?;
    found.set_item("file", row.files.site.display().to_string())?;
    found.set_item("readings", row.files.readings.display().to_string())?;
    let outcome = row.outcome.as_ref();
    type Pick = fn(&core::SiteOutcome) -> f64;
    let numbers: [(&str, Pick); 3] = [
        ("volume_flow", |o| o.flow),
        ("standard_uncertainty", |o| o.standard_uncertainty),
        ("expanded_uncertainty", |o| o.expanded_uncertainty),
    ];
    for (name, pick) in numbers {
        let shown = |o: &core::SiteOutcome| o.unit.from_si(pick(o));
        found.set_item(name, outcome.map_or(f64::NAN, shown))?;
        found.set_item(format!("{name}_m3_s"), outcome.map_or(f64::NAN, pick))?;
    }
    found.set_item("unit", outcome.map_or("", |o| &o.unit.symbol))?;
    let (headline, warnings, error) = match outcome {
        Ok(outcome) => {
            let warnings = outcome.warnings.iter();
            let words = warnings.map(|w| format!("{}: {}", w.code, w.words));
            (outcome.headline.clone(), words.collect(), String::new())
        }
        Err(error) => (String::new(), Vec::new(), error.to_string()),
    };
    found.set_item("headline", headline)?;
    found.set_item("warnings", PyList::new(py, warnings)?)?;
    found.set_item("error", error)?;
    Ok(found)
}

/// Site files and readings of a folder.
#[pyfunction]
fn sites_in_folder(folder: PathBuf) -> PyResult<Vec<(PathBuf, PathBuf)>> {
    let sites = SiteFiles::in_folder(folder)?.into_iter();
    Ok(sites.map(|files| (files.site, files.readings)).collect())
}

/// The readings that belong to a site file.
#[pyfunction]
fn readings_beside(site: PathBuf) -> PathBuf {
    SiteFiles::of(site).readings
}

/// Evaluates sites on the threads inside; one dictionary for each.
#[pyfunction]
fn evaluate_site_files<'py>(
    py: Python<'py>,
    files: Vec<(PathBuf, PathBuf)>,
) -> PyResult<Vec<Bound<'py, PyDict>>> {
    let files = files.into_iter();
    let files = files.map(|(site, readings)| SiteFiles { site, readings });
    let files: Vec<SiteFiles> = files.collect();
    let rows = watched(py, None, |watch| {
        core::evaluate_sites_watched(&files, watch)
    })?;
    rows.iter().map(|row| site_row(py, row)).collect()
}

/// Reads the files of a site for a job elsewhere.
#[pyfunction]
fn read_site_files(py: Python<'_>, site: PathBuf, readings: PathBuf) -> PyResult<(String, String)> {
    let texts = py.detach(|| SiteFiles { site, readings }.read())?;
    Ok((texts.site, texts.readings))
}

/// Evaluates one site that has been read, on this thread.
#[pyfunction]
fn evaluate_site_texts<'py>(
    py: Python<'py>,
    files: (PathBuf, PathBuf),
    texts: (String, String),
) -> PyResult<Bound<'py, PyDict>> {
    let (site, readings) = files;
    let texts = SiteTexts {
        files: SiteFiles { site, readings },
        site: texts.0,
        readings: texts.1,
    };
    let row = py.detach(|| core::evaluate_site(texts));
    site_row(py, &row)
}

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_class::<Series>()?;
    module.add_function(wrap_pyfunction!(evaluate_series, module)?)?;
    module.add_function(wrap_pyfunction!(sites_in_folder, module)?)?;
    module.add_function(wrap_pyfunction!(readings_beside, module)?)?;
    module.add_function(wrap_pyfunction!(evaluate_site_files, module)?)?;
    module.add_function(wrap_pyfunction!(read_site_files, module)?)?;
    module.add_function(wrap_pyfunction!(evaluate_site_texts, module)?)
}
