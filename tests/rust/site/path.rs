//! Chords, wedges, cables, sensors placed by their spacing: each against the physics functions called one
//! by one.

use super::{BASE, evaluated, readings, site};
use crate::support::{assert_refused, assert_relative, evaluate, slope, with};
use flowdoubt::acoustics::{chord_length, offset_of_misplacement};
use flowdoubt::profile::chord_factor;
use flowdoubt::site::Site;

#[test]
fn a_path_off_the_centre_is_shorter() {
    let keys = "chord_offset = \"2 mm\"\ncircumferential_misplacement = \"5 mm\"";
    let found = evaluated(&site(&[("path", keys)]));
    let bore = 0.1683 - 2.0 * 7.11e-3;
    let offset = 2e-3 + offset_of_misplacement(5e-3, 0.1683, bore, 2);
    assert_relative(found.steps.chord_offset, offset, 1e-15, "offset");
    assert_relative(
        found.steps.chord,
        chord_length(bore, offset),
        1e-15,
        "chord",
    );
    // the factor is that of the chord, which sees less of the fast middle
    let steps = &found.steps;
    let share = 2.0 * offset / bore;
    let choices = found.model.choices();
    let k = chord_factor(steps.reynolds, 0.0, share, choices.law, choices.friction);
    assert_relative(steps.profile_factor, k, 1e-12, "factor");
    assert!(steps.profile_factor > evaluated(BASE).steps.profile_factor);
    // to the other side it is the same
    let mirrored = "chord_offset = \"-2 mm\"\ncircumferential_misplacement = \"-5 mm\"";
    let mirrored = evaluated(&site(&[("path", mirrored)]));
    assert_eq!(mirrored.estimate().to_bits(), found.estimate().to_bits());
    let wide = site(&[("path", "chord_offset = \"90 mm\"")]);
    let parts = ["path.chord_offset: found 0.09 m", "0.7 of the radius"];
    assert_refused(evaluate(&wide, &readings()), "out-of-range", &parts);
}

#[test]
fn wedges_cables_and_walls_have_their_temperature_and_length() {
    let keys = "wedge_temperature = \"50 degC\"\nwedge_reference_temperature = \"25 degC\"\n\
                wedge_sound_speed_per_kelvin = \"-2.4 m/(s K)\"";
    let warm = evaluated(&site(&[
        ("path", keys),
        ("meter", "cable_length = \"20 m\""),
    ]));
    let slowness = libm::sin(40.0_f64.to_radians()) / (2430.0 - 2.4 * 25.0);
    assert_relative(warm.steps.path.axial_slowness, slowness, 1e-15, "slowness");
    let layers = warm.steps.path.time_in_layers;
    // 5 ns/m where nothing else is said
    assert_relative(
        warm.steps.dead_time,
        16e-6 + 100e-9 + layers,
        1e-14,
        "cable",
    );
    let keys = "wall_sound_speed_per_kelvin = \"-0.5 m/(s K)\"\nwall_temperature = \"80 degC\"";
    let wall = evaluated(&site(&[("pipe", keys)]));
    let sine = libm::sin(40.0_f64.to_radians()) / 2430.0 * (3230.0 - 0.5 * 60.0);
    assert_relative(wall.steps.wall_sine, sine, 1e-15, "wall");
    let hot = with(&site(&[("path", keys_of_hot())]), "[pipe]", "[pipe]\n");
    let parts = ["wedge to wall: no refracted ray"];
    assert_refused(evaluate(&hot, &readings()), "total-reflection", &parts);
}

/// A wedge so cold and fast, with such a coefficient, that no ray enters the wall.
fn keys_of_hot() -> &'static str {
    "wedge_temperature = \"220 degC\"\nwedge_sound_speed_per_kelvin = \"-3 m/(s K)\""
}

#[test]
fn spacing_and_wedge_tell_the_same_when_they_fit() {
    let wedge = evaluated(BASE);
    let spacing = wedge.steps.path.spacing;
    let placed = format!("spacing = \"{spacing:e} m\"");
    let both = |more: &str| site(&[("path", &format!("{placed}{more}"))]);
    let by_spacing = evaluated(&both("\nangle_from = \"spacing\""));
    assert_relative(by_spacing.estimate(), wedge.estimate(), 1e-13, "flow");
    let found = by_spacing.placement().expect("placement").expect("a path");
    assert_relative(
        found.other_flow.expect("wedge"),
        wedge.estimate(),
        1e-13,
        "other",
    );
    assert_eq!(
        wedge
            .placement()
            .expect("placement")
            .expect("a path")
            .other_flow,
        None
    );
    // what 1 mm of spacing costs: by moving a sensor
    let moved = |metres: f64| {
        let text = format!(
            "spacing = \"{:e} m\"\nangle_from = \"spacing\"",
            spacing + metres
        );
        evaluated(&site(&[("path", &text)])).estimate()
    };
    let slope = slope(moved, 0.0, 1e-4) / wedge.estimate();
    assert_relative(
        found.relative_sensitivity.expect("flow"),
        slope,
        1e-8,
        "sensitivity",
    );
    let of_wedge = wedge.placement().expect("placement").expect("a path");
    assert_relative(
        of_wedge.relative_sensitivity.expect("flow"),
        slope,
        1e-8,
        "from the wedge",
    );
    let words = by_spacing.in_words().expect("words");
    let per_millimetre = format!("1 mm more would change the flow by {:+.3} %", 0.1 * slope);
    assert!(words.contains(&per_millimetre), "{words}");
    assert!(
        words.contains("angle of the ray from the wedge: flow +0.00 %"),
        "{words}"
    );

    // 4 mm off: the wedge does not notice, the report does
    let off =
        evaluated(&both("").replace(&placed, &format!("spacing = \"{:e} m\"", spacing + 4e-3)));
    assert_eq!(off.estimate().to_bits(), wedge.estimate().to_bits());
    assert!(off.warnings().iter().any(|w| w.code == "angles-differ"));
    let none = site(&[("path", "angle_from = \"spacing\"")]);
    let parts = ["path.spacing: missing", "angle_from = \"spacing\""];
    assert_refused(Site::from_toml(&none, "site.toml"), "missing", &parts);
    // no wedge is needed then
    let bare = with(
        &both("\nangle_from = \"spacing\""),
        "wedge_angle = \"40 deg\"\n",
        "",
    );
    let bare = with(&bare, "wedge_sound_speed = \"2430 m/s\"\n", "");
    assert_eq!(evaluated(&bare).estimate(), by_spacing.estimate());
}
