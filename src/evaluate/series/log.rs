//! Readings that were logged: columns in which some rows may be bad, and when each was read.

use super::Times;
use crate::error::{Error, Result, read_text};
use crate::evaluate::csv_table::CsvTable;
use crate::evaluate::readings::{Column, ColumnName, read_name};
use crate::evaluate::{Channel, Readings};
use crate::units::Unit;
use std::path::Path;

/// A log of a meter: columns of equal length with the time of each row. A reading that is missing is
/// NaN.
#[derive(Debug, Clone, PartialEq)]
pub struct Log {
    pub(super) columns: Vec<Column>,
    pub(super) times: Times,
    pub(super) rows: usize,
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
    /// length than the header. The error names file and line.
    pub fn from_csv(path: impl AsRef<Path>, interval: Option<f64>) -> Result<Log> {
        let path = path.as_ref();
        Log::from_csv_text(&read_text(path)?, path, interval)
    }

    /// A log from CSV text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Log::from_csv`].
    pub fn from_csv_text(text: &str, file: impl AsRef<Path>, interval: Option<f64>) -> Result<Log> {
        let file = file.as_ref();
        let table = CsvTable::read(text, file)?;
        let in_header = |error: Error| table.in_header(error);
        let mut readings = Readings::default();
        let mut timed: Option<(&str, Times)> = None;
        for (i, (name, kind)) in table.names.iter().enumerate() {
            let numbers = |unit: &Unit| {
                let cells = table.cells(i);
                let number = |cell: &str| cell.parse().map_or(f64::NAN, |n| unit.to_si(n));
                cells.map(number).collect::<Vec<f64>>()
            };
            let times = match kind {
                ColumnName::Channel(channel, unit) => {
                    let added = readings.add_any(name, *channel, unit.clone(), numbers(unit));
                    added.map_err(in_header)?;
                    continue;
                }
                ColumnName::Time => Times::from_text(table.cells(i)).map_err(in_header)?,
                ColumnName::TimeIn(unit) => Times::Seconds(numbers(unit)),
                ColumnName::Remark => continue,
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
        Log::checked(readings, times).map_err(in_header)
    }

    fn checked(readings: Readings, times: Times) -> Result<Log> {
        let readings = readings.check_columns(1, "one row or more")?;
        let rows = readings.rows();
        times.check(rows)?;
        Ok(Log {
            columns: readings.columns,
            times,
            rows,
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
