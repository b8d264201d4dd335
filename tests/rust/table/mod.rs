//! Tables of readings as they come: whatever form they have, they give the bits of the plain CSV, and
//! what stays open is refused with the option that settles it.

mod forms;
mod maps;
mod open_questions;

use flowdoubt::Result;
use flowdoubt::evaluate::Readings;
use flowdoubt::table::TableOptions;

/// Four invented readings of the demonstration, in the plain form.
pub const PLAIN: &str = "\
time,transit_time_us,time_difference_ns,temperature_degC
2026-09-17T10:00:00,610.7161,798.17,8.12
2026-09-17T10:00:05,610.7153,799.31,8.1
2026-09-17T10:00:10,610.7149,-797.01,8.13
2026-09-17T10:00:15,610.7155,1798.55,8.12
";

pub fn read(bytes: impl Into<Vec<u8>>) -> Result<Readings> {
    read_with(bytes, &TableOptions::default())
}

pub fn read_with(bytes: impl Into<Vec<u8>>, options: &TableOptions) -> Result<Readings> {
    Readings::from_bytes(bytes.into(), "readings.csv", options)
}

/// The readings as columns of CSV in the plain form.
pub fn plain_text(readings: &Readings) -> String {
    use flowdoubt::evaluate::GivenReadings;
    match readings.given() {
        GivenReadings::Csv { text, .. } => text.clone(),
        GivenReadings::Table(table) => table.text.clone(),
        GivenReadings::Columns(_) => panic!("a file"),
    }
}

/// The words of how it was read.
pub fn how_read(readings: &Readings) -> Vec<String> {
    let format = readings.given().format();
    format
        .map(flowdoubt::table::TableFormat::in_words)
        .unwrap_or_default()
}
