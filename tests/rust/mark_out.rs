//! Where the sensors go: against plane trigonometry and against evaluations of moved sensors.

use crate::site::{BASE, site};
use crate::support::{assert_refused, assert_relative, demo, slope, with};
use flowdoubt::acoustics::{
    Geometry, Layer, Path, slowness_of_spacing, time_difference_of_velocity, velocity_from_geometry,
};
use flowdoubt::evaluate::Readings;
use flowdoubt::liquid::water;
use flowdoubt::mark_out::{Conditions, MarkOut, inch_fraction};
use flowdoubt::model::AngleFrom;
use flowdoubt::site::Site;
use flowdoubt::{Error, Result};
use proptest::prelude::*;
use std::f64::consts::PI;

fn try_mark_out(text: &str, conditions: Conditions) -> Result<MarkOut> {
    Site::from_toml(text, "site.toml")?.mark_out(&conditions)
}

#[track_caller]
fn mark_out(text: &str) -> MarkOut {
    try_mark_out(text, Conditions::default()).unwrap_or_else(|e| panic!("{e}\n{text}"))
}

/// Sound speed of the water of the base in m/s.
fn sound_speed() -> f64 {
    water::sound_speed(293.15, 5e5)
}

/// The path of the base by hand: sines by Snell's law, then tangents and cosines.
struct ByHand {
    spacing: f64,
    time_in_liquid: f64,
    dead_time: f64,
    run_in_liquid: f64,
    /// Change of the spacing with the wall, the outside diameter kept.
    spacing_by_wall: f64,
}

fn by_hand(traverses: f64, liner: f64) -> ByHand {
    let (d, e, c_p, c_l, c_f) = (0.1683, 0.00711, 3230.0, 2300.0, sound_speed());
    let a = libm::sin(40_f64.to_radians()) / 2430.0;
    let [p, l, f] = [c_p, c_l, c_f].map(|c| libm::asin(a * c));
    let bore = d - 2.0 * (e + liner);
    ByHand {
        spacing: 2.0 * e * libm::tan(p)
            + 2.0 * liner * libm::tan(l)
            + traverses * bore * libm::tan(f),
        time_in_liquid: traverses * bore / (c_f * libm::cos(f)),
        dead_time: 16e-6 + 2.0 * e / (c_p * libm::cos(p)) + 2.0 * liner / (c_l * libm::cos(l)),
        run_in_liquid: traverses * bore * libm::tan(f),
        spacing_by_wall: 2.0 * libm::tan(p) - 2.0 * traverses * libm::tan(f),
    }
}

fn square(x: f64) -> f64 {
    x * x
}

const LINER: [(&str, &str); 2] = [
    ("pipe", "liner = \"3 mm\""),
    ("pipe", "liner_sound_speed = \"2300 m/s\""),
];

/// A direct path with `n` traverses, or a reflected one.
fn traverses(text: &str, n: u32) -> String {
    with(text, "traverses = 2", &format!("traverses = {n}"))
}

#[test]
fn spacing_is_that_of_plane_trigonometry() {
    for n in 1..=4 {
        for (lines, liner) in [(&[][..], 0.0), (&LINER[..], 3e-3)] {
            let found = mark_out(&traverses(&site(lines), n));
            let expected = by_hand(f64::from(n), liner).spacing;
            assert_relative(found.spacing.estimate, expected, 1e-13, "spacing");
            // stated without uncertainty, so that the formulation of water leaves the only one
            let left: Vec<&str> = found.spacing.lines.iter().map(|l| l.input.name()).collect();
            assert!(left.contains(&"liquid.sound_speed_formulation"), "{left:?}");
            assert!(!left.contains(&"meter.wedge_delay"), "{left:?}");
        }
    }
}

#[test]
fn half_circumference_is_the_offset_of_a_direct_path_only() {
    for n in 1..=4 {
        let found = mark_out(&traverses(BASE, n));
        let half = PI * 0.1683 / 2.0;
        assert_relative(found.half_circumference.estimate, half, 1e-15, "half");
        assert_relative(found.circumference.estimate, 2.0 * half, 1e-15, "whole");
        let direct = n % 2 == 1;
        assert_eq!(found.is_direct(), direct);
        let offset = if direct {
            found.half_circumference.estimate
        } else {
            0.0
        };
        assert_eq!(found.offset_round_pipe(), offset);
    }
}

#[test]
fn uncertainty_of_the_spacing_is_propagated() {
    let wall = "wall = \"7.11 mm\"";
    let uncertain = "wall = { value = \"7.11 mm\", standard_uncertainty = \"0.2 mm\", dof = 9 }";
    let exact = "sound_speed_formulation = \"1\"";
    let text = with(&site(&[("liquid", exact)]), wall, uncertain);
    for n in [1, 2] {
        let found = mark_out(&traverses(&text, n)).spacing;
        let u = 0.2e-3 * by_hand(f64::from(n), 0.0).spacing_by_wall.abs();
        assert_relative(found.standard_uncertainty, u, 1e-10, "u(s)");
        assert_relative(found.effective_dof, 9.0, 1e-9, "degrees of freedom");
    }
    // half the circumference has half its uncertainty
    let diameter = "outside_diameter = \"168.3 mm\"";
    let tape = "outside_circumference = { value = \"529 mm\", half_width = \"1 mm\", shape = \"rectangular\" }";
    let found = mark_out(&with(BASE, diameter, tape));
    let u = 0.5e-3 / 3_f64.sqrt();
    assert_relative(found.half_circumference.estimate, 0.2645, 1e-14, "half");
    let of_half = found.half_circumference.standard_uncertainty;
    assert_relative(of_half, u, 1e-12, "u of the half");
}

#[test]
fn a_given_temperature_and_its_uncertainty_act_through_the_sound_speed() {
    let text = with(BASE, "temperature = \"20 degC\"\n", "");
    let at = |kelvin: f64, u: f64| {
        let conditions = Conditions {
            temperature: Some(kelvin),
            temperature_standard_uncertainty: u,
            ..Conditions::default()
        };
        try_mark_out(&text, conditions).expect("marked out")
    };
    assert_eq!(
        at(293.15, 0.0).spacing.estimate,
        mark_out(BASE).spacing.estimate
    );
    let per_kelvin = slope(|t| at(t, 0.0).spacing.estimate, 293.15, 0.5);
    let (sharp, wide) = (at(293.15, 0.0).spacing, at(293.15, 2.0).spacing);
    let added = square(wide.standard_uncertainty) - square(sharp.standard_uncertainty);
    assert_relative(
        added.sqrt(),
        2.0 * per_kelvin.abs(),
        1e-7,
        "u from the temperature",
    );
}

/// The readings that a path velocity of 1 m/s makes at the base, by hand.
fn readings_by_hand(traverses: f64) -> Readings {
    let path = by_hand(traverses, 0.0);
    let c = sound_speed();
    let transit = 1e6 * (path.time_in_liquid + path.dead_time);
    let difference = 1e9 * 2.0 * path.run_in_liquid / (c * c - 1.0);
    let columns = [
        ("time_difference_ns", [difference; 2]),
        ("transit_time_us", [transit; 2]),
    ];
    Readings::from_columns(columns.iter().map(|(name, v)| (*name, v.as_slice()))).expect("readings")
}

/// Flow by an evaluation of those readings, with keys added to the path.
fn flow(text: &str, keys: &str, traverses: f64) -> f64 {
    let text = with(text, "[path]\n", &format!("[path]\n{keys}\n"));
    let site = Site::from_toml(&text, "site.toml").unwrap_or_else(|e| panic!("{e}\n{text}"));
    let evaluation = site.evaluate(&readings_by_hand(traverses));
    evaluation
        .unwrap_or_else(|e| panic!("{e}\n{text}"))
        .estimate()
}

#[test]
fn tolerance_along_the_pipe_is_that_of_a_moved_spacing() {
    for (basis, n) in [("timed", 1), ("timed", 2), ("geometric", 2)] {
        let text = with(BASE, "basis = \"timed\"", &format!("basis = \"{basis}\""));
        let text = traverses(&text, n);
        let found = mark_out(&text);
        let spacing = found.spacing.estimate;
        let placed = |axial: f64| {
            let keys = format!(
                "angle_from = \"spacing\"\nspacing = \"{} m\"",
                spacing + axial
            );
            flow(&text, &keys, f64::from(n))
        };
        let expected = slope(placed, 0.0, 1e-3) / placed(0.0);
        let sensitivity = found.axial_sensitivity(AngleFrom::Spacing).expect("known");
        assert_relative(sensitivity, expected, 1e-6, "relative slope in 1/m");
        let by_one_mm = found.flow_change(AngleFrom::Spacing, 1e-3, 0.0);
        let by_one_mm = by_one_mm.expect("a change");
        assert_relative(by_one_mm, placed(1e-3) / placed(0.0) - 1.0, 1e-8, "1 mm");
        // in a wide beam the spacing has no part in the flow
        assert_eq!(found.axial_sensitivity(AngleFrom::Wedge), Some(0.0));
        let none = found.flow_change(AngleFrom::Wedge, 1e-3, 0.0);
        assert_eq!(none.expect("no change"), 0.0);
    }
}

#[test]
fn tolerance_round_the_pipe_is_that_of_a_misplaced_sensor() {
    for n in [1, 2] {
        let text = traverses(BASE, n);
        let found = mark_out(&text);
        let n = f64::from(n);
        let misplaced = flow(&text, "circumferential_misplacement = \"8 mm\"", n);
        let expected = misplaced / flow(&text, "", n) - 1.0;
        let change = found
            .flow_change(AngleFrom::Wedge, 0.0, 8e-3)
            .expect("a change");
        assert!(expected.abs() > 1e-5, "{expected}");
        // the factor on the axis and that of a chord are two sums, which agree within 1e-8
        assert!((change - expected).abs() < 1e-7, "{change} {expected}");
        // no sign in it: a mirror changes nothing
        let mirrored = found
            .flow_change(AngleFrom::Wedge, 0.0, -8e-3)
            .expect("a change");
        assert_relative(mirrored, change, 1e-9, "mirrored");
    }
}

#[test]
fn the_circumference_is_that_of_the_pipe_as_it_is() {
    // an oval by callipers: Ramanujan's second formula for the perimeter of an ellipse, from memory
    let text = site(&[("pipe", "ovality = \"4 %\"")]);
    let (a, b): (f64, f64) = (0.1683 * 1.02 / 2.0, 0.1683 * 0.98 / 2.0);
    let h = square((a - b) / (a + b));
    let perimeter = PI * (a + b) * (1.0 + 3.0 * h / (10.0 + (4.0 - 3.0 * h).sqrt()));
    let found = mark_out(&text).circumference.estimate;
    assert_relative(found, perimeter, 1e-12, "perimeter");
    // by tape the circumference is what the tape says, however oval the pipe
    let tape = with(
        &text,
        "outside_diameter = \"168.3 mm\"",
        "outside_circumference = \"529 mm\"",
    );
    assert_relative(mark_out(&tape).circumference.estimate, 0.529, 1e-15, "tape");
    // surveyed cold, in operation 60 K hotter
    let grown = site(&[
        ("pipe", "survey_temperature = \"-40 degC\""),
        ("pipe", "expansion = \"1.2e-5 1/K\""),
    ]);
    let found = mark_out(&grown).circumference.estimate;
    let expected = PI * 0.1683 * (1.0 + 1.2e-5 * 60.0);
    assert_relative(found, expected, 1e-14, "grown");
}

#[test]
fn a_stated_spacing_decides_where_the_ray_follows_from_it() {
    let placed = |from: &str, mm: f64| {
        let keys = format!("angle_from = \"{from}\"\nspacing = \"{mm} mm\"");
        mark_out(&with(BASE, "[path]\n", &format!("[path]\n{keys}\n")))
    };
    let wedge = by_hand(2.0, 0.0).spacing;
    let found = placed("spacing", 150.0);
    assert_relative(found.spacing.estimate, 0.150, 1e-12, "spacing");
    let difference = found.wedge_less_placed.as_ref().expect("both are stated");
    assert!((difference.estimate - (wedge - 0.150)).abs() < 1e-12);
    let codes: Vec<&str> = found.warnings.iter().map(|w| w.code).collect();
    assert_eq!(codes, ["spacings-differ"]);
    assert!(found.warnings[0].words.contains("mm larger than"));
    let found = placed("wedge", 150.0);
    assert_relative(found.spacing.estimate, wedge, 1e-13, "spacing");
    assert_relative(found.placed.expect("stated"), 0.150, 1e-15, "as placed");
    assert!(found.in_words().contains("axial spacing stated as placed"));
    assert!(placed("wedge", 1e3 * wedge).warnings.is_empty());
}

#[test]
fn sensors_that_overlap_are_seen() {
    let text = site(&[("path", "sensor_length = \"200 mm\"")]);
    let found = mark_out(&text);
    let gap = by_hand(2.0, 0.0).spacing - 0.2;
    assert!(gap < 0.0 && (found.gap().expect("known") - gap).abs() < 1e-14);
    assert_eq!(found.warnings[0].code, "sensors-overlap");
    // opposite each other they have room
    let found = mark_out(&traverses(&text, 1));
    assert_eq!(found.gap(), None);
    assert!(found.warnings.is_empty());
}

#[test]
fn an_indicated_site_is_marked_out_where_its_path_is_known() {
    let text = with(BASE, "basis = \"timed\"", "basis = \"indicated\"")
        + "[meter.programmed]\nprofile_factor = 1.0\n";
    let found = mark_out(&text);
    assert_eq!(found.spacing.estimate, mark_out(BASE).spacing.estimate);
    // the meter is told of the sensors as marked out: it divides by their slowness and takes off the
    // dead time of their ray; besides, the profile factor falls by about a hundredth of what the flow
    // rises
    let layers = [Layer {
        thickness: 7.11e-3,
        sound_speed: 3230.0,
    }];
    let geometry = Geometry {
        layers: &layers,
        chord: 0.1683 - 2.0 * 7.11e-3,
        liquid_sound_speed: sound_speed(),
        traverses: 2,
    };
    let slowness = |s: f64| slowness_of_spacing(&geometry, s);
    let spacing = found.spacing.estimate;
    let dead_time = |a: f64| Path::trace(&geometry, a).time_in_layers;
    let marked_out = dead_time(slowness(spacing));
    let velocity = |s: f64| {
        let a = slowness(s);
        let time = Path::trace(&geometry, a).time_in_liquid;
        (time + dead_time(a) - marked_out) / (a * time)
    };
    let expected = slope(velocity, spacing, 1e-3) / velocity(spacing);
    let shown = found.axial_sensitivity(AngleFrom::Spacing);
    assert_relative(shown.expect("known"), expected, 0.02, "slope");
    for (key, words) in [
        ("wedge_angle = \"40 deg\"\n", "path.wedge_angle: missing"),
        (
            "wall_sound_speed = \"3230 m/s\"\n",
            "pipe.wall_sound_speed: missing",
        ),
    ] {
        let unknown = with(&text, key, "");
        let parts = [words, "since the sound path rests on it"];
        let refused = try_mark_out(&unknown, Conditions::default());
        assert_refused(refused, "missing", &parts);
    }
    let layer = format!("{text}[[pipe.layer]]\nthickness = \"2 mm\"\n");
    let refused = try_mark_out(&layer, Conditions::default());
    assert_refused(refused, "missing", &["pipe.layer[1].sound_speed: missing"]);
}

#[test]
fn correlations_with_readings_wait_for_them() {
    let text = demo("site.toml")
        + "[[correlation]]\nbetween = [\"readings.transit_time\", \"meter.cable_delay\"]\n\
           coefficient = 0.1\n";
    let conditions = Conditions {
        temperature: Some(281.4),
        ..Conditions::default()
    };
    let found = try_mark_out(&text, conditions).expect("marked out");
    let without = try_mark_out(&demo("site.toml"), conditions).expect("marked out");
    assert_eq!(found.spacing, without.spacing);
    assert_ne!(found.site_digest, without.site_digest);
}

#[test]
fn what_cannot_be_marked_out_is_refused() {
    let at = |temperature: Option<f64>, u: f64| Conditions {
        temperature,
        temperature_standard_uncertainty: u,
        velocity: 1.0,
    };
    let refused = |text: &str, conditions: Conditions, code: &str, parts: &[&str]| -> Error {
        assert_refused(try_mark_out(text, conditions), code, parts)
    };
    let (none, some) = (at(None, 0.0), at(Some(293.15), 0.0));
    let open = with(BASE, "temperature = \"20 degC\"\n", "");
    let parts = ["temperature: missing", "the argument temperature"];
    refused(&open, none, "missing", &parts);
    refused(
        BASE,
        some,
        "conflict",
        &["stated liquid.temperature", "one of the two"],
    );
    let stated = with(
        &open,
        "kind = \"water\"",
        "kind = \"stated\"\nkinematic_viscosity = \"1 mm2/s\"\nsound_speed = \"1480 m/s\"",
    );
    refused(&stated, some, "conflict", &["whose properties are stated"]);
    assert!(try_mark_out(&stated, none).is_ok());
    let boiling = at(Some(500.0), 0.0);
    assert!(try_mark_out(&open, boiling).is_err());
    let below_zero = at(Some(293.15), -1.0);
    refused(
        &open,
        below_zero,
        "out-of-range",
        &["liquid.temperature", "-1"],
    );
    for velocity in [0.0, -1.0, f64::NAN, 31.0] {
        let conditions = Conditions { velocity, ..none };
        refused(
            BASE,
            conditions,
            "out-of-range",
            &["velocity", "above 0 to 30 m/s"],
        );
    }
    let thick = with(BASE, "wall = \"7.11 mm\"", "wall = \"84.2 mm\"");
    refused(
        &thick,
        none,
        "out-of-range",
        &["pipe.inside_diameter", "radius"],
    );
    let steep = with(BASE, "40 deg", "50 deg");
    refused(
        &steep,
        none,
        "total-reflection",
        &["wedge to wall", "wedge angle below"],
    );

    let found = mark_out(BASE);
    let beyond = found.flow_change(AngleFrom::Spacing, -0.2, 0.0);
    assert_refused(beyond, "out-of-range", &["axial", "negative spacing"]);
    let round = found.flow_change(AngleFrom::Wedge, 0.0, 0.2);
    assert_refused(round, "out-of-range", &["round_pipe", "0.7 of the radius"]);
    let no_wedge = with(
        BASE,
        "wedge_angle = \"40 deg\"\nwedge_sound_speed = \"2430 m/s\"\n",
        "angle_from = \"spacing\"\nspacing = \"160 mm\"\n",
    );
    let found = mark_out(&no_wedge);
    assert_eq!(found.axial_sensitivity(AngleFrom::Wedge), None);
    let unknown = found.flow_change(AngleFrom::Wedge, 1e-3, 0.0);
    assert_refused(unknown, "missing", &["path.wedge_angle: missing"]);
}

#[test]
fn words_have_both_systems_of_units() {
    let text = mark_out(BASE).in_words();
    let spacing = by_hand(2.0, 0.0).spacing;
    assert!(text.contains(&format!("{:.1} mm", 1e3 * 0.1683)), "{text}");
    assert!(text.contains(&inch_fraction(spacing, 32)), "{text}");
    assert!(text.contains("68.0 degF"), "{text}");
    assert!(
        text.contains("reflected: both sensors on one line"),
        "{text}"
    );
}

/// A fraction such as `3 15/16 in` as a number of inches.
fn inches(text: &str) -> f64 {
    let text = text.strip_suffix(" in").expect("unit");
    let part = |text: &str| match text.split_once('/') {
        Some((over, under)) => {
            let [over, under] = [over, under].map(|n| n.parse::<f64>().expect("number"));
            assert!(over % 2.0 == 1.0 && over < under, "{text} is not reduced");
            over / under
        }
        None => text.parse().expect("number"),
    };
    text.split(' ').map(part).sum()
}

proptest! {
    #[test]
    fn fractions_of_inches_are_the_nearest(length in 0.0..3.0_f64, power in 1_u32..=6) {
        let parts = 1 << power;
        let found = inches(&inch_fraction(length, parts));
        let distance = (found - length / 0.0254).abs();
        prop_assert!(distance <= 0.5 / f64::from(parts) + 1e-12, "{found}");
    }

    #[test]
    fn a_time_difference_gives_its_velocity_back(
        velocity in -20.0..20.0_f64,
        bore in 0.02..3.0_f64,
        slowness in 5e-5..6e-4_f64,
        traverses in 1_u32..=4,
    ) {
        let c = 1480.0;
        let layers = [Layer { thickness: 5e-3, sound_speed: 1500.0 }];
        let geometry = Geometry { layers: &layers, chord: bore, liquid_sound_speed: c, traverses };
        let path = Path::trace(&geometry, slowness);
        let difference = time_difference_of_velocity(velocity, &path, c);
        let found = velocity_from_geometry(difference, &path, c);
        prop_assert!((found - velocity).abs() <= 1e-12 * velocity.abs() + 1e-15);
    }

    #[test]
    fn marks_grow_with_the_pipe(scale in 0.3..6.0_f64, n in 1_u32..=4) {
        let scaled = with(BASE, "168.3 mm", &format!("{} mm", 168.3 * scale));
        let scaled = with(&scaled, "7.11 mm", &format!("{} mm", 7.11 * scale));
        let (small, large) = (mark_out(&traverses(BASE, n)), mark_out(&traverses(&scaled, n)));
        for (one, other) in [
            (small.spacing.estimate, large.spacing.estimate),
            (small.circumference.estimate, large.circumference.estimate),
        ] {
            prop_assert!((other / one / scale - 1.0).abs() < 1e-9, "{one} {other}");
        }
    }
}
