//! What the columns of a table are: by names of ours, by the map of a site, by units beside.

use super::Channel;
use super::column_name::{ColumnName, read_name, resembles_a_column};
use super::options::{Meaning, NamedColumn, TableOptions};
use crate::error::{Error, Result, nearest};
use crate::units::{Dimension, Unit};
use csv::StringRecord;

/// Rows in which the names of the columns are looked for.
pub(super) const HEADER_ROWS: usize = 100;

/// What a column is, before rows of units are known.
#[derive(Debug, Clone)]
pub(super) enum Kind {
    /// Readings, whose unit may be still to be found.
    Channel(Channel, Option<Unit>),
    Time,
    /// The time of day that belongs to the dates in the column `Time`.
    TimeOfDay,
    TimeIn(Unit),
    Remark,
    /// Asked for by its name: a status, a signal.
    Other,
    NotUsed,
}

/// A name and the unit in brackets behind it.
fn apart(cell: &str) -> (&str, Option<&str>) {
    for (open, close) in [('[', ']'), ('(', ')')] {
        if let Some(rest) = cell.strip_suffix(close)
            && let Some((name, unit)) = rest.rsplit_once(open)
        {
            return (name.trim(), Some(unit.trim()));
        }
    }
    (cell, None)
}

/// The unit in a cell, without brackets about it.
fn without_brackets(cell: &str) -> &str {
    let cell = cell.trim();
    match apart(cell) {
        ("", Some(unit)) => unit,
        _ => cell,
    }
}

/// A unit of a channel by text of a table.
fn unit_in(text: &str, channel: Channel) -> Option<Unit> {
    let text = match channel.dimension() {
        Dimension::Ratio => "",
        _ => text,
    };
    Unit::parse(text, channel.dimension(), channel.name()).ok()
}

/// What a name of ours stands for: `transit_time_us`, or in words with a unit, `Transit time [µs]`.
fn by_own_name(cell: &str) -> Option<Kind> {
    // most cells that are looked at are numbers: what cannot be a name is not looked up
    let may_be = |own: &str| cell.starts_with(own);
    if (may_be("time") || may_be("remark") || Channel::ALL.into_iter().any(|c| may_be(c.name())))
        && let Ok(read) = read_name(cell)
    {
        return Some(Kind::of(read));
    }
    let (name, unit) = apart(cell);
    let plain = name.to_ascii_lowercase().replace([' ', '-'], "_");
    if plain == "time" && unit.is_none() {
        return Some(Kind::Time);
    }
    if plain == "time" {
        let unit = Unit::parse(unit?, Dimension::Time, "time").ok()?;
        return Some(Kind::TimeIn(unit));
    }
    if plain == "remark" && unit.is_none() {
        return Some(Kind::Remark);
    }
    let channel = Channel::ALL.into_iter().find(|c| c.name() == plain)?;
    match unit {
        Some(unit) => Some(Kind::Channel(channel, Some(unit_in(unit, channel)?))),
        None => Some(Kind::Channel(channel, None)),
    }
}

impl Kind {
    fn of(read: ColumnName) -> Kind {
        match read {
            ColumnName::Channel(channel, unit) => Kind::Channel(channel, Some(unit)),
            ColumnName::Time => Kind::Time,
            ColumnName::TimeIn(unit) => Kind::TimeIn(unit),
            ColumnName::Remark => Kind::Remark,
            ColumnName::Other => Kind::Other,
            ColumnName::NotUsed => Kind::NotUsed,
        }
    }

    /// The quantity without its unit, of what there can be one of.
    fn quantity(&self) -> Option<&'static str> {
        match self {
            Kind::Channel(channel, _) => Some(channel.name()),
            Kind::Time | Kind::TimeIn(_) => Some("time"),
            _ => None,
        }
    }
}

/// Whether a cell of the table has the name that a map or an argument says.
fn is_named(cell: &str, name: &str) -> bool {
    cell == name || apart(cell).0 == name
}

/// How many cells are names of columns of readings.
pub(super) fn channels_in(row: &StringRecord, options: &TableOptions) -> usize {
    let of_readings = |cell: &str| {
        let mapped = options.columns.iter().any(|column| {
            let meaning = column.meaning("");
            let is_channel = matches!(
                meaning,
                Ok(Meaning::WithoutUnit(_) | Meaning::Whole(ColumnName::Channel(..)))
            );
            is_channel && column.names.iter().any(|name| is_named(cell, name))
        });
        mapped || matches!(by_own_name(cell), Some(Kind::Channel(..)))
    };
    row.iter().filter(|cell| of_readings(cell)).count()
}

/// How many cells are names of columns, or were meant to be.
pub(super) fn resembling_in(row: &StringRecord) -> usize {
    row.iter().filter(|cell| resembles_a_column(cell)).count()
}

/// What the columns are, by their names; `others` are asked for by their names.
///
/// # Errors
/// A column that the map names and the table lacks; a name that was meant to be one of ours.
pub(super) fn kinds(
    header: &StringRecord,
    options: &TableOptions,
    others: &[&str],
) -> Result<Vec<Kind>> {
    let mut kinds: Vec<Option<Kind>> = vec![None; header.len()];
    let mut mapped: Vec<&'static str> = Vec::new();
    for column in &options.columns {
        let kind = match column.meaning("columns")? {
            Meaning::Whole(read) => Kind::of(read),
            Meaning::WithoutUnit(channel) => {
                let unit = column
                    .unit
                    .as_deref()
                    .and_then(|unit| unit_in(unit, channel));
                Kind::Channel(channel, unit)
            }
        };
        let mut places = Vec::new();
        for name in &column.names {
            match header.iter().position(|cell| is_named(cell, name)) {
                Some(place) => places.push(place),
                // what is to be left out may be absent
                None if matches!(kind, Kind::Remark) => {}
                None if header.iter().any(|cell| is_same(cell, &kind)) => {}
                None => return Err(not_there(column, name, header)),
            }
        }
        if places.len() < column.names.len() && !matches!(kind, Kind::Remark) {
            continue;
        }
        mapped.extend(kind.quantity());
        for (number, place) in places.into_iter().enumerate() {
            let own = match (&kind, number) {
                (Kind::Time, 1) => Kind::TimeOfDay,
                (Kind::Channel(channel, None), _) => {
                    let unit = apart(&header[place]).1;
                    Kind::Channel(*channel, unit.and_then(|unit| unit_in(unit, *channel)))
                }
                _ => kind.clone(),
            };
            kinds[place] = Some(own);
        }
    }
    for (place, cell) in header.iter().enumerate() {
        if kinds[place].is_some() {
            continue;
        }
        let kind = if others.contains(&cell) {
            Kind::Other
        } else if let Some(own) = by_own_name(cell) {
            match own.quantity() {
                // what the map says of a quantity counts
                Some(quantity) if mapped.contains(&quantity) => Kind::NotUsed,
                _ => own,
            }
        } else if resembles_a_column(cell) {
            return Err(slip(cell));
        } else {
            Kind::NotUsed
        };
        kinds[place] = Some(kind);
    }
    Ok(kinds
        .into_iter()
        .map(|kind| kind.unwrap_or(Kind::NotUsed))
        .collect())
}

/// As [`kinds`], of a table in the plain form, all of whose columns are ours.
///
/// # Errors
/// A name that is none of ours.
pub(super) fn plain_kinds(header: &StringRecord, others: &[&str]) -> Result<Vec<Kind>> {
    let kind = |cell: &str| match others.contains(&cell) {
        true => Ok(Kind::Other),
        false => read_name(cell).map(Kind::of).map_err(or_mapped),
    };
    header.iter().map(kind).collect()
}

/// Whether a cell has a name of ours for the same quantity.
fn is_same(cell: &str, kind: &Kind) -> bool {
    let own = by_own_name(cell).and_then(|own| own.quantity());
    own.is_some() && own == kind.quantity()
}

/// A name that was meant to be one of ours.
fn slip(cell: &str) -> Error {
    match read_name(cell) {
        Err(error) => or_mapped(error),
        Ok(_) => Error::unknown_name("column of readings", cell, &[]),
    }
}

/// The error of a name, with the way out: names of others are told by a map.
fn or_mapped(error: Error) -> Error {
    match error {
        Error::UnknownUnit {
            field,
            found,
            unit,
            allowed,
        } => Error::UnknownUnit {
            field,
            found,
            unit,
            allowed: format!(
                "{allowed}; a column of something else is left out by `columns`, as a `remark`"
            ),
        },
        Error::UnknownName {
            field,
            found,
            nearest,
            mut allowed,
        } => {
            allowed.push("others by a map (`columns`)".to_owned());
            Error::UnknownName {
                field,
                found,
                nearest,
                allowed,
            }
        }
        other => other,
    }
}

fn not_there(column: &NamedColumn, name: &str, header: &StringRecord) -> Error {
    let near = nearest(name, header.iter());
    let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    Error::Missing {
        field: format!("columns.{}", column.quantity),
        needed: format!(
            "the column `{name}`, which none of the {} columns of the table is{near}",
            header.len()
        ),
    }
}

/// Whether a row has units, and nothing else, below the names of columns of readings.
pub(super) fn is_unit_row(row: &StringRecord, kinds: &[Kind]) -> bool {
    let mut units = 0;
    for (cell, kind) in row.iter().zip(kinds) {
        let own = without_brackets(cell);
        let known = match kind {
            _ if own.is_empty() || own == "-" => continue,
            Kind::Channel(channel, _) if channel.dimension() == Dimension::Ratio => own == "1",
            Kind::Channel(channel, _) => unit_in(own, *channel).is_some(),
            Kind::TimeIn(_) => Unit::parse(own, Dimension::Time, "time").is_ok(),
            // a time or a number here is that of a reading
            _ if own.starts_with(|c: char| c.is_ascii_digit()) => return false,
            _ => continue,
        };
        if !known {
            return false;
        }
        units += 1;
    }
    units > 0
}

/// The columns with their units, from the row of units where there is one.
///
/// # Errors
/// A unit that is nowhere, or two that differ.
pub(super) fn with_units(
    header: &StringRecord,
    kinds: Vec<Kind>,
    units: Option<&StringRecord>,
) -> Result<Vec<(String, ColumnName)>> {
    let mut columns = Vec::with_capacity(kinds.len());
    for (place, kind) in kinds.into_iter().enumerate() {
        let name = header.get(place).unwrap_or("");
        let below = units.and_then(|row| row.get(place));
        let below = below.map(without_brackets).filter(|unit| !unit.is_empty());
        let column = match kind {
            Kind::Channel(channel, unit) => {
                let below = below.and_then(|text| unit_in(text, channel));
                let unit = match (unit, below) {
                    (Some(unit), Some(below)) if unit.symbol != below.symbol => {
                        return Err(Error::Conflict {
                            field: name.to_owned(),
                            found: format!("{} below a name with {}", below.symbol, unit.symbol),
                            allowed: "one unit; `columns` settles which".to_owned(),
                        });
                    }
                    (Some(unit), _) | (None, Some(unit)) => unit,
                    (None, None) if channel.dimension() == Dimension::Ratio => Unit::named("1"),
                    (None, None) => return Err(without_unit(name, channel)),
                };
                let own = match read_name(name) {
                    Ok(ColumnName::Channel(..)) => name.to_owned(),
                    _ if channel.dimension() == Dimension::Ratio => channel.name().to_owned(),
                    _ => format!("{}_{}", channel.name(), unit.suffix()),
                };
                (own, ColumnName::Channel(channel, unit))
            }
            Kind::Time => ("time".to_owned(), ColumnName::Time),
            Kind::TimeIn(unit) => (format!("time_{}", unit.suffix()), ColumnName::TimeIn(unit)),
            Kind::Remark => ("remark".to_owned(), ColumnName::Remark),
            Kind::Other => (name.to_owned(), ColumnName::Other),
            Kind::TimeOfDay | Kind::NotUsed => (name.to_owned(), ColumnName::NotUsed),
        };
        columns.push(column);
    }
    Ok(columns)
}

/// A column without a unit: how our own names say it, or the arguments that do.
fn without_unit(name: &str, channel: Channel) -> Error {
    if let (true, Err(error)) = (name == channel.name(), read_name(name)) {
        return or_mapped(error);
    }
    Error::Missing {
        field: name.to_owned(),
        needed: format!(
            "the unit of {0}: a name such as `{1}` or `{0} [unit]`, units in the row below the names, \
             or a map with the unit (`columns`)",
            channel.name(),
            channel.example()
        ),
    }
}

impl TableOptions {
    /// Names of ours for columns that lie in memory under these names, `None` for those that are not
    /// used; `None` altogether without a map. A column whose unit is not said keeps the name of its
    /// quantity: it may know its unit itself. `others` are kept.
    ///
    /// # Errors
    /// A column of the map that is not there, a name that was meant to be one of ours.
    pub fn names_in_memory(
        &self,
        names: &[String],
        others: &[String],
    ) -> Result<Option<Vec<Option<String>>>> {
        if self.columns.is_empty() {
            return Ok(None);
        }
        let others: Vec<&str> = others.iter().map(String::as_str).collect();
        let header = StringRecord::from(names.to_vec());
        let kinds = kinds(&header, self, &others)?;
        let named = names.iter().zip(kinds).map(|(name, kind)| match kind {
            Kind::Channel(channel, None) => Ok(Some(channel.name().to_owned())),
            Kind::NotUsed => Ok(None),
            Kind::TimeOfDay => Err(Error::Conflict {
                field: "columns.time".to_owned(),
                found: "date and time of day in two columns of a frame".to_owned(),
                allowed: "two columns of a file; of a frame one, with both".to_owned(),
            }),
            other => {
                let column = StringRecord::from(vec![name.as_str()]);
                let named = with_units(&column, vec![other], None)?;
                Ok(named.into_iter().next().map(|(own, _)| own))
            }
        });
        named.collect::<Result<Vec<_>>>().map(Some)
    }
}
