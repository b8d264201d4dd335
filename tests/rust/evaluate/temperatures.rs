//! Wedges and surveys at another temperature than that of operation.

use crate::support::{assert_relative, demo, evaluate, with};
use flowdoubt::evaluate::{Evaluation, Readings};

/// The demonstration site on the geometric basis, with a liquid of so many degC.
fn at(celsius: f64, path: &str) -> Evaluation {
    let text = with(
        &demo("site.toml"),
        "basis = \"timed\"",
        &format!("basis = \"geometric\"\n{path}"),
    );
    let readings = Readings::from_columns([
        ("time_difference_ns", &[800.0, 801.0, 800.5][..]),
        ("temperature_degC", &[celsius; 3][..]),
    ]);
    evaluate(&text, &readings.expect("readings")).expect("an evaluation")
}

fn has(evaluation: &Evaluation, code: &str) -> bool {
    evaluation.warnings().iter().any(|w| w.code == code)
}

#[test]
fn a_wedge_far_from_its_stated_temperature_is_warned_of() {
    for (celsius, warned) in [(8.0, false), (39.0, false), (41.0, true), (90.0, true)] {
        assert_eq!(
            has(&at(celsius, ""), "wedge-temperature"),
            warned,
            "{celsius}"
        );
    }
    // said where it is stated, and where its reference is near
    assert!(!has(
        &at(90.0, "wedge_temperature = \"70 degC\""),
        "wedge-temperature"
    ));
    // at 90 degC a wedge of plastic matters by percents on the geometric basis
    let hot = at(90.0, "");
    let warnings = hot.warnings();
    let words = &warnings
        .iter()
        .find(|w| w.code == "wedge-temperature")
        .expect("warning")
        .words;
    assert!(
        words.contains("+70 K from the temperature of the wedge"),
        "{words}"
    );
    let warm = at(90.0, "wedge_temperature = \"90 degC\"");
    let change = warm.estimate() / hot.estimate() - 1.0;
    assert!((0.02..0.12).contains(&change.abs()), "{change}");
    assert!(
        words.contains(&format!("would be {:+.1} % different", 100.0 * change)),
        "{words}"
    );
}

#[test]
fn a_wedge_without_a_slope_has_that_of_plastics_and_its_uncertainty() {
    let own = at(60.0, "wedge_temperature = \"60 degC\"");
    let line = own
        .budget
        .lines
        .iter()
        .find(|line| line.input.name() == "path.wedge_sound_speed_per_kelvin");
    let line = line.expect("a line");
    assert_eq!(line.input.estimate(), -1.9);
    // from the shear wave in PEEK to the longitudinal wave in PMMA
    assert_relative(
        line.input.standard_uncertainty(),
        1.1 / 3f64.sqrt(),
        1e-12,
        "u",
    );
    assert!(line.contribution.abs() > 0.0);
    let stated = "wedge_temperature = \"60 degC\"\nwedge_sound_speed_per_kelvin = \"-1.9 m/s/K\"";
    assert_eq!(at(60.0, stated).estimate(), own.estimate());
}

#[test]
fn a_survey_at_another_temperature_is_warned_of() {
    for (celsius, warned) in [(8.0, false), (39.0, false), (41.0, true), (90.0, true)] {
        assert_eq!(
            has(&at(celsius, ""), "survey-temperature"),
            warned,
            "{celsius}"
        );
    }
    let text = with(
        &demo("site.toml"),
        "[pipe]",
        "[pipe]\nsurvey_temperature = \"20 degC\"\nexpansion = \"12 ppm/K\"",
    );
    let text = with(&text, "basis = \"timed\"", "basis = \"geometric\"");
    let readings = Readings::from_columns([
        ("time_difference_ns", &[800.0, 801.0][..]),
        ("temperature_degC", &[90.0, 90.0][..]),
    ]);
    let found = evaluate(&text, &readings.expect("readings")).expect("an evaluation");
    assert!(!has(&found, "survey-temperature"));
}
