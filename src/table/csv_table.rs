//! A CSV file of readings as cells, with the meaning of its columns.

use super::column_name::{ColumnName, read_name, resembles_a_column};
use crate::error::{Error, Result, shortened};
use crate::line_numbers::line_of;
use csv::StringRecord;
use std::path::Path;

/// The longest name in bytes of a column.
const LONGEST_NAME: usize = 200;

/// The cells of a CSV file whose rows are as long as its header.
pub(crate) struct CsvTable<'a> {
    text: &'a str,
    file: &'a Path,
    header: Option<csv::Position>,
    /// Name and meaning of each column.
    pub(crate) names: Vec<(String, ColumnName)>,
    pub(crate) rows: Vec<StringRecord>,
}

impl<'a> CsvTable<'a> {
    /// Reads CSV text; `file` is the name used in errors. Columns whose names are among the `other`
    /// ones are kept as words.
    ///
    /// # Errors
    /// Text that is no CSV, a row of another length than the header, an unknown column or unit; each
    /// with file and line.
    pub(crate) fn read(text: &'a str, file: &'a Path, other: &[&str]) -> Result<CsvTable<'a>> {
        let mut reader = csv::ReaderBuilder::new()
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let mut table = CsvTable {
            text,
            file,
            header: None,
            names: Vec::new(),
            rows: Vec::new(),
        };
        let header = reader
            .headers()
            .map_err(|e| table.at(in_own_words(&e), None))?;
        table.header = header.position().cloned();
        check_header(header, other).map_err(|e| table.in_header(e))?;
        let named = |name: &str| {
            let kind = if other.contains(&name) {
                ColumnName::Remark
            } else {
                read_name(name)?
            };
            Ok((name.to_owned(), kind))
        };
        let names: Result<Vec<_>> = header.iter().map(named).collect();
        table.names = names.map_err(|e| table.in_header(e))?;
        for record in reader.records() {
            let record = record.map_err(|e| table.at(in_own_words(&e), e.position()))?;
            table.rows.push(record);
        }
        Ok(table)
    }

    /// The cells of a column.
    pub(crate) fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        self.rows
            .iter()
            .map(move |row| row.get(column).unwrap_or(""))
    }

    /// The error with the line of the header.
    pub(crate) fn in_header(&self, error: Error) -> Error {
        self.at(error, self.header.as_ref())
    }

    /// The error with the line of a row.
    pub(crate) fn in_row(&self, error: Error, row: usize) -> Error {
        self.at(error, self.rows[row].position())
    }

    fn at(&self, error: Error, position: Option<&csv::Position>) -> Error {
        let offset = position.map_or(0, |p| p.byte() as usize);
        error.in_file(self.file, line_of_row(self.text, offset))
    }
}

/// The line of the row that follows `offset`; the reader counts blank lines before it as part of
/// the row.
fn line_of_row(text: &str, offset: usize) -> usize {
    let rest = text.as_bytes().iter().skip(offset);
    let blank = rest.take_while(|byte| matches!(byte, b'\n' | b'\r'));
    line_of(text, offset + blank.count())
}

/// Refuses what is no header of a CSV file with commas, in words of what it is instead. What is no
/// table of readings at all is not quoted: it may be anybody's file.
fn check_header(header: &StringRecord, other: &[&str]) -> Result<()> {
    let first = header.get(0).unwrap_or("");
    for (mark, name) in [(';', "semicolons"), ('\t', "tabs"), ('|', "bars")] {
        if header.len() == 1 && first.contains(mark) {
            return Err(Error::Conflict {
                field: "header".to_owned(),
                found: format!("columns parted by {name}"),
                allowed: "columns parted by commas, decimals with a point: save the table so, or \
                          read it in pandas with `sep` and `decimal` and hand over the frame"
                    .to_owned(),
            });
        }
    }
    if let Some(long) = header.iter().find(|name| name.len() > LONGEST_NAME) {
        return Err(Error::Conflict {
            field: "header".to_owned(),
            found: format!("a name of {} bytes", long.len()),
            allowed: format!("names of columns of {LONGEST_NAME} bytes at most"),
        });
    }
    let of_a_number = |c: char| c.is_ascii_digit() || " +-.,:/TZeE".contains(c);
    if first.starts_with(|c: char| c.is_ascii_digit()) && first.chars().all(of_a_number) {
        return Err(Error::Missing {
            field: "header".to_owned(),
            needed: format!(
                "a first line with the names of the columns, such as {}; found `{first}`",
                "transit_time_us,time_difference_ns,temperature_degC",
                first = shortened(first),
            ),
        });
    }
    // a file without a first line is told what it needs elsewhere
    let empty = header.iter().all(str::is_empty);
    if !empty
        && !header
            .iter()
            .any(|name| other.contains(&name) || resembles_a_column(name))
    {
        return Err(Error::Conflict {
            field: "header".to_owned(),
            found: format!("none of the {} columns is one of readings", header.len()),
            allowed: "a first line with names such as transit_time_us, time_difference_ns, \
                      temperature_degC, volume_flow_m3_h, velocity_m_s, current_mA, pulses, \
                      pulse_count, totaliser_m3, time, remark"
                .to_owned(),
        });
    }
    Ok(())
}

fn in_own_words(error: &csv::Error) -> Error {
    match error.kind() {
        csv::ErrorKind::UnequalLengths {
            expected_len, len, ..
        } => Error::Length {
            field: "row of readings".to_owned(),
            found: *len as usize,
            allowed: format!("{expected_len}, as in the header"),
        },
        _ => Error::Syntax {
            format: "CSV",
            reason: error.to_string(),
        },
    }
}
