//! The file of instruments: TOML sections as they are written.

use crate::model::Basis;
use crate::site::file::DampingSection;
use crate::site::{Stated, fit_to_show};
use serde::{Deserialize, Serialize};
use toml::Spanned;

type Entry = Option<Spanned<Stated>>;
type Text = Option<Spanned<String>>;
/// The lowest and the highest, as text with units.
type Between = Option<Spanned<[String; 2]>>;

/// A whole file of instruments.
#[derive(Debug, Clone, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct InstrumentsFile {
    /// Whose they are, or where they lie.
    #[serde(default, deserialize_with = "fit_to_show")]
    pub name: String,
    /// Remarks in words.
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    /// Pairs of sensors.
    #[serde(default)]
    pub sensors: Vec<Spanned<SensorsSection>>,
    /// Electronics of a meter.
    #[serde(default)]
    pub electronics: Vec<Spanned<ElectronicsSection>>,
    /// Pairs of cables.
    #[serde(default)]
    pub cables: Vec<Spanned<CablesSection>>,
    /// What carries the sound from sensor to wall.
    #[serde(default)]
    pub couplant: Vec<Spanned<CouplantSection>>,
    /// What holds the sensors.
    #[serde(default)]
    pub mounting: Vec<Spanned<MountingSection>>,
    /// What surveys and prepares the pipe.
    #[serde(default)]
    pub tool: Vec<Spanned<ToolSection>>,
    /// Calibration certificates.
    #[serde(default)]
    pub certificate: Vec<Spanned<CertificateSection>>,
}

/// Table `[[sensors]]`: a pair of them, with its wedges.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct SensorsSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub serial_number: String,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    /// What a day with it costs, in whatever its owner counts.
    pub cost: Option<Spanned<f64>>,
    /// Frequency of the carrier.
    pub frequency: Text,
    /// Angle of the ray in the wedge.
    pub wedge_angle: Entry,
    /// Sound speed of the wedge.
    pub wedge_sound_speed: Entry,
    /// Its change with temperature.
    pub wedge_sound_speed_per_kelvin: Entry,
    /// The temperature to which it belongs.
    pub wedge_reference_temperature: Entry,
    /// Delay in the wedges, both together.
    pub wedge_delay: Entry,
    /// Whether that delay was measured with the couplant.
    pub wedge_delay_covers_couplant: Option<Spanned<bool>>,
    /// Width of the beam across pipe and path.
    pub beam_width: Entry,
    /// Length of one sensor along the pipe.
    pub length: Text,
    /// Width of one sensor round the pipe.
    pub width: Text,
    /// Outside diameters of the pipes it is made for.
    pub outside_diameter: Between,
    /// Thicknesses of the walls it is made for.
    pub wall: Between,
    /// Materials of the walls it is made for.
    #[serde(default)]
    pub wall_materials: Vec<Spanned<String>>,
    /// Temperatures of the surface that it stands.
    pub temperature: Between,
}

/// Table `[[electronics]]`: what makes times of the signals.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ElectronicsSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub serial_number: String,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    pub cost: Option<Spanned<f64>>,
    /// Delay in the electronics.
    pub delay: Entry,
    /// True time over the time that it tells.
    pub time_base: Entry,
    /// One step of the time difference that it shows.
    pub resolution: Text,
    /// How it damps its readings in time.
    pub damping: Option<Spanned<DampingSection>>,
    /// Frequencies of the sensors that it drives.
    pub frequency: Between,
    /// On which bases it can be read.
    #[serde(default)]
    pub reads: Vec<Basis>,
    /// What feeds it, in words.
    #[serde(default, deserialize_with = "fit_to_show")]
    pub supply: String,
    /// What it puts out, in words.
    #[serde(default)]
    pub outputs: Vec<String>,
}

/// Table `[[cables]]`: a pair from the sensors to the electronics.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CablesSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub serial_number: String,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    pub cost: Option<Spanned<f64>>,
    /// Length of one of them.
    pub length: Spanned<String>,
    /// Delay of both together, where it was measured.
    pub delay: Entry,
    /// Delay for a length, where it was not.
    pub delay_per_length: Entry,
    /// Temperatures that they stand.
    pub temperature: Between,
}

/// Table `[[couplant]]`: gel, grease or a dry pad.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CouplantSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    pub cost: Option<Spanned<f64>>,
    /// Whether it is a dry pad, and no gel or grease.
    #[serde(default)]
    pub dry: bool,
    /// Temperatures of the surface that it stands.
    pub temperature: Between,
    /// How long it carries sound before it dries out.
    pub lasts: Text,
    /// Thickness under one sensor.
    pub thickness: Entry,
    /// Sound speed.
    pub sound_speed: Entry,
}

/// What holds sensors on a pipe, by what it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Holding {
    /// A rail, on which both sensors sit in line.
    Rail,
    /// A pair of frames, one for each sensor.
    Frames,
    /// A bar of known length between two frames.
    Bar,
    /// A strap or chain round the pipe.
    Strap,
}

/// Table `[[mounting]]`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct MountingSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    pub cost: Option<Spanned<f64>>,
    /// What it is.
    pub kind: Holding,
    /// Spacings of the exit points at which a rail or a bar holds the sensors.
    pub spacing: Between,
    /// Length of a strap.
    pub length: Text,
    /// How many there are of it; one where it is not stated.
    pub number: Option<Spanned<u32>>,
    /// Outside diameters of the pipes that it takes.
    pub outside_diameter: Between,
    /// Temperatures of the surface that it stands.
    pub temperature: Between,
}

/// What a tool is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Purpose {
    /// Taking off paint, rust and dirt where the sensors sit.
    CleanSurface,
    /// The outside circumference.
    Circumference,
    /// The wall thickness.
    WallThickness,
    /// The temperature of wall or liquid.
    Temperature,
    /// The spacing of the sensors and the straight run.
    Distance,
    /// Marks on the pipe.
    Marking,
    /// A sheet round the pipe, whose fold is half the circumference.
    WrapSheet,
    /// Keeping the readings.
    Logging,
}

/// Table `[[tool]]`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct ToolSection {
    pub name: Spanned<String>,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub serial_number: String,
    #[serde(default, deserialize_with = "fit_to_show")]
    pub note: String,
    pub cost: Option<Spanned<f64>>,
    /// What it is for.
    pub purpose: Vec<Purpose>,
    /// Length of a tape or a sheet.
    pub length: Text,
    /// Temperatures of the surface that it stands.
    pub temperature: Between,
}

/// Table `[[certificate]]`.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct CertificateSection {
    /// Its number.
    pub number: Spanned<String>,
    /// The names of what was calibrated: together, where there are several.
    pub of: Spanned<Vec<String>>,
    /// The day of the calibration.
    pub date: Spanned<String>,
    /// The day by which the next one is due.
    pub due: Text,
    /// What was calibrated, and over which range, in words.
    #[serde(default, deserialize_with = "fit_to_show")]
    pub scope: String,
    /// The calibration factor that was found.
    pub calibration_factor: Entry,
    /// The smallest and the largest Reynolds number of the calibration.
    pub reynolds: Option<Spanned<[f64; 2]>>,
}

/// Section `[instruments]` of a site file: what of them the site uses, by name.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct InstrumentsUsed {
    /// The file in which they are described.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub file: Option<String>,
    /// The pair of sensors.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sensors: Option<String>,
    /// The electronics.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub electronics: Option<String>,
    /// The pair of cables.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cables: Option<String>,
    /// The couplant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub couplant: Option<String>,
    /// What holds the sensors.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub mounting: Vec<String>,
    /// Where what they state was taken from, once it stands in the file.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_from: Option<String>,
}
