//! Layers, standards, expansion, ovality and grids of wall readings: each against the physics functions
//! called one by one.

use super::{BASE, estimate, evaluated, readings, site};
use crate::support::{assert_refused, assert_relative, evaluate, with};
use flowdoubt::acoustics::{Aim, Layer, LayeredPipe};
use flowdoubt::liquid::water;
use flowdoubt::pipe::{self, Dimensions, Ends, Material, Pressurised};
use flowdoubt::site::Site;
use std::f64::consts::{FRAC_PI_4, PI};

#[test]
fn layers_narrow_the_bore_and_take_time() {
    let text = site(&[
        (
            "path",
            "couplant = \"0.2 mm\"\ncouplant_sound_speed = \"1600 m/s\"",
        ),
        ("pipe", "liner = \"3 mm\"\nliner_sound_speed = \"2500 m/s\""),
        ("meter", "wedge_delay_covers_couplant = false"),
    ]) + "\
[[pipe.layer]]
name = \"epoxy\"
thickness = { value = \"1 mm\", standard_uncertainty = \"0.1 mm\" }
material = \"epoxy\"
[[pipe.layer]]
name = \"scale\"
thickness = { value = \"0.5 mm\", half_width = \"0.5 mm\", shape = \"rectangular\" }
sound_speed = \"3000 m/s\"
";
    let found = evaluated(&text);
    let layer = |thickness: f64, sound_speed: f64| Layer {
        thickness,
        sound_speed,
    };
    let epoxy = Material::named("epoxy")
        .expect("epoxy")
        .longitudinal_speed
        .range;
    let pipe = LayeredPipe {
        outside_diameter: 0.1683,
        couplant: Some(layer(0.2e-3, 1600.0)),
        layers: vec![
            layer(7.11e-3, 3230.0),
            layer(3e-3, 2500.0),
            layer(1e-3, epoxy.estimate),
            layer(0.5e-3, 3000.0),
        ],
        liquid_sound_speed: water::sound_speed(293.15, 5e5),
        traverses: 2,
    };
    let angle = 40.0_f64.to_radians();
    let traced = pipe
        .trace(Aim::Wedge {
            angle,
            sound_speed: 2430.0,
        })
        .expect("a ray");
    let steps = &found.steps;
    assert_relative(steps.inside_diameter, traced.inside_diameter, 1e-15, "bore");
    assert_relative(steps.path.spacing, traced.path.spacing, 1e-14, "spacing");
    assert_relative(
        steps.dead_time,
        16e-6 + traced.path.time_in_layers,
        1e-14,
        "dead time",
    );
    let (_, u, evidence) = estimate(&found, "pipe.layer[1].sound_speed");
    assert_relative(u, epoxy.half_width / 3.0_f64.sqrt(), 1e-15, "epoxy");
    assert!(
        evidence.starts_with("epoxy, longitudinal wave: "),
        "{evidence}"
    );
    assert_eq!(estimate(&found, "pipe.layer[2].thickness").0, 0.5e-3);

    let fast = with(&text, "\"3000 m/s\"", "\"4000 m/s\"");
    let parts = ["epoxy to scale: no refracted ray", "wedge angle below 37.4"];
    assert_refused(evaluate(&fast, &readings()), "total-reflection", &parts);
    let unknown = with(&text, "sound_speed = \"3000 m/s\"\n", "");
    let parts = ["pipe.layer[2].sound_speed: missing", "or a material"];
    assert_refused(Site::from_toml(&unknown, "site.toml"), "missing", &parts);
    let thick = with(&text, "value = \"1 mm\"", "value = \"80 mm\"");
    let parts = ["pipe.inside_diameter", "thinner than the radius"];
    assert_refused(evaluate(&thick, &readings()), "out-of-range", &parts);
    let bitumen = with(
        &text,
        "material = \"epoxy\"",
        "material = \"rubber\"\nwave = \"shear\"",
    );
    let parts = ["shear waves in rubber", "wave = \"longitudinal\""];
    assert_refused(Site::from_toml(&bitumen, "site.toml"), "conflict", &parts);
}

#[test]
fn standards_and_materials_fill_in_what_is_not_measured() {
    let ordered = "\
material = \"carbon steel\"
standard = \"ASME B36.10M\"
size = \"DN 150\"
schedule = \"40\"
";
    let measured = "\
outside_diameter = \"168.3 mm\"
wall = \"7.11 mm\"
wall_sound_speed = \"3230 m/s\"
";
    let text = with(BASE, measured, ordered);
    let found = evaluated(&text);
    let table = Dimensions::of("ASME B36.10M", "DN 150", Some("40")).expect("a pipe");
    let (wall, u, evidence) = estimate(&found, "pipe.wall");
    assert_eq!(wall, table.wall.estimate);
    assert_relative(u, table.wall.half_width / 3.0_f64.sqrt(), 1e-15, "wall");
    assert_eq!(evidence, "ASME B36.10M, DN 150, 40: limits of manufacture");
    assert_eq!(estimate(&found, "pipe.outside_diameter").0, 0.1683);
    let steel = Material::named("carbon steel").expect("steel");
    let shear = steel.shear_speed.as_ref().expect("shear");
    let (speed, _, evidence) = estimate(&found, "pipe.wall_sound_speed");
    assert_eq!(speed, shear.range.estimate);
    assert!(
        evidence.starts_with("carbon steel, shear wave: ASTM E494"),
        "{evidence}"
    );
    assert_eq!(
        estimate(&found, "pipe.roughness").0,
        steel.roughness.range.estimate
    );
    let (_, _, evidence) = estimate(&found, "pipe.wall_sound_speed_per_kelvin");
    assert!(
        evidence.starts_with("carbon steel, shear wave: 1018 steel measured"),
        "{evidence}"
    );
    // what is measured stays as it is
    let text = with(
        &text,
        ordered,
        &format!("{ordered}wall = \"7.3 mm\"\nroughness = \"0.2 mm\"\n"),
    );
    let found = evaluated(&text);
    assert_eq!(estimate(&found, "pipe.wall").0, 7.3e-3);
    assert_eq!(estimate(&found, "pipe.roughness").0, 0.2e-3);

    // plastics carry no shear wave to speak of, unless it is asked for
    let plastic = with(&text, "\"carbon steel\"", "\"PVC-U\"");
    let found = evaluated(&plastic);
    let (_, _, evidence) = estimate(&found, "pipe.wall_sound_speed");
    assert!(
        evidence.starts_with("PVC-U, longitudinal wave"),
        "{evidence}"
    );
    let (_, _, evidence) = estimate(&found, "pipe.wall_sound_speed_per_kelvin");
    assert!(evidence.ends_with("(not looked up)"), "{evidence}");
    let shear = with(&plastic, "\"PVC-U\"", "\"PVC-U\"\nwave = \"shear\"");
    let (_, _, evidence) = estimate(&evaluated(&shear), "pipe.wall_sound_speed");
    assert!(evidence.starts_with("PVC-U, shear wave"), "{evidence}");

    for (passage, mistake, code, parts) in [
        (
            "size = \"DN 150\"\n",
            "",
            "missing",
            ["pipe.size: missing", "nominal size"],
        ),
        (
            "schedule = \"40\"\n",
            "",
            "missing",
            ["pipe.schedule: missing", "schedule of"],
        ),
        (
            "standard = \"ASME B36.10M\"\n",
            "",
            "missing",
            ["pipe.outside_circumference", "or a standard"],
        ),
        (
            "\"40\"",
            "\"45\"",
            "unknown-name",
            ["pipe.schedule", "`40`"],
        ),
        (
            "B36.10M",
            "B36.11M",
            "unknown-name",
            ["pipe.standard", "EN 10220"],
        ),
        (
            "\"carbon steel\"",
            "\"karbon steel\"",
            "unknown-name",
            ["pipe.material", "`carbon steel`"],
        ),
        (
            "material = \"carbon steel\"",
            "wave = \"shear\"",
            "conflict",
            ["pipe.wave", "material"],
        ),
    ] {
        let mistaken = with(&text, passage, mistake);
        assert_refused(Site::from_toml(&mistaken, "site.toml"), code, &parts);
    }
}

#[test]
fn dimensions_by_every_standard() {
    let steel = Dimensions::of("EN 10220", "DN 100", Some("3.6 mm")).expect("steel");
    assert_eq!(steel.nominal_outside_diameter, 114.3e-3);
    assert_relative(steel.nominal_wall, 3.6e-3, 1e-15, "wall");
    assert_eq!(steel.wall, pipe::en_10216_wall(steel.nominal_wall));
    let plastic = Dimensions::of("ISO 4427", "110 mm", Some("SDR 11")).expect("plastic");
    assert_eq!(plastic, pipe::plastic_pipe(0.110, 11.0).expect("plastic"));
    let refused = |standard: &str, size: &str, schedule: Option<&str>, code: &str, part: &str| {
        assert_refused(Dimensions::of(standard, size, schedule), code, &[part]);
    };
    refused("EN 10220", "DN 100", None, "missing", "nominal wall");
    refused(
        "EN 10220",
        "DN 100",
        Some("60 mm"),
        "out-of-range",
        "below the radius",
    );
    refused(
        "EN 10220",
        "DN 100",
        Some("40"),
        "not-a-quantity",
        "pipe.schedule",
    );
    refused("ISO 4427", "110 mm", Some("SDR 12"), "unknown-name", "11");
    refused(
        "ISO 4427",
        "110 mm",
        Some("thick"),
        "unknown-name",
        "SDR 11",
    );
    refused(
        "ISO 4427",
        "DN 110",
        Some("SDR 11"),
        "not-a-quantity",
        "pipe.size",
    );
}

#[test]
fn a_pipe_grows_with_temperature_and_pressure() {
    let text = site(&[(
        "pipe",
        "survey_temperature = \"20 degC\"\nwall_temperature = \"120 degC\"\n\
         expansion = \"12 ppm/K\"\nsurvey_absolute_pressure = \"1 bar\"\n\
         youngs_modulus = \"207 GPa\"\npoisson_ratio = \"0.29\"\nends = \"anchored\"",
    )]);
    let found = evaluated(&text);
    let growth = 1.0 + 12e-6 * 100.0;
    let (outside, wall) = (0.1683 * growth, 7.11e-3 * growth);
    let strain = Pressurised {
        outside_diameter: outside,
        inside_diameter: outside - 2.0 * wall,
        pressure: 4e5,
        youngs_modulus: 207e9,
        poisson_ratio: 0.29,
        ends: Ends::Anchored,
    }
    .strain();
    let bore = (outside - 2.0 * wall) * (1.0 + strain.bore);
    assert_relative(found.steps.inside_diameter, bore, 1e-15, "bore");
    let outside = outside * (1.0 + strain.outside);
    assert_relative(found.steps.outside_diameter, outside, 1e-15, "outside");
    // 100 K and 4 bar: 0.24 % of the area by temperature, a millionth or so by pressure
    let cold = evaluated(BASE).steps.area;
    assert!((found.steps.area / cold - 1.0024).abs() < 1e-4);

    // a material knows what the file does not say
    let keys = "material = \"stainless steel 300 series\"\nsurvey_temperature = \"20 degC\"";
    let hot = with(
        &site(&[("pipe", keys)]),
        "\"20 degC\"\nabsolute",
        "\"80 degC\"\nabsolute",
    );
    let found = evaluated(&hot);
    let steel = Material::named("stainless steel 300 series").expect("steel");
    let expansion = steel.expansion.as_ref().expect("expansion").range.estimate;
    let outside = 0.1683 * (1.0 + expansion * 60.0);
    assert_relative(found.steps.outside_diameter, outside, 1e-14, "by material");
    let missing = site(&[("pipe", "survey_temperature = \"10 degC\"")]);
    let parts = ["pipe.expansion: missing", "or a material"];
    assert_refused(Site::from_toml(&missing, "site.toml"), "missing", &parts);
    let missing = site(&[("pipe", "survey_absolute_pressure = \"1 bar\"")]);
    assert_refused(
        Site::from_toml(&missing, "site.toml"),
        "missing",
        &["pipe.youngs_modulus"],
    );
    let soft = with(&text, "207 GPa", "1 MPa");
    let parts = ["pipe.pressure", "widens the bore by 5 % at most"];
    assert_refused(evaluate(&soft, &readings()), "out-of-range", &parts);
}

#[test]
fn an_oval_pipe_is_smaller_than_its_circumference_says() {
    let by_tape = "outside_circumference = \"528.73 mm\"\n";
    let taped = with(BASE, "outside_diameter = \"168.3 mm\"\n", by_tape);
    let oval = with(&taped, by_tape, &format!("{by_tape}ovality = \"2 %\"\n"));
    let (round, oval) = (evaluated(&taped), evaluated(&oval));
    let mean: f64 = pipe::mean_diameter_of_circle(528.73e-3 / PI, 0.02);
    assert_relative(
        pipe::ellipse_perimeter(1.01 * mean, 0.99 * mean),
        528.73e-3,
        1e-14,
        "tape",
    );
    let axis = |share: f64| mean * share - 2.0 * 7.11e-3;
    let area = FRAC_PI_4 * axis(1.01) * axis(0.99);
    assert_relative(oval.steps.area, area, 1e-14, "area");
    assert!(oval.steps.area < round.steps.area);
    // which way the largest diameter lies is not known: an arcsine distribution
    let (w, u, evidence) = estimate(&oval, "pipe.ovality_along_path");
    assert_eq!((w, u), (0.0, 1.0 / 2.0_f64.sqrt()));
    assert!(evidence.contains("unknown"));
    // the geometric basis minds, since the path gets longer
    let geometric = with(BASE, "\"timed\"", "\"geometric\"");
    let keys = "[pipe]\novality = \"2 %\"\novality_along_path = \"1\"";
    let long = evaluated(&with(&geometric, "[pipe]", keys));
    assert_relative(
        long.steps.chord,
        0.1683 * 1.01 - 2.0 * 7.11e-3,
        1e-15,
        "chord",
    );
    let refused = with(&geometric, "[pipe]", "[pipe]\novality_along_path = \"1.2\"");
    assert_refused(
        Site::from_toml(&refused, "site.toml"),
        "out-of-range",
        &["-1 to 1"],
    );
}

#[test]
fn a_grid_of_wall_readings_is_one_wall() {
    let wall = "wall = \"7.11 mm\"";
    // once round the pipe the wall varies by 0.2 mm; the rest is 0.01 mm of scatter
    let grid = "wall = { grid = [[\"7.31 mm\", \"7.11 mm\", \"6.91 mm\", \"7.11 mm\"], \
                [\"7.32 mm\", \"7.10 mm\", \"6.92 mm\", \"7.10 mm\"]], \
                instrument = { half_width = \"0.05 mm\", shape = \"rectangular\" } }";
    let found = evaluated(&with(BASE, wall, grid));
    let (mean, u, _) = estimate(&found, "pipe.wall");
    assert_relative(mean, 7.11e-3, 1e-14, "mean");
    assert!(u < 0.01e-3, "what goes round is no scatter: {u}");
    let dof = found
        .inputs
        .inputs()
        .iter()
        .find(|i| i.name() == "pipe.wall")
        .expect("wall")
        .dof();
    assert_eq!(dof, 5.0);
    assert_eq!(estimate(&found, "pipe.wall.instrument").0, 0.0);
    assert!(found.warnings().iter().all(|w| w.code != "eccentric-bore"));
    let far = with(&with(BASE, wall, grid), "7.31", "9.91");
    let far = evaluated(
        &far.replacen("6.91", "4.31", 1)
            .replacen("7.32", "9.92", 1)
            .replacen("6.92", "4.32", 1),
    );
    let warnings = far.warnings();
    let eccentric = warnings
        .iter()
        .find(|w| w.code == "eccentric-bore")
        .expect("warning");
    assert!(eccentric.words.contains("2.80 mm"), "{}", eccentric.words);

    for (mistake, code, parts) in [
        (
            grid.replacen("\"7.31 mm\", ", "", 1),
            "length",
            ["pipe.wall_grid[1]", "3, as in"],
        ),
        (
            grid.replacen("7.31 mm", "-7.31 mm", 1),
            "out-of-range",
            ["pipe.wall_grid[0][0]", "positive"],
        ),
        (
            grid.replacen("7.31 mm", "7.31 mW", 1),
            "unknown-unit",
            ["pipe.wall.grid[0][0]", "mm"],
        ),
        (
            "wall = { grid = [[\"7 mm\"]] }".to_owned(),
            "length",
            ["pipe.wall.grid", "2 readings"],
        ),
        (
            grid.replacen("{ grid", "{ half_width = \"1 mm\", grid", 1),
            "conflict",
            ["pipe.wall", "a grid of readings with"],
        ),
        (
            grid.replacen("{ grid", "{ value = \"7 mm\", grid", 1),
            "conflict",
            ["pipe.wall", "a grid beside"],
        ),
    ] {
        let text = with(BASE, wall, &mistake);
        assert_refused(Site::from_toml(&text, "site.toml"), code, &parts);
    }
    let liner = site(&[("pipe", "liner = { grid = [[\"7 mm\", \"8 mm\"]] }")]);
    assert_refused(
        Site::from_toml(&liner, "site.toml"),
        "conflict",
        &["a grid for pipe.wall only"],
    );
}
