//! The sound path against plane geometry and against Fermat's principle, neither of which knows
//! of Snell's law.

use crate::support::{assert_refused, assert_relative};
use flowdoubt::Error;
use flowdoubt::acoustics::{
    Geometry, Layer, Path, check, velocity_from_geometry, velocity_from_time,
    velocity_of_programmed_meter,
};
use flowdoubt::scalar::{Dual, Scalar};
use nalgebra::{DMatrix, DVector};
use proptest::prelude::*;

fn layer<S: Scalar>(thickness: f64, sound_speed: f64) -> Layer<S> {
    Layer {
        thickness: S::constant(thickness),
        sound_speed: S::constant(sound_speed),
    }
}

/// A lined steel pipe of 200 mm bore with water.
fn pipe() -> Geometry<f64> {
    Geometry {
        wedge_angle: 40.0_f64.to_radians(),
        wedge_sound_speed: 2430.0,
        wall: layer(7.0e-3, 3230.0),
        liner: layer(4.0e-3, 2600.0),
        inside_diameter: 0.2,
        liquid_sound_speed: 1480.0,
        traverses: 2,
    }
}

prop_compose! {
    /// Any pipe through which a ray passes: in the fastest layer the sine of its angle is `sine`.
    fn any_pipe()(
        sine in 0.05..0.95_f64,
        wedge_sound_speed in 1500.0..3000.0_f64,
        wall in (1e-3..30e-3_f64, 1200.0..6200.0_f64),
        liner in (0.5e-3..20e-3_f64, 1200.0..5000.0_f64),
        inside_diameter in 0.01..3.0_f64,
        liquid_sound_speed in 900.0..2000.0_f64,
        traverses in 1..5_u32,
    ) -> Geometry<f64> {
        let speeds = [wall.1, liner.1, liquid_sound_speed, wedge_sound_speed];
        let fastest = speeds.into_iter().fold(0.0, f64::max);
        Geometry {
            wedge_angle: libm::asin(sine * wedge_sound_speed / fastest),
            wedge_sound_speed,
            wall: layer(wall.0, wall.1),
            liner: layer(liner.0, liner.1),
            inside_diameter,
            liquid_sound_speed,
            traverses,
        }
    }
}

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
        rays.map(|((x, y), c)| x.hypot(*y) / c).sum()
    };
    let mut free = DVector::from_fn(n, |i, _| run * across[i] / total);
    for _ in 0..100 {
        let x = all(&free);
        let sine = |i: usize| x[i] / x[i].hypot(across[i]) / speeds[i];
        let bend =
            |i: usize| across[i] * across[i] / libm::pow(x[i].hypot(across[i]), 3.0) / speeds[i];
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
    /// Both sensors sit at a distance from the pipe in their wedges. Between them sound takes the
    /// path of least time; where it leaves the wedges is the spacing.
    #[test]
    fn the_ray_takes_the_path_of_least_time(g in any_pipe()) {
        let path = Path::trace(&g);
        let height = 20e-3;
        let in_wedge = height * libm::tan(g.wedge_angle);
        let traversed = f64::from(g.traverses) * g.inside_diameter;
        // both sides are alike, so each layer is taken at twice its thickness
        let across = [2.0 * height, 2.0 * g.wall.thickness, 2.0 * g.liner.thickness, traversed];
        let speeds = [
            g.wedge_sound_speed,
            g.wall.sound_speed,
            g.liner.sound_speed,
            g.liquid_sound_speed,
        ];
        let (runs, least) = fermat(&across, &speeds, path.spacing + 2.0 * in_wedge);
        let spacing: f64 = runs[1..].iter().sum();
        prop_assert!((spacing / path.spacing - 1.0).abs() < 1e-9, "{spacing} {path:?}");
        let time_in_wedges = 2.0 * height.hypot(in_wedge) / g.wedge_sound_speed;
        let time = time_in_wedges + path.time_in_wall + path.time_in_liquid;
        prop_assert!((time / least - 1.0).abs() < 1e-9, "{time} {least}");
        let liquid = runs[3].hypot(traversed) / g.liquid_sound_speed;
        prop_assert!((path.time_in_liquid / liquid - 1.0).abs() < 1e-9);
        prop_assert_eq!(check(&g), Ok(()));
    }

    #[test]
    fn total_reflection_begins_at_the_angle_that_the_error_names(
        g in any_pipe(),
        beyond in 1.0001..1.5_f64,
    ) {
        let mut steep = g;
        let speeds = [g.wall.sound_speed, g.liner.sound_speed, g.liquid_sound_speed];
        let fastest = speeds.into_iter().fold(0.0, f64::max);
        let sine = beyond * g.wedge_sound_speed / fastest;
        prop_assume!(sine < 1.0);
        steep.wedge_angle = libm::asin(sine);
        let Err(Error::TotalReflection { field, sine, largest_angle_deg }) = check(&steep) else {
            panic!("a ray at {steep:?}");
        };
        prop_assert!(sine >= 1.0);
        // the first layer that the ray cannot enter
        let slowness = libm::sin(steep.wedge_angle) / g.wedge_sound_speed;
        let first = speeds.iter().position(|c| slowness * c >= 1.0).expect("reflection");
        let names = ["wedge to wall", "wall to liner", "liner to liquid"];
        prop_assert_eq!(field.as_str(), names[first]);
        for (factor, passes) in [(1.0 - 1e-9, true), (1.0 + 1e-9, false)] {
            steep.wedge_angle = (largest_angle_deg * factor).to_radians();
            prop_assert_eq!(check(&steep).is_ok(), passes);
            prop_assert_eq!(Path::trace(&steep).spacing.is_finite(), passes);
        }
    }

    #[test]
    fn derivatives_meet_differences(g in any_pipe()) {
        let traced = |factor: f64| {
            Path::trace(&Geometry { liquid_sound_speed: g.liquid_sound_speed * factor, ..g })
        };
        let dual = Path::trace(&Geometry {
            wedge_angle: Dual::<f64, 1>::constant(g.wedge_angle),
            wedge_sound_speed: Dual::constant(g.wedge_sound_speed),
            wall: layer(g.wall.thickness, g.wall.sound_speed),
            liner: layer(g.liner.thickness, g.liner.sound_speed),
            inside_diameter: Dual::constant(g.inside_diameter),
            liquid_sound_speed: Dual::variable(g.liquid_sound_speed, 0),
            traverses: g.traverses,
        });
        let h = 1e-6;
        let per_unit = |f: fn(&Path<f64>) -> f64| {
            (f(&traced(1.0 + h)) - f(&traced(1.0 - h))) / (2.0 * h * g.liquid_sound_speed)
        };
        let by_difference = per_unit(|p| p.spacing);
        prop_assert!((dual.spacing.gradient[0] / by_difference - 1.0).abs() < 1e-6);
        let by_difference = per_unit(|p| p.time_in_liquid);
        let scale = dual.time_in_liquid.value / g.liquid_sound_speed;
        prop_assert!((dual.time_in_liquid.gradient[0] - by_difference).abs() < 1e-6 * scale);
        prop_assert_eq!(dual.spacing.value.to_bits(), Path::trace(&g).spacing.to_bits());
    }
}

#[test]
fn the_ray_drawn_point_by_point() {
    for traverses in [1, 2, 3, 4] {
        let g = Geometry {
            traverses,
            ..pipe()
        };
        let path = Path::trace(&g);
        // from the outside of the near wall to that of the wall where the ray comes out
        let mut layers = vec![g.wall, g.liner];
        layers.extend((0..traverses).map(|_| layer(g.inside_diameter, g.liquid_sound_speed)));
        layers.extend([g.liner, g.wall]);
        let (mut z, mut time) = (0.0, 0.0);
        for Layer {
            thickness,
            sound_speed,
        } in layers
        {
            let angle = libm::asin(libm::sin(g.wedge_angle) / g.wedge_sound_speed * sound_speed);
            let run = thickness * libm::tan(angle);
            z += run;
            time += thickness.hypot(run) / sound_speed;
        }
        assert_relative(path.spacing, z, 1e-14, "spacing");
        let total = path.time_in_wall + path.time_in_liquid;
        assert_relative(total, time, 1e-14, "time");
    }
}

#[test]
fn a_ray_along_the_normal_goes_straight_through() {
    let g = pipe();
    let slight = Path::trace(&Geometry {
        wedge_angle: 1e-9,
        ..g
    });
    let (wall, liner) = (g.wall, g.liner);
    let liquid = 2.0 * g.inside_diameter;
    assert_relative(slight.time_in_liquid, liquid / 1480.0, 1e-15, "liquid");
    let solid = 2.0 * (wall.thickness / wall.sound_speed + liner.thickness / liner.sound_speed);
    assert_relative(slight.time_in_wall, solid, 1e-15, "solid");
    // small angles are as the sound speeds, so runs are as thickness times sound speed
    let products = 2.0 * (wall.thickness * wall.sound_speed + liner.thickness * liner.sound_speed);
    let run = (products + liquid * 1480.0) * 1e-9 / g.wedge_sound_speed;
    assert_relative(slight.spacing, run, 1e-12, "spacing");
}

#[test]
fn no_liner_is_a_liner_of_no_thickness() {
    let mut g = pipe();
    g.liner = layer(0.0, 1e4); // the ray could not enter it
    let path = Path::trace(&Geometry {
        liner: layer(0.0, 1500.0),
        ..g
    });
    assert_eq!(check(&g), Ok(()));
    let expected = Path::trace(&Geometry {
        liner: layer(1e-15, 1500.0),
        ..g
    });
    assert_relative(path.spacing, expected.spacing, 1e-12, "spacing");
}

#[test]
fn interfaces_without_a_refracted_ray_are_named() {
    let fast = |wall: f64, liner: Layer<f64>, liquid: f64, field: &str| {
        let mut g = pipe();
        g.wall.sound_speed = wall;
        g.liner = liner;
        g.liquid_sound_speed = liquid;
        let parts = [field, "no refracted ray", "wedge angle below"];
        assert_refused(check(&g), "total-reflection", &parts);
    };
    let (slow, none) = (layer(4e-3, 2600.0), layer(0.0, 0.0));
    fast(5900.0, slow, 1480.0, "wedge to wall: ");
    fast(3230.0, layer(4e-3, 4300.0), 1480.0, "wall to liner: ");
    fast(3230.0, slow, 4000.0, "liner to liquid: ");
    fast(3230.0, none, 4000.0, "wall to liquid: ");
}

#[test]
fn geometries_that_are_none() {
    let refused = |change: &dyn Fn(&mut Geometry<f64>), field: &str| {
        let mut g = pipe();
        change(&mut g);
        assert_refused(check(&g), "out-of-range", &[field, "allowed: "]);
    };
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        refused(&|g| g.wedge_sound_speed = bad, "path.wedge_sound_speed");
        refused(&|g| g.wall.thickness = bad, "pipe.wall");
        refused(&|g| g.wall.sound_speed = bad, "pipe.wall_sound_speed");
        refused(&|g| g.inside_diameter = bad, "pipe.inside_diameter");
        refused(&|g| g.liquid_sound_speed = bad, "liquid sound speed");
        refused(&|g| g.liner.sound_speed = bad, "pipe.liner_sound_speed");
        refused(&|g| g.wedge_angle = bad, "path.wedge_angle");
    }
    refused(&|g| g.liner.thickness = -1e-3, "pipe.liner: found -0.001 m");
    refused(&|g| g.wedge_angle = 1.6, "between 0 and 90");
    refused(&|g| g.traverses = 0, "path.traverses: found 0");
    refused(&|g| g.traverses = 9, "path.traverses: found 9");
}

/// Time over one crossing of the liquid that moves along the axis with velocity `v`, between
/// points `run` apart along it and `across` apart: the sound wave is carried along, so that
/// `|(run - v t, across)| = c t`.
fn carried_time(run: f64, across: f64, c: f64, v: f64) -> f64 {
    let (a, b, square) = (c * c - v * v, run * v, run * run + across * across);
    ((b * b + a * square).sqrt() - b) / a
}

/// Transit time in the liquid and time difference at velocity `v`.
fn times(g: &Geometry<f64>, path: &Path<f64>, v: f64) -> (f64, f64) {
    let tangent = path.liquid_sine / (1.0 - path.liquid_sine * path.liquid_sine).sqrt();
    let run = g.inside_diameter * tangent;
    let n = f64::from(g.traverses);
    let one_way = |v: f64| n * carried_time(run, g.inside_diameter, g.liquid_sound_speed, v);
    let (with, against) = (one_way(v), one_way(-v));
    (0.5 * (with + against), against - with)
}

/// The velocities that the timed and the geometric basis find when the liquid moves at `v`.
fn velocities(g: &Geometry<f64>, v: f64) -> [f64; 2] {
    let path = Path::trace(g);
    let (time, difference) = times(g, &path, v);
    let (c, d) = (g.liquid_sound_speed, g.inside_diameter);
    [
        velocity_from_time(difference, time, path.axial_slowness),
        velocity_from_geometry(difference, &path, c, d, g.traverses),
    ]
}

proptest! {
    #[test]
    fn both_bases_recover_the_velocity_but_for_its_second_order(
        g in any_pipe(),
        v in prop_oneof![0.1..10.0_f64, -10.0..-0.1_f64],
    ) {
        let mach = v / g.liquid_sound_speed;
        // the sound path must be known by its times to more than they change
        let rounding = 1e-15 / (mach.abs() * Path::trace(&g).liquid_sine);
        for found in velocities(&g, v) {
            let error = (found / v - 1.0).abs();
            prop_assert!(error < 2.0 * mach * mach + 20.0 * rounding, "{error} at {mach}");
        }
    }

    #[test]
    fn both_bases_agree_when_sound_speed_and_transit_time_do(g in any_pipe(), dt in 1e-9..1e-6_f64) {
        let path = Path::trace(&g);
        let timed = velocity_from_time(dt, path.time_in_liquid, path.axial_slowness);
        let (c, d) = (g.liquid_sound_speed, g.inside_diameter);
        let geometric = velocity_from_geometry(dt, &path, c, d, g.traverses);
        prop_assert!((timed / geometric - 1.0).abs() < 1e-13);
    }

    #[test]
    fn a_wrongly_programmed_meter_is_put_right(
        g in any_pipe(),
        dt in 1e-9..1e-6_f64,
        slowness_error in 0.9..1.1_f64,
        programmed_factor in 0.7..1.1_f64,
    ) {
        let path = Path::trace(&g);
        let true_velocity = velocity_from_time(dt, path.time_in_liquid, path.axial_slowness);
        let programmed = path.axial_slowness * slowness_error;
        let indicated = programmed_factor * velocity_from_time(dt, path.time_in_liquid, programmed);
        let ratio = programmed / path.axial_slowness;
        let found = velocity_of_programmed_meter(indicated, ratio, programmed_factor);
        prop_assert!((found / true_velocity - 1.0).abs() < 1e-14);
    }
}

#[test]
fn the_second_order_is_a_millionth_at_a_usual_velocity() {
    // 1.5 m/s in water: (v/c)^2 is 1.0e-6, and a quarter of that at half the velocity
    let [timed, geometric] = velocities(&pipe(), 1.5).map(|v| v / 1.5 - 1.0);
    assert!(timed.abs() < 1.1e-6 && geometric.abs() < 1.1e-6);
    let at = |v: f64| velocities(&pipe(), v)[1] / v - 1.0;
    assert_relative(at(15.0) / at(7.5), 4.0, 1e-3, "ratio of second orders");
}
