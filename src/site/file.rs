//! The site file: TOML sections as they are written.

use super::syntax::parse_sections;
use super::{AngleFrom, Basis, Instrument, Quantity, Stated, StatedCorrelation};
use crate::error::{Error, Result};
use crate::pipe::Ends;
use serde::{Deserialize, Serialize};
use std::path::Path;
use toml::Spanned;

type Entry = Option<Spanned<Stated>>;

/// A whole site file.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteFile {
    /// What and where.
    pub site: SiteSection,
    /// The liquid.
    pub liquid: Spanned<LiquidSection>,
    /// The pipe.
    pub pipe: Spanned<PipeSection>,
    /// The sound path.
    pub path: Spanned<PathSection>,
    /// The meter.
    #[serde(default)]
    pub meter: MeterSection,
    /// The velocity profile.
    #[serde(default)]
    pub profile: ProfileSection,
    /// The place of measurement and the mounting.
    #[serde(default)]
    pub installation: InstallationSection,
    /// Correlated inputs.
    #[serde(default)]
    pub correlation: Vec<CorrelationSection>,
}

/// Section `[site]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SiteSection {
    /// The name of the site.
    pub name: String,
    /// Remarks in words.
    #[serde(default)]
    pub note: String,
    /// The coverage probability of expanded uncertainties.
    #[serde(default = "usual_coverage")]
    pub coverage_probability: Spanned<f64>,
    /// The unit in which flows are shown.
    #[serde(default = "usual_flow_unit")]
    pub flow_unit: Spanned<String>,
}

fn usual_coverage() -> Spanned<f64> {
    Spanned::new(0..0, 0.95)
}

fn usual_flow_unit() -> Spanned<String> {
    Spanned::new(0..0, "m3/h".to_owned())
}

/// Section `[liquid]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LiquidSection {
    /// `water`, `sea water`, `ethylene glycol`, `propylene glycol`, `tabulated`, or `stated` for a
    /// liquid whose properties are stated here.
    pub kind: Spanned<String>,
    /// Temperature, where the readings have none.
    pub temperature: Entry,
    /// Doubt of the thermometer with which temperature is read, a correction of zero.
    pub thermometer: Option<Spanned<Instrument>>,
    /// Absolute pressure.
    pub absolute_pressure: Entry,
    /// Absolute salinity of sea water.
    pub salinity: Entry,
    /// Mass of glycol in mass of solution.
    pub mass_fraction: Entry,
    /// The table of a tabulated liquid.
    pub table: Option<Spanned<TableSection>>,
    /// Vapour pressure of a tabulated or stated liquid, for the warning of boiling.
    pub vapour_pressure: Option<Spanned<String>>,
    /// Density of the liquid over that of the formulation; the default is one, with the
    /// formulation's own uncertainty.
    pub density_formulation: Entry,
    /// Viscosity of the liquid over that of the formulation.
    pub viscosity_formulation: Entry,
    /// Sound speed of the liquid over that of the formulation.
    pub sound_speed_formulation: Entry,
    /// Sound speed of a stated liquid or a solution of glycol.
    pub sound_speed: Entry,
    /// Kinematic viscosity of a stated liquid.
    pub kinematic_viscosity: Entry,
}

/// Section `[liquid.table]`: properties row by row, as text with units.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableSection {
    /// Temperatures, rising from row to row.
    pub temperature: Vec<String>,
    /// Sound speeds.
    pub sound_speed: Vec<String>,
    /// Densities.
    pub density: Vec<String>,
    /// Dynamic viscosities; these or the kinematic ones.
    pub dynamic_viscosity: Option<Vec<String>>,
    /// Kinematic viscosities.
    pub kinematic_viscosity: Option<Vec<String>>,
    /// Standard uncertainty of the sound speeds, or a percentage of them.
    pub sound_speed_uncertainty: String,
    /// Standard uncertainty of the densities.
    pub density_uncertainty: String,
    /// Standard uncertainty of the viscosities.
    pub viscosity_uncertainty: String,
    /// Where the table comes from, in words.
    #[serde(default)]
    pub evidence: String,
}

/// Section `[pipe]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeSection {
    /// Material of the wall, for what is not stated of it.
    pub material: Option<Spanned<String>>,
    /// The wave in the wall, for a material: `shear` or `longitudinal`.
    pub wave: Option<Spanned<Wave>>,
    /// Standard of the dimensions, for those that are not stated.
    pub standard: Option<Spanned<String>>,
    /// Nominal size in the standard.
    pub size: Option<Spanned<String>>,
    /// Schedule, or SDR, in the standard.
    pub schedule: Option<Spanned<String>>,
    /// Outside circumference by tape.
    pub outside_circumference: Entry,
    /// Outside diameter by calliper or from a table: the mean of several directions.
    pub outside_diameter: Entry,
    /// Largest less smallest outside diameter, over their mean.
    pub ovality: Entry,
    /// 1 where the largest diameter lies along the path, -1 where the smallest does; unknown
    /// where it is not stated.
    pub ovality_along_path: Entry,
    /// Wall thickness.
    pub wall: Entry,
    /// Sound speed of the wave in the wall.
    pub wall_sound_speed: Entry,
    /// Its change with temperature, from 20 degC on.
    pub wall_sound_speed_per_kelvin: Entry,
    /// Liner thickness.
    pub liner: Entry,
    /// Sound speed of the wave in the liner.
    pub liner_sound_speed: Entry,
    /// Material of the liner, for its sound speed.
    pub liner_material: Option<Spanned<String>>,
    /// The wave in the liner, for a material; longitudinal where it is not stated.
    pub liner_wave: Option<Spanned<Wave>>,
    /// Further layers inside the liner, from outside to inside: a second liner, scale, deposit.
    #[serde(default)]
    pub layer: Vec<Spanned<LayerSection>>,
    /// Equivalent sand roughness.
    pub roughness: Entry,
    /// Temperature of the wall when the dimensions were taken, if not that of operation.
    pub survey_temperature: Entry,
    /// Temperature of the wall in operation, if not that of the liquid.
    pub wall_temperature: Entry,
    /// Coefficient of thermal expansion.
    pub expansion: Entry,
    /// Absolute pressure when the dimensions were taken, if not that of operation.
    pub survey_absolute_pressure: Entry,
    /// Young's modulus.
    pub youngs_modulus: Entry,
    /// Poisson's ratio.
    pub poisson_ratio: Entry,
    /// How the ends of the pipe take the thrust of the pressure.
    pub ends: Option<Spanned<Ends>>,
}

/// The kind of wave in a solid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Wave {
    /// Across the direction of travel.
    Shear,
    /// Along the direction of travel.
    Longitudinal,
}

/// Table `[[pipe.layer]]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LayerSection {
    /// What it is, in words.
    #[serde(default)]
    pub name: String,
    /// Thickness.
    pub thickness: Spanned<Stated>,
    /// Sound speed of the wave.
    pub sound_speed: Entry,
    /// Material, for the sound speed.
    pub material: Option<Spanned<String>>,
    /// The wave, for a material; longitudinal where it is not stated.
    pub wave: Option<Spanned<Wave>>,
}

/// Section `[path]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PathSection {
    /// What is read from the meter and how velocity follows.
    pub basis: Spanned<Basis>,
    /// Number of crossings of the liquid.
    pub traverses: Spanned<u32>,
    /// Angle of the ray in the wedge.
    pub wedge_angle: Entry,
    /// Sound speed of the wedge.
    pub wedge_sound_speed: Entry,
    /// Change of the sound speed of the wedge with temperature.
    pub wedge_sound_speed_per_kelvin: Entry,
    /// Temperature of the wedge in operation, if not that of its stated sound speed.
    pub wedge_temperature: Entry,
    /// Temperature of the stated sound speed; 20 degC where it is not stated.
    pub wedge_reference_temperature: Entry,
    /// What determines the angle of the ray: `wedge` or `spacing`.
    pub angle_from: Option<Spanned<AngleFrom>>,
    /// Axial distance of the exit points of the wedges, as placed.
    pub spacing: Entry,
    /// Thickness of the couplant under one sensor.
    pub couplant: Entry,
    /// Sound speed of the couplant.
    pub couplant_sound_speed: Entry,
    /// Distance of the path from the axis of the pipe.
    pub chord_offset: Entry,
    /// Distance round the outside of one sensor from where it belongs.
    pub circumferential_misplacement: Entry,
    /// Length of one sensor along the pipe, for the warnings of overlap and drift.
    pub sensor_length: Option<Spanned<String>>,
}

/// Section `[meter]`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeterSection {
    /// Calibration factor.
    pub calibration_factor: Entry,
    /// Time difference at no flow.
    pub zero_time_difference: Entry,
    /// Indicated velocity at no flow.
    pub zero_velocity: Entry,
    /// Delay of the electronics.
    pub electronics_delay: Entry,
    /// Delay of the cables.
    pub cable_delay: Entry,
    /// Length of the cables, both together.
    pub cable_length: Entry,
    /// Delay of the cables for their length; 5 ns/m where it is not stated.
    pub cable_delay_per_length: Entry,
    /// Delay of wedges and couplant.
    pub wedge_delay: Entry,
    /// What was programmed into the meter.
    pub programmed: Option<Spanned<ProgrammedSection>>,
}

/// Section `[meter.programmed]`: exact, since they are what the meter computed with.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProgrammedSection {
    /// Inside diameter; not needed where the meter indicates velocity.
    pub inside_diameter: Option<Spanned<String>>,
    /// Profile factor that the meter applied; 1 where it shows the path velocity.
    pub profile_factor: Option<Spanned<f64>>,
    /// Angle in the wedge.
    pub wedge_angle: Option<Spanned<String>>,
    /// Sound speed of the wedge.
    pub wedge_sound_speed: Option<Spanned<String>>,
}

/// Section `[profile]`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ProfileSection {
    /// Name of the profile law.
    pub law: Option<Spanned<String>>,
    /// Name of the friction law.
    pub friction: Option<Spanned<String>>,
    /// Von Karman's constant of the logarithmic law.
    pub kappa: Option<Spanned<f64>>,
    /// The fixed `n` of the power law.
    pub n: Option<Spanned<f64>>,
    /// True over computed factor; the default is one, with the spread between laws.
    pub law_factor: Entry,
}

/// Section `[installation]`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct InstallationSection {
    /// Effect of disturbed flow, where it is not derived from `fitting`.
    pub factor: Entry,
    /// Name of the fitting nearest upstream, from which the factor is derived.
    pub fitting: Option<Spanned<String>>,
    /// From the end of the fitting to the middle of the path: a length, or inside diameters as in
    /// `8 D`.
    pub straight_run: Entry,
    /// Angle between the path plane and the plane of the bend.
    pub orientation: Entry,
    /// Number of planes at right angles whose mean is read: 1 or 2.
    pub planes: Option<Spanned<u32>>,
    /// Effect of mounting the sensors anew.
    pub remounting: Entry,
}

/// Table `[[correlation]]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrelationSection {
    /// The names of two inputs.
    pub between: Spanned<[String; 2]>,
    /// Their correlation coefficient.
    pub coefficient: Spanned<f64>,
    /// Where it comes from, in words.
    #[serde(default)]
    pub evidence: String,
}

impl CorrelationSection {
    /// The correlation, from the text and the file in which the section stands.
    pub(crate) fn stated(&self, text: &str, file: &Path) -> Result<StatedCorrelation> {
        let line = |offset: usize| line_of(text, offset);
        let coefficient = *self.coefficient.get_ref();
        let inside = (-1.0..=1.0).contains(&coefficient);
        let field = "correlation.coefficient";
        Error::range(inside, field, coefficient, "", "-1 to 1")
            .map_err(|e| e.in_file(file, line(self.coefficient.span().start)))?;
        let [a, b] = self.between.get_ref().clone();
        Ok(StatedCorrelation {
            pair: (a, b, coefficient),
            line: line(self.between.span().start),
        })
    }
}

impl SiteFile {
    /// Reads the sections; `file` is the name used in errors.
    ///
    /// # Errors
    /// What is not TOML, an unknown key, a missing section or key, a value of the wrong kind.
    pub fn parse(text: &str, file: &Path) -> Result<SiteFile> {
        parse_sections(text, file, "site file")
    }

    /// The quantities that a file can state, with what it says of them.
    pub(super) fn stated(&self) -> Vec<(Quantity, &Entry)> {
        let (liquid, pipe, meter) = (self.liquid.get_ref(), self.pipe.get_ref(), &self.meter);
        let (path, installation) = (self.path.get_ref(), &self.installation);
        macro_rules! entries {
            ($([$section:ident] $($quantity:ident $key:ident,)*)*) => {
                vec![$($((Quantity::$quantity, &$section.$key),)*)*]
            };
        }
        let profile = &self.profile;
        entries! {
            [liquid]
                Temperature temperature,
                Pressure absolute_pressure,
                Salinity salinity,
                MassFraction mass_fraction,
                DensityFactor density_formulation,
                ViscosityFactor viscosity_formulation,
                SoundSpeedFactor sound_speed_formulation,
                LiquidSoundSpeed sound_speed,
                KinematicViscosity kinematic_viscosity,
            [pipe]
                OutsideCircumference outside_circumference,
                OutsideDiameter outside_diameter,
                Ovality ovality,
                OvalityAlongPath ovality_along_path,
                Wall wall,
                WallSoundSpeed wall_sound_speed,
                WallSoundSpeedPerKelvin wall_sound_speed_per_kelvin,
                Liner liner,
                LinerSoundSpeed liner_sound_speed,
                Roughness roughness,
                SurveyTemperature survey_temperature,
                WallTemperature wall_temperature,
                Expansion expansion,
                SurveyPressure survey_absolute_pressure,
                YoungsModulus youngs_modulus,
                PoissonRatio poisson_ratio,
            [path]
                WedgeAngle wedge_angle,
                WedgeSoundSpeed wedge_sound_speed,
                WedgeSoundSpeedPerKelvin wedge_sound_speed_per_kelvin,
                WedgeTemperature wedge_temperature,
                WedgeReferenceTemperature wedge_reference_temperature,
                Spacing spacing,
                Couplant couplant,
                CouplantSoundSpeed couplant_sound_speed,
                ChordOffset chord_offset,
                Misplacement circumferential_misplacement,
            [meter]
                CalibrationFactor calibration_factor,
                ZeroTimeDifference zero_time_difference,
                ZeroVelocity zero_velocity,
                ElectronicsDelay electronics_delay,
                CableDelay cable_delay,
                CableLength cable_length,
                CableDelayPerLength cable_delay_per_length,
                WedgeDelay wedge_delay,
            [profile]
                LawFactor law_factor,
            [installation]
                InstallationFactor factor,
                RemountingFactor remounting,
        }
    }
}

/// The line, counted from 1, in which the byte at `offset` stands.
pub(crate) fn line_of(text: &str, offset: usize) -> usize {
    let before = text.as_bytes().iter().take(offset);
    1 + before.filter(|byte| **byte == b'\n').count()
}
