//! The path of the ray: least time, spacing, interfaces, geometries that are none.

use super::{Pipe, WORDS, any_pipe, layer, pipe};
use crate::support::{assert_refused, assert_relative};
use flowdoubt::Error;
use flowdoubt::acoustics::{
    Aim, Geometry, Layer, LayeredPipe, Path, chord_length, offset_of_misplacement,
    slowness_of_spacing,
};
use flowdoubt::scalar::{Dual, Scalar};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;

/// The runs along the axis in layers of thickness `across` that minimise the travel time, when
/// together they make up `run`; and that time. Newton's method with the step halved until the
/// time falls.
fn fermat(across: &[f64], speeds: &[f64], run: f64) -> (Vec<f64>, f64) {
    let n = across.len() - 1; // the last run is what the others leave
    let total: f64 = across.iter().sum();
    let all = |free: &DVector<f64>| -> Vec<f64> {
        let rest = run - free.sum();
        free.iter().copied().chain([rest]).collect()
    };
    let time = |x: &[f64]| -> f64 {
        let rays = x.iter().zip(across).zip(speeds);
        rays.map(|((x, y), c)| libm::hypot(*x, *y) / c).sum()
    };
    let mut free = DVector::from_fn(n, |i, _| run * across[i] / total);
    for _ in 0..100 {
        let x = all(&free);
        let sine = |i: usize| x[i] / libm::hypot(x[i], across[i]) / speeds[i];
        let bend = |i: usize| {
            across[i] * across[i] / libm::pow(libm::hypot(x[i], across[i]), 3.0) / speeds[i]
        };
        let gradient = DVector::from_fn(n, |i, _| sine(i) - sine(n));
        let hessian = DMatrix::from_fn(n, n, |i, j| bend(n) + if i == j { bend(i) } else { 0.0 });
        let step = hessian.cholesky().expect("time is convex").solve(&gradient);
        let mut share = 1.0;
        while share > 1e-3 && time(&all(&(&free - &step * share))) > time(&x) {
            share *= 0.5;
        }
        free -= step * share;
    }
    let x = all(&free);
    let least = time(&x);
    (x, least)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(1000))]

    /// Both sensors sit at a distance from the pipe in their wedges. Between them sound takes the
    /// path of least time; where it leaves the wedges is the spacing.
    #[test]
    fn the_ray_takes_the_path_of_least_time(g in any_pipe()) {
        let path = g.path();
        let height = 20e-3;
        let in_wedge = height * libm::tan(g.wedge_angle);
        let traversed = f64::from(g.traverses) * g.bore;
        // both sides are alike, so each layer is taken at twice its thickness
        let twice = g.layers.iter().map(|layer| 2.0 * layer.thickness);
        let across: Vec<f64> = [2.0 * height].into_iter().chain(twice).chain([traversed]).collect();
        let speeds: Vec<f64> = [g.wedge_sound_speed].into_iter().chain(g.entered()).collect();
        let (runs, least) = fermat(&across, &speeds, path.spacing + 2.0 * in_wedge);
        let spacing: f64 = runs[1..].iter().sum();
        prop_assert!((spacing / path.spacing - 1.0).abs() < 1e-9, "{spacing} {path:?}");
        let time_in_wedges = 2.0 * libm::hypot(height, in_wedge) / g.wedge_sound_speed;
        let time = time_in_wedges + path.time_in_layers + path.time_in_liquid;
        prop_assert!((time / least - 1.0).abs() < 1e-9, "{time} {least}");
        let run = runs[runs.len() - 1];
        let liquid = libm::hypot(run, traversed) / g.liquid_sound_speed;
        prop_assert!((path.time_in_liquid / liquid - 1.0).abs() < 1e-9);
        let angle = libm::atan(run / traversed);
        prop_assert!((libm::asin(path.liquid_sine) / angle - 1.0).abs() < 1e-9);
        prop_assert_eq!(g.check(), Ok(()));
    }

    /// Between two points on the outside of the pipe sound takes the path of least time, and
    /// that path has the slowness that the spacing determines.
    #[test]
    fn the_spacing_determines_the_path_of_least_time(g in any_pipe()) {
        let spacing = g.path().spacing;
        let found = slowness_of_spacing(&g.geometry(), spacing);
        prop_assert!((found / g.slowness() - 1.0).abs() < 1e-10, "{found} {}", g.slowness());
        let path = Path::trace(&g.geometry(), found);
        let twice = g.layers.iter().map(|layer| 2.0 * layer.thickness);
        let across: Vec<f64> = twice.chain([f64::from(g.traverses) * g.bore]).collect();
        let (_, least) = fermat(&across, &g.entered(), spacing);
        let time = path.time_in_layers + path.time_in_liquid;
        prop_assert!((time / least - 1.0).abs() < 1e-9, "{time} {least}");
        prop_assert!((path.spacing / spacing - 1.0).abs() < 1e-12);
    }
}

proptest! {
    #[test]
    fn slowness_of_a_spacing_has_the_derivatives_of_differences(g in any_pipe()) {
        let spacing = g.path().spacing;
        let at = |spacing: f64, thicker: f64| {
            let mut layers = g.layers.clone();
            layers[0].thickness *= thicker;
            let geometry = Geometry { layers: &layers, ..g.geometry() };
            slowness_of_spacing(&geometry, spacing)
        };
        let variable = |value: f64, place: usize| Dual::<f64, 2>::variable(value, place);
        let mut layers: Vec<Layer<Dual<f64, 2>>> =
            g.layers.iter().map(|l| layer(l.thickness, l.sound_speed)).collect();
        layers[0].thickness = variable(g.layers[0].thickness, 1);
        let geometry = Geometry {
            layers: &layers,
            chord: Dual::fixed(g.bore),
            liquid_sound_speed: Dual::fixed(g.liquid_sound_speed),
            traverses: g.traverses,
        };
        let found = slowness_of_spacing(&geometry, variable(spacing, 0));
        prop_assert_eq!(found.value.to_bits(), at(spacing, 1.0).to_bits());
        let h = 1e-5;
        let by_spacing = (at(spacing * (1.0 + h), 1.0) - at(spacing * (1.0 - h), 1.0)) / (2.0 * h);
        let by_wall = (at(spacing, 1.0 + h) - at(spacing, 1.0 - h)) / (2.0 * h);
        let scale = found.value.abs();
        prop_assert!((found.gradient[0] * spacing - by_spacing).abs() < 1e-6 * scale);
        prop_assert!((found.gradient[1] * g.layers[0].thickness - by_wall).abs() < 1e-6 * scale);
    }

    #[test]
    fn total_reflection_begins_at_the_angle_that_the_error_names(
        g in any_pipe(),
        beyond in 1.0001..1.5_f64,
    ) {
        let mut steep = g;
        let speeds = steep.entered();
        let fastest = speeds.iter().copied().fold(0.0, f64::max);
        let sine = beyond * steep.wedge_sound_speed / fastest;
        prop_assume!(sine < 1.0);
        steep.wedge_angle = libm::asin(sine);
        let Err(Error::TotalReflection { field, sine, largest_angle_deg }) = steep.check() else {
            panic!("a ray at {steep:?}");
        };
        prop_assert!(sine >= 1.0);
        // the first layer that the ray cannot enter
        let first = speeds.iter().position(|c| steep.slowness() * c >= 1.0).expect("reflection");
        let mut words: Vec<&str> = vec!["wedge"];
        words.extend(WORDS.iter().take(steep.layers.len()).map(|(_, word)| *word));
        words.push("liquid");
        prop_assert_eq!(field, format!("{} to {}", words[first], words[first + 1]));
        for (factor, passes) in [(1.0 - 1e-9, true), (1.0 + 1e-9, false)] {
            steep.wedge_angle = (largest_angle_deg * factor).to_radians();
            prop_assert_eq!(steep.check().is_ok(), passes);
            prop_assert_eq!(steep.path().spacing.is_finite(), passes);
        }
    }

    #[test]
    fn derivatives_meet_differences(g in any_pipe()) {
        let traced = |factor: f64| {
            let geometry = Geometry {
                liquid_sound_speed: g.liquid_sound_speed * factor,
                ..g.geometry()
            };
            Path::trace(&geometry, g.slowness())
        };
        let layers: Vec<Layer<Dual<f64, 1>>> =
            g.layers.iter().map(|l| layer(l.thickness, l.sound_speed)).collect();
        let geometry = Geometry {
            layers: &layers,
            chord: Dual::constant(g.bore),
            liquid_sound_speed: Dual::variable(g.liquid_sound_speed, 0),
            traverses: g.traverses,
        };
        let dual = Path::trace(&geometry, Dual::constant(g.slowness()));
        let h = 1e-6;
        let per_unit = |f: fn(&Path<f64>) -> f64| {
            (f(&traced(1.0 + h)) - f(&traced(1.0 - h))) / (2.0 * h * g.liquid_sound_speed)
        };
        let by_difference = per_unit(|p| p.spacing);
        let scale = dual.spacing.value / g.liquid_sound_speed;
        prop_assert!((dual.spacing.gradient[0] - by_difference).abs() < 1e-6 * scale);
        let by_difference = per_unit(|p| p.time_in_liquid);
        let scale = dual.time_in_liquid.value / g.liquid_sound_speed;
        prop_assert!((dual.time_in_liquid.gradient[0] - by_difference).abs() < 1e-6 * scale);
        prop_assert_eq!(dual.spacing.value.to_bits(), g.path().spacing.to_bits());
    }
}

#[test]
fn the_ray_drawn_point_by_point() {
    for traverses in 1..=8 {
        let g = Pipe {
            traverses,
            ..pipe()
        };
        let path = g.path();
        // from the outside of the near wall to that of the wall where the ray comes out
        let mut layers = g.layers.clone();
        layers.extend((0..traverses).map(|_| layer::<f64>(g.bore, g.liquid_sound_speed)));
        layers.extend(g.layers.iter().rev());
        let (mut z, mut time) = (0.0, 0.0);
        for Layer {
            thickness,
            sound_speed,
        } in layers
        {
            let angle = libm::asin(libm::sin(g.wedge_angle) / g.wedge_sound_speed * sound_speed);
            let run = thickness * libm::tan(angle);
            z += run;
            time += libm::hypot(thickness, run) / sound_speed;
        }
        assert_relative(path.spacing, z, 1e-14, "spacing");
        let total = path.time_in_layers + path.time_in_liquid;
        assert_relative(total, time, 1e-14, "time");
    }
}

#[test]
fn a_ray_along_the_normal_goes_straight_through() {
    let g = pipe();
    let slight = Pipe {
        wedge_angle: 1e-9,
        ..g.clone()
    }
    .path();
    let liquid = 2.0 * g.bore;
    assert_relative(slight.time_in_liquid, liquid / 1480.0, 1e-15, "liquid");
    let solid: f64 = g
        .layers
        .iter()
        .map(|l| 2.0 * l.thickness / l.sound_speed)
        .sum();
    assert_relative(slight.time_in_layers, solid, 1e-15, "solid");
    // small angles are as the sound speeds, so runs are as thickness times sound speed
    let products: f64 = g
        .layers
        .iter()
        .map(|l| 2.0 * l.thickness * l.sound_speed)
        .sum();
    let run = (products + liquid * 1480.0) * 1e-9 / g.wedge_sound_speed;
    assert_relative(slight.spacing, run, 1e-12, "spacing");
}

#[test]
fn no_liner_is_a_liner_of_no_thickness() {
    let mut with = pipe();
    with.layers[1] = layer(0.0, 1500.0);
    let mut without = pipe();
    without.layers.truncate(1);
    assert_eq!(with.path(), without.path());
    // no wall at all: the wedge touches the liquid
    without.layers.clear();
    assert_eq!(without.path().time_in_layers, 0.0);
    assert_eq!(without.path().spacing, without.path().run_in_liquid);
}

#[test]
fn interfaces_without_a_refracted_ray_are_named() {
    let fast = |wall: f64, liner: Option<f64>, liquid: f64, field: &str| {
        let mut g = pipe();
        g.layers = vec![layer(7e-3, wall)];
        g.layers
            .extend(liner.map(|speed| layer::<f64>(4e-3, speed)));
        g.liquid_sound_speed = liquid;
        let parts = [field, "no refracted ray", "wedge angle below"];
        assert_refused(g.check(), "total-reflection", &parts);
    };
    fast(5900.0, Some(2600.0), 1480.0, "wedge to wall: ");
    fast(3230.0, Some(4300.0), 1480.0, "wall to liner: ");
    fast(3230.0, Some(2600.0), 4000.0, "liner to liquid: ");
    fast(3230.0, None, 4000.0, "wall to liquid: ");
}

#[test]
fn geometries_that_are_none() {
    let refused = |change: &dyn Fn(&mut Pipe), field: &str| {
        let mut g = pipe();
        g.layers.push(layer(1e-3, 2000.0));
        change(&mut g);
        assert_refused(g.check(), "out-of-range", &[field, "allowed: "]);
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(&|g| g.wedge_sound_speed = bad, "path.wedge_sound_speed");
        refused(&|g| g.layers[0].sound_speed = bad, "pipe.wall_sound_speed");
        refused(&|g| g.bore = bad, "chord of the path");
        refused(&|g| g.liquid_sound_speed = bad, "liquid sound speed");
        refused(&|g| g.layers[1].sound_speed = bad, "pipe.liner_sound_speed");
        refused(
            &|g| g.layers[2].sound_speed = bad,
            "pipe.layer[1].sound_speed",
        );
        refused(&|g| g.wedge_angle = bad, "path.wedge_angle");
    }
    refused(
        &|g| g.layers[0].thickness = f64::NAN,
        "pipe.wall: found NaN m",
    );
    refused(
        &|g| g.layers[1].thickness = -1e-3,
        "pipe.liner: found -0.001 m",
    );
    refused(
        &|g| g.layers[2].thickness = -1e-3,
        "pipe.layer[1].thickness: found -0.001 m",
    );
    refused(&|g| g.wedge_angle = 1.6, "between 0 and 90");
    refused(&|g| g.traverses = 0, "path.traverses: found 0");
    refused(&|g| g.traverses = 9, "path.traverses: found 9");
}

#[test]
fn spacings_that_no_ray_has() {
    let g = pipe();
    for none in [0.0, -0.1, f64::NAN] {
        assert!(slowness_of_spacing(&g.geometry(), none).is_nan(), "{none}");
    }
    let layered = LayeredPipe {
        outside_diameter: 0.222,
        couplant: Some(layer(0.1e-3, 1500.0)),
        layers: g.layers,
        liquid_sound_speed: 1480.0,
        traverses: 2,
    };
    for none in [0.0, -0.1, f64::NAN, f64::INFINITY] {
        let parts = ["path.spacing", "above 0"];
        assert_refused(layered.trace(Aim::Spacing(none)), "out-of-range", &parts);
    }
    let thick = LayeredPipe {
        layers: vec![layer(7e-3, 3230.0), layer(104e-3, 2600.0)],
        ..layered.clone()
    };
    let parts = ["pipe.inside_diameter: found 0 m", "thinner than the radius"];
    assert_refused(thick.trace(Aim::Spacing(0.1)), "out-of-range", &parts);
    let bare = LayeredPipe {
        layers: Vec::new(),
        ..layered.clone()
    };
    assert_refused(bare.trace(Aim::Spacing(0.1)), "missing", &["pipe.wall"]);
    let traced = layered.trace(Aim::Spacing(0.2)).expect("a ray");
    assert_eq!(traced.inside_diameter, 0.222 - 2.0 * (7e-3 + 4e-3));
    assert_eq!(traced.layer_angles.len(), 2);
    assert_relative(traced.path.spacing, 0.2, 1e-14, "spacing");
}

proptest! {
    /// A ray drawn round the pipe: from where one sensor is to where the other belongs and
    /// `misplacement` beyond, in chords of equal angle.
    #[test]
    fn a_sensor_out_of_place_leads_the_path_off_the_centre(
        outside in 0.05..2.0_f64,
        wall_share in 0.01..0.2_f64,
        misplaced in -0.2..0.2_f64,
        traverses in 1..9_u32,
    ) {
        let inside = outside * (1.0 - wall_share);
        let misplacement = misplaced * outside;
        let angle = 2.0 * misplacement / outside;
        let step = std::f64::consts::PI + angle / f64::from(traverses);
        let point = |turn: f64| (0.5 * inside * libm::cos(turn), 0.5 * inside * libm::sin(turn));
        let (a, b) = (point(0.0), point(step));
        let chord = libm::hypot(b.0 - a.0, b.1 - a.1);
        let distance = (a.0 * b.1 - a.1 * b.0) / chord;
        let found = offset_of_misplacement(misplacement, outside, inside, traverses);
        prop_assert!((found + distance).abs() < 1e-14 * outside, "{found} {distance}");
        prop_assert!((chord_length(inside, found) - chord).abs() < 1e-14 * outside);
    }
}
