//! Keys of the site file that say how readings follow each other in time.

use crate::support::noise::{Noise, damped};
use crate::support::{assert_refused, assert_relative, demo, with};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::site::Site;
use flowdoubt::uncertainty::{Origin, variance_inflation};

fn site(keys: &str) -> flowdoubt::Result<Site> {
    let text = with(
        &demo("site.toml"),
        "[meter]\n",
        &format!("[meter]\n{keys}\n"),
    );
    Site::from_toml(&text, "site.toml")
}

/// 200 rows at 1 s whose time difference is `difference` in ns.
fn readings(difference: &[f64], timed: bool) -> Readings {
    let rows = difference.len();
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let of = |mean: f64, s: f64, name: &str| -> Vec<f64> {
        let noise = white.readings(rows, name).into_iter();
        noise.map(|x| mean + s * x).collect()
    };
    let (time, temperature) = (of(610.7, 0.03, "t"), of(8.1, 0.02, "T"));
    let seconds: Vec<f64> = (0..rows).map(|i| i as f64).collect();
    let mut columns = vec![
        ("time_difference_ns", difference),
        ("transit_time_us", &time),
        ("temperature_degC", &temperature),
    ];
    if timed {
        columns.push(("time_s", &seconds));
    }
    Readings::from_columns(columns).expect("readings")
}

fn effective(evaluation: &Evaluation, name: &str) -> f64 {
    let mut inputs = evaluation.inputs.inputs().iter();
    let input = inputs.find(|input| input.name() == name).expect("input");
    match input.origin() {
        Origin::Readings {
            effective_count, ..
        } => *effective_count,
        other => panic!("{other:?}"),
    }
}

#[test]
fn stated_damping_counts_where_readings_show_less() {
    let white = Noise::Autoregressive {
        phi: 0.0,
        white: 0.0,
    };
    let difference: Vec<f64> = white
        .readings(200, "difference")
        .iter()
        .map(|x| 798.0 + x)
        .collect();
    let name = "readings.time_difference";
    let plain = site("")
        .expect("site")
        .evaluate(&readings(&difference, true));
    assert_eq!(effective(&plain.expect("plain"), name), 200.0);
    let window = site("damping = { window = \"20 s\" }").expect("site");
    let found = window
        .evaluate(&readings(&difference, true))
        .expect("window");
    let n_eff = 200.0 / variance_inflation(200, 200, |k| (1.0 - k as f64 / 20.0).max(0.0));
    assert_relative(effective(&found, name), n_eff, 1e-9, "n_eff");
    // the thermometer is not the meter
    assert_eq!(effective(&found, "liquid.temperature"), 200.0);
    // without times the interval is stated, or it is asked for
    let untimed = readings(&difference, false);
    assert_refused(
        window.evaluate(&untimed),
        "missing",
        &["meter.sampling_interval"],
    );
    let keys = "damping = { window = \"20 s\" }\nsampling_interval = \"1 s\"";
    let stated = site(keys)
        .expect("site")
        .evaluate(&untimed)
        .expect("stated");
    assert_eq!(effective(&stated, name), effective(&found, name));
}

#[test]
fn a_record_shorter_than_its_damping_is_warned_of() {
    let slow: Vec<f64> = damped(60, 0.967, "slow")
        .iter()
        .map(|x| 798.0 + 8.0 * x)
        .collect();
    let found = site("").expect("site").evaluate(&readings(&slow, true));
    let warnings = found.expect("evaluation").warnings();
    let warning = warnings.iter().find(|w| w.code == "short-record");
    let words = &warning.expect("warning").words;
    assert!(
        words.contains("60 readings of readings.time_difference"),
        "{words}"
    );
    let quick: Vec<f64> = damped(60, 0.0, "quick")
        .iter()
        .map(|x| 798.0 + 8.0 * x)
        .collect();
    let found = site("").expect("site").evaluate(&readings(&quick, true));
    let warnings = found.expect("evaluation").warnings();
    assert!(
        warnings.iter().all(|w| w.code != "short-record"),
        "{warnings:?}"
    );
}

#[test]
fn the_mean_over_a_period_leaves_out_the_course_of_the_flow() {
    // half a wave of 10 % with noise of 0.1 %
    let noise = damped(400, 0.0, "period");
    let course = |i: usize| 798.0 * (1.0 + 0.1 * libm::sin(i as f64 * 0.01));
    let difference: Vec<f64> = (0..400).map(|i| course(i) + 0.8 * noise[i]).collect();
    let u = |keys: &str| {
        let found = site(keys)
            .expect("site")
            .evaluate(&readings(&difference, true));
        let budget = found.expect("evaluation").budget;
        let mut lines = budget.lines.iter();
        let line = lines.find(|line| line.input.name() == "readings.time_difference");
        line.expect("line").input.standard_uncertainty()
    };
    let steady = u("mean_of = \"steady flow\"");
    assert_eq!(steady, u(""));
    let period = u("mean_of = \"period\"");
    assert_relative(period, 0.8e-9 / 20.0, 0.25, "s/sqrt(n)");
    assert!(steady > 100.0 * period, "{steady} {period}");
}

#[test]
fn keys_that_say_nothing_or_too_much_are_refused() {
    for (keys, code, words) in [
        ("damping = { }", "missing", "meter.damping"),
        (
            "damping = { window = \"3 s\", time_constant = \"3 s\" }",
            "conflict",
            "meter.damping.window",
        ),
        ("damping = { window = \"-3 s\" }", "out-of-range", "above 0"),
        (
            "damping = { window = \"3 m\" }",
            "wrong-dimension",
            "meter.damping.window",
        ),
        (
            "sampling_interval = \"0 s\"",
            "out-of-range",
            "meter.sampling_interval",
        ),
    ] {
        assert_refused(site(keys), code, &["site.toml:", words]);
    }
    assert!(site("mean_of = \"day\"").is_err());
}
