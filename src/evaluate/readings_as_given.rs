//! Readings in the words in which they were given.

use crate::table::TableFormat;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Readings as they were given, to the last bit, so that a record can hold them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields, rename_all = "snake_case")]
pub enum GivenReadings {
    /// The text of a CSV file.
    Csv {
        /// The name of the file, without its folders.
        file: String,
        /// Its text.
        text: String,
    },
    /// Columns of numbers.
    Columns(Vec<GivenColumn>),
    /// A table in another form.
    Table(GivenTable),
}

/// A table that was not in the plain form: what was read from it, and how.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenTable {
    /// The name of the file, without its folders.
    pub file: String,
    /// SHA-256 of the file, in hexadecimal digits.
    pub sha256: String,
    /// How it was read.
    pub read: TableFormat,
    /// The columns of readings as CSV in the plain form.
    pub text: String,
}

/// A column of readings, in the unit of its name.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GivenColumn {
    /// The name with its unit, such as `transit_time_us`.
    pub name: String,
    /// The readings, shape `(n,)`.
    pub values: Vec<f64>,
}

impl GivenReadings {
    /// The readings as CSV text in the plain form, with the name of their file; `None` where they came
    /// as numbers.
    pub(crate) fn csv(&self) -> Option<(&str, &str)> {
        match self {
            GivenReadings::Csv { file, text } => Some((file, text)),
            GivenReadings::Table(table) => Some((&table.file, &table.text)),
            GivenReadings::Columns(_) => None,
        }
    }

    /// How the table was read, where it was not in the plain form.
    pub fn format(&self) -> Option<&TableFormat> {
        match self {
            GivenReadings::Table(table) => Some(&table.read),
            GivenReadings::Csv { .. } | GivenReadings::Columns(_) => None,
        }
    }
}

impl Default for GivenReadings {
    fn default() -> Self {
        GivenReadings::Columns(Vec::new())
    }
}
