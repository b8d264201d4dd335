//! Models as recordings: the bits of `f64`, on every instruction set, or no recording at all.

use super::{made_ready, model, within};
use crate::support::{demo, demo_readings, evaluate};
use flowdoubt::Result;
use flowdoubt::montecarlo::{BlockModel, MonteCarlo, WithInstructionSet};
use flowdoubt::scalar::special::{StudentT, normal_cdf, normal_quantile};
use flowdoubt::scalar::{Dual, InstructionSet, Scalar};
use flowdoubt::uncertainty::{Distribution, Input, InputSet, MeasurementModel, Output};
use flowdoubt::units::Unit;

const BASELINE: InstructionSet = InstructionSet::Baseline;

/// Numbers of every kind: ordinary ones, large angles, zeros, subnormals, infinities, NaN.
fn numbers() -> Vec<f64> {
    let mut x: Vec<f64> = (0..300)
        .map(|i| (f64::from(i) - 150.0) * 0.037_123)
        .collect();
    x.extend([
        0.0,
        -0.0,
        5e-324,
        -1e-310,
        1e6,
        1e6 + 1.0,
        -3e7,
        1e22,
        f64::MAX,
        1.0,
        -1.0,
    ]);
    x.extend([
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NAN,
        709.9,
        -745.5,
        0.5,
        1e-9,
    ]);
    x
}

/// The same bits, and NaN where NaN is: its sign and payload are the processor's affair.
fn same(a: f64, b: f64) -> bool {
    a.to_bits() == b.to_bits() || a.is_nan() && b.is_nan()
}

/// Every operation, the joined ones, and constants in every place.
fn everything<S: Scalar>(x: S, y: S) -> Vec<S> {
    let c = S::constant(0.7);
    vec![
        -x,
        x + y,
        x - y,
        x * y,
        x / y,
        x + 0.3,
        x - 0.3,
        x * 0.3,
        x / 0.3,
        c - x,
        c / x,
        x * 1.0,
        x * y + c,
        x * y - c,
        c - x * y,
        x * y * c,
        c * (x * 0.3),
        x * y / c,
        x * 0.3 / y,
        c / (x * y),
        x / (y * 0.3),
        x * y + x,
        x - x * y,
        x * 0.3 + y,
        c + x * y - y,
        c + x * 0.3 - y,
        y + x * y - c,
        x.sqrt(),
        x.exp(),
        x.ln(),
        x.sin(),
        x.cos(),
        x.tan(),
        x.asin(),
        x.atan(),
        x.powf(y),
        x.powf(c),
        x.powi(5),
        x.powi(-3),
        x.powi(0),
        x.recip(),
        x.abs(),
        x.min(y),
        x.max(c),
        S::select(x.less_than(y), x, y),
        S::select(c.less_than(x), c, y),
        S::select(c.less_than(c), x, y),
        x,
        c,
    ]
}

#[test]
fn every_operation_has_the_bits_of_single_numbers() {
    let (mut x, mut y) = (Vec::new(), Vec::new());
    for (i, a) in numbers().into_iter().enumerate() {
        for (j, b) in numbers().into_iter().enumerate() {
            if i % 7 == j % 7 || i > 290 {
                x.push(a);
                y.push(b);
            }
        }
    }
    let outputs = everything(1.0, 1.0).len();
    // what is needed once only is joined with what needs it
    struct Alone(usize);
    impl MeasurementModel for Alone {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            vec![Output {
                name: "alone".to_owned(),
                unit: Unit::named(""),
            }]
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([everything(x[0], x[1])[self.0]])
        }
    }
    model!(Together, everything(1.0, 1.0).len(), |x: &[S]| everything(
        x[0], x[1]
    ));
    let inputs = within(&[(0.0, 1.0), (0.0, 1.0)]);
    for set in InstructionSet::available() {
        let together = made_ready(&Together, &inputs, set, &[&x, &y]).expect("a recording");
        let alone = (0..outputs).map(|which| {
            let found = made_ready(&Alone(which), &inputs, set, &[&x, &y]);
            found.expect("a recording").remove(0)
        });
        let alone: Vec<Vec<f64>> = alone.collect();
        for (trial, (a, b)) in x.iter().zip(&y).enumerate() {
            for (which, expected) in everything(*a, *b).into_iter().enumerate() {
                for found in [together[which][trial], alone[which][trial]] {
                    assert!(
                        same(found, expected),
                        "{set:?} {which} {a:e} {b:e}: {found:e}"
                    );
                }
            }
        }
    }
}

/// Derivatives are arithmetic like any other.
#[test]
fn derivatives_can_be_recorded() {
    fn slope<S: Scalar>(x: S) -> S {
        let x = Dual::<S, 1>::variable(x, 0);
        (x.sin() * x.exp()).gradient[0]
    }
    model!(Slope, 1, |x: &[S]| vec![slope(x[0])]);
    let x = numbers();
    let found = made_ready(&Slope, &within(&[(0.0, 1.0)]), BASELINE, &[&x]).expect("a recording");
    assert!(x.iter().zip(&found[0]).all(|(x, y)| same(slope(*x), *y)));
}

/// Derivatives of what is rarely needed are left out and found with it.
#[test]
fn a_rare_way_has_derivatives() {
    fn slope<S: Scalar>(x: S) -> S {
        let x = Dual::<S, 1>::variable(x, 0);
        let small = x.less_than(Dual::constant(1.0));
        let y = Dual::choose(small, || x * x, || (x * x + 1.0).ln() * x.sqrt() + x.exp());
        y.gradient[0]
    }
    model!(Slope, 1, |x: &[S]| vec![slope(x[0])]);
    let usual: Vec<f64> = (0..300).map(|i| f64::from(i) / 301.0).collect();
    let mut mixed = usual.clone();
    (mixed[3], mixed[140], mixed[299]) = (1.5, 7.0, 2.0);
    for x in [&usual, &mixed] {
        let found = made_ready(&Slope, &within(&[(0.0, 1.0)]), BASELINE, &[x]);
        let found = found.expect("a recording");
        assert!(x.iter().zip(&found[0]).all(|(x, y)| same(slope(*x), *y)));
    }
}

/// A model that looks at a number may do different things for different numbers.
#[test]
fn a_model_that_asks_for_values_is_not_recorded() {
    /// The square root, with an error for negative numbers.
    struct Root;
    impl MeasurementModel for Root {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            vec![Output {
                name: "root".to_owned(),
                unit: Unit::named(""),
            }]
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            if x[0].value().is_some_and(|v| v < 0.0) {
                return Ok([S::constant(f64::NAN)]);
            }
            Ok([(x[0] * x[0]).sqrt()])
        }
    }
    let normal = Distribution::Normal {
        mean: 0.0,
        standard_deviation: 1.0,
    };
    let input = Input::with_distribution("x", normal).expect("input");
    let set = InputSet::independent(vec![input]).expect("set");
    assert!(Root.prepared(&set, BASELINE).is_none());
    let run = MonteCarlo {
        trials: 1000,
        allowed_failures: 0.9,
        ..MonteCarlo::default()
    };
    let summary = run.run(&Root, &set).expect("trials").swap_remove(0);
    assert!((400..600).contains(&summary.failed), "{}", summary.failed);
}

/// What is rarely needed is left out where no number of a block needs it, and right where one does.
#[test]
fn a_rare_way_is_taken_by_those_that_need_it() {
    fn chosen<S: Scalar>(x: S) -> S {
        let shared = x * x;
        let one = S::constant(1.0);
        let outer = S::choose(
            x.less_than(one),
            || shared + 1.0,
            || {
                let root = x.sqrt();
                // a choice within a choice, and an operation that is needed again outside
                let inner = S::choose(
                    x.less_than(S::constant(2.0)),
                    || root,
                    || (root + 1.0).ln() + shared,
                );
                inner * x.exp()
            },
        );
        outer + x.exp() + (x * 0.1).chebyshev_series(&[0.3, -0.2, 0.7, 0.05])
    }
    model!(Chosen, 1, |x: &[S]| vec![chosen(x[0])]);
    let usual: Vec<f64> = (0..300).map(|i| f64::from(i) / 301.0).collect();
    let mut mixed = usual.clone();
    (mixed[3], mixed[140], mixed[299]) = (1.5, 7.0, f64::NAN);
    let rare: Vec<f64> = (0..300).map(|i| 1.0 + f64::from(i) / 100.0).collect();
    for set in InstructionSet::available() {
        for x in [&usual, &mixed, &rare] {
            let found = made_ready(&Chosen, &within(&[(0.0, 1.0)]), set, &[x]);
            let found = found.expect("a recording").remove(0);
            let expected = x.iter().map(|x| chosen(*x).to_bits());
            assert!(found.iter().map(|y| y.to_bits()).eq(expected), "{set:?}");
        }
    }
}

/// The site model: trials of a run are those of single evaluations, on every instruction set.
#[test]
fn a_run_of_the_site_has_the_same_bits_on_every_instruction_set() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let run = MonteCarlo {
        trials: 3001,
        ..MonteCarlo::default()
    };
    let all = InstructionSet::available();
    let of = |instruction_set| {
        let model = WithInstructionSet {
            model: &evaluation.model,
            instruction_set,
        };
        run.joint(&model, &evaluation.inputs).expect("trials")
    };
    let reference = of(InstructionSet::Baseline);
    for set in all {
        assert_eq!(of(set), reference, "{set:?}");
    }
    let mut hash = 0xcbf2_9ce4_8422_2325_u64;
    for byte in reference
        .values(0)
        .iter()
        .flat_map(|v| v.to_bits().to_le_bytes())
    {
        hash = (hash ^ u64::from(byte)).wrapping_mul(0x0000_0100_0000_01b3);
    }
    // every machine must meet it; a change is value-breaking and must be announced
    assert_eq!(hash, SITE_DIGEST);
}

const SITE_DIGEST: u64 = 12_349_860_270_383_334_089;

/// The recording of the site model for unusual trials, far from what the fits are made for, and the
/// model itself trial by trial: the same bits.
#[test]
fn the_recorded_site_is_the_site() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let inputs = evaluation.inputs.inputs().iter().enumerate();
    let column = |(i, input): (usize, &Input)| {
        let far = match input.name() {
            "liquid.temperature" => 15.0,
            _ => 0.0,
        };
        let x = input.estimate() + far;
        (0..300)
            .map(|t| x * (1.0 + 1e-4 * f64::from((t * (i as i32 + 3)) % 17)))
            .collect()
    };
    let columns: Vec<Vec<f64>> = inputs.map(column).collect();
    let x: Vec<&[f64]> = columns.iter().map(Vec::as_slice).collect();
    let single = evaluation.model.evaluate_block(&x, 300).expect("values");
    assert!(single.iter().flatten().all(|y| y.is_finite()));
    for set in InstructionSet::available() {
        let found = made_ready(&evaluation.model, &evaluation.inputs, set, &x);
        assert_eq!(found.expect("a recording"), single);
    }
}

/// Draws by blocks are the quantiles of the distribution: of the normal distribution and Student's t
/// fits of them, of the others to the last bit.
#[test]
fn blocks_of_quantiles_are_quantiles() {
    let mut p: Vec<f64> = (1..2000).map(|i| f64::from(i) / 2000.0).collect();
    p.extend((1..54).map(|k| Scalar::powi(0.5_f64, k)));
    p.extend((1..54).map(|k| 1.0 - Scalar::powi(0.5_f64, k)));
    let exact = [
        Distribution::Rectangular {
            lower: -1.0,
            upper: 4.0,
        },
        Distribution::Triangular {
            lower: -1.0,
            upper: 4.0,
        },
        Distribution::Lognormal {
            log_mean: 0.3,
            log_standard_deviation: 0.4,
        },
        Distribution::Arcsine {
            lower: -1.0,
            upper: 4.0,
        },
        Distribution::Exponential { mean: 2.0 },
    ];
    for set in InstructionSet::available() {
        for distribution in &exact {
            let sampler = distribution.sampler();
            let mut values = p.clone();
            sampler.quantiles(set, &mut values);
            for (p, found) in p.iter().zip(values) {
                assert_eq!(
                    found.to_bits(),
                    sampler.quantile(*p).to_bits(),
                    "{distribution:?}"
                );
            }
        }
        for dof in [
            2.1,
            3.0,
            4.0,
            7.5,
            11.0,
            30.0,
            400.0,
            9999.0,
            1e4,
            1e7,
            1e12,
            f64::INFINITY,
        ] {
            let distribution = Distribution::StudentT {
                location: 0.0,
                scale: 1.0,
                dof,
            };
            let expected = |p: f64| StudentT::new(dof).quantile(p);
            meets(&distribution, set, &p, expected, [2e-7, 1e-9]);
        }
        let normal = Distribution::Normal {
            mean: 0.0,
            standard_deviation: 1.0,
        };
        meets(&normal, set, &p, normal_quantile, [1e-8, 0.0]);
    }
    let t = Distribution::StudentT {
        location: 0.0,
        scale: 1.0,
        dof: 5.0,
    };
    let mut deviates = [normal_quantile(0.9)];
    t.sampler().from_normal_deviates(BASELINE, &mut deviates);
    assert!((StudentT::new(5.0).cdf(deviates[0]) - 0.9).abs() < 1e-9);
    assert!((normal_cdf(normal_quantile(0.9)) - 0.9).abs() < 1e-15);
}

/// The largest relative errors within 0.49999 of 1/2 and farther out.
fn meets(
    distribution: &Distribution,
    set: InstructionSet,
    p: &[f64],
    expected: impl Fn(f64) -> f64,
    allowed: [f64; 2],
) {
    let mut values = p.to_vec();
    distribution.sampler().quantiles(set, &mut values);
    for (p, found) in p.iter().zip(values) {
        let (expected, outer) = (expected(*p), (p - 0.5).abs() > 0.499_99);
        let allowed = allowed[usize::from(outer)] * expected.abs() + 1e-15;
        assert!(
            (found - expected).abs() <= allowed,
            "{distribution:?} {p:e}: {found} {expected}"
        );
    }
}

/// What the environment variable names is used or refused, never ignored.
#[test]
fn the_instruction_set_can_be_forced() {
    let available = InstructionSet::available();
    assert_eq!(available[0], InstructionSet::Baseline);
    assert_eq!(InstructionSet::chosen().ok().as_ref(), available.last());
}
