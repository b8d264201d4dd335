//! From the files of a verification to a verification.

use super::Verification;
use super::builder::Builder;
use super::file::VerificationFile;
use crate::error::{Error, Result};
use crate::evaluate::Readings;
use crate::files::{self, Kind, read_bytes, read_text};
use crate::line_numbers::Lines;
use crate::table::TableOptions;
use std::path::{Path, PathBuf};

impl Verification {
    /// Reads a verification file and the readings of its runs, whose files are named from its folder
    /// and lie below it: a file from elsewhere opens nothing else.
    ///
    /// # Errors
    /// A file cannot be read, is no regular one, lies elsewhere or is larger than 4 MiB (readings: 256
    /// MiB), or anything in it is wrong; the error names file, line, what was found and what is
    /// allowed.
    pub fn load(path: impl AsRef<Path>) -> Result<Verification> {
        let path = path.as_ref();
        let text = read_text(path, Kind::Verification)?;
        Verification::from_toml(&text, path)
    }

    /// As [`Verification::load`], with readings that lie below `folder`, links followed. The file names
    /// them from its own folder as ever.
    ///
    /// # Errors
    /// As [`Verification::load`].
    pub fn load_with_readings_below(
        path: impl AsRef<Path>,
        folder: impl AsRef<Path>,
    ) -> Result<Verification> {
        let (path, folder) = (path.as_ref(), folder.as_ref());
        if folder.as_os_str().is_empty() {
            return Err(Error::Missing {
                field: "readings_below".to_owned(),
                needed: "a folder, as \".\" for the one at hand".to_owned(),
            });
        }
        let text = read_text(path, Kind::Verification)?;
        Verification::from_toml_with_readings_below(&text, path, folder)
    }

    /// Reads a verification from TOML text; `file` is the name used in errors, and readings are named
    /// from its folder and lie below it.
    ///
    /// # Errors
    /// As [`Verification::load`].
    pub fn from_toml(text: &str, file: impl Into<PathBuf>) -> Result<Verification> {
        let file = file.into();
        let folder = folder_of(&file).to_owned();
        Verification::from_toml_with_readings_below(text, file, folder)
    }

    fn from_toml_with_readings_below(
        text: &str,
        file: impl Into<PathBuf>,
        folder: impl AsRef<Path>,
    ) -> Result<Verification> {
        let (file, folder) = (file.into(), folder.as_ref());
        let own = folder_of(&file).to_owned();
        Verification::with_readings(text, file, |name| {
            let named = own.join(name);
            let allowed = files::below(folder, &named)?.ok_or_else(|| Error::Conflict {
                field: "run.readings".to_owned(),
                found: format!("\"{name}\", which does not lie below {}", described(folder)),
                allowed: "files below the folder of the verification file, or below another one that \
                          whoever reads it allows: readings_below in Python, --readings-below on the \
                          command line"
                    .to_owned(),
            })?;
            // what was looked at is what is opened; the name stays as the user knows it
            let bytes = read_bytes(&allowed, Kind::Readings)?;
            Readings::from_bytes(bytes, named, &TableOptions::default())
        })
    }

    /// As [`Verification::from_toml`], with `read` giving the readings for the name of a file: for
    /// readings that do not lie in files.
    ///
    /// # Errors
    /// As [`Verification::load`], and those of `read`.
    pub fn with_readings(
        text: &str,
        file: impl Into<PathBuf>,
        read: impl Fn(&str) -> Result<Readings>,
    ) -> Result<Verification> {
        let file = file.into();
        let sections = VerificationFile::parse(text, &file)?;
        Builder {
            text,
            lines: Lines::of(text),
            file: &file,
            sections: &sections,
            read: &read,
        }
        .build()
    }
}

/// The folder in which a file lies; empty where the file is named without one.
fn folder_of(file: &Path) -> &Path {
    file.parent().unwrap_or(Path::new(""))
}

fn described(folder: &Path) -> String {
    match folder.as_os_str().is_empty() {
        true => "the folder of the verification file".to_owned(),
        false => folder.display().to_string(),
    }
}
