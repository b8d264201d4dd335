//! Flow that goes back, and flow below the low-flow cut-off.

use crate::support::noise::damped;
use crate::support::{assert_refused, assert_relative, demo, plain_demo};
use flowdoubt::evaluate::{Log, Series, SeriesOptions, Times};
use flowdoubt::site::Site;

/// Minutes whose time difference is so many ns, with noise of 1 ns.
fn evaluated(means: &[f64], options: SeriesOptions) -> flowdoubt::Result<Series> {
    evaluated_at(&plain_demo(), means, options)
}

fn evaluated_at(site: &str, means: &[f64], options: SeriesOptions) -> flowdoubt::Result<Series> {
    let site = Site::from_toml(site, "site.toml").expect("site");
    let noise = damped(means.len(), 0.0, "direction");
    let difference: Vec<f64> = means.iter().zip(&noise).map(|(mean, x)| mean + x).collect();
    let rows = means.len();
    let columns = [
        ("time_difference_ns", difference),
        ("transit_time_us", vec![610.7; rows]),
        ("temperature_degC", vec![8.1; rows]),
    ];
    let columns = columns.iter().map(|(name, values)| (*name, &values[..]));
    let log = Log::from_columns(columns, Times::Interval(60.0)).expect("log");
    site.evaluate_series(&log, options)
}

#[test]
fn forward_and_reverse_flow_are_told_apart() {
    let means = [vec![800.0; 60], vec![-400.0; 60]].concat();
    let options = SeriesOptions {
        separate: true,
        ..SeriesOptions::default()
    };
    let series = evaluated(&means, options).expect("series");
    let [forward, reverse] = series.directions.as_ref().expect("directions");
    assert!(forward.estimate > 0.0 && reverse.estimate < 0.0);
    let sum = forward.estimate + reverse.estimate;
    assert_relative(sum, series.total.estimate, 1e-12, "net");
    assert_relative(
        -forward.estimate / reverse.estimate,
        2.0,
        0.03,
        "twice as much",
    );
    // a zero that is off adds to the one what it takes from the other
    let zero = |budget: &flowdoubt::uncertainty::Budget| {
        let mut lines = budget.lines.iter();
        let line = lines.find(|line| line.input.name() == "meter.zero_time_difference");
        line.expect("line").sensitivity
    };
    assert_relative(
        zero(forward) + zero(reverse),
        zero(&series.total),
        1e-12,
        "zero",
    );
    let words = series.in_words().expect("words");
    assert!(
        words.contains("\nforward ") && words.contains("\nreverse -"),
        "{words}"
    );
    let net = evaluated(&means, SeriesOptions::default()).expect("series");
    assert!(net.directions.is_none());
    assert_eq!(net.total.estimate, series.total.estimate);
}

#[test]
fn flow_below_the_cut_off_counts_as_none_and_as_unknown() {
    let means = [vec![800.0; 60], vec![4.0; 61]].concat();
    let cut_off = 10.0 / 3600.0;
    let options = SeriesOptions {
        low_flow_cut_off: Some(cut_off),
        ..SeriesOptions::default()
    };
    let series = evaluated(&means, options).expect("series");
    assert_eq!(series.counts.below_cut_off, 61);
    assert_eq!(series.flow[100], 0.0);
    assert_relative(
        series.standard_uncertainty[100],
        cut_off / 3.0_f64.sqrt(),
        1e-12,
        "row",
    );
    let mut lines = series.total.lines.iter();
    let line = lines.find(|line| line.input.name() == "series.low_flow_cut_off");
    let line = line.expect("line");
    // 61 rows, of which the last ends the log
    assert_relative(line.sensitivity, 60.5 * 60.0, 1e-12, "time");
    let u = line.input.standard_uncertainty();
    assert_relative(u, cut_off / 3.0_f64.sqrt(), 1e-12, "u");
    let kept = evaluated(&means, SeriesOptions::default()).expect("series");
    let idle: f64 = kept.flow[60..].iter().map(|q| q * 60.0).sum();
    let less = kept.total.estimate - series.total.estimate;
    assert_relative(less, idle, 0.02, "what was left out");
    let none = SeriesOptions {
        low_flow_cut_off: Some(-1.0),
        ..SeriesOptions::default()
    };
    assert_refused(
        evaluated(&means, none),
        "out-of-range",
        &["low_flow_cut_off"],
    );
}

/// The family of a fitting holds for turbulent flow that comes from it; none of that is asked of no flow.
#[test]
fn downstream_of_a_fitting_flow_below_the_cut_off_is_none_too() {
    let means = [vec![800.0; 60], vec![2.0; 30], vec![-2.0; 31]].concat();
    let options = SeriesOptions {
        low_flow_cut_off: Some(20.0 / 3600.0),
        ..SeriesOptions::default()
    };
    let series = evaluated_at(&demo("site.toml"), &means, options).expect("series");
    assert_eq!((series.counts.below_cut_off, series.counts.used), (61, 121));
    let kept = evaluated_at(&demo("site.toml"), &means, SeriesOptions::default()).expect("series");
    assert_eq!(kept.counts.outside_model, 61);
}
