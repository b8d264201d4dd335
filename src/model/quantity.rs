//! The quantities of the measurement model of a site: one row each, which says all there is to say.

use super::Basis;
use super::Component::{self, *};
use super::quantity_row::Allowed::{Any, Within};
use super::quantity_row::Covered::{Electronics, Sensors};
use super::quantity_row::Origin::{self, Derived, Readings, ReadingsOrSiteFile};
use super::quantity_row::Renewed::ByPlacement;
use super::quantity_row::{Row, row};
use crate::liquid::Liquid;
use crate::profile::TRANSITION_REYNOLDS;
use crate::units::Dimension::{self, *};
use std::borrow::Cow;

/// One degree in rad.
const DEGREE: f64 = std::f64::consts::PI / 180.0;

macro_rules! quantities {
    ($($(#[doc = $doc:literal])+ $name:ident $path:literal $symbol:literal $label:literal = $row:expr;)*) => {
        /// A quantity of the measurement model. Each may be the sum of several inputs, such as
        /// the mean of readings and the correction of the instrument.
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        #[non_exhaustive]
        pub enum Quantity {
            $($(#[doc = $doc])+ #[doc = concat!(" `", $path, "`, symbol `", $symbol, "`.")] $name,)*
            /// Thickness of a further layer, counted from 0 in the order of the file.
            LayerThickness(u16),
            /// Sound speed of the wave in that layer.
            LayerSoundSpeed(u16),
        }

        /// The places of the quantities that every site has.
        enum Place { $($name,)* }

        /// Path in the site file, symbol, words, few words and the rest of each row.
        static TABLE: [(&str, &str, &str, &str, Row); Quantity::ALL.len()] =
            [$(($path, $symbol, concat!($($doc),+), $label, $row),)*];

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
        }
    };
}

quantities! {
    /// Calibration factor of the meter.
    CalibrationFactor "meter.calibration_factor" "K_cal" "calibration factor of the meter" = row(Ratio, CalibrationFactor).allowed(Within(0.2, 5.0)).of_meter().default(1.0).usual(0.9, 1.1);
    /// Factor of the in-situ calibration.
    InSituFactor "in_situ_calibration.factor" "K_situ" "factor of the in-situ calibration" = row(Ratio, CalibrationFactor).allowed(Within(0.2, 5.0)).of_meter().default(1.0).usual(0.9, 1.1)
        .origin(Derived);
    /// True over computed profile factor of fully developed flow.
    LawFactor "profile.law_factor" "K_law" "factor of the profile law" = row(Ratio, VelocityProfile).allowed(Within(0.5, 2.0)).default(1.0).usual(0.9, 1.1);
    /// True friction factor over that of the friction law.
    FrictionRatio "profile.friction_ratio" "F_f" "factor of the friction law" = row(Ratio, VelocityProfile).default(1.0).allowed(Within(0.5, 2.0)).usual(0.8, 1.25)
        .example(r#"{ value = "1", standard_uncertainty = "3 %", evidence = "pressure drop measured" }"#);
    /// Reynolds number at which the flow is turbulent half of the time.
    TransitionReynolds "profile.transition_reynolds" "Re_t" "Reynolds number of the transition" = row(Ratio, VelocityProfile).default(TRANSITION_REYNOLDS).allowed(Within(1900.0, 20_000.0)).usual(1950.0, 3150.0)
        .example(r#"{ value = "2350", half_width = "200", shape = "rectangular", evidence = "pressure drop against flow" }"#);
    /// Equivalent sand roughness of the bore.
    Roughness "pipe.roughness" "k_s" "roughness of the bore" = row(Length, VelocityProfile).allowed(Within(0.0, 0.05)).default(0.0).usual(0.0, 0.003);
    /// Temperature of the liquid.
    Temperature "liquid.temperature" "T" "temperature of the liquid" = row(Temperature, VelocityProfile).allowed(Within(150.0, 1000.0)).usual(233.15, 523.15)
        .origin(ReadingsOrSiteFile)
        .if_geometric(PathGeometry)
        .cause("temperature of the liquid");
    /// Absolute pressure of the liquid.
    Pressure "liquid.absolute_pressure" "p" "absolute pressure of the liquid" = row(Pressure, VelocityProfile).allowed(Within(10.0, 1e9)).usual(1e3, 1e7)
        .if_geometric(PathGeometry)
        .needed(|at| at.liquid().is_some_and(Liquid::needs_pressure), "absolute pressure of the liquid")
        .needed(|at| at.has(Quantity::SurveyPressure), "absolute pressure of the liquid, for the expansion since the survey")
        .cause("pressure of the liquid");
    /// Absolute salinity of sea water, mass of salt in mass of sea water.
    Salinity "liquid.salinity" "S_A" "salinity of the sea water" = row(Ratio, VelocityProfile).allowed(Within(0.0, 0.5)).usual(0.0, 0.045)
        .if_geometric(PathGeometry)
        .needed(|at| at.sea_water(), "absolute salinity of the sea water")
        .of_liquids(|at| at.sea_water())
        .cause("salinity");
    /// Mass of glycol in mass of solution.
    MassFraction "liquid.mass_fraction" "w" "mass fraction of glycol" = row(Ratio, VelocityProfile).allowed(Within(0.0, 1.0)).usual(0.0, 0.7)
        .if_geometric(PathGeometry)
        .needed(|at| at.glycol(), "mass of glycol in mass of solution")
        .of_liquids(|at| at.glycol())
        .cause("content of glycol");
    /// True density over that of the formulation.
    DensityFactor "liquid.density_formulation" "F_rho" "factor of the computed density" = row(Ratio, VelocityProfile).allowed(Within(0.5, 2.0)).default(1.0).usual(0.95, 1.05)
        .of_liquids(|at| at.liquid().is_some())
        .example(r#"{ value = "1", half_width = "0.1 %", shape = "rectangular", evidence = "dissolved matter" }"#);
    /// True dynamic viscosity over that of the formulation.
    ViscosityFactor "liquid.viscosity_formulation" "F_eta" "factor of the computed viscosity" = row(Ratio, VelocityProfile).allowed(Within(0.1, 10.0)).default(1.0).usual(0.7, 1.4)
        .of_liquids(|at| at.liquid().is_some())
        .example(r#"{ value = "1", half_width = "2 %", shape = "rectangular", evidence = "dissolved matter" }"#);
    /// Kinematic viscosity of a stated liquid.
    KinematicViscosity "liquid.kinematic_viscosity" "nu" "kinematic viscosity of the liquid" = row(KinematicViscosity, VelocityProfile).allowed(Within(1e-09, 1.0)).usual(1e-7, 1e-3)
        .needed(|at| at.liquid().is_none(), "kinematic viscosity of the liquid")
        .of_liquids(|at| at.liquid().is_none());
    /// Outside circumference of the pipe.
    OutsideCircumference "pipe.outside_circumference" "C" "outside circumference" = row(Length, CrossSection).allowed(Within(0.01, 50.0)).usual(0.03, 20.0)
        .cause("outside diameter");
    /// Outside diameter of the pipe.
    OutsideDiameter "pipe.outside_diameter" "d" "outside diameter" = row(Length, CrossSection).allowed(Within(0.003, 15.0)).usual(0.01, 6.5)
        .cause("outside diameter")
        .example(r#"{ value = "168.3 mm", half_width = "0.5 mm", shape = "rectangular", evidence = "calliper, four directions" }"#);
    /// Wall thickness of the pipe.
    Wall "pipe.wall" "e" "wall thickness" = row(Length, CrossSection).allowed(Within(0.0001, 0.5)).usual(0.0005, 0.1)
        .needed(|_| true, "wall thickness, as text with a unit or a table")
        .cause("wall thickness");
    /// Sound speed set in the thickness gauge.
    GaugeSoundSpeed "pipe.gauge_sound_speed" "c_g" "sound speed set in the thickness gauge" = row(Velocity, CrossSection).usual(900.0, 6800.0)
        .needed(|at| at.gauge_reads_layers(), "sound speed set in the thickness gauge, or a material, since it measured through a layer")
        .example(r#"{ value = "5900 m/s", half_width = "1 %", shape = "rectangular", evidence = "set on the step block" }"#);
    /// Thickness of the liner.
    Liner "pipe.liner" "e_l" "thickness of the liner" = row(Length, CrossSection).allowed(Within(0.0, 0.5)).default(0.0).usual(0.0, 0.05)
        .cause("thickness of the lining");
    /// Largest less smallest outside diameter, over their mean.
    Ovality "pipe.ovality" "o" "ovality of the pipe" = row(Ratio, CrossSection).default(0.0).allowed(Within(0.0, 0.3)).usual(0.0, 0.05)
        .cause("pipe out of round");
    /// Temperature of the wall to which the stated dimensions belong.
    SurveyTemperature "pipe.survey_temperature" "T_s" "temperature of the wall at the survey" = row(Temperature, CrossSection).allowed(Within(150.0, 1000.0)).usual(233.15, 523.15);
    /// Temperature of the wall in operation; that of the liquid where it is not stated.
    WallTemperature "pipe.wall_temperature" "T_p" "temperature of the wall in operation" = row(Temperature, CrossSection).allowed(Within(150.0, 1000.0)).usual(233.15, 523.15)
        .needed(|at| at.wall_changes_with_temperature() && at.liquid().is_none(), "temperature of the wall in operation")
        .example(r#"{ value = "60 degC", half_width = "3 K", shape = "rectangular", evidence = "surface probe" }"#);
    /// Coefficient of linear thermal expansion of the wall.
    Expansion "pipe.expansion" "alpha" "thermal expansion of the wall" = row(PerKelvin, CrossSection).allowed(Within(-0.0001, 0.001)).default(0.0).usual(0.0, 0.0003)
        .beside(Quantity::SurveyTemperature)
        .needed(|at| at.has(Quantity::SurveyTemperature), "coefficient of thermal expansion of the wall, or a material")
        .example(r#"{ value = "12 ppm/K", half_width = "5 %", shape = "rectangular", evidence = "handbook" }"#);
    /// Absolute pressure in the pipe to which the stated dimensions belong.
    SurveyPressure "pipe.survey_absolute_pressure" "p_s" "absolute pressure at the survey" = row(Pressure, CrossSection).allowed(Within(10.0, 1e9)).usual(1e3, 1e7);
    /// Young's modulus of the wall.
    YoungsModulus "pipe.youngs_modulus" "E" "Young's modulus of the wall" = row(Pressure, CrossSection).allowed(Within(1e6, 2e12)).usual(1e8, 3e11)
        .beside(Quantity::SurveyPressure)
        .needed(|at| at.has(Quantity::SurveyPressure), "Young's modulus of the wall, or a material")
        .example(r#"{ value = "210 GPa", half_width = "5 %", shape = "rectangular", evidence = "handbook" }"#);
    /// Poisson's ratio of the wall.
    PoissonRatio "pipe.poisson_ratio" "mu" "Poisson's ratio of the wall" = row(Ratio, CrossSection).default(0.3).allowed(Within(0.0, 0.5)).usual(0.15, 0.5)
        .beside(Quantity::SurveyPressure)
        .example(r#"{ value = "0.29", half_width = "0.02", shape = "rectangular", evidence = "handbook" }"#);
    /// Angle of the ray in the wedge.
    WedgeAngle "path.wedge_angle" "theta_w" "angle of the ray in the wedge" = row(Angle, PathGeometry).allowed(Within(0.1 * DEGREE, 89.0 * DEGREE)).of_meter().usual(0.17, 1.4)
        .needed(|at| at.ray_from_wedge(), "angle of the ray in the wedge")
        .cause("wedge angle")
        .covered(Sensors);
    /// Sound speed of the wedge.
    WedgeSoundSpeed "path.wedge_sound_speed" "c_w" "sound speed of the wedge" = row(Velocity, PathGeometry).allowed(Within(200.0, 20_000.0)).of_meter().usual(900.0, 3500.0)
        .needed(|at| at.ray_from_wedge(), "sound speed of the wedge")
        .cause("sound speed of the wedge")
        .covered(Sensors);
    /// Change of the sound speed of the wedge with temperature.
    WedgeSoundSpeedPerKelvin "path.wedge_sound_speed_per_kelvin" "g_w" "change of the sound speed of the wedge with temperature" = row(VelocityPerKelvin, PathGeometry).of_meter().default(0.0).allowed(Any)
        .beside(Quantity::WedgeTemperature)
        .example(r#"{ value = "-2.5 m/s/K", half_width = "0.8 m/s/K", shape = "rectangular", evidence = "data sheet" }"#);
    /// Temperature of the wedge in operation.
    WedgeTemperature "path.wedge_temperature" "T_w" "temperature of the wedge" = row(Temperature, PathGeometry).allowed(Within(150.0, 1000.0)).usual(233.15, 523.15)
        .cause("temperature of the wedge")
        .example(r#"{ value = "45 degC", half_width = "5 K", shape = "rectangular", evidence = "surface probe" }"#);
    /// Temperature to which the stated sound speed of the wedge belongs.
    WedgeReferenceTemperature "path.wedge_reference_temperature" "T_ref" "temperature at which the sound speed of the wedge is stated" = row(Temperature, PathGeometry).allowed(Within(150.0, 1000.0)).of_meter().default(293.15).usual(273.15, 323.15)
        .beside(Quantity::WedgeTemperature)
        .example(r#""20 degC""#);
    /// Axial distance of the exit points of the wedges, as placed.
    Spacing "path.spacing" "s_0" "spacing of the sensors" = row(Length, PathGeometry).allowed(Within(0.0001, 50.0)).usual(0.001, 10.0)
        .renewed(ByPlacement)
        .needed(|at| at.ray_from_spacing(), "spacing of the exit points, for angle_from = \"spacing\"")
        .cause("spacing of the sensors");
    /// Distance of the path from the axis of the pipe.
    ChordOffset "path.chord_offset" "h_0" "distance of the path from the axis" = row(Length, PathGeometry).default(0.0).allowed(Any)
        .renewed(ByPlacement)
        .cause("path off the centre");
    /// Distance round the outside of one sensor from where it belongs.
    Misplacement "path.circumferential_misplacement" "m" "misplacement of a sensor round the pipe" = row(Length, PathGeometry).default(0.0).allowed(Any)
        .renewed(ByPlacement)
        .cause("path off the centre");
    /// Width of the beam across pipe and path.
    BeamWidth "path.beam_width" "w_b" "width of the beam" = row(Length, VelocityProfile).allowed(Within(0.0, 1.0)).default(0.0).usual(0.0, 0.1)
        .example(r#"{ value = "12 mm", half_width = "4 mm", shape = "rectangular", evidence = "width of the sensor" }"#);
    /// 1 where the largest diameter lies along the path, -1 where the smallest does.
    OvalityAlongPath "pipe.ovality_along_path" "o_c" "direction of the ovality" = row(Ratio, PathGeometry).default(0.0).allowed(Within(-1.0, 1.0))
        .beside(Quantity::Ovality)
        .cause("pipe out of round")
        .example(r#""1""#);
    /// True sound speed of the liquid over that of the formulation.
    SoundSpeedFactor "liquid.sound_speed_formulation" "F_c" "factor of the computed sound speed" = row(Ratio, PathGeometry).allowed(Within(0.5, 2.0)).default(1.0).usual(0.95, 1.05)
        .of_liquids(|at| at.sound_speed_computed())
        .cause("another liquid, or gas in it: its sound speed")
        .example(r#"{ value = "1", half_width = "0.1 %", shape = "rectangular", evidence = "dissolved matter" }"#);
    /// Sound speed of a stated liquid.
    LiquidSoundSpeed "liquid.sound_speed" "c_f" "sound speed of the liquid" = row(Velocity, PathGeometry).allowed(Within(200.0, 5000.0)).usual(800.0, 2200.0)
        .needed(|at| !at.sound_speed_computed(), "sound speed of the liquid; none is computed for it, so measure it or take it from its data sheet at the temperature of operation")
        .of_liquids(|at| !at.sound_speed_computed())
        .cause("another liquid, or gas in it: its sound speed");
    /// Transit time against the flow less transit time with the flow.
    TimeDifference "readings.time_difference" "dt_r" "time difference" = row(Time, TimeMeasurement).allowed(Within(-5e-4, 5e-4)).usual(-2e-4, 2e-4)
        .origin(Readings);
    /// Time difference at no flow.
    ZeroTimeDifference "meter.zero_time_difference" "dt_0" "time difference at no flow" = row(Time, TimeMeasurement).allowed(Within(-1e-05, 1e-05)).default(0.0).usual(-2e-08, 2e-08);
    /// Mean of the transit times with and against the flow.
    TransitTime "readings.transit_time" "t" "transit time" = row(Time, TimeMeasurement).allowed(Within(1e-07, 1.0)).usual(5e-06, 0.02)
        .origin(Readings)
        .cause("transit time, or a wrong peak of the signal");
    /// True time over the time that the meter tells.
    TimeBase "meter.time_base" "F_t" "clock of the meter" = row(Ratio, TimeMeasurement).allowed(Within(0.9, 1.1)).of_meter().default(1.0).usual(0.999, 1.001)
        .cause("clock of the meter")
        .example(r#"{ value = "1", half_width = "50 ppm", shape = "rectangular", evidence = "data sheet" }"#)
        .covered(Electronics);
    /// Volume flow that the meter indicates.
    IndicatedFlow "readings.volume_flow" "Q_i" "indicated volume flow" = row(VolumeFlow, TimeMeasurement).allowed(Within(-1000.0, 1000.0))
        .origin(Readings);
    /// Velocity that the meter indicates.
    IndicatedVelocity "readings.velocity" "v_i" "indicated velocity" = row(Velocity, TimeMeasurement).allowed(Within(-100.0, 100.0)).usual(-20.0, 20.0)
        .origin(Readings);
    /// Indicated velocity at no flow.
    ZeroVelocity "meter.zero_velocity" "v_0" "indicated velocity at no flow" = row(Velocity, TimeMeasurement).allowed(Within(-10.0, 10.0)).default(0.0).usual(-0.1, 0.1)
        .example(r#"{ value = "0 mm/s", standard_uncertainty = "1 mm/s", evidence = "at no flow, valves closed" }"#);
    /// Current of the output of the meter.
    ReadCurrent "readings.current" "I_r" "output current of the meter" = row(Current, TimeMeasurement).allowed(Any).usual(0.0038, 0.0205)
        .origin(Readings);
    /// Correction of the current that the meter puts out.
    CurrentOutput "meter.current_output" "I_o" "correction of the current that the meter puts out" = row(Current, TimeMeasurement).of_meter().default(0.0).allowed(Any).usual(-5e-4, 5e-4)
        .example(r#"{ value = "0 mA", half_width = "0.02 mA", shape = "rectangular", evidence = "data sheet of the meter" }"#);
    /// Correction of the instrument that reads the current.
    CurrentInput "meter.current_input" "I_i" "correction of the instrument that reads the current" = row(Current, TimeMeasurement).default(0.0).allowed(Any).usual(-5e-4, 5e-4)
        .example(r#"{ value = "0 mA", half_width = "0.01 mA", shape = "rectangular", evidence = "data sheet of the logger" }"#);
    /// True time over the time that the clock tells by which counts become a flow.
    CounterClock "meter.counter_clock" "F_n" "clock of the counter" = row(Ratio, TimeMeasurement).default(1.0).usual(0.999, 1.001)
        .example(r#"{ value = "1", half_width = "100 ppm", shape = "rectangular", evidence = "data sheet of the logger" }"#);
    /// Share of a geometric meter in what a meter does whose principle nobody knows.
    GeometricShare "meter.geometric_share" "m_g" "principle of the meter, timed or geometric" = row(Ratio, PathGeometry).of_meter().default(0.0).allowed(Within(0.0, 1.0))
        .origin(Derived);
    /// Share of the expected correction of the profile that the meter applied, where its profile factor is not known.
    ProfileCorrection "meter.profile_correction" "m_k" "profile correction that the meter applied" = row(Ratio, VelocityProfile).of_meter().default(0.0).allowed(Within(0.0, 1.0))
        .example(r#"{ value = "50 %", half_width = "50 %", shape = "rectangular", evidence = "not known" }"#);
    /// Delay in the electronics.
    ElectronicsDelay "meter.electronics_delay" "t_el" "delay in the electronics" = row(Time, DelayTime).allowed(Within(0.0, 0.01)).of_meter().default(0.0).usual(0.0, 0.0001)
        .cause("delay outside the pipe")
        .covered(Electronics);
    /// Delay in the cables, both together.
    CableDelay "meter.cable_delay" "t_c" "delay in the cables" = row(Time, DelayTime).allowed(Within(0.0, 0.001)).of_meter().default(0.0).usual(0.0, 5e-06)
        .cause("delay outside the pipe");
    /// Length of the cables, both together.
    CableLength "meter.cable_length" "L_c" "length of the cables" = row(Length, DelayTime).allowed(Within(0.0, 10_000.0)).of_meter().default(0.0).usual(0.0, 500.0)
        .cause("delay outside the pipe");
    /// Delay of the cables for their length.
    CableDelayPerLength "meter.cable_delay_per_length" "tau_c" "delay of the cables for their length" = row(TimePerLength, DelayTime).allowed(Within(1e-09, 1e-07)).of_meter().default(5e-9).usual(3e-09, 8e-09)
        .beside(Quantity::CableLength)
        .example(r#"{ value = "5 ns/m", half_width = "0.5 ns/m", shape = "rectangular", evidence = "common practice" }"#);
    /// Delay in wedges and couplant, both sides together.
    WedgeDelay "meter.wedge_delay" "t_w" "delay in wedges and couplant" = row(Time, DelayTime).allowed(Within(0.0, 0.01)).of_meter().default(0.0).usual(0.0, 0.0002)
        .cause("delay outside the pipe")
        .covered(Sensors);
    /// Sound speed of the wave in the wall.
    WallSoundSpeed "pipe.wall_sound_speed" "c_p" "sound speed of the wall" = row(Velocity, DelayTime).allowed(Within(200.0, 20_000.0)).usual(900.0, 6800.0)
        .needed(|at| at.times() || at.ray_from_spacing() || at.layers_programmed(), "sound speed of the wave in the wall, or a material")
        .cause("sound speed of the wall, or another wave in it");
    /// Sound speed of the wave in the liner.
    LinerSoundSpeed "pipe.liner_sound_speed" "c_l" "sound speed of the liner" = row(Velocity, DelayTime).allowed(Within(200.0, 20_000.0)).default(1500.0).usual(800.0, 6800.0)
        .beside(Quantity::Liner)
        .needed(|at| (at.times() || at.ray_from_spacing()) && at.has(Quantity::Liner), "sound speed of the wave in the liner, or a liner_material")
        .cause("sound speed of the lining")
        .example(r#"{ value = "2600 m/s", half_width = "5 %", shape = "rectangular", evidence = "handbook" }"#);
    /// Change of the sound speed of the wall with temperature, from 20 degC on.
    WallSoundSpeedPerKelvin "pipe.wall_sound_speed_per_kelvin" "g_p" "change of the sound speed of the wall with temperature" = row(VelocityPerKelvin, DelayTime).default(0.0).allowed(Any)
        .example(r#"{ value = "-0.6 m/s/K", half_width = "0.3 m/s/K", shape = "rectangular", evidence = "handbook" }"#);
    /// Thickness of the couplant under one sensor.
    Couplant "path.couplant" "e_k" "thickness of the couplant" = row(Length, DelayTime).allowed(Within(0.0, 0.05)).default(0.0).usual(0.0, 0.003)
        .renewed(ByPlacement)
        .example(r#"{ value = "0.1 mm", half_width = "0.1 mm", shape = "rectangular", evidence = "judgement" }"#);
    /// Sound speed of the couplant.
    CouplantSoundSpeed "path.couplant_sound_speed" "c_k" "sound speed of the couplant" = row(Velocity, DelayTime).allowed(Within(200.0, 20_000.0)).default(1500.0).usual(800.0, 3500.0)
        .beside(Quantity::Couplant)
        .example(r#"{ value = "1500 m/s", half_width = "20 %", shape = "rectangular", evidence = "judgement" }"#);
    /// True over undisturbed profile factor at the place of measurement.
    InstallationFactor "installation.factor" "K_inst" "installation factor" = row(Ratio, Installation).allowed(Within(0.2, 5.0)).default(1.0).usual(0.7, 1.3);
    /// Effect of mounting the sensors anew.
    RemountingFactor "installation.remounting" "K_mount" "effect of mounting the sensors anew" = row(Ratio, Remounting).allowed(Within(0.5, 2.0)).default(1.0).usual(0.9, 1.1)
        .renewed(ByPlacement);
}

/// The rows of what each further layer has.
static LAYER_THICKNESS: Row = row(Length, CrossSection)
    .allowed(Within(0.0, 0.5))
    .usual(0.0, 0.05)
    .cause("thickness of the lining");
static LAYER_SOUND_SPEED: Row = row(Velocity, DelayTime)
    .allowed(Within(200.0, 20_000.0))
    .usual(800.0, 6800.0)
    .cause("sound speed of the lining");

impl Quantity {
    /// What the table says besides path, symbol and words.
    pub(crate) fn row(self) -> &'static Row {
        match self {
            Quantity::LayerThickness(_) => &LAYER_THICKNESS,
            Quantity::LayerSoundSpeed(_) => &LAYER_SOUND_SPEED,
            _ => &TABLE[self.index()].4,
        }
    }

    /// The quantity that a key of a section of the site file states.
    pub(crate) fn of_key(section: &str, key: &str) -> Option<Quantity> {
        let stated = Quantity::ALL.iter().filter(|q| q.is_stated());
        stated.copied().find(|q| {
            let (own_section, own_key) = q.section_and_key();
            own_section == section && own_key == key
        })
    }

    /// Whether a site file can state it.
    pub(crate) fn is_stated(self) -> bool {
        matches!(
            self.row().origin,
            Origin::SiteFile | Origin::ReadingsOrSiteFile
        )
    }

    /// The section of the site file and the key there of a quantity that every site has.
    pub(crate) fn section_and_key(self) -> (&'static str, &'static str) {
        let path = match self {
            Quantity::LayerThickness(_) | Quantity::LayerSoundSpeed(_) => "pipe.layer",
            _ => TABLE[self.index()].0,
        };
        path.split_once('.').unwrap_or((path, ""))
    }

    /// The path of the quantity in a site file, or the name of its reading. Layers are counted
    /// from 1 there.
    pub fn path(self) -> Cow<'static, str> {
        match self {
            Quantity::LayerThickness(n) => format!("pipe.layer[{}].thickness", n + 1).into(),
            Quantity::LayerSoundSpeed(n) => format!("pipe.layer[{}].sound_speed", n + 1).into(),
            _ => TABLE[self.index()].0.into(),
        }
    }

    /// The quantity of an input, by its name: the path of the quantity, or that with what makes one
    /// of its terms.
    pub(crate) fn of_input(name: &str) -> Option<Quantity> {
        if let Some(rest) = name.strip_prefix("pipe.layer[") {
            let (number, key) = rest.split_once("].")?;
            let place = number.parse::<u16>().ok()?.checked_sub(1)?;
            return match key.split('.').next()? {
                "thickness" => Some(Quantity::LayerThickness(place)),
                "sound_speed" => Some(Quantity::LayerSoundSpeed(place)),
                _ => None,
            };
        }
        let is_term = |path: &str| {
            let rest = name.strip_prefix(path);
            rest.is_some_and(|rest| rest.is_empty() || rest.starts_with(['.', '[']))
        };
        let mut all = Self::ALL.iter().copied();
        all.find(|quantity| is_term(&quantity.path()))
    }

    /// The symbol of the quantity in equations.
    pub fn symbol(self) -> Cow<'static, str> {
        match self {
            Quantity::LayerThickness(n) => format!("e_L{}", n + 1).into(),
            Quantity::LayerSoundSpeed(n) => format!("c_L{}", n + 1).into(),
            _ => TABLE[self.index()].1.into(),
        }
    }

    /// What the quantity is, in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Quantity::LayerThickness(_) => "Thickness of a further layer.",
            Quantity::LayerSoundSpeed(_) => "Sound speed of the wave in that layer.",
            _ => TABLE[self.index()].2.trim_start(),
        }
    }

    /// The path without the number of a further layer: the key of the words of the quantity.
    pub(crate) fn key_of_words(self) -> &'static str {
        match self {
            Quantity::LayerThickness(_) => "pipe.layer.thickness",
            Quantity::LayerSoundSpeed(_) => "pipe.layer.sound_speed",
            _ => TABLE[self.index()].0,
        }
    }

    /// What the quantity is in the few words of a table. `{}` stands for the number of a further layer.
    pub fn label(self) -> &'static str {
        match self {
            Quantity::LayerThickness(_) => "thickness of layer {}",
            Quantity::LayerSoundSpeed(_) => "sound speed of layer {}",
            _ => TABLE[self.index()].3,
        }
    }

    /// The kind of quantity.
    pub fn dimension(self) -> Dimension {
        self.row().dimension
    }

    /// The value in SI units where nothing is stated; NaN where something must be.
    pub fn default_value(self) -> f64 {
        self.row().default
    }

    /// The component of the budget to which the quantity belongs. On the geometric basis the
    /// temperature acts mostly through the sound speed.
    pub fn component(self, basis: Basis) -> Component {
        self.row().component_on(basis)
    }
}
