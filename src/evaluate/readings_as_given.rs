//! Readings in the words in which they were given.

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

impl Default for GivenReadings {
    fn default() -> Self {
        GivenReadings::Columns(Vec::new())
    }
}
