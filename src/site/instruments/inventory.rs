//! What a file of instruments describes, read and checked.

use super::Limits;
use super::file::{Holding, Purpose};
use crate::model::{Basis, Quantity};
use crate::site::Stated;
use crate::site::file::DampingSection;
use jiff::civil::Date;
use std::path::PathBuf;

/// What a site file states of quantities when it uses something.
pub(crate) type Stating = Vec<(Quantity, Stated)>;

/// Instruments, sensors and what belongs to them, as their file describes them.
///
/// # Example
/// ```
/// use flowdoubt::site::Inventory;
/// let text = r#"
/// [[sensors]]
/// name = "wide pair"
/// wedge_angle = { value = "38 deg", half_width = "0.5 deg", shape = "rectangular" }
/// wedge_sound_speed = { value = "2430 m/s", half_width = "15 m/s", shape = "rectangular" }
/// wall = ["4 mm", "20 mm"]
/// "#;
/// let inventory = Inventory::from_toml(text, "instruments.toml")?;
/// assert!(inventory.sensors[0].wall.as_ref().is_some_and(|wall| wall.contain(0.008)));
/// # Ok::<(), flowdoubt::Error>(())
/// ```
#[derive(Debug, Clone, PartialEq, Default)]
#[non_exhaustive]
pub struct Inventory {
    /// Whose they are, or where they lie.
    pub name: String,
    /// Remarks in words.
    pub note: String,
    /// Pairs of sensors.
    pub sensors: Vec<Sensors>,
    /// Electronics.
    pub electronics: Vec<Electronics>,
    /// Pairs of cables.
    pub cables: Vec<Cables>,
    /// Couplants and dry pads.
    pub couplants: Vec<Couplant>,
    /// What holds the sensors.
    pub mountings: Vec<Mounting>,
    /// Tools.
    pub tools: Vec<Tool>,
    /// Calibration certificates.
    pub certificates: Vec<CalibrationCertificate>,
    /// The file as named by the user.
    pub(crate) file: PathBuf,
    /// SHA-256 of its text.
    pub(crate) digest: String,
}

/// What every thing has.
#[derive(Debug, Clone, PartialEq, Default)]
#[non_exhaustive]
pub struct Thing {
    /// Its name, no two alike in a file.
    pub name: String,
    /// Its serial number; empty where none is stated.
    pub serial_number: String,
    /// Remarks in words.
    pub note: String,
    /// What a day with it costs, in whatever its owner counts.
    pub cost: Option<f64>,
}

impl Thing {
    /// Name and serial number.
    pub fn in_words(&self) -> String {
        match self.serial_number.as_str() {
            "" => self.name.clone(),
            number => format!("{}, serial number {number}", self.name),
        }
    }
}

/// A pair of sensors with its wedges. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Sensors {
    /// Name, serial number, remarks.
    pub thing: Thing,
    /// Frequency of the carrier, in Hz.
    pub frequency: Option<f64>,
    /// Length of one sensor along the pipe, in m.
    pub length: Option<f64>,
    /// Width of one sensor round the pipe, in m.
    pub width: Option<f64>,
    /// Outside diameters of the pipes it is made for, in m.
    pub outside_diameter: Option<Limits>,
    /// Thicknesses of the walls it is made for, in m.
    pub wall: Option<Limits>,
    /// Materials of the walls it is made for; any, where none is named.
    pub wall_materials: Vec<String>,
    /// Temperatures of the surface that it stands, in K.
    pub temperature: Option<Limits>,
    /// Whether the delay of the wedges was measured with the couplant.
    pub(crate) delay_covers_couplant: Option<bool>,
    /// The frequency as it is written.
    pub(crate) frequency_text: Option<String>,
    /// The length as it is written.
    pub(crate) length_text: Option<String>,
    pub(crate) stating: Stating,
}

/// Electronics of a meter. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Electronics {
    /// Name, serial number, remarks.
    pub thing: Thing,
    /// One step of the time difference that it shows, in s.
    pub resolution: Option<f64>,
    /// Frequencies of the sensors that it drives, in Hz.
    pub frequency: Option<Limits>,
    /// On which bases it can be read; any, where none is named.
    pub reads: Vec<Basis>,
    /// What feeds it, in words.
    pub supply: String,
    /// What it puts out, in words.
    pub outputs: Vec<String>,
    /// The resolution as it is written.
    pub(crate) resolution_text: Option<String>,
    pub(crate) damping: Option<DampingSection>,
    pub(crate) stating: Stating,
}

/// A pair of cables from the sensors to the electronics. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Cables {
    /// Name, serial number, remarks.
    pub thing: Thing,
    /// Length of one of them, in m.
    pub length: f64,
    /// Delay of both together, in s: measured, or their length times the delay for it.
    pub delay: f64,
    /// Temperatures that they stand, in K.
    pub temperature: Option<Limits>,
    pub(crate) stating: Stating,
}

/// Gel, grease or a dry pad. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Couplant {
    /// Name and remarks.
    pub thing: Thing,
    /// Whether it is a dry pad.
    pub dry: bool,
    /// Temperatures of the surface that it stands, in K.
    pub temperature: Option<Limits>,
    /// How long it carries sound, in s.
    pub lasts: Option<f64>,
    pub(crate) stating: Stating,
}

/// What holds sensors on a pipe. Numbers are in SI units.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Mounting {
    /// Name and remarks.
    pub thing: Thing,
    /// What it is.
    pub kind: Holding,
    /// Spacings of the exit points at which it holds the sensors, in m.
    pub spacing: Option<Limits>,
    /// Length of a strap, in m.
    pub length: Option<f64>,
    /// How many there are of it.
    pub number: u32,
    /// Outside diameters of the pipes that it takes, in m.
    pub outside_diameter: Option<Limits>,
    /// Temperatures of the surface that it stands, in K.
    pub temperature: Option<Limits>,
}

/// What surveys and prepares the pipe.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Tool {
    /// Name, serial number, remarks.
    pub thing: Thing,
    /// What it is for.
    pub purpose: Vec<Purpose>,
    /// Length of a tape or a sheet, in m.
    pub length: Option<f64>,
    /// Temperatures of the surface that it stands, in K.
    pub temperature: Option<Limits>,
}

/// A calibration certificate.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct CalibrationCertificate {
    /// Its number.
    pub number: String,
    /// The names of what was calibrated: together, where there are several.
    pub of: Vec<String>,
    /// The day of the calibration.
    pub date: Date,
    /// The day by which the next one is due.
    pub due: Option<Date>,
    /// What was calibrated, and over which range, in words.
    pub scope: String,
    /// The smallest and the largest Reynolds number of the calibration.
    pub reynolds: Option<[f64; 2]>,
    /// The calibration factor that was found.
    pub(crate) calibration_factor: Option<Stated>,
}

impl CalibrationCertificate {
    /// Number and date, with the scope where it is stated.
    pub fn in_words(&self) -> String {
        let scope = match self.scope.as_str() {
            "" => String::new(),
            scope => format!(", {scope}"),
        };
        format!("certificate {} of {}{scope}", self.number, self.date)
    }
}

impl Holding {
    /// What it is, in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Holding::Rail => "rail",
            Holding::Frames => "pair of frames",
            Holding::Bar => "spacer bar",
            Holding::Strap => "strap",
        }
    }
}

impl Purpose {
    /// What it is, in words.
    pub fn in_words(self) -> &'static str {
        match self {
            Purpose::CleanSurface => "cleaning the surface",
            Purpose::Circumference => "outside circumference",
            Purpose::WallThickness => "wall thickness",
            Purpose::Temperature => "temperature",
            Purpose::Distance => "spacing and straight run",
            Purpose::Marking => "marks on the pipe",
            Purpose::WrapSheet => "sheet round the pipe",
            Purpose::Logging => "keeping the readings",
        }
    }
}

impl Inventory {
    /// Everything that has a name, in the order of the file's sections, with the word for its kind.
    pub fn things(&self) -> impl Iterator<Item = (&'static str, &Thing)> {
        let sensors = self.sensors.iter().map(|s| ("sensors", &s.thing));
        let electronics = self.electronics.iter().map(|e| ("electronics", &e.thing));
        let cables = self.cables.iter().map(|c| ("cables", &c.thing));
        let couplants = self.couplants.iter().map(|c| ("couplant", &c.thing));
        let mountings = self.mountings.iter().map(|m| ("mounting", &m.thing));
        let tools = self.tools.iter().map(|t| ("tool", &t.thing));
        sensors
            .chain(electronics)
            .chain(cables)
            .chain(couplants)
            .chain(mountings)
            .chain(tools)
    }

    /// The name of its file, without folders.
    pub fn file_name(&self) -> String {
        crate::error::file_name(&self.file)
    }

    /// SHA-256 of the text of its file, in hexadecimal digits.
    pub fn digest(&self) -> &str {
        &self.digest
    }
}
