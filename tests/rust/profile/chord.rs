//! Paths beside the axis, several paths, and the velocity itself.

use super::{COLEBROOK, LAWS, LOGARITHMIC, SEVENTH, SMOOTH, WAKE, any_pipe, decades, edges};
use crate::support::tables::against;
use crate::support::{assert_printed, assert_refused, assert_relative, slope};
use flowdoubt::profile::{
    Conditions, Exponent, LAMINAR_FACTOR, MOST_OFFSET, ProfileLaw, WakeProfile, check_offset,
    check_radius, chord_factor, correction_factor, factor_for_chord_velocity,
    factor_for_path_velocity, factor_of, friction_factor, mean_factor, velocity_shape,
};
use flowdoubt::scalar::Dual;
use flowdoubt::scalar::special::integrate;
use proptest::prelude::*;

#[test]
fn laminar_chords_are_exact() {
    for law in LAWS {
        for h in [0.0, 0.1, 0.5, 0.7] {
            let k = chord_factor(1000.0, SMOOTH, h, law, COLEBROOK);
            // area mean 1/2, chord mean 2/3 (1 - h^2)
            assert_relative(k, 0.75 / (1.0 - h * h), 1e-15, "parabola");
            let solved = factor_for_chord_velocity(1000.0, SMOOTH, h, law, COLEBROOK);
            assert_relative(solved, k, 1e-15, "solved");
        }
        assert_eq!(chord_factor(1000.0, SMOOTH, 0.5, law, COLEBROOK), 1.0);
        let u = velocity_shape(0.5, 1000.0, SMOOTH, law, COLEBROOK);
        assert_eq!(u, 1.5, "2 (1 - r^2)");
    }
}

#[test]
fn power_law_at_half_radius_as_tabulated() {
    let mut compared = against("scipy", "factor of a chord at half the radius, power law");
    // computed with scipy
    for (n, k) in [
        (6.0, 0.992_350_6),
        (7.0, 0.992_825_0),
        (9.0, 0.993_765_0),
        (11.0, 0.994_551_2),
    ] {
        let law = ProfileLaw::Power(Exponent::Fixed { n });
        let found = chord_factor(1e5, SMOOTH, 0.5, law, COLEBROOK);
        compared.printed(found, k, 1e-7, &format!("n = {n}"));
    }
    // chords of the 2- and 4-path rules of Gauss-Jacobi weigh a power law with n = 7 to +0.72 % and
    // +0.118 %, computed with scipy: the mean of v over the area mean, less one
    let v = |h: f64| 1.0 / chord_factor(1e5, SMOOTH, h, SEVENTH, COLEBROOK);
    let two = v(0.5) - 1.0;
    assert_printed(100.0 * two, 0.72, 0.01, "two paths");
    let four = 2.0 * (0.361_803 * v(0.309_017) + 0.138_197 * v(0.809_017)) - 1.0;
    assert_printed(100.0 * four, 0.118, 0.001, "four paths");
}

/// The mean over the chord of the velocity itself, by adaptive quadrature.
#[test]
fn chord_factor_is_the_integral_of_the_velocity() {
    for law in LAWS {
        for (reynolds, roughness) in [(3000.0, 0.0), (2e4, 0.0), (1e6, 1e-3)] {
            let u = |r: f64| velocity_shape(r, reynolds, roughness, law, COLEBROOK);
            let inside = 1.0 - 1e-16;
            for h in [0.0_f64, 0.02, 0.3, 0.5, 0.8, 0.97] {
                let half = (1.0 - h * h).sqrt();
                // s = l (1 - t^4) takes the singular slope at the wall away
                let on_chord = |t: f64| {
                    let (s, slope) = (half * (1.0 - t * t * t * t), 4.0 * t * t * t);
                    slope * u((h * h + s * s).sqrt().min(inside))
                };
                let mean = integrate(on_chord, 0.0, 1.0, 1e-9).value;
                let k = chord_factor(reynolds, roughness, h, law, COLEBROOK);
                assert_relative(k, 1.0 / mean, 3e-8, &format!("{law:?}, {reynolds}, {h}"));
            }
            let by_area = |t: f64| {
                let r = (1.0 - t * t * t * t).min(inside);
                8.0 * t * t * t * r * u(r)
            };
            let area = integrate(by_area, 0.0, 1.0, 1e-9).value;
            assert_relative(area, 1.0, 1e-8, &format!("area mean, {law:?}, {reynolds}"));
        }
    }
}

#[test]
fn logarithmic_chord_is_its_closed_form_near_the_axis() {
    let at = |h: f64| {
        let h = Dual::<f64, 1>::variable(h, 0);
        chord_factor(
            Dual::fixed(1e6),
            Dual::fixed(0.0),
            h,
            LOGARITHMIC,
            COLEBROOK,
        )
    };
    assert_eq!(at(0.0).gradient[0], 0.0);
    assert!(at(1e-8).gradient[0] > 0.0);
    // to second order in h the mean of ln(1 - r) falls by h^2/2 (ln(2/h) - 1/2) + h^2/2 ... :
    // compared with the exact value at a small offset by quadrature instead
    let u = (friction_factor(1e6, SMOOTH, COLEBROOK) / 8.0).sqrt();
    let h = 1e-3_f64;
    let half = (1.0 - h * h).sqrt();
    let logarithm = |t: f64| {
        let s = half * (1.0 - t * t);
        let r = (h * h + s * s).sqrt();
        // 1 - r = (l^2 - s^2)/(1 + r)
        let y = half * half * t * t * (2.0 - t * t) / (1.0 + r);
        2.0 * t * libm::log(y)
    };
    let mean = integrate(logarithm, 0.0, 1.0, 1e-13).value;
    let k = 1.0 / (1.0 + u / 0.40 * (1.5 + mean));
    assert_relative(at(h).value, k, 1e-12, "chord");
}

#[test]
fn several_paths_average_velocities() {
    for law in [WAKE, LOGARITHMIC, SEVENTH] {
        let k = |h| chord_factor(1e5, 1e-4, h, law, COLEBROOK);
        let crossed = mean_factor(1e5, 1e-4, [0.0, 0.0], law, COLEBROOK);
        let diametral = correction_factor(1e5, 1e-4, law, COLEBROOK);
        assert_relative(crossed, diametral, 3e-16, "two diametral paths are one");
        let apart = mean_factor(1e5, 1e-4, [0.1, 0.3], law, COLEBROOK);
        let by_velocity = 2.0 / (1.0 / k(0.1) + 1.0 / k(0.3));
        assert_relative(apart, by_velocity, 1e-15, "two chords");
    }
}

fn with_beam(offset: Option<f64>, beam: f64) -> Conditions<f64> {
    Conditions {
        offset,
        beam: Some(beam),
        ..Conditions::diameter()
    }
}

/// A wide beam averages chords of the same weight.
#[test]
fn a_beam_is_the_mean_of_its_chords() {
    for law in LAWS {
        for (reynolds, roughness) in [(1000.0, 0.0), (2500.0, 0.0), (1e5, 1e-3)] {
            for (offset, beam) in [(None, 0.1), (None, 0.5), (Some(0.3), 0.2), (Some(0.5), 0.4)] {
                let middle: f64 = offset.unwrap_or(0.0);
                let path_mean =
                    |h: f64| 1.0 / chord_factor(reynolds, roughness, h.abs(), law, COLEBROOK);
                // the middle of the beam apart, for laws that are singular on the axis
                let half = |low: f64, high: f64| integrate(path_mean, low, high, 1e-9).value;
                let mean = (half(middle - beam, 0.0) + half(0.0, middle + beam)) / (2.0 * beam);
                let conditions = with_beam(offset, beam);
                let k = factor_of(&conditions, reynolds, roughness, law, COLEBROOK);
                // the logarithm and Cantwell's root are rough on the axis
                assert_relative(k, 1.0 / mean, 3e-4, &format!("{law:?}, {offset:?}, {beam}"));
            }
        }
    }
    // path means over a beam half the bore wide, relative to that on the diameter: from the chords of
    // two simulations (Yao and others 2023, `published/pipe_profiles.json`), by a polynomial of the
    // third degree in the square of the offset; laminar flow exactly
    for (reynolds, difference) in [(240_010.0, -0.0192), (19e3, -0.0246), (1000.0, -1.0 / 12.0)] {
        let wide = with_beam(None, 0.5);
        let k = factor_of(&wide, reynolds, SMOOTH, WAKE, COLEBROOK);
        let thin = correction_factor(reynolds, SMOOTH, WAKE, COLEBROOK);
        assert_printed(thin / k - 1.0, difference, 3e-3, "half the bore");
    }
    let laminar = factor_of(&with_beam(None, 0.5), 1000.0, SMOOTH, WAKE, COLEBROOK);
    assert_relative(laminar, LAMINAR_FACTOR / (11.0 / 12.0), 1e-15, "1 - b^2/3");
}

#[test]
fn offsets_outside_the_pipe_are_refused() {
    assert_eq!(check_radius(0.0, "path.offset"), Ok(()));
    for offset in [1.0, -0.1, f64::NAN] {
        let parts = ["path.offset", "0 to below 1"];
        assert_refused(check_radius(offset, "path.offset"), "out-of-range", &parts);
    }
    assert_eq!(check_offset(0.7, "path.offset"), Ok(()));
    for offset in [0.71, -0.1, f64::NAN] {
        let parts = ["path.offset", "0 to 0.7"];
        assert_refused(check_offset(offset, "path.offset"), "out-of-range", &parts);
    }
}

proptest! {
    #[test]
    fn a_chord_without_offset_is_a_diameter_to_the_last_bit(
        (law, friction, roughness) in any_pipe(),
        reynolds in decades(1.0, 0.9e8),
    ) {
        let diameter = correction_factor(reynolds, roughness, law, friction);
        let chord = chord_factor(reynolds, roughness, 0.0, law, friction);
        prop_assert_eq!(diameter.to_bits(), chord.to_bits());
        let diameter = factor_for_path_velocity(reynolds, roughness, law, friction);
        let chord = factor_for_chord_velocity(reynolds, roughness, 0.0, law, friction);
        // two ways to the same root
        prop_assert!((diameter / chord - 1.0).abs() < 1e-14, "{diameter} and {chord}");
    }

    #[test]
    fn a_chord_sees_less_the_farther_off_it_is(
        (law, friction, roughness) in any_pipe(),
        reynolds in decades(1.0, 0.9e8),
        offset in 0.0..0.98_f64,
    ) {
        let k = |h| chord_factor(reynolds, roughness, h, law, friction);
        prop_assert!(k(offset + 0.01) > k(offset));
    }

    #[test]
    fn a_chord_fits_the_flow_it_leads_to(
        (law, friction, roughness) in any_pipe(),
        path_reynolds in decades(1.0, 1e8),
        offset in 0.0..MOST_OFFSET,
    ) {
        let k = factor_for_chord_velocity(path_reynolds, roughness, offset, law, friction);
        let reached = chord_factor(k * path_reynolds, roughness, offset, law, friction);
        prop_assert!((k / reached - 1.0).abs() < 1e-13, "{k} and {reached}");
    }

    #[test]
    fn derivatives_of_chords_meet_differences(
        (law, friction, _) in any_pipe(),
        reynolds in decades(1.0, 0.9e8),
        offset in 0.02..0.9_f64,
    ) {
        prop_assume!(edges().iter().all(|edge| (reynolds / edge - 1.0).abs() > 0.01));
        let k = |re: f64, h: f64| chord_factor(re, SMOOTH, h, law, friction);
        let dual = chord_factor(
            Dual::<f64, 2>::variable(reynolds, 0),
            Dual::fixed(SMOOTH),
            Dual::variable(offset, 1),
            law,
            friction,
        );
        prop_assert_eq!(dual.value.to_bits(), k(reynolds, offset).to_bits());
        let step = 2e-4 * reynolds;
        let by_reynolds = slope(|re| k(re, offset), reynolds, step);
        let allowed = 2e-6 * by_reynolds.abs() + 1e-14 / step;
        let error = (dual.gradient[0] - by_reynolds).abs();
        // the table of exponents has kinks of the second derivative
        let smooth = law != ProfileLaw::Power(Exponent::Nikuradse);
        prop_assert!(error < allowed || !smooth, "{error:e} of {by_reynolds:e}");
        let by_offset = slope(|h| k(reynolds, h), offset, 1e-4);
        let error = (dual.gradient[1] - by_offset).abs();
        prop_assert!(error < 1e-6 * by_offset.abs() + 1e-9, "{error:e} of {by_offset:e}");
    }
}

#[test]
fn derivatives_of_solved_chords_meet_differences() {
    for law in [
        WAKE,
        ProfileLaw::Wake(WakeProfile::Reichardt),
        LOGARITHMIC,
        SEVENTH,
    ] {
        for (reynolds, offset) in [(3300.0, 0.4), (1e5, 0.1), (1e6, 0.6)] {
            let k = |re: f64, e: f64, h: f64| factor_for_chord_velocity(re, e, h, law, COLEBROOK);
            let dual = factor_for_chord_velocity(
                Dual::<f64, 3>::variable(reynolds, 0),
                Dual::variable(1e-3, 1),
                Dual::variable(offset, 2),
                law,
                COLEBROOK,
            );
            assert_eq!(dual.value.to_bits(), k(reynolds, 1e-3, offset).to_bits());
            let differences = [
                slope(|re| k(re, 1e-3, offset), reynolds, 1e-4 * reynolds),
                slope(|e| k(reynolds, e, offset), 1e-3, 1e-7),
                slope(|h| k(reynolds, 1e-3, h), offset, 1e-4),
            ];
            for (exact, difference) in dual.gradient.into_iter().zip(differences) {
                let allowed = 1e-6 * difference.abs() + 1e-14 / (1e-4 * reynolds);
                let error = (exact - difference).abs();
                assert!(error < allowed, "{law:?}: {exact:e} and {difference:e}");
            }
        }
    }
}
