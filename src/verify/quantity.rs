//! The quantities of a reference and of the line between it and the meter.

use crate::units::Dimension;

/// Calls a macro with every quantity: variant, key in the file, dimension, component, default in SI
/// units, what it is in the few words of a table, and in a sentence.
macro_rules! with_quantities {
    ($callback:ident) => {
        $callback! {
            MassStart, mass_start, Mass, Weighing, f64::NAN, "indication of the scale before the run",
                "Indication of the scale before the run.";
            MassEnd, mass_end, Mass, Weighing, f64::NAN, "indication of the scale after the run",
                "Indication of the scale after the run.";
            Mass, mass, Mass, Weighing, f64::NAN, "mass by the scale",
                "Difference of the indications of the scale, where it is stated as such.";
            AirDensity, air_density, Density, Weighing, f64::NAN, "density of the air",
                "Density of the air about the scale.";
            AirTemperature, air_temperature, Temperature, Weighing, f64::NAN, "temperature of the air",
                "Temperature of the air, where its density is computed.";
            AirPressure, air_pressure, Pressure, Weighing, 101_325.0, "pressure of the air",
                "Pressure of the air.";
            AirHumidity, air_humidity, Ratio, Weighing, f64::NAN, "relative humidity of the air",
                "Relative humidity of the air.";
            WeightDensity, weight_density, Density, Weighing, 8000.0, "density of the weights",
                "Density of the weights with which the scale was adjusted; 8000 kg/m3 by convention.";
            Volume, volume, Volume, Volume, f64::NAN, "volume of the reference",
                "Volume that tank or master meter indicates.";
            LevelStart, level_start, Length, Volume, f64::NAN, "level in the tank before the run",
                "Level in the tank before the run.";
            LevelEnd, level_end, Length, Volume, f64::NAN, "level in the tank after the run",
                "Level in the tank after the run.";
            CrossSection, cross_section, Area, Volume, f64::NAN, "volume of the tank for a change of level",
                "Volume of the tank for a change of level.";
            TankTemperature, tank_temperature, Temperature, Volume, f64::NAN, "temperature of the tank",
                "Temperature of the wall of the tank; that of the liquid in it where not stated.";
            TankReferenceTemperature, reference_temperature, Temperature, Volume, 293.15, "temperature at which the tank was calibrated",
                "Temperature at which the volume of the tank was calibrated.";
            TankExpansion, tank_expansion, PerKelvin, Volume, 0.0, "thermal expansion of the tank",
                "Coefficient of linear thermal expansion of the tank.";
            StartStopVolume, start_stop_volume, Volume, Time, 0.0, "volume while the flow started and stopped",
                "Volume that passed the meter while the flow started and stopped and that the mean \
                 of its readings leaves out.";
            VolumeFlow, volume_flow, VolumeFlow, Volume, f64::NAN, "volume flow by the master meter",
                "Volume flow that the master meter indicates.";
            Error, error, Ratio, Calibration, 0.0, "error of the reference",
                "Error of the reference by its certificate: indicated less true, over true.";
            CalibrationFactor, calibration_factor, Ratio, Calibration, 1.0, "calibration factor of the reference",
                "True over indicated mass, volume or flow of the reference; applied beside `error` where \
                 both are stated, such as a part that is common to all flows.";
            Duration, duration, Time, Time, f64::NAN, "duration of the run",
                "Indicated duration of the run.";
            DiverterError, diverter_error, Time, Time, 0.0, "error of the diverter",
                "Indicated duration less the time for which the whole flow would have filled the tank \
                 as the diverter did.";
            FlowRatio, flow_ratio, Ratio, Time, 1.0, "flow at the reference over flow at the meter",
                "Flow while the reference was read over flow while the meter was read, for runs in \
                 series.";
            Temperature, temperature, Temperature, Liquid, f64::NAN, "temperature of the liquid at the reference",
                "Temperature of the liquid at the reference; that at the meter where not stated.";
            Pressure, absolute_pressure, Pressure, Liquid, f64::NAN, "absolute pressure of the liquid at the reference",
                "Absolute pressure of the liquid at the reference.";
            LiquidDensity, liquid_density, Density, Liquid, f64::NAN, "density of the liquid at the meter",
                "Density of the liquid at the meter, where it is not that of the site's liquid.";
            LiquidExpansion, liquid_expansion, PerKelvin, Liquid, 0.0, "thermal expansion of the liquid",
                "Coefficient of volume expansion of a liquid whose density is not computed.";
            LiquidCompressibility, liquid_compressibility, PerPressure, Liquid, 0.0, "compressibility of the liquid",
                "Relative growth of the density with pressure, where it is not computed.";
            LineVolume, line_volume, Volume, LinePack, 0.0, "volume of the line",
                "Volume of the pipe between meter and reference.";
            LineTemperatureStart, line_temperature_start, Temperature, LinePack, f64::NAN, "temperature in the line before the run",
                "Mean temperature of the liquid in it when the run began; that at the meter where \
                 not stated.";
            LineTemperatureEnd, line_temperature_end, Temperature, LinePack, f64::NAN, "temperature in the line after the run",
                "The same when the run ended.";
            LinePressureStart, line_pressure_start, Pressure, LinePack, f64::NAN, "pressure in the line before the run",
                "Mean absolute pressure in it when the run began; that at the meter where not stated.";
            LinePressureEnd, line_pressure_end, Pressure, LinePack, f64::NAN, "pressure in the line after the run",
                "The same when the run ended.";
            LineExpansion, line_expansion, PerKelvin, LinePack, 0.0, "thermal expansion of the line",
                "Coefficient of linear thermal expansion of that pipe.";
            LineCompliance, line_compliance, PerPressure, LinePack, 0.0, "growth of the line with pressure",
                "Relative growth of the volume of that pipe with pressure; about \
                 (D / (E e)) (5/4 - nu) for a thin wall with closed ends.";
        }
    };
}
pub(super) use with_quantities;

/// The components into which the budget of a verification is grouped on the side of the reference.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum ReferenceComponent {
    /// The scale and the buoyancy of the air.
    Weighing,
    /// The volume or flow that is read.
    Volume,
    /// The certificate of the reference.
    Calibration,
    /// Duration, diverter, start and stop.
    Time,
    /// From the liquid at the reference to the liquid at the meter.
    Liquid,
    /// What the line between meter and reference stores.
    LinePack,
}

impl ReferenceComponent {
    /// The component in words.
    pub fn in_words(self) -> &'static str {
        match self {
            ReferenceComponent::Weighing => "reference, weighing",
            ReferenceComponent::Volume => "reference, volume",
            ReferenceComponent::Calibration => "reference, calibration",
            ReferenceComponent::Time => "reference, time",
            ReferenceComponent::Liquid => "reference, liquid",
            ReferenceComponent::LinePack => "line pack",
        }
    }
}

macro_rules! define {
    ($($name:ident, $key:ident, $dimension:ident, $component:ident, $default:expr, $label:expr, $doc:expr;)*) => {
        /// A quantity on the side of the reference. Each may be the sum of several inputs, such as a
        /// reading and the correction of its instrument.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum ReferenceQuantity {
            $(#[doc = $doc] $name,)*
        }

        impl ReferenceQuantity {
            /// All of them, in the order of a budget.
            pub const ALL: &'static [ReferenceQuantity] = &[$(ReferenceQuantity::$name,)*];

            /// The key in the file.
            pub fn key(self) -> &'static str {
                match self { $(ReferenceQuantity::$name => stringify!($key),)* }
            }

            /// The path in the file.
            pub(crate) fn path(self) -> &'static str {
                match self { $(ReferenceQuantity::$name => concat!("reference.", stringify!($key)),)* }
            }

            /// The kind of quantity.
            pub fn dimension(self) -> Dimension {
                match self { $(ReferenceQuantity::$name => Dimension::$dimension,)* }
            }

            /// The component of the budget.
            pub fn component(self) -> ReferenceComponent {
                match self { $(ReferenceQuantity::$name => ReferenceComponent::$component,)* }
            }

            /// Whether a certificate may state it point by point, and how it drifts.
            pub(super) fn has_certificate(self) -> bool {
                matches!(self, ReferenceQuantity::CalibrationFactor | ReferenceQuantity::Error)
            }

            /// The value in SI units where nothing is stated.
            pub(super) fn default_value(self) -> f64 {
                match self { $(ReferenceQuantity::$name => $default,)* }
            }

            /// The quantity in the few words of a table.
            pub fn label(self) -> &'static str {
                match self { $(ReferenceQuantity::$name => $label,)* }
            }

            /// The quantity in words.
            pub fn in_words(self) -> &'static str {
                match self { $(ReferenceQuantity::$name => $doc,)* }
            }
        }
    };
}
with_quantities!(define);

/// The number of quantities.
pub(super) const COUNT: usize = ReferenceQuantity::ALL.len();
