//! Uncertainty, correlation and programmed parameters of a site file that contradict themselves.

use crate::site::file::{refuses, refuses_text};
use crate::support::{demo, demo_readings, evaluate, with};

const ANGLE: &str = "\"39.6 deg\", half_width = \"0.30 deg\", shape = \"triangular\"";

#[test]
fn uncertainty_that_is_not_stated_in_one_way() {
    let uncertainty = |mistake: &str, code: &str, parts: &[&str]| {
        let parts = [&["path.wedge_angle"], parts].concat();
        refuses(ANGLE, mistake, "wedge_angle", code, &parts);
    };
    let half_width = "half_width = \"0.30 deg\"";
    let rectangular = "shape = \"rectangular\"";
    let conflict = |rest: &str, parts: &[&str]| {
        uncertainty(&format!("\"39.6 deg\", {rest}"), "conflict", parts);
    };
    let ways = [
        format!("{half_width}, {rectangular}"),
        "standard_uncertainty = \"0.1 deg\"".to_owned(),
        "expanded_uncertainty = \"0.2 deg\", coverage_factor = 2".to_owned(),
    ];
    for (first, second) in [(0, 1), (1, 2), (2, 0)] {
        let both = format!("{}, {}", ways[first], ways[second]);
        let allowed = "one of standard_uncertainty, expanded_uncertainty and half_width";
        conflict(&both, &["more than one way", allowed]);
    }
    conflict(rectangular, &["shape alone", "shape with half_width"]);
    conflict(
        half_width,
        &[
            "half_width alone",
            "shape = \"rectangular\", \"triangular\" or",
        ],
    );
    conflict(
        "coverage_factor = 2",
        &["coverage_factor alone", "with expanded_uncertainty"],
    );
    conflict(
        "expanded_uncertainty = \"0.3 deg\"",
        &["expanded_uncertainty alone", "with coverage_factor"],
    );
    conflict(
        "dof = 5",
        &["dof alone", "dof with a standard or expanded uncertainty"],
    );
    conflict(
        "readings = [\"39.5 deg\", \"39.7 deg\"]",
        &["value and readings", "one of"],
    );
    let text = with(&demo("site.toml"), "value = \"39.6 deg\", ", "");
    let parts = [
        "path.wedge_angle: no estimate",
        "one of `value` and `readings`",
    ];
    refuses_text(&text, "wedge_angle", "conflict", &parts);

    for (key, found) in [
        ("standard_uncertainty = \"-0.1 deg\"", "found -0.1 deg"),
        (
            "half_width = \"-1 %\", shape = \"rectangular\"",
            "found -1 %",
        ),
        (
            "expanded_uncertainty = \"-1 deg\", coverage_factor = 2",
            "found -1 deg",
        ),
        (
            "expanded_uncertainty = \"0.2 deg\", coverage_factor = -2",
            "found -2",
        ),
        (
            "expanded_uncertainty = \"0.2 deg\", coverage_factor = nan",
            "found NaN",
        ),
        ("standard_uncertainty = \"0.1 deg\", dof = 0", "found 0"),
    ] {
        let value = format!("\"39.6 deg\", {key}");
        uncertainty(&value, "out-of-range", &[found, "allowed: "]);
    }
    let kind = [
        "path.wedge_angle.half_width",
        "`0.3 mm` is of kind length, not angle",
    ];
    uncertainty(
        "\"39.6 deg\", half_width = \"0.3 mm\", shape = \"arcsine\"",
        "wrong-dimension",
        &kind,
    );
    let shape = [
        "path.wedge_angle.shape",
        "`triangel`",
        "`triangular`",
        "rectangular, triangular",
    ];
    refuses(
        "\"triangular\"",
        "\"triangel\"",
        "wedge_angle",
        "unknown-name",
        &shape,
    );
}

#[test]
fn readings_in_the_site_file() {
    let five = "[\"1276.5 mm\", \"1277.5 mm\", \"1277.0 mm\", \"1276.0 mm\", \"1277.0 mm\"]";
    let refuses = |mistake: &str, code: &str, parts: &[&str]| {
        let parts = [&["pipe.outside_circumference"], parts].concat();
        refuses(five, mistake, "outside_circumference", code, &parts);
    };
    let own_uncertainty = format!("{five}, standard_uncertainty = \"1 mm\"");
    refuses(
        &own_uncertainty,
        "conflict",
        &["readings with an uncertainty of their own", "`instrument`"],
    );
    refuses("[\"1276.5 mm\"]", "length", &["found 1", "allowed: "]);
    refuses("[]", "length", &["found 0", "allowed: "]);
    let unit = [".readings[1]", "`1277 mn`", "unknown unit `mn`"];
    refuses("[\"1276.5 mm\", \"1277 mn\"]", "unknown-unit", &unit);
}

#[test]
fn correlations_that_cannot_be() {
    let coefficient = |c: &str| {
        let mistake = format!("coefficient = {c}");
        let parts = ["correlation.coefficient: found ", "-1 to 1"];
        refuses(
            "coefficient = 0.5",
            &mistake,
            &mistake,
            "out-of-range",
            &parts,
        );
    };
    coefficient("1.5");
    coefficient("-1.0001");
    coefficient("nan");
    let name = [
        "`meter.cabel_delay`, did you mean `meter.cable_delay`?",
        "allowed: meter.",
    ];
    refuses(
        "\"meter.cable_delay\", ",
        "\"meter.cabel_delay\", ",
        "between =",
        "unknown-name",
        &name,
    );
    let same = ["the same quantity twice", "two quantities"];
    refuses(
        "\"meter.cable_delay\", ",
        "\"meter.electronics_delay\", ",
        "between =",
        "conflict",
        &same,
    );
    let one = [
        "correlation.between: found length 1",
        "an array of length 2",
    ];
    refuses(
        "\"meter.cable_delay\", ",
        "",
        "between =",
        "wrong-type",
        &one,
    );

    let pair = |a: &str, b: &str, c: f64| {
        format!("\n[[correlation]]\nbetween = [\"meter.{a}\", \"meter.{b}\"]\ncoefficient = {c}\n")
    };
    let (electronics, cable, wedge) = ("electronics_delay", "cable_delay", "wedge_delay");
    let twice = demo("site.toml") + &pair(electronics, cable, 0.4);
    let parts = ["a pair given twice", "each pair once"];
    let again = "between = [\"meter.electronics_delay\"";
    refuses_text(&twice, again, "conflict", &parts);
    // no three quantities can be correlated by 0.5, 0.9 and -0.9
    let impossible = demo("site.toml") + &pair(cable, wedge, 0.9) + &pair(wedge, electronics, -0.9);
    let parts = [
        "correlation: not positive semi-definite",
        "eigenvalue -",
        "zero or above",
    ];
    let last = "between = [\"meter.wedge_delay\"";
    refuses_text(&impossible, last, "not-positive-semi-definite", &parts);
    let possible = impossible.replace("= -0.9", "= 0.5");
    assert!(evaluate(&possible, &demo_readings()).is_ok());
}

#[test]
fn programmed_parameters() {
    let indicated = with(&demo("site.toml"), "\"timed\"", "\"indicated\"");
    let needed = ["meter.programmed: missing", "for basis = \"indicated\""];
    refuses_text(&indicated, "basis", "missing", &needed);
    let refuses = |lines: &str, place: &str, code: &str, parts: &[&str]| {
        refuses_text(&format!("{indicated}\n{lines}"), place, code, parts);
    };
    let header = "[meter.programmed]";
    let factor = format!("{header}\ninside_diameter = \"389 mm\"");
    let range = format!("{factor}\nprofile_factor = 0.1");
    refuses(
        &range,
        "profile_factor",
        "out-of-range",
        &["found 0.1", "0.5 to 1.5"],
    );
    let diameter = format!("{header}\n# as found\ninside_diameter = \"389 m/s\"");
    let parts = ["meter.programmed.inside_diameter", "velocity, not length"];
    refuses(&diameter, "389 m/s", "wrong-dimension", &parts);
    let negative = diameter.replace("389 m/s", "-389 mm");
    refuses(
        &negative,
        "-389 mm",
        "out-of-range",
        &["found -389 mm", "above 0"],
    );
    let half = format!("{factor}\nprofile_factor = 1\nwedge_angle = \"40 deg\"");
    refuses(
        &half,
        header,
        "missing",
        &["wedge_angle and wedge_sound_speed together"],
    );
    let timed = format!("{}\n{factor}", demo("site.toml"));
    let parts = ["programmed parameters without indicated readings", "only"];
    refuses_text(&timed, header, "conflict", &parts);
}
