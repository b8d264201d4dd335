//! Monte Carlo without kept values: the same draws as with them, the same bits however it is cut,
//! and quantiles within the bound that is stated.

mod parts;
mod quantiles;

use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate};
use flowdoubt::montecarlo::{BlockModel, MonteCarlo, TalliedJoint, Tally, TallyPlan, Validation};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Distribution, Input, InputSet, MeasurementModel, Output};
use flowdoubt::units::Unit;
use flowdoubt::{Error, Result};
use std::ops::ControlFlow;

/// A function of columns as a model, with a block size of its own.
struct Columns<F> {
    outputs: usize,
    block: u64,
    function: F,
}

impl<F: Fn(&[f64]) -> Vec<f64> + Sync> BlockModel for Columns<F> {
    fn output_quantities(&self) -> Vec<Output> {
        let output = |k| Output {
            name: format!("y{k}"),
            unit: Unit::named(""),
        };
        (0..self.outputs).map(output).collect()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let mut y = vec![Vec::with_capacity(size); self.outputs];
        for trial in 0..size {
            let point: Vec<f64> = x.iter().map(|column| column[trial]).collect();
            let values = (self.function)(&point);
            y.iter_mut()
                .zip(values)
                .for_each(|(y, value)| y.push(value));
        }
        Ok(y)
    }
    fn block_size(&self) -> u64 {
        self.block
    }
}

fn of_one(function: impl Fn(f64) -> f64 + Sync) -> impl BlockModel {
    Columns {
        outputs: 1,
        block: 2048,
        function: move |x: &[f64]| vec![function(x[0])],
    }
}

fn uniform(names: &[&str]) -> InputSet {
    let distribution = Distribution::Rectangular {
        lower: 0.0,
        upper: 1.0,
    };
    let input = |name: &&str| Input::with_distribution(name, distribution.clone());
    let inputs: Result<Vec<Input>> = names.iter().map(input).collect();
    InputSet::independent(inputs.expect("inputs")).expect("set")
}

fn run(trials: u64) -> MonteCarlo {
    MonteCarlo {
        trials,
        seed: 7,
        ..MonteCarlo::default()
    }
}

fn bytes(tallied: &TalliedJoint) -> Vec<u8> {
    tallied.tally().to_bytes().expect("bytes")
}

fn two_of_three() -> Columns<impl Fn(&[f64]) -> Vec<f64> + Sync> {
    Columns {
        outputs: 2,
        block: 2048,
        function: |x: &[f64]| vec![x[0] + 3.0 * x[1], 1.0 / (0.1 + x[1] * x[2])],
    }
}

fn part<M: BlockModel>(plan: &TallyPlan, model: &M, set: &InputSet, from: u64, to: u64) -> Tally {
    let mut pass = |_| ControlFlow::Continue(());
    let tally = plan.tally(model, set, from..to, true, &mut pass);
    tally.expect("tally")
}

/// What the kept values say is what the tally says.
#[test]
fn moments_are_those_of_the_kept_values() {
    let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
    let run = run(100_001);
    let (kept, tallied) = (run.joint(&model, &set), run.tally(&model, &set));
    let (kept, tallied) = (kept.expect("trials"), tallied.expect("tally"));
    assert_eq!(tallied.trials(), 100_001);
    let joint = kept.joint_result();
    let found = tallied.joint_result();
    for k in 0..2 {
        let values = kept.values(k);
        let (n, summary) = (values.len() as f64, tallied.of_output(k));
        let mean = values.iter().sum::<f64>() / n;
        let moment = |power| {
            values
                .iter()
                .map(|v| Scalar::powi(v - mean, power))
                .sum::<f64>()
                / n
        };
        assert_relative(summary.mean, mean, 1e-13, "mean");
        let u = (moment(2) * n / (n - 1.0)).sqrt();
        assert_relative(summary.standard_uncertainty, u, 1e-12, "u");
        let skewness = moment(3) / Scalar::powf(moment(2), 1.5);
        assert!((summary.skewness().expect("skewness") - skewness).abs() < 1e-11);
        let kurtosis = moment(4) / (moment(2) * moment(2));
        assert_relative(
            summary.kurtosis().expect("kurtosis"),
            kurtosis,
            1e-11,
            "kurtosis",
        );
        for j in 0..2 {
            let (a, b) = (found.covariance[k][j], joint.covariance[k][j]);
            assert_relative(a, b, 1e-11, "covariance");
        }
        let sorted = kept.of_output(k);
        assert_eq!(summary.smallest(), sorted.sorted()[0]);
        assert_eq!(Some(&summary.largest()), sorted.sorted().last());
    }
}

/// y = a + 3 b of two rectangular inputs: the shares of the variance are 1/10 and 9/10, the kurtosis
/// of a sum of independent quantities follows from theirs, 1.8. Six standard errors are allowed, so
/// a correct program fails once in 1e8 seeds; the seed is fixed.
#[test]
fn correlations_and_higher_moments_meet_the_exact_ones() {
    let tallied = run(1 << 20).tally(&two_of_three(), &uniform(&["a", "b", "c"]));
    let tallied = tallied.expect("tally");
    let summary = tallied.of_output(0);
    let r = summary.input_correlations();
    let six = 6.0 / 1024.0;
    for (r, exact) in r.iter().zip([0.1_f64.sqrt(), 0.9_f64.sqrt(), 0.0]) {
        assert!((r.expect("varies") - exact).abs() < six, "{r:?} {exact}");
    }
    // excess kurtosis -1.2 each: -1.2 (0.1^2 + 0.9^2)
    let kurtosis = summary.kurtosis().expect("kurtosis");
    assert!(
        (kurtosis - (3.0 - 1.2 * 0.82)).abs() < 2.0 * six,
        "{kurtosis}"
    );
    assert!(summary.skewness().expect("skewness").abs() < 2.0 * six);
    assert!((summary.mean - 2.0).abs() < 6.0 * summary.standard_error());
}

#[test]
fn failed_trials_are_left_out_and_judged() {
    let fails = |u: f64| if u < 0.01 { f64::NAN } else { u };
    let (model, set) = (of_one(fails), uniform(&["u"]));
    let mut run = run(200_000);
    assert_refused(
        run.tally(&model, &set),
        "failed-trials",
        &["gave no finite result"],
    );
    run.allowed_failures = 0.02;
    let kept = run.run(&model, &set).expect("trials").swap_remove(0);
    let tallied = run.tally(&model, &set).expect("tally");
    assert_eq!(tallied.failed(), kept.failed);
    assert_eq!(tallied.of_output(0).smallest(), kept.sorted()[0]);
    run.allowed_failures = 0.001;
    let Err(Error::FailedTrials { failed, .. }) = run.tally(&model, &set) else {
        panic!("accepted");
    };
    assert!(failed > 200, "{failed}");
}

/// Whoever looks on is told how far a run has come and may end it.
#[test]
fn a_run_can_be_watched_and_cancelled() {
    let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
    let mut seen = Vec::new();
    let mut watch = |done| {
        seen.push(done);
        ControlFlow::Continue(())
    };
    let tallied = run(30_000).tally_watched(&model, &set, &mut watch);
    assert_eq!(tallied.expect("tally").trials(), 30_000);
    assert!(seen.is_sorted() && seen.last() == Some(&30_000), "{seen:?}");
    let mut stop = |done| {
        if done > 0 {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    };
    let run = run(50_000_000);
    let parts = ["cancelled after", "of 50000000 trials"];
    assert_refused(
        run.tally_watched(&model, &set, &mut stop),
        "cancelled",
        &parts,
    );
    assert_refused(
        run.joint_watched(&model, &set, &mut stop),
        "cancelled",
        &parts,
    );
}

/// The comparison of clause 8 takes tallies as it takes kept values.
#[test]
fn a_site_is_tallied_and_validated() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let run = run(100_000);
    let kept = evaluation.monte_carlo(run).expect("trials");
    let tallied = run
        .tally(&evaluation.model, &evaluation.inputs)
        .expect("tally");
    let summary = tallied.of_output(0);
    assert_relative(summary.mean, kept.mean, 1e-13, "mean");
    let of = |trials| Validation::of(&evaluation.budget, trials, 0.95, 2).expect("validation");
    let (a, b) = (of(&kept), of(&summary));
    assert_eq!(a.validated, b.validated);
    assert_relative(b.monte_carlo.low, a.monte_carlo.low, 1e-5, "low");
    let text = evaluation.trials_in_words(&summary, 2).expect("words");
    assert!(text.contains("100000 trials"), "{text}");
    let json = evaluation.to_json(Some((&summary, 2))).expect("json");
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    assert_eq!(json["monte_carlo"]["mean_m3_s"], summary.mean);
    assert_eq!(json["monte_carlo"]["failed"], 0);
}

/// Recorded models and others take the same path.
#[test]
fn measurement_models_are_tallied() {
    struct Double;
    impl MeasurementModel for Double {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            vec![Output {
                name: "double".to_owned(),
                unit: Unit::named("m"),
            }]
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0] * 2.0])
        }
    }
    let set = uniform(&["u"]);
    let recorded = run(10_000).tally(&Double, &set).expect("tally");
    let plain = run(10_000)
        .tally(&of_one(|u| 2.0 * u), &set)
        .expect("tally");
    assert_eq!(bytes(&recorded), bytes(&plain));
    assert_eq!(recorded.of_output(0).output().name, "double");
}
