//! Friction, profile laws and profile factor.

use crate::support::{assert_printed, assert_refused, assert_relative, json, number, slope};
use flowdoubt::profile::{
    FrictionLaw, LAMINAR_FACTOR, ProfileLaw, Regime, TRANSITION, check, correction_factor,
    factor_for_path_velocity, friction_factor, intermittency, law_half_width, path_excess,
    turbulent_factor,
};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;

const LOGARITHMIC: ProfileLaw = ProfileLaw::Logarithmic { kappa: 0.40 };
const LAWS: [ProfileLaw; 4] = [
    ProfileLaw::Wake,
    LOGARITHMIC,
    ProfileLaw::Power,
    ProfileLaw::PowerOf { n: 7.0 },
];
const SMOOTH: f64 = 0.0;
const COLEBROOK: FrictionLaw = FrictionLaw::Colebrook;
const FRICTIONS: [FrictionLaw; 2] = [COLEBROOK, FrictionLaw::Mckeon];

/// The factor of a smooth pipe.
fn factor(reynolds: f64, law: ProfileLaw) -> f64 {
    correction_factor(reynolds, SMOOTH, law, COLEBROOK)
}

fn any_law() -> impl Strategy<Value = (ProfileLaw, FrictionLaw)> {
    (0..LAWS.len(), 0..2_usize).prop_map(|(law, friction)| (LAWS[law], FRICTIONS[friction]))
}

/// Numbers evenly spread over the decades from `low` to `high`.
fn decades(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (libm::log10(low)..libm::log10(high)).prop_map(libm::exp10)
}

#[test]
fn friction_meets_an_independent_implementation() {
    let golden = json("golden/friction.json");
    let points = |law: &str| golden[law]["points"].as_array().expect("points").clone();
    for point in points("colebrook") {
        let n = |key: &str| number(&point[key]);
        let found = friction_factor(n("Re"), n("roughness"), COLEBROOK);
        assert_relative(found, n("f"), 5e-15, &format!("Colebrook at {point}"));
    }
    for point in points("mckeon") {
        let (reynolds, f) = (number(&point["Re"]), number(&point["f"]));
        let found = friction_factor(reynolds, SMOOTH, FrictionLaw::Mckeon);
        assert_relative(found, f, 5e-15, &format!("McKeon at {point}"));
        let rough = friction_factor(reynolds, 0.01, FrictionLaw::Mckeon);
        assert_eq!(found, rough, "a smooth-pipe law knows no roughness");
    }
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

proptest! {
    #[test]
    fn friction_solves_its_equation(
        reynolds in decades(2300.0, 1e8),
        roughness in prop_oneof![Just(0.0), decades(1e-7, 0.05)],
    ) {
        let x = friction_factor(reynolds, roughness, COLEBROOK).sqrt().recip();
        let side = -2.0 * libm::log10(roughness / 3.7 + 2.51 * x / reynolds);
        prop_assert!((x - side).abs() < 1e-14 * x, "Colebrook: {x} and {side}");
        let x = friction_factor(reynolds, roughness, FrictionLaw::Mckeon).sqrt().recip();
        let side = 1.920 * libm::log10(reynolds / x) - 0.475;
        prop_assert!((x - side).abs() < 1e-14 * x, "McKeon: {x} and {side}");
    }
}

#[test]
fn laminar_factor_is_three_quarters_exactly() {
    for law in LAWS {
        for reynolds in [0.0, 1e-3, 1.0, 100.0, 2299.9, 2300.0] {
            for roughness in [0.0, 0.01] {
                let k = correction_factor(reynolds, roughness, law, COLEBROOK);
                assert_eq!(k, 0.75, "{law:?} at {reynolds}");
            }
            let solved = factor_for_path_velocity(reynolds / 0.75, SMOOTH, law, COLEBROOK);
            assert_eq!(solved, 0.75, "{law:?} at {reynolds}");
        }
    }
    // path mean and area mean of 1 - r^2 by Simpson's rule, which is exact for cubics
    let simpson = |f: fn(f64) -> f64| (f(0.0) + 4.0 * f(0.5) + f(1.0)) / 6.0;
    let path_mean = simpson(|r| 1.0 - r * r);
    let area_mean = simpson(|r| 2.0 * r * (1.0 - r * r));
    assert_relative(LAMINAR_FACTOR, area_mean / path_mean, 1e-15, "parabola");
}

#[test]
fn power_law_is_its_closed_form() {
    let of = |n: f64| turbulent_factor(1e5, SMOOTH, ProfileLaw::PowerOf { n }, COLEBROOK);
    assert_relative(of(7.0), 14.0 / 15.0, 1e-15, "n = 7");
    assert_printed(of(7.0), 0.933_333, 1e-6, "n = 7");
    // U = y^(1/n): path mean n/(n+1), area mean 2 n^2/((n+1)(2n+1))
    for n in [5.0, 6.5, 9.0, 11.0] {
        let (path_mean, area_mean) = (n / (n + 1.0), 2.0 * n * n / ((n + 1.0) * (2.0 * n + 1.0)));
        assert_relative(of(n), area_mean / path_mean, 1e-15, "power law");
    }
    for reynolds in [1e4, 1e6] {
        let n = friction_factor(reynolds, 1e-4, COLEBROOK).sqrt().recip();
        let found = turbulent_factor(reynolds, 1e-4, ProfileLaw::Power, COLEBROOK);
        assert_relative(found, of(n), 1e-15, "n = 1/sqrt(f)");
    }
}

#[test]
fn logarithmic_law_is_its_closed_form() {
    for kappa in [0.384, 0.40, 0.436] {
        for (reynolds, roughness) in [(1e4, 0.0), (1e6, 1e-4), (1e7, 1e-2)] {
            let f = friction_factor(reynolds, roughness, COLEBROOK);
            // below the axis the path mean lies by u*/kappa, the area mean by 3 u*/(2 kappa)
            let (path, area) = (1.0 / kappa, 1.5 / kappa);
            let k = 1.0 / (1.0 + (f / 8.0).sqrt() * (area - path));
            let law = ProfileLaw::Logarithmic { kappa };
            let found = turbulent_factor(reynolds, roughness, law, COLEBROOK);
            assert_relative(found, k, 1e-14, "logarithmic law");
        }
    }
}

#[test]
fn wake_law_is_the_integral_of_its_profile() {
    let golden = json("golden/wake.json");
    let points = golden["cess"]["points"].as_array().expect("points");
    assert!(points.len() > 15);
    for point in points {
        let n = |key: &str| number(&point[key]);
        let excess = path_excess(n("R_plus"));
        let difference = (excess - n("Delta")).abs();
        assert!(difference < 1e-11, "{difference:e} at {point}");
        // the profile's own friction, sqrt(f/8) = 1/U_bulk+, gives its own factor
        let own = 1.0 / (1.0 + excess / n("U_bulk_plus"));
        assert_relative(own, n("k"), 1e-12, "factor with own friction");
    }
}

/// Only the shape of the profile, in units of the friction velocity, comes from the eddy
/// viscosity, so that roughness can act; the friction comes from the friction law. The profile's
/// own friction is higher, for its wall layer was fitted to channels, and its factor lower.
#[test]
fn wake_law_lies_above_the_profile_with_its_own_friction() {
    // integrated with scipy, own friction
    for (reynolds, own) in [
        (1e4, 0.909_38),
        (3e4, 0.925_90),
        (1e5, 0.936_55),
        (3e5, 0.943_24),
        (1e6, 0.948_89),
        (1e7, 0.956_95),
    ] {
        let above = factor(reynolds, ProfileLaw::Wake) - own;
        assert!((0.0011..0.0030).contains(&above), "{above} at {reynolds}");
        let half_width = law_half_width(reynolds, SMOOTH, ProfileLaw::Wake, COLEBROOK);
        assert!(above < 0.5 * half_width, "{above} of {half_width}");
    }
    for point in json("golden/wake.json")["cess"]["points"]
        .as_array()
        .expect("points")
    {
        let (reynolds, bulk) = (number(&point["Re"]), number(&point["U_bulk_plus"]));
        if (1e4..1e7).contains(&reynolds) {
            let ratio = 8.0 / (bulk * bulk) / friction_factor(reynolds, SMOOTH, COLEBROOK);
            assert!((1.05..1.10).contains(&ratio), "{ratio} at {reynolds}");
        }
    }
}

#[test]
fn closed_forms_as_tabulated() {
    // computed with scipy, friction of Prandtl and Karman
    for (reynolds, logarithmic, power) in [
        (1e4, 0.927_93, 0.919_22),
        (3e4, 0.936_57, 0.928_83),
        (1e5, 0.944_04, 0.937_15),
        (3e5, 0.949_53, 0.943_28),
        (1e6, 0.954_48, 0.948_80),
        (1e7, 0.961_74, 0.956_93),
    ] {
        assert_printed(
            factor(reynolds, LOGARITHMIC),
            logarithmic,
            3e-5,
            "logarithmic",
        );
        assert_printed(factor(reynolds, ProfileLaw::Power), power, 3e-5, "power");
    }
}

#[test]
fn transition_joins_both_regimes_without_a_step_or_kink() {
    let [begin, end] = TRANSITION;
    assert_eq!(intermittency(begin), 0.0);
    assert_eq!(intermittency(end), 1.0);
    assert_eq!(intermittency(0.5 * (begin + end)), 0.5);
    for law in LAWS {
        for friction in FRICTIONS {
            let at = |reynolds: f64| {
                let k = correction_factor(
                    Dual::<f64, 1>::variable(reynolds, 0),
                    Dual::fixed(1e-4),
                    law,
                    friction,
                );
                (k.value, k.gradient[0])
            };
            for edge in TRANSITION {
                let ((below, slope_below), (above, slope_above)) =
                    (at(edge * (1.0 - 1e-7)), at(edge * (1.0 + 1e-7)));
                assert!((below - above).abs() < 1e-7, "{law:?} steps at {edge}");
                let kink = (slope_below - slope_above).abs();
                assert!(kink < 1e-9, "{law:?} has a kink at {edge}: {kink:e}");
            }
            let (_, slope) = at(0.5 * (begin + end));
            assert!(slope > 5e-5, "{law:?} rises between");
            let (turbulent, _) = at(end);
            assert_eq!(turbulent, turbulent_factor(end, 1e-4, law, friction));
        }
    }
    assert_eq!(Regime::at(begin), Regime::Laminar);
    assert_eq!(Regime::at(begin + 1.0), Regime::Transition);
    assert_eq!(Regime::at(end), Regime::Turbulent);
}

#[test]
fn the_factor_goes_to_one_as_friction_vanishes() {
    for law in [ProfileLaw::Wake, LOGARITHMIC, ProfileLaw::Power] {
        for reynolds in [1e6, 1e7, 1e8] {
            let u = (friction_factor(reynolds, SMOOTH, COLEBROOK) / 8.0).sqrt();
            let k = factor(reynolds, law);
            // 1 - k is k times the friction velocity times a number that stays: 1.37 with wake,
            // 1/(2 kappa) = 1.25, sqrt(2) for the power law
            let number = (1.0 / k - 1.0) / u;
            assert!((1.2..1.45).contains(&number), "{law:?}: {number}");
        }
        assert!(factor(1e8, law) > 0.96);
    }
}

#[test]
fn ranges_are_refused_in_words() {
    assert_eq!(check(1e8, 0.05), Ok(()));
    assert_eq!(check(0.0, 0.0), Ok(()));
    for reynolds in [1.1e8, -1.0, f64::NAN] {
        let parts = ["Reynolds number", "0 to 1e8"];
        assert_refused(check(reynolds, 0.0), "out-of-range", &parts);
    }
    for roughness in [0.051, -1e-6, f64::NAN] {
        let parts = ["relative roughness", "0 to 0.05"];
        assert_refused(check(1e5, roughness), "out-of-range", &parts);
    }
}

proptest! {
    #[test]
    fn the_factor_rises_with_the_reynolds_number(
        (law, friction) in any_law(),
        reynolds in decades(1.0, 0.9e8),
        roughness in prop_oneof![Just(0.0), 0.0..0.05_f64],
    ) {
        let k = |reynolds: f64| correction_factor(reynolds, roughness, law, friction);
        let rise = k(reynolds * 1.01) - k(reynolds);
        // a rough pipe's friction, and so its factor, settles to the last digits
        prop_assert!(rise > -1e-15, "{rise:e}");
        let strict = reynolds > TRANSITION[0] && roughness == 0.0;
        if strict && !matches!(law, ProfileLaw::PowerOf { .. }) {
            prop_assert!(rise > 0.0);
        }
        prop_assert!((0.74..1.0).contains(&k(reynolds)));
    }

    #[test]
    fn the_factor_fits_the_flow_it_leads_to(
        (law, friction) in any_law(),
        path_reynolds in decades(1.0, 1e8),
        roughness in prop_oneof![Just(0.0), 0.0..0.05_f64],
    ) {
        let k = factor_for_path_velocity(path_reynolds, roughness, law, friction);
        let residual = k - correction_factor(k * path_reynolds, roughness, law, friction);
        prop_assert!(residual.abs() < 1e-13, "{residual:e}");
        // starting from the flow leads back to the same factor
        let known = correction_factor(path_reynolds, roughness, law, friction);
        let back = factor_for_path_velocity(path_reynolds / known, roughness, law, friction);
        prop_assert!((back - known).abs() < 1e-13, "{back} and {known}");
    }

    #[test]
    fn derivatives_meet_differences(
        (law, friction) in any_law(),
        reynolds in decades(1.0, 0.9e8),
        roughness in decades(1e-6, 0.049),
    ) {
        // the regimes join with a jump of the third derivative, which differences feel
        prop_assume!(TRANSITION.iter().all(|edge| (reynolds / edge - 1.0).abs() > 0.01));
        let evaluations: [fn(_, _, _, _) -> _; 2] = [correction_factor, factor_for_path_velocity];
        let duals: [fn(_, _, _, _) -> _; 2] = [correction_factor, factor_for_path_velocity];
        for (i, (plain, dual)) in evaluations.into_iter().zip(duals).enumerate() {
            let r = if i == 0 { reynolds } else { reynolds / 0.9 };
            if i == 1 {
                let own = plain(r, roughness, law, friction) * r;
                prop_assume!(TRANSITION.iter().all(|edge| (own / edge - 1.0).abs() > 0.01));
            }
            let x = Dual::<f64, 2>::variable(r, 0);
            let k = dual(x, Dual::variable(roughness, 1), law, friction);
            prop_assert_eq!(k.value.to_bits(), plain(r, roughness, law, friction).to_bits());
            let h = 2e-4;
            let by_r = slope(|r| plain(r, roughness, law, friction), r, h * r);
            let by_roughness = slope(|e| plain(r, e, law, friction), roughness, h * roughness);
            // 1e-6 of the slope, and no less than the rounding of the difference itself
            let allowed = |by: f64, x: f64| 1e-6 * by.abs() + 4e-16 / (h * x);
            let error = (k.gradient[0] - by_r).abs();
            prop_assert!(error < allowed(by_r, r), "{error:e} of {by_r:e}");
            let error = (k.gradient[1] - by_roughness).abs();
            prop_assert!(error < allowed(by_roughness, roughness), "{error:e} of {by_roughness:e}");
        }
    }

    #[test]
    fn the_half_width_holds_every_law(
        reynolds in decades(1.0, 1e8),
        roughness in prop_oneof![Just(0.0), 0.0..0.05_f64],
        chosen in 0..3_usize,
    ) {
        let law = LAWS[chosen];
        let half_width = law_half_width(reynolds, roughness, law, COLEBROOK);
        let k = |law: ProfileLaw| correction_factor(reynolds, roughness, law, COLEBROOK);
        for other in &LAWS[..3] {
            let distance = (k(*other) / k(law) - 1.0).abs();
            prop_assert!(half_width >= distance, "{half_width} and {distance} to {other:?}");
        }
        match Regime::at(reynolds) {
            Regime::Laminar => prop_assert_eq!(half_width, 0.0),
            Regime::Transition => prop_assert!(half_width > 0.0),
            Regime::Turbulent => {
                let at_it = |other: &ProfileLaw| (k(*other) / k(law) - 1.0).abs() == half_width;
                prop_assert!(LAWS[..3].iter().any(at_it), "no law is at this distance");
            }
        }
    }
}

#[test]
fn the_half_width_of_the_default_law_as_documented() {
    // DEVELOPERS.md, in per cent
    for (reynolds, documented) in [(1e4, 1.7), (1e5, 0.6), (1e6, 0.5)] {
        let half_width = law_half_width(reynolds, SMOOTH, ProfileLaw::default(), COLEBROOK);
        assert_printed(
            100.0 * half_width,
            documented,
            0.1,
            &format!("at {reynolds}"),
        );
    }
}

#[test]
fn the_half_width_is_widest_within_the_transition() {
    let half_width = |reynolds: f64| law_half_width(reynolds, SMOOTH, ProfileLaw::Wake, COLEBROOK);
    let [begin, end] = TRANSITION;
    let middle = 0.5 * (begin + end);
    assert!(half_width(middle) > 2.0 * half_width(end));
    assert!(half_width(middle) > 2.0 * half_width(begin));
    // where the flow is turbulent half of the time: half of the way between both factors
    let turbulent = turbulent_factor(middle, SMOOTH, ProfileLaw::Wake, COLEBROOK);
    let k = factor(middle, ProfileLaw::Wake);
    let states = 0.5 * (turbulent - LAMINAR_FACTOR) / k;
    let laws =
        (factor(middle, LOGARITHMIC) / k - 1.0).max(factor(middle, ProfileLaw::Power) / k - 1.0);
    assert_relative(half_width(middle), laws + states, 1e-14, "half-width");
    for edge in TRANSITION {
        let step = half_width(edge * (1.0 + 1e-9)) - half_width(edge * (1.0 - 1e-9));
        assert!(step.abs() < 1e-8, "step of {step} at {edge}");
    }
}
