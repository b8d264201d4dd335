//! The quantities of the measurement model of a site.

use super::Basis;
use crate::units::Dimension;

/// The components into which a budget is grouped.
///
/// # Source
/// ISO 12242:2012, structure of the uncertainty budget of transit-time meters (contents seen).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Component {
    /// What a calibration of the meter leaves.
    CalibrationFactor,
    /// From path mean to area mean of the velocity.
    VelocityProfile,
    /// The area of the bore.
    CrossSection,
    /// From times to velocity.
    PathGeometry,
    /// Transit time and time difference.
    TimeMeasurement,
    /// Time spent outside the liquid.
    DelayTime,
    /// Disturbed flow at the place of measurement.
    Installation,
    /// Taking the sensors off and putting them on again.
    Remounting,
}

impl Component {
    /// The component in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Component::CalibrationFactor => "calibration factor",
            Component::VelocityProfile => "velocity profile",
            Component::CrossSection => "cross-section",
            Component::PathGeometry => "path geometry",
            Component::TimeMeasurement => "time measurement",
            Component::DelayTime => "delay time",
            Component::Installation => "installation",
            Component::Remounting => "re-mounting",
        }
    }
}

macro_rules! quantities {
    ($($name:ident, $path:literal, $dimension:ident, $component:ident, $default:expr, $doc:literal;)*) => {
        /// A quantity of the measurement model. Each may be the sum of several inputs, such as
        /// the mean of readings and the correction of the instrument.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[repr(usize)]
        pub enum Quantity {
            $(#[doc = $doc] $name,)*
        }

        impl Quantity {
            /// All quantities, in the order of a budget.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$name,)*];

            /// The path of the quantity in a site file, or the name of its reading.
            pub fn path(self) -> &'static str {
                match self { $(Quantity::$name => $path,)* }
            }

            /// The kind of quantity.
            pub fn dimension(self) -> Dimension {
                match self { $(Quantity::$name => Dimension::$dimension,)* }
            }

            /// The component to which the quantity belongs whatever the basis.
            fn usual_component(self) -> Component {
                match self { $(Quantity::$name => Component::$component,)* }
            }

            /// The value in SI units where nothing is stated.
            pub fn default_value(self) -> f64 {
                match self { $(Quantity::$name => $default,)* }
            }
        }
    };
}

quantities! {
    CalibrationFactor, "meter.calibration_factor", Ratio, CalibrationFactor, 1.0,
        "Calibration factor of the meter.";
    LawFactor, "profile.law_factor", Ratio, VelocityProfile, 1.0,
        "True over computed profile factor of fully developed flow.";
    Roughness, "pipe.roughness", Length, VelocityProfile, 0.0,
        "Equivalent sand roughness of the bore.";
    Temperature, "liquid.temperature", Temperature, VelocityProfile, f64::NAN,
        "Temperature of the liquid.";
    Pressure, "liquid.absolute_pressure", Pressure, VelocityProfile, f64::NAN,
        "Absolute pressure of the liquid.";
    DensityFactor, "liquid.density_formulation", Ratio, VelocityProfile, 1.0,
        "True density over that of the formulation.";
    ViscosityFactor, "liquid.viscosity_formulation", Ratio, VelocityProfile, 1.0,
        "True dynamic viscosity over that of the formulation.";
    KinematicViscosity, "liquid.kinematic_viscosity", KinematicViscosity, VelocityProfile, f64::NAN,
        "Kinematic viscosity of a stated liquid.";
    OutsideCircumference, "pipe.outside_circumference", Length, CrossSection, f64::NAN,
        "Outside circumference of the pipe.";
    OutsideDiameter, "pipe.outside_diameter", Length, CrossSection, f64::NAN,
        "Outside diameter of the pipe.";
    Wall, "pipe.wall", Length, CrossSection, f64::NAN,
        "Wall thickness of the pipe.";
    Liner, "pipe.liner", Length, CrossSection, 0.0,
        "Thickness of the liner.";
    WedgeAngle, "path.wedge_angle", Angle, PathGeometry, f64::NAN,
        "Angle of the ray in the wedge.";
    WedgeSoundSpeed, "path.wedge_sound_speed", Velocity, PathGeometry, f64::NAN,
        "Sound speed of the wedge.";
    SoundSpeedFactor, "liquid.sound_speed_formulation", Ratio, PathGeometry, 1.0,
        "True sound speed of the liquid over that of the formulation.";
    LiquidSoundSpeed, "liquid.sound_speed", Velocity, PathGeometry, f64::NAN,
        "Sound speed of a stated liquid.";
    TimeDifference, "readings.time_difference", Time, TimeMeasurement, f64::NAN,
        "Transit time against the flow less transit time with the flow.";
    ZeroTimeDifference, "meter.zero_time_difference", Time, TimeMeasurement, 0.0,
        "Time difference at no flow.";
    TransitTime, "readings.transit_time", Time, TimeMeasurement, f64::NAN,
        "Mean of the transit times with and against the flow.";
    IndicatedFlow, "readings.volume_flow", VolumeFlow, TimeMeasurement, f64::NAN,
        "Volume flow that the meter indicates.";
    IndicatedVelocity, "readings.velocity", Velocity, TimeMeasurement, f64::NAN,
        "Velocity that the meter indicates.";
    ZeroVelocity, "meter.zero_velocity", Velocity, TimeMeasurement, 0.0,
        "Indicated velocity at no flow.";
    ElectronicsDelay, "meter.electronics_delay", Time, DelayTime, 0.0,
        "Delay in the electronics.";
    CableDelay, "meter.cable_delay", Time, DelayTime, 0.0,
        "Delay in the cables, both together.";
    WedgeDelay, "meter.wedge_delay", Time, DelayTime, 0.0,
        "Delay in wedges and couplant, both sides together.";
    WallSoundSpeed, "pipe.wall_sound_speed", Velocity, DelayTime, f64::NAN,
        "Sound speed of the wave in the wall.";
    LinerSoundSpeed, "pipe.liner_sound_speed", Velocity, DelayTime, 1500.0,
        "Sound speed of the wave in the liner.";
    InstallationFactor, "installation.factor", Ratio, Installation, 1.0,
        "True over undisturbed profile factor at the place of measurement.";
    RemountingFactor, "installation.remounting", Ratio, Remounting, 1.0,
        "Effect of mounting the sensors anew.";
}

impl Quantity {
    /// The component of the budget to which the quantity belongs. On the geometric basis the
    /// temperature acts mostly through the sound speed.
    pub fn component(self, basis: Basis) -> Component {
        match (self, basis) {
            (Quantity::Temperature | Quantity::Pressure, Basis::Geometric) => {
                Component::PathGeometry
            }
            _ => self.usual_component(),
        }
    }
}
