//! Three questions, three uncertainties.

use super::{
    WATER, asked_of_the_demonstration, demonstrated, site, square, verification, verified,
};
use crate::support::{assert_refused, assert_relative};
use flowdoubt::montecarlo::Stream;
use flowdoubt::scalar::special::normal_quantile;
use flowdoubt::site::Site;
use flowdoubt::verify::{Question, Verdict, VerificationResult};

/// A site of which every side is uncertain: meter, wedge, bore and installation.
pub fn uncertain() -> Site {
    let more = "[meter]\ncalibration_factor = { value = \"1\", standard_uncertainty = \"0.8 %\" }\n\
                [installation]\nfactor = { value = \"1\", standard_uncertainty = \"0.3 %\" }\n\
                remounting = { value = \"1\", standard_uncertainty = \"0.4 %\" }\n";
    let whole = site(WATER, more);
    let text = whole.text();
    let text = text.replace(
        "wall = \"7.1 mm\"",
        "wall = { value = \"7.1 mm\", standard_uncertainty = \"0.1 mm\" }",
    );
    Site::from_toml(&text, "site.toml").unwrap_or_else(|e| panic!("{e}"))
}

/// Runs at 60 m3/h by the meter against `flows` by the reference, in m3/h, each of a placement.
pub fn asked(site: &Site, question: &str, flows: &[(&str, f64)]) -> VerificationResult {
    let mut text = format!(
        "[verification]\nname = \"v\"\n{question}\n[reference]\nkind = \"master meter\"\n\
         calibration_factor = {{ value = \"1\", standard_uncertainty = \"0.1 %\" }}\n"
    );
    for (placement, flow) in flows {
        text += &format!(
            "[[run]]\npoint = \"p\"\nplacement = \"{placement}\"\nreadings = \"60\"\n\
             volume_flow = \"{flow} m3/h\"\n"
        );
    }
    verified(site, &text)
}

pub const INSTALLED: &str = "question = \"error as installed\"\nindicated = \"shown by the meter\"";

const COMPUTED: &str =
    "question = \"error as installed\"\nindicated = \"computed from its readings\"";
const OF_THE_METER: &str = "question = \"error of the meter\"";

pub const AGREEMENT: &str = "question = \"agreement\"";

/// By how much the flow grows with a quantity, relative over relative, by differences.
fn slope(site: &Site, from: &str, to: &str, by: f64) -> f64 {
    let flow = |text: &str| {
        let site = Site::from_toml(text, "site.toml").unwrap_or_else(|e| panic!("{e}"));
        super::flow_of(&site, &super::steady(60.0))
    };
    let text = site.text();
    assert!(text.contains(from), "no {from}");
    (flow(&text.replace(from, to)) / flow(text) - 1.0) / by
}

#[test]
fn each_question_has_its_uncertainty() {
    let site = uncertain();
    let run = [("A", 60.0)];
    let u = |question: &str| asked(&site, question, &run).points[0].error;
    let relative = |of: flowdoubt::verify::OfQuantity| of.standard_uncertainty / (1.0 + of.value);
    // as installed: the certificate of the reference alone; the readings do not scatter
    assert_relative(relative(u(INSTALLED)), 0.001, 1e-9, "shown");
    assert_relative(relative(u(COMPUTED)), 0.001, 1e-9, "computed");
    // for use elsewhere: bore, installation and mounting of the test pipe beside, by hand
    let value = "value = \"1\", standard_uncertainty = \"0.3 %\"";
    let installation = slope(
        &site,
        value,
        "value = \"1.0001\", standard_uncertainty = \"0.3 %\"",
        1e-4,
    );
    let bore = slope(&site, "value = \"7.1 mm\"", "value = \"7.101 mm\"", 0.001);
    let mounted = square(0.003 * installation) + square(0.004 * installation);
    let of_pipe = square(0.1 * bore) + mounted;
    let expected = (square(0.001) + of_pipe).sqrt();
    assert_relative(relative(u(OF_THE_METER)), expected, 2e-3, "of the meter");
    // two results: what the meter was calibrated with as well
    let expected = (square(expected) + square(0.008 * installation)).sqrt();
    assert_relative(relative(u(AGREEMENT)), expected, 2e-3, "agreement");
}

#[test]
fn what_the_meter_showed_is_not_what_is_computed() {
    // the bore that was programmed is not the one that was surveyed
    let text = super::site(WATER, "")
        .text()
        .replace("154.1 mm", "152.0 mm");
    let site = Site::from_toml(&text, "site.toml").expect("site");
    let run = [("A", 60.0)];
    let shown = asked(&site, INSTALLED, &run);
    assert!(
        shown.points[0].error.value.abs() < 1e-12,
        "60 shown, 60 true"
    );
    assert_relative(
        shown.runs[0].meter_flow.value,
        60.0 / 3600.0,
        1e-12,
        "shown",
    );
    let computed = asked(&site, COMPUTED, &run);
    let right = asked(&super::site(WATER, ""), COMPUTED, &run);
    let ratio = (1.0 + computed.points[0].error.value) / (1.0 + right.points[0].error.value);
    assert_relative(
        ratio,
        square(154.1 / 152.0),
        1e-3,
        "area of the bore programmed",
    );
    // programmed values are listed, as are those with which the flow was computed
    let named = |result: &VerificationResult, name: &str| {
        let own = result.fixed.iter().find(|fixed| fixed.name == name);
        own.map(|fixed| fixed.value)
    };
    assert_eq!(
        named(&shown, "meter.programmed.inside_diameter"),
        Some(0.152)
    );
    assert_eq!(
        named(&shown, "meter.programmed.profile_factor"),
        Some(0.9432)
    );
    assert_eq!(named(&shown, "pipe.wall"), None);
    let wall = named(&computed, "pipe.wall").expect("listed");
    assert_relative(wall, 0.0071, 1e-12, "wall");
    assert!(
        shown
            .in_words()
            .expect("words")
            .contains("inside_diameter = 0.152 m")
    );
}

#[test]
fn a_reading_shown_as_velocity_needs_the_bore_that_was_programmed() {
    use flowdoubt::evaluate::Readings;
    use flowdoubt::verify::Verification;
    let columns = [
        ("velocity_m_s", &[1.0, 1.0][..]),
        ("temperature_degC", &[18.0, 18.0]),
    ];
    let readings = Readings::from_columns(columns).expect("readings");
    let text = format!(
        "[verification]\nname = \"v\"\n{INSTALLED}\n[reference]\nkind = \"master meter\"\n\
         calibration_factor = \"1\"\n[[run]]\npoint = \"p\"\nreadings = \"x\"\n\
         volume_flow = \"60 m3/h\"\n"
    );
    let read = |_: &str| Ok(readings.clone());
    let verification = Verification::with_readings(&text, "v.toml", read).expect("file");
    let result = site(WATER, "").verify(&verification).expect("result");
    let expected = std::f64::consts::PI / 4.0 * square(0.1541);
    assert_relative(
        result.runs[0].meter_flow.value,
        expected,
        1e-12,
        "flow shown",
    );
    let without = site(WATER, "")
        .text()
        .replace("inside_diameter = \"154.1 mm\"\n", "");
    let site = Site::from_toml(&without, "site.toml").expect("site");
    let parts = [
        "v.toml:4",
        "verification.indicated",
        "without a programmed bore",
    ];
    assert_refused(site.verify(&verification), "conflict", &parts);
}

#[test]
fn the_question_must_be_stated_and_must_fit() {
    let refused = |head: &str, code: &str, parts: &[&str]| {
        let text = format!(
            "[verification]\nname = \"v\"\n{head}\n[reference]\nkind = \"master meter\"\n\
             calibration_factor = \"1\"\n[[run]]\npoint = \"p\"\nreadings = \"60\"\n\
             volume_flow = \"60 m3/h\"\n"
        );
        assert_refused(verification(&text), code, parts);
    };
    refused(
        "",
        "missing",
        &["verification.question", "error as installed", "agreement"],
    );
    refused(
        "question = \"error\"",
        "unknown-name",
        &["error of the meter"],
    );
    refused(
        "question = \"error as installed\"",
        "missing",
        &["verification.indicated", "shown by"],
    );
    let shown = "indicated = \"shown by the meter\"";
    refused(
        &format!("{OF_THE_METER}\n{shown}"),
        "conflict",
        &["verification.toml:4", "computed"],
    );
    refused(
        &format!("{AGREEMENT}\n{shown}"),
        "conflict",
        &["has no budget"],
    );
    refused(
        &format!("{AGREEMENT}\npermissible_error = \"2 %\""),
        "conflict",
        &["agreement"],
    );
    let limit = "permissible_error = \"2 %\"\nuncertainty_at_most = \"1/5\"";
    refused(
        &format!("{COMPUTED}\n{limit}"),
        "conflict",
        &["simple acceptance"],
    );
    refused(
        &format!("{COMPUTED}\nuncertainty_at_most = \"1/5\""),
        "conflict",
        &["no effect"],
    );
    refused(
        &format!("{COMPUTED}\n{limit}").replace("1/5", "1/4"),
        "unknown-name",
        &["1/3"],
    );
}

#[test]
fn the_demonstration_rests_on_the_reference() {
    let (site, verification) = demonstrated();
    assert_eq!(verification.question(), Question::ErrorAsInstalled);
    let result = site.verify(&verification).expect("result");
    let (site, agreement) = asked_of_the_demonstration("agreement");
    let agreement = site.verify(&agreement).expect("result");
    for (installed, whole) in result.points.iter().zip(&agreement.points) {
        assert_relative(
            installed.error.value,
            whole.error.value,
            1e-15,
            "the same error",
        );
        // by hand, in percent: certificate, clock, scatter of 12 runs, mounting in two placements
        let scatter = installed
            .repeatability
            .as_ref()
            .expect("r")
            .standard_uncertainty;
        let parts = [
            0.10,
            0.06,
            0.05 / 3.0_f64.sqrt() / 1.8,
            100.0 * scatter,
            0.38 / 2.0_f64.sqrt(),
        ];
        let expected = parts.iter().map(|u| u * u).sum::<f64>().sqrt();
        assert_relative(
            100.0 * installed.error.standard_uncertainty,
            expected,
            // the profile factor moves a little against each of them
            0.015,
            "u, %",
        );
        assert!(whole.error.standard_uncertainty > 2.5 * installed.error.standard_uncertainty);
        assert!(installed.scores.is_none() && whole.scores.is_some());
        let global = installed.conformity.as_ref().expect("judged").global_risks;
        let global = global.expect("a prior is stated");
        assert!(global.producers_risk < 0.035, "{global:?}");
    }
    assert_eq!(result.verdict(), Some(Verdict::Conforms));
    assert_eq!(agreement.verdict(), Some(Verdict::Agrees));
}

#[test]
fn what_goes_with_the_meter_is_taken_as_it_is() {
    let (site, verification) = asked_of_the_demonstration("error of the meter");
    let result = site.verify(&verification).expect("result");
    let names: Vec<&str> = result.fixed.iter().map(|f| f.name.as_str()).collect();
    // zero, mounting and all that belongs to the pipe are another elsewhere
    let expected = [
        "meter.calibration_factor",
        "path.wedge_angle",
        "path.wedge_sound_speed",
        "meter.electronics_delay",
        "meter.cable_delay",
        "meter.wedge_delay",
    ];
    assert_eq!(names, expected);
    let budget = &result.points[0].error_budget.lines;
    let has = |name: &str| budget.iter().any(|l| l.input.name() == name);
    assert!(expected.iter().all(|name| !has(name)));
    assert!(has("meter.zero_time_difference") && has("pipe.wall") && has("installation.factor"));
}

#[test]
fn one_mounting_is_taken_as_it_is_and_a_mean_of_several_is_not() {
    let site = uncertain();
    let u = |flows: &[(&str, f64)]| {
        let result = asked(&site, COMPUTED, flows);
        let budget = &result.points[0].error_budget.lines;
        let of_mounting = budget
            .iter()
            .filter(|l| l.input.name().contains("remounting"));
        let mounted: f64 = of_mounting.map(|l| square(l.contribution)).sum();
        mounted.sqrt()
    };
    assert_eq!(u(&[("A", 60.0), ("A", 60.1)]), 0.0);
    let both = [("A", 60.0), ("A", 60.1), ("B", 60.0), ("B", 60.1)];
    let of_run = &asked(&site, COMPUTED, &both).runs[0].error_budget.lines;
    assert!(
        of_run
            .iter()
            .all(|l| !l.input.name().contains("remounting"))
    );
    let two = u(&both);
    assert_relative(two, 0.004 / 2.0_f64.sqrt(), 0.02, "mean of two");
    // what the meter shows does not depend on the stated value: the runs tell
    let flows = [("A", 60.0), ("A", 60.1), ("B", 61.0), ("B", 61.1)];
    let shown = asked(&site, INSTALLED, &flows);
    let names: Vec<&str> = shown.points[0]
        .error_budget
        .lines
        .iter()
        .map(|l| l.input.name())
        .collect();
    assert!(
        names.contains(&"placements[A, B].reproducibility"),
        "{names:?}"
    );
}

/// The mean of few placements of few runs holds the true error as often as it says.
#[test]
fn intervals_cover_where_placements_are_judged_from_the_runs() {
    const TRIALS: usize = 400;
    let site = site(WATER, "");
    for (placements, runs, between) in [(3, 2, 0.0), (3, 3, 1.0), (4, 2, 1.0), (4, 3, 3.0)] {
        let mut stream = Stream::new(13, "placements");
        let mut normal = || normal_quantile(stream.next_uniform());
        let mut covered = 0;
        for _ in 0..TRIALS {
            let mut flows = Vec::new();
            for name in ["A", "B", "C", "D"].into_iter().take(placements) {
                let effect = between * normal();
                for _ in 0..runs {
                    flows.push((name, 60.0 / (1.0 + 0.001 * (effect + normal()))));
                }
            }
            let error = asked(&site, INSTALLED, &flows).points[0].error;
            covered += usize::from(error.value.abs() <= error.expanded_uncertainty);
        }
        let share = covered as f64 / TRIALS as f64;
        // the reference adds its certificate, which is exact here: hence at least
        assert!(
            share > 0.95 - 3.0 * 0.011,
            "{placements}, {runs}, {between}: {share}"
        );
    }
}
