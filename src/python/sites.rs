//! Many sites at once.

use super::watched::watched;
use crate::evaluate::{self as core, SiteFiles, SiteRow, SiteTexts};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::borrow::Cow;
use std::path::PathBuf;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add_function(wrap_pyfunction!(sites_in_folder, module)?)?;
    module.add_function(wrap_pyfunction!(readings_beside, module)?)?;
    module.add_function(wrap_pyfunction!(evaluate_site_files, module)?)?;
    module.add_function(wrap_pyfunction!(read_site_files, module)?)?;
    module.add_function(wrap_pyfunction!(evaluate_site_texts, module)?)
}

fn site_row<'py>(py: Python<'py>, row: &SiteRow) -> PyResult<Bound<'py, PyDict>> {
    let found = PyDict::new(py);
    found.set_item("site", &row.name)?;
    found.set_item("file", row.files.site.display().to_string())?;
    found.set_item("readings", row.files.readings.display().to_string())?;
    let outcome = row.outcome.as_ref();
    type Pick = fn(&core::SiteOutcome) -> f64;
    let numbers: [(&str, Pick); 3] = [
        ("volume_flow", |o| o.flow),
        ("standard_uncertainty", |o| o.standard_uncertainty),
        ("expanded_uncertainty", |o| o.expanded_uncertainty),
    ];
    for (name, pick) in numbers {
        let shown = |o: &core::SiteOutcome| o.unit.from_si(pick(o));
        found.set_item(name, outcome.map_or(f64::NAN, shown))?;
        found.set_item(format!("{name}_m3_s"), outcome.map_or(f64::NAN, pick))?;
    }
    found.set_item("unit", outcome.map_or("", |o| &o.unit.symbol))?;
    let (headline, warnings, error) = match outcome {
        Ok(outcome) => {
            let warnings = outcome.warnings.iter();
            let words = warnings.map(|w| format!("{}: {}", w.code, w.words));
            (outcome.headline.clone(), words.collect(), String::new())
        }
        Err(error) => (String::new(), Vec::new(), error.to_string()),
    };
    found.set_item("headline", headline)?;
    found.set_item("warnings", PyList::new(py, warnings)?)?;
    found.set_item("error", error)?;
    Ok(found)
}

/// Site files and readings of a folder.
#[pyfunction]
fn sites_in_folder(folder: PathBuf) -> PyResult<Vec<(PathBuf, PathBuf)>> {
    let sites = SiteFiles::in_folder(folder)?.into_iter();
    Ok(sites.map(|files| (files.site, files.readings)).collect())
}

/// The readings that belong to a site file.
#[pyfunction]
fn readings_beside(site: PathBuf) -> PathBuf {
    SiteFiles::of(site).readings
}

/// Evaluates sites on the threads inside; one dictionary for each.
#[pyfunction]
fn evaluate_site_files<'py>(
    py: Python<'py>,
    files: Vec<(PathBuf, PathBuf)>,
) -> PyResult<Vec<Bound<'py, PyDict>>> {
    let files = files.into_iter();
    let files = files.map(|(site, readings)| SiteFiles { site, readings });
    let files: Vec<SiteFiles> = files.collect();
    let rows = watched(py, None, |watch| {
        core::evaluate_sites_watched(&files, watch)
    })?;
    rows.iter().map(|row| site_row(py, row)).collect()
}

/// Reads the files of a site for a job elsewhere.
#[pyfunction]
fn read_site_files(
    py: Python<'_>,
    site: PathBuf,
    readings: PathBuf,
) -> PyResult<(String, Cow<'static, [u8]>)> {
    let texts = py.detach(|| SiteFiles { site, readings }.read())?;
    Ok((texts.site, Cow::Owned(texts.readings)))
}

/// Evaluates one site that has been read, on this thread.
#[pyfunction]
fn evaluate_site_texts<'py>(
    py: Python<'py>,
    files: (PathBuf, PathBuf),
    texts: (String, Vec<u8>),
) -> PyResult<Bound<'py, PyDict>> {
    let (site, readings) = files;
    let texts = SiteTexts {
        files: SiteFiles { site, readings },
        site: texts.0,
        readings: texts.1,
    };
    let row = py.detach(|| core::evaluate_site(texts));
    site_row(py, &row)
}
