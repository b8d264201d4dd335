//! A site: pipe, liquid, sound path, meter and installation, with the uncertainty of each.

mod builder;
mod calibration;
mod certificate;
mod changed_site;
mod description;
mod fields;
mod file;
mod in_situ;
mod installation;
mod instruments;
mod key_position;
mod keys_without_effect;
mod laid_out;
mod layers;
mod liquids;
mod programmed;
mod readings_section;
mod restated;
mod section;
mod standards_and_materials;
mod starter;
mod stated_quantity;
mod syntax;

pub use changed_site::Change;
pub use description::StatedLine;
pub use fields::{Field, Part};
pub(crate) use file::{CorrelationSection, MeanOf, SiteFile};
pub(crate) use in_situ::InSitu;
use in_situ::InSituSection;
pub(crate) use installation::{InletRun, UpstreamFitting};
pub(crate) use instruments::InstrumentsUsed;
pub use instruments::{
    Cables, CalibrationCertificate, Chosen, Couplant, Electronics, Holding, Inventory, Limits,
    Mounting, Purpose, Selection, Sensors, Thing, Tool,
};
pub use restated::Restated;
pub(crate) use standards_and_materials::{OtherWave, WEDGE_SLOPE};
pub(crate) use stated_quantity::{Instrument, Stated};
pub(crate) use stated_quantity::{Subject, read_stated};
pub(crate) use syntax::{fit_to_show, fit_to_show_at, parse_sections};

use crate::error::{Result, file_name};
use crate::files::{Kind, read_text};
use crate::line_numbers::Lines;
use crate::model::{Quantity, SiteModel};
use crate::table::TableOptions;
use crate::uncertainty::{Damping, Input};
use crate::units::Unit;
use builder::Builder;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A site as described by its file: read, checked and ready to evaluate readings.
#[derive(Debug, Clone)]
pub struct Site {
    /// The name of the site.
    pub name: String,
    /// Remarks in words.
    pub note: String,
    /// The coverage probability at which expanded uncertainties are stated.
    pub coverage_probability: f64,
    /// The unit in which the volume flow is shown.
    pub flow_unit: Unit,
    /// The measurement model without its inputs.
    pub(crate) skeleton: SiteModel,
    /// Vapour pressure in Pa, where the file states it.
    pub(crate) vapour_pressure: Option<f64>,
    /// The wave in the wall that the site is not set up for, where the material tells it.
    pub(crate) other_wave: Option<OtherWave>,
    /// Whether the file says what the calibration of the meter covers.
    pub(crate) covers_stated: bool,
    /// The smallest and the largest Reynolds number of the calibration of the meter.
    pub(crate) calibrated_reynolds: Option<[f64; 2]>,
    /// What is in force of an in-situ calibration.
    pub(crate) in_situ: Option<InSitu>,
    /// Length in m of one sensor along the pipe.
    pub(crate) sensor_length: Option<f64>,
    /// Frequency in Hz of the carrier.
    pub(crate) frequency: Option<f64>,
    /// How the meter damps its readings in time.
    pub(crate) damping: Option<Damping>,
    /// One step in s of the time difference that the meter shows, where the file states it.
    pub(crate) resolution: Option<f64>,
    /// Time in s from reading to reading, where the file states it.
    pub(crate) sampling_interval: Option<f64>,
    /// What the mean of the readings stands for.
    pub(crate) mean_of: MeanOf,
    /// Eccentricity in m of the bore, where a grid of wall readings shows it.
    pub(crate) eccentricity: Option<f64>,
    /// Where the table of a tabulated liquid comes from.
    pub(crate) liquid_evidence: String,
    /// The inputs that the file states, each with the quantity it is a term of.
    pub(crate) stated: Arc<[(Quantity, Input)]>,
    /// Whether the uncertainty of the profile is left to the residuals of its law.
    pub(crate) derive_law_uncertainty: bool,
    /// Reynolds numbers between which the flow is turbulent half of the time.
    pub(crate) transition: [f64; 2],
    /// Straight pipe upstream over which the profile develops, where the file states it.
    pub(crate) inlet_run: Option<InletRun>,
    /// Temperature difference in K across the pipe, where the file states it.
    pub(crate) temperature_difference: Option<f64>,
    /// The fitting upstream from which the installation factor is derived.
    pub(crate) upstream: Option<UpstreamFitting>,
    /// Correlation coefficients by pairs of input names, as the file lists them.
    pub(crate) correlations: Vec<StatedCorrelation>,
    /// How files of its readings are written, as far as the file says it.
    pub(crate) table_options: Arc<TableOptions>,
    /// Material of the wall, where the file names it.
    pub(crate) wall_material: Option<String>,
    /// What it uses of a file of instruments.
    pub(crate) instruments: Option<InstrumentsUsed>,
    /// The file as named by the user, for errors that come to light with the readings.
    pub(crate) file: PathBuf,
    /// The text of the site file.
    pub(crate) text: Arc<str>,
}

impl Site {
    /// The name of the site file, without its folders.
    pub fn file_name(&self) -> String {
        file_name(&self.file)
    }

    /// How the files of its readings are written, as far as its own file says it.
    pub fn table_options(&self) -> &TableOptions {
        &self.table_options
    }

    /// The measurement model with the quantities of its inputs.
    pub(crate) fn model_of(&self, terms: &[(Quantity, Input)]) -> SiteModel {
        let quantities = terms.iter().map(|(quantity, _)| *quantity).collect();
        let skeleton = self.skeleton.clone();
        skeleton.with_terms(quantities, self.flow_unit.clone())
    }

    /// The text of the site file.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Reads a site file, and the file of instruments that it names.
    ///
    /// # Errors
    /// The file cannot be read, is no regular one or is larger than 4 MiB, or anything in it is wrong;
    /// the error names file, line, what was found and what is allowed. A file of instruments that is
    /// not below the folder of the site file is read by [`Site::load_with`] alone.
    pub fn load(path: impl AsRef<Path>) -> Result<Site> {
        let path = path.as_ref();
        let text = read_text(path, Kind::Site)?;
        let sections = SiteFile::parse(&text, path)?;
        match Inventory::named_by(&sections, path, &text)? {
            Some(inventory) => Site::of_sections(&text, path, sections, Some(&inventory)),
            None => Site::of_sections(&text, path, sections, None),
        }
    }

    /// The text of a site file, with what it uses of a file of instruments; a text that is no site is
    /// given as it is, for whoever reads it to say what is wrong.
    ///
    /// # Errors
    /// The file cannot be read; what is wrong with the instruments that it names.
    pub(crate) fn text_of(path: &Path) -> Result<String> {
        let text = read_text(path, Kind::Site)?;
        let Ok(mut sections) = SiteFile::parse(&text, path) else {
            return Ok(text);
        };
        let Some(inventory) = Inventory::named_by(&sections, path, &text)? else {
            return Ok(text);
        };
        sections.use_named(Some(&inventory), path, &Lines::of(&text))?;
        Ok(sections.to_text()?.as_ref().to_owned())
    }

    /// Reads a site file that uses instruments of `inventory`, whatever file it names itself.
    ///
    /// # Errors
    /// As [`Site::load`]; a name that `inventory` has not.
    pub fn load_with(path: impl AsRef<Path>, inventory: &Arc<Inventory>) -> Result<Site> {
        let path = path.as_ref();
        let text = read_text(path, Kind::Site)?;
        Site::from_toml_with(&text, path, inventory)
    }

    /// Reads a site from TOML text; `file` is the name used in errors.
    ///
    /// # Errors
    /// As [`Site::load`]; no other file is read, so what is used of instruments must stand in the text.
    ///
    /// # Example
    /// ```
    /// let error = flowdoubt::site::Site::from_toml("[pipe]\nwal = \"7 mm\"", "a.toml")
    ///     .expect_err("a misspelt key");
    /// assert!(error.to_string().starts_with("a.toml:2: pipe.wal: unknown key, did you mean `wall`?"));
    /// ```
    pub fn from_toml(text: &str, file: impl Into<PathBuf>) -> Result<Site> {
        let file = file.into();
        let sections = SiteFile::parse(text, &file)?;
        Site::of_sections(text, &file, sections, None)
    }

    /// Reads a site from TOML text that uses instruments of `inventory`.
    ///
    /// # Errors
    /// As [`Site::load_with`].
    pub fn from_toml_with(
        text: &str,
        file: impl Into<PathBuf>,
        inventory: &Arc<Inventory>,
    ) -> Result<Site> {
        let file = file.into();
        let sections = SiteFile::parse(text, &file)?;
        Site::of_sections(text, &file, sections, Some(inventory))
    }

    /// The site of sections that were read from `text`, with what it uses of an inventory.
    fn of_sections(
        text: &str,
        file: &Path,
        mut sections: SiteFile,
        inventory: Option<&Arc<Inventory>>,
    ) -> Result<Site> {
        let used = sections.use_named(inventory, file, &Lines::of(text))?;
        let mut site = Builder {
            text,
            lines: Lines::of(text),
            file,
            sections: &sections,
        }
        .build()?;
        if used {
            site.text = sections.to_text()?;
        }
        Ok(site)
    }
}

/// A correlation as a site file states it.
#[derive(Debug, Clone)]
pub(crate) struct StatedCorrelation {
    /// The names of two inputs and their correlation coefficient.
    pub(crate) pair: (String, String, f64),
    /// The line in which the file names them.
    pub(crate) line: usize,
}
