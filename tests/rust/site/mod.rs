//! Sites of every ordinary kind: other liquids, layered pipes, expansion, ovality, sensors that
//! are placed by their spacing. Each against the physics functions called one by one.

mod contradictions;
mod display;
pub mod file;
mod installation;
mod profile;
mod without_effect;

use crate::support::{assert_refused, assert_relative, evaluate, slope, with};
use flowdoubt::acoustics::{Aim, Layer, LayeredPipe, chord_length, offset_of_misplacement};
use flowdoubt::evaluate::{Evaluation, Readings};
use flowdoubt::liquid::glycol::Glycol;
use flowdoubt::liquid::{seawater, water};
use flowdoubt::montecarlo::MonteCarlo;
use flowdoubt::pipe::{self, Dimensions, Ends, Material, Pressurised};
use flowdoubt::profile::chord_factor;
use flowdoubt::site::Site;
use flowdoubt::uncertainty::MeasurementModel;
use std::f64::consts::{FRAC_PI_4, PI};

/// A site of exact numbers; keys are added to its sections by [`site`].
pub const BASE: &str = "\
[site]
name = \"base\"
[liquid]
kind = \"water\"
temperature = \"20 degC\"
absolute_pressure = \"5 bar\"
[pipe]
outside_diameter = \"168.3 mm\"
wall = \"7.11 mm\"
wall_sound_speed = \"3230 m/s\"
[path]
basis = \"timed\"
traverses = 2
wedge_angle = \"40 deg\"
wedge_sound_speed = \"2430 m/s\"
[meter]
wedge_delay = \"16 us\"
";

/// The base with lines added to sections: pairs of a section and a line.
pub fn site(lines: &[(&str, &str)]) -> String {
    lines.iter().fold(BASE.to_owned(), |text, (section, line)| {
        let head = format!("[{section}]\n");
        if text.contains(&head) {
            with(&text, &head, &format!("{head}{line}\n"))
        } else {
            format!("{text}{head}{line}\n")
        }
    })
}

/// Readings of 100 ns at 240 us.
pub fn readings() -> Readings {
    // enough for Student's t to have nearly the spread of the normal distribution
    let columns = [
        ("time_difference_ns", [99.0, 101.0, 100.0, 100.0].repeat(10)),
        ("transit_time_us", [240.0, 240.1, 239.9, 240.0].repeat(10)),
    ];
    let columns = columns
        .iter()
        .map(|(name, values)| (*name, values.as_slice()));
    Readings::from_columns(columns).expect("readings")
}

#[track_caller]
pub fn evaluated(site: &str) -> Evaluation {
    evaluate(site, &readings()).unwrap_or_else(|e| panic!("{e}\n{site}"))
}

fn estimate(evaluation: &Evaluation, input: &str) -> (f64, f64, String) {
    let inputs = evaluation.inputs.inputs();
    let found = inputs.iter().find(|i| i.name() == input);
    let found = found.unwrap_or_else(|| panic!("no input {input}"));
    (
        found.estimate(),
        found.standard_uncertainty(),
        found.evidence().to_owned(),
    )
}

const WATER: &str = "kind = \"water\"";

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

const TABLE: &str = "\
[liquid.table]
temperature = [\"10 degC\", \"20 degC\", \"40 degC\"]
sound_speed = [\"1480 m/s\", \"1445 m/s\", \"1375 m/s\"]
density = [\"878 kg/m3\", \"871 kg/m3\", \"857 kg/m3\"]
kinematic_viscosity = [\"160 cSt\", \"90 cSt\", \"36 cSt\"]
sound_speed_uncertainty = \"3 m/s\"
density_uncertainty = \"0.2 %\"
viscosity_uncertainty = \"4 %\"
evidence = \"data sheet of the oil\"
";

fn oil() -> String {
    with(BASE, WATER, "kind = \"tabulated\"") + TABLE
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

#[test]
fn every_input_of_a_full_site_has_the_sensitivity_of_a_difference() {
    for (basis, from) in [
        ("timed", "wedge"),
        ("geometric", "spacing"),
        ("timed", "spacing"),
    ] {
        let keys = "roughness = \"0.1 mm\"\novality = \"1 %\"\nliner = \"3 mm\"\nliner_material = \"epoxy\"\n\
                    material = \"carbon steel\"\nsurvey_temperature = \"15 degC\"\n\
                    survey_absolute_pressure = \"1 bar\"";
        let path = format!(
            "spacing = \"150 mm\"\nangle_from = \"{from}\"\ncouplant = \"0.1 mm\"\n\
             chord_offset = \"3 mm\"\ncircumferential_misplacement = \"2 mm\"\n\
             wedge_temperature = \"25 degC\"\nwedge_sound_speed_per_kelvin = \"-2 m/(s K)\""
        );
        let text = site(&[
            ("pipe", keys),
            ("path", &path),
            (
                "meter",
                "cable_length = \"20 m\"\nwedge_delay_covers_couplant = false",
            ),
        ]);
        let text = with(&text, "\"timed\"", &format!("\"{basis}\""))
            + "[[pipe.layer]]\nthickness = \"1 mm\"\nsound_speed = \"2900 m/s\"\n";
        let found = evaluated(&text);
        let x = found.inputs.estimates();
        let flow = |i: usize, value: f64| {
            let mut x = x.clone();
            x[i] = value;
            found.model.evaluate(&x).expect("flow")[0]
        };
        let mut acting = 0;
        for (i, line) in found.budget.lines.iter().enumerate() {
            let h = if x[i] == 0.0 { 1e-4 } else { 1e-4 * x[i].abs() };
            let by_difference = slope(|value| flow(i, value), x[i], h);
            let rounding = 1e-14 * found.estimate() / h;
            let error = (line.sensitivity - by_difference).abs();
            let allowed = 1e-6 * by_difference.abs() + rounding;
            assert!(
                error < allowed,
                "{basis} {from} {}: {error:e}",
                line.input.name()
            );
            acting += usize::from(line.sensitivity.abs() > 10.0 * rounding);
        }
        assert!(acting >= 25, "{basis} {from}: {acting} of {}", x.len());
        let run = MonteCarlo {
            trials: 2000,
            seed: 1,
            ..MonteCarlo::default()
        };
        let trials = found.monte_carlo(run).expect("trials");
        let u = found.standard_uncertainty();
        assert_relative(trials.standard_uncertainty, u, 0.1, "Monte Carlo");
    }
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

#[test]
fn warnings_say_what_limits_a_result() {
    let codes = |text: &str| -> Vec<&'static str> {
        // the transit time that the site expects, or every site would be warned of its sound speed
        let steps = evaluated(text).steps;
        let time = steps.path.time_in_liquid + steps.dead_time;
        let columns = [
            ("time_difference_ns", [99.0, 101.0, 100.0, 100.0]),
            ("transit_time_s", [time - 1e-8, time + 1e-8, time, time]),
        ];
        let columns = columns.iter().map(|(name, v)| (*name, v.as_slice()));
        let readings = Readings::from_columns(columns).expect("readings");
        let found = evaluate(text, &readings).expect("flow");
        let words = found.in_words().expect("words");
        let json = found.to_json(None).expect("json");
        for warning in found.warnings() {
            assert!(words.contains(&warning.words), "{}", warning.words);
        }
        let said = json["warnings"].as_array().expect("list").iter();
        let said: Vec<[&str; 2]> = said
            .map(|said| ["code", "words"].map(|key| said[key].as_str().expect("text")))
            .collect();
        let warnings = found.warnings();
        let warned: Vec<[&str; 2]> = warnings.iter().map(|w| [w.code, &*w.words]).collect();
        assert_eq!(said, warned);
        found.warnings().iter().map(|w| w.code).collect()
    };
    assert_eq!(codes(BASE), [""; 0]);
    let wrong = evaluated(BASE).warnings();
    assert_eq!(wrong[0].code, "sound-speed-differs");
    let causes = &wrong[0].words;
    assert!(causes.contains("liquid.temperature") || causes.contains("readings.transit_time"));
    let near_boiling = with(BASE, "\"5 bar\"", "\"2.4 kPa\"");
    assert_eq!(codes(&near_boiling), ["two-phase-risk"]);
    let hot = with(
        &with(BASE, "\"20 degC\"", "\"130 degC\""),
        "\"5 bar\"",
        "\"8 bar\"",
    );
    let far = ["hot-pipe", "wedge-temperature", "survey-temperature"];
    assert_eq!(codes(&hot), far);
    let long = site(&[("path", "sensor_length = \"200 mm\"")]);
    assert_eq!(codes(&long), ["sensors-overlap"]);
    let fits = site(&[("path", "sensor_length = \"60 mm\"")]);
    assert_eq!(codes(&fits), [""; 0]);
    // the sound drifts by 0.2 mm
    let narrow = site(&[("path", "sensor_length = \"0.2 mm\"")]);
    assert_eq!(codes(&narrow), ["beam-drift"]);
    let oil = oil();
    assert_eq!(
        codes(&with(
            &oil,
            "[liquid]\n",
            "[liquid]\nvapour_pressure = \"5 bar\"\n"
        )),
        ["two-phase-risk", "developing-flow"]
    );
    let stated = with(
        BASE,
        "[liquid]\n",
        "[liquid]\nvapour_pressure = \"1 kPa\"\n",
    );
    let parts = [
        "liquid.vapour_pressure",
        "for tabulated and stated liquids only",
    ];
    assert_refused(Site::from_toml(&stated, "site.toml"), "conflict", &parts);
    let transition = with(&oil, "\"90 cSt\"", "\"48 cSt\"");
    assert_eq!(codes(&transition), ["transition"]);
    // the transition has an uncertainty of its own there, and only there
    let share = |text: &str| {
        let lines = evaluated(text).budget.lines;
        let mut lines = lines.iter();
        let line = lines.find(|line| line.input.name() == "profile.transition_reynolds");
        line.map(|line| line.share)
    };
    assert!(share(&transition).expect("a line") > 0.1);
    assert_eq!((share(BASE), share(&oil)), (None, None));
}

/// Common practice without a source; the test pins where it is said, not that it is right.
#[test]
fn advice_is_that_of_the_pipe() {
    let advice = |text: &str| evaluated(text).mounting_advice().join("; ");
    let large = advice(BASE);
    assert!(large.contains("bar of known length") && large.contains("hard walls"));
    assert!(!large.contains("rail") && !large.contains("opposite side"));
    let direct = advice(&with(BASE, "traverses = 2", "traverses = 1"));
    assert!(direct.contains("opposite side"));
    let small = advice(&with(BASE, "168.3 mm", "88.9 mm"));
    assert!(small.contains("one rail") && !small.contains("bar of known"));
    let plastic = with(BASE, "3230 m/s", "2400 m/s");
    assert!(!advice(&plastic).contains("hard walls"));
    let words = evaluated(BASE).in_words().expect("words");
    assert!(words.contains("mounting (common practice): steel"));
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

/// `v = (v_indicated - v_zero) / k_programmed`, of a timed meter that was told of its sensors.
#[test]
fn an_indicated_velocity_is_taken_back_by_hand() {
    let meter = "zero_velocity = \"12 mm/s\"";
    let text = with(&site(&[("meter", meter)]), "\"timed\"", "\"indicated\"")
        + "[meter.programmed]\nprinciple = \"timed\"\nprofile_factor = 0.95\n\
           inside_diameter = \"150 mm\"\n";
    let velocity = |columns: [(&str, &[f64]); 1]| {
        let readings = Readings::from_columns(columns).expect("readings");
        evaluate(&text, &readings).unwrap_or_else(|e| panic!("{e}"))
    };
    let by_velocity = velocity([("velocity_m_s", &[1.5, 1.6])]);
    let expected = (1.55 - 0.012) / 0.95;
    assert_relative(by_velocity.steps.path_velocity, expected, 1e-14, "velocity");
    let by_flow = velocity([("volume_flow_m3_h", &[100.0, 102.0])]);
    let indicated = 101.0 / 3600.0 / (FRAC_PI_4 * 0.150 * 0.150);
    let expected = (indicated - 0.012) / 0.95;
    assert_relative(by_flow.steps.path_velocity, expected, 1e-14, "flow");
    // a zero that is 10 mm/s too small: the flow falls in the ratio of the velocities
    let at_no_flow = Readings::from_columns([("velocity_m_s", &[0.021, 0.023][..])]);
    let at_no_flow = at_no_flow.expect("readings");
    for found in [by_velocity, by_flow] {
        let check = found.zero_check(&at_no_flow).expect("check");
        let share = 0.010 / 0.95 / found.steps.path_velocity;
        assert_relative(check.flow, -share * found.estimate(), 0.02, "zero");
    }
}

/// Each warning begins where it says it does.
#[test]
fn warnings_have_their_thresholds() {
    let steps = evaluated(BASE).steps;
    let has = |text: &str, code: &str| evaluated(text).warnings().iter().any(|w| w.code == code);
    let vapour: f64 = water::saturation_pressure(293.15);
    let head = 0.5 * steps.liquid_density * steps.mean_velocity * steps.mean_velocity;
    for (heads, warned) in [(1.95, true), (2.05, false)] {
        let pressure = format!("\"{:e} Pa\"", vapour + heads * head);
        let text = with(BASE, "\"5 bar\"", &pressure);
        assert_eq!(
            has(&text, "two-phase-risk"),
            warned,
            "{heads} velocity heads"
        );
    }
    let sensor = |metres: f64| site(&[("path", &format!("sensor_length = \"{metres:e} m\""))]);
    let (spacing, drift) = (steps.path.spacing, steps.beam_drift());
    assert!(has(&sensor(1.01 * spacing), "sensors-overlap"));
    assert!(!has(&sensor(0.99 * spacing), "sensors-overlap"));
    // on a direct path the sensors sit opposite
    let direct = with(&sensor(2.0 * spacing), "traverses = 2", "traverses = 1");
    assert!(!has(&direct, "sensors-overlap"));
    assert!(has(&sensor(1.99 * drift), "beam-drift"));
    assert!(!has(&sensor(2.01 * drift), "beam-drift"));
    for (celsius, warned) in [(120.0, false), (123.0, true), (232.0, true)] {
        let wall = format!("wall_temperature = \"{celsius} degC\"");
        assert_eq!(
            has(&site(&[("pipe", &wall)]), "hot-pipe"),
            warned,
            "{celsius}"
        );
    }
    // the angle of the other way: just within and just beyond the standard uncertainty
    let found = evaluated(BASE);
    let u = found.budget.relative_standard_uncertainty();
    let slope = found
        .placement()
        .expect("placement")
        .expect("a path")
        .relative_sensitivity
        .expect("flow");
    for (uncertainties, warned) in [(0.9, false), (1.1, true)] {
        let placed = spacing + uncertainties * u / slope;
        let text = site(&[("path", &format!("spacing = \"{placed:e} m\""))]);
        assert_eq!(has(&text, "angles-differ"), warned, "{uncertainties} u");
    }
}
