//! Logs of pulses, counters, totalisers and currents: nothing that was counted is lost, nothing that
//! was not is added.

use crate::evaluate::outputs::site;
use crate::support::{assert_refused, assert_relative};
use flowdoubt::evaluate::{
    Channel, Log, Period, Repeatability, Rule, Series, SeriesOptions, Times,
};
use flowdoubt::site::Site;

const PULSES: &str = "pulse_value = \"10 L\"\n";
const TOTALISER: &str = "totaliser_resolution = \"0.1 m3\"\n";
const LOOP: &str = "flow_at_4_mA = \"0 m3/h\"\nflow_at_20_mA = \"200 m3/h\"\n";
const MINUTE: f64 = 60.0;

/// Options for logs whose flow does not scatter.
fn quiet() -> SeriesOptions {
    let none = Repeatability::independent(0.0, f64::INFINITY);
    SeriesOptions {
        repeatability: vec![(Channel::VolumeFlow, none), (Channel::Current, none)],
        ..SeriesOptions::default()
    }
}

fn evaluated(
    programmed: &str,
    name: &str,
    values: &[f64],
    times: Times,
    options: SeriesOptions,
) -> Series {
    let site = Site::from_toml(&site("", programmed), "site.toml").expect("site");
    let log = Log::from_columns([(name, values)], times).expect("log");
    site.evaluate_series(&log, options).expect("series")
}

fn codes(series: &Series) -> Vec<(usize, &'static str)> {
    let rejected = series.rejected.iter();
    rejected.map(|r| (r.row, r.reason.code())).collect()
}

/// What the site makes of an indicated flow in m3/s.
fn factor(flow: f64) -> f64 {
    let times = Times::Interval(MINUTE);
    let steady = evaluated("", "volume_flow_m3_s", &[flow; 3], times, quiet());
    steady.flow[0] / flow
}

/// The line of the error of counting in m3, by hand: one count, triangular.
fn counting(series: &Series) -> f64 {
    let mut lines = series.total.lines.iter();
    let line = lines.find(|line| line.input.name() == "series.counting");
    line.expect("a line of counting").contribution.abs()
}

#[test]
fn the_total_is_what_was_counted() {
    // 30 pulses a minute for ten minutes are 3 m3, whatever the flow did between the rows
    let k = factor(5e-3);
    let series = evaluated(
        PULSES,
        "pulses",
        &[30.0; 10],
        Times::Interval(MINUTE),
        quiet(),
    );
    assert_relative(series.total.estimate, 3.0 * k, 1e-12, "pulses");
    assert_eq!((series.options.rule, series.counts.used), (Rule::Since, 10));
    assert_relative(
        series.duration,
        600.0,
        1e-12,
        "a row stands for the minute before it",
    );
    assert_relative(counting(&series), 0.01 / 6f64.sqrt() * k, 0.02, "counting");
    assert_relative(
        series.random_uncertainty[4],
        0.01 / MINUTE / 6f64.sqrt() * k,
        0.02,
        "counting in a row",
    );
    // the state of the counter: the first row tells no flow of its own
    let state: Vec<f64> = (0..11).map(|i| 500.0 + 30.0 * f64::from(i)).collect();
    let series = evaluated(
        PULSES,
        "pulse_count",
        &state,
        Times::Interval(MINUTE),
        quiet(),
    );
    assert_relative(series.total.estimate, 3.0 * k, 1e-12, "counter");
    assert_eq!(codes(&series), [(0, "counter-start")]);
    assert!(series.flow[0].is_nan() && series.duration == 600.0);
}

#[test]
fn a_counter_goes_on_through_gaps_and_pulses_do_not() {
    let k = factor(5e-3);
    // rows at irregular times, an hour missing, and a reading missing
    let times: Vec<f64> = [0.0, 55.0, 130.0, 180.0, 3780.0, 3840.0, 3905.0, 3960.0].to_vec();
    let mut state: Vec<f64> = times.iter().map(|t| 1234.5 + 5e-3 * t).collect();
    state[5] = f64::NAN;
    let log = Times::Seconds(times.clone());
    let series = evaluated(TOTALISER, "totaliser_m3", &state, log, quiet());
    assert_relative(series.total.estimate, 3960.0 * 5e-3 * k, 1e-9, "totaliser");
    assert_eq!(codes(&series), [(0, "counter-start"), (5, "not-a-number")]);
    assert!(series.gaps.is_empty() && (series.duration - 3960.0).abs() < 1e-9);
    // of counts since the row before, those of the gap are lost
    let pulses = [33.0, 27.5, 37.5, 25.0, 30.0, 30.0, 32.5, 27.5];
    let series = evaluated(PULSES, "pulses", &pulses, Times::Seconds(times), quiet());
    assert_eq!(series.gaps.len(), 1);
    let counted: f64 = pulses.iter().sum();
    assert_relative(series.total.estimate, 0.01 * counted * k, 0.002, "pulses");
    assert_relative(
        counting(&series),
        2f64.sqrt() * 0.01 / 6f64.sqrt() * k,
        0.02,
        "two stretches",
    );
}

#[test]
fn a_reset_is_said_and_a_roll_over_goes_on() {
    let state = |i: i32| (995.0 + 0.3 * f64::from(i)) % 1000.0;
    let state: Vec<f64> = (0..60).map(state).collect();
    let four = format!("{TOTALISER}counter_digits = 4\n");
    let minutes = || Times::Interval(MINUTE);
    let rolled = evaluated(&four, "totaliser_m3", &state, minutes(), quiet());
    let k = factor(5e-3);
    assert_relative(
        rolled.total.estimate,
        59.0 * 0.3 * k,
        1e-9,
        "through the end",
    );
    assert_eq!(rolled.counts.counter_reset, 0);
    // where no digits are stated it is a reset: said, and the step is not in the total
    let reset = evaluated(TOTALISER, "totaliser_m3", &state, minutes(), quiet());
    assert_relative(
        reset.total.estimate,
        58.0 * 0.3 * k,
        1e-9,
        "without the step",
    );
    assert_eq!((reset.counts.counter_reset, reset.gaps.len()), (1, 1));
    let words = reset.in_words().expect("words");
    assert!(
        words.contains("1 row in which a counter had been reset, not used"),
        "{words}"
    );
    assert!(words.contains("it was reset"), "{words}");
    // a reading that is no state of the counter costs two steps and no more
    let mut odd = state.clone();
    odd[40] = 99_999.9;
    let odd = evaluated(&four, "totaliser_m3", &odd, minutes(), quiet());
    assert_relative(
        odd.total.estimate,
        59.0 * 0.3 * k,
        1e-9,
        "a code for an error",
    );
    assert_eq!(odd.counts.error_code, 1);
    let mut odd = state;
    odd[40] = 431.0;
    let odd = evaluated(&four, "totaliser_m3", &odd, minutes(), quiet());
    assert_relative(odd.total.estimate, 57.0 * 0.3 * k, 1e-9, "an odd reading");
    assert_eq!((odd.counts.velocity, odd.counts.counter_reset), (1, 1));
}

#[test]
fn daily_readings_of_a_totaliser_belong_to_the_day_before() {
    let days = ["2026-11-01", "2026-11-02", "2026-11-03", "2026-11-04"];
    let times: Vec<String> = days.iter().map(|day| format!("{day}T00:00:00")).collect();
    let state = [100.0, 532.0, 1396.0, 1828.0];
    let options = SeriesOptions {
        period: Some(Period::Day),
        ..quiet()
    };
    let times = Times::from_text(times.iter().map(String::as_str)).expect("times");
    let series = evaluated(TOTALISER, "totaliser_m3", &state, times, options);
    let labels: Vec<&str> = series.periods.iter().map(|p| p.label.as_str()).collect();
    assert_eq!(labels, &days[..3]);
    for (period, volume) in series.periods.iter().zip([432.0, 864.0, 432.0]) {
        let k = factor(volume / 86_400.0);
        assert_relative(period.total.estimate, volume * k, 1e-9, &period.label);
        assert_relative(period.availability(), 1.0, 1e-12, "availability");
        assert_relative(
            period.random_uncertainty,
            0.1 / 6f64.sqrt() * k,
            0.02,
            "counting",
        );
    }
    let sum: f64 = series.periods.iter().map(|p| p.total.estimate).sum();
    assert_relative(sum, series.total.estimate, 1e-12, "sum");
}

#[test]
fn means_of_the_time_before_a_row_are_a_rule() {
    let flows = [1e-3, 2e-3, 4e-3, 3e-3];
    let since = |times: &[f64], gaps| {
        let options = SeriesOptions {
            rule: Rule::Since,
            gaps,
            ..quiet()
        };
        let times = Times::Seconds(times.to_vec());
        evaluated("", "volume_flow_m3_s", &flows, times, options)
    };
    let leave_out = flowdoubt::evaluate::Gaps::LeaveOut;
    let series = since(&[0.0, 60.0, 120.0, 180.0], leave_out);
    let by_hand: f64 = flows.iter().map(|q| q * factor(*q)).sum::<f64>() * 60.0;
    assert_relative(
        series.total.estimate,
        by_hand,
        1e-9,
        "each row the minute before it",
    );
    // the row after a gap stands for a minute before it
    let series = since(&[0.0, 60.0, 120.0, 1180.0], leave_out);
    assert_relative(series.total.estimate, by_hand, 1e-9, "with a gap");
    assert_relative(
        series.gaps[0].duration(),
        1000.0,
        1e-12,
        "length of the gap",
    );
    // filled with what flowed before, or on a straight line
    for (gaps, flow) in [
        (flowdoubt::evaluate::Gaps::Hold, 4e-3 * factor(4e-3)),
        (
            flowdoubt::evaluate::Gaps::Interpolate,
            0.5 * (4e-3 * factor(4e-3) + 3e-3 * factor(3e-3)),
        ),
    ] {
        let series = since(&[0.0, 60.0, 120.0, 1180.0], gaps);
        assert_relative(series.filled_volume(), 1000.0 * flow, 1e-9, "filled");
        assert_relative(
            series.total.estimate,
            by_hand + 1000.0 * flow,
            1e-9,
            "total",
        );
    }
}

#[test]
fn currents_that_tell_a_fault_are_rejected() {
    let mut currents = vec![12.0; 40];
    currents[7] = 3.5;
    currents[8] = 0.0;
    currents[20] = 22.0;
    currents[30] = 20.8;
    let options = SeriesOptions {
        faults: flowdoubt::evaluate::Faults {
            spikes: None,
            ..flowdoubt::evaluate::Faults::default()
        },
        ..quiet()
    };
    let series = evaluated(
        LOOP,
        "current_mA",
        &currents,
        Times::Interval(MINUTE),
        options,
    );
    let fault = "current-fault";
    assert_eq!(codes(&series), [(7, fault), (8, fault), (20, fault)]);
    assert_eq!(series.counts.current_fault, 3);
    let words = series.in_words().expect("words");
    assert!(
        words.contains("row 20: a current of 22.0 mA tells a fault"),
        "{words}"
    );
    let codes: Vec<_> = series.warnings.iter().map(|w| w.code).collect();
    assert!(codes.contains(&"current-saturated"), "{codes:?}");
    let flow = 100.0 / 3600.0;
    assert_relative(series.flow[0], flow * factor(flow), 1e-12, "flow");
}

#[test]
fn a_scatter_of_counts_is_refused() {
    let site = Site::from_toml(&site("", PULSES), "site.toml").expect("site");
    let log =
        Log::from_columns([("pulses", &[30.0; 4][..])], Times::Interval(MINUTE)).expect("log");
    let options = SeriesOptions {
        repeatability: vec![(Channel::Pulses, Repeatability::independent(1.0, 9.0))],
        ..SeriesOptions::default()
    };
    let found = site.evaluate_series(&log, options);
    assert_refused(found, "conflict", &["repeatability.pulses", "volume_flow"]);
}
