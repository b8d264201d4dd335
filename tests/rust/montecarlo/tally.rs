//! Monte Carlo without kept values: the same draws as with them, the same bits however it is cut,
//! and quantiles within the bound that is stated.

use crate::support::{assert_refused, assert_relative, demo, demo_readings, evaluate};
use flowdoubt::montecarlo::{
    BlockModel, IntervalKind, MonteCarlo, TalliedJoint, Tally, TallyPlan, Validation,
    WithInstructionSet,
};
use flowdoubt::scalar::{InstructionSet, Scalar};
use flowdoubt::uncertainty::{Distribution, Input, InputSet, MeasurementModel, Output};
use flowdoubt::units::Unit;
use flowdoubt::{Error, Result};
use proptest::prelude::*;
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
            let (a, b) = (found.covariance[(k, j)], joint.covariance[(k, j)]);
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
fn threads_blocks_and_instruction_sets_change_no_bit() {
    let set = uniform(&["a", "b", "c"]);
    let run = run(70_003);
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("pool")
            .install(|| bytes(&run.tally(&two_of_three(), &set).expect("tally")))
    };
    let reference = with_threads(1);
    for threads in [2, 7] {
        assert_eq!(with_threads(threads), reference, "{threads} threads");
    }
    for block in [1, 1000, 2049, 5000, 65_536, 1 << 20] {
        let model = Columns {
            block,
            ..two_of_three()
        };
        let found = bytes(&run.tally(&model, &set).expect("tally"));
        assert_eq!(found, reference, "blocks of {block}");
    }
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let of = |instruction_set| {
        let model = WithInstructionSet {
            model: &evaluation.model,
            instruction_set,
        };
        bytes(
            &super::tally::run(5001)
                .tally(&model, &evaluation.inputs)
                .expect("tally"),
        )
    };
    let baseline = of(InstructionSet::Baseline);
    for set in InstructionSet::available() {
        assert_eq!(of(set), baseline, "{set:?}");
    }
}

/// The digest that every machine must meet; a change is value-breaking.
#[test]
fn a_tally_of_sums_is_pinned() {
    let tallied = run(20_000).tally(&two_of_three(), &uniform(&["a", "b", "c"]));
    let tallied = tallied.expect("tally");
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for summary in tallied.of_outputs() {
        for value in [summary.mean, summary.standard_uncertainty] {
            for byte in value.to_bits().to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    let pinned: u64 = 735_214_465_390_446_744;
    assert_eq!(hash, pinned);
}

fn part<M: BlockModel>(plan: &TallyPlan, model: &M, set: &InputSet, from: u64, to: u64) -> Tally {
    let mut pass = |_| ControlFlow::Continue(());
    let tally = plan.tally(model, set, from..to, true, &mut pass);
    tally.expect("tally")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// However a run is cut, and in whatever order the parts are merged, in memory or by bytes.
    #[test]
    fn parts_merge_to_the_same_bits(
        mut cuts in prop::collection::vec(0_u64..=25, 0..6),
        order in any::<u64>(),
        through_bytes in any::<bool>(),
    ) {
        let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
        let plan = run(50_001).plan(&model, &set).expect("plan");
        let plan = TallyPlan::from_bytes(&plan.to_bytes().expect("bytes")).expect("plan");
        prop_assert_eq!(plan.leaves(), 25);
        let whole = part(&plan, &model, &set, 0, 25).to_bytes().expect("bytes");
        cuts.extend([0, 25]);
        cuts.sort_unstable();
        let mut parts: Vec<Tally> = cuts
            .windows(2)
            .map(|pair| part(&plan, &model, &set, pair[0], pair[1]))
            .collect();
        let mut all = Tally::new(&plan);
        let mut order = order;
        while !parts.is_empty() {
            let next = parts.swap_remove((order % parts.len() as u64) as usize);
            order = order.rotate_right(7) ^ 0x9e37;
            if through_bytes {
                all.merge_bytes(&plan, &next.to_bytes().expect("bytes")).expect("merge");
            } else {
                all.merge(&next).expect("merge");
            }
        }
        prop_assert_eq!(all.to_bytes().expect("bytes"), whole);
        prop_assert!(plan.finish(&model, &set, all).is_ok());
    }

    /// As below, anywhere.
    #[test]
    fn quantiles_are_within_their_bound(kind in 0_usize..9, seed in 1_u64..1000, p in 0.002..0.998) {
        check_quantiles(kind, seed, &[p])?;
    }
}

/// At both edges of a gap in the middle, where the values of the pilot end a little before those of the
/// trials.
#[test]
fn quantiles_at_a_gap_are_within_their_bound() {
    for seed in 530..545 {
        // about the share of the trials below the gap, which is not one half
        let p: Vec<f64> = (-1500..1500)
            .map(|k| 0.5 + f64::from(k) / 1.5e5 / 2.0)
            .collect();
        check_quantiles(6, seed, &p).expect("bounds");
    }
}

/// Where the density changes many times over among 64 values of the pilot.
#[test]
fn quantiles_of_a_steep_density_are_within_their_bound() {
    let p: Vec<f64> = (4..60).map(|k| f64::from(k) * 5e-4).collect();
    for seed in 1..40 {
        check_quantiles(8, seed, &p).expect("bounds");
    }
}

/// The order statistic of the same draws, kept, lies within the stated bound, for any distribution,
/// and the bound is below a tenth of the sampling error where the pilot shows the density.
fn check_quantiles(kind: usize, seed: u64, p: &[f64]) -> std::result::Result<(), TestCaseError> {
    let shape = move |u: f64| -> f64 {
        let normal = flowdoubt::scalar::special::normal_quantile(u);
        match kind {
            0 => normal,
            1 => 1e9 + 1e-3 * normal,
            // Cauchy, and a Pareto tail without a mean
            2 => Scalar::tan(std::f64::consts::PI * (u - 0.5)),
            3 => Scalar::powf(u, -1.5),
            4 => {
                if u < 0.3 {
                    -2.0
                } else {
                    5.5
                }
            }
            5 => 4.25,
            // two separate parts, an atom in a continuum, and sizes of every order
            6 => {
                if u < 0.5 {
                    u
                } else {
                    100.0 + u
                }
            }
            7 => {
                if u < 0.2 {
                    0.0
                } else {
                    u
                }
            }
            _ => Scalar::exp(50.0 * normal),
        }
    };
    let (model, set) = (of_one(shape), uniform(&["u"]));
    let run = MonteCarlo {
        trials: 150_000,
        seed,
        ..MonteCarlo::default()
    };
    let kept = run.run(&model, &set).expect("trials").swap_remove(0);
    let tallied = run.tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    for &p in p {
        let number: f64 = p * 150_000.0;
        let rank = (number.ceil() as usize).max(1) - 1;
        let exact = kept.sorted()[rank];
        let quantile = summary.quantile(p).expect("quantile");
        prop_assert!(
            quantile.low <= exact && exact <= quantile.high,
            "{quantile:?} {exact}"
        );
        prop_assert!((quantile.value - exact).abs() <= quantile.error_bound());
        // where numbers are hardly finer than the sampling error, bins are some units in the last place wide
        let unit = quantile.value.abs().next_up() - quantile.value.abs();
        let allowed = (0.1 * quantile.standard_error).max(12.0 * unit);
        prop_assert!(quantile.error_bound() <= allowed, "{quantile:?} {kind}");
    }
    for (p, kind) in [
        (0.95, IntervalKind::Symmetric),
        (0.9, IntervalKind::Shortest),
    ] {
        let (kept, found) = (kept.interval(p, kind), summary.bounded_interval(p, kind));
        let (kept, found) = (kept.expect("interval"), found.expect("interval"));
        let (bound, found) = (found.error_bound, found.interval);
        if kind == IntervalKind::Symmetric {
            prop_assert!((found.low - kept.low).abs() <= bound);
            prop_assert!((found.high - kept.high).abs() <= bound);
        } else {
            let excess = (found.high - found.low) - (kept.high - kept.low);
            let rounding = 1e-12 * (kept.high - kept.low).abs();
            prop_assert!(excess >= -rounding && excess <= bound + rounding);
        }
    }
    Ok(())
}

/// No finite value is lost, however far it lies from the others.
#[test]
fn values_beyond_the_pilot_are_counted() {
    let far = |u: f64| match u {
        u if u < 1e-5 => -1.7e308,
        u if u < 2e-5 => 1.7e308,
        u if u < 3e-5 => 5e-324,
        u => 1.0 + u,
    };
    let (model, set) = (of_one(far), uniform(&["u"]));
    let run = run(400_000);
    let tallied = run.tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    assert_eq!(summary.smallest(), -1.7e308);
    assert_eq!(summary.largest(), 1.7e308);
    let kept = run.run(&model, &set).expect("trials").swap_remove(0);
    for (rank, exact) in kept.sorted().iter().enumerate().step_by(1999) {
        let p = (rank as f64 + 0.5) / 400_000.0;
        let found = summary.quantile(p).expect("quantile");
        assert!(found.low <= *exact && *exact <= found.high, "{rank}");
    }
}

/// An output that does not vary is exact in every respect.
#[test]
fn constant_outputs_are_exact() {
    let (model, set) = (of_one(|_| 0.1), uniform(&["u"]));
    let tallied = run(100_000).tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    assert_eq!((summary.mean, summary.standard_uncertainty), (0.1, 0.0));
    assert_eq!((summary.skewness(), summary.kurtosis()), (None, None));
    assert_eq!(summary.input_correlations(), [None]);
    let quantile = summary.quantile(0.5).expect("quantile");
    assert_eq!((quantile.value, quantile.error_bound()), (0.1, 0.0));
    for kind in [IntervalKind::Symmetric, IntervalKind::Shortest] {
        let interval = summary.interval(0.95, kind).expect("interval");
        assert_eq!((interval.low, interval.high), (0.1, 0.1));
    }
}

/// The size depends on the fineness that is asked for and not on the trials tallied.
#[test]
fn the_size_does_not_grow_with_the_trials() {
    let (model, set) = (of_one(|u| u), uniform(&["u"]));
    let plan = run(10_000_000).plan(&model, &set).expect("plan");
    let small = part(&plan, &model, &set, 0, 8);
    let large = part(&plan, &model, &set, 0, 512);
    assert_eq!(large.trials(), 64 * small.trials());
    // one node more or less, and the few values beyond the pilot
    assert!(
        large.size() <= small.size() + 100,
        "{} {}",
        large.size(),
        small.size()
    );
    // 20 pi sqrt(M) bins of 8 bytes: 16 MiB for 1e9 trials
    let billion = run(1_000_000_000).plan(&model, &set).expect("plan");
    let size = Tally::new(&billion).size();
    assert!(size < 3_000_000, "{size}");
}

#[test]
fn histograms_count_every_trial_inside() {
    let (model, set) = (of_one(|u| u), uniform(&["u"]));
    let tallied = run(200_000).tally(&model, &set).expect("tally");
    let summary = tallied.of_output(0);
    let histogram = summary.histogram(10, 0.0, 1.0).expect("histogram");
    assert_eq!(histogram.edges.len(), 11);
    assert_eq!(histogram.counts.iter().sum::<u64>(), 200_000);
    // six standard deviations of a binomial count
    let near = |c: &u64| (*c as f64 - 20_000.0).abs() < 6.0 * 134.2;
    assert!(histogram.counts.iter().all(near), "{:?}", histogram.counts);
    assert_refused(summary.histogram(0, 0.0, 1.0), "out-of-range", &["classes"]);
    assert_refused(
        summary.histogram(3, 1.0, 1.0),
        "out-of-range",
        &["above the lower"],
    );
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

#[test]
fn what_does_not_belong_together_is_refused() {
    let (model, set) = (two_of_three(), uniform(&["a", "b", "c"]));
    let plan = run(10_000).plan(&model, &set).expect("plan");
    let other = run(10_001).plan(&model, &set).expect("plan");
    let mut tally = part(&plan, &model, &set, 0, 3);
    let again = part(&plan, &model, &set, 2, 3);
    assert_refused(tally.merge(&again), "conflict", &["each trial once"]);
    let strange = part(&other, &model, &set, 3, 4);
    assert_refused(tally.merge(&strange), "conflict", &["another run"]);
    assert_refused(tally.merge_bytes(&plan, &[1, 2, 3]), "syntax", &["tally"]);
    assert_refused(TallyPlan::from_bytes(&[0; 9]), "syntax", &["plan of a run"]);
    assert_refused(
        plan.finish(&model, &set, tally),
        "conflict",
        &["all 10000 trials"],
    );
    assert_refused(
        run(99).tally(&model, &set),
        "out-of-range",
        &["100 to 1e10"],
    );
    let mut pass = |_| ControlFlow::Continue(());
    let beyond = plan.tally(&model, &set, 3..6, true, &mut pass);
    assert_refused(beyond, "out-of-range", &["leaves"]);
    let narrow = plan.tally(&model, &uniform(&["a"]), 0..1, true, &mut pass);
    assert_refused(narrow, "conflict", &["2 outputs and 1 inputs"]);
    let tallied = run(1000).tally(&model, &set).expect("tally");
    assert_refused(
        tallied.of_output(0).quantile(1.5),
        "out-of-range",
        &["0 to 1"],
    );
    let none = tallied.of_output(0).interval(1.0, IntervalKind::Shortest);
    assert_refused(none, "out-of-range", &["1000 trials"]);
}

/// A model that loses a value of the last block, which has 1000 trials; the pilot ends before.
struct Careless;

impl BlockModel for Careless {
    fn output_quantities(&self) -> Vec<Output> {
        of_one(|x| x).output_quantities()
    }
    fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
        let lost = usize::from(size == 1000);
        Ok(vec![x[0][lost..].to_vec()])
    }
}

#[test]
fn a_block_without_a_value_for_each_trial_is_refused() {
    let (run, inputs) = (run(66_536), uniform(&["a"]));
    let refused = |error: Option<Error>| {
        let length = matches!(error, Some(Error::Length { found: 999, .. }));
        assert!(length, "{error:?}");
    };
    refused(run.joint(&Careless, &inputs).err());
    refused(run.tally(&Careless, &inputs).err());
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
    assert_eq!(json["monte_carlo"]["trials"], 100_000);
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
