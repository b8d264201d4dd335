//! Readings that were logged: columns in which some rows may be bad, and when each was read.

use super::pulses_and_counters::CountedRows;
use super::{Clock, Reason, Times, time_zone};
use crate::error::{Error, Result};
use crate::evaluate::readings::Column;
use crate::evaluate::{Channel, Readings};
use crate::files::Kind;
use crate::table::{ColumnName, Opened, StatusColumn, Table, TableFormat, TableOptions, read_name};
use crate::text::shown;
use crate::units::Unit;
use std::borrow::Cow;
use std::path::Path;

/// A log of a meter: columns of equal length with the time of each row. A reading that is missing is
/// NaN.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    pub(super) columns: Vec<Column>,
    pub(super) times: Times,
    pub(super) rows: usize,
    /// Rows that were not asked for, in order, with the reason.
    pub(super) unwanted: Vec<(usize, Reason)>,
    pub(super) signal: Option<Signal>,
    pub(super) clock: Option<Clock>,
    /// Where the flow was made of counts.
    pub(super) counted: Option<CountedRows>,
    /// The times as they were written, where they are text.
    stamps: Option<Vec<String>>,
    /// How it was read from a file.
    pub(super) format: TableFormat,
}

/// Which rows of a log are asked for, by columns that the meter or the logger adds.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Selection {
    /// The column of a status, and the status of rows to use.
    pub status: Option<(String, Vec<String>)>,
    /// The column of the strength or quality of the signal, which is carried into the result, and
    /// the least of rows to use.
    pub signal: Option<(String, Option<f64>)>,
}

/// The strength or quality of the signal by row.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Signal {
    /// The name of the column.
    pub name: String,
    /// As the column has it; NaN where it is missing.
    pub values: Vec<f64>,
}

impl Log {
    /// A log from columns by name, each of shape `(n,)`, in the unit of the name; NaN where a reading
    /// is missing. Columns `time` and `remark` are kept out.
    ///
    /// # Errors
    /// An unknown column or unit, the same channel twice, columns or times of different length, no
    /// row, an interval that is not above 0.
    pub fn from_columns<'a>(
        columns: impl IntoIterator<Item = (&'a str, &'a [f64])>,
        times: Times,
    ) -> Result<Log> {
        let mut readings = Readings::default();
        for (name, numbers) in columns {
            if let ColumnName::Channel(channel, unit) = read_name(name)? {
                let values = numbers.iter().map(|n| unit.to_si(*n)).collect();
                readings.add_any(name, channel, unit, values)?;
            }
        }
        Log::checked(readings, times)
    }

    /// A log from a CSV file: a header of column names, then one row for each reading. The time is a
    /// column `time` of text, see [`Times::from_text`], or one with its unit, `time_s`; `interval` in
    /// seconds stands for either. A cell that is empty or no number is a missing reading.
    ///
    /// # Errors
    /// As [`Log::from_columns`]; a file without times and no interval, or with both; a row of another
    /// length than the header. The error names file and line. What is no regular file or is larger
    /// than 4 GiB is not read.
    pub fn from_csv(path: impl AsRef<Path>, interval: Option<f64>) -> Result<Log> {
        Log::selected_from_csv(path, interval, &Selection::default())
    }

    /// As [`Log::from_csv`], with a selection of rows.
    ///
    /// # Errors
    /// As [`Log::from_csv`], and a column of the selection that is not there.
    pub fn selected_from_csv(
        path: impl AsRef<Path>,
        interval: Option<f64>,
        selection: &Selection,
    ) -> Result<Log> {
        Log::from_file(path, interval, selection, &TableOptions::default())
    }

    /// A log from a file with a table, in any of the forms that
    /// [`Readings::from_file`](crate::evaluate::Readings::from_file) takes. What `options` do not say is
    /// recognised; how the table was read, [`Log::format`] says.
    ///
    /// # Errors
    /// As [`Log::selected_from_csv`], and what is left open; the error tells which option settles it.
    pub fn from_file(
        path: impl AsRef<Path>,
        interval: Option<f64>,
        selection: &Selection,
        options: &TableOptions,
    ) -> Result<Log> {
        let path = path.as_ref();
        let opened = Opened::read(path, Kind::Log, options)?;
        Log::of_opened(&opened, path, interval, selection, options)
    }

    /// A log from CSV text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Log::from_csv`].
    pub fn from_csv_text(text: &str, file: impl AsRef<Path>, interval: Option<f64>) -> Result<Log> {
        Log::selected_from_csv_text(text, file, interval, &Selection::default())
    }

    /// As [`Log::from_csv_text`], with a selection of rows.
    ///
    /// # Errors
    /// As [`Log::selected_from_csv`].
    pub fn selected_from_csv_text(
        text: &str,
        file: impl AsRef<Path>,
        interval: Option<f64>,
        selection: &Selection,
    ) -> Result<Log> {
        let options = TableOptions::default();
        Log::of_opened(
            &Opened::of_text(text),
            file.as_ref(),
            interval,
            selection,
            &options,
        )
    }

    fn of_opened(
        opened: &Opened,
        file: &Path,
        interval: Option<f64>,
        selection: &Selection,
        options: &TableOptions,
    ) -> Result<Log> {
        let of_options = || {
            let status = options.status.as_ref();
            status.map(|StatusColumn { column, good }| (column.clone(), good.clone()))
        };
        let status = selection.status.clone().or_else(of_options);
        let signal = selection.signal.as_ref();
        let other = status.as_ref().map(|(name, _)| name.as_str());
        let other: Vec<&str> = other
            .into_iter()
            .chain(signal.map(|(name, _)| name.as_str()))
            .collect();
        let own = TableOptions {
            status: None,
            ..options.clone()
        };
        let table = Table::read(opened, file, &own, &other)?;
        let in_header = |error: Error| table.in_header(error);
        let mut readings = Readings::default();
        let mut timed: Option<(&str, Times)> = None;
        let mut stamps = None;
        for (i, (name, kind)) in table.names.iter().enumerate() {
            let numbers = |unit: &Unit| {
                let number = |row| table.number(row, i).map_or(f64::NAN, |n| unit.to_si(n));
                (0..table.rows.len()).map(number).collect::<Vec<f64>>()
            };
            let times = match kind {
                ColumnName::Channel(channel, unit) => {
                    let added = readings.add_any(name, *channel, unit.clone(), numbers(unit));
                    added.map_err(in_header)?;
                    continue;
                }
                ColumnName::Time => {
                    stamps = Some(table.times(i).map(Cow::into_owned).collect());
                    let texts = table.time_texts(i);
                    Times::from_text(texts.iter().map(AsRef::as_ref)).map_err(in_header)?
                }
                ColumnName::TimeIn(unit) => Times::Seconds(numbers(unit)),
                ColumnName::Remark | ColumnName::Other | ColumnName::NotUsed => continue,
            };
            if let Some((other, _)) = &timed {
                return Err(in_header(Error::Conflict {
                    field: name.clone(),
                    found: format!("a column of time beside {other}"),
                    allowed: "one of the two".to_owned(),
                }));
            }
            timed = Some((name, times));
        }
        let times = match (timed, interval) {
            (Some((_, times)), None) => times,
            (None, Some(interval)) => Times::Interval(interval),
            (None, None) => {
                return Err(in_header(Error::Missing {
                    field: "time".to_owned(),
                    needed: "a column `time` of text or `time_s`, or an interval".to_owned(),
                }));
            }
            (Some((column, _)), Some(_)) => {
                return Err(in_header(Error::Conflict {
                    field: "interval".to_owned(),
                    found: format!("an interval beside the column {column}"),
                    allowed: "one of the two".to_owned(),
                }));
            }
        };
        let mut log = Log::checked(readings, times).map_err(in_header)?;
        log.stamps = stamps;
        if let Some((name, accepted)) = &status {
            log = log.with_status(table.cells(table.place_of(name)?), accepted)?;
        }
        if let Some((name, least)) = signal {
            let place = table.place_of(name)?;
            let rows = 0..table.rows.len();
            let values = rows.map(|row| table.number(row, place).unwrap_or(f64::NAN));
            log = log.with_signal(name, values.collect(), *least)?;
        }
        log.format = table.format;
        Ok(log)
    }

    /// The log with the status of each row: rows are used whose status, without blanks around it, is
    /// one of those accepted.
    ///
    /// # Errors
    /// Another number of rows, no accepted status.
    pub fn with_status<'a>(
        self,
        status: impl IntoIterator<Item = &'a str>,
        accepted: &[String],
    ) -> Result<Log> {
        if accepted.is_empty() {
            return Err(Error::Missing {
                field: "status".to_owned(),
                needed: "the status of rows to use".to_owned(),
            });
        }
        let reasons: Vec<Option<Reason>> = status
            .into_iter()
            .map(|own| {
                let own = own.trim();
                let wanted = accepted.iter().any(|other| other.trim() == own);
                (!wanted).then(|| Reason::Status(shown(own).into_owned()))
            })
            .collect();
        self.without("status", reasons)
    }

    /// The log with the strength or quality of the signal of each row. With a least, rows are used
    /// that have as much.
    ///
    /// # Errors
    /// Another number of rows.
    pub fn with_signal(self, name: &str, values: Vec<f64>, least: Option<f64>) -> Result<Log> {
        let reason = |value: &f64| {
            let wanted = least.is_none_or(|least| *value >= least);
            (!wanted).then_some(Reason::Signal)
        };
        let mut log = self.without(name, values.iter().map(reason).collect())?;
        log.signal = Some(Signal {
            name: shown(name).into_owned(),
            values,
        });
        Ok(log)
    }

    /// Adds reasons not to use rows; of a row with several the first counts.
    fn without(mut self, field: &str, reasons: Vec<Option<Reason>>) -> Result<Log> {
        if reasons.len() != self.rows {
            return Err(Error::Length {
                field: field.to_owned(),
                found: reasons.len(),
                allowed: format!("{}, as in the columns of readings", self.rows),
            });
        }
        let new = reasons.into_iter().enumerate();
        self.unwanted
            .extend(new.filter_map(|(row, reason)| Some((row, reason?))));
        self.unwanted.sort_by_key(|(row, _)| *row);
        self.unwanted.dedup_by_key(|(row, _)| *row);
        Ok(self)
    }

    /// The log with its times as those of a clock in a time zone, by its name in the IANA database,
    /// such as `Europe/Berlin`: the hour that is run through twice in autumn is told apart, and that
    /// which is leapt over in spring is no gap.
    ///
    /// # Errors
    /// An unknown zone; times that are none of a clock, or that have an offset already.
    pub fn in_time_zone(mut self, name: &str) -> Result<Log> {
        let Times::Local(times) = &self.times else {
            return Err(Error::Conflict {
                field: "time_zone".to_owned(),
                found: "a time zone beside times that need none".to_owned(),
                allowed: "times of day without an offset from universal time".to_owned(),
            });
        };
        let (times, clock) = time_zone::universal(times, name)?;
        self.times = Times::Nanoseconds(times);
        self.clock = Some(clock);
        Ok(self)
    }

    /// The times as they were written, where the log was read from a file with times as text.
    pub fn stamps(&self) -> Option<&[String]> {
        self.stamps.as_deref()
    }

    /// How the log was read from a file, where that was not in the plain form.
    pub fn format(&self) -> Option<&TableFormat> {
        Some(&self.format).filter(|format| !format.is_plain())
    }

    fn checked(readings: Readings, times: Times) -> Result<Log> {
        let readings = readings.check_columns(1, "one row or more")?;
        let rows = readings.rows();
        times.check(rows)?;
        Ok(Log {
            columns: readings.columns,
            times,
            rows,
            unwanted: Vec::new(),
            signal: None,
            clock: None,
            counted: None,
            stamps: None,
            format: TableFormat::default(),
        })
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The channels of the columns.
    pub fn channels(&self) -> Vec<Channel> {
        self.columns.iter().map(|column| column.channel).collect()
    }

    pub(super) fn column(&self, channel: Channel) -> Option<&Column> {
        self.columns.iter().find(|c| c.channel == channel)
    }
}
