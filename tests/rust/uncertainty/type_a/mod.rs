//! Statistics of readings: certified and golden values, exact formulas, simulation, bad input.

mod autocorrelated;
mod random_effects;

use crate::published::column;
use crate::support::tables::against;
use crate::support::{assert_relative, json, number};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::Scalar;
use flowdoubt::scalar::special::normal_quantile;
use flowdoubt::uncertainty::{
    OneWay, OutlierTest, Pooled, TypeA, WeightedMean, grubbs_critical_value, variance_inflation,
};

/// NIST StRD univariate sets NumAcc1 to NumAcc4: definition from memory, exact by construction.
#[test]
fn means_and_deviations_of_the_numacc_sets() {
    let a = TypeA::of(&[10_000_001.0, 10_000_003.0, 10_000_002.0], "x").expect("NumAcc1");
    assert_eq!((a.mean, a.standard_deviation), (10_000_002.0, 1.0));
    // digits lost to storing decimals as doubles: one part in 1e8 of the deviations at 1e7
    for (base, tolerance) in [(0.0, 1e-14), (1e6, 1e-9), (1e7, 1e-8)] {
        let mut readings = vec![base + 1.2_f64 - if base > 0.0 { 1.0 } else { 0.0 }];
        let middle = readings[0];
        for _ in 0..500 {
            readings.push(middle - 0.1);
            readings.push(middle + 0.1);
        }
        let a = TypeA::of(&readings, "x").expect("set");
        assert_eq!(a.count, 1001);
        assert_relative(a.mean, middle, 1e-15, "mean");
        assert_relative(a.standard_deviation, 0.1, tolerance, "standard deviation");
    }
}

#[test]
fn pooled_deviation_weighs_by_degrees_of_freedom() {
    let series = [[1.0, 3.0].as_slice(), &[5.0, 5.0, 8.0]].map(|r| TypeA::of(r, "x").expect("a"));
    let pooled = Pooled::of(&series).expect("pooled");
    // sums of squares 2 and 6 with 1 and 2 degrees of freedom
    assert_eq!(pooled.dof, 3.0);
    assert_relative(
        pooled.standard_deviation,
        (8.0_f64 / 3.0).sqrt(),
        1e-15,
        "s_p",
    );
    assert_relative(
        pooled.of_mean(4).expect("u"),
        (2.0_f64 / 3.0).sqrt(),
        1e-15,
        "u",
    );
    assert!(pooled.of_mean(0).is_err() && Pooled::of(&[]).is_err());
}

#[test]
fn stated_statistics_serve_like_readings() {
    let readings = TypeA::of(&[1.0, 2.0, 6.0], "x").expect("readings");
    let s = 7.0_f64.sqrt();
    assert_eq!(TypeA::from_statistics(3, 3.0, s, "x"), Ok(readings));
    for (count, mean, s, place) in [
        (1, 3.0, 1.0, "x.count"),
        (3, f64::NAN, 1.0, "x.mean"),
        (3, 3.0, -1.0, "x.standard_deviation"),
        (3, 3.0, f64::INFINITY, "x.standard_deviation"),
    ] {
        let error = TypeA::from_statistics(count, mean, s, "x").expect_err("refused");
        assert_eq!(error.context().field.as_deref(), Some(place));
    }
}

#[test]
fn variance_of_an_autoregressive_mean_is_exact() {
    for (n, phi) in [(5, 0.5), (40, 0.9), (300, -0.4), (7, 0.0)] {
        let count = n as f64;
        // closed form of the sum: textbook, checked for n = 2 by hand: 1 + phi
        let power = Scalar::powi(phi, n as i32);
        let sum = phi / (1.0 - phi) - phi * (1.0 - power) / (count * (1.0 - phi) * (1.0 - phi));
        let found = variance_inflation(n, n, |k| Scalar::powi(phi, k as i32));
        assert_relative(found, 1.0 + 2.0 * sum, 1e-12, &format!("{n}, {phi}"));
    }
    assert_eq!(variance_inflation(2, 2, |_| 0.5), 1.5);
}

#[test]
fn weighted_mean_meets_exact_sums() {
    let mut compared = against(
        "rational arithmetic and scipy",
        "weighted mean, chi-square test, Birge ratio",
    );
    let golden = &json("golden/inference.json")["weighted"];
    let (x, u) = (
        column(&golden["results"]),
        column(&golden["standard_uncertainties"]),
    );
    let w = WeightedMean::of(&x, &u, 0.05).expect("weighted");
    for (found, key) in [
        (w.mean, "mean"),
        (w.standard_uncertainty, "standard_uncertainty"),
        (w.chi_squared, "chi_squared"),
        (w.p_value, "p_value"),
        (w.birge_ratio, "birge_ratio"),
    ] {
        compared.relative(found, number(&golden[key]), 1e-12, key);
    }
    assert!(w.consistent(0.05) && !w.consistent(0.2));
    // u(d)^2 = u^2 - u(y)^2
    let d = w.difference_uncertainties[3];
    let expected = (0.05 * 0.05 - w.standard_uncertainty * w.standard_uncertainty).sqrt();
    assert_relative(d, expected, 1e-14, "u(d)");
    assert_relative(w.differences[0], 10.02 - w.mean, 1e-12, "d");
    for (x, u) in [
        (vec![1.0], vec![0.1]),
        (vec![1.0, 2.0], vec![0.1]),
        (vec![1.0, 2.0], vec![0.1, 0.0]),
        (vec![1.0, f64::NAN], vec![0.1, 0.1]),
    ] {
        assert!(WeightedMean::of(&x, &u, 0.0).is_err(), "{x:?}, {u:?}");
    }
}

#[test]
fn an_outlier_is_reported_and_kept() {
    let mut compared = against("scipy", "Grubbs' test");
    let golden = &json("golden/inference.json")["grubbs"];
    let readings = column(&golden["readings"]);
    let test = OutlierTest::of(&readings, 0.05, "x").expect("test");
    compared.relative(test.statistic, number(&golden["statistic"]), 1e-12, "G");
    compared.relative(
        test.critical_value,
        number(&golden["critical_value"]),
        1e-11,
        "critical",
    );
    assert_eq!((test.index, test.reading), (5, 10.61));
    assert!(test.stands_out() && test.p_value < 0.05);
    let words = test.in_words();
    assert!(words.contains("Reading 6 (10.61) stands out") && words.contains("It was kept"));
    // the probability and the critical value are two forms of one formula
    let critical = grubbs_critical_value(7, test.p_value).expect("critical");
    assert_relative(critical, test.statistic, 1e-10, "inverse");
    let calm = OutlierTest::of(&readings[..5], 0.05, "x").expect("test");
    assert!(!calm.stands_out() && calm.in_words().starts_with("No reading"));
    assert!(OutlierTest::of(&[1.0, 2.0], 0.05, "x").is_err());
    assert!(OutlierTest::of(&[1.0, 1.0, 1.0], 0.05, "x").is_err());
    assert!(OutlierTest::of(&readings, 0.0, "x").is_err());
    // two readings equal: G is at its largest possible value
    let extreme = OutlierTest::of(&[0.0, 0.0, 0.0, 9.0], 0.05, "x").expect("test");
    assert_relative(extreme.statistic, 1.5, 1e-14, "(n - 1) / sqrt(n)");
    assert!(extreme.p_value < 1e-6);
}

#[test]
fn one_way_analysis_meets_scipy_for_unequal_groups() {
    let mut compared = against("scipy", "analysis of variance, unequal groups");
    let golden = &json("golden/inference.json")["one_way"];
    let groups = golden["groups"].as_array().expect("groups");
    let groups: Vec<Vec<f64>> = groups.iter().map(column).collect();
    let found = OneWay::of(&groups, "placement").expect("analysis");
    compared.relative(found.f, number(&golden["f"]), 1e-12, "F");
    compared.relative(found.p_value, number(&golden["p_value"]), 1e-10, "p");
    assert_eq!((found.between_dof(), found.within_dof()), (2.0, 9.0));
    let error = OneWay::of(&groups[..1], "placement").expect_err("one group");
    assert!(error.to_string().contains("two groups or more"));
    let error = OneWay::of(&[vec![1.0, 2.0], vec![1.0]], "placement").expect_err("one reading");
    assert!(error.to_string().contains("placement[1]"), "{error}");
    let flat = [vec![1.0, 1.0], vec![2.0, 2.0]];
    assert!(OneWay::of(&flat, "placement").is_err());
}

#[test]
fn components_of_variance_are_recovered_from_simulated_placements() {
    // 200 placements with s_B = 2 and 5 readings each with s_W = 1; five standard errors
    let mut stream = Stream::new(3, "placements");
    let mut normal = || normal_quantile(stream.next_uniform());
    let groups: Vec<Vec<f64>> = (0..200)
        .map(|_| {
            let placement = 2.0 * normal();
            (0..5).map(|_| 10.0 + placement + normal()).collect()
        })
        .collect();
    let found = OneWay::of(&groups, "placement").expect("analysis");
    assert!((found.between_component - 2.0).abs() < 0.5, "{found:?}");
    assert!((found.within_deviation - 1.0).abs() < 5.0 / (2.0 * 800.0_f64).sqrt());
    let (u, dof) = found.standard_uncertainty();
    assert_eq!(dof, 199.0);
    assert_relative(u, (4.2_f64 / 200.0).sqrt(), 0.25, "u of the mean");
    // ignoring the effect claims too much
    let (small, dof) = found.standard_uncertainty_without_between_effect();
    assert!(small < 0.6 * u && dof == 999.0);
    assert!(found.p_value < 1e-10);
}
