//! Instruments that one owns, and what to take to site.

use super::rows::entries;
use super::site::Site;
use super::user_class::{Made, made_as, taken};
use crate::error::Error;
use crate::kit::{self as core, DayOnSite};
use crate::site::{Change, Inventory as CoreInventory, Selection};
use crate::units::{Dimension, quantity};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyType};
use std::path::PathBuf;
use std::sync::Arc;

pub(super) fn register(module: &Bound<'_, PyModule>) -> PyResult<()> {
    module.add("NOTHING_FITS", core::NOTHING_FITS)?;
    module.add_class::<Inventory>()?;
    module.add_class::<KitList>()?;
    module.add_function(wrap_pyfunction!(kit_list, module)?)?;
    module.add_function(wrap_pyfunction!(site_using, module)?)?;
    module.add_function(wrap_pyfunction!(site_with_instruments, module)?)
}

/// A number in SI units, or text with a unit.
#[derive(FromPyObject)]
pub(super) enum Given {
    Number(f64),
    Text(String),
}

impl Given {
    fn si(self, dimension: Dimension, field: &str) -> Result<f64, Error> {
        match self {
            Given::Number(number) => Ok(number),
            Given::Text(text) => Ok(quantity(&text, dimension, field)?.si),
        }
    }
}

/// What is known of a day on site: way of the cables, free length, duration, day.
pub(super) type Day = (Option<Given>, Option<Given>, Option<Given>, Option<String>);

/// The day on site, from what a caller says of it.
pub(super) fn day_of(
    temperatures: Vec<Given>,
    (cable_run, free_length, duration, date): Day,
) -> Result<DayOnSite, Error> {
    let kelvin = temperatures.into_iter().enumerate();
    let kelvin =
        kelvin.map(|(i, given)| given.si(Dimension::Temperature, &format!("temperatures[{i}]")));
    let length = |given: Option<Given>, field: &str| {
        given
            .map(|given| given.si(Dimension::Length, field))
            .transpose()
    };
    let duration = duration.map(|given| given.si(Dimension::Time, "duration"));
    Ok(DayOnSite {
        temperatures: kelvin.collect::<Result<_, _>>()?,
        cable_run: length(cable_run, "cable_run")?,
        free_length: length(free_length, "free_length")?,
        duration: duration.transpose()?,
        date: date.map(|text| DayOnSite::day(&text)).transpose()?,
    })
}

/// What to take to site, and what of it an inventory has.
#[pyfunction]
fn kit_list(
    site: &Site,
    inventory: &Inventory,
    temperatures: Vec<Given>,
    day: Day,
) -> PyResult<Made<KitList>> {
    let day = day_of(temperatures, day)?;
    Ok(Made(KitList(site.0.kit(&inventory.0, &day)?)))
}

/// The site with instruments of an inventory in place of its own.
#[pyfunction]
fn site_using(
    site: &Site,
    inventory: &Inventory,
    sensors: Option<String>,
    electronics: Option<String>,
    cables: Option<String>,
    couplant: Option<String>,
    mounting: Vec<String>,
) -> PyResult<Made<Site>> {
    let chosen = inventory.0.choose(&Selection {
        sensors,
        electronics,
        cables,
        couplant,
        mounting,
    })?;
    let change = Change {
        instruments: Some(chosen),
        ..Change::default()
    };
    Ok(Made(Site(site.0.with(&change)?)))
}

/// A site of a class of users, from a file that uses instruments of an inventory.
#[pyfunction]
fn site_with_instruments<'py>(
    class_: &Bound<'py, PyType>,
    path: PathBuf,
    inventory: &Inventory,
) -> PyResult<Bound<'py, PyAny>> {
    let site = crate::site::Site::load_with(path, &inventory.0)?;
    made_as(class_, Site(site))
}

/// Instruments, sensors and what belongs to them, as their file describes them.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct Inventory(pub(super) Arc<CoreInventory>);

#[pymethods]
impl Inventory {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(
            value,
            "Inventory.load(path) for a file, Inventory.from_toml(text) for the text of one",
        )
    }

    /// Read a file of instruments.
    #[classmethod]
    fn load<'py>(class: &Bound<'py, PyType>, path: PathBuf) -> PyResult<Bound<'py, PyAny>> {
        let read = CoreInventory::load(path)?;
        made_as(class, Inventory(Arc::new(read)))
    }

    /// Read instruments from the text of a file.
    ///
    /// Parameters
    /// ----------
    /// text
    ///     TOML.
    /// file
    ///     The name that errors give to it.
    ///
    /// Returns
    /// -------
    /// Inventory
    ///
    /// Raises
    /// ------
    /// FlowdoubtError
    ///     As for `Inventory.load`.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
    /// >>> from pathlib import Path
    /// >>> text = Path("notebooks/demo/box/instruments.toml").read_text(encoding="utf-8")
    /// >>> len(fd.Inventory.from_toml(text).things) > 10
    /// True
    #[classmethod]
    #[pyo3(signature = (text, file = PathBuf::from("<text>")))]
    fn from_toml<'py>(
        class: &Bound<'py, PyType>,
        text: &str,
        file: PathBuf,
    ) -> PyResult<Bound<'py, PyAny>> {
        let read = CoreInventory::from_toml(text, file)?;
        made_as(class, Inventory(Arc::new(read)))
    }

    /// Whose they are, or where they lie.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Remarks in words.
    #[getter]
    fn note(&self) -> &str {
        &self.0.note
    }

    /// The name of the file, without folders.
    #[getter]
    fn file(&self) -> String {
        self.0.file_name()
    }

    /// SHA-256 of the text of the file.
    #[getter]
    fn digest(&self) -> &str {
        self.0.digest()
    }

    /// One dictionary for each thing: kind, name, serial number, remarks and cost.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> things = fd.Inventory.load("notebooks/demo/box/instruments.toml").things
    /// >>> things[0]["kind"], things[0]["name"], things[0]["serial_number"]
    /// ('sensors', 'slim pair', 'HM 0117')
    #[getter]
    fn things<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let entry = |(kind, thing): (&str, &crate::site::Thing)| {
            let found = PyDict::new(py);
            found.set_item("kind", kind)?;
            found.set_item("name", &thing.name)?;
            found.set_item("serial_number", &thing.serial_number)?;
            found.set_item("note", &thing.note)?;
            found.set_item("cost", thing.cost)?;
            Ok(found)
        };
        self.0.things().map(entry).collect()
    }

    /// One dictionary for each certificate: number, what it is of, days and scope.
    #[getter]
    fn certificates<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let certificates = self.0.certificates.iter();
        let entry = |c: &crate::site::CalibrationCertificate| {
            let found = PyDict::new(py);
            found.set_item("number", &c.number)?;
            found.set_item("of", &c.of)?;
            found.set_item("date", c.date.to_string())?;
            found.set_item("due", c.due.map(|due| due.to_string()))?;
            found.set_item("scope", &c.scope)?;
            Ok(found)
        };
        certificates.map(entry).collect()
    }

    fn __len__(&self) -> usize {
        self.0.things().count()
    }

    fn __repr__(&self) -> String {
        format!(
            "<Inventory of {} things: {}>",
            self.__len__(),
            self.0.file_name()
        )
    }
}

/// What to take to site and to see to before leaving.
#[pyclass(frozen, subclass, module = "flowdoubt._core")]
pub(super) struct KitList(core::KitList);

#[pymethods]
impl KitList {
    #[new]
    fn new(value: &Bound<'_, PyAny>) -> PyResult<Self> {
        taken(value, "`site.kit(inventory)`")
    }

    /// The name of the site.
    #[getter]
    fn site(&self) -> &str {
        &self.0.site
    }

    /// SHA-256 of the text of the site file.
    #[getter]
    fn site_digest(&self) -> &str {
        &self.0.site_digest
    }

    /// Whose instruments they are, and their file.
    #[getter]
    fn inventory(&self) -> &str {
        &self.0.inventory
    }

    /// Whether nothing is missing and nothing of no use; what only a person can tell is left to that
    /// person.
    #[getter]
    fn complete(&self) -> bool {
        self.0.is_complete()
    }

    /// Whether the list is complete, in a sentence.
    #[getter]
    fn headline(&self) -> String {
        self.0.headline()
    }

    /// One dictionary for each item: group, what, needed, status, found and remark.
    #[getter]
    fn items<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        entries(py, self.0.rows())
    }

    /// The findings in words, in the order of `items`: what is there, or why not.
    #[getter]
    fn findings(&self) -> Vec<String> {
        self.0.items().map(core::Item::finding).collect()
    }

    /// What is there and not needed, as pairs of a kind and a thing.
    #[getter]
    fn surplus(&self) -> Vec<(String, String)> {
        self.0.surplus.clone()
    }

    /// The list in words.
    ///
    /// Returns
    /// -------
    /// str
    ///     Lines of text.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
    /// >>> site = fd.Site.load("notebooks/demo/box/small_plastic_pipe.toml")
    /// >>> kit = site.kit(box, "27 degC")
    /// >>> kit.in_words().splitlines()[0]
    /// 'Harrowmere swimming hall, filter loop'
    fn in_words(&self) -> String {
        self.0.in_words()
    }

    /// The list as JSON text.
    ///
    /// Returns
    /// -------
    /// str
    ///     JSON.
    ///
    /// Examples
    /// --------
    /// >>> import flowdoubt as fd
    /// >>> box = fd.Inventory.load("notebooks/demo/box/instruments.toml")
    /// >>> site = fd.Site.load("notebooks/demo/box/small_plastic_pipe.toml")
    /// >>> kit = site.kit(box, "27 degC")
    /// >>> kit.to_json()[:1]
    /// '{'
    fn to_json(&self) -> String {
        self.0.to_json()
    }

    fn __len__(&self) -> usize {
        self.0.items().count()
    }

    fn __repr__(&self) -> String {
        format!(
            "<KitList of {} items: {}>",
            self.__len__(),
            self.0.headline()
        )
    }

    fn __str__(&self) -> String {
        self.0.in_words()
    }
}
