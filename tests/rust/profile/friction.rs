//! Friction laws.

use super::{COLEBROOK, SMOOTH, decades};
use crate::support::tables::against;
use crate::support::{assert_refused, assert_relative, json, number};
use flowdoubt::profile::{FrictionLaw, friction_factor};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;

#[test]
fn friction_meets_independent_implementations() {
    let mut compared = against(
        "mpmath, and package `fluids` for two of them",
        "friction factor by every law",
    );
    let golden = json("golden/friction.json");
    let mut laws = 0;
    for (name, law) in FrictionLaw::NAMED {
        let points = golden[name]["points"].as_array().expect("points");
        assert!(points.len() > 5);
        laws += 1;
        for point in points {
            let n = |key: &str| number(&point[key]);
            let roughness = point["roughness"].as_f64().unwrap_or(SMOOTH);
            let found = friction_factor(n("Re"), roughness, law);
            compared.relative(found, n("f"), 5e-15, &format!("{name} at {point}"));
        }
    }
    assert_eq!(laws, golden.as_object().expect("laws").len());
}

#[test]
fn smooth_friction_is_that_of_prandtl_but_for_the_rounding_of_its_constant() {
    // 1/sqrt(f) = 2.0 log10(Re sqrt(f)) - 0.8 (from memory), solved with scipy. Colebrook's 2.51
    // makes the 0.8 a 0.799, so the two laws differ by up to 2.0e-4.
    for (reynolds, f) in [
        (1e4, 0.030_889),
        (3e4, 0.023_487),
        (1e5, 0.017_993),
        (3e5, 0.014_465),
        (1e6, 0.011_647),
        (1e7, 0.008_104),
    ] {
        let found = friction_factor(reynolds, SMOOTH, COLEBROOK);
        assert_relative(found, f, 2.5e-4, &format!("at {reynolds}"));
    }
}

#[test]
fn smooth_laws_as_tabulated() {
    let mut compared = against(
        "scipy (constants from memory)",
        "friction factor of smooth pipes, tabulated",
    );
    // computed with scipy; constants from memory
    let reynolds = [1e4, 3e4, 1e5, 3e5, 1e6, 1e7];
    for (law, tabulated) in [
        (
            FrictionLaw::Prandtl,
            [
                0.030_889, 0.023_487, 0.017_993, 0.014_465, 0.011_647, 0.008_104,
            ],
        ),
        (
            FrictionLaw::ZagarolaSmits,
            [
                0.030_124, 0.023_260, 0.018_062, 0.014_668, 0.011_920, 0.008_409,
            ],
        ),
        (
            FrictionLaw::Mckeon2004,
            [
                0.030_552, 0.023_445, 0.018_106, 0.014_644, 0.011_855, 0.008_316,
            ],
        ),
        (
            FrictionLaw::Mckeon,
            [
                0.030_279, 0.023_284, 0.018_015, 0.014_591, 0.011_828, 0.008_313,
            ],
        ),
        (
            FrictionLaw::Haaland,
            [
                0.030_886, 0.023_317, 0.017_825, 0.014_346, 0.011_587, 0.008_131,
            ],
        ),
        (
            FrictionLaw::Blasius,
            [
                0.031_640, 0.024_041, 0.017_792, 0.013_519, 0.010_005, 0.005_626,
            ],
        ),
    ] {
        for (reynolds, f) in reynolds.into_iter().zip(tabulated) {
            let found = friction_factor(reynolds, SMOOTH, law);
            compared.absolute(found, f, 0.55e-6, &format!("{law:?} at {reynolds}"));
        }
    }
}

/// Values as read from a Moody chart, to the width of a line; from memory.
#[test]
fn rough_friction_is_that_of_the_moody_chart() {
    let mut compared = against(
        "Moody chart (read from memory)",
        "friction factor of rough pipes",
    );
    for (reynolds, roughness, f) in [
        (1e8, 0.05, 0.0716),
        (1e8, 0.01, 0.0379),
        (1e8, 0.001, 0.0196),
        (1e8, 0.0001, 0.0120),
        (1e5, 0.001, 0.0222),
        (1e5, 0.0, 0.0180),
        (1e4, 0.0, 0.0309),
    ] {
        for law in [COLEBROOK, FrictionLaw::Haaland] {
            let found = friction_factor(reynolds, roughness, law);
            compared.relative(
                found,
                f,
                0.015,
                &format!("{law:?} at {reynolds}, {roughness}"),
            );
        }
    }
}

/// Bulk and friction Reynolds number of direct numerical simulations, S. Pirozzoli et al., J. Fluid
/// Mech. 926 (2021) A28, from memory; `f = 8 (2 R+/Re)^2`. Their abstract (seen) says that friction
/// departs by about 2 % from Prandtl's law, and by about 4 % at larger Reynolds numbers.
#[test]
fn smooth_friction_is_near_that_of_direct_numerical_simulation() {
    let mut compared = against(
        "S. Pirozzoli and others 2021 (from memory)",
        "friction factor of smooth pipes, direct simulation",
    );
    for (reynolds, friction_reynolds) in [
        (17_000.0, 495.3),
        (44_000.0, 1136.6),
        (82_500.0, 1976.0),
        (133_000.0, 3028.1),
        (285_000.0, 6019.4),
    ] {
        let friction_velocity: f64 = 2.0 * friction_reynolds / reynolds;
        let simulated = 8.0 * friction_velocity * friction_velocity;
        for (name, law) in FrictionLaw::NAMED {
            if law == FrictionLaw::Blasius && reynolds > 1e5 {
                continue;
            }
            let found = friction_factor(reynolds, SMOOTH, law);
            compared.relative(found, simulated, 0.04, &format!("{name} at {reynolds}"));
        }
    }
}

#[test]
fn smooth_laws_refuse_roughness() {
    for (name, law) in FrictionLaw::NAMED {
        let rough = friction_factor(1e5, 1e-6, law);
        if !law.is_smooth() {
            assert_eq!(law.check(1e5, 1e-6), Ok(()));
            assert!(rough.is_finite());
            continue;
        }
        let parts = ["relative roughness", name, "smooth pipes", "colebrook"];
        assert_refused(law.check(1e5, 1e-6), "conflict", &parts);
        assert!(rough.is_nan(), "{name}");
        let dual = friction_factor(Dual::<f64, 1>::fixed(1e5), Dual::variable(0.0, 0), law);
        assert_eq!(dual.gradient[0], 0.0, "{name} on a smooth wall");
    }
    let parts = ["Reynolds number", "up to 1e5", "Blasius"];
    assert_refused(
        FrictionLaw::Blasius.check(1.01e5, 0.0),
        "out-of-range",
        &parts,
    );
    assert_eq!(FrictionLaw::Blasius.check(1e5, 0.0), Ok(()));
}

#[test]
fn a_smooth_wall_has_a_slope_after_haaland() {
    // the power of 1.11 has no slope at zero
    let f = |e| friction_factor(Dual::<f64, 1>::fixed(1e5), e, FrictionLaw::Haaland);
    assert_eq!(f(Dual::variable(0.0, 0)).gradient[0], 0.0);
    assert!(f(Dual::variable(1e-5, 0)).gradient[0] > 0.0);
}

proptest! {
    #[test]
    fn friction_solves_its_equation(
        reynolds in decades(2300.0, 1e8),
        roughness in prop_oneof![Just(0.0), decades(1e-7, 0.05)],
    ) {
        let x = friction_factor(reynolds, roughness, COLEBROOK).sqrt().recip();
        let side = -2.0 * libm::log10(roughness / 3.7 + 2.51 * x / reynolds);
        prop_assert!((x - side).abs() < 1e-14 * x, "Colebrook: {x} and {side}");
        for (law, slope, offset) in [
            (FrictionLaw::Prandtl, 2.0, -0.8),
            (FrictionLaw::ZagarolaSmits, 1.889, -0.3577),
            (FrictionLaw::Mckeon2004, 1.930, -0.537),
            (FrictionLaw::Mckeon, 1.920, -0.475),
        ] {
            let x = friction_factor(reynolds, SMOOTH, law).sqrt().recip();
            let side = slope * libm::log10(reynolds / x) + offset;
            prop_assert!((x - side).abs() < 1e-14 * x, "{law:?}: {x} and {side}");
        }
    }

    #[test]
    fn haaland_is_within_two_per_cent_of_colebrook(
        reynolds in decades(4000.0, 1e8),
        roughness in prop_oneof![Just(0.0), decades(1e-6, 0.05)],
    ) {
        let ratio = friction_factor(reynolds, roughness, FrictionLaw::Haaland)
            / friction_factor(reynolds, roughness, COLEBROOK);
        prop_assert!((ratio - 1.0).abs() < 0.02, "{ratio}");
    }
}
