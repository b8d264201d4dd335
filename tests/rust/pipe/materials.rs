//! The table of materials against the tables it cites, against tables it does not cite, and
//! against elasticity.

use crate::support::tables::against;
use crate::support::{assert_refused, assert_relative, slope};
use flowdoubt::pipe::{
    Figure, Material, Range, Status, poisson_ratio, sound_speed_at, youngs_modulus,
};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;
use std::collections::BTreeSet;

fn material(name: &str) -> &'static Material {
    Material::named(name).unwrap_or_else(|e| panic!("{e}"))
}

fn shear(m: &Material) -> Range {
    m.shear_speed
        .as_ref()
        .unwrap_or_else(|| panic!("{}", m.name))
        .range
}

fn holds(range: Range, value: f64) -> bool {
    range.lower() <= value * (1.0 + 1e-12) && value <= range.upper() * (1.0 + 1e-12)
}

#[test]
fn rows_of_astm_e494_table_x3_1() {
    let mut ratios = against("ASTM E494, table X3.1", "Poisson's ratio from sound speeds");
    // longitudinal and shear speed in m/s, density in kg/m3, and Poisson's ratio that follows
    for (name, longitudinal, transverse, density, ratio) in [
        ("carbon steel", 5900.0, 3230.0, 7700.0, 0.286),
        ("stainless steel 347", 5790.0, 3100.0, 7910.0, 0.299),
        ("stainless steel 410", 5900.0, 3300.0, 7670.0, 0.272),
        ("copper", 4700.0, 2260.0, 8900.0, 0.350),
        ("brass", 4370.0, 2100.0, 8100.0, 0.350),
        ("aluminium", 6300.0, 3130.0, 2700.0, 0.336),
        ("titanium", 6240.0, 3215.0, 4540.0, 0.319),
        ("PMMA", 2670.0, 1120.0, 1180.0, 0.393),
        ("fused quartz", 5930.0, 3750.0, 2200.0, 0.167),
    ] {
        let m = material(name);
        assert_eq!(m.longitudinal_speed.range.estimate, longitudinal, "{name}");
        if name == "PMMA" {
            // the slowest of the tables
            assert_relative(shear(m).lower(), transverse, 1e-14, name);
        } else {
            assert_eq!(shear(m).estimate, transverse, "{name}");
        }
        assert_eq!(m.density.range.estimate, density, "{name}");
        ratios.printed(poisson_ratio(longitudinal, transverse), ratio, 1e-3, name);
        for figure in [&m.longitudinal_speed, &m.density] {
            assert!(
                figure.source.starts_with("ASTM E494, table X3.1"),
                "{figure:?}"
            );
            assert_ne!(figure.status, Status::Memory, "{name}");
        }
    }
    // cast iron as a range
    let iron = material("cast iron");
    let speeds = [iron.longitudinal_speed.range, shear(iron)];
    let limits = speeds.map(|range| (range.lower(), range.upper()));
    assert_eq!(limits, [(3500.0, 5600.0), (2200.0, 3200.0)]);
}

#[test]
fn other_tables_lie_within_the_ranges() {
    // tables of sound speeds of a maker of gauges and of a maker of transducers, in m/s
    for (name, speed) in [
        ("PMMA", 2730.0),
        ("aluminium", 6320.0),
        ("aluminium", 6299.0),
        ("brass", 4430.0),
        ("brass", 4369.0),
        ("copper", 4660.0),
        ("cast iron", 3500.0),
        ("cast iron", 5600.0),
        ("PE-HD", 2460.0),
        ("PE-LD", 2080.0),
        ("PVC-U", 2395.0),
        ("rubber", 1610.0),
        ("carbon steel", 5890.0),
        ("carbon steel", 5850.0),
        ("stainless steel 300 series", 5613.0),
        ("stainless steel 300 series", 5740.0),
        ("stainless steel 347", 5740.0),
        ("titanium", 6100.0),
        ("titanium", 6172.0),
        ("PTFE", 1400.0),
        ("glass-reinforced plastic", 2740.0),
        // another maker's manual of a gauge
        ("carbon steel", 5920.0),
        ("copper", 4720.0),
        ("titanium", 5990.0),
        ("PMMA", 2692.0),
        ("PVC-U", 2388.0),
        ("PTFE", 1422.0),
        ("epoxy", 2540.0),
        // CRC Handbook of Chemistry and Physics
        ("copper", 4760.0),
        ("cast iron", 4994.0),
        // Engineering ToolBox
        ("borosilicate glass", 5640.0),
        ("rubber", 1830.0),
        ("cement mortar", 3200.0),
        ("cement mortar", 3700.0),
        // measurements after K. Ono, Appl. Sci. 10 (2020)
        ("carbon steel", 5910.0),
        ("stainless steel 300 series", 5750.0),
        ("copper", 4640.0),
        ("brass", 4490.0),
        ("aluminium", 6360.0),
        ("titanium", 6020.0),
        ("PVC-U", 2330.0),
        ("PE-HD", 2510.0),
        ("PE-LD", 2590.0),
        ("PP", 2610.0),
        ("epoxy", 2750.0),
        // pipe of PE 80 from 1 to 3.5 MHz, Mazeika et al. 2010
        ("PE 80", 2030.0),
        ("PE 80", 2060.0),
        // list of the University of Warwick
        ("stainless steel 300 series", 5790.0),
        ("PVC-U", 2352.0),
    ] {
        let range = material(name).longitudinal_speed.range;
        assert!(holds(range, speed), "{name}: {speed} not in {range:?}");
    }
    for (name, speed) in [
        ("carbon steel", 3251.0),
        ("stainless steel 300 series", 3048.0),
        ("stainless steel 300 series", 3124.0),
        ("brass", 2108.0),
        ("aluminium", 3150.0),
        ("titanium", 3302.0),
        // CRC Handbook of Chemistry and Physics
        ("copper", 2325.0),
        ("brass", 2110.0),
        ("aluminium", 3040.0),
        ("cast iron", 2809.0),
        // measurements after K. Ono, Appl. Sci. 10 (2020)
        ("carbon steel", 3210.0),
        ("stainless steel 300 series", 3140.0),
        ("copper", 2400.0),
        ("brass", 2220.0),
        ("aluminium", 3200.0),
        ("titanium", 3040.0),
        ("PMMA", 1400.0),
        ("PVC-U", 1110.0),
        ("PE-HD", 1170.0),
        ("PE-LD", 1250.0),
        ("PP", 1380.0),
        ("epoxy", 1380.0),
        // lists of the University of Warwick and of two open packages for waves in plates
        ("stainless steel 300 series", 3220.0),
        ("PMMA", 1330.0),
        ("PVDF", 1410.0),
        ("epoxy", 1100.0),
        // Springer Handbook of Condensed Matter and Materials Data
        ("PTFE", 730.0),
    ] {
        let range = shear(material(name));
        assert!(holds(range, speed), "{name}: {speed} not in {range:?}");
    }
    // JCGM 100:2008, 4.3.7
    let copper = material("copper").expansion.clone().expect("expansion");
    assert_eq!(
        (copper.range.estimate, copper.range.half_width),
        (16.52e-6, 0.40e-6)
    );
    assert_eq!(copper.status, Status::Seen);
}

/// Polynomials of the temperature in degC, measured over 12 to 70 degC by the ultrasound group of the
/// University of Warwick (public repository Warwick-Ultrasound/Speed-of-Sound-with-T).
#[test]
fn speeds_measured_over_temperature_lie_within_the_ranges() {
    let (peek, copper) = (material("PEEK"), material("copper"));
    let measured = [
        (
            "PEEK, longitudinal",
            &peek.longitudinal_speed,
            &peek.longitudinal_speed_per_kelvin,
            [2627.0, -2.371, 0.005_498],
        ),
        (
            "PEEK, shear",
            peek.shear_speed.as_ref().expect("shear"),
            &peek.shear_speed_per_kelvin,
            [1161.0, -1.335, 0.0043],
        ),
        (
            "copper, longitudinal",
            &copper.longitudinal_speed,
            &copper.longitudinal_speed_per_kelvin,
            [4652.0, -0.6786, 0.000_966_2],
        ),
    ];
    for (what, speed, per_kelvin, [a, b, c]) in measured {
        let slope = per_kelvin.as_ref().expect("a slope").range;
        let at = |celsius: f64| a + b * celsius + c * celsius * celsius;
        assert!(holds(speed.range, at(20.0)), "{what}: {}", at(20.0));
        for celsius in [12.0, 40.0, 70.0] {
            // from 20 degC on, by the limits of the slope
            let mean = (at(celsius) - at(20.0)) / (celsius - 20.0);
            let inside = slope.lower() <= mean && mean <= slope.upper();
            assert!(inside, "{what} at {celsius} degC: {mean} m/s/K");
        }
    }
}

/// 1018 steel over 0 to 50 degC, measured by Do Trung Kien et al., and the rule of thumb of thickness
/// gauging, 1 % per 100 degF.
#[test]
fn steel_slows_down_when_warm() {
    let steel = material("carbon steel");
    let range = |figure: &Option<Figure>| figure.as_ref().expect("a slope").range;
    let longitudinal = range(&steel.longitudinal_speed_per_kelvin);
    assert_eq!(longitudinal.estimate, -0.8);
    let rule = -0.01 * steel.longitudinal_speed.range.estimate / (100.0 / 1.8);
    assert!(longitudinal.lower() < rule, "{rule}");
    assert!(rule < longitudinal.upper(), "{rule}");
    assert_eq!(range(&steel.shear_speed_per_kelvin).estimate, -0.44);
}

/// What nobody could look up yet. The number may only go down.
#[test]
fn figures_from_memory_become_fewer() {
    let all = Material::all().expect("materials");
    let of_memory = |m: &&Material| {
        [
            Some(&m.longitudinal_speed),
            m.shear_speed.as_ref(),
            Some(&m.density),
            m.expansion.as_ref(),
            m.longitudinal_speed_per_kelvin.as_ref(),
            m.shear_speed_per_kelvin.as_ref(),
            Some(&m.poisson_ratio),
            m.static_modulus.as_ref(),
            Some(&m.roughness),
        ]
        .into_iter()
        .flatten()
        .filter(|figure| figure.status == Status::Memory)
        .count()
    };
    let count: usize = all.iter().map(|m| of_memory(&m)).sum();
    assert_eq!(
        count, 19,
        "fewer: good, write the number down; more: look them up"
    );
}

#[test]
fn every_number_is_a_range_with_a_source() {
    let all = Material::all().expect("materials");
    let mut names = BTreeSet::new();
    for m in all {
        for name in m.names() {
            assert!(names.insert(name.to_lowercase()), "{name} twice");
        }
        let positive = [
            Some(&m.longitudinal_speed),
            m.shear_speed.as_ref(),
            Some(&m.density),
            m.expansion.as_ref(),
            Some(&m.poisson_ratio),
            m.static_modulus.as_ref(),
            Some(&m.roughness),
        ];
        let changes = [&m.longitudinal_speed_per_kelvin, &m.shear_speed_per_kelvin];
        let check = |figure: &Figure| {
            assert!(figure.range.half_width > 0.0, "{}: {figure:?}", m.name);
            let memory = figure.source == "memory";
            assert_eq!(
                memory,
                figure.status == Status::Memory,
                "{}: {figure:?}",
                m.name
            );
        };
        for figure in positive.into_iter().flatten() {
            assert!(figure.range.lower() > 0.0, "{}: {figure:?}", m.name);
            check(figure);
        }
        for figure in changes.into_iter().flatten() {
            assert!(
                figure.range.upper() < 0.0,
                "{} slows down when warm",
                m.name
            );
            check(figure);
        }
        assert!(m.roughness.range.upper() < 1e-3, "{}", m.name);
        assert!(
            (800.0..9000.0).contains(&m.density.range.estimate),
            "{}",
            m.name
        );
    }
    assert!(all.len() >= 25);
}

#[test]
fn poisson_ratio_from_the_speeds_is_that_of_handbooks() {
    let mut checked = 0;
    for m in Material::all().expect("materials") {
        if m.shear_speed.is_some() {
            let found = poisson_ratio(m.longitudinal_speed.range.estimate, shear(m).estimate);
            let range = m.poisson_ratio.range;
            assert!(holds(range, found), "{}: {found} not in {range:?}", m.name);
            checked += 1;
        }
    }
    assert!(checked >= 20);
}

#[test]
fn moduli() {
    // handbook values in GPa, from memory
    for (name, handbook) in [
        ("carbon steel", 207.0),
        ("stainless steel 347", 195.0),
        ("copper", 120.0),
        ("brass", 103.0),
        ("aluminium", 70.0),
        ("titanium", 114.0),
        ("fused quartz", 72.5),
        ("borosilicate glass", 63.0),
        ("cast iron", 85.0),
        ("cast iron", 170.0),
        ("ductile iron", 169.0),
    ] {
        let modulus = material(name).youngs_modulus().expect(name);
        assert!(
            holds(modulus.range, handbook * 1e9),
            "{name}: {:?}",
            modulus.range
        );
        assert!(modulus.source.contains("from sound speeds"), "{name}");
    }
    // 2 rho cS^2 (1 + nu)
    let expected = 2.0 * 7700.0 * 3230.0 * 3230.0 * (1.0 + poisson_ratio(5900.0, 3230.0));
    assert_relative(
        youngs_modulus(5900.0, 3230.0, 7700.0),
        expected,
        1e-14,
        "steel",
    );
    // plastics are stiffer at high frequency than under lasting load
    let mut plastics = 0;
    for m in Material::all().expect("materials") {
        if let (Some(load), Some(sound)) = (&m.static_modulus, m.dynamic_modulus()) {
            assert!(sound.range.estimate > load.range.estimate, "{}", m.name);
            assert_eq!(m.youngs_modulus().as_ref(), Some(load));
            plastics += 1;
        }
    }
    assert!(plastics >= 10);
    assert_eq!(
        material("steel").dynamic_modulus().expect("steel").status,
        Status::Judged
    );
    assert_eq!(
        material("PVC").dynamic_modulus().expect("PVC").status,
        Status::Judged
    );
    assert_eq!(
        material("CPVC").dynamic_modulus().expect("CPVC").status,
        Status::Memory
    );
    assert_eq!(material("bitumen").youngs_modulus(), None);
}

#[test]
fn materials_by_name() {
    for name in ["HDPE", "hdpe", " pe-hd ", "Polyethylene"] {
        assert_eq!(material(name).name, "PE-HD");
    }
    let refused = |name: &str, parts: &[&str]| {
        assert_refused(Material::named(name), "unknown-name", parts);
    };
    let parts = [
        "pipe.material: found `Carbon stel`",
        "did you mean `carbon steel`?",
    ];
    refused("Carbon stel", &parts);
    refused("PVD", &["did you mean `PVC`?", "PVC-U, PVC-C, PE-HD"]);
    refused(
        "unobtainium",
        &["allowed: carbon steel, stainless steel 300 series"],
    );
    refused("", &["pipe.material: found ``"]);
}

#[test]
fn sound_slows_down_in_warm_plastic() {
    let m = material("HDPE");
    let slope = m
        .longitudinal_speed_per_kelvin
        .as_ref()
        .expect("known")
        .range
        .estimate;
    let speed = m.longitudinal_speed.range.estimate;
    assert_eq!(sound_speed_at(speed, slope, 293.15), speed);
    assert_relative(
        sound_speed_at(speed, slope, 313.15),
        speed - 160.0,
        1e-14,
        "40 degC",
    );
    let [c, k, t] = [(speed, 0), (slope, 1), (313.15, 2)];
    let x = |(value, i)| Dual::<f64, 3>::variable(value, i);
    let dual = sound_speed_at(x(c), x(k), x(t));
    assert_relative(dual.gradient[0], 1.0, 1e-15, "speed");
    assert_relative(dual.gradient[1], 20.0, 1e-12, "change");
    assert_relative(dual.gradient[2], -8.0, 1e-12, "temperature");
}

proptest! {
    /// Speeds made from modulus, ratio and density by way of Lame's constants give them back.
    #[test]
    fn elasticity_round_trip(
        modulus in 1e8..4e11_f64,
        ratio in 0.0..0.48_f64,
        density in 800.0..9000.0_f64,
    ) {
        let lambda = modulus * ratio / ((1.0 + ratio) * (1.0 - 2.0 * ratio));
        let shear = modulus / (2.0 * (1.0 + ratio));
        let longitudinal = ((lambda + 2.0 * shear) / density).sqrt();
        let transverse = (shear / density).sqrt();
        prop_assert!((poisson_ratio(longitudinal, transverse) - ratio).abs() < 1e-13);
        let found = youngs_modulus(longitudinal, transverse, density);
        prop_assert!((found / modulus - 1.0).abs() < 1e-12);
        let x = |value, i| Dual::<f64, 3>::variable(value, i);
        let dual = youngs_modulus(x(longitudinal, 0), x(transverse, 1), x(density, 2));
        prop_assert_eq!(dual.value.to_bits(), found.to_bits());
        let by_l = slope(|l| youngs_modulus(l, transverse, density), longitudinal, 1e-3 * transverse);
        let by_s = slope(|s| youngs_modulus(longitudinal, s, density), transverse, 1e-3 * transverse);
        let scale = modulus / transverse;
        prop_assert!((dual.gradient[0] - by_l).abs() < 1e-7 * scale);
        prop_assert!((dual.gradient[1] - by_s).abs() < 1e-7 * scale);
        prop_assert!((dual.gradient[2] * density / modulus - 1.0).abs() < 1e-12);
        let dual = poisson_ratio(x(longitudinal, 0), x(transverse, 1));
        let by_l = slope(|l| poisson_ratio(l, transverse), longitudinal, 1e-3 * transverse);
        let by_s = slope(|s| poisson_ratio(longitudinal, s), transverse, 1e-3 * transverse);
        prop_assert!((dual.gradient[0] - by_l).abs() < 1e-7 / transverse);
        prop_assert!((dual.gradient[1] - by_s).abs() < 1e-7 / transverse);
    }
}
