//! Same seed, same bits: pinned draws, independence of threads and of the set of inputs.

use crate::support::json;
use flowdoubt::Result;
use flowdoubt::montecarlo::{Adaptive, MonteCarlo, Stream};
use flowdoubt::scalar::{InstructionSet, Scalar};
use flowdoubt::uncertainty::{Distribution, Input, InputSet, MeasurementModel, Output, Shape};
use flowdoubt::units::Unit;

/// The first input alone, so that its draws can be seen.
struct First;

impl MeasurementModel for First {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "first".to_owned(),
            unit: Unit::named(""),
        }]
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0]])
    }
}

fn inputs(names: &[&str]) -> InputSet {
    let inputs = names
        .iter()
        .map(|name| Input::with_half_width(name, 0.0, 1.0, Shape::Rectangular, f64::INFINITY));
    InputSet::independent(inputs.collect::<Result<_>>().expect("inputs")).expect("set")
}

/// A change of these numbers breaks every stored result and must be announced.
#[test]
fn draws_are_pinned() {
    let mut stream = Stream::new(1, "wall");
    let drawn: Vec<u64> = (0..3).map(|_| stream.next_uniform().to_bits()).collect();
    assert_eq!(drawn, PINNED);
    stream.seek(1);
    assert_eq!(stream.next_uniform().to_bits(), PINNED[1]);
}

const PINNED: [u64; 3] = [
    4_603_048_313_936_102_803,
    4_594_792_636_471_343_956,
    4_601_962_201_255_942_302,
];

#[test]
fn a_new_input_leaves_the_draws_of_the_others_alone() {
    let run = MonteCarlo {
        trials: 5000,
        seed: 3,
        allowed_failures: 0.0,
    };
    let alone = run.run(&First, &inputs(&["a"])).expect("trials");
    let among = run.run(&First, &inputs(&["a", "b", "c"])).expect("trials");
    assert_eq!(alone[0].sorted(), among[0].sorted());
    let other = run.run(&First, &inputs(&["b", "a"])).expect("trials");
    assert_ne!(alone[0].sorted(), other[0].sorted());
}

#[test]
fn the_number_of_threads_changes_no_bit() {
    let run = MonteCarlo {
        trials: 10_001,
        seed: 3,
        allowed_failures: 0.0,
    };
    let set = inputs(&["a", "b"]);
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("pool")
            .install(|| run.run(&First, &set).expect("trials"))
    };
    let reference = with_threads(1);
    for threads in [2, 3, 8] {
        let other = with_threads(threads);
        assert_eq!(reference[0].mean.to_bits(), other[0].mean.to_bits());
        let (a, b) = (&reference[0], &other[0]);
        assert_eq!(
            a.standard_uncertainty.to_bits(),
            b.standard_uncertainty.to_bits()
        );
        assert_eq!(a.sorted(), b.sorted());
    }
}

#[test]
fn seeds_differ() {
    let set = inputs(&["a"]);
    let run = |seed| {
        MonteCarlo {
            trials: 100,
            seed,
            ..MonteCarlo::default()
        }
        .run(&First, &set)
        .expect("trials")
    };
    assert_ne!(run(1)[0].sorted(), run(2)[0].sorted());
}

/// Quantiles of every kind of distribution, as one number: the draws follow from them. A change
/// breaks stored results and must be announced.
#[test]
fn quantiles_are_pinned() {
    let golden = json("golden/distributions.json");
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for case in golden["distributions"].as_array().expect("list") {
        let parameters = serde_json::from_value(case["parameters"].clone());
        let distribution: Distribution = parameters.expect("parameters");
        for p in [1e-6, 0.2, 0.5, 0.71, 0.999] {
            let bits = distribution.quantile(p).to_bits();
            for byte in bits.to_le_bytes() {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
            }
        }
    }
    assert_eq!(hash, PINNED_QUANTILES);
}

const PINNED_QUANTILES: u64 = 9_568_004_225_993_429_214;

#[test]
fn threads_change_no_bit_of_joint_and_adaptive_runs() {
    let readings = [
        vec![1.0, 1.2, 0.9, 1.1, 1.0, 0.8],
        vec![2.0, 2.1, 1.9, 2.2, 2.0, 1.9],
    ];
    let set = InputSet::from_joint_readings(&["a", "b"], &readings).expect("set");
    let run = Adaptive {
        digits: 1,
        ..Adaptive::default()
    };
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("pool")
            .install(|| run.run(&First, &set).expect("run"))
    };
    let reference = with_threads(1);
    for threads in [2, 3, 8] {
        assert_eq!(with_threads(threads), reference);
    }
}

/// The logarithm of an input, which has none below zero.
struct Logarithm;

impl MeasurementModel for Logarithm {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        First.outputs()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0].ln()])
    }
}

#[test]
fn failed_trials_are_left_out_and_the_others_keep_their_order() {
    let run = MonteCarlo {
        trials: 5000,
        seed: 3,
        allowed_failures: 0.6,
    };
    let trials = run.joint(&Logarithm, &inputs(&["a"])).expect("trials");
    let mut draws = vec![0.0; 5000];
    let set = InstructionSet::Baseline;
    Stream::new(3, "a").fill(set, 0, &mut draws);
    let above_zero = draws.iter().map(|u| 2.0 * u - 1.0).filter(|x| *x > 0.0);
    let expected: Vec<f64> = above_zero.map(Scalar::ln).collect();
    assert_eq!(trials.trials(), expected.len());
    assert_eq!(trials.failed() as usize, 5000 - expected.len());
    for (found, expected) in trials.values(0).iter().zip(&expected) {
        assert!((found - expected).abs() < 1e-9, "{found} {expected}");
    }
}
