//! Readings of the meter, as columns whose names carry their units.

use super::{Channel, GivenColumn, GivenReadings, GivenTable, Times};
use crate::error::{Error, Result, file_name, shortened};
use crate::files::Kind;
use crate::table::{ColumnName, Opened, Table, TableOptions, read_name, tells_flow};
use crate::text::shown;
use crate::units::Unit;
use std::path::Path;
use std::sync::Arc;

/// One column of readings.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Column {
    pub(crate) channel: Channel,
    pub(crate) unit: Unit,
    /// In SI units.
    pub(crate) values: Vec<f64>,
}

/// Readings of a meter: columns of equal length.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Readings {
    pub(super) columns: Vec<Column>,
    pub(crate) origin: String,
    /// The usual time in s from row to row, where rows have times.
    pub(crate) interval: Option<f64>,
    /// When each row was read, in s after the first, where rows have times.
    pub(crate) seconds: Option<Vec<f64>>,
    pub(super) given: Arc<GivenReadings>,
}

impl Readings {
    /// Readings from columns by name, each of shape `(n,)`, in the unit of the name. Columns of time
    /// and remarks are kept out.
    ///
    /// # Errors
    /// An unknown column or unit, the same channel twice, columns of different length, fewer than
    /// two rows, a number that is not finite.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::evaluate::Readings;
    /// let readings = Readings::from_columns([
    ///     ("transit_time_us", &[250.1, 250.3][..]),
    ///     ("time_difference_ns", &[118.0, 121.0]),
    /// ])?;
    /// assert_eq!(readings.rows(), 2);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn from_columns<'a>(
        columns: impl IntoIterator<Item = (&'a str, &'a [f64])>,
    ) -> Result<Readings> {
        let mut readings = Readings::default();
        let mut given = Vec::new();
        for (name, numbers) in columns {
            let read = read_name(name)?;
            if let ColumnName::TimeIn(unit) = &read {
                let seconds = numbers.iter().map(|n| unit.to_si(*n)).collect();
                readings.timed(&Times::Seconds(seconds), numbers.len());
                given.push(GivenColumn {
                    name: name.to_owned(),
                    values: numbers.to_vec(),
                });
            }
            if let Some((channel, unit)) = read.channel() {
                let values = numbers.iter().map(|n| unit.to_si(*n)).collect();
                readings.add(name, channel, unit, values)?;
                given.push(GivenColumn {
                    name: name.to_owned(),
                    values: numbers.to_vec(),
                });
            }
        }
        readings.given = Arc::new(GivenReadings::Columns(given));
        readings.check()
    }

    /// Readings from a CSV file: a header of column names, then one row for each reading. Columns
    /// of time (`time`, `time_s`) and `remark` are kept out. Tables in other forms are read as
    /// [`Readings::from_file`] tells.
    ///
    /// # Errors
    /// As [`Readings::from_columns`]; the error names file and line. What is no regular file or is
    /// larger than 256 MiB is not read.
    pub fn from_csv(path: impl AsRef<Path>) -> Result<Readings> {
        Readings::from_file(path, &TableOptions::default())
    }

    /// Readings from a file with a table: text in any encoding, with columns parted by anything of
    /// [`Delimiter`](crate::table::Delimiter), decimals after a point or a comma, rows before the names
    /// of the columns and units below them, or a workbook (`.xlsx`, with the feature `workbook`). What
    /// `options` do not say is recognised; how the table was read, [`GivenReadings::format`] says.
    ///
    /// # Errors
    /// As [`Readings::from_csv`], and what is left open; the error tells which option settles it.
    ///
    /// # Example
    /// ```
    /// use flowdoubt::{evaluate::Readings, table::TableOptions};
    /// # let folder = tempfile::tempdir().expect("a folder");
    /// # let path = folder.path().join("logger.txt");
    /// std::fs::write(&path, "Loop 3\nTransit time;Temperature\nus;degC\n610,72;8,1\n610,75;8,2\n")
    ///     .expect("a file");
    /// let readings = Readings::from_file(&path, &TableOptions::default())?;
    /// let format = readings.given().format().expect("another form");
    /// assert_eq!(format.in_words()[..2], ["columns parted by semicolons", "decimals after a comma"]);
    /// # Ok::<(), flowdoubt::Error>(())
    /// ```
    pub fn from_file(path: impl AsRef<Path>, options: &TableOptions) -> Result<Readings> {
        let path = path.as_ref();
        let opened = Opened::read(path, Kind::Readings, options)?;
        Readings::from_opened(opened, path, options)
    }

    /// As [`Readings::from_file`], from the bytes of a file; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Readings::from_file`].
    pub fn from_bytes(
        bytes: Vec<u8>,
        file: impl AsRef<Path>,
        options: &TableOptions,
    ) -> Result<Readings> {
        let file = file.as_ref();
        Readings::from_opened(Opened::from_bytes(bytes, file, options)?, file, options)
    }

    /// Readings from CSV text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Readings::from_csv`].
    pub fn from_csv_text(text: &str, file: impl AsRef<Path>) -> Result<Readings> {
        let options = TableOptions::default();
        Readings::from_opened(Opened::of_text(text), file.as_ref(), &options)
    }

    fn from_opened(opened: Opened, file: &Path, options: &TableOptions) -> Result<Readings> {
        let mut table = Table::read(&opened, file, options, &[])?;
        table.leave_out_by_status(options.status.as_ref())?;
        let readings = Readings::of_table(&table, file)?;
        let format = std::mem::take(&mut table.format);
        let given = if format.is_plain() {
            drop(table);
            GivenReadings::Csv {
                file: file_name(file),
                text: opened.into_text(),
            }
        } else {
            table.format = format.clone();
            GivenReadings::Table(GivenTable {
                file: file_name(file),
                sha256: opened.sha256(),
                text: table.in_plain_form(),
                read: format,
            })
        };
        Ok(Readings {
            given: Arc::new(given),
            ..readings
        })
    }

    /// Readings from CSV text in the plain form, in which nothing is recognised.
    fn from_plain_text(text: &str, file: &str, given: &GivenReadings) -> Result<Readings> {
        let table = Table::read_plain(text, file.as_ref())?;
        Ok(Readings {
            given: Arc::new(given.clone()),
            ..Readings::of_table(&table, file.as_ref())?
        })
    }

    fn of_table(table: &Table<'_>, file: &Path) -> Result<Readings> {
        let mut columns = vec![Vec::new(); table.names.len()];
        for (row, cells) in table.rows.iter().enumerate() {
            for (i, (name, kind)) in table.names.iter().enumerate() {
                if let ColumnName::Channel(_, unit) = kind {
                    let number = table.number(row, i).filter(|n| n.is_finite());
                    let number = number.ok_or_else(|| {
                        let cell = cells.get(i).unwrap_or("");
                        let error = Error::NotAQuantity {
                            field: name.clone(),
                            found: shortened(cell).into_owned(),
                            allowed: table.allowed_number(cell),
                        };
                        table.in_row(error, row)
                    })?;
                    columns[i].push(unit.to_si(number));
                }
            }
        }
        let in_header = |error: Error| table.in_header(error);
        let mut readings = Readings {
            origin: shown(&file.display().to_string()).into_owned(),
            ..Readings::default()
        };
        for (i, (_, read)) in table.names.iter().enumerate() {
            let times = match read {
                ColumnName::Time => {
                    let texts = table.time_texts(i);
                    Times::from_text(texts.iter().map(AsRef::as_ref)).ok()
                }
                ColumnName::TimeIn(unit) => {
                    let rows = 0..table.rows.len();
                    let number = |row| table.number(row, i).map_or(f64::NAN, |n| unit.to_si(n));
                    Some(Times::Seconds(rows.map(number).collect()))
                }
                _ => None,
            };
            if let (Some(times), None) = (times, &readings.interval) {
                readings.timed(&times, table.rows.len());
            }
        }
        for ((name, read), values) in table.names.iter().zip(columns) {
            if let Some((channel, unit)) = read.clone().channel() {
                let added = readings.add(name, channel, unit, values);
                added.map_err(in_header)?;
            }
        }
        readings.check().map_err(in_header)
    }

    /// Takes down when the rows were read.
    fn timed(&mut self, times: &Times, rows: usize) {
        self.interval = times.usual_step(rows);
        self.seconds = Some(times.seconds(rows));
    }

    fn add(&mut self, name: &str, channel: Channel, unit: Unit, values: Vec<f64>) -> Result<()> {
        if let Some(i) = values.iter().position(|v| !v.is_finite()) {
            let field = format!("{name}[{i}]");
            Error::range(false, field, values[i], &unit.symbol, "finite numbers")?;
        }
        self.add_any(name, channel, unit, values)
    }

    /// Adds a column in which numbers may be missing.
    pub(super) fn add_any(
        &mut self,
        name: &str,
        channel: Channel,
        unit: Unit,
        values: Vec<f64>,
    ) -> Result<()> {
        if self.column(channel).is_some() {
            return Err(Error::Conflict {
                field: name.to_owned(),
                found: format!("two columns of {}", channel.name()),
                allowed: "one column of each kind".to_owned(),
            });
        }
        self.columns.push(Column {
            channel,
            unit,
            values,
        });
        Ok(())
    }

    fn check(self) -> Result<Readings> {
        if let Some(column) = self.column(Channel::Current) {
            let fault = column
                .values
                .iter()
                .position(|current| !tells_flow(*current));
            if let Some(row) = fault {
                let shown = column.unit.from_si(column.values[row]);
                let (field, symbol) = (format!("current[{row}]"), &column.unit.symbol);
                let allowed = "3.6 mA to 21 mA; what is outside tells a fault of the meter or of the \
                               loop (common practice): leave such rows out";
                Error::range(false, field, shown, symbol, allowed)?;
            }
        }
        self.check_columns(2, "two rows or more, to judge their scatter")
    }

    /// Refuses what has no columns, fewer rows than `fewest`, or columns of different length.
    pub(super) fn check_columns(self, fewest: usize, allowed: &str) -> Result<Readings> {
        if self.columns.is_empty() {
            return Err(Error::Missing {
                field: "readings".to_owned(),
                needed: format!(
                    "columns such as {}",
                    Channel::ALL.map(Channel::example).join(", ")
                ),
            });
        }
        let rows = self.rows();
        if rows < fewest {
            return Err(Error::Length {
                field: "readings".to_owned(),
                found: rows,
                allowed: allowed.to_owned(),
            });
        }
        if let Some(other) = self.columns.iter().find(|c| c.values.len() != rows) {
            return Err(Error::Length {
                field: other.channel.name().to_owned(),
                found: other.values.len(),
                allowed: format!("{rows}, as in the first column"),
            });
        }
        Ok(self)
    }

    /// The readings in the words given.
    pub fn given(&self) -> &GivenReadings {
        &self.given
    }

    /// Number of rows.
    pub fn rows(&self) -> usize {
        self.columns.first().map_or(0, |c| c.values.len())
    }

    /// The column of a channel.
    pub(crate) fn column(&self, channel: Channel) -> Option<&Column> {
        self.columns.iter().find(|c| c.channel == channel)
    }
}

impl GivenReadings {
    /// The readings that these words stand for.
    ///
    /// # Errors
    /// As [`Readings::from_csv_text`] and [`Readings::from_columns`].
    pub fn read(&self) -> Result<Readings> {
        match self {
            GivenReadings::Csv { file, text } => Readings::from_plain_text(text, file, self),
            GivenReadings::Table(table) => {
                Readings::from_plain_text(&table.text, &table.file, self)
            }
            GivenReadings::Columns(columns) => {
                let columns = columns.iter();
                Readings::from_columns(columns.map(|c| (c.name.as_str(), c.values.as_slice())))
            }
        }
    }
}
