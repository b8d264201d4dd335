//! Means of results that differ by more than their uncertainties say: published and golden values,
//! limits, and the coverage of the interval by simulation.

use crate::published::{TIN, column};
use crate::support::tables::against;
use crate::support::{assert_printed, assert_refused, assert_relative, json, number};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::{StudentT, normal_quantile};
use flowdoubt::uncertainty::{BetweenSets, RandomEffects, WeightedMean};

fn of(x: &[f64], u: &[f64], method: BetweenSets) -> RandomEffects {
    RandomEffects::of(x, u, method).expect("mean")
}

/// Thirteen trials of a vaccine: logarithm of the risk ratio and its standard uncertainty from the
/// counts of each.
fn vaccine() -> (Vec<f64>, Vec<f64>) {
    let published = &json("published/random_effects.json")["vaccine"];
    let rows = published["counts"].as_array().expect("rows");
    let each = rows.iter().map(|row| {
        let n = column(row);
        let (with, without) = (n[0] + n[1], n[2] + n[3]);
        let ratio = libm::log(n[0] / with / (n[2] / without));
        (
            ratio,
            (1.0 / n[0] - 1.0 / with + 1.0 / n[2] - 1.0 / without).sqrt(),
        )
    });
    each.unzip()
}

#[test]
fn the_trials_of_a_vaccine_as_published() {
    let mut compared = against(
        "G. A. Colditz and others 1994, as printed by Stata",
        "random effects, thirteen trials of a vaccine",
    );
    let published = &json("published/random_effects.json")["vaccine"];
    let printed = |key: &str| number(&published[key]);
    let (x, u) = vaccine();
    let same = WeightedMean::whether_or_not_they_agree(&x, &u).expect("mean");
    compared.printed(same.mean, printed("common_mean"), 1e-4, "common effect");
    compared.printed(same.chi_squared, printed("chi_squared"), 1e-4, "Q");
    let found = of(&x, &u, BetweenSets::DerSimonianLaird);
    let variance = found.between_sets * found.between_sets;
    compared.printed(
        variance,
        printed("tau_squared_dersimonian_laird"),
        1e-4,
        "tau^2",
    );
    compared.printed(found.mean, printed("mean_dersimonian_laird"), 1e-4, "mean");
    let half = normal_quantile(0.975) * found.standard_uncertainty_for_known_between_sets;
    compared.printed(found.mean - half, printed("low"), 1e-4, "low");
    compared.printed(found.mean + half, printed("high"), 1e-4, "high");
    let found = of(&x, &u, BetweenSets::MandelPaule);
    let variance = found.between_sets * found.between_sets;
    compared.printed(variance, printed("tau_squared_mandel_paule"), 1e-4, "tau^2");
}

#[test]
fn golden_values_of_all_estimators() {
    let mut compared = against(
        "numpy and scipy; package `statsmodels`",
        "random effects, all estimators",
    );
    for case in json("golden/inference.json")["random_effects"]
        .as_array()
        .expect("cases")
    {
        let (x, u) = (
            column(&case["results"]),
            column(&case["standard_uncertainties"]),
        );
        for method in BetweenSets::ALL {
            let found = of(&x, &u, method);
            let golden = &case[method.name()];
            for (value, key) in [
                (found.mean, "mean"),
                (found.between_sets, "between_sets"),
                (found.standard_uncertainty, "standard_uncertainty"),
                (found.standard_uncertainty_for_known_between_sets, "known"),
            ] {
                let what = format!("{}: {key}", method.name());
                compared.relative(value, number(&golden[key]), 1e-10, &what);
            }
        }
    }
}

#[test]
fn results_that_disagree_have_no_mean_by_weights_alone() {
    let (x, u) = TIN;
    let error = WeightedMean::of(&x, &u, 0.05).expect_err("they disagree");
    assert_eq!(error.code(), "disagree");
    assert!(error.to_string().contains("random effects"), "{error}");
    // what was given before: the mean of the result that claims most
    let unseen = WeightedMean::of(&x, &u, 0.0).expect("nothing is refused");
    assert_printed(unseen.mean, 10.000_38, 1e-5, "mean");
    let enlarged = unseen.standard_uncertainty * unseen.birge_ratio;
    assert_printed(enlarged, 0.0026, 1e-4, "enlarged");
    let found = of(&x, &u, BetweenSets::MandelPaule);
    assert!(found.standard_uncertainty > 4.0 * enlarged, "{found:?}");
}

#[test]
fn with_two_sets_all_scatter_is_between_them() {
    // by hand: tau^2 = (d^2 - u_1^2 - u_2^2) / 2 for both estimators
    let (x, u) = ([1.0, 3.0], [0.3, 0.5]);
    let expected = ((4.0_f64 - 0.09 - 0.25) / 2.0).sqrt();
    for method in [BetweenSets::MandelPaule, BetweenSets::DerSimonianLaird] {
        assert_relative(
            of(&x, &u, method).between_sets,
            expected,
            1e-12,
            method.name(),
        );
    }
    let equal = of(&x, &u, BetweenSets::EqualWeights);
    assert_eq!((equal.mean, equal.standard_uncertainty), (2.0, 1.0));
    assert_relative(
        equal.between_sets,
        (2.0_f64 - 0.17).sqrt(),
        1e-12,
        "by hand",
    );
}

#[test]
fn results_that_agree_have_no_effect_of_the_sets() {
    let (x, u) = ([10.0, 10.01, 9.99], [0.1, 0.2, 0.1]);
    let same = WeightedMean::of(&x, &u, 0.05).expect("they agree");
    for method in [BetweenSets::MandelPaule, BetweenSets::DerSimonianLaird] {
        let found = of(&x, &u, method);
        assert_eq!(found.between_sets, 0.0);
        assert_relative(found.mean, same.mean, 1e-15, "mean");
        assert_relative(
            found.standard_uncertainty,
            same.standard_uncertainty,
            1e-15,
            "u",
        );
    }
}

#[test]
fn bad_input_is_refused() {
    let refused = |x: &[f64], u: &[f64]| RandomEffects::of(x, u, BetweenSets::default());
    assert_refused(
        refused(&[1.0], &[0.1]),
        "length",
        &["results", "two results or more"],
    );
    assert_refused(
        refused(&[1.0, 2.0], &[0.1]),
        "length",
        &["standard_uncertainties"],
    );
    assert_refused(refused(&[1.0, 2.0], &[0.1, 0.0]), "out-of-range", &["[1]"]);
    assert_refused(
        refused(&[1.0, f64::NAN], &[0.1, 0.1]),
        "out-of-range",
        &["results[1]"],
    );
    let unknown = "mandel".parse::<BetweenSets>();
    assert_refused(unknown, "unknown-name", &["mandel-paule", "equal-weights"]);
    assert_refused(
        WeightedMean::of(&[1.0, 2.0], &[1.0, 1.0], 1.0),
        "out-of-range",
        &["significance"],
    );
}

/// Trials of a simulation of coverage: the standard error of a share near 0.95 is 0.0015.
const TRIALS: usize = 20_000;
/// The coverage that the documentation states, less two standard errors.
const LEAST: f64 = 0.945 - 2.0 * 0.0015;

/// The shares of trials in which the intervals for 95 % hold the true mean: by Student's t as it is
/// here, and by the normal distribution as if the scatter between sets were known.
fn coverage(u: &[f64], between: f64, method: BetweenSets) -> (f64, f64) {
    let mut stream = Stream::new(7, "sets");
    let mut normal = || normal_quantile(stream.next_uniform());
    let t = StudentT::new((u.len() - 1) as f64).quantile(0.975);
    let z = normal_quantile(0.975);
    let (mut by_t, mut by_z) = (0, 0);
    for _ in 0..TRIALS {
        let x: Vec<f64> = u
            .iter()
            .map(|u| between * normal() + u * normal())
            .collect();
        let found = of(&x, u, method);
        by_t += usize::from(found.mean.abs() <= t * found.standard_uncertainty);
        let known = found.standard_uncertainty_for_known_between_sets;
        by_z += usize::from(found.mean.abs() <= z * known);
    }
    (by_t as f64 / TRIALS as f64, by_z as f64 / TRIALS as f64)
}

#[test]
fn the_interval_covers_from_three_sets_on() {
    let weighted = [BetweenSets::MandelPaule, BetweenSets::DerSimonianLaird];
    let alike: [&[f64]; 5] = [
        &[1.0, 1.0, 1.0],
        &[0.5, 1.0, 1.0],
        &[0.34, 1.0, 1.0],
        &[0.5, 0.7, 1.0, 1.0],
        &[0.5, 0.6, 0.7, 0.8, 1.0, 1.0, 1.5],
    ];
    let mut least_by_normal = 1.0_f64;
    for u in alike {
        for between in [0.0, 0.5, 1.0, 2.0, 5.0] {
            for method in weighted {
                let (by_t, by_z) = coverage(u, between, method);
                assert!(by_t > LEAST, "{u:?}, {between}, {}: {by_t}", method.name());
                if u.len() == 3 {
                    least_by_normal = least_by_normal.min(by_z);
                }
            }
        }
    }
    // what Student's t is for
    assert!((0.77..0.85).contains(&least_by_normal), "{least_by_normal}");
}

#[test]
fn equal_weights_cover_whatever_the_uncertainties() {
    for u in [
        &[0.1, 1.0, 1.0][..],
        &[0.1, 0.1, 2.0],
        &[0.1, 0.3, 1.0, 1.0, 3.0],
    ] {
        for between in [0.0, 0.5, 1.0, 3.0] {
            let (by_t, _) = coverage(u, between, BetweenSets::EqualWeights);
            assert!(by_t > LEAST, "{u:?}, {between}: {by_t}");
        }
    }
    // the limit that the documentation states for weights
    let (by_t, _) = coverage(&[0.1, 1.0, 1.0], 0.7, BetweenSets::MandelPaule);
    assert!((0.79..0.84).contains(&by_t), "{by_t}");
}
