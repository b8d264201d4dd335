//! Scrambled Sobol points: their evenness, and what runs with them find.

use crate::support::{assert_refused, demo, demo_readings, evaluate};
use flowdoubt::Result;
use flowdoubt::montecarlo::{BlockModel, LowDiscrepancy, MonteCarlo, SobolPoints, Stream};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    Distribution, Input, InputSet, MeasurementModel, Output, Shape, propagate,
};
use flowdoubt::units::Unit;
use proptest::prelude::*;
use rand::Rng;
use sobol::Sobol;
use sobol::params::JoeKuoD6;
use std::collections::HashSet;

fn column(points: &SobolPoints, dimension: usize, start: u64, count: usize) -> Vec<f64> {
    let mut column = vec![0.0; count];
    points.fill(dimension, start, &mut column);
    column
}

proptest! {
    /// Scrambling keeps what makes the points even: every dyadic part of an axis has the same number
    /// of them, and in the first two dimensions, a (0, m, 2)-net, so has every dyadic rectangle
    /// (H. Niederreiter 1992, definition 4.1, from memory). Joe and Kuo's other pairs are less even,
    /// but none puts two of 2^m points of a block in the same part of an axis.
    #[test]
    fn scrambled_points_are_a_net(seed: u64, replicate in 0..1000_u64, block in 0..50_u64, m in 1..10_u32) {
        let points = SobolPoints::new(30, 50 << 9, seed, replicate).expect("points");
        let count = 1_usize << m;
        let columns: Vec<Vec<f64>> = (0..30)
            .map(|dimension| column(&points, dimension, block * count as u64, count))
            .collect();
        let part = |u: f64, parts: u32| (u * f64::from(1 << parts)) as u64;
        for column in &columns {
            let parts: HashSet<u64> = column.iter().map(|u| part(*u, m)).collect();
            prop_assert_eq!(parts.len(), count);
        }
        for a in 0..=m {
            let pairs = columns[0].iter().zip(&columns[1]);
            let cells: HashSet<(u64, u64)> = pairs.map(|(u, v)| (part(*u, a), part(*v, m - a))).collect();
            prop_assert_eq!(cells.len(), count, "2^{} by 2^{}", a, m - a);
        }
    }

    #[test]
    fn any_part_of_the_points_can_be_made_alone(seed: u64, start in 0..5000_u64, count in 0..100_usize) {
        let points = SobolPoints::new(5, 5100, seed, 3).expect("points");
        for dimension in 0..5 {
            let all = column(&points, dimension, 0, start as usize + count);
            prop_assert_eq!(&column(&points, dimension, start, count), &all[start as usize..]);
        }
    }
}

/// `prod (1 + c (x_i - 1/2))` over the unit cube: mean 1, variance `prod (1 + c^2/12) - 1`.
struct Product;
const C: f64 = 0.5;

impl MeasurementModel for Product {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        vec![Output {
            name: "y".to_owned(),
            unit: Unit::named(""),
        }]
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let one = S::constant(1.0);
        Ok([x.iter().fold(one, |y, x| y * ((*x - 0.5) * C + 1.0))])
    }
}

fn unit_cube(count: usize) -> InputSet {
    let make = |i: usize| {
        Input::with_half_width(
            &format!("x{i}"),
            0.5,
            0.5,
            Shape::Rectangular,
            f64::INFINITY,
        )
    };
    let inputs = (0..count).map(make).collect::<Result<_>>().expect("inputs");
    InputSet::independent(inputs).expect("set")
}

#[test]
fn standard_errors_are_honest_and_far_below_those_of_random_trials() {
    let inputs = unit_cube(6);
    let exact = (Scalar::powi(1.0 + C * C / 12.0, 6) - 1.0).sqrt();
    let mut standardised = 0.0;
    for seed in 0..20 {
        let run = LowDiscrepancy {
            points: 1024,
            seed,
            ..LowDiscrepancy::default()
        };
        let found = run.run(&Product, &inputs).expect("run").outputs[0];
        let (mean, u) = (found.mean, found.standard_uncertainty);
        let off = (mean.value - 1.0) / mean.standard_error;
        // t with 15 degrees of freedom: beyond 8 with probability below 1e-6
        assert!(off.abs() < 8.0, "{mean:?}");
        assert!(
            (u.value - exact).abs() < 8.0 * u.standard_error,
            "{u:?}, {exact}"
        );
        standardised += off * off;
        // as many random trials leave exact/sqrt(n) of the mean and about 1/sqrt(2 n) of u
        let n = f64::from(16 * 1024);
        assert!(mean.standard_error < 0.05 * exact / n.sqrt(), "{mean:?}");
        assert!(u.standard_error < 0.2 * exact / (2.0 * n).sqrt(), "{u:?}");
    }
    // mean square of 20 values of t with 15 degrees of freedom, 1.15 on average
    assert!(
        (0.3..3.5).contains(&(standardised / 20.0)),
        "{standardised}"
    );
}

#[test]
fn the_site_gets_the_same_figures_as_by_random_trials() {
    let evaluation = evaluate(&demo("site.toml"), &demo_readings()).expect("evaluation");
    let run = LowDiscrepancy {
        points: 1024,
        replicates: 8,
        ..LowDiscrepancy::default()
    };
    let found = run.run(&evaluation.model, &evaluation.inputs).expect("run");
    let again = run.run(&evaluation.model, &evaluation.inputs).expect("run");
    assert_eq!(found, again);
    let random = MonteCarlo {
        trials: 100_000,
        ..MonteCarlo::default()
    };
    let random = evaluation.monte_carlo(random).expect("trials");
    let figures = found.outputs[0];
    let n = random.trials() as f64;
    let scatter = random.standard_uncertainty / n.sqrt();
    assert!((figures.mean.value - random.mean).abs() < 5.0 * scatter);
    let budget = &propagate(&evaluation.model, &evaluation.inputs).expect("budget")[0];
    // t distributions are wider than the standard uncertainties of the budget
    let ratio = figures.standard_uncertainty.value / budget.standard_uncertainty;
    assert!((0.99..1.05).contains(&ratio), "{ratio}");
    let u = figures.standard_uncertainty;
    assert!((u.value / random.standard_uncertainty - 1.0).abs() < 5.0 / (2.0 * n).sqrt());
    assert!(u.standard_error < 2e-3 * u.value, "{u:?}");
    assert!(figures.low.value < figures.mean.value && figures.mean.value < figures.high.value);
    let words = found.in_words();
    assert!(
        words.starts_with("8 replicates of 1024 scrambled Sobol points."),
        "{words}"
    );
}

#[test]
fn joint_t_and_correlated_inputs_have_dimensions_of_their_own() {
    let normal = |name: &str| {
        let distribution = Distribution::Normal {
            mean: 0.0,
            standard_deviation: 1.0,
        };
        Input::with_distribution(name, distribution).expect("input")
    };
    struct Sum;
    impl MeasurementModel for Sum {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            Product.outputs()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0] + x[1]])
        }
    }
    let pair = [("a".to_owned(), "b".to_owned(), 0.5)];
    let inputs = InputSet::correlated(vec![normal("a"), normal("b")], &pair).expect("set");
    let found = LowDiscrepancy::default()
        .run(&Sum, &inputs)
        .expect("run")
        .outputs[0];
    let u = found.standard_uncertainty;
    assert!((u.value - 3.0_f64.sqrt()).abs() < 1e-3, "{u:?}");
}

#[test]
fn what_cannot_be_run_is_refused() {
    let run = |points, replicates, coverage_probability| {
        let run = LowDiscrepancy {
            points,
            replicates,
            coverage_probability,
            ..LowDiscrepancy::default()
        };
        run.run(&Product, &unit_cube(2)).map(|_| ())
    };
    assert_refused(
        run(1000, 16, 0.95),
        "out-of-range",
        &["points", "power of two", "1000"],
    );
    assert_refused(run(8, 16, 0.95), "out-of-range", &["points", "16"]);
    assert_refused(run(1024, 3, 0.95), "out-of-range", &["replicates", "4 to"]);
    assert_refused(run(16, 1001, 0.95), "out-of-range", &["replicates", "1000"]);
    assert_refused(
        run(16, 16, 0.999),
        "out-of-range",
        &["coverage_probability"],
    );
    let many = LowDiscrepancy::default()
        .run(&Product, &unit_cube(101))
        .map(|_| ());
    assert_refused(many, "out-of-range", &["101", "up to 100"]);
}

/// Scrambled points by their definition, digit by digit: each digit is a random sum of the digits of
/// the Sobol point before it and of its own, and the whole is shifted.
#[test]
fn points_are_scrambled_digit_by_digit() {
    const BITS: usize = 52;
    let (seed, replicate, dimensions) = (9, 2_u64, 7);
    let all = SobolPoints::new(dimensions, 1 << 21, seed, replicate).expect("points");
    let plain = Sobol::<u64>::init_direction_vals(100, BITS, &JoeKuoD6::minimal());
    let mut random = Stream::new(seed, "scrambling of Sobol points");
    random.seek(replicate * 100 * (BITS as u64 + 1));
    // a draw for each of 100 dimensions: their shifts, then what their first digits add, and so on
    let mut row = || -> Vec<u64> { (0..100).map(|_| random.next_u64()).collect() };
    let shifts = row();
    let columns: Vec<Vec<u64>> = (0..BITS).map(|_| row()).collect();
    for (dimension, directions) in plain[..dimensions].iter().enumerate() {
        for start in [0_u64, 37, 1 << 20] {
            let mut column = [0.0; 50];
            all.fill(dimension, start, &mut column);
            for (point, found) in (start..).zip(column) {
                let ones = (0..BITS).filter(|k| point >> k & 1 == 1);
                let number = ones.fold(0, |sum, k| sum ^ directions[k]);
                let digit = |word: u64, i: usize| word >> (63 - i) & 1;
                let mut digits = 0;
                for i in 0..BITS {
                    let before = (0..i).map(|k| digit(number, k) & digit(columns[k][dimension], i));
                    let own = digit(number, i) ^ digit(shifts[dimension], i);
                    digits |= before.fold(own, |sum, d| sum ^ d) << (63 - i);
                }
                let expected = ((digits >> 12) as f64 + 0.5) / (1_u64 << 52) as f64;
                assert_eq!(found, expected, "{dimension} {point}");
            }
        }
        // fewer points and dimensions begin alike
        let few = SobolPoints::new(dimension + 1, 40, seed, replicate).expect("points");
        let part = column(&all, dimension, 0, 40);
        assert_eq!(column(&few, dimension, 0, 40), part);
    }
}

/// The sum of an input, of its square and of another input: of known mean and variance, and far
/// enough from linear for the first-order part to leave something.
struct Bent;

impl MeasurementModel for Bent {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        Product.outputs()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0] + x[0] * x[0] * 0.3 + x[1]])
    }
}

/// Correlated inputs, t distributed ones and ones joined by a copula: whatever of the first-order part
/// has a known variance is used, and nothing else.
#[test]
fn what_first_order_propagation_knows_is_known_exactly() {
    let input =
        |name: &str, distribution| Input::with_distribution(name, distribution).expect("input");
    let normal = |name: &str| {
        let (mean, standard_deviation) = (0.0, 1.0);
        input(
            name,
            Distribution::Normal {
                mean,
                standard_deviation,
            },
        )
    };
    let uniform = |name: &str| {
        let half = 3.0_f64.sqrt();
        input(
            name,
            Distribution::Rectangular {
                lower: -half,
                upper: half,
            },
        )
    };
    let pair = |r| [("a".to_owned(), "b".to_owned(), r)];
    // E = 0.3 E x^2, Var = Var x0 + Var x1 + 2 Cov + 0.09 Var x^2
    let normal_pair = InputSet::correlated(vec![normal("a"), normal("b")], &pair(0.5));
    // a copula leaves the normal input in the first-order part and the other one out; the covariance
    // of a normal and a uniform variable with normal scores correlated r is r sqrt(3/pi)
    let copula = InputSet::correlated(vec![normal("a"), uniform("b")], &pair(0.5));
    let t = Distribution::StudentT {
        location: 0.0,
        scale: 1.0,
        dof: 12.0,
    };
    let independent = InputSet::independent(vec![normal("a"), input("b", t)]);
    let cases = [
        (normal_pair, 1.0 + 1.0 + 2.0 * 0.5 + 0.09 * 2.0),
        (copula, 2.0 + (3.0 / std::f64::consts::PI).sqrt() + 0.18),
        (independent, 1.0 + 12.0 / 10.0 + 0.18),
    ];
    for (number, (inputs, variance)) in cases.into_iter().enumerate() {
        let inputs = inputs.expect("set");
        for antithetic in [false, true] {
            let run = LowDiscrepancy {
                points: 1024,
                antithetic,
                seed: 5,
                ..LowDiscrepancy::default()
            };
            let found = run.run(&Bent, &inputs).expect("run").outputs[0];
            let u = found.standard_uncertainty;
            let what = format!("case {number}, {antithetic}: {found:?}");
            // t with 15 degrees of freedom, as above; and known as well as it should be
            assert!(
                (u.value - variance.sqrt()).abs() < 8.0 * u.standard_error,
                "{what}"
            );
            // far less than what random trials leave
            let random = u.value / (2.0 * 16.0 * 1024.0_f64).sqrt();
            assert!(u.standard_error < 0.3 * random, "{what}");
            let mean = found.mean;
            assert!(
                (mean.value - 0.3).abs() < 8.0 * mean.standard_error.max(1e-15),
                "{what}"
            );
        }
    }
}

/// A model without sensitivity coefficients is run all the same, and a linear one is known exactly.
#[test]
fn figures_are_as_good_as_what_is_known_of_the_model() {
    struct Opaque;
    impl BlockModel for Opaque {
        fn output_quantities(&self) -> Vec<Output> {
            Product.outputs()
        }
        fn evaluate_block(&self, x: &[&[f64]], size: usize) -> Result<Vec<Vec<f64>>> {
            Ok(vec![(0..size).map(|i| x[0][i] + x[1][i]).collect()])
        }
    }
    struct Open;
    impl MeasurementModel for Open {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            Product.outputs()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0] + x[1]])
        }
    }
    let (run, inputs) = (LowDiscrepancy::default(), unit_cube(2));
    let opaque = run.run(&Opaque, &inputs).expect("run");
    let open = run.run(&Open, &inputs).expect("run");
    assert_eq!(opaque.trials, open.trials);
    let exact = (1.0_f64 / 6.0).sqrt();
    let u = opaque.outputs[0].standard_uncertainty;
    assert!(u.standard_error > 0.0 && (u.value - exact).abs() < 8.0 * u.standard_error);
    let u = open.outputs[0].standard_uncertainty;
    assert!(
        (u.value - exact).abs() < 1e-14 && u.standard_error < 1e-14,
        "{u:?}"
    );
}

/// With mirrored points the mean of an odd function is that of its middle, whatever the points.
#[test]
fn antithetic_points_come_in_mirrored_pairs() {
    let run = LowDiscrepancy {
        points: 64,
        replicates: 4,
        antithetic: true,
        ..LowDiscrepancy::default()
    };
    let found = run.run(&Product, &unit_cube(1)).expect("run");
    let words = found.in_words();
    assert!(
        words.contains("64 scrambled Sobol points, half of them mirrored."),
        "{words}"
    );
    for replicate in found.trials.values(0).chunks(64) {
        let (first, second) = replicate.split_at(32);
        let sums = first.iter().zip(second).map(|(a, b)| a + b);
        assert!(
            sums.clone().all(|sum| (sum - 2.0).abs() < 1e-15),
            "{replicate:?}"
        );
    }
}
