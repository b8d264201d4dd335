//! The transition: where measurements have it, and that it cannot leave the physical range.

use super::{COLEBROOK, LAWS, SMOOTH, WAKE, any_pipe, decades, edges};
use crate::support::{assert_refused, assert_relative};
use flowdoubt::profile::{
    Conditions, Exponent, FrictionLaw, LAMINAR_FACTOR, ProfileLaw, Regime, TRANSITION,
    TRANSITION_REYNOLDS, TRANSITION_REYNOLDS_LIMITS, check_transition, correction_factor,
    factor_for_velocity_on, factor_of, intermittency, turbulent_factor,
};
use flowdoubt::scalar::Dual;
use proptest::prelude::*;

#[test]
fn transition_joins_both_regimes_without_a_step_or_kink() {
    let [begin, end] = edges();
    let gamma = |reynolds: f64| intermittency(reynolds, TRANSITION_REYNOLDS);
    assert_eq!(gamma(begin * (1.0 - 1e-12)), 0.0);
    assert_eq!(gamma(end * (1.0 + 1e-12)), 1.0);
    assert_eq!(gamma(TRANSITION_REYNOLDS), 0.5);
    for law in LAWS {
        for friction in [COLEBROOK, FrictionLaw::Haaland] {
            let at = |reynolds: f64| {
                let reynolds = Dual::<f64, 1>::variable(reynolds, 0);
                let k = correction_factor(reynolds, Dual::fixed(1e-4), law, friction);
                (k.value, k.gradient[0])
            };
            for edge in [begin, end] {
                let ((below, slope_below), (above, slope_above)) =
                    (at(edge * (1.0 - 1e-7)), at(edge * (1.0 + 1e-7)));
                assert!((below - above).abs() < 1e-7, "{law:?} steps at {edge}");
                let kink = (slope_below - slope_above).abs();
                assert!(kink < 1e-9, "{law:?} has a kink at {edge}: {kink:e}");
            }
            let (_, slope) = at(TRANSITION_REYNOLDS);
            assert!(slope > 5e-5, "{law:?} rises between");
            let (turbulent, _) = at(end * (1.0 + 1e-9));
            let alone = turbulent_factor(end * (1.0 + 1e-9), 1e-4, law, friction);
            assert_relative(turbulent, alone, 3e-16, "reciprocal of the reciprocal");
        }
    }
}

#[test]
fn the_state_is_told_by_what_is_known_of_the_inlet() {
    assert_relative(TRANSITION[0], 1519.0, 1e-3, "half turbulent at 1950");
    assert_relative(TRANSITION[1], 4045.0, 1e-3, "half turbulent at 3150");
    for (reynolds, regime) in [
        (1500.0, Regime::Laminar),
        (1530.0, Regime::Transition),
        (4030.0, Regime::Transition),
        (4060.0, Regime::Turbulent),
    ] {
        assert_eq!(Regime::at(reynolds), regime, "{reynolds}");
    }
    let quiet = [4900.0, 5100.0];
    assert_eq!(Regime::within(3500.0, quiet), Regime::Laminar);
    assert_eq!(Regime::within(5000.0, quiet), Regime::Transition);
    assert_eq!(
        check_transition(2350.0, "profile.transition_reynolds"),
        Ok(())
    );
    for stated in [1800.0, 2.1e4, f64::NAN] {
        let parts = ["transition_reynolds", "1900 to 20 000"];
        let checked = check_transition(stated, "profile.transition_reynolds");
        assert_refused(checked, "out-of-range", &parts);
    }
}

fn conditions<S>(offset: Option<S>, transition: S, ratio: S) -> Conditions<S> {
    Conditions {
        offset,
        beam: None,
        transition_reynolds: Some(transition),
        friction_ratio: Some(ratio),
    }
}

/// The equation that had three roots when the odds of the share were shifted.
#[test]
fn the_factor_has_one_root() {
    let [lowest, highest] = TRANSITION_REYNOLDS_LIMITS;
    let extreme = ProfileLaw::Power(Exponent::Fixed { n: 15.0 });
    for law in LAWS.into_iter().chain([extreme]) {
        for roughness in [0.0, 1e-3, 0.05] {
            for transition in [lowest, TRANSITION_REYNOLDS, highest, 20_000.0] {
                let c = conditions(None, transition, 1.0);
                let k = |re: f64| factor_of(&c, re, roughness, law, COLEBROOK);
                let mut steepest = 0.0_f64;
                for i in 0..2000 {
                    let re = transition * 0.7 * libm::exp(0.7 * f64::from(i) / 2000.0);
                    let slope = libm::log(k(re * 1.0001) / k(re)) / libm::log(1.0001);
                    steepest = steepest.max(slope);
                }
                assert!(
                    steepest < 0.97,
                    "{law:?}: {steepest} at {roughness}, {transition}"
                );
            }
        }
    }
}

proptest! {
    /// Whatever the Reynolds number of the transition, the factor is that of the flow it leads to,
    /// and between those of laminar and turbulent flow.
    #[test]
    fn the_factor_stays_between_laminar_and_turbulent(
        (law, friction, roughness) in any_pipe(),
        path_reynolds in decades(500.0, 3e4),
        transition in 1900.0..20_000.0_f64,
        ratio in 0.7..1.4_f64,
        offset in prop_oneof![Just(None), (0.0..0.7_f64).prop_map(Some)],
    ) {
        let c = conditions(offset, transition, ratio);
        let k = factor_for_velocity_on(&c, path_reynolds, roughness, law, friction);
        let reached = k * path_reynolds;
        let again = factor_of(&c, reached, roughness, law, friction);
        prop_assert!((k / again - 1.0).abs() < 1e-13, "{k} and {again}");
        let h = offset.unwrap_or(0.0);
        let laminar = LAMINAR_FACTOR / (1.0 - h * h);
        let always = |transition: f64| {
            let c = conditions(offset, transition, ratio);
            factor_of(&c, reached.max(1400.0), roughness, law, friction)
        };
        let turbulent = always(1.0);
        let (low, high) = (laminar.min(turbulent), laminar.max(turbulent));
        prop_assert!(k > low - 1e-12 && k < high + 1e-12, "{k} not in {low} to {high}");
    }

    /// All derivatives of the solved factor, by those of the equation it solves.
    #[test]
    fn derivatives_of_the_solved_factor_are_those_of_its_equation(
        (law, friction, roughness) in any_pipe(),
        path_reynolds in decades(1500.0, 3e4),
        transition in 1950.0..3150.0_f64,
        offset in 0.0..0.7_f64,
    ) {
        let dual = |x: f64, i: usize| Dual::<f64, 5>::variable(x, i);
        let c = conditions(Some(dual(offset, 2)), dual(transition, 3), dual(1.0, 4));
        let (re, e) = (dual(path_reynolds, 0), dual(roughness, 1));
        let k = factor_for_velocity_on(&c, re, e, law, friction);
        let residual = k - factor_of(&c, k * re, e, law, friction);
        for (i, slope) in residual.gradient.into_iter().enumerate() {
            let size = k.gradient[i].abs() + 1e-12;
            prop_assert!(slope.abs() < 1e-9 * size + 1e-14, "{i}: {slope:e} of {size:e}");
        }
    }
}

/// Friction in a rough pipe acts like roughness: more of it lowers the factor.
#[test]
fn ten_per_cent_in_friction_move_the_factor_by_half_a_per_cent() {
    let k = |ratio| {
        let c = conditions(None, TRANSITION_REYNOLDS, ratio);
        factor_of(&c, 1e5, 0.011, WAKE, COLEBROOK)
    };
    assert_relative(k(1.1) / k(1.0) - 1.0, -0.0047, 0.05, "at 1e5, r_k = 0.011");
    let same = conditions(None, TRANSITION_REYNOLDS, 1.0);
    let k = factor_of(&same, 3e4, SMOOTH, WAKE, COLEBROOK);
    assert_eq!(k, correction_factor(3e4, SMOOTH, WAKE, COLEBROOK));
}
