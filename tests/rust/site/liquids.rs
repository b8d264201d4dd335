//! Water, sea water, glycol, tabulated liquids: each against the physics functions called one by one.

use super::{BASE, WATER, estimate, evaluated, oil, readings, site};
use crate::support::{assert_refused, assert_relative, evaluate, with};
use flowdoubt::liquid::glycol::Glycol;
use flowdoubt::liquid::{seawater, water};
use flowdoubt::site::Site;

#[test]
fn sea_water_is_that_of_its_salinity() {
    let text = with(
        BASE,
        WATER,
        "kind = \"sea water\"\nsalinity = \"35.16504 g/kg\"",
    );
    let found = evaluated(&text);
    let (t, p, s) = (293.15, 5e5, 0.035_165_04);
    let steps = &found.steps;
    assert_eq!(steps.liquid_sound_speed, seawater::sound_speed(t, p, s));
    let viscosity: f64 = seawater::kinematic_viscosity(t, p, s);
    assert_relative(steps.kinematic_viscosity, viscosity, 1e-15, "viscosity");
    let (one, u, evidence) = estimate(&found, "liquid.sound_speed_formulation");
    assert_eq!((one, u), (1.0, 2e-4));
    assert!(evidence.contains("Chen and Millero"));
    let none = with(BASE, WATER, "kind = \"sea water\"");
    let parts = ["liquid.salinity: missing", "absolute salinity"];
    assert_refused(evaluate(&none, &readings()), "missing", &parts);
    let brine = with(&text, "35.16504", "60");
    let parts = ["sea water salinity: found 0.06", "0 to 0.042 kg/kg"];
    assert_refused(evaluate(&brine, &readings()), "out-of-range", &parts);
    let fresh = site(&[("liquid", "salinity = \"3 g/kg\"")]);
    assert_refused(
        evaluate(&fresh, &readings()),
        "conflict",
        &["site.toml:4: liquid.salinity: stated with liquid.kind = \"water\""],
    );
}

#[test]
fn glycol_has_the_sound_speed_that_is_stated() {
    let glycol = |more: &str| {
        let kind = format!("kind = \"propylene glycol\"\nmass_fraction = \"30 %\"\n{more}");
        with(BASE, WATER, &kind)
    };
    let text = glycol("sound_speed = { value = \"1640 m/s\", standard_uncertainty = \"8 m/s\" }");
    let found = evaluated(&text);
    assert_eq!(found.steps.liquid_sound_speed, 1640.0);
    let viscosity: f64 = Glycol::Propylene.kinematic_viscosity(293.15, 0.3);
    assert_relative(
        found.steps.kinematic_viscosity,
        viscosity,
        1e-15,
        "viscosity",
    );
    let (_, u, evidence) = estimate(&found, "liquid.viscosity_formulation");
    assert_eq!(u, 0.025);
    assert!(evidence.contains("judgement"));
    let parts = ["liquid.sound_speed: missing", "none is computed for it"];
    assert_refused(evaluate(&glycol(""), &readings()), "missing", &parts);
    let cold = with(&text, "20 degC", "-20 degC");
    let parts = ["glycol temperature", "begins to freeze"];
    assert_refused(evaluate(&cold, &readings()), "out-of-range", &parts);
}

#[test]
fn an_oil_is_what_its_table_says() {
    let found = evaluated(&oil());
    assert_relative(found.steps.liquid_sound_speed, 1445.0, 1e-15, "sound speed");
    assert_relative(found.steps.kinematic_viscosity, 90e-6, 1e-14, "viscosity");
    assert_relative(found.steps.liquid_density, 871.0, 1e-15, "density");
    let (_, u, evidence) = estimate(&found, "liquid.sound_speed_formulation");
    assert_relative(u, 3.0 / 1445.0, 1e-14, "sound speed");
    assert_eq!(
        evidence,
        "table of the liquid, stated uncertainty: data sheet of the oil"
    );
    assert_relative(
        estimate(&found, "liquid.viscosity_formulation").1,
        0.04,
        1e-14,
        "viscosity",
    );
    assert_relative(
        estimate(&found, "liquid.density_formulation").1,
        0.002,
        1e-14,
        "density",
    );

    let refused = |passage: &str, mistake: &str, code: &str, parts: &[&str]| {
        let text = with(&oil(), passage, mistake);
        assert_refused(Site::from_toml(&text, "site.toml"), code, parts);
    };
    let row = [
        "site.toml:",
        "liquid table: temperature, row 3",
        "above 293.15 K",
    ];
    refused("\"40 degC\"", "\"15 degC\"", "out-of-range", &row);
    refused(
        "\"871 kg/m3\", ",
        "",
        "length",
        &["density: found 2", "3, one for each"],
    );
    refused(
        "\"90 cSt\"",
        "\"-90 cSt\"",
        "out-of-range",
        &["kinematic viscosity, row 2"],
    );
    refused(
        "\"90 cSt\"",
        "\"90 m\"",
        "wrong-dimension",
        &["kinematic_viscosity, row 2"],
    );
    let both = "dynamic_viscosity = []\nkinematic_viscosity";
    refused(
        "kinematic_viscosity",
        both,
        "conflict",
        &["both dynamic_viscosity and"],
    );
    refused(
        "\"tabulated\"",
        "\"water\"",
        "conflict",
        &["liquid.table", "with kind = \"tabulated\""],
    );
    let none = with(BASE, WATER, "kind = \"tabulated\"");
    assert_refused(
        Site::from_toml(&none, "site.toml"),
        "missing",
        &["liquid.table: missing"],
    );
    let hot = with(
        &oil(),
        "temperature = \"20 degC\"",
        "temperature = \"60 degC\"",
    );
    let parts = [
        "liquid temperature: found 333.15 K",
        "nothing is extrapolated",
    ];
    assert_refused(evaluate(&hot, &readings()), "out-of-range", &parts);
    let name = with(BASE, WATER, "kind = \"watter\"");
    let parts = ["liquid.kind", "did you mean `water`?", "tabulated, stated"];
    assert_refused(Site::from_toml(&name, "site.toml"), "unknown-name", &parts);
}

#[test]
fn formulations_are_corrected_by_their_factors() {
    let keys = "density_formulation = \"1.01\"\nviscosity_formulation = \"1.1\"\n\
                sound_speed_formulation = \"1.002\"";
    let (plain, corrected) = (
        evaluated(BASE).steps,
        evaluated(&site(&[("liquid", keys)])).steps,
    );
    let density: f64 = water::density(293.15, 5e5);
    assert_relative(corrected.liquid_density, 1.01 * density, 1e-15, "density");
    let viscosity: f64 = water::viscosity_at_density(293.15, 1.01 * density);
    let kinematic = 1.1 * viscosity / (1.01 * density);
    assert_relative(corrected.kinematic_viscosity, kinematic, 1e-14, "viscosity");
    let sound_speed = 1.002 * plain.liquid_sound_speed;
    assert_relative(
        corrected.liquid_sound_speed,
        sound_speed,
        1e-15,
        "sound speed",
    );
}
