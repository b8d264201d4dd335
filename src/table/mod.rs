//! Tables of readings as they come from meters, loggers and spreadsheets.
//!
//! A file is text in some encoding, or a workbook; its columns are parted by commas or something else
//! and named as their maker liked; decimals stand after a point or a comma. What [`TableOptions`] leave
//! open is recognised from the whole table and said by [`TableFormat`]; what stays open is refused with
//! the option that settles it. Nothing is guessed from a single cell.

mod beginning;
mod cells;
mod channel;
mod column_name;
mod columns;
mod dates;
mod decimal;
mod encoding;
mod format;
mod header_check;
mod options;
mod raw;
mod table_of_readings;
#[cfg(feature = "workbook")]
mod workbook;

pub use channel::Channel;
pub(crate) use channel::tells_flow;
pub(crate) use column_name::{ColumnName, read_name};
pub use format::{RenamedColumn, StatusCount, TableFormat};
pub use options::{DecimalSign, Delimiter, NamedColumn, StatusColumn, TableOptions};
pub(crate) use raw::Opened;
pub(crate) use table_of_readings::Table;
