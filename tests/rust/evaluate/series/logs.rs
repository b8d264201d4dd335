//! Logs as files and columns: times, units, and what no log can have.

use super::{Row, USUAL, minutes, site, stated, without_scatter};
use crate::support::{assert_refused, plain_demo, with};
use flowdoubt::evaluate::{Channel, Gaps, Log, Readings, Reason, Rule, SeriesOptions, Times};
use flowdoubt::site::Site;

#[test]
fn times_are_read_from_text() {
    let texts = [
        "2026-09-17T10:00:00",
        "2026-09-17 10:00:05.25",
        "yesterday",
        "2024-02-29T23:59:59",
        "2024-03-01T00:00:00",
        "",
    ];
    // seconds since 1970 by the calendar of Python
    let expected = [
        Some(1_789_639_200_000_000_000),
        Some(1_789_639_205_250_000_000),
        None,
        Some(1_709_251_199_000_000_000),
        Some(1_709_251_200_000_000_000),
        None,
    ];
    let read = Times::from_text(texts).expect("times");
    assert_eq!(read, Times::Local(expected.to_vec()));
    let read = Times::from_text(["2026-09-17T12:00:00+02:00", "2026-09-17T10:00:01Z"]);
    let expected = vec![
        Some(1_789_639_200_000_000_000),
        Some(1_789_639_201_000_000_000),
    ];
    assert_eq!(read, Ok(Times::Nanoseconds(expected)));
    let mixed = Times::from_text(["2026-09-17T12:00:00Z", "2026-09-17T12:00:00"]);
    assert_refused(mixed, "conflict", &["time[1]", "without an offset"]);
    assert_eq!(Times::interval("1 min"), Ok(Times::Interval(60.0)));
    assert_refused(
        Times::interval("-1 s"),
        "out-of-range",
        &["interval", "above 0"],
    );
    assert_refused(Times::interval("1 mm"), "wrong-dimension", &["interval"]);
}

#[test]
fn logs_are_read_from_csv() {
    let text = "time,transit_time_us,time_difference_ns,temperature_degC,remark\n\
                2026-09-17T10:00:00,610.7,798,8.1,\n\
                2026-09-17T10:01:00,,798,8.1,dropout\n\
                2026-09-17T10:02:00,610.7,n/a,8.1,\n\
                never,610.7,798,8.1,\n\
                2026-09-17T10:04:00,610.7,798,8.1,\n";
    let log = Log::from_csv_text(text, "log.csv", None).expect("log");
    let series = site()
        .evaluate_series(&log, without_scatter())
        .expect("series");
    let codes: Vec<_> = series.rejected.iter().map(|r| r.reason.clone()).collect();
    let expected = [
        Reason::NotANumber(Channel::TransitTime),
        Reason::NotANumber(Channel::TimeDifference),
        Reason::NoTime,
    ];
    assert_eq!(codes, expected);
    assert_eq!(series.seconds[4], 240.0);
    let refused = |text: &str, interval: Option<f64>, code: &str, words: &[&str]| {
        let log = Log::from_csv_text(text, "log.csv", interval);
        assert_refused(log, code, words);
    };
    refused(
        text,
        Some(60.0),
        "conflict",
        &["log.csv:1", "beside the column time"],
    );
    let untimed = "transit_time_us,time_difference_ns\n610.7,798\n";
    refused(untimed, None, "missing", &["log.csv:1", "time_s"]);
    assert!(Log::from_csv_text(untimed, "log.csv", Some(60.0)).is_ok());
    refused(
        "time_s,time,transit_time_us\n1,,2\n",
        None,
        "conflict",
        &["beside time_s"],
    );
    refused(
        "time_s,transit_time_us\n1\n",
        None,
        "length",
        &["log.csv:2"],
    );
    refused(
        "time_s,transit_tme_us\n1,2\n",
        None,
        "unknown-name",
        &["`transit_time_us`"],
    );
    refused(
        "time_s,transit_time_us\n",
        None,
        "length",
        &["one row or more"],
    );
    // a column of times is no reading
    let timed = "time_s,transit_time_us,time_difference_ns,temperature_degC\n\
                 0,610.7,798,8.1\n60,610.7,798,8.1\n";
    assert!(Readings::from_csv_text(timed, "log.csv").is_ok());
}

#[test]
fn what_no_series_can_have_is_refused() {
    let site = site();
    let of = |rows: &[Row], options: SeriesOptions| site.evaluate_series(&minutes(rows), options);
    let factor = SeriesOptions {
        gap_factor: 1.0,
        ..without_scatter()
    };
    assert_refused(
        of(&[USUAL; 3], factor),
        "out-of-range",
        &["gap_factor", "above 1"],
    );
    let negative = SeriesOptions {
        repeatability: stated([-1.0, 0.0, 0.0]),
        ..SeriesOptions::default()
    };
    assert_refused(
        of(&[USUAL], negative),
        "out-of-range",
        &["repeatability.time_difference"],
    );
    let nothing = of(&[[f64::NAN; 3]; 3], without_scatter());
    assert_refused(
        nothing,
        "conflict",
        &["none of 3 rows", "time_difference is missing"],
    );
    let short = of(&[[798.0, 20.0, 8.1]; 3], without_scatter());
    assert_refused(
        short,
        "out-of-range",
        &["readings.transit_time", "dead time"],
    );
    let text = with(
        &plain_demo(),
        "\"meter.cable_delay\", \"meter.electronics_delay\"",
        "\"readings.transit_time\", \"meter.electronics_delay\"",
    );
    let correlated = Site::from_toml(&text, "site.toml").expect("site");
    let refused = correlated.evaluate_series(&minutes(&[USUAL; 3]), without_scatter());
    assert_refused(refused, "conflict", &["site.toml:", "same in all rows"]);
    let columns = [("transit_time_us", &[610.7][..])];
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("log");
    let missing = site.evaluate_series(&log, without_scatter());
    assert_refused(missing, "missing", &["readings.time_difference"]);
    assert_refused(
        Rule::from_name("trapeze"),
        "unknown-name",
        &["rule", "trapezoid"],
    );
    assert_refused(
        Gaps::from_name("fill"),
        "unknown-name",
        &["gaps", "leave_out"],
    );
    let unequal = Log::from_columns(columns, Times::Seconds(vec![0.0, 1.0]));
    assert_refused(unequal, "length", &["time", "as in the columns"]);
}
