//! Elementary functions: error against arbitrary precision, edges, bits.

use super::elementary_functions::value;
use crate::support::tables::against;
use crate::support::{json, number};
use flowdoubt::scalar::{Dual, Scalar};

/// Whether two doubles are the same or neighbours. Against a correctly rounded value an error
/// below 1 ulp leaves no others.
fn neighbours(a: f64, b: f64) -> bool {
    a == b || a.next_up() == b || a.next_down() == b
}

/// Values of mpmath, tests/golden/elementary.json. The generator measures the largest error at
/// 100 000 arguments each.
#[test]
fn errors_are_below_one_unit_in_the_last_place() {
    let mut compared = against(
        "mpmath",
        "ten elementary functions, units in the last place",
    );
    let golden = json("golden/elementary.json");
    let functions = golden.as_object().expect("functions");
    assert_eq!(functions.len(), 10);
    for (function, block) in functions {
        let points = block["points"].as_array().expect("points");
        assert!(points.len() >= 24);
        for point in points {
            let (x, y) = (number(&point["x"]), point["y"].as_f64().unwrap_or(f64::NAN));
            let expected = point["value"].as_f64().unwrap_or(f64::INFINITY);
            let found = value(function, x, y);
            assert!(neighbours(found, expected), "{function} {point}: {found:e}");
            if expected.is_finite() {
                let unit = expected.abs().next_up() - expected.abs();
                compared.within(found, expected, unit, &format!("{function} {point}"));
            }
            let sign_kept = found != 0.0 || found.is_sign_negative() == expected.is_sign_negative();
            assert!(sign_kept, "{function} {point}: {found:e}");
        }
    }
}

/// The pure-Rust port of musl states errors below 1 ulp, so two results are at most 2 ulp apart.
#[test]
fn another_library_agrees_over_the_whole_range() {
    let mut bits = 1_u64;
    for _ in 0..200_000 {
        bits = bits.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let x = f64::from_bits(bits ^ (bits >> 31));
        if x.is_nan() {
            continue;
        }
        let pairs = [
            ("exp", libm::exp(x)),
            ("ln", libm::log(x)),
            ("sin", libm::sin(x)),
            ("cos", libm::cos(x)),
            ("tan", libm::tan(x)),
            ("asin", libm::asin(x)),
            ("atan", libm::atan(x)),
        ];
        for (function, theirs) in pairs {
            let ours = value(function, x, 0.0);
            let near = neighbours(ours, theirs)
                || neighbours(ours.next_up(), theirs)
                || neighbours(ours.next_down(), theirs);
            let same = near || ours.is_nan() && theirs.is_nan();
            assert!(same, "{function}({x:e}) = {ours:e}, {theirs:e}");
        }
    }
}

#[test]
fn edges_are_those_of_ieee_754() {
    let (inf, nan) = (f64::INFINITY, f64::NAN);
    for function in ["exp", "ln", "sin", "cos", "tan", "asin", "atan", "sqrt"] {
        assert!(value(function, nan, 0.0).is_nan(), "{function}");
    }
    for function in ["sin", "cos", "tan", "asin"] {
        assert!(value(function, inf, 0.0).is_nan(), "{function}");
        assert!(value(function, -inf, 0.0).is_nan(), "{function}");
    }
    assert_eq!(Scalar::exp(inf), inf);
    assert_eq!(Scalar::exp(-inf), 0.0);
    assert_eq!(Scalar::exp(709.79), inf);
    assert_eq!(Scalar::ln(inf), inf);
    assert_eq!(Scalar::ln(0.0), -inf);
    assert_eq!(Scalar::ln(-0.0), -inf);
    assert!(Scalar::ln(-1.0).is_nan() && Scalar::ln(-inf).is_nan());
    assert!(Scalar::asin(1.0_f64.next_up()).is_nan());
    assert_eq!(Scalar::atan(inf), std::f64::consts::FRAC_PI_2);
    assert_eq!(Scalar::atan(-inf), -std::f64::consts::FRAC_PI_2);
    for (x, y, expected) in [
        (0.0, 2.0, 0.0),
        (0.0, -2.0, inf),
        (inf, 0.5, inf),
        (inf, -0.5, 0.0),
        (2.0, inf, inf),
        (2.0, -inf, 0.0),
        (0.5, inf, 0.0),
        (1.0, inf, 1.0),
        (7.0, 0.0, 1.0),
        (nan, 0.0, 1.0),
        (1e300, 2.0, inf),
        (1e-300, 2.0, 0.0),
    ] {
        assert_eq!(Scalar::powf(x, y), expected, "{x} to the {y}");
    }
    assert!(Scalar::powf(-2.0, 0.5).is_nan());
    assert!(Scalar::powf(nan, 2.0).is_nan() && Scalar::powf(2.0, nan).is_nan());
}

/// A dual carries the value of `f64` to the last bit, and slopes agree with differences.
#[test]
fn powers_and_tangents_have_exact_derivatives() {
    let dual = |v: f64, i: usize| Dual::<f64, 2>::variable(v, i);
    for (x, y) in [(1.7, 2.3), (0.2, -1.4), (31.0, 0.5)] {
        let power = dual(x, 0).powf(dual(y, 1));
        assert_eq!(power.value, Scalar::powf(x, y));
        let slopes = [
            crate::support::slope(|x| Scalar::powf(x, y), x, 1e-3 * x),
            crate::support::slope(|y| Scalar::powf(x, y), y, 1e-3),
        ];
        for (found, expected) in power.gradient.into_iter().zip(slopes) {
            assert!((found / expected - 1.0).abs() < 1e-9, "{x} {y}");
        }
    }
    let tangent = dual(1.1, 0).tan();
    assert_eq!(tangent.value, Scalar::tan(1.1));
    let slope = crate::support::slope(Scalar::tan, 1.1, 1e-3);
    assert!((tangent.gradient[0] / slope - 1.0).abs() < 1e-9);
}
