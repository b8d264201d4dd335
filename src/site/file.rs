//! The site file: TOML sections as they are written.

use super::laid_out::with_example;
use super::readings_section::ReadingsSection;
use super::section::{Section, SectionKeys};
use super::syntax::parse_sections;
use super::{InSituSection, Instrument, InstrumentsUsed, Stated, StatedCorrelation};
use crate::error::{Error, Result};
use crate::line_numbers::Lines;
use crate::model::{AngleFrom, Basis, Covered, Principle, Quantity};
use crate::pipe::Ends;
use crate::text::shown;
use serde::{Deserialize, Serialize};
use std::path::Path;
use std::sync::Arc;
use toml::Spanned;

type Entry = Option<Spanned<Stated>>;

/// A whole site file.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SiteFile {
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
    /// What a verification on this pipe found, put back.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_situ_calibration: Option<Spanned<InSituSection>>,
    /// How the files of readings are written.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub readings: Option<ReadingsSection>,
    /// What it uses of a file of instruments.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instruments: Option<Spanned<InstrumentsUsed>>,
}

/// Section `[site]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SiteSection {
    /// The name of the site.
    #[serde(deserialize_with = "crate::site::fit_to_show")]
    pub name: String,
    /// Remarks in words.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
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

/// The keys of `[liquid]` besides those of quantities.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LiquidKeys {
    /// `water`, `sea water`, `ethylene glycol`, `propylene glycol`, `tabulated`, or `stated` for a
    /// liquid whose properties are stated here.
    pub kind: Spanned<String>,
    /// Uncertainty of the thermometer with which temperature is read, a correction of zero.
    pub thermometer: Option<Spanned<Instrument>>,
    /// The table of a tabulated liquid.
    pub table: Option<Spanned<TableSection>>,
    /// Vapour pressure of a tabulated or stated liquid, for the warning of boiling.
    pub vapour_pressure: Option<Spanned<String>>,
    /// Difference of temperature between top and bottom of the pipe, for the warning of layers.
    pub temperature_difference: Option<Spanned<String>>,
}

impl SectionKeys for LiquidKeys {
    const SECTION: &'static str = "liquid";
}

/// Section `[liquid]`.
pub type LiquidSection = Section<LiquidKeys>;

/// Section `[liquid.table]`: properties row by row, as text with units.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TableSection {
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
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub evidence: String,
}

/// The keys of `[pipe]` besides those of quantities.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PipeKeys {
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
    /// Material of the liner, for its sound speed.
    pub liner_material: Option<Spanned<String>>,
    /// The wave in the liner, for a material; longitudinal where it is not stated.
    pub liner_wave: Option<Spanned<Wave>>,
    /// Further layers, from outside to inside: paint or rust outside the wall, a second liner, scale or
    /// deposit inside.
    #[serde(default)]
    pub layer: Vec<Spanned<LayerSection>>,
    /// How the ends of the pipe take the thrust of the pressure.
    pub ends: Option<Spanned<Ends>>,
}

impl SectionKeys for PipeKeys {
    const SECTION: &'static str = "pipe";
}

/// Section `[pipe]`.
pub type PipeSection = Section<PipeKeys>;

/// The kind of wave in a solid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Wave {
    /// Across the direction of travel.
    Shear,
    /// Along the direction of travel.
    Longitudinal,
}

/// A side of the wall.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub(crate) enum Side {
    /// Between wall and liquid.
    #[default]
    Inside,
    /// On the wall.
    Outside,
}

/// A dimension that can be measured over a layer on the wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(crate) enum MeasuredOver {
    /// Outside circumference or diameter.
    OutsideDimension,
    /// Wall thickness, by a gauge that takes the time in the layer for wall.
    Wall,
}

/// Table `[[pipe.layer]]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct LayerSection {
    /// What it is, in words.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub name: String,
    /// The side of the wall on which it lies; inside, where it is not stated.
    pub side: Option<Spanned<Side>>,
    /// Outside the wall: the dimensions that were measured with the layer in between.
    pub measured_over: Option<Spanned<Vec<MeasuredOver>>>,
    /// Outside the wall: whether it stays under the sensors.
    pub under_sensors: Option<Spanned<bool>>,
    /// Thickness.
    pub thickness: Spanned<Stated>,
    /// Sound speed of the wave.
    pub sound_speed: Entry,
    /// Material, for the sound speed.
    pub material: Option<Spanned<String>>,
    /// The wave, for a material; longitudinal where it is not stated.
    pub wave: Option<Spanned<Wave>>,
}

/// The keys of `[path]` besides those of quantities.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct PathKeys {
    /// What is read from the meter and how velocity follows.
    pub basis: Spanned<Basis>,
    /// Number of crossings of the liquid.
    pub traverses: Spanned<u32>,
    /// What determines the angle of the ray: `wedge` or `spacing`.
    pub angle_from: Option<Spanned<AngleFrom>>,
    /// Length of one sensor along the pipe, for the warnings of overlap and drift.
    pub sensor_length: Option<Spanned<String>>,
    /// Frequency of the carrier, for the warning of skipped periods.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frequency: Option<Spanned<String>>,
}

impl SectionKeys for PathKeys {
    const SECTION: &'static str = "path";
}

/// Section `[path]`.
pub type PathSection = Section<PathKeys>;

/// The keys of `[meter]` besides those of quantities.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct MeterKeys {
    /// What the calibration of `calibration_factor` covers: its uncertainty is then in that of the
    /// factor, and counts nowhere else.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration_covers: Option<Spanned<Vec<Covered>>>,
    /// The smallest and the largest Reynolds number of that calibration.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub calibration_reynolds: Option<Spanned<[f64; 2]>>,
    /// Whether `wedge_delay` was measured with the couplant, as it usually is; `false` lets
    /// `path.couplant` stand beside it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub wedge_delay_covers_couplant: Option<Spanned<bool>>,
    /// What was programmed into the meter.
    pub programmed: Option<Spanned<ProgrammedSection>>,
    /// How the meter damps its readings in time.
    pub damping: Option<Spanned<DampingSection>>,
    /// One step of the time difference that the meter shows, for what a plan expects of readings.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub resolution: Option<Spanned<String>>,
    /// Time from reading to reading, where readings have no times.
    pub sampling_interval: Option<Spanned<String>>,
    /// What the mean of the readings stands for: `steady flow` or `period`.
    pub mean_of: Option<Spanned<MeanOf>>,
}

impl SectionKeys for MeterKeys {
    const SECTION: &'static str = "meter";
}

/// Section `[meter]`.
pub type MeterSection = Section<MeterKeys>;

/// Table `meter.damping`: one of its keys.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DampingSection {
    /// Time constant of a lag of first order.
    pub time_constant: Option<Spanned<String>>,
    /// Length of a moving window of which the meter shows the mean.
    pub window: Option<Spanned<String>>,
}

/// What the mean of readings stands for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub(crate) enum MeanOf {
    /// A flow that is steady: all that moves readings is noise. The default.
    #[default]
    #[serde(rename = "steady flow")]
    SteadyFlow,
    /// The period in which they were taken: the course of the flow is not noise.
    #[serde(rename = "period")]
    Period,
}

/// Section `[meter.programmed]`: exact, since they are what the meter computed with.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProgrammedSection {
    /// How the meter finds the velocity, `timed` or `geometric`; both are allowed for where it is not
    /// stated.
    pub principle: Option<Spanned<Principle>>,
    /// Inside diameter; not needed where the meter indicates velocity.
    pub inside_diameter: Option<Spanned<String>>,
    /// Profile factor that the meter applied; 1 where it shows the path velocity. Where it is not
    /// stated, anything from none to the full correction is allowed for.
    pub profile_factor: Option<Spanned<f64>>,
    /// Sound speed of the liquid.
    pub liquid_sound_speed: Option<Spanned<String>>,
    /// Wall thickness.
    pub wall: Option<Spanned<String>>,
    /// Sound speed of the wall.
    pub wall_sound_speed: Option<Spanned<String>>,
    /// Liner thickness.
    pub liner: Option<Spanned<String>>,
    /// Sound speed of the liner.
    pub liner_sound_speed: Option<Spanned<String>>,
    /// Kinematic viscosity from which the meter found its own profile factor.
    pub kinematic_viscosity: Option<Spanned<String>>,
    /// Roughness from which it found it.
    pub roughness: Option<Spanned<String>>,
    /// Angle in the wedge.
    pub wedge_angle: Option<Spanned<String>>,
    /// Sound speed of the wedge.
    pub wedge_sound_speed: Option<Spanned<String>>,
    /// Volume flow at 4 mA of a current output.
    #[serde(rename = "flow_at_4_mA", skip_serializing_if = "Option::is_none")]
    pub flow_at_4_ma: Option<Spanned<String>>,
    /// Volume flow at 20 mA.
    #[serde(rename = "flow_at_20_mA", skip_serializing_if = "Option::is_none")]
    pub flow_at_20_ma: Option<Spanned<String>>,
    /// Volume of one pulse of a pulse output.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pulse_value: Option<Spanned<String>>,
    /// Volume of one step of the last digit of the totaliser.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub totaliser_resolution: Option<Spanned<String>>,
    /// Number of digits of counter or totaliser, after the last of which it begins anew at 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub counter_digits: Option<Spanned<u32>>,
}

/// The keys of `[profile]` besides those of quantities.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ProfileKeys {
    /// Name of the profile law.
    pub law: Option<Spanned<String>>,
    /// Name of the friction law.
    pub friction: Option<Spanned<String>>,
    /// Von Karman's constant of the logarithmic law.
    pub kappa: Option<Spanned<f64>>,
    /// The fixed `n` of the power law.
    pub n: Option<Spanned<f64>>,
    /// Straight pipe upstream over which the profile develops: a length, or inside diameters as in
    /// `60 D`. It counts in laminar flow.
    pub inlet_run: Option<Spanned<String>>,
}

impl SectionKeys for ProfileKeys {
    const SECTION: &'static str = "profile";
}

/// Section `[profile]`.
pub type ProfileSection = Section<ProfileKeys>;

/// The keys of `[installation]` besides those of quantities.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct InstallationKeys {
    /// Name of the fitting nearest upstream, from which the factor is derived.
    pub fitting: Option<Spanned<String>>,
    /// From the end of the fitting to the middle of the path: a length, or inside diameters as in
    /// `8 D`.
    pub straight_run: Entry,
    /// Angle between the path plane and the plane of the bend.
    pub orientation: Entry,
    /// Number of planes at right angles whose mean is read: 1 or 2.
    pub planes: Option<Spanned<u32>>,
}

impl SectionKeys for InstallationKeys {
    const SECTION: &'static str = "installation";
}

/// Section `[installation]`.
pub type InstallationSection = Section<InstallationKeys>;

/// Table `[[correlation]]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct CorrelationSection {
    /// The names of two inputs.
    pub between: Spanned<[String; 2]>,
    /// Their correlation coefficient.
    pub coefficient: Spanned<f64>,
    /// Where it comes from, in words.
    #[serde(default, deserialize_with = "crate::site::fit_to_show")]
    pub evidence: String,
}

impl CorrelationSection {
    /// The correlation, from the lines of the file in which the section stands.
    pub(crate) fn stated(&self, lines: &Lines, file: &Path) -> Result<StatedCorrelation> {
        let coefficient = *self.coefficient.get_ref();
        let inside = (-1.0..=1.0).contains(&coefficient);
        let field = "correlation.coefficient";
        Error::range(inside, field, coefficient, "", "-1 to 1")
            .map_err(|e| e.in_file(file, lines.at(self.coefficient.span().start)))?;
        let [a, b] = self
            .between
            .get_ref()
            .each_ref()
            .map(|name| shown(name).into_owned());
        Ok(StatedCorrelation {
            pair: (a, b, coefficient),
            line: lines.at(self.between.span().start),
        })
    }
}

impl SiteFile {
    /// Reads the sections; `file` is the name used in errors.
    ///
    /// # Errors
    /// What is not TOML, an unknown key, a missing section or key, a value of the wrong kind.
    pub fn parse(text: &str, file: &Path) -> Result<SiteFile> {
        parse_sections(text, file, "site file").map_err(with_example)
    }

    /// The file that states these sections.
    ///
    /// # Errors
    /// None for sections that were read from one.
    pub(super) fn to_text(&self) -> Result<Arc<str>> {
        let text = toml::to_string(self).map_err(|e| Error::Syntax {
            format: "site file",
            reason: e.to_string(),
        })?;
        Ok(text.into())
    }

    /// What the file states of quantities, section by section, but of those of layers.
    pub(super) fn stated(&self) -> impl Iterator<Item = (Quantity, &Spanned<Stated>)> {
        let (liquid, pipe, path) = (&self.liquid, &self.pipe, &self.path);
        let of_place = liquid.get_ref().stated().chain(pipe.get_ref().stated());
        of_place
            .chain(path.get_ref().stated())
            .chain(self.meter.stated())
            .chain(self.profile.stated())
            .chain(self.installation.stated())
    }

    /// What the file states of one quantity.
    pub(super) fn entry(&self, q: Quantity) -> Option<&Spanned<Stated>> {
        let mut stated = self.stated();
        stated.find_map(|(own, entry)| (own == q).then_some(entry))
    }
}
