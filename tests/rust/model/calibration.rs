//! What a calibration covers counts once.

use crate::support::{demo_readings, evaluate, plain_demo, with};
use flowdoubt::evaluate::Evaluation;
use flowdoubt::site::Site;

/// The plain demonstration, which does not say what its calibration covers.
fn undecided() -> String {
    with(&plain_demo(), "calibration_covers = []\n", "")
}

fn demo_with(meter: &str) -> Evaluation {
    let text = with(&undecided(), "[meter]", &format!("[meter]\n{meter}"));
    evaluate(&text, &demo_readings()).expect("an evaluation")
}

fn uncertainty(evaluation: &Evaluation, name: &str) -> f64 {
    let lines = &evaluation.budget.lines;
    let line = lines.iter().find(|line| line.input.name() == name);
    line.expect("a line").input.standard_uncertainty()
}

#[test]
fn what_the_calibration_covers_has_no_uncertainty_besides_that_of_its_factor() {
    let apart = demo_with("");
    let sensors = [
        "path.wedge_angle",
        "path.wedge_sound_speed",
        "meter.wedge_delay",
    ];
    let covered = demo_with("calibration_covers = [\"sensors\"]");
    for name in sensors {
        assert!(uncertainty(&apart, name) > 0.0, "{name}");
        assert_eq!(uncertainty(&covered, name), 0.0, "{name}");
        let lines = &covered.budget.lines;
        let line = lines
            .iter()
            .find(|line| line.input.name() == name)
            .expect("a line");
        let said = "uncertainty covered by meter.calibration_factor";
        assert!(
            line.input.evidence().contains(said),
            "{}",
            line.input.evidence()
        );
    }
    let delay = "meter.electronics_delay";
    assert_eq!(uncertainty(&covered, delay), uncertainty(&apart, delay));
    assert_eq!(covered.estimate(), apart.estimate());
    // what is left is what the other inputs make: variances of the covered lines fall away
    let squares = |e: &Evaluation| e.standard_uncertainty() * e.standard_uncertainty();
    let of = |name: &str| {
        let lines = &apart.budget.lines;
        let line = lines
            .iter()
            .find(|line| line.input.name() == name)
            .expect("a line");
        line.contribution * line.contribution
    };
    let fallen: f64 = sensors.map(of).iter().sum();
    let expected = squares(&apart) - fallen;
    assert!((squares(&covered) / expected - 1.0).abs() < 1e-9);
    let both = demo_with("calibration_covers = [\"sensors\", \"electronics\"]");
    assert_eq!(uncertainty(&both, delay), 0.0);
}

#[test]
fn a_flow_outside_the_calibration_is_warned_of() {
    let has = |meter: &str| {
        let warnings = demo_with(meter).warnings();
        warnings.iter().any(|w| w.code == "calibration-range")
    };
    assert!(has("calibration_reynolds = [1e4, 1e5]"));
    assert!(!has("calibration_reynolds = [1e4, 1e7]"));
}

#[test]
fn what_cannot_be_is_refused() {
    let refused = |text: &str| {
        Site::from_toml(text, "site.toml")
            .expect_err("refused")
            .to_string()
    };
    let with_meter = |lines: &str| with(&undecided(), "[meter]", &format!("[meter]\n{lines}"));
    let falling = refused(&with_meter("calibration_reynolds = [1e5, 1e4]"));
    assert!(falling.contains("meter.calibration_reynolds"), "{falling}");
    let unknown = refused(&with_meter("calibration_covers = [\"cables\"]"));
    assert!(
        unknown.contains("sensors") && unknown.contains("electronics"),
        "{unknown}"
    );
    // the couplant in the delay of the wedges and as a layer
    let text = with(&undecided(), "[path]", "[path]\ncouplant = \"0.1 mm\"");
    let twice = refused(&text);
    assert!(
        twice.contains("path.couplant: stated beside meter.wedge_delay"),
        "{twice}"
    );
    let said = with(
        &text,
        "[meter]",
        "[meter]\nwedge_delay_covers_couplant = true",
    );
    assert!(refused(&said).contains("which has it"));
    let alone = with(
        &text,
        "[meter]",
        "[meter]\nwedge_delay_covers_couplant = false",
    );
    Site::from_toml(&alone, "site.toml").expect("once");
}

#[test]
fn a_factor_beside_what_it_may_cover_is_warned_of_until_the_file_says() {
    let code = "calibration-coverage";
    let words = |text: &str| {
        let found = evaluate(text, &demo_readings()).expect("an evaluation");
        let warnings = found.warnings().into_iter();
        let own = warnings.filter(|w| w.code == code).map(|w| w.words);
        own.collect::<Vec<String>>()
    };
    let told = words(&undecided()).swap_remove(0);
    // by hand: the shares of wedge and electronics in the budget
    let found = evaluate(&undecided(), &demo_readings()).expect("an evaluation");
    let names = [
        "path.wedge_",
        "meter.electronics_delay",
        "meter.wedge_delay",
    ];
    let lines = found.budget.lines.iter();
    let own = lines.filter(|l| names.iter().any(|name| l.input.name().starts_with(name)));
    let share: f64 = own.map(|line| line.share).sum();
    assert!(share > 0.1, "{share}");
    assert!(
        told.starts_with(&format!("{:.0} % of the variance", 100.0 * share)),
        "{told}"
    );
    for said in ["[]", "[\"sensors\"]", "[\"sensors\", \"electronics\"]"] {
        let line = format!("[meter]\ncalibration_covers = {said}");
        assert!(
            words(&with(&undecided(), "[meter]", &line)).is_empty(),
            "{said}"
        );
    }
    // an exact factor has nothing that could count twice
    let uncertain = ", expanded_uncertainty = \"0.90 %\", coverage_factor = 2, dof = 50";
    assert!(words(&with(&undecided(), uncertain, "")).is_empty());
}
