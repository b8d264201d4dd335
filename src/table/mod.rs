//! Tables of readings as they come from meters, loggers and spreadsheets.

mod channel;
mod column_name;
mod csv_table;

pub use channel::Channel;
pub(crate) use channel::tells_flow;
pub(crate) use column_name::{ColumnName, read_name};
pub(crate) use csv_table::CsvTable;
