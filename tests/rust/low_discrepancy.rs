//! Scrambled Sobol points: their evenness, and what runs with them find.

use crate::support::{assert_refused, demo, demo_readings, evaluate};
use flowdoubt::Result;
use flowdoubt::montecarlo::{LowDiscrepancy, MonteCarlo, SobolPoints, Stream};
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
        let points = SobolPoints::new(30, seed, replicate).expect("points");
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
        let points = SobolPoints::new(5, seed, 3).expect("points");
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
    let points = SobolPoints::new(dimensions, seed, replicate).expect("points");
    let plain = Sobol::<u64>::init_direction_vals(100, BITS, &JoeKuoD6::minimal());
    let mut random = Stream::new(seed, "scrambling of Sobol points");
    random.seek(replicate * 100 * (BITS as u64 + 1));
    for (dimension, directions) in plain[..dimensions].iter().enumerate() {
        let rows: Vec<u64> = (0..BITS)
            .map(|i| (random.next_u64() & !(u64::MAX >> i)) | 1 << (63 - i))
            .collect();
        let shift = random.next_u64();
        for start in [0_u64, 37, 1 << 20] {
            let mut column = [0.0; 50];
            points.fill(dimension, start, &mut column);
            for (point, found) in (start..).zip(column) {
                let ones = (0..BITS).filter(|k| point >> k & 1 == 1);
                let number = ones.fold(0, |sum, k| sum ^ directions[k]);
                let digits = rows.iter().enumerate().fold(shift, |sum, (i, row)| {
                    sum ^ u64::from((number & row).count_ones() % 2) << (63 - i)
                });
                let expected = ((digits >> 12) as f64 + 0.5) / (1_u64 << 52) as f64;
                assert_eq!(found, expected, "{dimension} {point}");
            }
        }
    }
}
