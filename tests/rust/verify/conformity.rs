//! Decisions.

use super::{WATER, site, verified};
use crate::support::assert_relative;
use flowdoubt::scalar::special::{normal_cdf, normal_quantile};
use flowdoubt::verify::{Conformity, Verdict, VerificationResult};

/// One point whose error is `error` with standard uncertainty 0.5 %, about.
fn judged(rule: &str, error: f64) -> VerificationResult {
    let site = site(WATER, "");
    let flow = super::flow_of(&site, &super::steady(60.0)) / (1.0 + error);
    verified(
        &site,
        &format!(
            "[verification]\nname = \"v\"\nquestion = \"error as installed\"\n\
             indicated = \"computed from its readings\"\n{rule}\n[reference]\nkind = \"master meter\"\n\
             calibration_factor = {{ value = \"1\", standard_uncertainty = \"0.5 %\" }}\n[[run]]\n\
             point = \"p\"\nreadings = \"60\"\nvolume_flow = \"{flow:e} m3/s\"\n"
        ),
    )
}

fn of(result: &VerificationResult) -> &Conformity {
    result.points[0].conformity.as_ref().expect("conformity")
}

#[test]
fn guarded_acceptance_protects_the_user() {
    let rule = "permissible_error = \"2 %\"";
    let result = judged(rule, 0.010);
    let found = of(&result);
    let u = result.points[0].error.standard_uncertainty;
    let guard = normal_quantile(0.95) * u;
    assert_relative(
        found.guard_band,
        guard,
        1e-12,
        "guard band, JCGM 106:2012, 8.3.2",
    );
    assert_relative(
        found.acceptance[1].expect("limit"),
        0.02 - guard,
        1e-12,
        "limit",
    );
    assert_relative(
        found.acceptance[0].expect("limit"),
        guard - 0.02,
        1e-12,
        "limit",
    );
    assert_eq!(found.verdict, Verdict::Conforms);
    assert_eq!(result.accepted(), Some(true));
    let inside = normal_cdf(0.010 / u) - normal_cdf(-0.030 / u);
    assert_relative(
        found.conformance_probability,
        inside,
        1e-9,
        "p, JCGM 106:2012, 7.4",
    );
    assert_relative(
        found.specific_risks.consumers_risk,
        1.0 - inside,
        1e-6,
        "risk",
    );
    assert_relative(
        found.capability_index.expect("C_m"),
        0.04 / (4.0 * u),
        1e-12,
        "C_m",
    );
    // within the permissible limits, but not by enough
    let result = judged(rule, 0.015);
    assert_eq!(of(&result).verdict, Verdict::DoesNotConform);
    assert_eq!(result.accepted(), Some(false));
    assert!(
        of(&result)
            .in_words()
            .starts_with("does not conform: the error is not within -1.1")
    );
    assert!(
        result
            .headline()
            .contains("does not conform at p by guarded acceptance at 95 %")
    );
}

#[test]
fn other_rules_have_other_limits() {
    let accepted = |rule: &str, error: f64| {
        judged(
            &format!("permissible_error = \"2 %\"\nrule = \"{rule}\""),
            error,
        )
        .accepted()
    };
    assert_eq!(accepted("guarded rejection", 0.0275), Some(true));
    assert_eq!(accepted("guarded rejection", 0.0290), Some(false));
    assert_eq!(accepted("guarded acceptance", -0.0130), Some(false));
}

#[test]
fn one_limit_alone() {
    let result = judged("upper_limit = \"1 %\"\nprobability = 0.9", -0.05);
    let found = of(&result);
    assert_eq!(found.verdict, Verdict::Conforms);
    assert_eq!(found.permissible, [None, Some(0.01)]);
    assert_eq!(found.acceptance[0], None);
    assert_eq!(found.capability_index, None);
    let result = judged("lower_limit = \"-1 %\"", -0.05);
    assert_eq!(of(&result).verdict, Verdict::DoesNotConform);
    let result = judged("lower_limit = \"-1 %\"\nupper_limit = \"3 %\"", 0.01);
    assert_eq!(of(&result).verdict, Verdict::Conforms);
}

#[test]
fn a_prior_gives_bayesian_and_global_risks() {
    let rule = "permissible_error = \"2 %\"\nprior = { standard_deviation = \"1 %\" }";
    let result = judged(rule, 0.010);
    let found = of(&result);
    let u = result.points[0].error.standard_uncertainty;
    // two normal distributions: weights are reciprocal variances (JCGM 106:2012, 7.2.1)
    let weight = 1e-4 / (1e-4 + u * u);
    let (mean, spread) = (0.010 * weight, u * weight.sqrt());
    let inside = normal_cdf((0.02 - mean) / spread) - normal_cdf((-0.02 - mean) / spread);
    let with_prior = found.conformance_probability_with_prior.expect("p");
    assert_relative(with_prior, inside, 1e-9, "posterior");
    let global = found.global_risks.expect("risks");
    assert_relative(
        global.conforming,
        2.0 * normal_cdf(2.0) - 1.0,
        1e-9,
        "before measurement",
    );
    let spread = (1e-4 + u * u).sqrt();
    let accepted = 2.0 * normal_cdf(found.acceptance[1].expect("limit") / spread) - 1.0;
    assert_relative(global.accepted, accepted, 1e-9, "accepted");
    assert!(global.consumers_risk < 0.05 && global.producers_risk > 0.05);
}

#[test]
fn without_limits_there_is_no_decision() {
    let result = judged("", 0.01);
    assert_eq!(result.accepted(), None);
    assert!(result.points[0].conformity.is_none());
    assert!(
        result
            .headline()
            .starts_with("errors (1.00 +/- 0.99) % at p"),
        "{}",
        result.headline()
    );
}

#[test]
fn a_line_follows_errors_that_lie_on_one() {
    let (site, verification) = super::demonstrated();
    let result = site.verify(&verification).expect("result");
    let line = result.line.expect("line");
    let middle = &result.points[1];
    let (error, u) = line.at(middle.flow.value);
    assert!(
        (error - middle.error.value).abs() < 3.0 * 0.001,
        "within the repeatability"
    );
    // the systematic part is common, so the line is hardly better known than a point
    assert_relative(u, middle.error.standard_uncertainty, 0.03, "u");
    // by hand: the slope of generalised least squares from the covariances, flows taken as exact
    let e: Vec<f64> = result.points.iter().map(|p| p.error.value).collect();
    let q: Vec<f64> = result.points.iter().map(|p| p.flow.value).collect();
    let through_ends = (e[2] - e[0]) / (q[2] - q[0]);
    assert!((line.slope - through_ends).abs() < 2.0 * line.slope_uncertainty);
    assert!(line.p_value.expect("p") > 0.001);
}
