//! A table of readings as cells, with the meaning of its columns and how it was read.

use super::beginning::{Beginning, beginning, best_row, reader_of};
use super::column_name::ColumnName;
use super::columns::{HEADER_ROWS, Kind, channels_in, is_unit_row, kinds, plain_kinds, with_units};
use super::format::{RenamedColumn, TableFormat};
use super::header_check::{check_header, check_lengths};
use super::options::{DecimalSign, Delimiter, TableOptions};
use super::raw::{Content, Opened, RawTable};
use crate::error::{Error, Result, shortened};
use crate::line_numbers::line_of;
use crate::text::shown;
use csv::StringRecord;
use std::path::Path;

/// The cells of a table whose rows are as long as its header.
#[derive(Debug)]
pub(crate) struct Table<'a> {
    /// The text that was read; `None` of a sheet.
    text: Option<&'a str>,
    file: &'a Path,
    header: Option<csv::Position>,
    /// Name, as ours, and meaning of each column.
    pub(crate) names: Vec<(String, ColumnName)>,
    pub(crate) rows: Vec<StringRecord>,
    /// Which cells of a sheet are numbers.
    pub(super) numbers: Vec<Vec<bool>>,
    pub(super) decimal: DecimalSign,
    /// The column of the time of day, where dates have one of their own.
    pub(super) time_of_day: Option<usize>,
    /// How it was read.
    pub(crate) format: TableFormat,
}

/// How much is recognised.
#[derive(Clone, Copy)]
enum Recognition<'o> {
    /// Nothing: the table is in the plain form.
    Nothing,
    /// What the options leave open.
    Beside(&'o TableOptions),
}

impl<'a> Table<'a> {
    /// Reads what a file holds; `file` is the name used in errors. Columns whose names are among the
    /// `others` are kept as words.
    ///
    /// # Errors
    /// What is no table of readings, a row of another length than the names, a column or unit that is
    /// none, decimals of which it is open what they are; each with file and line, and the option that
    /// settles it.
    pub(crate) fn read(
        opened: &'a Opened,
        file: &'a Path,
        options: &TableOptions,
        others: &[&str],
    ) -> Result<Table<'a>> {
        let mut table = match &opened.content {
            Content::Text(text) => {
                Table::of_text(text, file, Recognition::Beside(options), others)?
            }
            Content::Sheet(name, rows) => Table::of_sheet(rows, name, file, options, others)?,
        };
        table.format.encoding = opened.encoding.clone();
        Ok(table)
    }

    /// Reads text in the plain form, in which nothing is recognised.
    ///
    /// # Errors
    /// As [`Table::read`].
    pub(crate) fn read_plain(text: &'a str, file: &'a Path) -> Result<Table<'a>> {
        Table::of_text(text, file, Recognition::Nothing, &[])
    }

    fn new(text: Option<&'a str>, file: &'a Path) -> Table<'a> {
        Table {
            text,
            file,
            header: None,
            names: Vec::new(),
            rows: Vec::new(),
            numbers: Vec::new(),
            decimal: DecimalSign::Point,
            time_of_day: None,
            format: TableFormat::default(),
        }
    }

    fn of_text(
        text: &'a str,
        file: &'a Path,
        recognition: Recognition<'_>,
        others: &[&str],
    ) -> Result<Table<'a>> {
        let mut table = Table::new(Some(text), file);
        let default = TableOptions::default();
        let options = match recognition {
            Recognition::Beside(options) => options,
            Recognition::Nothing => &default,
        };
        let plain_form = matches!(recognition, Recognition::Nothing);
        let begin = match plain_form {
            true => Beginning {
                delimiter: Delimiter::Comma,
                offset: 0,
                rows: 0,
                separator_line: false,
            },
            false => beginning(text, file, options)?,
        };
        let mut reader = reader_of(&text[begin.offset..], begin.delimiter);
        let mut records = reader.records();
        let mut next = |table: &Table<'a>| match records.next() {
            None => Ok(None),
            Some(Ok(mut record)) => {
                let moved = record.position().cloned().map(|mut position| {
                    position.set_byte(position.byte() + begin.offset as u64);
                    position
                });
                record.set_position(moved);
                Ok(Some(record))
            }
            Some(Err(error)) => Err(table.at(in_own_words(&error), error.position())),
        };
        for _ in 0..begin.rows {
            next(&table)?;
        }
        let header = next(&table)?.unwrap_or_default();
        table.header = header.position().cloned();
        let second = next(&table)?;
        let stated = options.delimiter.or(Some(begin.delimiter));
        let stated = stated.filter(|delimiter| *delimiter != Delimiter::Comma);
        let used = table.read_columns(
            &header,
            second.as_ref(),
            (options, plain_form),
            others,
            stated,
        )?;
        let mut row = second.filter(|_| !used);
        while let Some(record) = match row.take() {
            Some(record) => Some(record),
            None => next(&table)?,
        } {
            table.check_length(&record, begin.delimiter)?;
            table.rows.push(record);
        }
        let format = &mut table.format;
        format.delimiter = Some(begin.delimiter).filter(|d| *d != Delimiter::Comma);
        format.separator_line = begin.separator_line;
        format.rows_before_names = begin.rows + options.skip_rows.unwrap_or(0);
        if !plain_form {
            table.recognise_cells(options, begin.delimiter == Delimiter::Comma)?;
        }
        Ok(table)
    }

    fn of_sheet(
        raw: &RawTable,
        name: &str,
        file: &'a Path,
        options: &TableOptions,
        others: &[&str],
    ) -> Result<Table<'a>> {
        let mut table = Table::new(None, file);
        let skipped = options.skip_rows.unwrap_or(0);
        let after = |row: &StringRecord| {
            row.position()
                .is_some_and(|position| position.line() > skipped as u64)
        };
        let start = raw.rows.iter().position(after).unwrap_or(raw.rows.len());
        let looked_at = match options.skip_rows {
            Some(_) => 1,
            None => HEADER_ROWS,
        };
        let rows = &raw.rows[start..];
        let (_, at) = best_row(rows.iter().take(looked_at), options);
        let mut header = rows.get(at).cloned().unwrap_or_default();
        table.header = header.position().cloned();
        // what stands beside the table without a name
        let width = rows
            .iter()
            .skip(at)
            .map(StringRecord::len)
            .max()
            .unwrap_or(0);
        let padded = |row: &mut StringRecord| {
            while row.len() < width {
                row.push_field("");
            }
        };
        padded(&mut header);
        let below = rows.get(at + 1).cloned().map(|mut row| {
            padded(&mut row);
            row
        });
        let used = table.read_columns(&header, below.as_ref(), (options, false), others, None)?;
        let first = at + 1 + usize::from(used);
        for (place, row) in rows.iter().enumerate().skip(first) {
            let mut row = row.clone();
            padded(&mut row);
            table.rows.push(row);
            table.numbers.push(raw.numbers[start + place].clone());
        }
        table.format.sheet = Some(shown(name).into_owned());
        let line = table.header.as_ref().map_or(1, csv::Position::line);
        table.format.rows_before_names = usize::try_from(line).unwrap_or(1).saturating_sub(1);
        table.recognise_cells(options, false)?;
        Ok(table)
    }

    /// Reads the meaning of the columns; whether the row below their names was one of units.
    fn read_columns(
        &mut self,
        header: &StringRecord,
        below: Option<&StringRecord>,
        (options, plain_form): (&TableOptions, bool),
        others: &[&str],
        stated: Option<Delimiter>,
    ) -> Result<bool> {
        let mut others = others.to_vec();
        others.extend(options.status.iter().map(|status| status.column.as_str()));
        let readings = channels_in(header, options);
        if readings == 0 || plain_form {
            check_header(header, &others, stated).map_err(|e| self.in_header(e))?;
            if !plain_form {
                // a map that does not fit is told of before names that are none of ours
                kinds(header, options, &others).map_err(|e| self.in_header(e))?;
            }
            let kinds = plain_kinds(header, &others).map_err(|e| self.in_header(e))?;
            self.names = with_units(header, kinds, None).map_err(|e| self.in_header(e))?;
            return Ok(false);
        }
        check_lengths(header).map_err(|e| self.in_header(e))?;
        let kinds = kinds(header, options, &others).map_err(|e| self.in_header(e))?;
        let units = below.filter(|row| is_unit_row(row, &kinds));
        self.time_of_day = kinds
            .iter()
            .position(|kind| matches!(kind, Kind::TimeOfDay));
        self.names = with_units(header, kinds, units).map_err(|e| self.in_header(e))?;
        for (place, cell) in header.iter().enumerate() {
            let (own, kind) = &self.names[place];
            let named = match cell {
                "" => format!("column {}", place + 1),
                cell => shown(&shortened(cell)).into_owned(),
            };
            match kind {
                _ if Some(place) == self.time_of_day => {
                    let read_as = "time, time of day".to_owned();
                    self.format.columns.push(RenamedColumn {
                        name: named,
                        read_as,
                    });
                }
                ColumnName::NotUsed => self.format.not_used.push(named),
                ColumnName::Other => {}
                _ if own == cell => {}
                _ => self.format.columns.push(RenamedColumn {
                    name: named,
                    read_as: own.clone(),
                }),
            }
        }
        self.format.unit_row = units.is_some();
        Ok(units.is_some())
    }

    fn check_length(&self, row: &StringRecord, delimiter: Delimiter) -> Result<()> {
        let expected = self.names.len();
        // loggers like to end a row with what parts its cells
        if row.len() == expected
            || (row.len() > expected && row.iter().skip(expected).all(str::is_empty))
        {
            return Ok(());
        }
        let commas = match delimiter {
            Delimiter::Comma if row.len() > expected => {
                "; numbers with decimal commas are told from columns only where something else parts \
                 these"
            }
            _ => "",
        };
        let error = Error::Length {
            field: "row of readings".to_owned(),
            found: row.len(),
            allowed: format!("{expected}, as in the header{commas}"),
        };
        Err(self.at(error, row.position()))
    }

    /// The place of a column that was asked for.
    ///
    /// # Errors
    /// A name that no column has.
    pub(crate) fn place_of(&self, name: &str) -> Result<usize> {
        let found = self.names.iter().position(|(other, _)| other == name);
        found.ok_or_else(|| {
            self.in_header(Error::Missing {
                field: name.to_owned(),
                needed: "the column that `status` or `signal` names".to_owned(),
            })
        })
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
        error.in_file(self.file, self.line_at(position))
    }

    /// The line of a row.
    pub(super) fn line(&self, row: usize) -> usize {
        self.line_at(self.rows.get(row).and_then(StringRecord::position))
    }

    fn line_at(&self, position: Option<&csv::Position>) -> usize {
        match self.text {
            Some(text) => line_of_row(text, position.map_or(0, |p| p.byte() as usize)),
            None => position.map_or(1, |p| p.line() as usize),
        }
    }
}

/// The line of the row that follows `offset`; the reader counts blank lines before it as part of
/// the row.
fn line_of_row(text: &str, offset: usize) -> usize {
    let rest = text.as_bytes().iter().skip(offset);
    let blank = rest.take_while(|byte| matches!(byte, b'\n' | b'\r'));
    line_of(text, offset + blank.count())
}

fn in_own_words(error: &csv::Error) -> Error {
    Error::Syntax {
        format: "CSV",
        reason: error.to_string(),
    }
}
