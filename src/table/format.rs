//! How a table was read, in words.

use super::options::{DecimalSign, Delimiter};
use crate::error::shortened;
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
    pub(crate) fn left_out_in_words(&self) -> String {
        let counts = self.left_out.iter();
        let words = counts.map(|count| {
            let status = shortened(&count.status);
            format!("{} of status `{status}`", count.rows)
        });
        shown(&listed(words.collect())).into_owned()
    }

    /// What was recognised or stated, one sentence each; nothing of the plain form.
    pub fn in_words(&self) -> Vec<String> {
        let mut words = Vec::new();
        if let Some(sheet) = &self.sheet {
            words.push(format!("workbook, sheet `{}`", shortened(sheet)));
        }
        if let Some(encoding) = &self.encoding {
            words.push(format!("text in {}", shortened(encoding)));
        }
        let parted = self.delimiter.map(Delimiter::plural);
        match (parted, self.separator_line) {
            (None, false) => {}
            (Some(parted), false) => words.push(format!("columns parted by {parted}")),
            (parted, true) => words.push(format!(
                "columns parted by {}, as the first line says",
                parted.unwrap_or("commas")
            )),
        }
        if let Some(decimal) = self.decimal {
            words.push(format!("decimals after a {}", decimal.name()));
        }
        if self.grouped {
            words.push("digits grouped by thousands".to_owned());
        }
        if self.day_first {
            words.push("dates as day.month.year".to_owned());
        }
        match self.rows_before_names {
            0 => {}
            1 => words.push("1 row before the names of the columns".to_owned()),
            rows => words.push(format!("{rows} rows before the names of the columns")),
        }
        if self.unit_row {
            words.push("units in a row of their own".to_owned());
        }
        if !self.columns.is_empty() {
            let columns = self.columns.iter();
            let renamed =
                columns.map(|c| format!("`{}` as {}", shortened(&c.name), shortened(&c.read_as)));
            words.push(format!("columns read: {}", listed(renamed.collect())));
        }
        if !self.not_used.is_empty() {
            let names = self
                .not_used
                .iter()
                .map(|name| format!("`{}`", shortened(name)));
            words.push(format!("columns not used: {}", listed(names.collect())));
        }
        if let Some(column) = &self.status_column {
            let column = shortened(column);
            words.push(match self.rows_left_out() {
                0 => format!("status in `{column}`, no row left out"),
                rows => format!(
                    "status in `{column}`, rows left out: {rows} ({})",
                    self.left_out_in_words()
                ),
            });
        }
        words
            .into_iter()
            .map(|words| shown(&words).into_owned())
            .collect()
    }
}

/// A list that does not grow beyond what is read.
fn listed(mut words: Vec<String>) -> String {
    let more = words.len().saturating_sub(SHOWN);
    words.truncate(SHOWN);
    match more {
        0 => words.join(", "),
        more => format!("{} and {more} more", words.join(", ")),
    }
}
