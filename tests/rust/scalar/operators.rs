//! Operators of scalars: with a number on either side, in place, and sums, with derivatives.

use flowdoubt::montecarlo::{IntervalKind, MonteCarlo};
use flowdoubt::scalar::{Dual, Scalar};
use flowdoubt::uncertainty::{Input, InputSet, MeasurementModel, Output};
use flowdoubt::units::Unit;

type D = Dual<f64, 1>;

/// `f(3)` and `f'(3)`.
#[track_caller]
fn expect(f: impl Fn(D) -> D, value: f64, derivative: f64) {
    let y = f(D::variable(3.0, 0));
    assert_eq!((y.value, y.gradient[0]), (value, derivative));
}

#[test]
fn a_number_may_stand_on_either_side_of_a_dual() {
    expect(|x| 2.0 + x, 5.0, 1.0);
    expect(|x| 2.0 - x, -1.0, -1.0);
    expect(|x| 2.0 * x, 6.0, 2.0);
    expect(|x| 6.0 / x, 2.0, -6.0 / 9.0);
    // and of a dual of duals: (6 / x)'' = 12 / x^3
    let x: Dual<D, 1> = Dual::variable(D::variable(3.0, 0), 0);
    let second = (6.0 / x).gradient[0].gradient[0];
    assert!((second - 12.0 / 27.0).abs() < 1e-15, "{second}");
}

/// `((2 x + x - 1) / 2) / x`, then `* x * 4`, all in place: `6 x - 2`.
fn in_place<S: Scalar>(x: S) -> S {
    let mut y = x;
    y *= 2.0;
    y += x;
    y -= 1.0;
    y /= 2.0;
    y /= x;
    y *= x;
    y -= x;
    y += 0.5;
    y *= 4.0;
    y
}

fn sum<S: Scalar>(x: S) -> S {
    (1..=3).map(|n| x.powi(n)).sum()
}

#[test]
fn assignments_and_sums_carry_derivatives() {
    // (3 x - 1) / 2 - x + 1/2 = x / 2, times 4
    expect(in_place, 6.0, 2.0);
    assert_eq!(in_place(3.0), 6.0);
    // x + x^2 + x^3 and 1 + 2 x + 3 x^2
    expect(sum, 39.0, 34.0);
    assert_eq!(sum(3.0), 39.0);
    let none: D = std::iter::empty().sum();
    assert_eq!(none, D::constant(0.0));
}

struct InPlace;

impl MeasurementModel for InPlace {
    type Outputs<S: Scalar> = [S; 2];

    fn outputs(&self) -> Vec<Output> {
        ["line", "sum"]
            .map(|name| Output {
                name: name.to_owned(),
                unit: Unit::named("1"),
            })
            .into()
    }

    fn evaluate<S: Scalar>(&self, x: &[S]) -> flowdoubt::Result<[S; 2]> {
        Ok([in_place(x[0]), sum(x[0])])
    }
}

#[test]
fn trials_take_them_as_well() {
    let input = Input::with_half_width(
        "x",
        3.0,
        1.0,
        flowdoubt::uncertainty::Shape::Rectangular,
        f64::INFINITY,
    );
    let inputs = InputSet::independent(vec![input.expect("an input")]).expect("a set");
    let run = MonteCarlo {
        trials: 20_000,
        ..MonteCarlo::default()
    };
    let trials = run.joint(&InPlace, &inputs).expect("trials");
    // 2 x for x from 2 to 4; x + x^2 + x^3 from 14 to 84
    for (output, low, high) in [(0, 4.0, 8.0), (1, 14.0, 84.0)] {
        let interval = trials
            .of_output(output)
            .interval(0.95, IntervalKind::Symmetric)
            .expect("interval");
        assert!(interval.low > low && interval.high < high, "{interval:?}");
        assert!(
            interval.high - interval.low > 0.9 * (high - low),
            "{interval:?}"
        );
    }
}
