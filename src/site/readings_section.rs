//! Section `[readings]`: how the files of readings of a site are written, so that nobody has to say it
//! twice.

use super::builder::Builder;
use crate::error::Result;
use crate::table::{DecimalSign, Delimiter, NamedColumn, StatusColumn, TableOptions};
use serde::de::value::MapAccessDeserializer;
use serde::de::{Deserializer, MapAccess, SeqAccess, Visitor};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fmt;
use toml::Spanned;

/// Section `[readings]`.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ReadingsSection {
    /// What parts the columns: `","`, `";"`, `"tab"` or `"|"`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub delimiter: Option<Spanned<String>>,
    /// What stands before the decimals: `"."` or `","`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub decimal: Option<Spanned<String>>,
    /// The encoding of the text.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub encoding: Option<Spanned<String>>,
    /// Number of rows before the names of the columns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub skip_rows: Option<Spanned<u32>>,
    /// The sheet of a workbook.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sheet: Option<Spanned<String>>,
    /// The column of a status, and the states of good rows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub status: Option<Spanned<StatusSection>>,
    /// Columns by the names that the files give them.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub columns: BTreeMap<String, Spanned<ColumnEntry>>,
}

/// Table `readings.status`.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct StatusSection {
    /// The name of the column.
    pub column: String,
    /// The states of rows to use, as text.
    pub good: Vec<String>,
}

/// What stands behind a quantity in `[readings.columns]`.
#[derive(Debug, Clone, Serialize)]
#[serde(untagged)]
pub(crate) enum ColumnEntry {
    /// The name of the column.
    Name(String),
    /// The names of columns that belong together: date and time of day.
    Names(Vec<String>),
    /// The name, and the unit that is said nowhere else.
    WithUnit(NameAndUnit),
}

/// A name with a unit.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct NameAndUnit {
    /// The name of the column.
    pub name: String,
    /// The unit of its numbers.
    pub unit: String,
}

impl<'de> Deserialize<'de> for ColumnEntry {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> std::result::Result<Self, D::Error> {
        struct Entry;
        impl<'de> Visitor<'de> for Entry {
            type Value = ColumnEntry;
            fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
                f.write_str(
                    "the name of a column as text, a list of names, or a table with name and unit",
                )
            }
            fn visit_str<E>(self, name: &str) -> std::result::Result<ColumnEntry, E> {
                Ok(ColumnEntry::Name(name.to_owned()))
            }
            fn visit_seq<A: SeqAccess<'de>>(
                self,
                mut names: A,
            ) -> std::result::Result<ColumnEntry, A::Error> {
                let mut all = Vec::new();
                while let Some(name) = names.next_element()? {
                    all.push(name);
                }
                Ok(ColumnEntry::Names(all))
            }
            fn visit_map<A: MapAccess<'de>>(
                self,
                map: A,
            ) -> std::result::Result<ColumnEntry, A::Error> {
                let entry = NameAndUnit::deserialize(MapAccessDeserializer::new(map))?;
                Ok(ColumnEntry::WithUnit(entry))
            }
        }
        deserializer.deserialize_any(Entry)
    }
}

impl Builder<'_> {
    /// How the files of readings are written, as far as the site file says it.
    pub(super) fn table_options(&self) -> Result<TableOptions> {
        let mut options = TableOptions::default();
        let Some(section) = &self.sections.readings else {
            return Ok(options);
        };
        if let Some(text) = &section.delimiter {
            let read = Delimiter::from_text(text.get_ref(), "readings.delimiter");
            options.delimiter = Some(read.map_err(|e| self.at(e, text))?);
        }
        if let Some(text) = &section.decimal {
            let read = DecimalSign::from_text(text.get_ref(), "readings.decimal");
            options.decimal = Some(read.map_err(|e| self.at(e, text))?);
        }
        if let Some(text) = &section.encoding {
            TableOptions::check_encoding(text.get_ref(), "readings.encoding")
                .map_err(|e| self.at(e, text))?;
        }
        options.encoding = section.encoding.as_ref().map(|own| own.get_ref().clone());
        options.skip_rows = section
            .skip_rows
            .as_ref()
            .map(|own| *own.get_ref() as usize);
        options.sheet = section.sheet.as_ref().map(|own| own.get_ref().clone());
        if let Some(entry) = &section.status {
            let StatusSection { column, good } = entry.get_ref().clone();
            let status = StatusColumn::new(&column, good, "readings.status");
            options.status = Some(status.map_err(|e| self.at(e, entry))?);
        }
        for (quantity, entry) in &section.columns {
            let (names, unit) = match entry.get_ref().clone() {
                ColumnEntry::Name(name) => (vec![name], None),
                ColumnEntry::Names(names) => (names, None),
                ColumnEntry::WithUnit(NameAndUnit { name, unit }) => (vec![name], Some(unit)),
            };
            let column = NamedColumn::new(quantity, names, unit, "readings.columns");
            options.columns.push(column.map_err(|e| self.at(e, entry))?);
        }
        Ok(options)
    }
}
