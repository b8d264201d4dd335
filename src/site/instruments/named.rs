//! What a site file names under `[instruments]`.

use super::file::InstrumentsUsed;
use super::{Existing, Inventory, Selection};
use crate::error::{Error, Result};
use crate::files;
use crate::line_numbers::Lines;
use crate::site::file::SiteFile;
use std::path::Path;
use std::sync::Arc;

impl InstrumentsUsed {
    fn selection(&self) -> Selection {
        Selection {
            sensors: self.sensors.clone(),
            electronics: self.electronics.clone(),
            cables: self.cables.clone(),
            couplant: self.couplant.clone(),
            mounting: self.mounting.clone(),
        }
    }

    /// What is used, in words: pairs of the kind and the thing.
    pub(crate) fn in_words(&self) -> Vec<(&'static str, &str)> {
        let one = [
            ("sensors", &self.sensors),
            ("electronics", &self.electronics),
            ("cables", &self.cables),
            ("couplant", &self.couplant),
        ];
        let one = one
            .into_iter()
            .filter_map(|(kind, name)| Some((kind, name.as_deref()?)));
        let mounting = self.mounting.iter().map(|name| ("mounting", name.as_str()));
        let taken_from = self
            .taken_from
            .iter()
            .map(|from| ("described in", from.as_str()));
        one.chain(mounting).chain(taken_from).collect()
    }
}

impl Inventory {
    /// The instruments of the file that a site file names, if it names one and has not used it yet.
    ///
    /// # Errors
    /// [`Error::Conflict`] for a file that is not below the folder of the site file: who wrote a site
    /// file has no say in what else is opened. Others as [`Inventory::load`].
    pub(in crate::site) fn named_by(
        sections: &SiteFile,
        site_file: &Path,
        text: &str,
    ) -> Result<Option<Arc<Inventory>>> {
        let Some(section) = &sections.instruments else {
            return Ok(None);
        };
        let (Some(name), None) = (&section.get_ref().file, &section.get_ref().taken_from) else {
            return Ok(None);
        };
        let folder = site_file.parent().unwrap_or(Path::new(""));
        let named = folder.join(name);
        let allowed = files::below(folder, &named)?.ok_or_else(|| {
            let conflict = Error::Conflict {
                field: "instruments.file".to_owned(),
                found: format!("`{name}`, which is not below the folder of the site file"),
                allowed: "a file below that folder; another one is read where it is asked for, by \
                          loading the site with the instruments"
                    .to_owned(),
            };
            conflict.in_file(site_file, Lines::of(text).at(section.span().start))
        });
        allowed?;
        Inventory::load(named).map(|inventory| Some(Arc::new(inventory)))
    }
}

impl SiteFile {
    /// Puts what the site uses of an inventory into the sections, and tells whether there was any.
    ///
    /// # Errors
    /// A name that the inventory has not, what is stated twice, instruments without an inventory.
    pub(in crate::site) fn use_named(
        &mut self,
        inventory: Option<&Arc<Inventory>>,
        file: &Path,
        lines: &Lines,
    ) -> Result<bool> {
        let Some(section) = &self.instruments else {
            return Ok(false);
        };
        let used = section.get_ref().clone();
        if used.taken_from.is_some() {
            return Ok(false);
        }
        let line = lines.at(section.span().start);
        let chosen = match inventory {
            Some(inventory) => inventory.choose(&used.selection()),
            None => Err(Error::Missing {
                field: "instruments.file".to_owned(),
                needed:
                    "the file of instruments, or the instruments themselves beside the site file"
                        .to_owned(),
            }),
        };
        let applied = chosen.and_then(|chosen| chosen.apply(self, Existing::Refused));
        applied.map(|()| true).map_err(|e| e.in_file(file, line))
    }
}
