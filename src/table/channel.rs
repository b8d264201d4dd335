//! What a column of readings is of.

use crate::error::{Error, Result};
use crate::model::Quantity;
use crate::units::Dimension;

/// What a column of readings is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
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
    pub(crate) const INDICATED: [Channel; 6] = [
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
    pub(crate) fn example(self) -> &'static str {
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
pub(crate) fn tells_flow(current: f64) -> bool {
    // so that limits as they are written are inside
    (CURRENTS[0] - 1e-12..=CURRENTS[1] + 1e-12).contains(&current)
}
