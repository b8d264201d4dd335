//! From times to sound speed and velocity, for sound that moving liquid carries along.

use super::{Pipe, any_pipe, pipe};
use crate::support::assert_relative;
use flowdoubt::acoustics::{
    Geometry, Path, convected, graded_crossing, sound_speed_at_slowness, sound_speed_at_spacing,
    velocity_from_geometry, velocity_from_time,
};
use proptest::prelude::*;

proptest! {
    /// On the timed basis a variation of the sound speed across the pipe is no error: `dt` and
    /// `t` of a ray of given slowness weigh the same.
    #[test]
    fn the_timed_basis_does_not_mind_a_graded_liquid(
        change in -0.1..0.1_f64,
        sine in 0.2..0.6_f64,
        v in 0.1..5.0_f64,
    ) {
        let (thickness, c) = (0.2, 1480.0);
        let slowness = sine / c;
        let speed = |y: f64| c * (1.0 + change * (y - 0.5));
        let (_, time) = graded_crossing(thickness, slowness, speed);
        // in first order of v, each part of the path contributes 2 a v dt_path
        let dt = 2.0 * slowness * v * time;
        let found = velocity_from_time(dt, time, slowness);
        prop_assert!((found / v - 1.0).abs() < 1e-14);
        // the arc is longer than the straight ray at the mean sound speed by the square only
        let straight = thickness / (c * (1.0 - sine * sine).sqrt());
        prop_assert!((time / straight - 1.0).abs() < 0.5 * change * change);
    }
}

/// Time over one crossing of the liquid that moves along the axis with velocity `v`, between
/// points `run` apart along it and `across` apart: the sound wave is carried along, so that
/// `|(run - v t, across)| = c t`.
fn carried_time(run: f64, across: f64, c: f64, v: f64) -> f64 {
    let (a, b, square) = (c * c - v * v, run * v, run * run + across * across);
    ((b * b + a * square).sqrt() - b) / a
}

/// Transit time in the liquid and time difference at velocity `v`.
fn times(g: &Pipe, path: &Path<f64>, v: f64) -> (f64, f64) {
    let n = f64::from(g.traverses);
    let run = path.run_in_liquid / n;
    let one_way = |v: f64| n * carried_time(run, g.bore, g.liquid_sound_speed, v);
    let (with, against) = (one_way(v), one_way(-v));
    (0.5 * (with + against), against - with)
}

proptest! {
    /// From the time alone two angles fit, one on each side of 45 degrees; the path tells which.
    #[test]
    fn the_sound_speed_comes_back_from_the_time(g in any_pipe(), off in -0.02..0.02_f64) {
        let path = g.path();
        let across = f64::from(g.traverses) * g.bore;
        let found = sound_speed_at_spacing(path.time_in_liquid, &path, across);
        prop_assert!((found / g.liquid_sound_speed - 1.0).abs() < 1e-12);
        // near 45 degrees the two angles meet, and the root of their difference is lost in rounding
        let angle = libm::asin(path.liquid_sine).to_degrees();
        prop_assume!((angle - 45.0).abs() > 3.0);
        let found = sound_speed_at_slowness(path.time_in_liquid, &path, across);
        prop_assert!((found / g.liquid_sound_speed - 1.0).abs() < 1e-11);
        // the path may have been traced with a sound speed that is not quite the right one
        let expected = Geometry {
            liquid_sound_speed: g.liquid_sound_speed * (1.0 + off),
            ..g.geometry()
        };
        let guess = Path::trace(&expected, g.slowness());
        prop_assume!((guess.liquid_sine * guess.liquid_sine > 0.5) == (angle > 45.0));
        let found = sound_speed_at_slowness(path.time_in_liquid, &guess, across);
        prop_assert!((found / g.liquid_sound_speed - 1.0).abs() < 1e-11);
    }
}

/// The velocities that the timed basis in first order, the timed and the geometric basis find when
/// the liquid moves at `v`.
fn velocities(g: &Pipe, v: f64) -> [f64; 3] {
    let path = g.path();
    let (time, difference) = times(g, &path, v);
    let first_order = velocity_from_time(difference, time, path.axial_slowness);
    [
        first_order,
        convected(first_order, path.liquid_sine, g.liquid_sound_speed),
        velocity_from_geometry(difference, &path, g.liquid_sound_speed),
    ]
}

proptest! {
    #[test]
    fn both_bases_recover_a_uniform_velocity(
        g in any_pipe(),
        v in prop_oneof![0.1..300.0_f64, -300.0..-0.1_f64],
    ) {
        let mach = v / g.liquid_sound_speed;
        // the sound path must be known by its times to more than they change
        let rounding = 1e-15 / (mach.abs() * g.path().liquid_sine);
        let [first_order, timed, geometric] = velocities(&g, v);
        for found in [timed, geometric] {
            let error = (found / v - 1.0).abs();
            prop_assert!(error < 40.0 * rounding, "{error} at {mach}");
        }
        prop_assert!((first_order / v - 1.0).abs() < mach * mach + 20.0 * rounding);
    }

    #[test]
    fn both_bases_agree_when_sound_speed_and_transit_time_do(g in any_pipe(), dt in 1e-9..1e-6_f64) {
        let path = g.path();
        let timed = velocity_from_time(dt, path.time_in_liquid, path.axial_slowness);
        let geometric = velocity_from_geometry(dt, &path, g.liquid_sound_speed);
        // apart from what the flow carries along
        let mach = timed / g.liquid_sound_speed;
        prop_assert!((timed / geometric - 1.0).abs() < 1e-13 + 2.0 * mach * mach);
    }
}

#[test]
fn beam_convection_is_a_millionth_at_a_usual_velocity() {
    // 1.5 m/s in water: half of (v/c)^2 cos^2 is 0.43e-6, and a quarter of that at half the velocity
    let of = |v: f64| velocities(&pipe(), v)[0] / v - 1.0;
    assert!((0.3e-6..0.6e-6).contains(&of(1.5)), "{}", of(1.5));
    assert_relative(of(15.0) / of(7.5), 4.0, 1e-3, "ratio of second orders");
}
