//! The cells of a table: how numbers and dates are written, rows by their status, the plain form.

use super::column_name::ColumnName;
use super::dates::{day_first, joined};
use super::decimal::{Told, is_written_in_groups, plain, told};
use super::format::StatusCount;
use super::options::{DecimalSign, StatusColumn, TableOptions};
use super::table_of_readings::Table;
use crate::error::{Error, Result, shortened};
use crate::text::shown;
use std::borrow::Cow;

const SETTLED_BY_DECIMAL: &str = "the sign before the decimals by `decimal`, \".\" or \",\"";

/// States that are counted one by one.
const MOST_STATES: usize = 20;

impl Table<'_> {
    /// Finds out how numbers and dates are written.
    pub(super) fn recognise_cells(&mut self, options: &TableOptions, commas: bool) -> Result<()> {
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
}
