//! Cross flow and swirl, by the travel times of rays.

use super::{crossed, mounted};
use crate::support::{assert_relative, slope};
use flowdoubt::profile::disturbance::{
    CrossFlow, DisturbedProfile, Fitting, Mounting, cross_flow, cross_flow_half_width,
    disturbed_profile, installation_factor, swirl_decay_rate,
};
use std::f64::consts::{FRAC_PI_2, PI};

/// The velocity that a transit-time meter finds from the travel times of rays cut into short
/// pieces, on `traverses` crossings of the diameter at `orientation`.
fn indicated(flow: &CrossFlow<f64>, orientation: f64, traverses: u32, theta: f64) -> f64 {
    const SOUND_SPEED: f64 = 1e6; // far above the flow: the effect is of first order
    const PIECES: u32 = 2000;
    let (along, with_axis) = (libm::cos(theta), libm::sin(theta));
    let piece = 2.0 / along / f64::from(PIECES);
    let (mut with_flow, mut against_flow) = (0.0, 0.0);
    for traverse in 0..traverses {
        let sign = if traverse % 2 == 0 { 1.0 } else { -1.0 };
        for i in 0..PIECES {
            let x = -1.0 + 2.0 * (f64::from(i) + 0.5) / f64::from(PIECES);
            let angle = if x < 0.0 {
                orientation + PI
            } else {
                orientation
            };
            let [vx, vy] = flow.velocity(x.abs(), angle);
            let cross = vx * libm::cos(orientation) + vy * libm::sin(orientation);
            let carried = with_axis + sign * cross * along; // axial velocity one
            with_flow += piece / (SOUND_SPEED + carried);
            against_flow += piece / (SOUND_SPEED - carried);
        }
    }
    let length = f64::from(traverses) * 2.0 / along;
    SOUND_SPEED * SOUND_SPEED * (against_flow - with_flow) / (2.0 * length * with_axis)
}

#[test]
fn direct_paths_see_cross_flow_and_reflected_paths_do_not() {
    let flow = CrossFlow {
        cells: 0.08,
        swirl: 0.3,
        offset: 0.15,
        offset_angle: 0.7,
    };
    let theta = 22.0_f64.to_radians();
    for degrees in [0.0, 35.0, 90.0, 160.0] {
        let orientation = f64::to_radians(degrees);
        for traverses in 1..=5 {
            let found = flow.effect(orientation, traverses, theta);
            let by_times = indicated(&flow, orientation, traverses, theta) - 1.0;
            assert!(
                (found - by_times).abs() < 1e-5,
                "{traverses}: {found} {by_times}"
            );
            assert!(traverses % 2 == 1 || found == 0.0);
        }
    }
    // a swirl about the axis itself has no component on any diameter
    let centred = CrossFlow {
        cells: 0.0,
        offset: 0.0,
        ..flow
    };
    assert_eq!(centred.effect(0.4, 1, theta), 0.0);
    // across the plane of the bend the cells have none, in its plane they have most
    let cells = CrossFlow { swirl: 0.0, ..flow };
    assert!(cells.effect(FRAC_PI_2, 1, theta).abs() < 1e-16);
    assert_relative(
        cells.effect(0.0, 1, theta),
        0.08 * 2.0 / 3.0 / libm::tan(theta),
        1e-14,
        "cells",
    );
}

#[test]
fn cross_flow_widens_direct_paths_only() {
    for fitting in Fitting::ALL {
        for m in [mounted(3.0, 20.0), crossed(3.0)] {
            let h = |traverses| cross_flow_half_width(fitting, &m, traverses, 0.38);
            assert_eq!(h(2), 0.0);
            assert_eq!(h(4), 0.0);
            assert_relative(h(3), h(1) / 3.0, 1e-14, fitting.name());
            // it covers the effect at every orientation that cannot be told apart
            for degrees in [20.0, 160.0, 200.0, 340.0] {
                let effect = cross_flow(fitting, 3.0).effect(f64::to_radians(degrees), 1, 0.38);
                assert!(effect.abs() <= h(1), "{fitting:?} at {degrees} deg");
            }
        }
    }
    let bend = |m: Mounting<f64>| cross_flow_half_width(Fitting::SingleBend, &m, 1, 0.38);
    assert!(bend(mounted(3.0, 90.0)) < 1e-15);
    let effect = cross_flow(Fitting::SingleBend, 3.0).effect(0.0, 1, 0.38);
    assert!(effect > 0.05);
    // coefficients from memory: half of the effect is added
    assert_relative(
        bend(mounted(3.0, 0.0)),
        1.5 * effect,
        1e-14,
        "in the plane of the bend",
    );
    assert!(bend(mounted(120.0, 0.0)) < 1e-8);
    let unknown = Mounting {
        orientation: None,
        ..mounted(3.0, 0.0)
    };
    assert_eq!(bend(unknown), bend(mounted(3.0, 0.0)));
    assert_relative(
        bend(crossed(3.0)),
        bend(unknown) / libm::sqrt(2.0),
        1e-14,
        "crossed",
    );
}

/// Two cells that carry the undisturbed profile along flatten it and leave lobes that make a path in
/// the plane of the bend read lowest. Carried as far as makes the family's factor in that plane,
/// they give the family's factor across it.
#[test]
fn the_family_of_a_bend_is_that_of_displacement_by_two_cells() {
    let cells = CrossFlow {
        cells: 1.0,
        swirl: 0.0,
        offset: 0.0,
        offset_angle: 0.0,
    };
    let plain = DisturbedProfile::<f64>::undisturbed();
    // distance from the axis from which the liquid at a point comes, by Heun's rule back in time
    let origin = |mut x: f64, mut y: f64, displacement: f64| {
        let step = displacement / 40.0;
        let at = |x: f64, y: f64| cells.velocity(libm::hypot(x, y), libm::atan2(y, x));
        for _ in 0..40 {
            let [u, v] = at(x, y);
            let [u2, v2] = at(x - step * u, y - step * v);
            x -= 0.5 * step * (u + u2);
            y -= 0.5 * step * (v + v2);
        }
        libm::hypot(x, y).min(1.0)
    };
    let path_mean = |orientation: f64, displacement: f64| {
        let n = 2000;
        let one = |i: i32| {
            let s = -1.0 + (2.0 * f64::from(i) + 1.0) / f64::from(n);
            let r = origin(
                s * libm::cos(orientation),
                s * libm::sin(orientation),
                displacement,
            );
            plain.velocity(r, 0.0)
        };
        (0..n).map(one).sum::<f64>() / f64::from(n)
    };
    let factor =
        |orientation, displacement| path_mean(0.0, 0.0) / path_mean(orientation, displacement);
    for displacement in [0.3, 0.6, 1.0] {
        let [along, across] = [0.0, FRAC_PI_2].map(|t| factor(t, displacement));
        assert!(along > across && across > 1.0, "{along} {across}");
    }
    let family = |d: f64| installation_factor(Fitting::SingleBend, &mounted(1.0, d));
    assert_relative(
        family(0.0),
        factor(0.0, 1.02),
        1e-3,
        "in the plane of the bend",
    );
    assert_relative(family(90.0), factor(FRAC_PI_2, 1.02), 1e-3, "across it");
}

#[test]
fn swirl_outlasts_asymmetry() {
    // 1.49 times the friction factor for each diameter
    assert_relative(swirl_decay_rate(0.02), 0.0298, 1e-14, "rate");
    let swirl = |run| cross_flow(Fitting::TwoBendsOutOfPlane, run).swirl;
    assert_relative(
        swirl(51.0) / swirl(1.0),
        libm::exp(-50.0 * 1.49 * 0.018),
        1e-12,
        "swirl",
    );
    let skew = |run| disturbed_profile(Fitting::TwoBendsOutOfPlane, run).skew;
    assert!(swirl(51.0) / swirl(1.0) > 10.0 * skew(51.0) / skew(1.0));
    // the odd part is of first order in the displacement, the even part of second
    for fitting in Fitting::ALL {
        let [near, far, farther] = [1.0, 5.0, 9.0].map(|run| disturbed_profile(fitting, run));
        let even = far.flattening / near.flattening;
        assert_relative(farther.skew / near.skew, even, 1e-12, fitting.name());
    }
    // the pattern turns with the swirl: its rate is twice the tangential velocity at the wall
    let axis = |run| disturbed_profile(Fitting::TwoBendsOutOfPlane, run).axis;
    assert_relative(slope(axis, 7.0, 1e-2), 2.0 * swirl(7.0), 1e-9, "rotation");
    assert_eq!(disturbed_profile(Fitting::SingleBend, 7.0).axis, 0.0);
}
