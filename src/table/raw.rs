//! What a file holds before its columns are known: text, or the rows of a sheet.

use super::columns::{HEADER_ROWS, channels_in};
use super::encoding::decoded;
use super::options::TableOptions;
use crate::digest::sha256;
use crate::error::{Error, Result};
use crate::files::{Kind, read_bytes};
use csv::StringRecord;
use std::path::Path;

/// The rows of a sheet.
#[derive(Debug, Default)]
pub(super) struct RawTable {
    pub(super) rows: Vec<StringRecord>,
    /// Whether cells are numbers, and not text that may look like one.
    pub(super) numbers: Vec<Vec<bool>>,
}

#[derive(Debug)]
pub(super) enum Content {
    Text(String),
    Sheet(String, RawTable),
}

/// A file that was read.
#[derive(Debug)]
pub(crate) struct Opened {
    pub(super) content: Content,
    /// The encoding of its text, unless UTF-8.
    pub(super) encoding: Option<String>,
    /// SHA-256 of its bytes, where these are not those of the text.
    sha256: Option<String>,
}

impl Opened {
    /// Reads a file.
    ///
    /// # Errors
    /// What is no regular file or too large, and as [`Opened::from_bytes`].
    pub(crate) fn read(path: &Path, kind: Kind, options: &TableOptions) -> Result<Opened> {
        Opened::from_bytes(read_bytes(path, kind)?, path, options)
    }

    /// The text or the sheet that bytes hold; `file` is the name used in errors.
    ///
    /// # Errors
    /// What is neither text nor a workbook, an encoding or a sheet that is not there, several sheets
    /// with readings and none asked for.
    pub(crate) fn from_bytes(
        bytes: Vec<u8>,
        file: &Path,
        options: &TableOptions,
    ) -> Result<Opened> {
        Opened::of_bytes(bytes, file, options).map_err(|error| match error {
            named @ (Error::File { .. } | Error::TooLarge { .. }) => named,
            error => error.in_file(file, 1),
        })
    }

    fn of_bytes(bytes: Vec<u8>, file: &Path, options: &TableOptions) -> Result<Opened> {
        if bytes.starts_with(b"PK\x03\x04") {
            let digest = sha256(&bytes);
            let (name, rows) = sheet_of(bytes, file, options)?;
            return Ok(Opened {
                content: Content::Sheet(name, rows),
                encoding: None,
                sha256: Some(digest),
            });
        }
        if bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
            return Err(other_workbook(file));
        }
        if let Some(sheet) = &options.sheet {
            return Err(Error::Conflict {
                field: "sheet".to_owned(),
                found: format!("the sheet `{sheet}` of what is no workbook"),
                allowed: "a sheet of a workbook alone".to_owned(),
            });
        }
        // letters of UTF-16 beside zeros are text in UTF-8 as well
        let plain = std::str::from_utf8(&bytes).is_ok() && !bytes.contains(&0);
        let digest = (!plain || options.encoding.is_some()).then(|| sha256(&bytes));
        let (text, encoding) = decoded(bytes, options.encoding.as_deref(), file)?;
        let digest = digest.filter(|_| encoding.is_some());
        Ok(Opened {
            content: Content::Text(text),
            encoding,
            sha256: digest,
        })
    }

    /// Text that was read.
    pub(crate) fn of_text(text: &str) -> Opened {
        Opened {
            content: Content::Text(text.to_owned()),
            encoding: None,
            sha256: None,
        }
    }

    /// SHA-256 of the bytes of the file.
    pub(crate) fn sha256(&self) -> String {
        match (&self.sha256, &self.content) {
            (Some(digest), _) => digest.clone(),
            (None, Content::Text(text)) => sha256(text.as_bytes()),
            (None, Content::Sheet(..)) => String::new(),
        }
    }

    /// The text; empty of a sheet.
    pub(crate) fn into_text(self) -> String {
        match self.content {
            Content::Text(text) => text,
            Content::Sheet(..) => String::new(),
        }
    }
}

/// A workbook that is not read.
pub(super) fn other_workbook(file: &Path) -> Error {
    Error::File {
        file: file.to_owned(),
        action: "read",
        reason:
            "it is a workbook of another form than .xlsx, or one with a password; allowed: save it \
                 as .xlsx or as CSV"
                .to_owned(),
        source: None,
    }
}

/// The sheet that was asked for, or the only one with readings.
#[cfg(feature = "workbook")]
fn sheet_of(bytes: Vec<u8>, file: &Path, options: &TableOptions) -> Result<(String, RawTable)> {
    let mut workbook = super::workbook::Workbook::open(bytes, file)?;
    if let Some(asked) = &options.sheet {
        let name = workbook.sheet(asked)?;
        let rows = workbook.rows(&name, usize::MAX)?;
        return Ok((name, rows));
    }
    let mut found = Vec::new();
    let names = workbook.sheets();
    for name in &names {
        let beginning = workbook.rows(name, HEADER_ROWS + options.skip_rows.unwrap_or(0))?;
        if beginning
            .rows
            .iter()
            .any(|row| channels_in(row, options) > 0)
        {
            found.push(name.clone());
        }
    }
    match found.as_slice() {
        [one] => Ok((one.clone(), workbook.rows(one, usize::MAX)?)),
        [] if names.len() == 1 => Ok((names[0].clone(), workbook.rows(&names[0], usize::MAX)?)),
        [] => Err(Error::Missing {
            field: "sheet".to_owned(),
            needed: format!(
                "a sheet with names of columns such as transit_time_us, or a map of columns \
                 (`columns`); none of the {} sheets has any",
                names.len()
            ),
        }),
        several => Err(Error::Conflict {
            field: "sheet".to_owned(),
            found: format!("readings in several sheets, {}", quoted(several)),
            allowed: "the name of one of them (`sheet`)".to_owned(),
        }),
    }
}

#[cfg(feature = "workbook")]
fn quoted(names: &[String]) -> String {
    let names = names.iter().take(8).map(|name| format!("`{name}`"));
    names.collect::<Vec<_>>().join(", ")
}

#[cfg(not(feature = "workbook"))]
fn sheet_of(_: Vec<u8>, file: &Path, options: &TableOptions) -> Result<(String, RawTable)> {
    let _ = (HEADER_ROWS, channels_in(&StringRecord::new(), options));
    Err(Error::File {
        file: file.to_owned(),
        action: "read",
        reason: "it is a workbook, and this build reads none (feature `workbook`); allowed: save it as CSV"
            .to_owned(),
        source: None,
    })
}
