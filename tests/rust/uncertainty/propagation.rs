//! First and second order with correlation against mpmath's derivatives and matrix products.

use crate::published::column;
use crate::support::tables::against;
use crate::support::{assert_relative, json};
use flowdoubt::Result;
use flowdoubt::scalar::Scalar;
use flowdoubt::uncertainty::{
    Input, InputSet, JointResult, MeasurementModel, Output, propagate, propagate_second_order,
};
use flowdoubt::units::Unit;
use serde_json::Value;

/// The two models of tests/golden/generate/propagation.py.
struct Golden;

impl MeasurementModel for Golden {
    type Outputs<S: Scalar> = [S; 2];
    fn outputs(&self) -> Vec<Output> {
        ["first", "second"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named(""),
            })
            .to_vec()
    }
    fn evaluate<S: Scalar>(&self, x: &[S]) -> Result<[S; 2]> {
        let [a, b, c, d] = x else {
            panic!("four inputs");
        };
        let first = (*a * *c).sqrt() * (-*b).exp() + (*d * *c).sin() / *a;
        let second = (*a + *c).ln() * b.powf(*c) - (*d / *b).atan();
        Ok([first, second])
    }
}

fn inputs(golden: &Value) -> InputSet {
    let (estimates, u) = (
        column(&golden["estimates"]),
        column(&golden["standard_uncertainties"]),
    );
    let name = |i: usize| format!("x{i}");
    let make =
        |i: usize| Input::with_standard_uncertainty(&name(i), estimates[i], u[i], f64::INFINITY);
    let list = (0..4).map(make).collect::<Result<_>>().expect("inputs");
    let pairs = golden["correlations"].as_array().expect("pairs").iter();
    let pairs: Vec<_> = pairs
        .map(|pair| {
            let pair = column(pair);
            (name(pair[0] as usize), name(pair[1] as usize), pair[2])
        })
        .collect();
    InputSet::correlated(list, &pairs).expect("set")
}

#[test]
fn correlated_propagation_meets_mpmath_and_the_explicit_matrix_product() {
    let mut compared = against(
        "mpmath and matrix products",
        "sensitivities and covariance of two correlated outputs",
    );
    let golden = json("golden/propagation.json");
    let set = inputs(&golden);
    let budgets = propagate(&Golden, &set).expect("budgets");
    let joint = JointResult::of_budgets(&budgets, &set).expect("joint");
    for (k, budget) in budgets.iter().enumerate() {
        let what = &budget.output.name;
        let estimate = column(&golden["outputs"])[k];
        compared.relative(budget.estimate, estimate, 1e-14, what);
        let sensitivities = column(&golden["sensitivities"][k]);
        for (line, expected) in budget.lines.iter().zip(sensitivities) {
            compared.relative(line.sensitivity, expected, 1e-13, what);
        }
        let row = column(&golden["covariance"][k]);
        for (m, expected) in row.iter().enumerate() {
            compared.relative(joint.covariance[k][m], *expected, 1e-13, what);
        }
        let u = budget.standard_uncertainty;
        compared.relative(u * u, row[k], 1e-13, what);
        let shares: f64 = budget.lines.iter().map(|line| line.share).sum();
        assert_relative(shares, 1.0, 1e-13, "shares");
    }
}

#[test]
fn correlated_second_order_meets_mpmath_and_the_explicit_matrix_product() {
    let mut compared = against(
        "mpmath and matrix products",
        "variance and bias of second order",
    );
    let golden = json("golden/propagation.json");
    let second = propagate_second_order(&Golden, &inputs(&golden)).expect("second order");
    for (k, found) in second.iter().enumerate() {
        let what = &found.budget.output.name;
        let variance = column(&golden["second_order_variance"])[k];
        compared.relative(found.variance, variance, 1e-11, what);
        compared.relative(found.bias, column(&golden["bias"])[k], 1e-12, what);
    }
}
