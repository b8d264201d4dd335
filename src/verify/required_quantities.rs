//! What a run must state, what it has no use for, and what no reference can have: in words.

use super::file::{ReferenceKind, Start, Timing};
use super::quantity::ReferenceQuantity as Q;
use crate::error::{Error, Result};
use crate::units::Unit;

/// What is chosen in `[reference]`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Setting {
    pub(super) kind: ReferenceKind,
    pub(super) start: Option<Start>,
    pub(super) timing: Timing,
}

impl Setting {
    /// Where a quantity belongs that this reference has no use for.
    pub(super) fn no_use_for(&self, q: Q) -> Option<&'static str> {
        use ReferenceKind::{MasterMeter, VolumetricTank, Weighing};
        let (kind, start) = (self.kind, self.start);
        let (used, only) = match q {
            Q::MassStart
            | Q::MassEnd
            | Q::Mass
            | Q::AirDensity
            | Q::AirTemperature
            | Q::AirHumidity
            | Q::WeightDensity
            | Q::LiquidDensity => (kind == Weighing, "with kind = \"weighing\" only"),
            Q::LevelStart
            | Q::LevelEnd
            | Q::CrossSection
            | Q::TankTemperature
            | Q::TankReferenceTemperature
            | Q::TankExpansion => (
                kind == VolumetricTank,
                "with kind = \"volumetric tank\" only",
            ),
            Q::Volume => (
                kind != Weighing,
                "with kind = \"volumetric tank\" or \"master meter\" only",
            ),
            Q::VolumeFlow => (kind == MasterMeter, "with kind = \"master meter\" only"),
            Q::AirPressure => (
                kind != MasterMeter,
                "with kind = \"weighing\" or \"volumetric tank\" only",
            ),
            Q::Pressure => (
                kind != Weighing,
                "with kind = \"volumetric tank\" or \"master meter\" only: a mass does not change \
                 with pressure",
            ),
            Q::DiverterError => (start == Some(Start::Flying), "with start = \"flying\" only"),
            Q::StartStopVolume => (
                start == Some(Start::Standing),
                "with start = \"standing\" only",
            ),
            Q::FlowRatio => (
                self.timing == Timing::InSeries,
                "with timing = \"in series\" only",
            ),
            _ => (true, ""),
        };
        (!used).then_some(only)
    }

    /// What a run must state of a quantity, if it must. `has` tells what it states.
    pub(super) fn needs(&self, q: Q, has: &impl Fn(Q) -> bool) -> Option<&'static str> {
        let weighing = self.kind == ReferenceKind::Weighing;
        let tank = self.kind == ReferenceKind::VolumetricTank;
        let master = self.kind == ReferenceKind::MasterMeter;
        let any_line = [
            Q::LineTemperatureStart,
            Q::LineTemperatureEnd,
            Q::LinePressureStart,
            Q::LinePressureEnd,
            Q::LineExpansion,
            Q::LineCompliance,
        ];
        match q {
            Q::MassEnd if weighing && !has(Q::Mass) => {
                Some("indication of the scale after the run, or the difference as `mass`")
            }
            Q::MassStart if weighing && !has(Q::Mass) => {
                Some("indication of the scale before the run")
            }
            Q::AirDensity if weighing && !(has(Q::AirTemperature) && has(Q::AirHumidity)) => Some(
                "density of the air, such as \"1.2 kg/m3\", or air_temperature, air_pressure and \
                 air_humidity",
            ),
            Q::AirPressure if weighing && !has(Q::AirDensity) => {
                Some("pressure of the air, from which its density is computed")
            }
            Q::Volume if tank && !has(Q::CrossSection) => {
                Some("volume in the tank, or cross_section, level_start and level_end")
            }
            Q::LevelStart if tank && has(Q::CrossSection) => Some("level before the run"),
            Q::LevelEnd if tank && has(Q::CrossSection) => Some("level after the run"),
            Q::TankExpansion if tank => Some(
                "coefficient of linear thermal expansion of the tank; \"0 1/K\" where the volume \
                 is that at the temperature of the run",
            ),
            Q::Volume if master && !has(Q::VolumeFlow) => {
                Some("volume or volume_flow that the master meter indicates")
            }
            Q::CalibrationFactor if master && !has(Q::Error) => {
                Some("calibration_factor or error of the master meter by its certificate")
            }
            Q::Duration if !master || has(Q::Volume) || has(Q::LineVolume) => {
                Some("duration of the run")
            }
            Q::DiverterError if self.start == Some(Start::Flying) => Some(
                "error of the diverter, indicated less effective duration, with its uncertainty",
            ),
            Q::StartStopVolume if self.start == Some(Start::Standing) => Some(
                "volume that passed the meter while the flow started and stopped and that the \
                 mean of its readings leaves out; \"0 L\" with its uncertainty where it is not known",
            ),
            Q::FlowRatio if self.timing == Timing::InSeries => Some(
                "flow while the reference was read over flow while the meter was read; \"1\" with \
                 its uncertainty where it is not known",
            ),
            Q::LineVolume if any_line.into_iter().any(has) => {
                Some("volume of the pipe between meter and reference")
            }
            Q::LineTemperatureEnd if has(Q::LineTemperatureStart) => {
                Some("temperature in the line at the end as well")
            }
            Q::LineTemperatureStart if has(Q::LineTemperatureEnd) => {
                Some("temperature in the line at the start as well")
            }
            Q::LinePressureEnd if has(Q::LinePressureStart) => {
                Some("pressure in the line at the end as well")
            }
            Q::LinePressureStart if has(Q::LinePressureEnd) => {
                Some("pressure in the line at the start as well")
            }
            _ => None,
        }
    }

    /// Quantities that exclude each other in one run.
    pub(super) fn excluded(has: &impl Fn(Q) -> bool) -> Option<(Q, Q)> {
        let pairs = [
            (Q::Mass, Q::MassStart),
            (Q::Mass, Q::MassEnd),
            (Q::AirDensity, Q::AirTemperature),
            (Q::AirDensity, Q::AirHumidity),
            (Q::Volume, Q::CrossSection),
            (Q::Volume, Q::LevelStart),
            (Q::Volume, Q::LevelEnd),
            (Q::Volume, Q::VolumeFlow),
        ];
        pairs.into_iter().find(|(a, b)| has(*a) && has(*b))
    }
}

/// Estimates that no reference can have.
pub(super) fn check_range(q: Q, path: &str, si: f64, unit: &Unit) -> Result<()> {
    let (inside, allowed) = match q {
        Q::DiverterError
        | Q::StartStopVolume
        | Q::TankExpansion
        | Q::LiquidExpansion
        | Q::LineExpansion
        | Q::LevelStart
        | Q::LevelEnd
        | Q::MassStart => (true, ""),
        Q::Error => ((-0.5..=0.5).contains(&si), "-0.5 to 0.5"),
        Q::AirHumidity => ((0.0..=1.0).contains(&si), "0 to 1"),
        Q::LiquidCompressibility | Q::LineCompliance => (si >= 0.0, "0 or above"),
        _ => (si > 0.0, "above 0"),
    };
    Error::range(inside, path, unit.from_si(si), &unit.symbol, allowed)
}
