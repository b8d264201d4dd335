//! The sheets of a workbook (ISO/IEC 29500, `.xlsx`), read cell by cell within bounds.
//!
//! A workbook is packed: a small file may unpack to what fills a memory, and one cell in the last row
//! and column may ask for a table of all between. So it is unpacked once to nowhere to see its size, and
//! cells are taken as they come, never as the rectangle that they span.

use super::header_check::MOST_COLUMNS;
use super::raw::RawTable;
use crate::error::{Error, Result, nearest};
use calamine::{Data, DataRef, Reader, Xlsx};
use csv::{Position, StringRecord};
use std::io::{Cursor, Read};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::Path;

/// The largest size in bytes of a workbook, packed and unpacked.
const MOST_PACKED: u64 = 64 << 20;
const MOST_UNPACKED: u64 = 512 << 20;

/// Parts of a workbook; those of readings have some ten.
const MOST_PARTS: usize = 4096;

/// Sheets that are looked at.
const MOST_SHEETS: usize = 256;

/// Places for cells that rows may take together.
const MOST_CELLS: usize = 32 << 20;

/// An open workbook.
pub(super) struct Workbook<'a> {
    inner: Xlsx<Cursor<Vec<u8>>>,
    file: &'a Path,
}

impl<'a> Workbook<'a> {
    /// Opens a workbook that lies in memory.
    ///
    /// # Errors
    /// One that is too large, packed or unpacked; one of another kind; one that is damaged.
    pub(super) fn open(bytes: Vec<u8>, file: &'a Path) -> Result<Workbook<'a>> {
        check_size(&bytes, file)?;
        let inner = guarded(|| Xlsx::new(Cursor::new(bytes)).map_err(|error| error.to_string()))?;
        if inner.sheet_names().len() > MOST_SHEETS {
            return Err(damaged(format!("more than {MOST_SHEETS} sheets")));
        }
        Ok(Workbook { inner, file })
    }

    pub(super) fn sheets(&self) -> Vec<String> {
        self.inner.sheet_names()
    }

    /// The name of a sheet that was asked for.
    ///
    /// # Errors
    /// A name that no sheet has.
    pub(super) fn sheet(&self, asked: &str) -> Result<String> {
        let names = self.sheets();
        match names.iter().any(|name| name == asked) {
            true => Ok(asked.to_owned()),
            false => Err(Error::UnknownName {
                field: "sheet".to_owned(),
                found: asked.to_owned(),
                nearest: nearest(asked, names.iter().map(String::as_str)),
                allowed: names,
            }),
        }
    }

    /// The rows of a sheet that have a cell with something in it; of no more rows than `most`.
    ///
    /// # Errors
    /// A sheet that is damaged or too large.
    pub(super) fn rows(&mut self, sheet: &str, most: usize) -> Result<RawTable> {
        let inner = &mut self.inner;
        let rows = guarded(|| rows_of(inner, sheet, most))?;
        if rows.is_empty() && self.file.as_os_str().is_empty() {
            return Ok(RawTable::default());
        }
        Ok(rows)
    }
}

fn rows_of(
    workbook: &mut Xlsx<Cursor<Vec<u8>>>,
    sheet: &str,
    most: usize,
) -> std::result::Result<RawTable, String> {
    let mut cells = match workbook.worksheet_cells_reader(sheet) {
        Ok(cells) => cells,
        // a sheet of charts or macros has no cells
        Err(calamine::XlsxError::NotAWorksheet(_)) => return Ok(RawTable::default()),
        Err(error) => return Err(error.to_string()),
    };
    let mut table = RawTable::default();
    let (mut row, mut numbers) = (StringRecord::new(), Vec::new());
    let mut at: Option<u32> = None;
    let mut places = 0;
    loop {
        let cell = cells.next_cell().map_err(|error| error.to_string())?;
        let place = cell.as_ref().map(|cell| cell.get_position());
        if let (Some(own), Some(next)) = (at, place.map(|(row, _)| row))
            && next < own
        {
            return Err("rows that are not in order".to_owned());
        }
        if place.map(|(row, _)| row) != at {
            if let Some(own) = at {
                let full = std::mem::take(&mut row);
                table.push(full, std::mem::take(&mut numbers), u64::from(own) + 1);
                if table.len() >= most {
                    return Ok(table);
                }
            }
            at = place.map(|(row, _)| row);
        }
        let (Some(cell), Some((_, column))) = (cell, place) else {
            return Ok(table);
        };
        let (text, number) = text_of(cell.get_value());
        if text.is_empty() {
            continue;
        }
        if column as usize >= MOST_COLUMNS {
            return Err(format!("a cell beyond the first {MOST_COLUMNS} columns"));
        }
        let column = column as usize;
        if column < row.len() {
            return Err("cells that are not in order".to_owned());
        }
        places += column + 1 - row.len();
        if places > MOST_CELLS {
            return Err(format!("more than {MOST_CELLS} cells"));
        }
        while row.len() < column {
            row.push_field("");
            numbers.push(false);
        }
        row.push_field(text.trim());
        numbers.push(number);
    }
}

impl RawTable {
    fn push(&mut self, mut row: StringRecord, numbers: Vec<bool>, line: u64) {
        if row.is_empty() {
            return;
        }
        let mut position = Position::new();
        position.set_line(line);
        row.set_position(Some(position));
        self.rows.push(row);
        self.numbers.push(numbers);
    }

    fn len(&self) -> usize {
        self.rows.len()
    }

    fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

/// A cell as text, and whether it is a number.
fn text_of(cell: &DataRef<'_>) -> (String, bool) {
    match cell {
        DataRef::Empty => (String::new(), false),
        DataRef::Int(number) => (number.to_string(), true),
        DataRef::Float(number) => (number.to_string(), true),
        DataRef::DateTime(time) if time.is_datetime() => {
            let (year, month, day, hour, minute, second, milli) = time.to_ymd_hms_milli();
            let decimals = match milli {
                0 => String::new(),
                milli => format!(".{milli:03}"),
            };
            let text = format!(
                "{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}{decimals}"
            );
            (text, false)
        }
        other => (Data::from(other.clone()).to_string(), false),
    }
}

/// What a reader of others makes of a workbook; if it stumbles, the workbook is damaged.
fn guarded<T>(read: impl FnOnce() -> std::result::Result<T, String>) -> Result<T> {
    match catch_unwind(AssertUnwindSafe(read)) {
        Ok(Ok(read)) => Ok(read),
        Ok(Err(reason)) => Err(damaged(reason)),
        Err(_) => Err(damaged("damaged".to_owned())),
    }
}

fn damaged(reason: String) -> Error {
    Error::Syntax {
        format: "workbook (.xlsx)",
        reason,
    }
}

/// Unpacks all parts to nowhere, and refuses what is larger than allowed.
fn check_size(bytes: &[u8], file: &Path) -> Result<()> {
    let too_large = |bytes: u64, most: u64| {
        Err(Error::TooLarge {
            file: file.to_owned(),
            bytes,
            most,
        })
    };
    if bytes.len() as u64 > MOST_PACKED {
        return too_large(bytes.len() as u64, MOST_PACKED);
    }
    let mut archive =
        guarded(|| zip::ZipArchive::new(Cursor::new(bytes)).map_err(|error| error.to_string()))?;
    if archive.len() > MOST_PARTS {
        return Err(damaged(format!("more than {MOST_PARTS} parts")));
    }
    if archive.index_for_name("xl/workbook.xml").is_none()
        && archive.index_for_name("[Content_Types].xml").is_none()
    {
        return Err(super::raw::other_workbook(file));
    }
    let mut unpacked = 0;
    for part in 0..archive.len() {
        unpacked += guarded(|| {
            let part = archive.by_index(part).map_err(|error| error.to_string())?;
            let mut part = part.take(MOST_UNPACKED + 1 - unpacked);
            std::io::copy(&mut part, &mut std::io::sink()).map_err(|error| error.to_string())
        })?;
        if unpacked > MOST_UNPACKED {
            return too_large(unpacked, MOST_UNPACKED);
        }
    }
    Ok(())
}
