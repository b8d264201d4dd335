//! The clock of the meter, a factor on both times.

use crate::support::{assert_relative, demo, demo_readings, evaluate, with};
use flowdoubt::evaluate::Readings;
use flowdoubt::plan::{Conditions, Repeatability};
use flowdoubt::site::Site;

/// The demonstration site with a clock that tells less time than passes.
fn slow_clock() -> String {
    let base =
        "[meter]\ntime_base = { value = \"1.02\", half_width = \"1 %\", shape = \"rectangular\" }";
    with(&demo("site.toml"), "[meter]", base)
}

#[test]
fn a_slow_clock_is_put_right_in_both_times() {
    let times = |transit: f64, difference: f64, zero: &str, site: &str| {
        let site = with(site, "value = \"0.15 ns\"", zero);
        let readings = Readings::from_columns([
            ("transit_time_us", &[transit, transit][..]),
            ("time_difference_ns", &[difference, difference][..]),
            ("temperature_degC", &[8.0, 8.0][..]),
        ]);
        let evaluation = evaluate(&site, &readings.expect("readings"));
        evaluation.expect("an evaluation").estimate()
    };
    // what the clock told, and what passed
    let told = times(500.0, 200.0, "value = \"0.1 ns\"", &slow_clock());
    let passed = times(510.0, 204.0, "value = \"0.102 ns\"", &demo("site.toml"));
    assert_relative(told, passed, 1e-13, "flow");
}

#[test]
fn a_plan_expects_the_readings_that_the_clock_tells() {
    let site = Site::from_toml(&slow_clock(), "site.toml").expect("a site");
    let at = Conditions {
        volume_flow: 0.3,
        temperature: Some(281.0),
    };
    let expected = site
        .expected(&at, &Repeatability::default())
        .expect("expected");
    assert_relative(expected.budget().estimate, 0.3, 1e-12, "flow");
    let true_clock = Site::from_toml(&demo("site.toml"), "site.toml").expect("a site");
    let other = true_clock
        .expected(&at, &Repeatability::default())
        .expect("expected");
    // transit times as told are shorter
    let time = |e: &flowdoubt::plan::Expected| e.planned()[1].mean;
    assert_relative(1.02 * time(&expected), time(&other), 1e-12, "transit time");
}

#[test]
fn the_clock_is_in_the_budget_the_causes_and_the_worksheet() {
    let evaluation = evaluate(&slow_clock(), &demo_readings()).expect("an evaluation");
    let line = evaluation
        .budget
        .lines
        .iter()
        .find(|line| line.input.name() == "meter.time_base");
    assert!(line.expect("a line").sensitivity != 0.0);
    let causes = evaluation.sound_speed_check().expect("a check").causes;
    assert!(
        causes
            .iter()
            .any(|cause| cause.quantity == "meter.time_base")
    );
    let unusual = evaluation.warnings();
    let unusual = unusual
        .iter()
        .find(|w| w.code == "unusual-value")
        .expect("a warning");
    assert!(
        unusual
            .words
            .starts_with("meter.time_base is 1.02, outside"),
        "{}",
        unusual.words
    );
}
