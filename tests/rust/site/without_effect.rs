//! Keys without effect are refused, and rays that hardly pass are warned of.

use crate::site::{BASE, evaluated, site};
use crate::support::{assert_refused, with};
use flowdoubt::site::Site;

#[test]
fn what_would_have_no_effect_is_refused() {
    for (section, line, field, partner) in [
        (
            "pipe",
            "expansion = \"12 ppm/K\"",
            "pipe.expansion",
            "pipe.survey_temperature",
        ),
        (
            "pipe",
            "poisson_ratio = \"0.3\"",
            "pipe.poisson_ratio",
            "pipe.survey_absolute_pressure",
        ),
        (
            "pipe",
            "youngs_modulus = \"200 GPa\"",
            "pipe.youngs_modulus",
            "pipe.survey_absolute_pressure",
        ),
        (
            "pipe",
            "ends = \"closed\"",
            "pipe.ends",
            "pipe.survey_absolute_pressure",
        ),
        (
            "pipe",
            "ovality_along_path = \"1\"",
            "pipe.ovality_along_path",
            "pipe.ovality",
        ),
        (
            "pipe",
            "liner_sound_speed = \"2500 m/s\"",
            "pipe.liner_sound_speed",
            "pipe.liner",
        ),
        (
            "pipe",
            "liner_material = \"epoxy\"",
            "pipe.liner_material",
            "pipe.liner",
        ),
        (
            "pipe",
            "wave = \"shear\"\nmaterial = \"carbon steel\"",
            "pipe.wave",
            "wall_sound_speed",
        ),
        (
            "path",
            "couplant_sound_speed = \"1500 m/s\"",
            "path.couplant_sound_speed",
            "path.couplant",
        ),
        (
            "path",
            "wedge_reference_temperature = \"20 degC\"",
            "path.wedge_reference_temperature",
            "path.wedge_temperature",
        ),
        (
            "meter",
            "cable_delay_per_length = \"5 ns/m\"",
            "meter.cable_delay_per_length",
            "meter.cable_length",
        ),
    ] {
        let found = Site::from_toml(&site(&[(section, line)]), "site.toml");
        assert_refused(found, "conflict", &["site.toml:", field, partner]);
    }
}

const LINED: &str =
    "liner = \"5 mm\"\nliner_material = \"cement mortar\"\nmaterial = \"ductile iron\"";

#[test]
fn the_lining_makes_the_roughness_and_may_reflect_the_ray() {
    let found = evaluated(&site(&[("pipe", LINED)]));
    let inputs = found.inputs.inputs().iter();
    let roughness = inputs
        .clone()
        .find(|i| i.name() == "pipe.roughness")
        .expect("roughness");
    assert!(
        roughness.evidence().starts_with("cement mortar"),
        "{}",
        roughness.evidence()
    );
    let codes =
        |text: &str| -> Vec<&str> { evaluated(text).warnings().iter().map(|w| w.code).collect() };
    assert!(codes(&site(&[("pipe", LINED)])).contains(&"near-total-reflection"));
    let shear = format!("{LINED}\nliner_wave = \"shear\"");
    assert!(!codes(&site(&[("pipe", &shear)])).contains(&"near-total-reflection"));
    let unknown = site(&[(
        "pipe",
        "liner = \"3 mm\"\nliner_sound_speed = \"2500 m/s\"\nmaterial = \"carbon steel\"",
    )]);
    let parts = [
        "pipe.roughness: missing",
        "the surface that the liquid wets",
    ];
    assert_refused(Site::from_toml(&unknown, "site.toml"), "missing", &parts);
    assert!(!codes(BASE).contains(&"slow-wave"));
    assert!(codes(&with(BASE, "3230 m/s", "925 m/s")).contains(&"slow-wave"));
}
