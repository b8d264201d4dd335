//! Which channels of the readings a site uses.

use super::Channel;
use crate::error::{Error, Result};
use crate::model::{Basis, LiquidModel, Quantity};
use crate::site::Site;

impl Site {
    /// The channels that the basis uses, all of which are among those read.
    pub(super) fn wanted_channels(&self, read: &[Channel]) -> Result<Vec<Channel>> {
        let basis = self.skeleton.choices().basis;
        let mut wanted = match basis {
            Basis::Timed => vec![Channel::TimeDifference, Channel::TransitTime],
            Basis::Geometric => vec![Channel::TimeDifference],
            Basis::Indicated => vec![self.indicated_channel(read)?],
        };
        let temperature = Quantity::Temperature;
        let temperature_stated = self.states_temperature();
        let temperature_read = read.contains(&Channel::Temperature);
        if self.skeleton.choices().liquid != LiquidModel::Stated {
            if temperature_stated && temperature_read {
                return Err(Error::Conflict {
                    field: temperature.path().into_owned(),
                    found: "a stated temperature beside temperature readings".to_owned(),
                    allowed: "one of the two".to_owned(),
                });
            }
            if !temperature_stated {
                wanted.push(Channel::Temperature);
            }
        }
        match wanted.iter().find(|channel| !read.contains(channel)) {
            None => Ok(wanted),
            Some(channel) => Err(Error::Missing {
                field: format!("readings.{}", channel.name()),
                needed: format!(
                    "a column of {} for basis = \"{}\"",
                    channel.name(),
                    basis.in_words()
                ),
            }),
        }
    }

    /// Whether the site file states the temperature of the liquid, and not only the correction of
    /// the thermometer.
    pub(super) fn states_temperature(&self) -> bool {
        let temperature = Quantity::Temperature;
        let mut stated = self.stated.iter();
        stated.any(|(q, input)| *q == temperature && input.name() == temperature.path())
    }

    fn indicated_channel(&self, read: &[Channel]) -> Result<Channel> {
        let mut found = Channel::INDICATED.into_iter().filter(|c| read.contains(c));
        let programmed = self.skeleton.choices().programmed.unwrap_or_default();
        let missing = |field: &str, needed: &str| {
            Err(Error::Missing {
                field: field.to_owned(),
                needed: needed.to_owned(),
            })
        };
        let Some(channel) = found.next() else {
            let names = Channel::INDICATED.map(Channel::name).join(", ");
            let needed = format!("a column of one of {names}, for basis = \"indicated\"");
            return missing("readings.volume_flow", &needed);
        };
        if let Some(other) = found.next() {
            return Err(Error::Conflict {
                field: format!("readings.{}", other.name()),
                found: format!(
                    "a column of {} beside one of {}",
                    channel.name().replace('_', " "),
                    other.name().replace('_', " ")
                ),
                allowed: "one of the two".to_owned(),
            });
        }
        if channel != Channel::Velocity && programmed.inside_diameter.is_none() {
            return missing(
                "meter.programmed.inside_diameter",
                "the programmed inside diameter, for readings of volume flow",
            );
        }
        if channel == Channel::Current && programmed.current_span.is_none() {
            return missing(
                "meter.programmed.flow_at_4_mA",
                "the flows at 4 mA and at 20 mA, for readings of current",
            );
        }
        let stated = |q: Quantity| self.stated.iter().any(|(own, _)| *own == q);
        for (q, used) in [
            (Quantity::CurrentOutput, channel == Channel::Current),
            (Quantity::CurrentInput, channel == Channel::Current),
            (Quantity::CounterClock, channel.is_counted()),
        ] {
            if stated(q) && !used {
                return Err(Error::Conflict {
                    field: q.path().into_owned(),
                    found: format!("stated, with readings of {}", channel.name()),
                    allowed: "left out where it has no effect".to_owned(),
                });
            }
        }
        self.counter(channel)?;
        Ok(channel)
    }
}
