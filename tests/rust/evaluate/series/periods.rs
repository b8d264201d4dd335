//! Totals of days, weeks and months.

use crate::support::noise::damped;
use crate::support::{assert_refused, assert_relative, demo};
use flowdoubt::evaluate::{Log, Period, Series, SeriesOptions, Times};
use flowdoubt::site::Site;

/// Ten minutes each from 24 to 26 October 2026 on a clock in Germany, which is put back on the 25th.
fn clock() -> Vec<String> {
    let of = |day: u32, minutes: std::ops::Range<u32>| {
        let minutes = minutes.step_by(10);
        let text = move |m: u32| format!("2026-10-{day}T{:02}:{:02}:00", m / 60, m % 60);
        minutes.map(text).collect::<Vec<_>>()
    };
    [
        of(24, 0..1440),
        of(25, 0..180),
        of(25, 120..1440),
        of(26, 0..1440),
    ]
    .concat()
}

fn log(times: &[String]) -> Log {
    let noise = damped(times.len(), 0.0, "periods");
    let mut text = "time,transit_time_us,time_difference_ns,temperature_degC\n".to_owned();
    for (i, (time, noise)) in times.iter().zip(noise).enumerate() {
        let slow = libm::sin(i as f64 / 40.0);
        let difference = 800.0 * (1.0 + 0.3 * slow + 0.01 * noise);
        text += &format!("{time},610.7,{difference:.2},{:.2}\n", 8.1 + 0.2 * slow);
    }
    let log = Log::from_csv_text(&text, "log.csv", None).expect("log");
    log.in_time_zone("Europe/Berlin").expect("zone")
}

fn evaluated(log: &Log, period: Period) -> Series {
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let options = SeriesOptions {
        period: Some(period),
        ..SeriesOptions::default()
    };
    site.evaluate_series(log, options).expect("series")
}

fn labels(series: &Series) -> Vec<&str> {
    series.periods.iter().map(|p| p.label.as_str()).collect()
}

#[test]
fn days_add_up_with_their_correlation() {
    let series = evaluated(&log(&clock()), Period::Day);
    assert_eq!(labels(&series), ["2026-10-24", "2026-10-25", "2026-10-26"]);
    let durations: Vec<f64> = series.periods.iter().map(|p| p.duration / 3600.0).collect();
    // the day on which clocks are put back has 25 hours; the last row ends the last day early
    for (found, hours) in durations.iter().zip([24.0, 25.0, 24.0 - 1.0 / 6.0]) {
        assert_relative(*found, hours, 1e-12, "hours");
    }
    assert_relative(series.periods[1].availability(), 1.0, 1e-12, "availability");
    let sum: f64 = series.periods.iter().map(|p| p.total.estimate).sum();
    assert_relative(sum, series.total.estimate, 1e-12, "volume");
    let covariance = series.period_covariance();
    for (i, period) in series.periods.iter().enumerate() {
        let u = period.total.standard_uncertainty;
        assert_relative(covariance[i][i].sqrt(), u, 1e-9, "u");
        assert!(period.random_uncertainty > 0.0 && period.random_uncertainty < 0.3 * u);
    }
    // at the row on the border both days have a half of its scatter, which the sum knows as one row
    let variance: f64 = covariance.iter().flatten().sum();
    let u = series.total.standard_uncertainty;
    assert_relative(variance.sqrt(), u, 1e-4, "u of the sum");
    let independent: f64 = (0..3).map(|i| covariance[i][i]).sum();
    assert!(independent.sqrt() < 0.7 * u);
}

#[test]
fn weeks_and_months_have_their_names() {
    let log = log(&clock());
    // 25 October 2026 is a Sunday, the end of week 43 of ISO 8601
    assert_eq!(
        labels(&evaluated(&log, Period::Week)),
        ["2026-W43", "2026-W44"]
    );
    let months = evaluated(&log, Period::Month);
    assert_eq!(labels(&months), ["2026-10"]);
    let month = &months.periods[0];
    assert_eq!(month.total.estimate, months.total.estimate);
    // 31 days and the hour of autumn
    assert_relative(
        month.limits.end - month.limits.start,
        745.0 * 3600.0,
        1e-12,
        "month",
    );
    assert!(month.availability() < 0.1);
}

#[test]
fn rows_that_fall_out_leave_days_as_they_were() {
    let mut times = clock();
    times.drain(20..60);
    let gap = evaluated(&log(&times), Period::Day);
    assert_relative(
        gap.periods[0].duration,
        (24.0 - 41.0 / 6.0) * 3600.0,
        1e-12,
        "duration",
    );
    let sum: f64 = gap.periods.iter().map(|p| p.total.estimate).sum();
    assert_relative(sum, gap.total.estimate, 1e-12, "volume");
}

#[test]
fn a_log_without_a_calendar_has_no_days() {
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let columns = [
        ("time_difference_ns", &[798.0; 40][..]),
        ("transit_time_us", &[610.7; 40]),
        ("temperature_degC", &[8.1; 40]),
    ];
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("log");
    let options = SeriesOptions {
        period: Some(Period::Day),
        ..SeriesOptions::default()
    };
    assert_refused(site.evaluate_series(&log, options), "missing", &["time"]);
    assert_refused(
        Period::from_name("year"),
        "unknown-name",
        &["period", "day"],
    );
}
