//! Repeatability and reproducibility.

use super::{WATER, site, square, verified};
use crate::support::assert_relative;
use flowdoubt::verify::VerificationResult;

/// Runs as (point, placement, flow of the master in m3/h); the meter always reads the same.
fn runs(choice: &str, runs: &[(&str, &str, f64)]) -> VerificationResult {
    with_site(choice, runs, "")
}

fn with_site(choice: &str, runs: &[(&str, &str, f64)], more: &str) -> VerificationResult {
    let mut text = format!(
        "[verification]\nname = \"v\"\nquestion = \"error of the meter\"\n{choice}\n[reference]\nkind = \"master meter\"\n\
         calibration_factor = \"1\"\n"
    );
    for (point, placement, flow) in runs {
        text += &format!(
            "[[run]]\npoint = \"{point}\"\nplacement = \"{placement}\"\nreadings = \"60\"\n\
             volume_flow = \"{flow} m3/h\"\n"
        );
    }
    verified(&site(WATER, more), &text)
}

fn errors(result: &VerificationResult) -> Vec<f64> {
    result.runs.iter().map(|run| run.error.value).collect()
}

fn deviation(values: &[f64]) -> f64 {
    let mean = values.iter().sum::<f64>() / values.len() as f64;
    let squares = values.iter().map(|v| (v - mean) * (v - mean));
    (squares.sum::<f64>() / (values.len() - 1) as f64).sqrt()
}

const FOUR: [(&str, &str, f64); 4] = [
    ("p", "A", 60.1),
    ("p", "A", 59.8),
    ("p", "A", 60.3),
    ("p", "A", 60.0),
];

#[test]
fn the_mean_of_few_runs_has_students_t() {
    let result = runs("", &FOUR);
    let point = &result.points[0];
    let s = deviation(&errors(&result));
    let found = point.repeatability.as_ref().expect("repeatability");
    assert_relative(found.standard_deviation, s, 1e-12, "s");
    assert_eq!(found.dof, 3.0);
    assert_relative(found.standard_uncertainty, s / 2.0, 1e-12, "u");
    assert_relative(
        point.error.standard_uncertainty,
        s / 2.0,
        1e-12,
        "u of the mean",
    );
    assert_eq!(point.error.effective_dof, Some(3.0));
    // t for 95 % and 3 degrees of freedom, JCGM 100:2008, table G.2
    assert_relative(point.error.coverage_factor, 3.18, 2e-3, "t");
    assert!(point.reproducibility.is_none());
    assert!(
        result
            .warnings
            .iter()
            .any(|w| w.code == "placement-unknown")
    );
}

#[test]
fn points_may_be_pooled() {
    let mut all = FOUR.to_vec();
    all.extend([("q", "A", 30.1), ("q", "A", 30.0)]);
    let result = runs("repeatability = \"pooled\"", &all);
    let e = errors(&result);
    let (s, t) = (deviation(&e[..4]), deviation(&e[4..]));
    let pooled = ((3.0 * s * s + t * t) / 4.0).sqrt();
    for (point, n) in result.points.iter().zip([4.0_f64, 2.0]) {
        let found = point.repeatability.as_ref().expect("repeatability");
        assert!(found.pooled);
        assert_eq!(found.dof, 4.0);
        assert_relative(found.standard_uncertainty, pooled / n.sqrt(), 1e-12, "u");
    }
    let alone = runs("", &all);
    assert_eq!(alone.points[1].repeatability.as_ref().expect("r").dof, 1.0);
    assert!(alone.warnings.iter().any(|w| w.code == "few-runs"));
}

const PLACEMENTS: [(&str, &str, f64); 6] = [
    ("p", "A", 60.10),
    ("p", "A", 60.12),
    ("p", "B", 59.60),
    ("p", "B", 59.63),
    ("p", "C", 60.41),
    ("p", "C", 60.38),
];

#[test]
fn placements_are_judged_by_analysis_of_variance() {
    let result = runs("", &PLACEMENTS);
    let e = errors(&result);
    let means: Vec<f64> = e.chunks(2).map(|c| 0.5 * (c[0] + c[1])).collect();
    let within: f64 = e.chunks(2).map(|c| square(deviation(c))).sum::<f64>() / 3.0;
    let of_means = square(deviation(&means));
    let between = (of_means - within / 2.0).sqrt();
    let point = &result.points[0];
    let found = point.reproducibility.as_ref().expect("reproducibility");
    assert_eq!(found.placements, 3);
    assert_relative(found.between_placements, between, 1e-9, "between");
    assert_relative(
        found.standard_deviation,
        (within + between * between).sqrt(),
        1e-9,
        "R",
    );
    assert_relative(found.f, 2.0 * of_means / within, 1e-9, "F");
    assert!(found.p_value < 0.01);
    // the mean over placements, with their effects and the scatter within: JCGM 100:2008, H.5.2.5
    let mean = means.iter().sum::<f64>() / 3.0;
    assert_relative(point.error.value, mean, 1e-12, "mean");
    let u = (of_means / 3.0).sqrt();
    assert_relative(point.error.standard_uncertainty, u, 1e-9, "u");
    let effects = result.inputs.inputs().iter();
    let effects = effects.filter(|i| i.name().ends_with(".reproducibility"));
    let effects: Vec<_> = effects.map(|i| (i.name(), i.dof())).collect();
    assert_eq!(effects, [("placements[A, B, C].reproducibility", 2.0)]);
    // three placements tell their effect with two degrees of freedom, not with two each
    let dof = point.error.effective_dof.expect("dof");
    assert!((2.0..2.1).contains(&dof), "{dof}");
}

#[test]
fn a_stated_uncertainty_of_mounting_stands_and_is_checked() {
    let stated = |u: &str| {
        let more = format!(
            "[installation]\nremounting = {{ value = \"1\", standard_uncertainty = \"{u}\" }}\n"
        );
        with_site("", &PLACEMENTS, &more)
    };
    let differ = |r: &VerificationResult| r.warnings.iter().any(|w| w.code == "placements-differ");
    let wide = stated("0.9 %");
    assert!(!differ(&wide));
    let names = wide.inputs.inputs().iter().map(|i| i.name().to_owned());
    assert!(
        names
            .clone()
            .all(|name| !name.ends_with(".reproducibility"))
    );
    assert_eq!(
        names
            .filter(|name| name.ends_with("installation.remounting"))
            .count(),
        3
    );
    // three placements: a third of the variance each
    let within = wide.points[0]
        .repeatability
        .as_ref()
        .expect("r")
        .standard_uncertainty;
    let one = 0.009 * (1.0 + wide.points[0].error.value);
    let expected = (one * one / 3.0 + within * within).sqrt();
    assert_relative(
        wide.points[0].error.standard_uncertainty,
        expected,
        0.01,
        "u",
    );
    assert!(differ(&stated("0.1 %")));
}

#[test]
fn readings_that_scatter_count_once() {
    // within a run the readings scatter by much; between the runs nothing is left of it
    use flowdoubt::verify::Verification;
    let mut text = "[verification]\nname = \"v\"\nquestion = \"error of the meter\"\n[reference]\nkind = \"master meter\"\n\
                    calibration_factor = \"1\"\n"
        .to_owned();
    for flow in [60.1, 60.0, 59.9] {
        text += &format!(
            "[[run]]\npoint = \"p\"\nreadings = \"x\"\nvolume_flow = {{ readings = [\"{} m3/h\", \
             \"{} m3/h\"] }}\n",
            flow - 2.0,
            flow + 2.0
        );
    }
    let verification = Verification::with_readings(&text, "v.toml", |_| {
        Ok(super::columns(&[57.0, 63.0, 60.0], &[18.0, 18.0, 18.0]))
    });
    let result = site(WATER, "")
        .verify(&verification.expect("file"))
        .expect("result");
    let point = &result.points[0];
    let found = point.repeatability.as_ref().expect("repeatability");
    // less by what the profile factor changes with the flow
    assert_relative(found.standard_deviation, 0.1 / 60.0, 0.02, "s");
    assert_relative(
        point.error.standard_uncertainty,
        found.standard_uncertainty,
        1e-9,
        "u",
    );
    assert!(
        result.runs[0].error.standard_uncertainty > 0.02,
        "a run alone has no other evidence"
    );
}
