//! Many sites at once: one row of a table for each, whatever becomes of it.

use super::{Evaluation, Readings, Warning};
use crate::error::{Error, Result};
use crate::files::{Kind, read_bytes};
use crate::parallel;
use crate::site::{Inventory, Site};
use crate::units::Unit;
use crate::watch::{Watch, map_watched};
use std::fs;
use std::path::{Path, PathBuf};

/// The files of one site.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteFiles {
    /// The site file.
    pub site: PathBuf,
    /// The readings of its meter, as a table.
    pub readings: PathBuf,
}

/// The site and its readings as they were read, so that they can be evaluated where the files are not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteTexts {
    /// Where they were read from.
    pub files: SiteFiles,
    /// The text of the site file.
    pub site: String,
    /// The bytes of the file of readings.
    pub readings: Vec<u8>,
}

/// What a site came to.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub struct SiteRow {
    /// Where site and readings were read from.
    pub files: SiteFiles,
    /// The name of the site; empty where its file could not be read.
    pub name: String,
    /// The result, or why there is none.
    pub outcome: Result<SiteOutcome>,
}

/// The result of a site.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct SiteOutcome {
    /// The unit in which the site shows its flow.
    pub unit: Unit,
    /// Volume flow, in m3/s.
    pub flow: f64,
    /// Its combined standard uncertainty, in m3/s.
    pub standard_uncertainty: f64,
    /// Its expanded uncertainty at the site's coverage probability, in m3/s.
    pub expanded_uncertainty: f64,
    /// The result in one line, in the unit of the site.
    pub headline: String,
    /// What a reader must be told beside it.
    pub warnings: Vec<Warning>,
}

impl SiteFiles {
    /// A site file with the readings that belong to it: of `site.toml` they are `readings.csv`, of any
    /// other `name.toml` they are `name.csv`, both beside it.
    pub fn of(site: impl Into<PathBuf>) -> SiteFiles {
        let site = site.into();
        let readings = match site.file_name() {
            Some(name) if name == "site.toml" => site.with_file_name("readings.csv"),
            _ => site.with_extension("csv"),
        };
        SiteFiles { site, readings }
    }

    /// The sites of a folder in the order of their paths: every `*.toml` in it but files of instruments,
    /// and every `site.toml` in the folders just below.
    ///
    /// # Errors
    /// A folder that cannot be read, or without any site.
    pub fn in_folder(folder: impl AsRef<Path>) -> Result<Vec<SiteFiles>> {
        let folder = folder.as_ref();
        let cannot = |error: std::io::Error| Error::file(folder, "read", error);
        let mut sites = Vec::new();
        for entry in fs::read_dir(folder).map_err(cannot)? {
            let path = entry.map_err(cannot)?.path();
            let below = path.join("site.toml");
            let is_toml = path.extension().is_some_and(|e| e == "toml") && path.is_file();
            // what sites of the folder use lies beside them
            let of_instruments =
                is_toml && Inventory::load(&path).is_ok_and(|i| i.things().next().is_some());
            if is_toml && !of_instruments {
                sites.push(SiteFiles::of(path));
            } else if below.is_file() {
                sites.push(SiteFiles::of(below));
            }
        }
        sites.sort_by(|a, b| a.site.cmp(&b.site));
        if sites.is_empty() {
            return Err(Error::Missing {
                field: folder.display().to_string(),
                needed:
                    "site files: name.toml with name.csv beside, or folders with site.toml and \
                         readings.csv"
                        .to_owned(),
            });
        }
        Ok(sites)
    }

    /// Reads both files.
    ///
    /// # Errors
    /// A file that cannot be read.
    pub fn read(self) -> Result<SiteTexts> {
        Ok(SiteTexts {
            site: Site::text_of(&self.site)?,
            readings: read_bytes(&self.readings, Kind::Readings)?,
            files: self,
        })
    }
}

impl SiteRow {
    fn read(files: &SiteFiles) -> SiteRow {
        SiteRow::of(files.clone(), files.clone().read())
    }

    /// The row of a site whose files may not have been readable.
    fn of(files: SiteFiles, texts: Result<SiteTexts>) -> SiteRow {
        let mut name = String::new();
        let outcome = texts.and_then(|texts| {
            let site = Site::from_toml(&texts.site, &texts.files.site)?;
            name.clone_from(&site.name);
            let (file, options) = (&texts.files.readings, site.table_options());
            let readings = Readings::from_bytes(texts.readings, file, options)?;
            SiteOutcome::of(&site.evaluate(&readings)?)
        });
        SiteRow {
            files,
            name,
            outcome,
        }
    }
}

impl SiteOutcome {
    fn of(evaluation: &Evaluation) -> Result<SiteOutcome> {
        Ok(SiteOutcome {
            unit: evaluation.budget.output.unit.clone(),
            flow: evaluation.estimate(),
            standard_uncertainty: evaluation.standard_uncertainty(),
            expanded_uncertainty: evaluation.expanded()?.expanded_uncertainty,
            headline: evaluation.headline()?,
            warnings: evaluation.warnings(),
        })
    }
}

/// Evaluates sites on all threads, in the order given. A site that fails keeps its row, with the
/// reason.
///
/// # Example
/// ```
/// use flowdoubt::evaluate::{SiteFiles, evaluate_sites};
/// let rows = evaluate_sites(vec![
///     SiteFiles::of("notebooks/demo/site.toml"),
///     SiteFiles::of("nowhere/site.toml"),
/// ]);
/// assert!(rows[0].outcome.as_ref().is_ok_and(|found| found.flow > 0.29));
/// assert!(rows[1].outcome.is_err());
/// ```
pub fn evaluate_sites(sites: Vec<SiteFiles>) -> Vec<SiteRow> {
    parallel::map(sites.len(), |i| SiteRow::read(&sites[i]))
}

/// As [`evaluate_sites`], with a watch that is told the number of sites done and may end it.
///
/// # Errors
/// [`Error::Cancelled`].
pub fn evaluate_sites_watched(sites: &[SiteFiles], watch: &mut Watch<'_>) -> Result<Vec<SiteRow>> {
    map_watched(sites.len(), watch, |i| SiteRow::read(&sites[i]))
}

/// Evaluates one site that has been read, on the calling thread.
pub fn evaluate_site(texts: SiteTexts) -> SiteRow {
    SiteRow::of(texts.files.clone(), Ok(texts))
}
