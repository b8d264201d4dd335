//! Every kind of distribution: against arbitrary-precision values, against itself, and sampled.

use crate::support::tables::against;
use crate::support::{assert_relative, json, number};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::integrate;
use flowdoubt::scalar::{InstructionSet, Scalar};
use flowdoubt::uncertainty::{Distribution, Input};
use serde_json::Value;

fn cases() -> Vec<(Distribution, Value)> {
    let golden = json("golden/distributions.json");
    let list = golden["distributions"].as_array().expect("list").clone();
    let read = |case: Value| {
        let parameters = serde_json::from_value(case["parameters"].clone());
        (parameters.expect("parameters"), case)
    };
    list.into_iter().map(read).collect()
}

/// The kinds without density, which the golden file does not hold.
fn discrete() -> Vec<Distribution> {
    vec![
        Distribution::Fixed { value: 1.25 },
        Distribution::of_sample(&[3.0, 1.0, 1.0, 7.0]).expect("sample"),
    ]
}

#[test]
fn moments_densities_and_probabilities_meet_mpmath() {
    let mut moments = against("mpmath", "mean and variance of every distribution");
    let mut densities = against("mpmath", "density of every distribution");
    let mut functions = against("mpmath", "distribution function of every distribution");
    for (distribution, case) in cases() {
        let what = format!("{distribution:?}");
        moments.relative(
            distribution.mean(),
            number(&case["mean"]),
            1e-13,
            &format!("mean of {what}"),
        );
        moments.relative(
            distribution.variance(),
            number(&case["variance"]),
            1e-12,
            &format!("variance of {what}"),
        );
        for point in case["points"].as_array().expect("points") {
            let x = number(&point["x"]);
            let density = distribution.density(x).expect("density");
            let what = format!("{what} at {x}");
            densities.relative(density, number(&point["density"]), 2e-12, &what);
            functions.relative(distribution.cdf(x), number(&point["cdf"]), 2e-12, &what);
        }
    }
}

#[test]
fn quantile_inverts_the_distribution_function() {
    for (distribution, _) in cases() {
        let sampler = distribution.sampler();
        for p in [1e-10, 1e-4, 0.025, 0.3, 0.5, 0.77, 0.975, 0.9999] {
            let x = sampler.quantile(p);
            assert_eq!(x.to_bits(), distribution.quantile(p).to_bits());
            // x itself is rounded, which a steep distribution function shows; and so is the
            // probability cut off from a truncated one
            let rounding = 4.0 * f64::EPSILON * x.abs();
            let below = distribution.cdf(x - rounding) * (1.0 - 2e-12) - 2e-16;
            let above = distribution.cdf(x + rounding) * (1.0 + 2e-12) + 2e-16;
            assert!(
                (below..=above).contains(&p),
                "{distribution:?}: {below} to {above} and not {p}"
            );
        }
        let deviate = 0.7;
        let p = flowdoubt::scalar::special::normal_cdf(deviate);
        let mut at_deviate = [deviate];
        sampler.from_normal_deviates(InstructionSet::Baseline, &mut at_deviate);
        // Student's t is fitted for blocks, see its own test
        let tolerance = if distribution.name() == "Student's t" {
            1e-9
        } else {
            1e-13
        };
        let name = distribution.name();
        assert_relative(at_deviate[0], sampler.quantile(p), tolerance, name);
    }
}

#[test]
fn density_integrates_to_the_distribution_function() {
    for (distribution, _) in cases() {
        // between quantiles, to stay clear of infinite densities at the limits
        let (from, to) = (distribution.quantile(0.01), distribution.quantile(0.93));
        let f = |x: f64| distribution.density(x).expect("density");
        let integral = integrate(f, from, to, 1e-10);
        let what = format!("{distribution:?}");
        assert!((integral.value - 0.92).abs() < 1e-8, "{what}: {integral:?}");
    }
}

#[test]
fn probability_outside_the_limits_is_none() {
    for (distribution, _) in cases() {
        let (below, above) = (distribution.cdf(-1e300), distribution.cdf(1e300));
        assert!(
            below == 0.0 && above == 1.0,
            "{distribution:?}: {below}, {above}"
        );
        for x in [-1e300, 1e300] {
            assert_eq!(distribution.density(x), Some(0.0), "{distribution:?}");
        }
    }
}

#[test]
fn sampled_mean_and_variance_are_those_of_the_distribution() {
    // Both statistics are within 5 standard errors; the standard error of the variance comes
    // from the fourth moment of the sample. A false alarm has probability below 1e-6 each, about
    // 1e-4 in all; the seed is fixed, so there is either always one or never.
    let count = 40_000_u32;
    for distribution in cases().into_iter().map(|(d, _)| d).chain(discrete()) {
        let mut stream = Stream::new(7, "sampled");
        let sampler = distribution.sampler();
        let draws: Vec<f64> = (0..count)
            .map(|_| sampler.quantile(stream.next_uniform()))
            .collect();
        let n = f64::from(count);
        let (mean, variance) = (distribution.mean(), distribution.variance());
        let sampled = draws.iter().sum::<f64>() / n;
        let moment = |k: i32| draws.iter().map(|x| Scalar::powi(x - mean, k)).sum::<f64>() / n;
        let allowed = 5.0 * (variance / n).sqrt() + 1e-15 * mean.abs();
        assert!((sampled - mean).abs() <= allowed, "{distribution:?}");
        let scatter = ((moment(4) - moment(2) * moment(2)).max(0.0) / n).sqrt();
        let found = moment(2);
        let allowed = 5.0 * scatter + 1e-15 * variance;
        assert!(
            (found - variance).abs() <= allowed,
            "{distribution:?}: variance {found}, {variance}"
        );
    }
}

#[test]
fn json_keeps_every_kind_to_the_bit() {
    let t = Distribution::StudentT {
        location: 0.1,
        scale: 1.0 / 3.0,
        dof: 4.2,
    };
    let all = cases().into_iter().map(|(d, _)| d);
    for distribution in all.chain(discrete()).chain([t]) {
        let text = serde_json::to_string(&distribution).expect("text");
        let back: Distribution = serde_json::from_str(&text).expect("parsed");
        assert_eq!(back, distribution, "{text}");
        assert!(text.contains("\"kind\":\""), "{text}");
    }
    let unknown = r#"{"kind":"normal","mean":0,"standard_deviation":1,"skew":2}"#;
    assert!(serde_json::from_str::<Distribution>(unknown).is_err());
}

#[test]
fn a_sample_is_a_discrete_distribution() {
    let sample = Distribution::of_sample(&[3.0, 1.0, 1.0, 7.0]).expect("sample");
    assert_eq!(sample.mean(), 3.0);
    assert_eq!(sample.variance(), (0.0 + 4.0 + 4.0 + 16.0) / 4.0);
    assert_eq!(
        [0.0, 1.0, 2.9, 3.0, 7.0].map(|x| sample.cdf(x)),
        [0.0, 0.5, 0.5, 0.75, 1.0]
    );
    assert_eq!(
        [0.1, 0.5, 0.51, 0.75, 0.76, 0.999].map(|p| sample.quantile(p)),
        [1.0, 1.0, 3.0, 3.0, 7.0, 7.0]
    );
    assert_eq!(sample.density(1.0), None);
}

#[test]
fn evidence_in_words_gives_the_distribution_of_the_guide() {
    let close = |d: &Distribution, mean: f64, variance: f64| {
        assert_relative(d.mean(), mean, 1e-14, d.name());
        assert_relative(d.variance(), variance, 1e-13, d.name());
    };
    // JCGM 101:2008, 6.4.3.3: (b - a)^2 / 12 + d^2 / 9
    let d = Distribution::inexactly_known_limits(1.0, 3.0, 0.3).expect("limits");
    close(&d, 2.0, 4.0 / 12.0 + 0.01);
    // 6.4.4: the variances of two rectangular quantities add
    let d = Distribution::sum_of_two_within_limits(5.0, 0.6, 0.3).expect("sum");
    close(&d, 5.0, 0.36 / 3.0 + 0.09 / 3.0);
    // 6.4.5: of equal width: triangular, (b - a)^2 / 24
    let d = Distribution::sum_of_two_within_limits(5.0, 0.5, 0.5).expect("sum");
    close(&d, 5.0, 4.0 / 24.0);
    let d = Distribution::non_negative_best_estimate_only(0.4).expect("estimate");
    close(&d, 0.4, 0.16);
    // 6.4.11: mean and variance q + 1
    close(&Distribution::count_of_objects(8), 9.0, 9.0);
    // Laplace's rule of succession: (s + 1) / (n + 2)
    let d = Distribution::share_of_objects(3, 10).expect("share");
    close(&d, 4.0 / 12.0, (4.0 * 8.0) / (144.0 * 13.0));
    let d = Distribution::positive_with_relative_uncertainty(20.0, 0.5).expect("positive");
    close(&d, 20.0, 100.0);
    let d = Distribution::normal_within_limits(0.0, 1.0, Some(0.0), None).expect("truncated");
    // half-normal
    let pi = std::f64::consts::PI;
    close(&d, (2.0 / pi).sqrt(), 1.0 - 2.0 / pi);
}

#[test]
fn an_input_takes_estimate_and_uncertainty_from_its_distribution() {
    let gamma = Distribution::count_of_objects(8);
    let input = Input::with_distribution("count", gamma).expect("input");
    assert_eq!((input.estimate(), input.standard_uncertainty()), (9.0, 3.0));
    assert_eq!(input.dof(), f64::INFINITY);
    let t = Distribution::StudentT {
        location: 1.0,
        scale: 0.5,
        dof: 4.0,
    };
    let input = Input::with_distribution("t", t).expect("input");
    assert_eq!((input.standard_uncertainty(), input.dof()), (0.5, 4.0));
}

#[test]
fn parameters_outside_their_range_are_refused_by_name() {
    let nan = f64::NAN;
    let refused: Vec<(Distribution, &str)> = vec![
        (Distribution::Fixed { value: nan }, "finite"),
        (
            Distribution::Normal {
                mean: 0.0,
                standard_deviation: 0.0,
            },
            "above 0",
        ),
        (
            Distribution::Rectangular {
                lower: 2.0,
                upper: 1.0,
            },
            "above the lower limit 2",
        ),
        (
            Distribution::CurvilinearTrapezoid {
                lower: 0.0,
                upper: 1.0,
                limit_half_width: 0.5,
            },
            "below 0.5",
        ),
        (
            Distribution::Trapezoidal {
                lower: 0.0,
                upper: 1.0,
                top_ratio: 1.0,
            },
            "below 1",
        ),
        (
            Distribution::StudentT {
                location: 0.0,
                scale: 1.0,
                dof: -3.0,
            },
            "degrees of freedom above 0",
        ),
        (Distribution::Exponential { mean: -1.0 }, "above 0"),
        (
            Distribution::Gamma {
                shape: 0.0,
                scale: 1.0,
            },
            "shape above 0",
        ),
        (
            Distribution::Beta {
                alpha: 1.0,
                beta: 0.0,
                lower: 0.0,
                upper: 1.0,
            },
            "beta above 0",
        ),
        (
            Distribution::Lognormal {
                log_mean: 0.0,
                log_standard_deviation: 40.0,
            },
            "finite variance",
        ),
        (
            Distribution::TruncatedNormal {
                location: 0.0,
                scale: 1.0,
                lower: Some(60.0),
                upper: None,
            },
            "keep a probability",
        ),
        (
            Distribution::TruncatedNormal {
                location: 0.0,
                scale: 1.0,
                lower: Some(f64::INFINITY),
                upper: None,
            },
            "finite",
        ),
        (
            Distribution::Sample {
                values: vec![].into(),
            },
            "one value or more",
        ),
        (
            Distribution::DensityTable {
                x: vec![0.0, 0.0].into(),
                density: vec![1.0, 1.0].into(),
            },
            "increasing",
        ),
        (
            Distribution::DensityTable {
                x: vec![0.0, 1.0].into(),
                density: vec![0.0, 0.0].into(),
            },
            "above 0 somewhere",
        ),
        (
            Distribution::DensityTable {
                x: vec![0.0, 1.0].into(),
                density: vec![1.0].into(),
            },
            "one a point",
        ),
        (
            Distribution::ProbabilityTable {
                x: vec![0.0, 1.0, 2.0].into(),
                probability: vec![0.0, 0.6, 0.5].into(),
            },
            "never fall",
        ),
        (
            Distribution::ProbabilityTable {
                x: vec![0.0, 1.0].into(),
                probability: vec![0.0, 0.5].into(),
            },
            "last probability of 1",
        ),
    ];
    for (distribution, words) in refused {
        let error = Input::with_distribution("wall", distribution.clone()).expect_err(words);
        let text = error.to_string();
        assert!(text.contains(words), "{text}");
        assert_eq!(error.context().field.as_deref(), Some("wall"), "{text}");
        // unchecked parameters give numbers or NaN, never a panic
        let _ = (
            distribution.mean(),
            distribution.quantile(0.3),
            distribution.cdf(0.2),
        );
    }
    assert!(Distribution::share_of_objects(11, 10).is_err());
    assert!(Distribution::sum_of_two_within_limits(0.0, 1.0, 0.0).is_err());
    assert!(Distribution::positive_with_relative_uncertainty(0.0, 0.1).is_err());
}
