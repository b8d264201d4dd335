//! The quantities of the measurement model of a site.

use super::Basis;
use crate::units::Dimension;
use std::borrow::Cow;

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
    /// All components, in the order of a budget.
    pub const ALL: [Component; 8] = [
        Component::CalibrationFactor,
        Component::VelocityProfile,
        Component::CrossSection,
        Component::PathGeometry,
        Component::TimeMeasurement,
        Component::DelayTime,
        Component::Installation,
        Component::Remounting,
    ];

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
    ($($name:ident, $path:literal, $symbol:literal, $dimension:ident, $component:ident, $default:expr, $doc:literal;)*) => {
        /// A quantity of the measurement model. Each may be the sum of several inputs, such as
        /// the mean of readings and the correction of the instrument.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub enum Quantity {
            $(#[doc = $doc] $name,)*
            /// Thickness of a layer inside wall and liner, counted from 0 and from outside to
            /// inside.
            LayerThickness(u16),
            /// Sound speed of the wave in that layer.
            LayerSoundSpeed(u16),
        }

        /// The places of the quantities that every site has.
        enum Place { $($name,)* }

        impl Quantity {
            /// All quantities but those of layers, in the order of a budget.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$name,)*];

            /// The place in the order of a budget; layers come after [`Self::ALL`].
            pub(crate) fn index(self) -> usize {
                let layer = |n: u16, part: usize| Self::ALL.len() + 2 * usize::from(n) + part;
                match self {
                    $(Quantity::$name => Place::$name as usize,)*
                    Quantity::LayerThickness(n) => layer(n, 0),
                    Quantity::LayerSoundSpeed(n) => layer(n, 1),
                }
            }

            /// The path of the quantity in a site file, or the name of its reading. Layers are
            /// counted from 1 there.
            pub fn path(self) -> Cow<'static, str> {
                match self {
                    $(Quantity::$name => Cow::Borrowed($path),)*
                    Quantity::LayerThickness(n) => format!("pipe.layer[{}].thickness", n + 1).into(),
                    Quantity::LayerSoundSpeed(n) => format!("pipe.layer[{}].sound_speed", n + 1).into(),
                }
            }

            /// The symbol of the quantity in equations.
            pub fn symbol(self) -> Cow<'static, str> {
                match self {
                    $(Quantity::$name => Cow::Borrowed($symbol),)*
                    Quantity::LayerThickness(n) => format!("e_L{}", n + 1).into(),
                    Quantity::LayerSoundSpeed(n) => format!("c_L{}", n + 1).into(),
                }
            }

            /// What the quantity is, in words.
            pub fn in_words(self) -> &'static str {
                match self {
                    $(Quantity::$name => $doc,)*
                    Quantity::LayerThickness(_) => "Thickness of a layer inside wall and liner.",
                    Quantity::LayerSoundSpeed(_) => "Sound speed of the wave in that layer.",
                }
            }

            /// The kind of quantity.
            pub fn dimension(self) -> Dimension {
                match self {
                    $(Quantity::$name => Dimension::$dimension,)*
                    Quantity::LayerThickness(_) => Dimension::Length,
                    Quantity::LayerSoundSpeed(_) => Dimension::Velocity,
                }
            }

            /// The component to which the quantity belongs whatever the basis.
            fn usual_component(self) -> Component {
                match self {
                    $(Quantity::$name => Component::$component,)*
                    Quantity::LayerThickness(_) => Component::CrossSection,
                    Quantity::LayerSoundSpeed(_) => Component::DelayTime,
                }
            }

            /// The value in SI units where nothing is stated.
            pub fn default_value(self) -> f64 {
                match self {
                    $(Quantity::$name => $default,)*
                    Quantity::LayerThickness(_) | Quantity::LayerSoundSpeed(_) => f64::NAN,
                }
            }
        }
    };
}

quantities! {
    CalibrationFactor, "meter.calibration_factor", "K_cal", Ratio, CalibrationFactor, 1.0,
        "Calibration factor of the meter.";
    LawFactor, "profile.law_factor", "K_law", Ratio, VelocityProfile, 1.0,
        "True over computed profile factor of fully developed flow.";
    IntermittencyShift, "profile.intermittency", "b", Ratio, VelocityProfile, 0.0,
        "Doubt of the share of turbulent time in the transition: shift of the logarithm of its odds.";
    Roughness, "pipe.roughness", "k_s", Length, VelocityProfile, 0.0,
        "Equivalent sand roughness of the bore.";
    Temperature, "liquid.temperature", "T", Temperature, VelocityProfile, f64::NAN,
        "Temperature of the liquid.";
    Pressure, "liquid.absolute_pressure", "p", Pressure, VelocityProfile, f64::NAN,
        "Absolute pressure of the liquid.";
    Salinity, "liquid.salinity", "S_A", Ratio, VelocityProfile, f64::NAN,
        "Absolute salinity of sea water, mass of salt in mass of sea water.";
    MassFraction, "liquid.mass_fraction", "w", Ratio, VelocityProfile, f64::NAN,
        "Mass of glycol in mass of solution.";
    DensityFactor, "liquid.density_formulation", "F_rho", Ratio, VelocityProfile, 1.0,
        "True density over that of the formulation.";
    ViscosityFactor, "liquid.viscosity_formulation", "F_eta", Ratio, VelocityProfile, 1.0,
        "True dynamic viscosity over that of the formulation.";
    KinematicViscosity, "liquid.kinematic_viscosity", "nu", KinematicViscosity, VelocityProfile, f64::NAN,
        "Kinematic viscosity of a stated liquid.";
    OutsideCircumference, "pipe.outside_circumference", "C", Length, CrossSection, f64::NAN,
        "Outside circumference of the pipe.";
    OutsideDiameter, "pipe.outside_diameter", "d", Length, CrossSection, f64::NAN,
        "Outside diameter of the pipe.";
    Wall, "pipe.wall", "e", Length, CrossSection, f64::NAN,
        "Wall thickness of the pipe.";
    Liner, "pipe.liner", "e_l", Length, CrossSection, 0.0,
        "Thickness of the liner.";
    Ovality, "pipe.ovality", "o", Ratio, CrossSection, 0.0,
        "Largest less smallest outside diameter, over their mean.";
    SurveyTemperature, "pipe.survey_temperature", "T_s", Temperature, CrossSection, f64::NAN,
        "Temperature of the wall to which the stated dimensions belong.";
    WallTemperature, "pipe.wall_temperature", "T_p", Temperature, CrossSection, f64::NAN,
        "Temperature of the wall in operation; that of the liquid where it is not stated.";
    Expansion, "pipe.expansion", "alpha", PerKelvin, CrossSection, 0.0,
        "Coefficient of linear thermal expansion of the wall.";
    SurveyPressure, "pipe.survey_absolute_pressure", "p_s", Pressure, CrossSection, f64::NAN,
        "Absolute pressure in the pipe to which the stated dimensions belong.";
    YoungsModulus, "pipe.youngs_modulus", "E", Pressure, CrossSection, f64::NAN,
        "Young's modulus of the wall.";
    PoissonRatio, "pipe.poisson_ratio", "mu", Ratio, CrossSection, 0.3,
        "Poisson's ratio of the wall.";
    WedgeAngle, "path.wedge_angle", "theta_w", Angle, PathGeometry, f64::NAN,
        "Angle of the ray in the wedge.";
    WedgeSoundSpeed, "path.wedge_sound_speed", "c_w", Velocity, PathGeometry, f64::NAN,
        "Sound speed of the wedge.";
    WedgeSoundSpeedPerKelvin, "path.wedge_sound_speed_per_kelvin", "g_w", VelocityPerKelvin, PathGeometry, 0.0,
        "Change of the sound speed of the wedge with temperature.";
    WedgeTemperature, "path.wedge_temperature", "T_w", Temperature, PathGeometry, f64::NAN,
        "Temperature of the wedge in operation.";
    WedgeReferenceTemperature, "path.wedge_reference_temperature", "T_ref", Temperature, PathGeometry, 293.15,
        "Temperature to which the stated sound speed of the wedge belongs.";
    Spacing, "path.spacing", "s_0", Length, PathGeometry, f64::NAN,
        "Axial distance of the exit points of the wedges, as placed.";
    ChordOffset, "path.chord_offset", "h_0", Length, PathGeometry, 0.0,
        "Distance of the path from the axis of the pipe.";
    Misplacement, "path.circumferential_misplacement", "m", Length, PathGeometry, 0.0,
        "Distance round the outside of one sensor from where it belongs.";
    OvalityAlongPath, "pipe.ovality_along_path", "o_c", Ratio, PathGeometry, 0.0,
        "1 where the largest diameter lies along the path, -1 where the smallest does.";
    SoundSpeedFactor, "liquid.sound_speed_formulation", "F_c", Ratio, PathGeometry, 1.0,
        "True sound speed of the liquid over that of the formulation.";
    LiquidSoundSpeed, "liquid.sound_speed", "c_f", Velocity, PathGeometry, f64::NAN,
        "Sound speed of a stated liquid.";
    TimeDifference, "readings.time_difference", "dt_r", Time, TimeMeasurement, f64::NAN,
        "Transit time against the flow less transit time with the flow.";
    ZeroTimeDifference, "meter.zero_time_difference", "dt_0", Time, TimeMeasurement, 0.0,
        "Time difference at no flow.";
    TransitTime, "readings.transit_time", "t", Time, TimeMeasurement, f64::NAN,
        "Mean of the transit times with and against the flow.";
    IndicatedFlow, "readings.volume_flow", "Q_i", VolumeFlow, TimeMeasurement, f64::NAN,
        "Volume flow that the meter indicates.";
    IndicatedVelocity, "readings.velocity", "v_i", Velocity, TimeMeasurement, f64::NAN,
        "Velocity that the meter indicates.";
    ZeroVelocity, "meter.zero_velocity", "v_0", Velocity, TimeMeasurement, 0.0,
        "Indicated velocity at no flow.";
    ElectronicsDelay, "meter.electronics_delay", "t_el", Time, DelayTime, 0.0,
        "Delay in the electronics.";
    CableDelay, "meter.cable_delay", "t_c", Time, DelayTime, 0.0,
        "Delay in the cables, both together.";
    CableLength, "meter.cable_length", "L_c", Length, DelayTime, 0.0,
        "Length of the cables, both together.";
    CableDelayPerLength, "meter.cable_delay_per_length", "tau_c", TimePerLength, DelayTime, 5e-9,
        "Delay of the cables for their length.";
    WedgeDelay, "meter.wedge_delay", "t_w", Time, DelayTime, 0.0,
        "Delay in wedges and couplant, both sides together.";
    WallSoundSpeed, "pipe.wall_sound_speed", "c_p", Velocity, DelayTime, f64::NAN,
        "Sound speed of the wave in the wall.";
    LinerSoundSpeed, "pipe.liner_sound_speed", "c_l", Velocity, DelayTime, 1500.0,
        "Sound speed of the wave in the liner.";
    WallSoundSpeedPerKelvin, "pipe.wall_sound_speed_per_kelvin", "g_p", VelocityPerKelvin, DelayTime, 0.0,
        "Change of the sound speed of the wall with temperature, from 20 degC on.";
    Couplant, "path.couplant", "e_k", Length, DelayTime, 0.0,
        "Thickness of the couplant under one sensor.";
    CouplantSoundSpeed, "path.couplant_sound_speed", "c_k", Velocity, DelayTime, 1500.0,
        "Sound speed of the couplant.";
    InstallationFactor, "installation.factor", "K_inst", Ratio, Installation, 1.0,
        "True over undisturbed profile factor at the place of measurement.";
    RemountingFactor, "installation.remounting", "K_mount", Ratio, Remounting, 1.0,
        "Effect of mounting the sensors anew.";
}

impl Quantity {
    /// The component of the budget to which the quantity belongs. On the geometric basis the
    /// temperature acts mostly through the sound speed.
    pub fn component(self, basis: Basis) -> Component {
        match (self, basis) {
            (
                Quantity::Temperature
                | Quantity::Pressure
                | Quantity::Salinity
                | Quantity::MassFraction,
                Basis::Geometric,
            ) => Component::PathGeometry,
            _ => self.usual_component(),
        }
    }
}
