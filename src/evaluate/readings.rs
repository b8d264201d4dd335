//! Readings of the meter, as columns whose names carry their units.

use super::csv_table::CsvTable;
use super::{GivenColumn, GivenReadings, Times};
use crate::error::{Error, Result, file_name, nearest, shortened};
use crate::files::{Kind, read_text};
use crate::model::Quantity;
use crate::text::shown;
use crate::units::{Dimension, Unit, decimal_point};
use std::path::Path;
use std::sync::Arc;

/// What a column of readings is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Channel {
    /// Mean of the transit times with and against the flow.
    TransitTime,
    /// Transit time against the flow less that with the flow.
    TimeDifference,
    /// Temperature of the liquid.
    Temperature,
    /// Volume flow that the meter indicates.
    VolumeFlow,
    /// Velocity that the meter indicates.
    Velocity,
    /// Current of an output that tells the volume flow.
    Current,
    /// Pulses since the row before, each of which stands for a volume.
    Pulses,
    /// A counter of pulses that goes on.
    PulseCount,
    /// A totaliser of volume.
    Totaliser,
}

impl Channel {
    /// All channels.
    pub const ALL: [Channel; 9] = [
        Channel::TransitTime,
        Channel::TimeDifference,
        Channel::Temperature,
        Channel::VolumeFlow,
        Channel::Velocity,
        Channel::Current,
        Channel::Pulses,
        Channel::PulseCount,
        Channel::Totaliser,
    ];

    /// Those of which a site on the indicated basis has one.
    pub(super) const INDICATED: [Channel; 6] = [
        Channel::VolumeFlow,
        Channel::Velocity,
        Channel::Current,
        Channel::Pulses,
        Channel::PulseCount,
        Channel::Totaliser,
    ];

    /// The channel of that name, which has no unit.
    ///
    /// # Errors
    /// A name that no channel has; the error names `field`.
    pub fn from_name(name: &str, field: &str) -> Result<Channel> {
        let found = Self::ALL.into_iter().find(|channel| channel.name() == name);
        found.ok_or_else(|| Error::unknown_name(field, name, &Self::ALL.map(Self::name)))
    }

    /// The name of the column without its unit.
    pub fn name(self) -> &'static str {
        match self {
            Channel::TransitTime => "transit_time",
            Channel::TimeDifference => "time_difference",
            Channel::Temperature => "temperature",
            Channel::VolumeFlow => "volume_flow",
            Channel::Velocity => "velocity",
            Channel::Current => "current",
            Channel::Pulses => "pulses",
            Channel::PulseCount => "pulse_count",
            Channel::Totaliser => "totaliser",
        }
    }

    /// Whether readings count volume, so that a flow takes their times as well.
    pub fn is_counted(self) -> bool {
        matches!(
            self,
            Channel::Pulses | Channel::PulseCount | Channel::Totaliser
        )
    }

    /// The kind of quantity that the column has.
    pub(crate) fn dimension(self) -> Dimension {
        match self {
            Channel::Pulses | Channel::PulseCount => Dimension::Ratio,
            Channel::Totaliser => Dimension::Volume,
            _ => self.quantity().dimension(),
        }
    }

    /// An example of a whole column name.
    fn example(self) -> &'static str {
        match self {
            Channel::TransitTime => "transit_time_us",
            Channel::TimeDifference => "time_difference_ns",
            Channel::Temperature => "temperature_degC",
            Channel::VolumeFlow => "volume_flow_m3_h",
            Channel::Velocity => "velocity_m_s",
            Channel::Current => "current_mA",
            Channel::Pulses => "pulses",
            Channel::PulseCount => "pulse_count",
            Channel::Totaliser => "totaliser_m3",
        }
    }

    /// The quantity of the measurement model that the readings are of, or lead to.
    pub fn quantity(self) -> Quantity {
        match self {
            Channel::TransitTime => Quantity::TransitTime,
            Channel::TimeDifference => Quantity::TimeDifference,
            Channel::Temperature => Quantity::Temperature,
            Channel::VolumeFlow | Channel::Pulses | Channel::PulseCount | Channel::Totaliser => {
                Quantity::IndicatedFlow
            }
            Channel::Current => Quantity::ReadCurrent,
            Channel::Velocity => Quantity::IndicatedVelocity,
        }
    }
}

/// Currents in A outside of which an output tells a fault and no flow. Common practice, as in NAMUR
/// NE 43 (from memory).
const CURRENTS: [f64; 2] = [0.0036, 0.021];

/// Whether a current in A tells a flow, and not a fault.
pub(super) fn tells_flow(current: f64) -> bool {
    // so that limits as they are written are inside
    (CURRENTS[0] - 1e-12..=CURRENTS[1] + 1e-12).contains(&current)
}

/// Columns that are kept out of an evaluation: when, and remarks.
const IGNORED: [&str; 2] = ["time", "remark"];

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

/// What a column's name stands for.
#[derive(Debug, Clone)]
pub(super) enum ColumnName {
    /// Readings of a channel, in a unit.
    Channel(Channel, Unit),
    /// Points in time as text, which matter to a series alone.
    Time,
    /// Times in a unit, which matter to a series alone.
    TimeIn(Unit),
    /// Words.
    Remark,
}

impl ColumnName {
    pub(super) fn channel(self) -> Option<(Channel, Unit)> {
        match self {
            ColumnName::Channel(channel, unit) => Some((channel, unit)),
            _ => None,
        }
    }
}

/// The unit of a column of times, such as `time_s`.
fn time_unit(name: &str) -> Option<Unit> {
    let suffix = name.strip_prefix("time_")?;
    Unit::parse(suffix, Dimension::Time, name).ok()
}

/// What a column's name stands for.
pub(super) fn read_name(name: &str) -> Result<ColumnName> {
    match name {
        "time" => return Ok(ColumnName::Time),
        "remark" => return Ok(ColumnName::Remark),
        _ => {}
    }
    if let Some(channel) = [Channel::Pulses, Channel::PulseCount]
        .into_iter()
        .find(|channel| channel.name() == name)
    {
        return Ok(ColumnName::Channel(channel, Unit::named("1")));
    }
    let channel = Channel::ALL.into_iter().find(|c| {
        name.strip_prefix(c.name())
            .is_some_and(|rest| rest.starts_with('_'))
    });
    let Some(channel) = channel else {
        if let Some(unit) = time_unit(name) {
            return Ok(ColumnName::TimeIn(unit));
        }
        let examples = Channel::ALL.map(Channel::example);
        return Err(Error::UnknownName {
            field: "column of readings".to_owned(),
            found: name.to_owned(),
            nearest: nearest(name, examples),
            allowed: examples
                .iter()
                .chain(&IGNORED)
                .map(|e| (*e).to_owned())
                .collect(),
        });
    };
    let suffix = &name[channel.name().len() + 1..];
    let unit = Unit::parse(&suffix.replace('_', "/"), channel.dimension(), name)?;
    Ok(ColumnName::Channel(channel, unit))
}

/// Whether a name is that of a column of readings, or was meant to be.
pub(super) fn resembles_a_column(name: &str) -> bool {
    let begins = |channel: Channel| name.starts_with(channel.name());
    read_name(name).is_ok()
        || Channel::ALL.into_iter().any(begins)
        || nearest(name, Channel::ALL.map(Channel::example)).is_some()
        || nearest(name, Channel::ALL.map(Channel::name)).is_some()
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
    /// of time (`time`, `time_s`) and `remark` are kept out.
    ///
    /// # Errors
    /// As [`Readings::from_columns`]; the error names file and line. What is no regular file or is
    /// larger than 256 MiB is not read.
    pub fn from_csv(path: impl AsRef<Path>) -> Result<Readings> {
        let path = path.as_ref();
        let text = read_text(path, Kind::Readings)?;
        Readings::from_csv_text(&text, path)
    }

    /// Readings from CSV text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Readings::from_csv`].
    pub fn from_csv_text(text: &str, file: impl AsRef<Path>) -> Result<Readings> {
        let file = file.as_ref();
        let table = CsvTable::read(text, file, &[])?;
        let mut columns = vec![Vec::new(); table.names.len()];
        for (row, cells) in table.rows.iter().enumerate() {
            for (i, cell) in cells.iter().enumerate() {
                if let (name, ColumnName::Channel(_, unit)) = &table.names[i] {
                    let number = cell.parse::<f64>().ok().filter(|n| n.is_finite());
                    let number = number.ok_or_else(|| {
                        let error = Error::NotAQuantity {
                            field: name.clone(),
                            found: shortened(cell).into_owned(),
                            allowed: format!("a finite number{}", decimal_point(cell)),
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
            given: Arc::new(GivenReadings::Csv {
                file: file_name(file),
                text: text.to_owned(),
            }),
            ..Readings::default()
        };
        for (i, (_, read)) in table.names.iter().enumerate() {
            let times = match read {
                ColumnName::Time => Times::from_text(table.cells(i)).ok(),
                ColumnName::TimeIn(unit) => {
                    let number = |cell: &str| cell.parse().map_or(f64::NAN, |n| unit.to_si(n));
                    Some(Times::Seconds(table.cells(i).map(number).collect()))
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
