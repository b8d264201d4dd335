//! How a table was read, in words.

use super::options::{DecimalSign, Delimiter};
use crate::error::shortened;
use crate::message::{Message, Told, message};
use crate::text::shown;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How a table was read: all in which it differs from the plain form, which is text in UTF-8 with
/// commas between the columns, points before the decimals and names with units in the first line.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[non_exhaustive]
pub struct TableFormat {
    /// The encoding of a text, unless UTF-8.
    pub encoding: Option<String>,
    /// What parts the columns, unless commas.
    pub delimiter: Option<Delimiter>,
    /// Whether a first line `sep=` says what parts the columns.
    pub separator_line: bool,
    /// What stands before the decimals, unless a point.
    pub decimal: Option<DecimalSign>,
    /// Whether digits are grouped by thousands.
    pub grouped: bool,
    /// Whether dates are written day.month.year.
    pub day_first: bool,
    /// The sheet of a workbook.
    pub sheet: Option<String>,
    /// Number of rows before the names of the columns.
    pub rows_before_names: usize,
    /// Whether units stand in a row of their own.
    pub unit_row: bool,
    /// Columns that have names of their own.
    pub columns: Vec<RenamedColumn>,
    /// Columns that were not used.
    pub not_used: Vec<String>,
    /// The column of the status.
    pub status_column: Option<String>,
    /// Rows that were left out for their status.
    pub left_out: Vec<StatusCount>,
}

/// A column of a table under another name than ours.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct RenamedColumn {
    /// Its name in the table.
    pub name: String,
    /// As what it was read, such as `transit_time_us`.
    pub read_as: String,
}

/// How many rows have a status.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct StatusCount {
    /// The status.
    pub status: String,
    /// The number of rows.
    pub rows: usize,
}

/// Names that a list shows before it says how many there are more.
const SHOWN: usize = 12;

impl TableFormat {
    /// Whether the table is in the plain form.
    pub fn is_plain(&self) -> bool {
        *self == TableFormat::default()
    }

    /// How many rows were left out for their status.
    pub fn rows_left_out(&self) -> usize {
        // a record may say anything
        let rows = self.left_out.iter().map(|count| count.rows);
        rows.fold(0, usize::saturating_add)
    }

    /// The rows that were left out, by status: `3 of status \`error\``.
    pub(crate) fn left_out_told(&self) -> Told {
        let counts = self.left_out.iter().map(|count| {
            message!(
                "readings.of_status",
                "{rows} of status `{status}`",
                rows = count.rows.to_string(),
                status = theirs(&count.status),
            )
        });
        listed(counts.map(Told::from).collect())
    }

    /// What was recognised or stated, one sentence each; nothing of the plain form.
    pub fn in_words(&self) -> Vec<String> {
        self.told().iter().map(Message::words).collect()
    }

    /// As [`TableFormat::in_words`], to be said in any language.
    pub fn told(&self) -> Vec<Message> {
        let mut told = Vec::new();
        if let Some(sheet) = &self.sheet {
            told.push(message!(
                "readings.sheet",
                "workbook, sheet `{sheet}`",
                sheet = theirs(sheet)
            ));
        }
        if let Some(encoding) = &self.encoding {
            let encoding = theirs(encoding);
            told.push(message!(
                "readings.encoding",
                "text in {encoding}",
                encoding = encoding
            ));
        }
        match (self.delimiter.map(Delimiter::plural), self.separator_line) {
            (None, false) => {}
            (Some(parted), false) => told.push(message!(
                "readings.delimiter",
                "columns parted by {delimiter}",
                delimiter = parted
            )),
            (parted, true) => told.push(message!(
                "readings.delimiter_line",
                "columns parted by {delimiter}, as the first line says",
                delimiter = parted.unwrap_or("commas")
            )),
        }
        if let Some(decimal) = self.decimal {
            let sign = decimal.name();
            told.push(message!(
                "readings.decimal",
                "decimals after a {sign}",
                sign = sign
            ));
        }
        if self.grouped {
            told.push(message!("readings.grouped", "digits grouped by thousands"));
        }
        if self.day_first {
            told.push(message!("readings.day_first", "dates as day.month.year"));
        }
        match self.rows_before_names {
            0 => {}
            1 => told.push(message!(
                "readings.row_before_names",
                "1 row before the names of the columns"
            )),
            rows => told.push(message!(
                "readings.rows_before_names",
                "{rows} rows before the names of the columns",
                rows = rows.to_string()
            )),
        }
        if self.unit_row {
            told.push(message!("readings.unit_row", "units in a row of their own"));
        }
        if !self.columns.is_empty() {
            let renamed = self.columns.iter().map(|column| {
                message!(
                    "readings.renamed",
                    "`{name}` as {read_as}",
                    name = theirs(&column.name),
                    read_as = theirs(&column.read_as)
                )
            });
            let list = listed(renamed.map(Told::from).collect());
            told.push(message!(
                "readings.columns",
                "columns read: {list}",
                list = list
            ));
        }
        if !self.not_used.is_empty() {
            let names = self.not_used.iter();
            let names =
                names.map(|name| Told::Theirs(shown(&format!("`{}`", shortened(name))).into()));
            let list = listed(names.collect());
            told.push(message!(
                "readings.not_used",
                "columns not used: {list}",
                list = list
            ));
        }
        if let Some(column) = &self.status_column {
            let column = theirs(column);
            told.push(match self.rows_left_out() {
                0 => message!(
                    "readings.status",
                    "status in `{column}`, no row left out",
                    column = column
                ),
                rows => message!(
                    "readings.status_left_out",
                    "status in `{column}`, rows left out: {rows} ({counts})",
                    column = column,
                    rows = rows.to_string(),
                    counts = self.left_out_told()
                ),
            });
        }
        told
    }
}

/// What somebody wrote, fit to be shown.
fn theirs(text: &str) -> Told {
    Told::Theirs(shown(&shortened(text)).into_owned())
}

/// A list that does not grow beyond what is read.
fn listed(mut each: Vec<Told>) -> Told {
    let more = each.len().saturating_sub(SHOWN);
    each.truncate(SHOWN);
    let list = Told::Joined(each, ", ");
    match more {
        0 => list,
        more => message!(
            "sentences.and_more",
            "{list} and {more} more",
            list = list,
            more = more.to_string()
        )
        .into(),
    }
}
