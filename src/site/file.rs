//! The site file: TOML sections as they are written.

use super::{Basis, Instrument, Quantity, Stated};
use crate::error::{Error, Result, nearest};
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
    /// `water`, or `stated` for a liquid whose properties are stated here.
    pub kind: Spanned<String>,
    /// Temperature, where the readings have none.
    pub temperature: Entry,
    /// Doubt of the thermometer with which temperature is read, a correction of zero.
    pub thermometer: Option<Spanned<Instrument>>,
    /// Absolute pressure.
    pub absolute_pressure: Entry,
    /// Density of water over that of the formulation; the default is one, with the
    /// formulation's own uncertainty.
    pub density_formulation: Entry,
    /// Viscosity of water over that of the formulation.
    pub viscosity_formulation: Entry,
    /// Sound speed of water over that of the formulation.
    pub sound_speed_formulation: Entry,
    /// Sound speed of a stated liquid.
    pub sound_speed: Entry,
    /// Kinematic viscosity of a stated liquid.
    pub kinematic_viscosity: Entry,
}

/// Section `[pipe]`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PipeSection {
    /// Outside circumference by tape.
    pub outside_circumference: Entry,
    /// Outside diameter by calliper or from a table.
    pub outside_diameter: Entry,
    /// Wall thickness.
    pub wall: Entry,
    /// Sound speed of the wave in the wall.
    pub wall_sound_speed: Entry,
    /// Liner thickness.
    pub liner: Entry,
    /// Sound speed of the wave in the liner.
    pub liner_sound_speed: Entry,
    /// Equivalent sand roughness.
    pub roughness: Entry,
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

impl SiteFile {
    /// Reads the sections; `file` is the name used in errors.
    ///
    /// # Errors
    /// What is not TOML, an unknown key, a missing section or key, a value of the wrong kind.
    pub fn parse(text: &str, file: &Path) -> Result<SiteFile> {
        toml::from_str(text).map_err(|error| {
            let line = error.span().map_or(1, |span| line_of(text, span.start));
            in_own_words(error).in_file(file, line)
        })
    }

    /// The quantities that a file can state, with what it says of them.
    pub(super) fn stated(&self) -> [(Quantity, &Entry); 25] {
        let (liquid, pipe, meter) = (self.liquid.get_ref(), self.pipe.get_ref(), &self.meter);
        let path = self.path.get_ref();
        [
            (Quantity::CalibrationFactor, &meter.calibration_factor),
            (Quantity::LawFactor, &self.profile.law_factor),
            (Quantity::Roughness, &pipe.roughness),
            (Quantity::Temperature, &liquid.temperature),
            (Quantity::Pressure, &liquid.absolute_pressure),
            (Quantity::DensityFactor, &liquid.density_formulation),
            (Quantity::ViscosityFactor, &liquid.viscosity_formulation),
            (Quantity::KinematicViscosity, &liquid.kinematic_viscosity),
            (Quantity::OutsideCircumference, &pipe.outside_circumference),
            (Quantity::OutsideDiameter, &pipe.outside_diameter),
            (Quantity::Wall, &pipe.wall),
            (Quantity::Liner, &pipe.liner),
            (Quantity::WedgeAngle, &path.wedge_angle),
            (Quantity::WedgeSoundSpeed, &path.wedge_sound_speed),
            (Quantity::SoundSpeedFactor, &liquid.sound_speed_formulation),
            (Quantity::LiquidSoundSpeed, &liquid.sound_speed),
            (Quantity::ZeroTimeDifference, &meter.zero_time_difference),
            (Quantity::ZeroVelocity, &meter.zero_velocity),
            (Quantity::ElectronicsDelay, &meter.electronics_delay),
            (Quantity::CableDelay, &meter.cable_delay),
            (Quantity::WedgeDelay, &meter.wedge_delay),
            (Quantity::WallSoundSpeed, &pipe.wall_sound_speed),
            (Quantity::LinerSoundSpeed, &pipe.liner_sound_speed),
            (Quantity::InstallationFactor, &self.installation.factor),
            (Quantity::RemountingFactor, &self.installation.remounting),
        ]
    }
}

/// The line, counted from 1, in which the byte at `offset` stands.
pub(crate) fn line_of(text: &str, offset: usize) -> usize {
    let before = text.as_bytes().iter().take(offset);
    1 + before.filter(|byte| **byte == b'\n').count()
}

/// Turns an error of the parser into a typed one. Its wording for what does not fit is part of
/// serde's documented trait defaults.
fn in_own_words(error: toml::de::Error) -> Error {
    let message = error.message().to_owned();
    let keys = keys_of(error);
    let below = |key: &str| match keys.as_str() {
        "" => key.to_owned(),
        keys => format!("{keys}.{key}"),
    };
    let mut quoted = message.split('`').skip(1).step_by(2).map(str::to_owned);
    if message.starts_with("invalid ")
        && let Some((found, allowed)) = message.split_once(", expected ")
    {
        // "invalid type: string "two"", but "invalid length 1"
        let found = found.split_once(": ").map_or(found, |(_, found)| found);
        let found = found.trim_start_matches("invalid ");
        return Error::WrongType {
            field: keys,
            found: found.to_owned(),
            allowed: type_in_words(allowed).to_owned(),
        };
    }
    match quoted.next() {
        Some(key) if message.starts_with("unknown field") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownKey {
                field: below(&key),
                nearest: nearest(&key, allowed.iter().map(String::as_str)),
                allowed,
            }
        }
        Some(key) if message.starts_with("missing field") => Error::Missing {
            field: below(&key),
            needed: format!("a section or key `{key}` here"),
        },
        Some(found) if message.starts_with("unknown variant") => {
            let allowed: Vec<String> = quoted.collect();
            Error::UnknownName {
                field: keys,
                nearest: nearest(&found, allowed.iter().map(String::as_str)),
                found,
                allowed,
            }
        }
        _ => Error::Syntax {
            format: "site file",
            reason: message,
        },
    }
}

/// The keys that lead to the place of an error, such as `pipe.wall`; empty at the top.
fn keys_of(mut error: toml::de::Error) -> String {
    // without the text of the file the parser names the keys instead of quoting the line
    error.set_input(None);
    let shown = error.to_string();
    let last = shown.lines().next_back().unwrap_or_default();
    let keys = last.strip_prefix("in `").and_then(|l| l.strip_suffix('`'));
    keys.unwrap_or_default().to_owned()
}

/// What serde expects, for people who do not program.
fn type_in_words(expected: &str) -> &str {
    match expected {
        "a string" => "text in quotation marks",
        "f64" => "a number without a unit",
        "u32" => "a whole number, 0 or above",
        other => other,
    }
}
