//! Sobol indices against functions whose indices are known in closed form.

use flowdoubt::Result;
use flowdoubt::montecarlo::{Sensitivity, SobolIndex, SobolIndices};
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, Shape};
use flowdoubt::units::Unit;
use std::f64::consts::PI;

const INF: f64 = f64::INFINITY;

fn output() -> Vec<Output> {
    vec![Output {
        name: "y".to_owned(),
        unit: Unit::named(""),
    }]
}

fn rectangular(count: usize, middle: f64, half_width: f64) -> InputSet {
    let make = |i: usize| {
        let name = format!("x{}", i + 1);
        Input::with_half_width(&name, middle, half_width, Shape::Rectangular, INF)
    };
    let inputs = (0..count).map(make).collect::<Result<_>>().expect("inputs");
    InputSet::independent(inputs).expect("set")
}

/// An index must lie within five of its own standard errors, and those must be small.
#[track_caller]
fn near(index: SobolIndex, exact: f64, largest_error: f64) {
    assert!(index.standard_error < largest_error, "{index:?}");
    let allowed = 5.0 * index.standard_error + 1e-12;
    assert!((index.value - exact).abs() <= allowed, "{index:?}, {exact}");
    assert!(index.low <= index.value && index.value <= index.high);
}

/// T. Ishigami and T. Homma 1990: `sin x1 + a sin^2 x2 + b x3^4 sin x1`, a = 7, b = 0.1.
struct Ishigami;

const A: f64 = 7.0;
const B: f64 = 0.1;

impl MeasurementModel for Ishigami {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        output()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let (s1, s2) = (x[0].sin(), x[1].sin());
        Ok([s1 + s2 * s2 * A + x[2].powi(4) * s1 * B])
    }
}

#[test]
fn ishigami_function_has_its_analytic_indices() {
    let found = SobolIndices::default().run(&Ishigami, &rectangular(3, 0.0, PI));
    let found = &found.expect("indices")[0];
    let (p4, p8) = (Scalar::powi(PI, 4), Scalar::powi(PI, 8));
    let v1 = 0.5 * Scalar::powi(1.0 + B * p4 / 5.0, 2);
    let v2 = A * A / 8.0;
    let v13 = B * B * p8 * (1.0 / 18.0 - 1.0 / 50.0);
    let v = v1 + v2 + v13;
    assert!((found.variance / v - 1.0).abs() < 0.02);
    let exact = [(v1 / v, (v1 + v13) / v), (v2 / v, v2 / v), (0.0, v13 / v)];
    for (input, (first, total)) in found.inputs.iter().zip(exact) {
        near(input.first_order, first, 0.01);
        near(input.total, total, 0.01);
    }
    assert_eq!(found.inputs[2].name, "x3");
}

/// Sobol's g-function: the product of `(|4 x_i - 2| + a_i) / (1 + a_i)` over 0 to 1.
struct G;

const WEIGHTS: [f64; 5] = [0.0, 1.0, 4.5, 9.0, 99.0];

impl MeasurementModel for G {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        output()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let factors = x.iter().zip(WEIGHTS);
        let factors = factors.map(|(x, a)| ((*x * 4.0 - 2.0).abs() + a) / (1.0 + a));
        Ok([factors.fold(S::constant(1.0), |product, f| product * f)])
    }
}

#[test]
fn g_function_has_its_analytic_indices() {
    let found = SobolIndices::default().run(&G, &rectangular(5, 0.5, 0.5));
    let found = &found.expect("indices")[0];
    let part = WEIGHTS.map(|a| 1.0 / (3.0 * (1.0 + a) * (1.0 + a)));
    let all: f64 = part.iter().map(|v| 1.0 + v).product();
    let variance = all - 1.0;
    for (input, v) in found.inputs.iter().zip(part) {
        near(input.first_order, v / variance, 0.02);
        near(input.total, v * (all / (1.0 + v)) / variance, 0.02);
    }
}

/// `3 x1 + x2`, with variances 9 and 1 in ten.
struct Linear;

impl MeasurementModel for Linear {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        output()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0] * 3.0 + x[1]])
    }
}

fn run(seed: u64, confidence: f64) -> Sensitivity {
    let settings = SobolIndices {
        trials: 1000,
        seed,
        confidence,
    };
    settings
        .run(&Linear, &rectangular(2, 0.0, 1.0))
        .expect("indices")
        .remove(0)
}

#[test]
fn confidence_intervals_cover_as_stated() {
    // 300 runs at 90 %: the share covered is within five standard errors (1.7 %) of that
    let exact = [0.9, 0.1];
    let mut covered = [0_u32; 4];
    for seed in 0..300 {
        for (i, input) in run(seed, 0.9).inputs.iter().enumerate() {
            for (k, index) in [input.first_order, input.total].into_iter().enumerate() {
                let inside = index.low <= exact[i] && exact[i] <= index.high;
                covered[2 * i + k] += u32::from(inside);
            }
        }
    }
    for count in covered {
        let share = f64::from(count) / 300.0;
        assert!((share - 0.9).abs() < 0.09, "{covered:?}");
    }
}

#[test]
fn threads_change_no_bit_and_seeds_do() {
    let with_threads = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.expect("pool").install(|| run(4, 0.95))
    };
    assert_eq!(with_threads(1), with_threads(3));
    assert_ne!(run(4, 0.95), run(5, 0.95));
}

#[test]
fn what_has_no_indices_is_refused() {
    let settings = SobolIndices::default();
    let pair = [("x1".to_owned(), "x2".to_owned(), 0.5)];
    let inputs = rectangular(2, 0.0, 1.0).inputs().to_vec();
    let correlated = InputSet::correlated(inputs, &pair).expect("set");
    let text = |set: &InputSet, s: SobolIndices| s.run(&Linear, set).expect_err("no").to_string();
    assert!(text(&correlated, settings).contains("correlated inputs"));
    let exact = ["x1", "x2"].map(|n| Input::exact(n, 1.0).expect("input"));
    let exact = InputSet::independent(exact.to_vec()).expect("set");
    assert!(text(&exact, settings).contains("above 0 for shares"));
    let few = SobolIndices {
        trials: 10,
        ..settings
    };
    assert!(text(&rectangular(2, 0.0, 1.0), few).contains("100 to 1e7"));
    struct Root;
    impl MeasurementModel for Root {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            output()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0].sqrt()])
        }
    }
    let error = settings
        .run(&Root, &rectangular(1, 0.0, 1.0))
        .expect_err("NaN");
    assert!(error.to_string().contains("output of trial"), "{error}");
}
