//! Duals against closed forms, against another library's duals and against differences.

use crate::support::{assert_relative, slope};
use flowdoubt::scalar::{Dual, ImplicitEquation, Scalar, chebyshev, implicit_root};
use num_dual::{DualNum, HyperDual64};
use num_traits::Signed;
use proptest::prelude::*;

/// A function that uses every operation of the trait.
fn everything<S: Scalar>(x: S, y: S) -> S {
    let trig = x.sin() * y.cos() + (x * 0.3).tan() - (y * 0.1).asin();
    let growth = (x / y).exp() + (x * y).ln().powi(3) + y.recip().atan();
    let roots = (x + y).sqrt() + x.powf(y * 0.5) - (x - y).abs();
    (trig + growth * 2.0 - roots / 3.0) * x.max(y) + x.min(y) - 1.0
}

/// The same function written for another library's number type.
fn everything_there(x: HyperDual64, y: HyperDual64) -> HyperDual64 {
    let trig = x.sin() * y.cos() + (x * 0.3).tan() - (y * 0.1).asin();
    let growth = (x / y).exp() + (x * y).ln().powi(3) + y.recip().atan();
    let roots = (x + y).sqrt() + x.powd(y * 0.5) - (x - y).abs();
    let (larger, smaller) = if x.re > y.re { (x, y) } else { (y, x) };
    (trig + growth * 2.0 - roots / 3.0) * larger + smaller - 1.0
}

proptest! {
    #[test]
    fn first_and_second_derivatives_meet_an_independent_library(
        x in 0.2..3.0_f64,
        y in 0.2..3.0_f64,
    ) {
        prop_assume!((x - y).abs() > 1e-3);
        let ours = everything(
            Dual::<Dual<f64, 1>, 1>::variable(Dual::fixed(x), 0),
            Dual::<Dual<f64, 1>, 1>::fixed(Dual::variable(y, 0)),
        );
        let theirs = everything_there(
            HyperDual64::from(x).derivative1(),
            HyperDual64::from(y).derivative2(),
        );
        let scale = 1.0 + theirs.re.abs();
        prop_assert!((ours.value.value - theirs.re).abs() < 1e-12 * scale);
        let scale = 1.0 + theirs.eps1.abs() + theirs.eps2.abs();
        prop_assert!((ours.gradient[0].value - theirs.eps1).abs() < 1e-11 * scale);
        prop_assert!((ours.value.gradient[0] - theirs.eps2).abs() < 1e-11 * scale);
        let scale = 1.0 + theirs.eps1eps2.abs();
        prop_assert!((ours.gradient[0].gradient[0] - theirs.eps1eps2).abs() < 1e-10 * scale);
    }

    #[test]
    fn derivatives_meet_central_differences(x in 0.2..3.0_f64, y in 0.2..3.0_f64) {
        prop_assume!((x - y).abs() > 1e-3);
        let dual = everything(
            Dual::<f64, 2>::variable(x, 0),
            Dual::<f64, 2>::variable(y, 1),
        );
        let h = 1e-5;
        let dx = (everything(x + h, y) - everything(x - h, y)) / (2.0 * h);
        let dy = (everything(x, y + h) - everything(x, y - h)) / (2.0 * h);
        prop_assert!((dual.gradient[0] - dx).abs() < 1e-6 * (1.0 + dx.abs()));
        prop_assert!((dual.gradient[1] - dy).abs() < 1e-6 * (1.0 + dy.abs()));
    }

    #[test]
    fn value_of_a_dual_is_the_plain_value_to_the_last_bit(x in 0.2..3.0_f64, y in 0.2..3.0_f64) {
        let dual = everything(Dual::<f64, 2>::variable(x, 0), Dual::<f64, 2>::variable(y, 1));
        prop_assert_eq!(dual.value.to_bits(), everything(x, y).to_bits());
    }
}

/// `x^3 = p`, so `x` is the cube root.
struct CubeRoot;

impl ImplicitEquation<1> for CubeRoot {
    fn residual<S: Scalar>(&self, x: S, p: [S; 1]) -> S {
        x.powi(3) - p[0]
    }
}

#[test]
fn implicit_root_carries_exact_first_and_second_derivatives() {
    for p in [0.3, 1.0, 27.0, 1e4] {
        let seeded = Dual::<Dual<f64, 1>, 1>::variable(Dual::variable(p, 0), 0);
        let root = implicit_root(&CubeRoot, 1.0 + p / 3.0, 60, [seeded]);
        let exact: f64 = libm::cbrt(p);
        assert_relative(root.value.value, exact, 1e-14, "root");
        assert_relative(root.gradient[0].value, exact / (3.0 * p), 1e-13, "first");
        let second = -2.0 * exact / (9.0 * p * p);
        assert_relative(root.gradient[0].gradient[0], second, 1e-12, "second");
    }
}

#[test]
fn derivatives_leave_the_value_of_an_implicit_root_alone() {
    // after so few steps a root is not exact, and one more step would move it
    for steps in 2..6 {
        let plain: f64 = implicit_root(&CubeRoot, 4.0, steps, [27.5]);
        let seeded = Dual::<Dual<f64, 1>, 1>::variable(Dual::variable(27.5, 0), 0);
        let root = implicit_root(&CubeRoot, 4.0, steps, [seeded]);
        assert_eq!(root.value.value.to_bits(), plain.to_bits(), "{steps} steps");
    }
}

#[test]
fn derivatives_of_chebyshev_series_meet_differences() {
    let coefficients = [0.7, -0.3, 0.25, 0.11, -0.05, 0.02, 0.013];
    for count in 1..=coefficients.len() {
        let series = |x: f64| chebyshev(&coefficients[..count], [1.0, 5.0], x);
        for x in [1.0, 1.7, 3.0, 4.99] {
            let twice = Dual::<Dual<f64, 1>, 1>::variable(Dual::variable(x, 0), 0);
            let y = chebyshev(&coefficients[..count], [1.0, 5.0], twice);
            assert_eq!(y.value.value, series(x));
            let first = slope(series, x, 1e-3);
            assert!((y.gradient[0].value - first).abs() < 1e-10, "{count} {x}");
            let second = slope(
                |x| {
                    chebyshev(
                        &coefficients[..count],
                        [1.0, 5.0],
                        Dual::<f64, 1>::variable(x, 0),
                    )
                    .gradient[0]
                },
                x,
                1e-3,
            );
            assert!(
                (y.gradient[0].gradient[0] - second).abs() < 1e-9,
                "{count} {x}"
            );
        }
    }
}

#[test]
fn chebyshev_series_of_known_polynomials() {
    // T_3(x) = 4 x^3 - 3 x over -1..1, and the same on 2..6 where x = (t - 4) / 2
    let t3 = [0.0, 0.0, 0.0, 1.0];
    for x in [-1.0, -0.3, 0.0, 0.8, 1.0] {
        let expected = 4.0 * x * x * x - 3.0 * x;
        assert!((chebyshev(&t3, [-1.0, 1.0], x) - expected).abs() < 1e-15);
        assert!((chebyshev(&t3, [2.0, 6.0], 4.0 + 2.0 * x) - expected).abs() < 1e-14);
    }
}
