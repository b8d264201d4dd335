//! What an interval holds if one statement is wrong: against the normal distribution by `statrs`.

use crate::site::{readings, site};
use crate::support::{assert_refused, demo, demo_readings, evaluate};
use flowdoubt::evaluate::WrongStatement;
use flowdoubt::montecarlo::MonteCarlo;
use statrs::distribution::{ContinuousCDF, Normal};

fn run(trials: u64) -> MonteCarlo {
    MonteCarlo {
        trials,
        ..MonteCarlo::default()
    }
}

/// A site in which the calibration factor is all that matters, and is normal.
fn of_one_factor() -> String {
    let factor = "calibration_factor = { value = \"1\", standard_uncertainty = \"5 %\" }";
    site(&[("meter", factor)])
}

#[test]
fn shares_are_those_of_the_normal_distribution() {
    let found = evaluate(&of_one_factor(), &readings()).expect("an evaluation");
    let off: Vec<WrongStatement> = ["2 %", "-5 %", "10 %"]
        .iter()
        .map(|by| {
            found
                .wrong_statement("meter.calibration_factor", by)
                .expect("a statement")
        })
        .collect();
    assert_eq!(off[1].by, -0.05);
    let test = found.stress_test(&run(200_000), &off).expect("a test");
    let normal = Normal::standard();
    let k = found.expanded().expect("an interval").coverage_factor;
    let expected = |by: f64| normal.cdf(k - by / 0.05) - normal.cdf(-k - by / 0.05);
    assert!(
        (test.held - 0.95).abs() < 5.0 * test.standard_error + 2e-3,
        "{test:?}"
    );
    let shares: Vec<f64> = test.stresses.iter().map(|s| s.held).collect();
    // the most harmful first
    for (held, by) in shares.iter().zip([0.10, 0.05, 0.02]) {
        // the profile factor moves a little against the factor, and readings scatter a little
        assert!(
            (held - expected(by)).abs() < 0.015,
            "{by}: {held} {}",
            expected(by)
        );
    }
    let sizes: Vec<f64> = test
        .stresses
        .iter()
        .filter_map(|s| s.in_standard_uncertainties)
        .collect();
    assert!(
        (sizes[0] - 2.0).abs() < 1e-9 && (sizes[1] + 1.0).abs() < 1e-9,
        "{sizes:?}"
    );
    let words = test.in_words();
    assert!(
        words.contains("if meter.calibration_factor is off by -5.0 % (-1.0 of its"),
        "{words}"
    );
}

#[test]
fn the_demonstration_is_tried_in_all_that_matters() {
    let found = evaluate(&demo("site.toml"), &demo_readings()).expect("an evaluation");
    let test = found.stress_test(&run(20_000), &[]).expect("a test");
    assert!(test.held > 0.94, "{test:?}");
    let names: Vec<&str> = test.stresses.iter().map(|s| s.input.as_str()).collect();
    assert_eq!(names[0], "installation.factor");
    assert!(names.contains(&"pipe.roughness") && !names.contains(&"path.wedge_angle"));
    for stress in &test.stresses {
        assert_eq!(stress.in_standard_uncertainties, Some(2.0));
        assert!(
            stress.held <= test.held + 4.0 * test.standard_error,
            "{stress:?}"
        );
    }
    // an exact statement can be wrong too, and says so
    let angle = found
        .wrong_statement("path.wedge_angle", "0.5 deg")
        .expect("a statement");
    let test = found.stress_test(&run(20_000), &[angle]).expect("a test");
    assert!(
        test.in_words()
            .contains("off by 0.50 deg (stated as exact)"),
        "{}",
        test.in_words()
    );
    assert!(test.stresses[0].relative_error > 0.005, "{test:?}");
}

#[test]
fn statements_that_are_none_are_refused() {
    let found = evaluate(&of_one_factor(), &readings()).expect("an evaluation");
    let unknown = found.wrong_statement("pipe.wal", "1 mm");
    assert_refused(unknown, "unknown-name", &["pipe.wal", "pipe.wall"]);
    let unit = found.wrong_statement("pipe.wall", "1 s");
    assert_refused(unit, "wrong-dimension", &["wrong.pipe.wall"]);
    let endless = WrongStatement {
        input: "pipe.wall".to_owned(),
        by: f64::INFINITY,
    };
    let refused = found.stress_test(&run(1000), &[endless]);
    assert_refused(refused, "out-of-range", &["wrong.pipe.wall", "finite"]);
}
