//! How the rows of a log are read and chosen.

use crate::evaluate::{
    Channel, Faults, Gaps, Log, Period, Repeatability, Rule, Selection, SeriesOptions,
};
use crate::table::TableOptions;
use crate::uncertainty::Damping;
use crate::units::{Dimension, difference, quantity};
use numpy::PyReadonlyArray1;
use pyo3::prelude::*;
use std::path::PathBuf;

/// A quantity as text with its unit, or as a number in SI.
#[derive(FromPyObject)]
pub(super) enum Stated {
    Text(String),
    Number(f64),
}

/// When rows were read.
#[derive(FromPyObject)]
pub(super) enum WhenRead<'py> {
    /// Points in time; the smallest integer is none, as in numpy.
    Nanoseconds(PyReadonlyArray1<'py, i64>),
    Seconds(PyReadonlyArray1<'py, f64>),
    Texts(Vec<String>),
}

/// How rows are chosen, and what is known of their times and of the meter.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
pub(super) struct Settings {
    pub(super) interval: Option<Stated>,
    rule: String,
    gaps: String,
    gap_factor: f64,
    repeatability: Vec<(String, Stated)>,
    time_constant: Option<Stated>,
    window: Option<Stated>,
    /// Name of the zone of a clock.
    pub(super) time_zone: Option<String>,
    /// Whether times know their zone.
    pub(super) zoned: bool,
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
    pub(super) fn options(&self) -> PyResult<SeriesOptions> {
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
    pub(super) fn read(
        &self,
        path: PathBuf,
        interval: Option<f64>,
        table: &TableOptions,
    ) -> crate::Result<Log> {
        let status = match &self.status {
            Some((StatusRows::Column(name), accepted)) => Some((name.clone(), accepted.clone())),
            _ => None,
        };
        let signal = self.signal.as_ref();
        let selection = Selection {
            status,
            signal: signal.map(|(name, _, least)| (name.clone(), *least)),
        };
        Log::from_file(path, interval, &selection, table)
    }

    /// The log with what is known of rows in memory.
    pub(super) fn with_rows(&self, mut log: Log) -> crate::Result<Log> {
        if let Some((StatusRows::Rows(rows), accepted)) = &self.status {
            log = log.with_status(rows.iter().map(String::as_str), accepted)?;
        }
        if let Some((name, Some(values), least)) = &self.signal {
            log = log.with_signal(name, values.clone(), *least)?;
        }
        Ok(log)
    }
}

pub(super) fn seconds(stated: &Stated, field: &str) -> PyResult<f64> {
    match stated {
        Stated::Text(text) => Ok(quantity(text, Dimension::Time, field)?.si),
        Stated::Number(seconds) => Ok(*seconds),
    }
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
