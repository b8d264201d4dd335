//! Straight lines: certified values, exact arithmetic, independent minimisation, bad input.

use crate::published::column;
use crate::support::tables::{Comparison, against};
use crate::support::{assert_relative, json, number};
use flowdoubt::Result;
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::normal_quantile;
use flowdoubt::uncertainty::StraightLine;
use serde_json::Value;

fn golden(name: &str) -> Value {
    json("golden/inference.json")["lines"][name].clone()
}

fn matrix(value: &Value) -> Vec<Vec<f64>> {
    value.as_array().expect("rows").iter().map(column).collect()
}

#[track_caller]
fn meets(compared: &mut Comparison, line: &StraightLine, expected: &Value, tolerance: f64) {
    for (found, key) in [
        (line.intercept(), "intercept"),
        (line.slope(), "slope"),
        (line.intercept_uncertainty(), "u_intercept"),
        (line.slope_uncertainty(), "u_slope"),
    ] {
        compared.relative(found, number(&expected[key]), tolerance, key);
    }
}

#[test]
fn norris_of_nist_to_twelve_digits() {
    let mut compared = against(
        "NIST StRD, Norris (from memory)",
        "straight line, ordinary least squares",
    );
    let norris = &json("published/regression.json")["norris"];
    let line = StraightLine::ordinary(&column(&norris["x"]), &column(&norris["y"]));
    let line = line.expect("line");
    meets(&mut compared, &line, &norris["certified"], 1e-12);
    let s = number(&norris["certified"]["residual_deviation"]);
    compared.relative(line.residual_deviation(), s, 1e-13, "residual deviation");
    assert_eq!(line.dof, 34.0);
    assert!(line.p_value().is_none());
}

#[test]
fn ordinary_lines_meet_rational_arithmetic() {
    let mut compared = against(
        "rational arithmetic",
        "straight line, ordinary least squares",
    );
    for (name, tolerance) in [("ordinary", 1e-13), ("steep", 1e-9)] {
        let expected = golden(name);
        let (x, y) = (column(&expected["x"]), column(&expected["y"]));
        let line = StraightLine::ordinary(&x, &y).expect("line");
        meets(&mut compared, &line, &expected, tolerance);
    }
}

#[test]
fn weights_that_are_equal_change_the_uncertainty_only() {
    let expected = golden("ordinary");
    let (x, y) = (column(&expected["x"]), column(&expected["y"]));
    let ordinary = StraightLine::ordinary(&x, &y).expect("line");
    let s = ordinary.residual_deviation();
    let weighted = StraightLine::weighted(&x, &y, &vec![s; x.len()]).expect("line");
    assert_relative(weighted.slope(), ordinary.slope(), 1e-14, "slope");
    let (a, b) = (weighted.slope_uncertainty(), ordinary.slope_uncertainty());
    assert_relative(a, b, 1e-13, "u(slope)");
    // chi-squared is then its own expectation, the degrees of freedom
    assert_relative(
        weighted.chi_squared.expect("chi squared"),
        4.0,
        1e-12,
        "chi squared",
    );
    assert_relative(
        weighted.p_value().expect("p"),
        0.406_005_849_709_838_1,
        1e-12,
        "p: 3 exp(-2)",
    );
}

#[test]
fn pearson_and_york_have_the_published_line() {
    let mut compared = against(
        "D. York 1966, data of K. Pearson 1901 (from memory)",
        "straight line, uncertainty in both coordinates",
    );
    let york = &json("published/regression.json")["york"];
    let (x, y) = (column(&york["x"]), column(&york["y"]));
    let u = |key: &str| -> Vec<f64> {
        let weights = column(&york[key]);
        weights.iter().map(|w| 1.0 / w.sqrt()).collect()
    };
    let line = StraightLine::with_uncertainties(&x, &u("weight_x"), &y, &u("weight_y"));
    let line = line.expect("line");
    let published = &york["published"];
    let printed = |key: &str| number(&published[key]);
    compared.printed(line.intercept(), printed("intercept"), 1e-8, "intercept");
    compared.printed(line.slope(), printed("slope"), 1e-9, "slope");
}

#[test]
fn uncertainty_in_both_coordinates_meets_a_direct_minimisation() {
    let mut compared = against(
        "direct minimisation by scipy",
        "straight line, covariance of all coordinates",
    );
    // the golden minimum is flat: half of the digits for the parameters
    for name in ["both", "shared"] {
        let expected = golden(name);
        let (x, y) = (column(&expected["x"]), column(&expected["y"]));
        let rows = matrix(&expected["covariance"]);
        let line = StraightLine::generalized(&x, &y, &rows).expect("line");
        meets(&mut compared, &line, &expected, 2e-7);
        let chi_squared = number(&expected["chi_squared"]);
        compared.relative(
            line.chi_squared.expect("chi squared"),
            chi_squared,
            1e-11,
            name,
        );
        let covariance = number(&expected["covariance_of_parameters"]);
        compared.relative(line.parameter_covariance(), covariance, 2e-7, name);
        if name == "both" {
            let diagonal = |from: usize| -> Vec<f64> {
                (from..from + x.len()).map(|i| rows[i][i].sqrt()).collect()
            };
            let (u_x, u_y) = (diagonal(0), diagonal(x.len()));
            let same = StraightLine::with_uncertainties(&x, &u_x, &y, &u_y).expect("line");
            assert_relative(same.slope(), line.slope(), 1e-13, "slope");
        }
    }
}

#[test]
fn exact_x_gives_the_weighted_line() {
    let mut compared = against("direct minimisation by scipy", "straight line, weighted");
    let expected = golden("almost_exact_x");
    let (x, y) = (column(&expected["x"]), column(&expected["y"]));
    let rows = matrix(&expected["covariance"]);
    let u_y: Vec<f64> = (0..x.len())
        .map(|i| rows[x.len() + i][x.len() + i].sqrt())
        .collect();
    let weighted = StraightLine::weighted(&x, &y, &u_y).expect("line");
    let exact = StraightLine::with_uncertainties(&x, &vec![0.0; x.len()], &y, &u_y).expect("line");
    assert_relative(exact.intercept(), weighted.intercept(), 1e-12, "intercept");
    assert_relative(exact.slope(), weighted.slope(), 1e-13, "slope");
    let (a, b) = (
        exact.intercept_uncertainty(),
        weighted.intercept_uncertainty(),
    );
    assert_relative(a, b, 1e-12, "u(intercept)");
    let (a, b) = (exact.predict(9.0), weighted.predict(9.0));
    assert_relative(
        a.standard_uncertainty,
        b.standard_uncertainty,
        1e-12,
        "prediction",
    );
    meets(&mut compared, &weighted, &expected, 1e-6);
}

#[test]
fn predictions_invert_and_carry_their_uncertainty() {
    let expected = golden("ordinary");
    let (x, y) = (column(&expected["x"]), column(&expected["y"]));
    let line = StraightLine::ordinary(&x, &y).expect("line");
    let forward = line.predict(3.3);
    let back = line.solve(forward.value, 0.0).expect("inverse");
    assert_relative(back.value, 3.3, 1e-14, "inverse");
    let expected = forward.standard_uncertainty / line.slope();
    assert_relative(
        back.standard_uncertainty,
        expected,
        1e-13,
        "u of the inverse",
    );
    // by the parameters: u^2 = u_a^2 + 2 x u_ab + x^2 u_b^2
    let (ua, ub) = (line.intercept_uncertainty(), line.slope_uncertainty());
    let c = line.parameter_correlation() * ua * ub;
    let variance = ua * ua + 2.0 * 3.3 * c + 3.3 * 3.3 * ub * ub;
    assert_relative(forward.standard_uncertainty, variance.sqrt(), 1e-12, "u");
    let uncertain = line.predict_at_uncertain(3.3, 0.1);
    let expected = libm::hypot(forward.standard_uncertainty, 0.1 * line.slope());
    assert_relative(
        uncertain.standard_uncertainty,
        expected,
        1e-14,
        "u with u(x)",
    );
    assert_eq!(uncertain.value, forward.value);
    let flat = StraightLine::ordinary(&[1.0, 2.0, 3.0], &[1.0, 1.0, 1.0]).expect("flat");
    assert!(flat.solve(1.0, 0.0).is_err());
}

#[test]
fn the_stated_covariance_is_that_of_repeated_fits() {
    // 2000 simulated sets of points: variances of the parameters within 5 standard errors
    // (relative 1/sqrt(1000)), and mean chi-squared is the number of degrees of freedom
    let truth = |x: f64| 0.5 + 2.0 * x;
    let (u_x, u_y) = ([0.05; 6], [0.1, 0.05, 0.1, 0.2, 0.1, 0.1]);
    let mut stream = Stream::new(9, "points");
    let mut normal = || normal_quantile(stream.next_uniform());
    let (mut slopes, mut stated, mut chi) = (Vec::new(), 0.0, 0.0);
    for _ in 0..2000 {
        let x: Vec<f64> = (0..6).map(|i| f64::from(i) + 0.05 * normal()).collect();
        let y: Vec<f64> = (0..6_u8)
            .map(|i| truth(f64::from(i)) + u_y[usize::from(i)] * normal())
            .collect();
        let line = StraightLine::with_uncertainties(&x, &u_x, &y, &u_y).expect("line");
        slopes.push(line.slope());
        stated += line.slope_uncertainty() * line.slope_uncertainty() / 2000.0;
        chi += line.chi_squared.expect("chi squared") / 2000.0;
    }
    let mean = slopes.iter().sum::<f64>() / 2000.0;
    let variance = slopes.iter().map(|s| (s - mean) * (s - mean)).sum::<f64>() / 1999.0;
    assert!(
        (variance / stated - 1.0).abs() < 0.16,
        "{}",
        variance / stated
    );
    assert!((mean - 2.0).abs() < 5.0 * (stated / 2000.0).sqrt());
    // the variance of chi-squared with 4 degrees of freedom is 8
    assert!((chi - 4.0).abs() < 5.0 * (8.0_f64 / 2000.0).sqrt(), "{chi}");
}

#[test]
fn points_that_are_no_line_are_refused() {
    let code = |line: Result<StraightLine>| line.expect_err("refused").to_string();
    let (x, y) = ([1.0, 2.0, 3.0], [1.0, 2.0, 3.5]);
    assert!(code(StraightLine::ordinary(&x[..2], &y[..2])).contains("three points"));
    assert!(code(StraightLine::ordinary(&x, &y[..2])).contains("one a point"));
    assert!(code(StraightLine::ordinary(&[2.0; 3], &y)).contains("two different x"));
    assert!(code(StraightLine::ordinary(&x, &[1.0, f64::NAN, 2.0])).contains("y[1]"));
    assert!(code(StraightLine::weighted(&x, &y, &[0.1, 0.0, 0.1])).contains("u_y[1]"));
    assert!(code(StraightLine::weighted(&x, &y, &[0.1])).contains("u_y"));
    let negative = StraightLine::with_uncertainties(&x, &[-0.1; 3], &y, &[0.1; 3]);
    assert!(code(negative).contains("u_x[0]"));
    let none = vec![vec![0.0; 6]; 6];
    assert!(code(StraightLine::generalized(&x, &y, &none)).contains("without uncertainty"));
    assert!(code(StraightLine::generalized(&x, &y, &none[..5])).contains("6 rows of 6"));
    let mut crooked = none;
    crooked[2][1] = 0.1;
    assert!(code(StraightLine::generalized(&x, &y, &crooked)).contains("symmetric"));
}

#[test]
fn a_line_knows_where_it_was_calibrated() {
    let (x, y) = ([3.0, -1.0, 7.0, 2.0], [1.0, 0.1, 2.2, 0.8]);
    let line = StraightLine::ordinary(&x, &y).expect("line");
    assert_eq!(line.range(), (-1.0, 7.0));
    let both = StraightLine::with_uncertainties(&x, &[0.1; 4], &y, &[0.1; 4]).expect("line");
    assert_eq!(both.range(), (-1.0, 7.0));
    let [[aa, ab], [ba, bb]] = line.parameter_covariance_matrix();
    assert_eq!((ab, ba), (line.parameter_covariance(), ab));
    assert_relative(aa.sqrt(), line.intercept_uncertainty(), 1e-15, "intercept");
    assert_relative(bb.sqrt(), line.slope_uncertainty(), 1e-15, "slope");
    for (y, u) in [(f64::NAN, 0.1), (1.0, -0.1), (1.0, f64::INFINITY)] {
        assert!(line.solve(y, u).is_err(), "{y}, {u}");
    }
}

#[test]
fn covariances_that_no_errors_can_have_are_refused() {
    let (x, y) = ([1.0, 2.0, 3.0, 4.0], [1.1, 1.9, 3.2, 3.9]);
    let fit = |change: &dyn Fn(&mut Vec<Vec<f64>>)| {
        let row = |i: usize| (0..8).map(|j| f64::from(i == j)).collect();
        let mut covariance: Vec<Vec<f64>> = (0..8).map(row).collect();
        change(&mut covariance);
        StraightLine::generalized(&x, &y, &covariance)
    };
    assert!(fit(&|_| ()).is_ok());
    let set = |i: usize, j: usize, value: f64| {
        move |c: &mut Vec<Vec<f64>>| (c[i][j], c[j][i]) = (value, value)
    };
    for (change, words) in [
        (set(0, 0, -0.1), "variance, 0 or above"),
        (set(2, 1, 1.5), "at most 1"),
        (set(3, 3, f64::NAN), "finite"),
    ] {
        let error = fit(&change).expect_err(words);
        assert!(error.to_string().contains(words), "{error}");
    }
    // an exact abscissa cannot vary with anything
    let error = fit(&|c| {
        c[0][0] = 0.0;
        set(1, 0, 0.5)(c);
    });
    assert!(error.is_err());
    // every pair is possible, the three together are not
    let error = fit(&|c| {
        set(1, 0, 0.9)(c);
        set(2, 1, 0.9)(c);
        set(2, 0, -0.9)(c);
    });
    let error = error.expect_err("indefinite");
    assert!(error.to_string().contains("semi-definite"), "{error}");
}
