//! Adaptive Monte Carlo and the validation of first order, in numbers and in words.

use crate::published::{ComparisonLoss, Sum, sum_of};
use flowdoubt::Result;
use flowdoubt::montecarlo::{Adaptive, MonteCarlo, Validation, Verdict};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, Shape, propagate};
use flowdoubt::units::Unit;

const INF: f64 = f64::INFINITY;

fn normal_sum() -> InputSet {
    sum_of(|_, name| Input::with_standard_uncertainty(name, 0.0, 1.0, INF))
}

#[test]
fn a_settled_run_keeps_what_it_promises() {
    // JCGM 101:2008, 9.2.2: u = 2.0, so that two digits mean a tolerance of 0.05
    for digits in [1, 2] {
        let run = Adaptive {
            digits,
            ..Adaptive::default()
        };
        let found = run.run(&Sum, &normal_sum()).expect("run");
        assert!(found.settled, "{}", found.in_words());
        let output = &found.outputs[0];
        let tolerance = if digits == 1 { 0.5 } else { 0.05 };
        for (settled, exact) in [
            (output.estimate, 0.0),
            (output.standard_uncertainty, 2.0),
            (output.low, -3.919_928),
            (output.high, 3.919_928),
        ] {
            assert_eq!(settled.tolerance, tolerance);
            assert!(settled.twice_standard_error < tolerance);
            // the tolerance is two standard errors; five are granted here
            assert!(
                (settled.mean - exact).abs() < 2.5 * tolerance,
                "{settled:?}"
            );
        }
        // one digit settles sooner; both are whole batches of the guide's size
        assert_eq!(found.batch_trials, 10_000);
        let total = found.batches * found.batch_trials;
        assert_eq!(found.trials.trials() as u64, total);
        let plain = MonteCarlo {
            trials: total,
            seed: 1,
            ..MonteCarlo::default()
        };
        let plain = plain.joint(&Sum, &normal_sum()).expect("plain");
        assert_eq!(plain, found.trials, "the same bits as a plain run");
    }
}

#[test]
fn a_run_that_does_not_settle_says_so() {
    let run = Adaptive {
        digits: 4,
        most_trials: 35_000,
        ..Adaptive::default()
    };
    let found = run.run(&Sum, &normal_sum()).expect("run");
    assert!(!found.settled);
    assert_eq!(found.batches, 3);
    let words = found.in_words();
    let start = "Not settled after 30000 trials in 3 batches of 10000, to 4 significant digits";
    assert!(words.starts_with(start), "{words}");
    assert!(words.contains("tolerance 0.00050"), "{words}");
}

/// Two outputs with a shared term, or one twice.
struct Pair {
    equal: bool,
}

impl MeasurementModel for Pair {
    type Outputs<S: Scalar> = [S; 2];
    fn outputs(&self) -> Vec<Output> {
        ["one", "two"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named("m"),
            })
            .to_vec()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        let first = x[0] + x[2];
        Ok([first, if self.equal { first } else { x[1] + x[2] }])
    }
}

#[test]
fn several_outputs_settle_jointly() {
    let model = Pair { equal: false };
    let found = Adaptive::default().run(&model, &normal_sum()).expect("run");
    assert!(found.settled, "{}", found.in_words());
    // JCGM 102:2011, 9.2: correlation 1/2, so eigenvalues 1/2 and 3/2; k_p = 2.45
    let eigenvalue = found.largest_eigenvalue.expect("eigenvalue");
    assert!((eigenvalue.mean - 1.5).abs() < eigenvalue.tolerance);
    let factor = found.coverage_factor.expect("factor");
    assert!((factor.mean - 2.4477).abs() < factor.tolerance);
    let words = found.in_words();
    for part in [
        "one: twice",
        "two: twice",
        "largest eigenvalue",
        " m;",
        "ellipsoid",
    ] {
        assert!(words.contains(part), "{part} in {words}");
    }
    // outputs that determine each other have no ellipsoid, and settle without
    let model = Pair { equal: true };
    let found = Adaptive::default().run(&model, &normal_sum()).expect("run");
    assert!(found.settled && found.coverage_factor.is_none());
    let exact = sum_of(|_, name| Input::exact(name, 1.0));
    let found = Adaptive::default().run(&model, &exact).expect("run");
    assert!(found.settled && found.largest_eigenvalue.is_none());
}

#[test]
fn settings_out_of_range_are_refused() {
    let refuse = |run: Adaptive| {
        run.run(&Sum, &normal_sum())
            .expect_err("refused")
            .to_string()
    };
    let fine = Adaptive::default();
    assert!(refuse(Adaptive { digits: 0, ..fine }).contains("digits"));
    let certain = Adaptive {
        coverage_probability: 1.0,
        ..fine
    };
    assert!(refuse(certain).contains("coverage_probability"));
    let few = Adaptive {
        most_trials: 19_999,
        ..fine
    };
    assert!(refuse(few).contains("20000 (two batches)"));
    let share = Adaptive {
        allowed_failures: 1.5,
        ..fine
    };
    assert!(refuse(share).contains("allowed_failures"));
}

#[test]
fn validation_says_what_it_found() {
    let judge = |inputs: &InputSet, digits| {
        let budget = &propagate(&Sum, inputs).expect("budget")[0];
        let trials = MonteCarlo::default().run(&Sum, inputs).expect("trials");
        Validation::of(budget, &trials[0], 0.95, digits).expect("validation")
    };
    let good = judge(&normal_sum(), 2).in_words();
    assert!(
        good.contains("agrees with") && good.contains("may be used"),
        "{good}"
    );
    assert!(
        good.contains("95 % interval") && good.contains("tolerance is 0.050"),
        "{good}"
    );
    let wide = sum_of(|i, name| {
        let h = if i == 3 { 10.0 } else { 1.0 };
        Input::with_half_width(name, 0.0, h * 3.0_f64.sqrt(), Shape::Rectangular, INF)
    });
    let bad = judge(&wide, 2).in_words();
    assert!(
        bad.contains("differs from") && bad.contains("Use the result of Monte"),
        "{bad}"
    );
    // without a sensitivity there is no uncertainty to be validated
    let still =
        ["x1", "x2"].map(|n| Input::with_standard_uncertainty(n, 0.0, 0.005, INF).expect("input"));
    let set = InputSet::independent(still.to_vec()).expect("set");
    let budget = &propagate(&ComparisonLoss, &set).expect("budget")[0];
    let trials = MonteCarlo::default()
        .run(&ComparisonLoss, &set)
        .expect("trials");
    assert!(Validation::of(budget, &trials[0], 0.95, 2).is_err());
}

/// A quantity with a curved part: with `x` of standard uncertainty `u`, its ends lie `1.96^2 c u^2` above
/// those of first order, both.
struct Curved(f64);

impl MeasurementModel for Curved {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "curved".to_owned(),
            unit: Unit::named("m"),
        }]
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0] + x[0] * x[0] * self.0])
    }
}

/// Verdicts of so many seeds where both ends differ by a multiple of the tolerance, which is 0.05 for
/// two digits of 1.0.
fn verdicts(multiple: f64, trials: u64, seeds: u64) -> Vec<Validation> {
    let input = Input::with_standard_uncertainty("x", 0.0, 1.0, INF).expect("input");
    let inputs = InputSet::independent(vec![input]).expect("set");
    let k = 1.959_964;
    let model = Curved(multiple * 0.05 / (k * k));
    let budget = &propagate(&model, &inputs).expect("budget")[0];
    let verdict = |seed| {
        let run = MonteCarlo {
            trials,
            seed,
            ..MonteCarlo::default()
        };
        let trials = run.run(&model, &inputs).expect("trials");
        Validation::of(budget, &trials[0], 0.95, 2).expect("validation")
    };
    (1..=seeds).map(verdict).collect()
}

#[test]
fn a_verdict_is_seldom_wrong_and_says_what_it_takes() {
    for (multiple, right) in [(0.9, Verdict::Validated), (1.1, Verdict::NotValidated)] {
        // a hundred thousand trials know an end to 0.17 of the tolerance, five million to 0.024
        for (trials, decided) in [(100_000, 0), (5_000_000, 54)] {
            let found = verdicts(multiple, trials, 60);
            let wrong = |v: &&Validation| v.verdict != right && v.verdict != Verdict::Undecided;
            assert!(
                found.iter().filter(wrong).count() <= 1,
                "{multiple} {trials}"
            );
            let own = found.iter().filter(|v| v.verdict == right).count();
            assert!(own >= decided, "{multiple} {trials}: {own} decided");
            // what it would take on the whole: 2.58 times 0.0084 of an end has to reach 0.005
            let mut more: Vec<u64> = found.iter().filter_map(|v| v.more_trials).collect();
            more.sort_unstable();
            if decided == 0 {
                let middle = more[more.len() / 2] as f64;
                assert!((4e5..1e7).contains(&middle), "{multiple}: {middle}");
            }
        }
    }
    // far from the tolerance few trials are enough
    for (multiple, right) in [(0.1, Verdict::Validated), (4.0, Verdict::NotValidated)] {
        let found = verdicts(multiple, 200_000, 60);
        assert!(found.iter().all(|v| v.verdict == right), "{multiple}");
        assert!(found.iter().all(|v| v.more_trials.is_none()), "{multiple}");
    }
    let words = &verdicts(1.0, 100_000, 3)[0].in_words();
    assert!(
        words.contains("decide with about") && words.contains("standard errors"),
        "{words}"
    );
}

#[test]
fn errors_of_the_ends_are_those_of_repeated_runs() {
    let found = verdicts(0.5, 20_000, 300);
    let spread = |of: fn(&Validation) -> f64| {
        let n = found.len() as f64;
        let mean = found.iter().map(of).sum::<f64>() / n;
        let squares = found.iter().map(|v| (of(v) - mean) * (of(v) - mean));
        (squares.sum::<f64>() / (n - 1.0)).sqrt()
    };
    let mean = |of: fn(&Validation) -> f64| found.iter().map(of).sum::<f64>() / found.len() as f64;
    for (end, error) in [
        (
            (|v: &Validation| v.monte_carlo.low) as fn(&Validation) -> f64,
            (|v: &Validation| v.low_standard_error) as fn(&Validation) -> f64,
        ),
        (|v| v.monte_carlo.high, |v| v.high_standard_error),
    ] {
        // 300 runs know a spread to 4 %
        let ratio = mean(error) / spread(end);
        assert!((0.87..1.15).contains(&ratio), "{ratio}");
    }
}

#[test]
fn adaptive_runs_make_ten_batches_and_cover_as_stated() {
    // u = 2.0, 4.0 and 9.9: the tolerance is 0.05, so that some ten to two hundred batches are needed
    for u in [2.0, 4.0, 9.9] {
        let input = Input::with_standard_uncertainty("x", 0.0, u, INF).expect("input");
        let inputs = InputSet::independent(vec![input]).expect("set");
        let runs = 150;
        let mut within = [0_u32; 2];
        for seed in 1..=runs {
            let run = Adaptive {
                seed,
                ..Adaptive::default()
            };
            let found = run.run(&Curved(0.0), &inputs).expect("run");
            assert!(found.settled && found.batches >= 10, "{}", found.in_words());
            let output = &found.outputs[0];
            for (within, (end, exact)) in within
                .iter_mut()
                .zip([(output.low, -1.959_964 * u), (output.high, 1.959_964 * u)])
            {
                *within += u32::from((end.mean - exact).abs() <= end.tolerance);
            }
        }
        let share = f64::from(within[0] + within[1]) / (2.0 * runs as f64);
        // 95 %, less two standard errors of 300 ends
        assert!(share >= 0.925, "{u}: {share}");
    }
}
