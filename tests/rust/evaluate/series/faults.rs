//! Logs with faults: what is rejected, with which reason, and that nothing else is.

use crate::support::{demo, plain_demo};
use flowdoubt::evaluate::{Faults, Log, Series, SeriesOptions, Times};
use flowdoubt::site::Site;

use crate::support::noise::Noise;

const ROWS: usize = 200;

/// Time difference in ns, transit time in us and temperature in degC of a quiet log.
fn quiet() -> [Vec<f64>; 3] {
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let of = |mean: f64, s: f64, name: &str| {
        let noise = white.readings(ROWS, name);
        noise.into_iter().map(|x| mean + s * x).collect()
    };
    [
        of(798.0, 4.0, "difference"),
        of(610.7, 0.03, "time"),
        of(8.1, 0.02, "temperature"),
    ]
}

fn evaluated(columns: &[Vec<f64>; 3], options: SeriesOptions) -> Series {
    let site = Site::from_toml(&plain_demo(), "site.toml").expect("site");
    let names = ["time_difference_ns", "transit_time_us", "temperature_degC"];
    let columns = names.into_iter().zip(columns.iter().map(Vec::as_slice));
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("log");
    site.evaluate_series(&log, options).expect("series")
}

fn codes(series: &Series) -> Vec<(usize, &'static str)> {
    let rejected = series.rejected.iter();
    rejected.map(|r| (r.row, r.reason.code())).collect()
}

#[test]
fn a_quiet_log_has_no_faults() {
    let series = evaluated(&quiet(), SeriesOptions::default());
    assert_eq!(codes(&series), []);
    assert_eq!(series.warnings, []);
}

#[test]
fn one_code_for_an_error_changes_next_to_nothing() {
    // a row of 99999 ns once made 468.6 m3 of 290.6 m3, with 200 of 200 rows used
    let clean = evaluated(&quiet(), SeriesOptions::default());
    for (code, reason) in [
        (99_999.0, "error-code"),
        (-9999.0, "error-code"),
        (32_767.0, "error-code"),
        (1e200, "inconceivable"),
        (1400.0, "spike"),
    ] {
        let mut columns = quiet();
        columns[0][77] = code;
        let series = evaluated(&columns, SeriesOptions::default());
        assert_eq!(codes(&series), [(77, reason)], "{code}");
        // a gap of one row is left out with both steps beside it
        let mean = series.mean_flow() / clean.mean_flow();
        assert!((mean - 1.0).abs() < 1e-3, "{code}: {mean}");
        assert_eq!(series.counts.used, ROWS - 1);
        let words = series.in_words().expect("words");
        assert!(words.contains("row 77: time_difference"), "{words}");
    }
}

#[test]
fn a_third_of_the_rows_may_be_codes() {
    let mut columns = quiet();
    for row in (0..ROWS).step_by(3) {
        columns[1][row] = 999.99;
    }
    let series = evaluated(&columns, SeriesOptions::default());
    assert_eq!(series.counts.error_code, ROWS.div_ceil(3));
    assert_eq!(series.counts.used, ROWS - ROWS.div_ceil(3));
}

#[test]
fn what_liquid_cannot_do_is_rejected_by_velocity_and_sound_speed() {
    let mut columns = quiet();
    // a stretch, which no comparison with its neighbours finds
    columns[0][50..60].fill(30_000.0);
    columns[1][100..110].fill(720.0);
    let series = evaluated(&columns, SeriesOptions::default());
    assert_eq!(
        (series.counts.velocity, series.counts.sound_speed),
        (10, 10)
    );
    let reasons = |row: usize| {
        let found = series.rejected.iter().find(|r| r.row == row);
        found.expect("rejected").reason.to_string()
    };
    assert!(reasons(55).contains("m/s"), "{}", reasons(55));
    assert!(reasons(105).contains('%'), "{}", reasons(105));
    let unlimited = SeriesOptions {
        faults: Faults {
            velocity: None,
            sound_speed: None,
            ..Faults::default()
        },
        ..SeriesOptions::default()
    };
    assert_eq!(evaluated(&columns, unlimited).counts.used, ROWS);
}

#[test]
fn flow_that_comes_and_goes_is_no_spike() {
    // a pump that runs for one minute in ten
    let mut columns = quiet();
    for (row, difference) in columns[0].iter_mut().enumerate() {
        if row % 10 != 0 {
            *difference -= 798.0;
        }
    }
    let series = evaluated(&columns, SeriesOptions::default());
    assert_eq!(series.counts.used, ROWS);
    let codes: Vec<_> = series.warnings.iter().map(|w| w.code).collect();
    assert!(codes.contains(&"many-spikes"), "{codes:?}");
    // a step is none
    let mut columns = quiet();
    columns[0][80..].iter_mut().for_each(|x| *x -= 500.0);
    assert_eq!(
        evaluated(&columns, SeriesOptions::default()).counts.used,
        ROWS
    );
}

#[test]
fn readings_that_stand_still_are_told() {
    let mut columns = quiet();
    let last = columns[0][119];
    columns[0][119..150].fill(last);
    let series = evaluated(&columns, SeriesOptions::default());
    let warning = series.warnings.iter().find(|w| w.code == "frozen-readings");
    let words = &warning.expect("warning").words;
    assert!(
        words.contains("31 rows") && words.contains("119 to 149"),
        "{words}"
    );
    // readings of few digits are often equal
    let mut coarse = quiet();
    coarse[0]
        .iter_mut()
        .for_each(|x| *x = (*x / 10.0).round() * 10.0);
    let series = evaluated(&coarse, SeriesOptions::default());
    assert!(series.warnings.is_empty(), "{:?}", series.warnings);
}

#[test]
fn limits_that_are_none_are_refused() {
    let site = Site::from_toml(&plain_demo(), "site.toml").expect("site");
    let log = Log::from_csv_text(&demo("readings.csv"), "readings.csv", None).expect("log");
    let options = SeriesOptions {
        faults: Faults {
            velocity: Some(f64::NAN),
            ..Faults::default()
        },
        ..SeriesOptions::default()
    };
    let error = site.evaluate_series(&log, options).expect_err("refused");
    assert_eq!(error.context().field.as_deref(), Some("faults.velocity"));
}
