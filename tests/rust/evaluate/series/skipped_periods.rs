//! Time differences of a log that jump by whole periods of the carrier.

use crate::support::noise::Noise;
use crate::support::{demo, with};
use flowdoubt::evaluate::{Log, Series, SeriesOptions, Times};
use flowdoubt::site::Site;

const ROWS: usize = 300;
/// Of 1 MHz, in ns.
const PERIOD: f64 = 1000.0;

/// Time differences in ns with a course: 4 ns of noise on a swing of 200 ns.
fn course() -> Vec<f64> {
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let noise = white.readings(ROWS, "skipped");
    let rows = noise.into_iter().enumerate();
    rows.map(|(i, x)| 798.0 + 200.0 * libm::sin(0.03 * i as f64) + 4.0 * x)
        .collect()
}

fn evaluated(differences: &[f64], frequency: bool) -> Series {
    let mut text = demo("site.toml");
    if frequency && !text.contains("frequency = ") {
        text = with(&text, "traverses = ", "frequency = \"1 MHz\"\ntraverses = ");
    }
    let site = Site::from_toml(&text, "site.toml").expect("site");
    let (times, temperatures) = ([610.7; ROWS], [8.1; ROWS]);
    let columns = [
        ("time_difference_ns", differences),
        ("transit_time_us", &times),
        ("temperature_degC", &temperatures),
    ];
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("log");
    site.evaluate_series(&log, SeriesOptions::default())
        .expect("series")
}

fn rows(series: &Series, code: &str) -> Vec<usize> {
    let own = series.rejected.iter().filter(|r| r.reason.code() == code);
    own.map(|r| r.row).collect()
}

#[test]
fn rows_after_a_jump_by_whole_periods_are_rejected_by_name() {
    let clean = evaluated(&course(), true);
    assert_eq!(clean.counts.used, ROWS);
    let mut jumped = course();
    jumped[100..112].iter_mut().for_each(|x| *x += PERIOD);
    jumped[200] -= 2.0 * PERIOD;
    // at the end there is no way back
    jumped[290..].iter_mut().for_each(|x| *x -= PERIOD);
    let series = evaluated(&jumped, true);
    let expected: Vec<usize> = (100..112).chain([200]).chain(290..300).collect();
    assert_eq!(rows(&series, "skipped-period"), expected);
    assert_eq!(
        (series.counts.skipped_period, series.counts.used),
        (23, ROWS - 23)
    );
    let words = series.in_words().expect("words");
    for part in [
        "23 rows off by whole periods of the carrier, not used",
        "row 100: its time difference jumped by +1 periods",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    // a stretch is no spike, and nothing is said of periods where no frequency is stated
    let silent = evaluated(&jumped, false);
    assert_eq!(silent.counts.skipped_period, 0);
}

#[test]
fn the_course_of_the_flow_is_no_skipped_period() {
    // a pump that is switched on and off: 700 ns is no whole period
    let mut pump = course();
    for (i, x) in pump.iter_mut().enumerate() {
        if (i / 20) % 2 == 0 {
            *x -= 700.0;
        }
    }
    let series = evaluated(&pump, true);
    assert_eq!(series.counts.skipped_period, 0);
    // where the flow comes and goes by whole periods, nobody can tell: used, and said
    let mut pump = course();
    for (i, x) in pump.iter_mut().enumerate() {
        if (i / 20) % 2 == 0 {
            *x -= PERIOD;
        }
    }
    let series = evaluated(&pump, true);
    assert_eq!(series.counts.skipped_period, 0);
    let codes: Vec<_> = series.warnings.iter().map(|w| w.code).collect();
    assert!(codes.contains(&"skipped-period"), "{codes:?}");
    // a ramp by a whole period over some rows is flow
    let mut ramp = course();
    ramp[150..].iter_mut().for_each(|x| *x += PERIOD);
    for (i, x) in ramp[147..150].iter_mut().enumerate() {
        *x += 250.0 * (i as f64 + 1.0);
    }
    let series = evaluated(&ramp, true);
    assert_eq!(
        (series.counts.skipped_period, series.counts.used),
        (0, ROWS)
    );
    // scatter of a part of a period hides all
    let mut coarse = course();
    for (i, x) in coarse.iter_mut().enumerate() {
        *x += if i % 2 == 0 { 60.0 } else { -60.0 };
    }
    coarse[100] += PERIOD;
    assert_eq!(evaluated(&coarse, true).counts.skipped_period, 0);
}
