//! Decisions that rest on a verification, and their risks, by simulated meters.

use super::questions::{AGREEMENT, INSTALLED, asked, uncertain};
use super::{WATER, site, verified};
use crate::support::assert_relative;
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::normal_quantile;
use flowdoubt::verify::{Conformity, Verdict, VerificationResult};

/// One point whose error is `error`, with a reference of standard uncertainty `u`, both in percent.
fn judged(rule: &str, error: f64, u: f64) -> VerificationResult {
    let flow = 60.0 / (1.0 + error / 100.0);
    let text = format!(
        "[verification]\nname = \"v\"\n{INSTALLED}\n{rule}\n[reference]\nkind = \"master meter\"\n\
         calibration_factor = {{ value = \"1\", standard_uncertainty = \"{u} %\" }}\n[[run]]\n\
         point = \"p\"\nreadings = \"60\"\nvolume_flow = \"{flow} m3/h\"\n"
    );
    verified(&site(WATER, ""), &text)
}

fn of(result: &VerificationResult) -> &Conformity {
    result.points[0].conformity.as_ref().expect("conformity")
}

#[test]
fn where_no_error_is_accepted_nothing_is_decided() {
    let result = judged("permissible_error = \"0.6 %\"", 0.1, 0.5);
    let found = of(&result);
    assert_eq!(found.verdict, Verdict::CannotBeDecided);
    assert_eq!((result.accepted(), found.acceptance), (None, [None, None]));
    // the guard band of 1.645 u may be 0.6 % at most, so that U = 1.960 u may be 0.7149 %
    let needed = found.expanded_uncertainty_needed.expect("needed");
    let expected = 0.006 * normal_quantile(0.975) / normal_quantile(0.95);
    assert_relative(needed, expected, 1e-9, "U needed");
    let words = "cannot be decided with this reference; U of at most 0.71 % is needed";
    assert!(found.in_words().starts_with(words), "{}", found.in_words());
    let headline = result.headline();
    assert!(headline.contains("cannot be decided") && headline.contains("p (U of at most 0.71 %"));
    assert!(found.global_risks.is_none());
    // with that uncertainty an error of zero is accepted, and with a little more nothing is
    let u = 100.0 * needed / normal_quantile(0.975);
    let limit = "permissible_error = \"0.6 %\"";
    assert_eq!(judged(limit, 0.0, 0.999 * u).accepted(), Some(true));
    assert_eq!(judged(limit, 0.0, 1.001 * u).accepted(), None);
}

#[test]
fn an_error_far_outside_is_rejected_even_so() {
    let result = judged("permissible_error = \"0.6 %\"", 5.0, 0.5);
    assert_eq!(of(&result).verdict, Verdict::DoesNotConform);
    assert_eq!(result.accepted(), Some(false));
    assert!(of(&result).in_words().contains("lies so far outside"));
}

#[test]
fn simple_acceptance_needs_a_small_uncertainty() {
    let simple = "permissible_error = \"2 %\"\nrule = \"simple acceptance\"";
    let fifth = format!("{simple}\nuncertainty_at_most = \"1/5\"");
    // U = 1.96 u: a third of the limit is 0.667 %, a fifth 0.4 %
    for (rule, error, u, verdict) in [
        (simple, 1.99, 0.33, Verdict::Conforms),
        (simple, 2.01, 0.33, Verdict::DoesNotConform),
        (simple, 1.0, 0.35, Verdict::CannotBeDecided),
        (simple, 5.0, 0.35, Verdict::DoesNotConform),
        (&fifth, 1.99, 0.20, Verdict::Conforms),
        (&fifth, 1.0, 0.21, Verdict::CannotBeDecided),
    ] {
        let result = judged(rule, error, u);
        let words = of(&result).in_words();
        assert_eq!(
            of(&result).verdict,
            verdict,
            "{rule}, {error}, {u}: {words}"
        );
    }
    let words = of(&judged(&fifth, 1.0, 0.21)).in_words();
    assert!(words.contains("U of at most 0.40 % is needed"), "{words}");
}

#[test]
fn agreement_is_decided_by_e_n() {
    let site = uncertain();
    let near = asked(&site, AGREEMENT, &[("A", 60.5)]);
    assert_eq!(near.verdict(), Some(Verdict::Agrees));
    let far = asked(&site, AGREEMENT, &[("A", 64.0)]);
    assert_eq!(
        (far.verdict(), far.accepted()),
        (Some(Verdict::DoesNotAgree), Some(false))
    );
    assert!(
        far.headline().contains("do not agree at p"),
        "{}",
        far.headline()
    );
    let e_n = far.points[0].scores.expect("scores").e_n.expect("E_n");
    let error = far.points[0].error;
    assert_relative(e_n, error.value / error.expanded_uncertainty, 1e-12, "E_n");
}

/// A million meters with known errors, each verified once: how often the decision is wrong.
#[test]
fn risks_are_found_as_stated() {
    const METERS: usize = 1_000_000;
    let rule = "permissible_error = \"2 %\"\nprior = { standard_deviation = \"1 %\" }";
    let result = judged(rule, 1.1, 0.4);
    let found = of(&result);
    let u = result.points[0].error.standard_uncertainty;
    let [lower, upper] = found.acceptance.map(|limit| limit.expect("limit"));
    let mut stream = Stream::new(11, "meters");
    let mut normal = || normal_quantile(stream.next_uniform());
    let (mut accepted, mut bought, mut sold) = (0_usize, 0_usize, 0_usize);
    let (mut like_this, mut like_this_conforming) = (0_usize, 0_usize);
    let measured_here = result.points[0].error.value;
    for _ in 0..METERS {
        let error = 0.01 * normal();
        // the reference is wrong by its uncertainty: Q_i / Q_ref - 1 with Q_ref off by a factor
        let measured = (1.0 + error) / (1.0 + 0.004 * normal()) - 1.0;
        let (passes, conforms) = ((lower..=upper).contains(&measured), error.abs() <= 0.02);
        accepted += usize::from(passes);
        bought += usize::from(passes && !conforms);
        sold += usize::from(!passes && conforms);
        if (measured - measured_here).abs() < 2e-4 {
            like_this += 1;
            like_this_conforming += usize::from(conforms);
        }
    }
    assert_relative(u, 0.004 * (1.0 + measured_here), 1e-9, "u");
    let global = found.global_risks.expect("risks");
    let close = |count: usize, of: usize, stated: f64, what: &str| {
        let share = count as f64 / of as f64;
        // five standard errors of a share; the uncertainty of an error is relative to 1 + error,
        // which moves the acceptance limits by a few thousandths of u
        let allowed = 5.0 * (stated * (1.0 - stated) / of as f64).sqrt() + 0.02 * stated;
        assert!(
            (share - stated).abs() < allowed,
            "{what}: {share}, stated {stated}"
        );
    };
    close(accepted, METERS, global.accepted, "accepted");
    close(bought, METERS, global.consumers_risk, "consumer's risk");
    close(sold, METERS, global.producers_risk, "producer's risk");
    let with_prior = found.conformance_probability_with_prior.expect("p");
    close(
        like_this_conforming,
        like_this,
        with_prior,
        "conformity of a meter like this",
    );
}

/// The specific risk, for meters of which nothing is known beforehand: errors far apart.
#[test]
fn the_specific_risk_is_found_as_stated() {
    const METERS: usize = 1_000_000;
    let result = judged("permissible_error = \"2 %\"", 1.6, 0.4);
    let found = of(&result);
    let here = result.points[0].error.value;
    let mut stream = Stream::new(12, "meters");
    let (mut like_this, mut conforming) = (0_usize, 0_usize);
    for _ in 0..METERS {
        // every error between -2 % and 6 % is as likely as another
        let error = -0.02 + 0.08 * stream.next_uniform();
        let measured = (1.0 + error) / (1.0 + 0.004 * normal_quantile(stream.next_uniform())) - 1.0;
        if (measured - here).abs() < 5e-4 {
            like_this += 1;
            conforming += usize::from(error.abs() <= 0.02);
        }
    }
    let share = conforming as f64 / like_this as f64;
    let stated = found.conformance_probability;
    let allowed = 5.0 * (stated * (1.0 - stated) / like_this as f64).sqrt() + 0.005;
    assert!((share - stated).abs() < allowed, "{share}, stated {stated}");
    assert_relative(
        found.specific_risks.producers_risk,
        stated,
        1e-15,
        "if rejected",
    );
}
