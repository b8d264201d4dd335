//! Flow row by row, and rows that cannot be used.

use super::{Row, USUAL, alone, evaluated, log, minutes, row, site, without_scatter};
use crate::support::philox::philox;
use crate::support::{assert_refused, assert_relative, plain_demo, with};
use flowdoubt::Error;
use flowdoubt::evaluate::{Reason, SeriesOptions, Times};
use flowdoubt::site::Site;
use proptest::prelude::*;

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
