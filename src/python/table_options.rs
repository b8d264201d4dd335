//! How tables are to be read, from Python.

use crate::error::Result;
use crate::table::{DecimalSign, Delimiter, NamedColumn, StatusColumn, TableOptions};
use pyo3::prelude::*;

/// What is stated of a table; the rest is recognised.
#[derive(FromPyObject)]
#[pyo3(from_item_all)]
pub(super) struct StatedTable {
    delimiter: Option<String>,
    decimal: Option<String>,
    encoding: Option<String>,
    skip_rows: Option<usize>,
    sheet: Option<String>,
    /// Quantity, names of columns, unit.
    columns: Vec<(String, Vec<String>, Option<String>)>,
    /// Column, and states of good rows.
    status: Option<(String, Vec<String>)>,
}

impl StatedTable {
    /// These, and where they say nothing those of a site.
    pub(super) fn or(stated: Option<StatedTable>, others: &TableOptions) -> Result<TableOptions> {
        match stated {
            Some(stated) => Ok(stated.options()?.or(others)),
            None => Ok(others.clone()),
        }
    }

    fn options(self) -> Result<TableOptions> {
        let mut options = TableOptions::default();
        let delimiter = self.delimiter.as_deref();
        let delimiter = delimiter.map(|text| Delimiter::from_text(text, "delimiter"));
        options.delimiter = delimiter.transpose()?;
        let decimal = self.decimal.as_deref();
        let decimal = decimal.map(|text| DecimalSign::from_text(text, "decimal"));
        options.decimal = decimal.transpose()?;
        if let Some(label) = &self.encoding {
            TableOptions::check_encoding(label, "encoding")?;
        }
        options.encoding = self.encoding;
        options.skip_rows = self.skip_rows;
        options.sheet = self.sheet;
        for (quantity, names, unit) in self.columns {
            options
                .columns
                .push(NamedColumn::new(&quantity, names, unit, "columns")?);
        }
        let status = self.status;
        let status = status.map(|(column, good)| StatusColumn::new(&column, good, "status"));
        options.status = status.transpose()?;
        Ok(options)
    }
}
