//! A table of readings as cells, with the meaning of its columns and how it was read.

use super::column_name::ColumnName;
use super::columns::{
    HEADER_ROWS, Kind, channels_in, is_unit_row, kinds, plain_kinds, resembling_in, with_units,
};
use super::dates::{day_first, joined};
use super::decimal::{Told, is_written_in_groups, plain, told};
use super::format::{RenamedColumn, StatusCount, TableFormat};
use super::header_check::{check_header, check_lengths};
use super::options::{DecimalSign, Delimiter, StatusColumn, TableOptions};
use super::raw::{Content, Opened, RawTable};
use crate::error::{Error, Result, shortened};
use crate::line_numbers::line_of;
use crate::text::shown;
use csv::StringRecord;
use std::borrow::Cow;
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
    numbers: Vec<Vec<bool>>,
    decimal: DecimalSign,
    /// The column of the time of day, where dates have one of their own.
    time_of_day: Option<usize>,
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

/// Where the rows of a text begin.
struct Beginning {
    delimiter: Delimiter,
    /// The byte at which reading begins.
    offset: usize,
    /// Rows before the names from there.
    rows: usize,
    /// Whether a line `sep=` stands first.
    separator_line: bool,
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
            false => table.beginning(text, options)?,
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

    /// What parts the columns of a text, and where their names stand.
    fn beginning(&self, text: &str, options: &TableOptions) -> Result<Beginning> {
        let body = text.strip_prefix('\u{feff}').unwrap_or(text);
        let first = body.lines().next().unwrap_or("");
        let mut offset = 0;
        let mut said = options.delimiter;
        // a line by which spreadsheets are told what parts the columns
        let separator = first
            .get(..4)
            .filter(|start| start.eq_ignore_ascii_case("sep="));
        if separator.is_some() {
            let sign = first[4..].trim_matches('"');
            let sign = if sign.is_empty() {
                ""
            } else {
                sign.get(..1).unwrap_or(sign)
            };
            let found = Delimiter::from_text(sign, "sep");
            said = Some(match said {
                Some(stated) => stated,
                None => found.map_err(|error| error.in_file(self.file, 1))?,
            });
            offset = text.len() - body.len() + first.len();
            offset += line_end(&text[offset..]);
        }
        for line in 0..options.skip_rows.unwrap_or(0) {
            if line == 0 && separator.is_some() {
                continue;
            }
            let rest = &text[offset..];
            let length = rest.find('\n').map_or(rest.len(), |end| end + 1);
            offset += length;
        }
        let looked_at = match options.skip_rows {
            Some(_) => 1,
            None => HEADER_ROWS,
        };
        let tried = match said {
            Some(delimiter) => vec![delimiter],
            None => Delimiter::ALL.to_vec(),
        };
        let mut best: Option<((usize, usize), Beginning)> = None;
        for delimiter in tried {
            let mut reader = reader_of(&text[offset..], delimiter);
            let rows: Vec<StringRecord> = reader
                .records()
                .take(looked_at)
                .map_while(std::result::Result::ok)
                .collect();
            let (score, rows) = best_row(rows.iter(), options);
            if best.as_ref().is_none_or(|(own, _)| score > *own) {
                let begin = Beginning {
                    delimiter,
                    offset,
                    rows,
                    separator_line: separator.is_some(),
                };
                best = Some((score, begin));
            }
        }
        let begin = best.map(|(_, begin)| begin);
        Ok(begin.unwrap_or(Beginning {
            delimiter: Delimiter::Comma,
            offset,
            rows: 0,
            separator_line: separator.is_some(),
        }))
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

    /// Finds out how numbers and dates are written.
    fn recognise_cells(&mut self, options: &TableOptions, commas: bool) -> Result<()> {
        self.decimal = match options.decimal {
            Some(stated) => stated,
            None => self.decimal_sign(commas)?,
        };
        self.format.decimal = Some(self.decimal).filter(|sign| *sign != DecimalSign::Point);
        let grouped = self.number_columns().any(|column| {
            let cells = self.cells(column).enumerate();
            cells
                .filter(|(row, _)| !self.is_number(*row, column))
                .any(|(_, cell)| is_written_in_groups(cell, self.decimal))
        });
        self.format.grouped = grouped;
        let time = self
            .names
            .iter()
            .position(|(_, kind)| matches!(kind, ColumnName::Time));
        if let Some(time) = time {
            let mut given = self
                .times(time)
                .filter(|text| !text.trim().is_empty())
                .peekable();
            let all_so = given.peek().is_some() && given.all(|text| day_first(&text).is_some());
            drop(given);
            self.format.day_first = all_so;
        }
        Ok(())
    }

    /// The columns of numbers that are ours.
    fn number_columns(&self) -> impl Iterator<Item = usize> {
        let names = self.names.iter().enumerate();
        names
            .filter(|(_, (_, kind))| {
                matches!(kind, ColumnName::Channel(..) | ColumnName::TimeIn(_))
            })
            .map(|(place, _)| place)
    }

    /// Whether a cell of a sheet is a number, and not text.
    fn is_number(&self, row: usize, column: usize) -> bool {
        let cells = self.numbers.get(row);
        cells.is_some_and(|cells| cells.get(column).copied().unwrap_or(false))
    }

    /// The sign before decimals, from all numbers of the table.
    fn decimal_sign(&self, commas: bool) -> Result<DecimalSign> {
        let mut signs: [Option<(usize, usize)>; 2] = [None; 2];
        let mut open: [Option<(usize, usize)>; 2] = [None; 2];
        for column in self.number_columns() {
            for (row, cell) in self.cells(column).enumerate() {
                if self.is_number(row, column) {
                    continue;
                }
                let place = match told(cell) {
                    Told::Nothing => continue,
                    Told::Sign(sign) => &mut signs[sign as usize],
                    Told::Open(sign) => &mut open[sign as usize],
                };
                place.get_or_insert((row, column));
            }
        }
        let [point, comma] = signs;
        match (point, comma) {
            (Some(_), None) => return Ok(DecimalSign::Point),
            (None, Some(_)) => return Ok(DecimalSign::Comma),
            // in the plain form a comma in a number is a slip
            (Some(_), Some(_)) if commas => return Ok(DecimalSign::Point),
            (Some(one), Some(other)) => {
                let found = format!(
                    "`{}` with a point in line {}, though other numbers have decimal commas",
                    shortened(self.cell(one)),
                    self.line(one.0)
                );
                return Err(self.of_cell(other, found, SETTLED_BY_DECIMAL));
            }
            (None, None) => {}
        }
        match open {
            [None, None] => Ok(DecimalSign::Point),
            // the plain form: commas part the columns, so that no number has one
            [Some(_), None] if commas => Ok(DecimalSign::Point),
            [point, comma] => {
                let place = comma.or(point).unwrap_or_default();
                let found =
                    "which may be decimals or thousands: no number of the table tells".to_owned();
                Err(self.of_cell(place, found, SETTLED_BY_DECIMAL))
            }
        }
    }

    fn cell(&self, (row, column): (usize, usize)) -> &str {
        self.rows
            .get(row)
            .and_then(|row| row.get(column))
            .unwrap_or("")
    }

    /// An error of a cell, with its value.
    fn of_cell(&self, place: (usize, usize), found: String, allowed: &str) -> Error {
        let (name, _) = &self.names[place.1];
        let error = Error::Conflict {
            field: name.clone(),
            found: format!("`{}`, {found}", shortened(self.cell(place))),
            allowed: allowed.to_owned(),
        };
        self.in_row(error, place.0)
    }

    /// The cells of a column.
    pub(crate) fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        self.rows
            .iter()
            .map(move |row| row.get(column).unwrap_or(""))
    }

    /// A cell as a program writes numbers; `None` for what is no number.
    pub(crate) fn number_text(&self, row: usize, column: usize) -> Option<Cow<'_, str>> {
        let cell = self.cell((row, column));
        match self.is_number(row, column) {
            true => Some(Cow::Borrowed(cell)),
            false => plain(cell, self.decimal),
        }
    }

    /// A cell as a number; `None` for what is none.
    pub(crate) fn number(&self, row: usize, column: usize) -> Option<f64> {
        self.number_text(row, column)?.parse().ok()
    }

    /// The words of what is allowed in place of a cell that is no number.
    pub(crate) fn allowed_number(&self, cell: &str) -> String {
        match self.decimal {
            DecimalSign::Comma => {
                "a finite number, decimals with a comma as in the rest of the table (`decimal`)"
                    .to_owned()
            }
            DecimalSign::Point => {
                format!("a finite number{}", crate::units::decimal_point(cell))
            }
        }
    }

    /// The times of a column as they are written, with those of the day beside.
    pub(crate) fn times(&self, column: usize) -> impl Iterator<Item = Cow<'_, str>> {
        let of_day = self.time_of_day;
        self.rows.iter().map(move |row| {
            let own = row.get(column).unwrap_or("");
            match of_day {
                None => Cow::Borrowed(own),
                Some(place) => Cow::Owned(joined(own, row.get(place).unwrap_or(""))),
            }
        })
    }

    /// The times of a column as RFC 3339 has them.
    pub(crate) fn time_texts(&self, column: usize) -> Vec<Cow<'_, str>> {
        let times = self.times(column);
        let read = times.map(|text| match self.format.day_first {
            true => day_first(&text).map_or(text, Cow::Owned),
            false => text,
        });
        read.collect()
    }

    /// Leaves out the rows whose status is not to be used, and counts them.
    ///
    /// # Errors
    /// A column of a status that is not there.
    pub(crate) fn leave_out_by_status(&mut self, status: Option<&StatusColumn>) -> Result<()> {
        let Some(status) = status else {
            return Ok(());
        };
        let place = self.place_of(&status.column)?;
        let (mut kept, mut numbers) = (Vec::new(), Vec::new());
        let mut counts: Vec<StatusCount> = Vec::new();
        for (row, cells) in std::mem::take(&mut self.rows).into_iter().enumerate() {
            let own = cells.get(place).unwrap_or("");
            if status.accepts(own) {
                kept.push(cells);
                numbers.extend(self.numbers.get(row).cloned());
                continue;
            }
            let own = shown(&shortened(own)).into_owned();
            match counts.iter().position(|count| count.status == own) {
                Some(place) => counts[place].rows += 1,
                // a column of something else has a state of its own in every row
                None if counts.len() >= MOST_STATES => {
                    if let Some(last) = counts.last_mut() {
                        "others".clone_into(&mut last.status);
                        last.rows += 1;
                    }
                }
                None => counts.push(StatusCount {
                    status: own,
                    rows: 1,
                }),
            }
        }
        (self.rows, self.numbers) = (kept, numbers);
        self.format.status_column = Some(shown(&status.column).into_owned());
        self.format.left_out = counts;
        Ok(())
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
                needed: "the column of the selection".to_owned(),
            })
        })
    }

    /// The table in the plain form: the columns that are ours, under our names.
    pub(crate) fn in_plain_form(&self) -> String {
        let ours: Vec<usize> = (0..self.names.len())
            .filter(|place| {
                !matches!(
                    self.names[*place].1,
                    ColumnName::NotUsed | ColumnName::Other
                )
            })
            .collect();
        let time = ours
            .iter()
            .find(|place| matches!(self.names[**place].1, ColumnName::Time));
        let times = time.map(|place| self.time_texts(*place));
        let mut writer = csv::Writer::from_writer(Vec::new());
        // writing to memory cannot fail
        let _ = writer.write_record(ours.iter().map(|place| self.names[*place].0.as_str()));
        for row in 0..self.rows.len() {
            let cells = ours.iter().map(|place| match &self.names[*place].1 {
                ColumnName::Time if Some(place) == time => {
                    let text = times.as_ref().and_then(|times| times.get(row));
                    text.cloned().unwrap_or_default()
                }
                // what is no number here must be none in the plain form
                ColumnName::Channel(..) | ColumnName::TimeIn(_) => {
                    self.number_text(row, *place).unwrap_or_default()
                }
                _ => Cow::Borrowed(self.cell((row, *place))),
            });
            let cells: Vec<Cow<'_, str>> = cells.collect();
            let _ = writer.write_record(cells.iter().map(|cell| cell.as_bytes()));
        }
        let bytes = writer.into_inner().unwrap_or_default();
        String::from_utf8(bytes).unwrap_or_default()
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
    fn line(&self, row: usize) -> usize {
        self.line_at(self.rows.get(row).and_then(StringRecord::position))
    }

    fn line_at(&self, position: Option<&csv::Position>) -> usize {
        match self.text {
            Some(text) => line_of_row(text, position.map_or(0, |p| p.byte() as usize)),
            None => position.map_or(1, |p| p.line() as usize),
        }
    }
}

const SETTLED_BY_DECIMAL: &str = "the sign before the decimals by `decimal`, \".\" or \",\"";

/// States that are counted one by one.
const MOST_STATES: usize = 20;

fn reader_of(text: &str, delimiter: Delimiter) -> csv::Reader<&[u8]> {
    csv::ReaderBuilder::new()
        .trim(csv::Trim::All)
        .has_headers(false)
        .flexible(true)
        .delimiter(delimiter.sign())
        .from_reader(text.as_bytes())
}

/// How many columns of readings a row names, or means to name, and the row that names most.
fn best_row<'r>(
    rows: impl Iterator<Item = &'r StringRecord>,
    options: &TableOptions,
) -> ((usize, usize), usize) {
    let mut best = ((0, 0), 0);
    for (place, row) in rows.enumerate() {
        // names that are slips count in the first row alone
        let slips = if place == 0 { resembling_in(row) } else { 0 };
        let score = (channels_in(row, options), slips);
        if score > best.0 {
            best = (score, place);
        }
    }
    best
}

/// The length of the end of a line with which text begins.
fn line_end(text: &str) -> usize {
    match text.as_bytes() {
        [b'\r', b'\n', ..] => 2,
        [b'\r' | b'\n', ..] => 1,
        _ => 0,
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
