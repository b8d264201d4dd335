//! To what a quantity belongs, and so how long an in-situ calibration covers it.

use super::{Component, Origin, Quantity, Renewed};

/// What must still be the same for an in-situ calibration to cover a quantity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Belonging {
    /// Meter and sensors.
    Meter,
    /// The pipe and the kind of liquid in it.
    Pipe,
    /// The mounting of the sensors: they have not been off.
    Mounting,
    /// The velocity profile: the Reynolds number is one at which the calibration was made.
    Profile,
    /// Nothing: it is read or stated for each measurement.
    Measurement,
}

impl Quantity {
    /// To what it belongs.
    pub(crate) fn belongs_to(self) -> Belonging {
        use Quantity as Q;
        let row = self.row();
        match self {
            Q::Temperature | Q::Pressure | Q::Salinity | Q::MassFraction => Belonging::Measurement,
            Q::WallTemperature | Q::WedgeTemperature | Q::LiquidSoundSpeed => {
                Belonging::Measurement
            }
            Q::ZeroTimeDifference | Q::ZeroVelocity | Q::CouplantSoundSpeed => Belonging::Mounting,
            _ if row.origin == Origin::Readings => Belonging::Measurement,
            _ if row.of_meter => Belonging::Meter,
            _ if row.renewed == Renewed::ByPlacement => Belonging::Mounting,
            _ if matches!(
                row.component,
                Component::VelocityProfile | Component::Installation
            ) =>
            {
                Belonging::Profile
            }
            _ => Belonging::Pipe,
        }
    }
}
