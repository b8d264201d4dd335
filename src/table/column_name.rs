//! The names of columns of readings, which carry their units.

use super::Channel;
use crate::error::{Error, Result, nearest};
use crate::units::{Dimension, Unit};

/// Columns that are kept out of an evaluation: when, and remarks.
const IGNORED: [&str; 2] = ["time", "remark"];

/// What a column's name stands for.
#[derive(Debug, Clone)]
pub(crate) enum ColumnName {
    /// Readings of a channel, in a unit.
    Channel(Channel, Unit),
    /// Points in time as text, which matter to a series alone.
    Time,
    /// Times in a unit, which matter to a series alone.
    TimeIn(Unit),
    /// Words.
    Remark,
    /// Asked for by its name, such as a status.
    Other,
    /// Nothing of ours.
    NotUsed,
}

impl ColumnName {
    pub(crate) fn channel(self) -> Option<(Channel, Unit)> {
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
pub(crate) fn read_name(name: &str) -> Result<ColumnName> {
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
    let unit = Unit::parse(&suffix.replace('_', "/"), channel.dimension(), name);
    // a symbol with a blank, as in `Imp_gal_min`
    let unit = unit.or_else(|error| Unit::of_suffix(suffix, channel.dimension()).ok_or(error))?;
    Ok(ColumnName::Channel(channel, unit))
}

/// Whether a name is that of a column of readings, or was meant to be.
pub(crate) fn resembles_a_column(name: &str) -> bool {
    let begins = |channel: Channel| name.starts_with(channel.name());
    read_name(name).is_ok()
        || Channel::ALL.into_iter().any(begins)
        || nearest(name, Channel::ALL.map(Channel::example)).is_some()
        || nearest(name, Channel::ALL.map(Channel::name)).is_some()
}
