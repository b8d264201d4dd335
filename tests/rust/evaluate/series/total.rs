//! The random part of the uncertainty of a total: noise that lasts, on a flow that has a course.

use crate::support::demo;
use crate::support::noise::damped;
use flowdoubt::evaluate::{Log, Readings, Repeatability, SeriesOptions, Times};
use flowdoubt::scalar::Scalar;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::Damping;

/// Seconds from row to row, rows of a day, and the mean time difference in ns.
const STEP: f64 = 5.0;
const ROWS: usize = 17_280;
const MEAN: f64 = 600.0;

/// The claimed standard uncertainty of the total by the scatter of the time difference, over the
/// exact one, of a day with a swing of 40 %, a wave of half a day of 15 %, and noise of 1 %.
fn claimed_over_true(site: &Site, time_constant: f64, options: &SeriesOptions, name: &str) -> f64 {
    let phi = if time_constant > 0.0 {
        Scalar::exp(-STEP / time_constant)
    } else {
        0.0
    };
    let noise = damped(ROWS, phi, name);
    let difference: Vec<f64> = (0..ROWS)
        .map(|i| {
            let day = std::f64::consts::TAU * i as f64 * STEP / 86_400.0;
            let course = 1.0 + 0.40 * libm::sin(day) + 0.15 * libm::sin(2.0 * day + 1.0);
            MEAN * (course + 0.01 * noise[i])
        })
        .collect();
    let columns = [
        ("time_difference_ns", difference),
        ("transit_time_us", vec![610.7; ROWS]),
        ("temperature_degC", vec![8.1; ROWS]),
    ];
    let columns = columns.iter().map(|(name, values)| (*name, &values[..]));
    let log = Log::from_columns(columns, Times::Interval(STEP)).expect("log");
    let series = site.evaluate_series(&log, options.clone()).expect("series");
    let mut lines = series.total.lines.iter();
    let line = lines.find(|line| line.input.name() == "readings.time_difference");
    let claimed = line.expect("line").contribution.abs();
    // rows of a first-order lag: (1 + phi) / (1 - phi) count as one
    let inflation = (1.0 + phi) / (1.0 - phi);
    let relative = 0.01 * (inflation / ROWS as f64).sqrt();
    claimed / (relative * series.total.estimate)
}

#[test]
fn the_course_of_the_flow_is_not_noise() {
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    for time_constant in [0.0, 5.0, 30.0] {
        let of = |i: u32| {
            let name = format!("{time_constant} {i}");
            claimed_over_true(&site, time_constant, &SeriesOptions::default(), &name)
        };
        let mut ratios: Vec<f64> = (0..9).map(of).collect();
        ratios.sort_by(f64::total_cmp);
        assert!(
            (0.9..1.3).contains(&ratios[4]),
            "{time_constant}: {ratios:?}"
        );
        let within = ratios.iter().filter(|r| (0.8..=1.5).contains(*r)).count();
        assert!(within >= 8, "{time_constant}: {ratios:?}");
    }
}

#[test]
fn stated_damping_tells_what_a_log_does_not_show() {
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    // four minutes of damping: noise and course cannot be told apart, and the result says so
    let time_constant = 240.0;
    let stated = SeriesOptions {
        damping: Some(Damping::TimeConstant(time_constant)),
        ..SeriesOptions::default()
    };
    let ratio = claimed_over_true(&site, time_constant, &stated, "slow");
    assert!((0.8..1.5).contains(&ratio), "{ratio}");
}

#[test]
fn a_stretch_at_no_flow_tells_the_scatter() {
    let phi = Scalar::exp(-STEP / 30.0);
    let noise: Vec<f64> = damped(4000, phi, "no flow")
        .iter()
        .map(|x| 6.0 * x)
        .collect();
    let columns = [
        ("time_difference_ns", &noise[..]),
        ("temperature_degC", &vec![8.1; 4000][..]),
    ];
    let stretch = Readings::from_columns(columns).expect("readings");
    let repeatability = Repeatability::at_no_flow(&stretch).expect("repeatability");
    assert_eq!(repeatability.len(), 1);
    let found = repeatability[0].1;
    assert!(
        (found.standard_deviation / 6e-9 - 1.0).abs() < 0.1,
        "{found:?}"
    );
    let exact = (1.0 + phi) / (1.0 - phi);
    assert!(
        (0.64..2.25).contains(&(found.rows_for_one / exact)),
        "{found:?}"
    );
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let options = SeriesOptions {
        repeatability,
        ..SeriesOptions::default()
    };
    let ratio = claimed_over_true(&site, 30.0, &options, "with stretch");
    assert!((0.8..1.5).contains(&ratio), "{ratio}");
}
