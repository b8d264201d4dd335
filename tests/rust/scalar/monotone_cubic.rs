//! Monotone interpolation against another implementation, and against what its name promises.

use crate::support::tables::against;
use crate::support::{assert_relative, json, number};
use flowdoubt::scalar::{Dual, MonotoneCubic};
use proptest::prelude::*;
use serde_json::Value;

/// The numbers of a list.
fn numbers(list: &Value) -> Vec<f64> {
    list.as_array().expect("list").iter().map(number).collect()
}

#[test]
fn interpolation_meets_an_independent_implementation() {
    let mut compared = against("scipy", "monotone interpolation and its slope");
    let all = json("golden/monotone_cubic.json");
    let tables = all.as_object().expect("tables");
    assert_eq!(tables.len(), 6);
    for (name, table) in tables {
        let curve = MonotoneCubic::new(&numbers(&table["x"]), &numbers(&table["y"]));
        for point in table["points"].as_array().expect("points") {
            let n = |key: &str| number(&point[key]);
            let x = n("x");
            let found = curve.at(Dual::<f64, 1>::variable(x, 0));
            let mut near = |found: f64, expected: f64| {
                let tolerance = 1e-12 * expected.abs().max(10.0);
                compared.within(found, expected, tolerance, &format!("{name} at {x}"));
            };
            near(found.value, n("y"));
            near(found.gradient[0], n("slope"));
        }
    }
}

#[test]
fn outside_the_table_there_is_no_number() {
    let curve = MonotoneCubic::new(&[1.0, 2.0, 4.0], &[1.0, 3.0, 4.0]);
    assert_eq!(curve.range(), [1.0, 4.0]);
    for x in [1.0 - 1e-12, 4.0 + 1e-12, f64::NAN, f64::INFINITY] {
        assert!(curve.at(x).is_nan(), "{x}");
    }
    // the points themselves belong to it
    assert_eq!(curve.at(1.0), 1.0);
    assert_eq!(curve.at(2.0), 3.0);
    assert_relative(curve.at(4.0), 4.0, 1e-15, "last point");
}

#[test]
#[should_panic(expected = "x must rise")]
fn points_in_disorder() {
    MonotoneCubic::new(&[1.0, 1.0], &[1.0, 2.0]);
}

/// Widths and heights of the steps of a table.
fn steps() -> impl Strategy<Value = Vec<(f64, f64)>> {
    prop::collection::vec((0.1..10.0_f64, -5.0..5.0_f64), 1..9)
}

/// The points of a table that starts at `x = 1` with `y = 2`.
fn points(steps: &[(f64, f64)]) -> (Vec<f64>, Vec<f64>) {
    let (mut x, mut y) = (vec![1.0], vec![2.0]);
    for (k, (width, height)) in steps.iter().enumerate() {
        x.push(x[k] + width);
        y.push(y[k] + height);
    }
    (x, y)
}

proptest! {
    #[test]
    fn the_curve_stays_between_neighbours_and_keeps_their_order(
        steps in steps(),
        [a, b] in [0.0..1.0_f64, 0.0..1.0_f64],
    ) {
        let (x, y) = points(&steps);
        let curve = MonotoneCubic::new(&x, &y);
        let (first, second) = if a < b { (a, b) } else { (b, a) };
        for (k, (width, height)) in steps.iter().enumerate() {
            let [left, right] = [first, second].map(|share| curve.at(x[k] + share * width));
            let rising = height.signum();
            let rounding = 1e-12 * height.abs().max(1.0);
            prop_assert!((right - left) * rising >= -rounding);
            prop_assert!((left - y[k]) * rising >= -rounding);
            prop_assert!((y[k + 1] - right) * rising >= -rounding);
        }
    }

    #[test]
    fn the_curve_has_no_jump_and_no_kink(steps in steps()) {
        let (x, y) = points(&steps);
        let curve = MonotoneCubic::new(&x, &y);
        for at in &x[1..x.len() - 1] {
            let [left, right] = [at - 1e-9, *at].map(|x| curve.at(Dual::<f64, 1>::variable(x, 0)));
            prop_assert!((right.value - left.value).abs() < 1e-6);
            prop_assert!((right.gradient[0] - left.gradient[0]).abs() < 1e-4);
        }
    }
}
