//! The factor over all regimes, alone and solved together with the flow.

use super::{COLEBROOK, LAWS, LOGARITHMIC, POWER, SMOOTH, WAKE, any_pipe, decades, edges, factor};
use crate::support::{assert_refused, assert_relative, slope};
use flowdoubt::profile::{
    Exponent, FrictionLaw, LAMINAR_FACTOR, ProfileLaw, check, check_laws, correction_factor,
    factor_for_path_velocity, friction_factor,
};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;

#[test]
fn laminar_factor_is_three_quarters_exactly() {
    for law in LAWS {
        for reynolds in [0.0, 1e-3, 1.0, 100.0, 1830.0] {
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
fn the_factor_goes_to_one_as_friction_vanishes() {
    for law in [WAKE, LOGARITHMIC, POWER] {
        for reynolds in [1e6, 1e7, 1e8] {
            let u = (friction_factor(reynolds, SMOOTH, COLEBROOK) / 8.0).sqrt();
            let k = factor(reynolds, law);
            // 1 - k is k times the friction velocity times a number that stays: 1.53 with wake,
            // 1/(2 kappa) = 1.25, sqrt(2) for the power law
            let number = (1.0 / k - 1.0) / u;
            assert!((1.2..1.56).contains(&number), "{law:?}: {number}");
        }
        assert!(factor(1e8, law) > 0.958);
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

#[test]
fn laws_are_checked_together() {
    assert_eq!(check_laws(1e6, 1e-3, WAKE, COLEBROOK), Ok(()));
    let smooth = check_laws(1e6, 1e-3, WAKE, FrictionLaw::Mckeon);
    assert_refused(smooth, "conflict", &["relative roughness", "mckeon"]);
    let reynolds = check_laws(1e9, 0.0, WAKE, COLEBROOK);
    assert_refused(reynolds, "out-of-range", &["Reynolds number", "1e8"]);
}

#[test]
fn interpolated_exponents_have_the_slope_of_their_curve() {
    let law = ProfileLaw::Power(Exponent::Nikuradse);
    for reynolds in [1e4, 5e4, 5e5, 1.5e6] {
        let k = correction_factor(
            Dual::<f64, 1>::variable(reynolds, 0),
            Dual::fixed(SMOOTH),
            law,
            COLEBROOK,
        );
        let difference = slope(|re| factor(re, law), reynolds, 1e-4 * reynolds);
        assert_relative(k.gradient[0], difference, 1e-8, "slope");
    }
}

proptest! {
    #[test]
    fn the_factor_rises_with_the_reynolds_number(
        (law, friction, roughness) in any_pipe(),
        reynolds in decades(1.0, 0.9e8),
    ) {
        let k = |reynolds: f64| correction_factor(reynolds, roughness, law, friction);
        let rise = k(reynolds * 1.01) - k(reynolds);
        // a rough pipe's friction, and so its factor, settles to the last digits
        prop_assert!(rise > -1e-15, "{rise:e}");
        let strict = reynolds > edges()[0] && roughness == 0.0;
        // these exponents stay the same, or do so beyond 2e6
        let fixed = Exponent::Fixed { n: 7.0 };
        if strict && ![fixed, Exponent::Nikuradse].map(ProfileLaw::Power).contains(&law) {
            prop_assert!(rise > 0.0);
        }
        prop_assert!((0.74..1.0).contains(&k(reynolds)));
    }

    #[test]
    fn the_factor_fits_the_flow_it_leads_to(
        (law, friction, roughness) in any_pipe(),
        path_reynolds in decades(1.0, 1e8),
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
        (law, friction, roughness) in any_pipe(),
        reynolds in decades(1.0, 0.9e8),
    ) {
        // the regimes join with a jump of the third derivative, which differences feel
        prop_assume!(edges().iter().all(|edge| (reynolds / edge - 1.0).abs() > 0.01));
        // the interpolated exponents have kinks in their slope, see below
        prop_assume!(law != ProfileLaw::Power(Exponent::Nikuradse));
        let evaluations: [fn(_, _, _, _) -> _; 2] = [correction_factor, factor_for_path_velocity];
        let duals: [fn(_, _, _, _) -> _; 2] = [correction_factor, factor_for_path_velocity];
        for (i, (plain, dual)) in evaluations.into_iter().zip(duals).enumerate() {
            let r = if i == 0 { reynolds } else { reynolds / 0.9 };
            if i == 1 {
                let own = plain(r, roughness, law, friction) * r;
                prop_assume!(edges().iter().all(|edge| (own / edge - 1.0).abs() > 0.01));
            }
            let x = Dual::<f64, 2>::variable(r, 0);
            let k = dual(x, Dual::variable(roughness, 1), law, friction);
            prop_assert_eq!(k.value.to_bits(), plain(r, roughness, law, friction).to_bits());
            let h = 2e-4;
            let by_r = slope(|r| plain(r, roughness, law, friction), r, h * r);
            // 1e-6 of the slope, and no less than the rounding of the difference itself
            let allowed = |by: f64, x: f64| 1e-6 * by.abs() + 1.5e-15 / (h * x);
            let error = (k.gradient[0] - by_r).abs();
            prop_assert!(error < allowed(by_r, r), "{error:e} of {by_r:e}");
            if roughness > 0.0 {
                let by_roughness = slope(|e| plain(r, e, law, friction), roughness, h * roughness);
                let error = (k.gradient[1] - by_roughness).abs();
                prop_assert!(
                    error < allowed(by_roughness, roughness),
                    "{error:e} of {by_roughness:e}"
                );
            }
        }
    }
}
