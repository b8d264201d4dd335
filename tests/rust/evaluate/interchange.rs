//! The zero from runs with interchanged sensors.

use crate::support::noise::damped;
use crate::support::{assert_refused, assert_relative, demo};
use flowdoubt::evaluate::{InterchangedZero, Readings};
use flowdoubt::site::Site;

fn site() -> Site {
    Site::from_toml(&demo("site.toml"), "site.toml").expect("site")
}

fn run(values: &[f64]) -> Readings {
    Readings::from_columns([("time_difference_ns", values)]).expect("run")
}

fn found(runs: [&[f64]; 3]) -> flowdoubt::Result<InterchangedZero> {
    let [before, interchanged, after] = runs.map(run);
    site().zero_from_interchange(&before, &interchanged, &after)
}

#[test]
fn the_zero_by_hand() {
    // means 801, -797 and 803; s / sqrt(2) is 1, 2 and 1
    let zero = found([&[800.0, 802.0], &[-799.0, -795.0], &[802.0, 804.0]]).expect("zero");
    assert_relative(zero.zero, 2.5e-9, 1e-12, "(801 - 2 797 + 803) / 4");
    assert_relative(zero.reading_of_flow, 799.5e-9, 1e-12, "flow");
    let variance = (1.0 + 4.0 * 4.0 + 1.0) / 16.0 + 4.0 / 48.0;
    assert_relative(
        zero.standard_uncertainty,
        1e-9 * f64::sqrt(variance),
        1e-9,
        "u",
    );
    assert_relative(zero.change, 2e-9, 1e-9, "change");
    assert_relative(
        zero.change_uncertainty,
        2.0_f64.sqrt() * 1e-9,
        1e-9,
        "u(change)",
    );
    assert!(zero.steady());
    let words = zero.in_words();
    assert!(
        words.contains("zero 2.5 ns") && words.contains("stood still"),
        "{words}"
    );
}

#[test]
fn intervals_of_the_zero_cover() {
    // a true zero of 0.4 ns below a flow that swings, damped, and creeps up by 2 ns from run to run
    let mut covered = 0;
    let mut steady = 0;
    for i in 0..300 {
        let noise = |n: u32| damped(300, 0.9, &format!("run {i} {n}"));
        let run = |n: u32, sign: f64, flow: f64| -> Vec<f64> {
            noise(n)
                .iter()
                .map(|x| 0.4 + sign * (flow + 4.0 * x))
                .collect()
        };
        let runs = [run(1, 1.0, 800.0), run(2, -1.0, 802.0), run(3, 1.0, 804.0)];
        let zero = found([&runs[0], &runs[1], &runs[2]]).expect("zero");
        let u = flowdoubt::uncertainty::expanded(zero.standard_uncertainty, zero.dof, 0.95);
        let expanded = u.expect("expanded").expanded_uncertainty;
        covered += u32::from((zero.zero - 0.4e-9).abs() <= expanded);
        let still = [run(4, 1.0, 800.0), run(5, -1.0, 800.0), run(6, 1.0, 800.0)];
        steady += u32::from(
            found([&still[0], &still[1], &still[2]])
                .expect("still")
                .steady(),
        );
    }
    assert!(covered >= 279, "{covered} of 300");
    assert!(steady >= 276, "{steady} of 300");
}

#[test]
fn a_flow_that_moved_is_told() {
    let zero = found([
        &[800.0, 802.0, 801.0],
        &[-799.0, -800.0, -801.0],
        &[900.0, 901.0, 902.0],
    ]);
    let zero = zero.expect("zero");
    assert!(!zero.steady() && zero.in_words().contains("did not stand still"));
    // it is in the uncertainty: a quarter of 100 ns, over the root of 3
    assert_relative(zero.standard_uncertainty, 25e-9 / 3.0_f64.sqrt(), 1e-2, "u");
}

#[test]
fn runs_that_were_not_turned_round_are_refused() {
    let same = found([&[800.0, 802.0], &[799.0, 801.0], &[800.0, 801.0]]);
    assert_refused(same, "out-of-range", &["interchanged.time_difference"]);
    let other = Readings::from_columns([("transit_time_us", &[600.0, 601.0][..])]).expect("run");
    let missing = site().zero_from_interchange(&run(&[1.0, 2.0]), &run(&[-1.0, -2.0]), &other);
    assert_refused(missing, "missing", &["after.time_difference"]);
}
