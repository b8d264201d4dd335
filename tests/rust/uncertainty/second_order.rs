//! Second-order propagation against closed forms.

use crate::support::assert_relative;
use flowdoubt::Result;
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output, propagate_second_order};
use flowdoubt::units::Unit;

fn output() -> Vec<Output> {
    vec![Output {
        name: "y".to_owned(),
        unit: Unit::named(""),
    }]
}

/// `exp(x0) + x1^2 x2`, padded with inputs so that derivatives take two evaluations.
struct Curved;

impl MeasurementModel for Curved {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        output()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        let last = x[x.len() - 1];
        Ok([x[0].exp() + x[1] * x[1] * last])
    }
}

fn inputs(count: usize, pairs: &[(String, String, f64)]) -> InputSet {
    let make = |i: usize| {
        let u = 0.1 + 0.05 * i as f64;
        Input::with_standard_uncertainty(&format!("x{i}"), 1.0 + i as f64, u, f64::INFINITY)
    };
    let list = (0..count).map(make).collect::<Result<_>>().expect("inputs");
    InputSet::correlated(list, pairs).expect("set")
}

#[test]
fn terms_are_those_of_the_guide() {
    for count in [3, 10] {
        let set = inputs(count, &[]);
        let second = &propagate_second_order(&Curved, &set).expect("second order")[0];
        let u = |i: usize| set.inputs()[i].standard_uncertainty();
        let e = Scalar::exp(1.0_f64);
        let last = count - 1;
        let (x1, x2) = (2.0, 1.0 + last as f64);
        let expected = [
            // f_00^2 / 2 + f_0 f_000
            ((0, 0), 1.5 * e * e * u(0) * u(0) * u(0) * u(0)),
            // f_11 = 2 x2, f_111 = 0
            ((1, 1), 0.5 * 4.0 * x2 * x2 * u(1) * u(1) * u(1) * u(1)),
            // f_12 = 2 x1 in both orders; f_1 f_122 = 0, f_2 f_211 = 2 x1^2
            (
                (1, last),
                0.5 * 4.0 * x1 * x1 * u(1) * u(1) * u(last) * u(last),
            ),
            (
                (last, 1),
                (2.0 * x1 * x1 + x1 * x1 * 2.0) * u(1) * u(1) * u(last) * u(last),
            ),
        ];
        assert_eq!(second.terms.len(), expected.len(), "{:?}", second.terms);
        for ((first, other), variance) in expected {
            let term = second
                .terms
                .iter()
                .find(|t| (t.first, t.second) == (first, other))
                .expect("term");
            assert_relative(term.variance, variance, 1e-13, &format!("{first}, {other}"));
        }
        let bias = 0.5 * e * u(0) * u(0) + 0.5 * 2.0 * x2 * u(1) * u(1);
        assert_relative(second.bias, bias, 1e-13, "bias");
        let mixed = second
            .terms
            .iter()
            .find(|t| (t.first, t.second) == (1, last));
        assert_relative(mixed.expect("mixed").curvature, 2.0 * x1, 1e-14, "f_ij");
    }
}

/// `x0 x1 + x0^3`, whose moments are known exactly for jointly normal inputs.
struct Product;

impl MeasurementModel for Product {
    type Outputs<S: Scalar> = [S; 1];
    fn outputs(&self) -> Vec<Output> {
        output()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
        Ok([x[0] * x[1] + x[0].powi(3)])
    }
}

#[test]
fn correlated_inputs_follow_the_moments_of_a_jointly_normal_distribution() {
    let (x, y, r) = (1.0, 2.0, -0.6);
    let set = inputs(2, &[("x0".to_owned(), "x1".to_owned(), r)]);
    let (a, b) = (
        set.inputs()[0].standard_uncertainty(),
        set.inputs()[1].standard_uncertainty(),
    );
    let second = &propagate_second_order(&Product, &set).expect("second order")[0];
    let (va, vb, c) = (a * a, b * b, r * a * b);
    // g = (y + 3 x^2, x); H = ((6 x, 1), (1, 0)); third derivative 6 by x0 three times
    let g0 = y + 3.0 * x * x;
    let first = g0 * g0 * va + 2.0 * g0 * x * c + x * x * vb;
    // H U = ((6 x va + c, 6 x c + vb), (va, c))
    let hu = [[6.0 * x * va + c, 6.0 * x * c + vb], [va, c]];
    let trace = hu[0][0] * hu[0][0] + 2.0 * hu[0][1] * hu[1][0] + hu[1][1] * hu[1][1];
    let expected = 0.5 * trace + (g0 * va + x * c) * 6.0 * va;
    assert_relative(second.variance, expected, 1e-13, "variance");
    assert_relative(
        second.standard_uncertainty,
        (first + expected).sqrt(),
        1e-13,
        "standard uncertainty",
    );
    assert_relative(second.bias, c + 3.0 * x * va, 1e-13, "bias");
    assert!(second.terms.is_empty());
}

#[test]
fn a_linear_model_has_no_second_order_and_it_does_not_matter() {
    struct Linear;
    impl MeasurementModel for Linear {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            output()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0] * 3.0 - x[1]])
        }
    }
    let second = &propagate_second_order(&Linear, &inputs(2, &[])).expect("second order")[0];
    assert_eq!((second.variance, second.bias), (0.0, 0.0));
    assert_eq!(
        second.standard_uncertainty,
        second.budget.standard_uncertainty
    );
    assert!(!second.matters && second.terms.is_empty());
    // 0.335: half a unit of the second digit
    assert_eq!(second.tolerance, 0.005);
}

#[test]
fn what_second_order_does_not_cover_is_refused() {
    let readings = [vec![1.0, 1.1, 1.3, 0.9, 1.0], vec![2.0, 2.1, 1.8, 2.0, 2.2]];
    let set = InputSet::from_joint_readings(&["x0", "x1"], &readings).expect("set");
    let error = propagate_second_order(&Product, &set).expect_err("joint t");
    assert_eq!(error.code(), "conflict");
    // sin(x) at a crest with a huge uncertainty: f f''' outweighs the rest
    struct Wave;
    impl MeasurementModel for Wave {
        type Outputs<S: Scalar> = [S; 1];
        fn outputs(&self) -> Vec<Output> {
            output()
        }
        fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 1]> {
            Ok([x[0].sin()])
        }
    }
    let wide = Input::with_standard_uncertainty("x", 0.0, 3.0, f64::INFINITY).expect("input");
    let set = InputSet::independent(vec![wide]).expect("set");
    let error = propagate_second_order(&Wave, &set).expect_err("negative variance");
    assert!(error.to_string().contains("use Monte Carlo"), "{error}");
}
