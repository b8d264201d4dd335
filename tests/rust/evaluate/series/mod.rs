//! Series: flow row by row, totals, gaps and rows that cannot be used.

mod clocks;
mod counts;
mod direction;
mod faults;
mod periods;
mod site_keys;
mod skipped_periods;
mod total;

use crate::support::philox::philox;
use crate::support::{assert_refused, assert_relative, plain_demo, with};
use flowdoubt::evaluate::{
    Channel, Faults, Gaps, Log, Readings, Reason, Repeatability, Rule, Series, SeriesOptions, Times,
};
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Input, InputSet};
use flowdoubt::{Error, Result};
use proptest::prelude::*;
use std::ops::ControlFlow;

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

#[test]
fn every_row_is_the_evaluation_of_its_readings() {
    let site = site();
    let rows = [
        USUAL,
        row(0.5, 12.0),
        row(1.1, 5.0),
        row(-0.7, 20.0),
        row(0.0056, 9.0),
        row(0.0025, 8.0),
    ];
    let series = evaluated(&rows, without_scatter());
    for (i, &own) in rows.iter().enumerate() {
        let evaluation = alone(&site, own).expect("evaluation");
        assert_eq!(series.flow[i], evaluation.estimate(), "row {i}");
        assert_eq!(series.reynolds[i], evaluation.steps.reynolds);
        let u = evaluation.standard_uncertainty();
        assert_relative(series.standard_uncertainty[i], u, 1e-12, "u");
        assert_eq!(series.random_uncertainty[i], 0.0);
    }
    let mut lines = series.total.lines.iter();
    let law = lines.find(|line| line.input.name() == "profile.law_factor");
    let evidence = law.expect("law").input.evidence();
    assert!(evidence.contains("by row"), "{evidence}");
    // laminar, in the transition and turbulent, and against the usual direction
    assert_eq!((series.counts.laminar, series.counts.transition), (1, 1));
    assert!(series.flow[3] < 0.0);
}

#[test]
fn one_row_for_a_time_has_its_budget_times_the_time() {
    let options = SeriesOptions {
        rule: Rule::Hold,
        ..without_scatter()
    };
    let series = evaluated(&[USUAL], options);
    let evaluation = alone(&site(), USUAL).expect("evaluation");
    assert_eq!(series.duration, 60.0);
    assert_eq!(series.total.output.unit.symbol, "m3");
    assert_relative(
        series.total.estimate,
        60.0 * evaluation.estimate(),
        1e-15,
        "V",
    );
    let u = 60.0 * evaluation.standard_uncertainty();
    assert_relative(series.total.standard_uncertainty, u, 1e-12, "u");
    assert_eq!(series.total.lines.len(), evaluation.budget.lines.len());
    for (line, own) in series.total.lines.iter().zip(&evaluation.budget.lines) {
        assert_eq!(line.input.name(), own.input.name());
        assert!(
            (line.share - own.share).abs() < 1e-12,
            "{}",
            own.input.name()
        );
        let contribution = 60.0 * own.contribution;
        assert!((line.contribution - contribution).abs() <= 1e-12 * u);
    }
    let dof = (series.total.effective_dof, evaluation.budget.effective_dof);
    assert_relative(dof.0, dof.1, 1e-10, "effective degrees of freedom");
}

/// The total from sensitivities of single evaluations and an explicit covariance matrix of all
/// inputs of all rows.
#[test]
fn the_total_is_the_explicit_matrix_product() {
    let site = site();
    let rows = day(40);
    let s = [0.9e-9, 2.5e-9, 0.04];
    let options = SeriesOptions {
        repeatability: stated(s),
        ..SeriesOptions::default()
    };
    let series = evaluated(&rows, options);
    let (mut volume, mut variance) = (0.0, 0.0);
    let evaluations: Vec<_> = rows
        .iter()
        .map(|row| alone(&site, *row).expect("row"))
        .collect();
    let weight = |i: usize| {
        if i == 0 || i == rows.len() - 1 {
            30.0
        } else {
            60.0
        }
    };
    let scatter = |name: &str| match name {
        "readings.time_difference" => Some(s[0]),
        "readings.transit_time" => Some(s[1]),
        "liquid.temperature" => Some(s[2]),
        _ => None,
    };
    let correlated = ["meter.cable_delay", "meter.electronics_delay"];
    for (i, a) in evaluations.iter().enumerate() {
        volume += weight(i) * a.estimate();
        for (j, b) in evaluations.iter().enumerate() {
            for p in &a.budget.lines {
                for q in &b.budget.lines {
                    let (p_name, q_name) = (p.input.name(), q.input.name());
                    let covariance = match (scatter(p_name), p_name == q_name) {
                        (Some(s), true) if i == j => s * s * p.sensitivity * q.sensitivity,
                        (Some(_), _) => 0.0,
                        (None, true) => p.contribution * q.contribution,
                        (None, false)
                            if correlated.contains(&p_name) && correlated.contains(&q_name) =>
                        {
                            0.5 * p.contribution * q.contribution
                        }
                        _ => 0.0,
                    };
                    variance += weight(i) * weight(j) * covariance;
                }
            }
        }
    }
    assert_relative(series.total.estimate, volume, 1e-14, "V");
    assert_relative(
        series.total.standard_uncertainty,
        variance.sqrt(),
        1e-11,
        "u",
    );
}

#[test]
fn systematic_parts_stay_and_random_parts_average_out() {
    let relative = |rows: usize, s: [f64; 3]| {
        let options = SeriesOptions {
            repeatability: stated(s),
            rule: Rule::Hold,
            ..SeriesOptions::default()
        };
        let total = evaluated(&vec![USUAL; rows], options).total;
        total.relative_standard_uncertainty()
    };
    let systematic = relative(1, [0.0; 3]);
    assert_relative(
        relative(5000, [0.0; 3]),
        systematic,
        1e-12,
        "no random part",
    );
    let random = |rows: usize| {
        let both = relative(rows, [20e-9, 0.0, 0.0]);
        (both * both - systematic * systematic).sqrt()
    };
    assert_relative(random(400) / random(100), 0.5, 1e-6, "1/sqrt(n)");
}

/// Normal deviates by the central limit: the sum of twelve uniform ones, less six.
fn deviate(i: u32) -> f64 {
    let words = (0..3).flat_map(|k| philox([i, k, 1, 0], [11, 13]));
    words.map(|w| f64::from(w) / 4_294_967_296.0).sum::<f64>() - 6.0
}

#[test]
fn scatter_is_judged_from_differences() {
    let rows: Vec<Row> = (0..4000)
        .map(|i| {
            // a slow course, and steps every 200 rows
            let slow = 700.0 + 0.01 * f64::from(i) + if (i / 200) % 2 == 0 { 0.0 } else { 90.0 };
            [
                slow + 0.8 * deviate(i),
                610.7 + 0.002 * deviate(i + 10_000),
                8.0,
            ]
        })
        .collect();
    let series = evaluated(&rows, SeriesOptions::default());
    let line = |name: &str| {
        let mut lines = series.total.lines.iter();
        lines.find(|line| line.input.name() == name).expect("line")
    };
    let of_difference = &line("readings.time_difference").input;
    assert_relative(of_difference.standard_uncertainty(), 0.8e-9, 0.06, "s");
    // a quarter for each of the 998 blocks of four rows
    assert_relative(of_difference.dof(), 0.25 * 998.0, 1e-12, "dof");
    assert_relative(
        line("readings.transit_time").input.standard_uncertainty(),
        2e-9,
        0.06,
        "s",
    );
    assert_eq!(line("liquid.temperature").input.standard_uncertainty(), 0.0);
    // few digits: more than two thirds of the differences are zero, so the mean square counts
    let coarse: Vec<Row> = (0..4000)
        .map(|i| [798.0, 610.7, 8.0 + 0.1 * f64::from(deviate(i) > 1.6)])
        .collect();
    let series = evaluated(&coarse, SeriesOptions::default());
    let temperature = series.total.lines.iter();
    let temperature = temperature
        .clone()
        .find(|l| l.input.name() == "liquid.temperature");
    let u = temperature.expect("line").input.standard_uncertainty();
    // one row in eighteen
    let share: f64 = 0.0548;
    assert_relative(u, 0.1 * (share * (1.0 - share)).sqrt(), 0.15, "u");
    // too few to tell
    let few = site().evaluate_series(&minutes(&[USUAL; 5]), SeriesOptions::default());
    assert_refused(
        few,
        "missing",
        &["repeatability.time_difference", "3 differences"],
    );
}

#[test]
fn rules_of_integration() {
    let rows: Vec<Row> = [1.0, 0.5, 0.8].map(|share| row(share, 8.0)).to_vec();
    let at = |times: &[f64], options: SeriesOptions| {
        let log = log(&rows, Times::Seconds(times.to_vec()));
        site().evaluate_series(&log, options).expect("series")
    };
    let series = at(&[5.0, 15.0, 25.0], without_scatter());
    let q = series.flow.clone();
    let close = |series: &Series, volume: f64, duration: f64| {
        assert_relative(series.total.estimate, volume, 1e-14, "V");
        assert_relative(series.duration, duration, 1e-15, "duration");
    };
    close(&series, 5.0 * q[0] + 10.0 * q[1] + 5.0 * q[2], 20.0);
    let hold = |gaps| SeriesOptions {
        rule: Rule::Hold,
        gaps,
        ..without_scatter()
    };
    let trapezoid = |gaps| SeriesOptions {
        gaps,
        ..without_scatter()
    };
    close(
        &at(&[5.0, 15.0, 25.0], hold(Gaps::LeaveOut)),
        10.0 * (q[0] + q[1] + q[2]),
        30.0,
    );
    // the usual step is 10 s, the lower of the two
    let gap = [0.0, 10.0, 100.0];
    close(
        &at(&gap, trapezoid(Gaps::LeaveOut)),
        5.0 * (q[0] + q[1]),
        10.0,
    );
    let filled = at(&gap, trapezoid(Gaps::Interpolate));
    close(&filled, 5.0 * (q[0] + q[1]) + 45.0 * (q[1] + q[2]), 100.0);
    assert_relative(
        filled.filled_volume(),
        45.0 * (q[1] + q[2]),
        1e-14,
        "filled",
    );
    let filled = at(&gap, trapezoid(Gaps::Hold));
    close(&filled, 5.0 * (q[0] + q[1]) + 90.0 * q[1], 100.0);
    assert_eq!((filled.counts.gaps, filled.gap_duration()), (1, 90.0));
    close(
        &at(&gap, hold(Gaps::LeaveOut)),
        10.0 * (q[0] + q[1] + q[2]),
        30.0,
    );
    close(
        &at(&gap, hold(Gaps::Hold)),
        10.0 * q[0] + 90.0 * q[1] + 10.0 * q[2],
        110.0,
    );
    // whether a step is a gap is for the user to say
    let wide = SeriesOptions {
        gap_factor: 9.5,
        ..without_scatter()
    };
    assert_eq!(at(&gap, wide).counts.gaps, 0);
}

#[test]
fn rows_that_cannot_be_used_are_listed_with_the_reason() {
    let mut rows = vec![USUAL; 3000];
    rows[4] = [f64::NAN, 610.7, 8.1];
    rows[10] = [798.0, 610.7, f64::INFINITY];
    rows[1023] = [798.0, 20.0, 8.1]; // shorter than the dead time, at the end of a block
    rows[1100] = [798.0, 610.7, 170.0]; // boiling
    let mut times: Vec<f64> = (0..3000).map(|i| 60.0 * f64::from(i)).collect();
    times[20] = f64::NAN;
    times[30] = times[29];
    times[40] = 1e9;
    let log = log(&rows, Times::Seconds(times));
    let series = site()
        .evaluate_series(&log, without_scatter())
        .expect("series");
    let found: Vec<(usize, &str)> = series
        .rejected
        .iter()
        .map(|rejected| (rejected.row, rejected.reason.code()))
        .collect();
    let expected = [
        (4, "not-a-number"),
        (10, "not-a-number"),
        (20, "no-time"),
        (30, "duplicate"),
        (40, "out-of-order"),
        (1023, "outside-model"),
        (1100, "outside-model"),
    ];
    assert_eq!(found, expected);
    let c = series.counts;
    assert_eq!((c.rows, c.used, c.resets, c.gaps), (3000, 2993, 1, 7));
    assert_eq!((c.no_time, c.not_a_number, c.duplicate), (1, 2, 1));
    assert_eq!((c.out_of_order, c.outside_model), (1, 2));
    // each hole takes two steps out of 2999
    assert_eq!(series.duration, 60.0 * (2999.0 - 14.0));
    let per_second = alone(&site(), USUAL).expect("row").estimate();
    assert_relative(
        series.total.estimate,
        series.duration * per_second,
        1e-12,
        "V",
    );
    for rejected in &series.rejected {
        assert!(series.flow[rejected.row].is_nan());
    }
    assert_eq!(series.flow.iter().filter(|q| q.is_nan()).count(), 7);
    let words = series.in_words().expect("words");
    for part in [
        "2993 of 3000 rows used",
        "row 1023: readings.transit_time",
        "time goes back",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    // the same as if these rows had never been there
    let clean: Vec<usize> = (0..3000).filter(|i| !series.flow[*i].is_nan()).collect();
    let times = clean.iter().map(|i| series.seconds[*i]).collect();
    let rows: Vec<Row> = clean.iter().map(|i| rows[*i]).collect();
    let log = crate::evaluate::series::log(&rows, Times::Seconds(times));
    let again = site()
        .evaluate_series(&log, without_scatter())
        .expect("series");
    assert_eq!(again.duration, series.duration);
    assert_relative(again.total.estimate, series.total.estimate, 1e-13, "V");
    let (u, other) = (
        again.total.standard_uncertainty,
        series.total.standard_uncertainty,
    );
    assert_relative(u, other, 1e-12, "u");
}

#[test]
fn bits_do_not_depend_on_threads() {
    let mut rows = day(5000);
    rows[2500] = [798.0, 20.0, 8.1];
    let of = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let pool = pool.expect("threads");
        pool.install(|| evaluated(&rows, SeriesOptions::default()))
    };
    let reference = of(1);
    let bits = |values: &[f64]| values.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
    for threads in [2, 7] {
        let other = of(threads);
        assert_eq!(other.total, reference.total, "{threads}");
        assert_eq!(bits(&other.flow), bits(&reference.flow));
        let pair = [&other, &reference].map(|series| bits(&series.standard_uncertainty));
        assert_eq!(pair[0], pair[1]);
    }
}

#[test]
fn a_series_can_be_watched_and_ended() {
    let mut seen = Vec::new();
    let mut watch = |done: u64| {
        seen.push(done);
        ControlFlow::Continue(())
    };
    let log = minutes(&day(3000));
    let options = SeriesOptions::default();
    let site = site();
    let watched = site.evaluate_series_watched(&log, options.clone(), &mut watch);
    assert!(watched.is_ok());
    assert_eq!(seen.last(), Some(&3000));
    let mut stop = |_| ControlFlow::Break(());
    let ended = site.evaluate_series_watched(&log, options, &mut stop);
    assert_eq!(ended.expect_err("ended").code(), "cancelled");
}

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

/// What is refused and why is what the evaluation of the row alone says, whatever the site.
#[test]
fn rows_are_judged_as_single_evaluations_are() {
    let fitting = with(
        &plain_demo(),
        "factor = { value = \"1.000\", half_width = \"1.4 %\", shape = \"triangular\", evidence = \
         \"14 diameters downstream of one bend, judgement\" }",
        "fitting = \"single_bend\"\nstraight_run = \"14 D\"\norientation = \"90 deg\"\nplanes = 1",
    );
    let geometric = with(&plain_demo(), "basis = \"timed\"", "basis = \"geometric\"");
    for text in [plain_demo(), fitting, geometric] {
        let site = Site::from_toml(&text, "site.toml").expect("site");
        let mut rows = vec![USUAL];
        for share in [-1.0, -0.002, 0.0, 1e-9, 0.002, 0.004, 0.7, 100.0, 1e7] {
            for celsius in [-40.0, -0.2, 0.1, 8.0, 60.0, 150.0, 400.0] {
                for shift in [-600.0, -583.1, 0.0, 100.0] {
                    rows.push([798.0 * share, 610.7 + shift, celsius]);
                }
            }
        }
        let series = site.evaluate_series(&minutes(&rows), without_scatter());
        let series = series.expect("series");
        let mut refused = 0;
        for (i, row) in rows.iter().enumerate() {
            let mut found = series.rejected.iter().filter(|rejected| rejected.row == i);
            let beyond_meters = |error: &Error| {
                let field = error.context().field.unwrap_or_default();
                field.starts_with("readings.") || field == "liquid.temperature"
            };
            match (alone(&site, *row), found.next()) {
                (Ok(evaluation), None) => {
                    assert_relative(series.flow[i], evaluation.estimate(), 1e-14, "flow");
                    let u = evaluation.standard_uncertainty();
                    assert_relative(series.standard_uncertainty[i], u, 1e-6, "u");
                }
                // a velocity of no pipe is a fault, and none are looked for here
                (Err(error), None) if error.to_string().starts_with("mean velocity") => {}
                // what no meter reads is refused before the model is asked
                (Err(error), Some(_)) if beyond_meters(&error) => refused += 1,
                (Err(error), Some(rejected)) => {
                    refused += 1;
                    let Reason::OutsideModel(reason) = &rejected.reason else {
                        panic!("{row:?}: {:?}", rejected.reason);
                    };
                    let told = |error: &Error| (error.code(), error.context().field);
                    assert_eq!(told(reason), told(&error), "{row:?}");
                }
                (one, other) => panic!("{row:?}: {one:?} {other:?}"),
            }
        }
        assert!(refused > 20 && refused < rows.len() - 20, "{refused}");
    }
}

/// Monte Carlo of a short series: all systematic inputs drawn once for all rows, the readings of each
/// row on their own.
#[test]
fn trials_of_a_total_meet_its_budget() {
    use flowdoubt::montecarlo::MonteCarlo;
    use flowdoubt::scalar::Scalar;
    use flowdoubt::uncertainty::{MeasurementModel, Output};

    struct Total {
        model: flowdoubt::model::SiteModel,
        shared: usize,
        places: [usize; 3],
        rows: usize,
    }
    impl MeasurementModel for Total {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            vec![Output {
                name: "total".to_owned(),
                unit: flowdoubt::units::Unit::named("m3"),
            }]
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            let mut total = S::constant(0.0);
            for row in 0..self.rows {
                let mut own = x[..self.shared].to_vec();
                for (i, place) in self.places.iter().enumerate() {
                    own[*place] = x[self.shared + 3 * row + i];
                }
                let end = row == 0 || row == self.rows - 1;
                total = total + self.model.steps(&own).volume_flow * if end { 30.0 } else { 60.0 };
            }
            Ok([total])
        }
    }
    let site = site();
    let rows = [row(0.9, 8.0), row(1.0, 8.2), row(1.1, 8.1), row(1.05, 7.9)];
    let s = [4e-9, 0.05e-6, 0.2];
    let series = evaluated(
        &rows,
        SeriesOptions {
            repeatability: stated(s),
            ..SeriesOptions::default()
        },
    );
    let evaluation = alone(&site, row(1.0, 8.1)).expect("evaluation");
    let mut inputs = evaluation.inputs.inputs().to_vec();
    let names = [
        "readings.time_difference",
        "readings.transit_time",
        "liquid.temperature",
    ];
    let place = |name: &&str| {
        inputs
            .iter()
            .position(|i| i.name() == *name)
            .expect("input")
    };
    let places = [place(&names[0]), place(&names[1]), place(&names[2])];
    let shared = inputs.len();
    for (i, row) in rows.iter().enumerate() {
        let si = [row[0] * 1e-9, row[1] * 1e-6, row[2] + 273.15];
        for ((name, value), s) in names.iter().zip(si).zip(s) {
            let name = format!("{name}[{i}]");
            let input = Input::with_standard_uncertainty(&name, value, s, f64::INFINITY);
            inputs.push(input.expect("input"));
        }
    }
    let pair = |i: usize| ["meter.cable_delay", "meter.electronics_delay"][i].to_owned();
    let inputs = InputSet::correlated(inputs, &[(pair(0), pair(1), 0.5)]).expect("inputs");
    let model = Total {
        model: evaluation.model.clone(),
        shared,
        places,
        rows: rows.len(),
    };
    const TRIALS: u64 = 40_000;
    let run = MonteCarlo {
        trials: TRIALS,
        ..MonteCarlo::default()
    };
    let found = run.run(&model, &inputs).expect("trials").swap_remove(0);
    let u = series.total.standard_uncertainty;
    // six standard errors of mean and standard deviation, and what t distributions are wider
    let error = u / (TRIALS as f64).sqrt();
    // and the roughness acts in second order
    assert!((found.mean - series.total.estimate).abs() < 6.0 * error + 0.03 * u);
    assert_relative(
        found.standard_uncertainty,
        u,
        6.0 / (2.0 * TRIALS as f64).sqrt() + 0.02,
        "u",
    );
    // taking everything as independent from row to row would be far off
    let rows_alone = series
        .standard_uncertainty
        .iter()
        .zip([30.0, 60.0, 60.0, 30.0]);
    let independent: f64 = rows_alone.map(|(u, w)| (u * w) * (u * w)).sum::<f64>();
    assert!(independent.sqrt() < 0.8 * u);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 16, ..ProptestConfig::default() })]

    /// Shuffled, repeated and missing times: what is used rises, all else is listed once.
    #[test]
    fn used_rows_rise_and_all_others_are_listed(times in prop::collection::vec(
        prop_oneof![(0_i32..40).prop_map(f64::from), Just(f64::NAN)], 1..60))
    {
        let count = times.len();
        let log = log(&vec![USUAL; count], Times::Seconds(times));
        match site().evaluate_series(&log, without_scatter()) {
            Ok(series) => {
                let used: Vec<usize> =
                    (0..count).filter(|row| !series.flow[*row].is_nan()).collect();
                prop_assert!(used.windows(2).all(|w| series.seconds[w[0]] < series.seconds[w[1]]));
                let listed: Vec<usize> = series.rejected.iter().map(|r| r.row).collect();
                let mut all: Vec<usize> = used.iter().chain(&listed).copied().collect();
                all.sort_unstable();
                prop_assert_eq!(all, (0..count).collect::<Vec<_>>());
                prop_assert!(series.duration >= 0.0);
                let last = series.seconds.iter().copied().fold(f64::NAN, f64::max);
                let first = series.seconds.iter().copied().fold(f64::NAN, f64::min);
                prop_assert!(series.duration <= last - first);
            }
            Err(error) => prop_assert!(error.to_string().contains("none of"), "{}", error),
        }
    }
}
