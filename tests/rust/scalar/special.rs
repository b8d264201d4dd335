//! Special functions against arbitrary-precision values (tests/golden/special_functions.json).

use crate::support::tables::against;
use crate::support::{assert_relative, json, number};
use flowdoubt::scalar::Scalar;
use flowdoubt::scalar::special::{
    StudentT, chi_squared_quantile, chi_squared_upper_tail, fisher_quantile, fisher_upper_tail,
    integrate, normal_cdf, normal_quantile,
};
use serde_json::Value;

fn points(block: &str) -> Vec<Value> {
    json("golden/special_functions.json")[block]["points"]
        .as_array()
        .expect("points")
        .clone()
}

#[test]
fn normal_quantile_meets_mpmath() {
    let mut compared = against(
        "mpmath, 50 digits and more",
        "quantile of the normal distribution",
    );
    for point in points("normal_quantile") {
        let p = number(&point["p"]);
        let x = normal_quantile(p);
        if p == 0.5 {
            assert_eq!(x, 0.0);
        } else {
            compared.relative(x, number(&point["x"]), 1e-15, &format!("p = {p:e}"));
        }
    }
}

#[test]
fn normal_cdf_meets_mpmath() {
    let mut compared = against(
        "mpmath, 50 digits and more",
        "distribution function of the normal distribution",
    );
    for point in points("normal_cdf") {
        let x = number(&point["x"]);
        // the argument's rounding is amplified by x^2 in the far tail
        let tolerance = 1e-15 * (2.0 + x * x);
        compared.relative(
            normal_cdf(x),
            number(&point["p"]),
            tolerance,
            &format!("x = {x}"),
        );
    }
}

#[test]
fn student_quantile_meets_mpmath() {
    let mut compared = against(
        "mpmath, 50 digits and more",
        "quantile of Student's t distribution",
    );
    for point in points("student_quantile") {
        let (p, dof, t) = (
            number(&point["p"]),
            number(&point["dof"]),
            number(&point["t"]),
        );
        let found = StudentT::new(dof).quantile(p);
        // next to the median the tail probability itself has lost the digits
        let tolerance = if (p - 0.5).abs() < 1e-6 { 1e-6 } else { 1e-12 };
        compared.relative(found, t, tolerance, &format!("p = {p}, dof = {dof}"));
    }
}

#[test]
fn student_cdf_meets_mpmath() {
    let mut compared = against(
        "mpmath, 50 digits and more",
        "distribution function of Student's t distribution",
    );
    for point in points("student_cdf") {
        let (t, dof) = (number(&point["t"]), number(&point["dof"]));
        let found = StudentT::new(dof).cdf(t);
        let tolerance = 1e-12_f64.max(1e-16 * dof);
        compared.relative(
            found,
            number(&point["p"]),
            tolerance,
            &format!("t = {t}, dof = {dof}"),
        );
    }
}

#[test]
fn student_density_is_the_slope_of_its_distribution_function() {
    for dof in [0.7, 3.0, 16.7, 250.0, 5e4] {
        let t = StudentT::new(dof);
        for x in [-3.0, -0.4, 0.9, 2.5] {
            let h = 1e-4;
            let slope = (t.cdf(x + h) - t.cdf(x - h)) / (2.0 * h);
            assert_relative(t.density(x), slope, 1e-7, &format!("x = {x}, dof = {dof}"));
        }
    }
}

#[test]
fn quantiles_outside_the_unit_interval_are_nan() {
    for p in [0.0, 1.0, -0.1, 1.1, f64::NAN] {
        assert!(normal_quantile(p).is_nan() || normal_quantile(p).is_infinite());
        assert!(StudentT::new(5.0).quantile(p).is_nan());
    }
}

fn statistics(block: &str) -> Vec<Value> {
    let golden = json("golden/inference.json");
    golden[block].as_array().expect("points").clone()
}

#[test]
fn chi_squared_and_fisher_meet_scipy() {
    let mut compared = against("scipy", "chi-square and F distribution");
    let mut relative = |found: f64, expected: &Value, what: &Value| {
        compared.relative(found, number(expected), 1e-10, &what.to_string());
    };
    for point in statistics("chi_squared_upper_tail") {
        let found = chi_squared_upper_tail(number(&point["x"]), number(&point["dof"]));
        relative(found, &point["p"], &point);
    }
    for point in statistics("chi_squared_quantile") {
        let found = chi_squared_quantile(number(&point["p"]), number(&point["dof"]));
        relative(found, &point["x"], &point);
    }
    for point in statistics("fisher_upper_tail") {
        let (n1, n2) = (number(&point["n1"]), number(&point["n2"]));
        relative(
            fisher_upper_tail(number(&point["f"]), n1, n2),
            &point["p"],
            &point,
        );
    }
    for point in statistics("fisher_quantile") {
        let (n1, n2) = (number(&point["n1"]), number(&point["n2"]));
        relative(
            fisher_quantile(number(&point["p"]), n1, n2),
            &point["f"],
            &point,
        );
    }
}

#[test]
fn quadrature_is_exact_for_polynomials_and_honest_at_a_singular_end() {
    // Gauss-Kronrod with 15 points is exact to degree 22
    let polynomial = integrate(|x| Scalar::powi(x, 22), 0.0, 1.0, 1e-14);
    assert_relative(polynomial.value, 1.0 / 23.0, 1e-14, "degree 22");
    let root = integrate(|x| 1.0 / x.sqrt(), 0.0, 1.0, 1e-9);
    assert!((root.value - 2.0).abs() <= root.error.max(1e-9), "{root:?}");
}
