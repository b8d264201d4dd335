//! The difference of two flows: what is in common cancels, what is not does not.

use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate, with};
use flowdoubt::difference::{Difference, Flow, InCommon, Same};
use flowdoubt::evaluate::{Evaluation, Log, Period, SeriesOptions};
use flowdoubt::montecarlo::Stream;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::Input;
use proptest::prelude::*;

fn demo_evaluation() -> Evaluation {
    evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation")
}

/// The demo site with its readings of time difference as many times as long.
fn at(flow_ratio: f64) -> Evaluation {
    let text = demo("readings.csv");
    let (head, rows) = text.split_once('\n').expect("rows");
    let place = head
        .split(',')
        .position(|name| name == "time_difference_ns");
    let place = place.expect("a column of time differences");
    let mut changed = format!("{head}\n");
    for row in rows.lines() {
        let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
        let value: f64 = cells[place].parse().expect("a number");
        cells[place] = (value * flow_ratio).to_string();
        changed += &(cells.join(",") + "\n");
    }
    let readings =
        flowdoubt::evaluate::Readings::from_csv_text(&changed, "readings.csv").expect("readings");
    evaluate(&demo("site.toml"), &readings).expect("evaluation")
}

/// Standard deviation of the difference by drawing the inputs of both models, what is read for each
/// alone and everything else for both: a second way, which knows nothing of covariances.
#[test]
fn agrees_with_drawing_the_inputs_of_both() {
    let (first, second) = (at(1.0), at(1.4));
    let found = Difference::of(&first, &second, Same::Mounting).expect("difference");
    let read = |input: &Input| {
        ["time_difference", "transit_time", "liquid.temperature"].contains(&input.name())
    };
    let mut stream = Stream::new(20, "difference");
    let draw =
        |stream: &mut Stream, input: &Input| input.distribution().quantile(stream.next_uniform());
    let mut sums = [0.0; 2];
    const TRIALS: usize = 20_000;
    for _ in 0..TRIALS {
        let mut x1 = Vec::new();
        let mut x2 = Vec::new();
        for (a, b) in first.inputs.inputs().iter().zip(second.inputs.inputs()) {
            assert_eq!(a.name(), b.name());
            let own = draw(&mut stream, a);
            x1.push(own);
            // the same deviation, in standard uncertainties of each
            let scaled = (own - a.estimate()) / a.standard_uncertainty();
            x2.push(if read(b) {
                draw(&mut stream, b)
            } else if a.standard_uncertainty() > 0.0 {
                b.estimate() + scaled * b.standard_uncertainty()
            } else {
                b.estimate()
            });
        }
        let difference = second.model.steps(&x2).volume_flow - first.model.steps(&x1).volume_flow;
        sums[0] += difference;
        sums[1] += difference * difference;
    }
    let n = TRIALS as f64;
    let mean = sums[0] / n;
    let deviation = (sums[1] / n - mean * mean).sqrt();
    assert_relative(found.difference.standard_uncertainty, deviation, 0.02, "u");
    let apart = libm::hypot(first.standard_uncertainty(), second.standard_uncertainty());
    assert!(deviation < 0.5 * apart, "{deviation} {apart}");
}

#[test]
fn nothing_in_common_adds_variances_and_the_same_flow_with_nothing_read_has_none() {
    let evaluation = demo_evaluation();
    let u = evaluation.standard_uncertainty();
    let apart = Difference::of(&evaluation, &evaluation, Same::Nothing).expect("difference");
    assert_relative(
        apart.difference.standard_uncertainty,
        u * 2f64.sqrt(),
        1e-12,
        "u",
    );
    assert_eq!(apart.covariance, 0.0);
    assert!(apart.shared.is_empty());
    let mut all: InCommon = Same::Mounting.into();
    all.also = evaluation
        .inputs
        .inputs()
        .iter()
        .map(|i| i.name().to_owned())
        .collect();
    let same = Difference::of(&evaluation, &evaluation, all).expect("difference");
    assert_eq!(same.difference.standard_uncertainty, 0.0);
    assert_relative(same.correlation.expect("uncertain"), 1.0, 1e-12, "r");
    assert!(!same.differs().expect("differs"));
}

#[test]
fn the_more_is_in_common_the_surer_is_the_difference() {
    let (first, second) = (at(1.0), at(1.01));
    let u = |same: Same| {
        let found = Difference::of(&first, &second, same).expect("difference");
        found.difference.standard_uncertainty
    };
    let order = [
        Same::Mounting,
        Same::MeterAndPipe,
        Same::Pipe,
        Same::Nothing,
    ]
    .map(u);
    assert!(order.is_sorted_by(|a, b| a < b), "{order:?}");
    assert!(u(Same::Meter) < u(Same::Nothing));
    // one per cent between two periods is seen, between two meters of which nothing is in common not
    let differs = |same| Difference::of(&first, &second, same)?.differs();
    assert!(differs(Same::Mounting).expect("differs"));
    assert!(!differs(Same::Nothing).expect("differs"));
}

#[test]
fn the_relative_difference_is_that_of_the_ratio() {
    let (first, second) = (at(1.0), at(1.2));
    let found = Difference::of(&first, &second, Same::Mounting).expect("difference");
    let relative = found.relative.as_ref().expect("some flow");
    let (q1, q2) = (first.estimate(), second.estimate());
    assert_relative(relative.estimate, q2 / q1 - 1.0, 1e-14, "ratio");
    // JCGM 100:2008, equation (13) for q2 / q1, with the covariance
    let (u1, u2) = (
        first.standard_uncertainty() / q1,
        second.standard_uncertainty() / q2,
    );
    let variance = u1 * u1 + u2 * u2 - 2.0 * found.covariance / (q1 * q2);
    let expected = q2 / q1 * variance.sqrt();
    assert_relative(
        relative.standard_uncertainty,
        expected,
        1e-9,
        "u of the ratio",
    );
    // a factor that both have in common cancels from a ratio but for what it does to the profile
    // (u = 0.45 %), and does not from a difference
    let line = |budget: &flowdoubt::uncertainty::Budget| {
        let mut lines = budget.lines.iter();
        let line = lines.find(|line| line.input.name() == "meter.calibration_factor");
        line.map(|line| line.contribution.abs())
    };
    assert!(line(relative).expect("line") < 1e-4);
    assert!(line(&found.difference).expect("line") > 0.0);
}

#[test]
fn periods_of_a_series_have_the_covariance_of_their_totals() {
    let mut text = "time,transit_time_us,time_difference_ns,temperature_degC\n".to_owned();
    for i in 0..288 {
        let scatter = [0.0, 3.1, -2.2, 1.4, -3.3, 0.9, 2.6][i % 7];
        let level = if i < 144 { 800.0 } else { 840.0 };
        text += &format!(
            "2026-10-{:02}T{:02}:{:02}:00Z,610.7,{},8.1\n",
            1 + i / 144,
            i % 144 / 6,
            i % 6 * 10,
            level + scatter
        );
    }
    let log = Log::from_csv_text(&text, "log.csv", None).expect("log");
    let site = Site::from_toml(&demo("site.toml"), "site.toml").expect("site");
    let options = SeriesOptions {
        period: Some(Period::Day),
        ..SeriesOptions::default()
    };
    let series = site.evaluate_series(&log, options).expect("series");
    let [first, second] = ["2026-10-01", "2026-10-02"].map(|day| series.period_as_flow(day));
    let first: Flow = first.expect("a day");
    let found = Difference::of(first, second.expect("a day"), Same::Mounting).expect("difference");
    let covariance = series.period_covariance();
    let [t1, t2] = [0, 1].map(|i| series.periods[i].duration);
    let variance = covariance[0][0] / (t1 * t1) + covariance[1][1] / (t2 * t2)
        - 2.0 * covariance[0][1] / (t1 * t2);
    let u = found.difference.standard_uncertainty;
    assert_relative(u, variance.sqrt(), 1e-6, "u");
    assert!(found.differs().expect("differs"));
    assert_refused(
        series.period_as_flow("2026-10-03"),
        "unknown-name",
        &["2026-10-02"],
    );
    let whole = series.mean_as_flow().expect("mean");
    assert_eq!(whole.label, site.name);
}

#[test]
fn contradictions_and_names_of_nothing_are_refused() {
    let first = demo_evaluation();
    let text = with(&demo("site.toml"), "\"0.25 mm\"", "\"0.35 mm\"");
    let second = evaluate(&text, &demo_readings()).expect("evaluation");
    assert_refused(
        Difference::of(&first, &second, Same::Pipe),
        "conflict",
        &[
            "pipe.layer[1].thickness",
            "0.25 mm",
            "0.35 mm",
            "not common",
        ],
    );
    // of two pipes it can be another one, and what was measured anew is said to be
    Difference::of(&first, &second, Same::Meter).expect("two pipes");
    let mut anew: InCommon = Same::Pipe.into();
    anew.but.push("pipe.layer[1].thickness".to_owned());
    Difference::of(&first, &second, anew).expect("measured anew");
    let mut in_common: InCommon = Same::Pipe.into();
    in_common.but.push("pipe.wal".to_owned());
    assert_refused(
        Difference::of(&first, &first, in_common),
        "unknown-name",
        &["pipe.wal", "pipe.wall"],
    );
    assert_refused(Same::from_name("all"), "unknown-name", &["mounting"]);
}

proptest! {
    /// The difference turned round has the other sign and the same uncertainty.
    #[test]
    fn turned_round(ratio in 0.5f64..2.0, same in 0usize..5) {
        let same = Same::from_name(Same::NAMES[same]).expect("a name");
        let (first, second) = (at(1.0), at(ratio));
        let forth = Difference::of(&first, &second, same).expect("difference");
        let back = Difference::of(&second, &first, same).expect("difference");
        prop_assert_eq!(forth.difference.estimate, -back.difference.estimate);
        let (u, v) = (forth.difference.standard_uncertainty, back.difference.standard_uncertainty);
        prop_assert!((u - v).abs() <= 1e-9 * u);
    }
}
