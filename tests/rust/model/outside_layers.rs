//! Paint, rust and scale on the wall: in what was measured over them, and in the sound path.

use crate::site::{readings, site};
use crate::support::{assert_refused, assert_relative, evaluate, with};
use flowdoubt::acoustics::{Aim, Layer, LayeredPipe};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::site::Site;
use std::f64::consts::PI;

const OUTSIDE: &str = "outside_diameter = \"168.3 mm\"";

/// 0.4 mm of paint under the tape, in the wall reading, and under the sensors, unless keys say
/// otherwise.
fn painted(keys: &str) -> String {
    let keys = if keys.is_empty() {
        "measured_over = [\"outside_dimension\", \"wall\"]"
    } else {
        keys
    };
    let gauge = if keys.contains("\"wall\"") {
        "gauge_sound_speed = \"5900 m/s\""
    } else {
        "# nothing was measured through the paint"
    };
    site(&[("pipe", gauge)])
        + "[[pipe.layer]]\nname = \"paint\"\nside = \"outside\"\nthickness = { value = \"0.4 mm\", \
           half_width = \"0.1 mm\", shape = \"rectangular\", evidence = \"film gauge\" }\n\
           sound_speed = \"2400 m/s\"\n"
        + keys
        + "\n"
}

fn evaluated(text: &str) -> Evaluation {
    evaluate(text, &readings()).expect("an evaluation")
}

fn layer(thickness: f64, sound_speed: f64) -> Layer<f64> {
    Layer {
        thickness,
        sound_speed,
    }
}

/// The path of a pipe of wall and layers with the sensors of the site.
fn traced(diameter: f64, layers: Vec<Layer<f64>>) -> flowdoubt::acoustics::Path<f64> {
    let pipe = LayeredPipe {
        outside_diameter: diameter,
        couplant: None,
        layers,
        liquid_sound_speed: flowdoubt::liquid::water::sound_speed(293.15, 5e5),
        traverses: 2,
    };
    let aim = Aim::Wedge {
        angle: 40.0_f64.to_radians(),
        sound_speed: 2430.0,
    };
    pipe.trace(aim).expect("a ray").path
}

#[test]
fn what_was_measured_over_paint_is_put_right() {
    // by hand: 168.3 - 0.8 outside; 7.11 - 0.4 * 5900/2400 of wall
    let (diameter, wall) = (0.1683 - 0.8e-3, 7.11e-3 - 0.4e-3 * 5900.0 / 2400.0);
    let found = evaluated(&painted(""));
    let bore = diameter - 2.0 * wall;
    assert_relative(found.steps.inside_diameter, bore, 1e-14, "bore");
    assert_relative(found.steps.outside_diameter, diameter, 1e-14, "wall alone");
    // the tape meets the paint again
    let round = PI * 0.1683;
    assert_relative(found.steps.circumference, round, 1e-14, "circumference");
    let path = traced(0.1683, vec![layer(0.4e-3, 2400.0), layer(wall, 3230.0)]);
    let steps = &found.steps;
    assert_relative(steps.path.spacing, path.spacing, 1e-13, "spacing");
    let dead = 16e-6 + path.time_in_layers;
    assert_relative(steps.dead_time, dead, 1e-13, "dead time");
    // without a word of the paint the area is wrong by what a wall 0.58 mm too thick makes
    let bare = evaluated(&site(&[]));
    let ratio = bare.steps.area / found.steps.area;
    assert_relative(ratio, 0.15408 / bore * (0.15408 / bore), 1e-12, "area");
    assert!(ratio < 0.986, "{ratio}");
}

#[test]
fn each_dimension_is_put_right_alone() {
    let cases = [
        ("[]", 0.0, 0.0),
        ("[\"outside_dimension\"]", 0.8e-3, 0.0),
        ("[\"wall\"]", 0.0, 0.4e-3 * 5900.0 / 2400.0),
    ];
    for (over, from_diameter, from_wall) in cases {
        let text = painted(&format!("measured_over = {over}"));
        let found = evaluated(&text);
        let bore = 0.1683 - from_diameter - 2.0 * (7.11e-3 - from_wall);
        assert_relative(found.steps.inside_diameter, bore, 1e-14, over);
    }
}

#[test]
fn paint_that_was_removed_is_not_in_the_path() {
    let bare = evaluated(&site(&[]));
    let keys = "measured_over = [\"outside_dimension\"]\nunder_sensors = false";
    let text = with(&painted(keys), "sound_speed = \"2400 m/s\"\n", "");
    let removed = evaluated(&with(&text, OUTSIDE, "outside_diameter = \"169.1 mm\""));
    let (one, other) = (&removed.steps, &bare.steps);
    assert_relative(one.volume_flow, other.volume_flow, 1e-12, "flow");
    assert_relative(one.path.spacing, other.path.spacing, 1e-13, "spacing");
    assert_relative(one.circumference, PI * 0.1691, 1e-14, "circumference");
}

#[test]
fn paint_on_an_oval_warm_pipe() {
    let more = [
        ("pipe", "ovality = \"2 %\""),
        ("pipe", "survey_temperature = \"60 degC\""),
        ("pipe", "wall_temperature = \"20 degC\""),
        ("pipe", "expansion = \"12 ppm/K\""),
        ("path", "circumferential_misplacement = \"5 mm\""),
    ];
    let add = |text: String| {
        more.iter().fold(text, |text, (section, line)| {
            let head = format!("[{section}]\n");
            with(&text, &head, &format!("{head}{line}\n"))
        })
    };
    let painted = evaluated(&add(painted("")));
    // the same pipe, with wall and diameter as they would have been measured on the bare wall
    let wall = 7.11 - 0.4 * 5900.0 / 2400.0;
    let bare = with(&site(&[]), OUTSIDE, "outside_diameter = \"167.5 mm\"");
    let bare = with(&bare, "\"7.11 mm\"", &format!("\"{wall:.15} mm\""));
    let bare = evaluated(&add(bare));
    let bores = [painted.steps.inside_diameter, bare.steps.inside_diameter];
    assert_relative(bores[0], bores[1], 1e-13, "bore");
    let areas = [painted.steps.area, bare.steps.area];
    assert_relative(areas[0], areas[1], 1e-13, "area");
    // the sensors sit 0.4 mm further out, so the same misplacement turns them less
    let turned = painted.steps.chord_offset / bare.steps.chord_offset;
    let warm = 167.5 * (1.0 - 12e-6 * 40.0);
    assert_relative(turned, warm / (warm + 0.8), 1e-5, "offset");
}

#[test]
fn the_thickness_of_paint_counts_in_the_budget_by_name() {
    let found = evaluated(&painted(""));
    let lines = &found.budget.lines;
    let own = lines
        .iter()
        .find(|line| line.input.name() == "pipe.layer[1].thickness");
    let own = own.expect("a line of the budget");
    assert_eq!(own.input.evidence(), "paint: film gauge");
    let at = |thickness: &str| {
        let text = with(&painted(""), "value = \"0.4 mm\"", thickness);
        evaluated(&text).steps.volume_flow
    };
    let (thin, thick) = (at("value = \"0.399 mm\""), at("value = \"0.401 mm\""));
    let slope = (thick - thin) / 2e-6;
    assert_relative(own.sensitivity, slope, 1e-6, "sensitivity");
    let layout = found
        .model
        .layout(&found.inputs.estimates())
        .expect("a path");
    let names: Vec<&str> = layout.layers.iter().map(|l| l.name.as_str()).collect();
    assert_eq!(names, ["paint", "wall"]);
    assert_relative(layout.outside_diameter, 0.1683, 1e-14, "surface");
    // the ray begins on the paint
    assert_relative(layout.ray[0][1], 0.5 * 0.1683, 1e-14, "ray");
    // what leads to the bore stands in the worksheet
    let worksheet = format!("{:?}", found.worksheet().expect("a worksheet"));
    for equation in ["d - 2*(e_L1)", "e - c_g*(e_L1/c_L1)", "d_w - 2*e_w"] {
        assert!(worksheet.contains(equation), "{equation}");
    }
}

#[test]
fn the_gauge_is_set_to_the_longitudinal_wave_of_the_material() {
    let text = with(
        &painted(""),
        "gauge_sound_speed = \"5900 m/s\"",
        "material = \"carbon steel\"\nroughness = \"0.05 mm\"",
    );
    let found = evaluated(&text);
    let inputs = found.inputs.inputs().iter();
    let mut own = inputs.filter(|input| input.name() == "pipe.gauge_sound_speed");
    let own = own.next().expect("the sound speed of the gauge");
    assert_eq!(own.estimate(), 5900.0);
    assert!(own.evidence().contains("longitudinal wave"));
}

#[test]
fn what_a_layer_outside_lacks_or_cannot_have_is_refused() {
    let site = |text: &str| Site::from_toml(text, "site.toml");
    let whole = painted("");
    let over = "measured_over = [\"outside_dimension\", \"wall\"]\n";
    let cases = [
        (
            with(&whole, over, ""),
            "missing",
            "pipe.layer[1].measured_over",
        ),
        (
            with(&whole, "gauge_sound_speed = \"5900 m/s\"\n", ""),
            "missing",
            "pipe.gauge_sound_speed",
        ),
        (
            with(&whole, "side = \"outside\"\n", ""),
            "conflict",
            "pipe.layer[1].measured_over with side = \"outside\"",
        ),
        (
            with(&whole, "sound_speed = \"2400 m/s\"\n", ""),
            "missing",
            "pipe.layer[1].sound_speed",
        ),
        (
            painted("measured_over = []\nunder_sensors = false"),
            "conflict",
            "no sound passes the layer",
        ),
        (
            painted("measured_over = [\"wall\"]").replace(
                "wall = \"7.11 mm\"\n",
                "standard = \"ASME B36.10M\"\nsize = \"DN 150\"\nschedule = \"40\"\n",
            ),
            "conflict",
            "taken from the standard",
        ),
    ];
    for (text, code, part) in cases {
        assert_refused(site(&text), code, &[part, "site.toml:"]);
    }
    let unknown = with(&whole, "\"wall\"]", "\"liner\"]");
    assert!(site(&unknown).is_err());
    let thick = with(&whole, "value = \"0.4 mm\"", "value = \"3 mm\"");
    let refused = evaluate(&thick, &readings());
    assert_refused(
        refused,
        "out-of-range",
        &["pipe.wall", "took the layers on the wall for"],
    );
    // a gauge that measured through nothing was set to nothing that matters
    let idle = with(&whole, over, "measured_over = [\"outside_dimension\"]\n");
    let stray = ["pipe.gauge_sound_speed", "measured_over"];
    assert_refused(site(&idle), "conflict", &stray);
}

#[test]
fn what_was_programmed_is_held_against_the_wall_alone() {
    let wall = 7.11 - 0.4 * 5900.0 / 2400.0;
    let programmed = format!(
        "[meter.programmed]\nprinciple = \"timed\"\nprofile_factor = 1\ninside_diameter = \"{} mm\"\n\
         wall = \"{wall:.15} mm\"\n",
        167.5 - 2.0 * wall
    );
    let exact = with(
        &painted(""),
        "thickness = { value = \"0.4 mm\", half_width = \"0.1 mm\", shape = \"rectangular\", evidence = \"film gauge\" }",
        "thickness = \"0.4 mm\"",
    );
    let text = with(&exact, "\"timed\"", "\"indicated\"") + &programmed;
    let shown = Readings::from_columns([("volume_flow_m3_h", &[100.0, 100.1, 99.9, 100.0][..])]);
    let found = evaluate(&text, &shown.expect("readings")).expect("an evaluation");
    let checks = found.programmed_check().expect("checks");
    let own = checks
        .iter()
        .find(|check| check.parameter == "wall thickness");
    let own = own.expect("a check of the wall");
    assert_relative(own.surveyed, 1e-3 * wall, 1e-13, "wall");
    // stated twice, and so the same but for rounding
    assert!(
        checks.iter().all(|check| check.standardised == 0.0),
        "{checks:?}"
    );
    let warnings = found.warnings();
    assert!(
        !warnings.iter().any(|w| w.code == "programmed-differs"),
        "{warnings:?}"
    );
}
