//! Series: flow row by row, totals, gaps and rows that cannot be used.

mod clocks;
mod counts;
mod direction;
mod faults;
mod logs;
mod periods;
mod rows;
mod run;
mod site_keys;
mod skipped_periods;
mod total;
mod total_budget;

use crate::support::philox::philox;
use crate::support::plain_demo;
use flowdoubt::Result;
use flowdoubt::evaluate::{
    Channel, Faults, Log, Readings, Repeatability, Series, SeriesOptions, Times,
};
use flowdoubt::site::Site;

fn site() -> Site {
    Site::from_toml(&plain_demo(), "site.toml").expect("demonstration")
}

fn stated(s: [f64; 3]) -> Vec<(Channel, Repeatability)> {
    let channels = [
        Channel::TimeDifference,
        Channel::TransitTime,
        Channel::Temperature,
    ];
    let of = |s| Repeatability::independent(s, f64::INFINITY);
    channels.into_iter().zip(s.map(of)).collect()
}

/// Scatter stated as nothing.
fn without_scatter() -> SeriesOptions {
    SeriesOptions {
        repeatability: stated([0.0; 3]),
        faults: Faults::NONE,
        ..SeriesOptions::default()
    }
}

/// Time difference in ns, transit time in us, temperature in degC.
type Row = [f64; 3];

const USUAL: Row = [798.0, 610.7, 8.1];

fn log(rows: &[Row], times: Times) -> Log {
    let column = |i: usize| rows.iter().map(|row| row[i]).collect::<Vec<f64>>();
    let columns = [
        ("time_difference_ns", column(0)),
        ("transit_time_us", column(1)),
        ("temperature_degC", column(2)),
    ];
    let columns = columns.iter().map(|(name, values)| (*name, &values[..]));
    Log::from_columns(columns, times).expect("log")
}

fn minutes(rows: &[Row]) -> Log {
    log(rows, Times::Interval(60.0))
}

/// A row at a flow and a temperature whose transit time fits well enough.
fn row(share: f64, celsius: f64) -> Row {
    [798.0 * share, 610.7 - 1.0 * (celsius - 8.1), celsius]
}

/// Rows whose flow and temperature vary slowly, with some scatter.
fn day(rows: usize) -> Vec<Row> {
    let scatter = |i: usize, j: usize| {
        let word = philox([i as u32, j as u32, 0, 0], [5, 7])[0];
        f64::from(word) / f64::from(u32::MAX) - 0.5
    };
    let of = |i: usize| {
        let phase = i as f64 / 200.0;
        let slow = row(0.6 + 0.3 * libm::sin(phase), 8.0 + libm::cos(0.7 * phase));
        [
            slow[0] + 2.0 * scatter(i, 0),
            slow[1] + 0.01 * scatter(i, 1),
            slow[2] + 0.1 * scatter(i, 2),
        ]
    };
    (0..rows).map(of).collect()
}

/// The evaluation of twice the same reading: nothing scatters.
fn alone(site: &Site, row: Row) -> Result<flowdoubt::evaluate::Evaluation> {
    // with so many digits that those of two readings alike leave no uncertainty
    let line = format!("{:.400},{:.400},{:.400}\n", row[0], row[1], row[2]);
    let text = format!("time_difference_ns,transit_time_us,temperature_degC\n{line}{line}");
    site.evaluate(&Readings::from_csv_text(&text, "readings.csv")?)
}

fn evaluated(rows: &[Row], options: SeriesOptions) -> Series {
    let series = site().evaluate_series(&minutes(rows), options);
    series.expect("series")
}
