//! The uncertainty of profile and friction: its size, and that other laws have more of it.

use super::{COLEBROOK, LAWS, SMOOTH, WAKE, any_pipe, decades, factor};
use crate::support::{assert_printed, assert_relative};
use flowdoubt::profile::{
    Conditions, TRANSITION_REYNOLDS, beam_half_width, correction_factor, entrance_half_width,
    factor_of, factor_uncertainty, friction_uncertainty, laminar_entrance_length,
};
use proptest::prelude::*;

fn on_diameter(reynolds: f64, roughness: f64) -> f64 {
    factor_uncertainty(
        &Conditions::diameter(),
        reynolds,
        roughness,
        WAKE,
        COLEBROOK,
    )
}

#[test]
fn the_uncertainty_of_the_default_law_as_documented() {
    // in per cent
    for (reynolds, documented) in [(2e4, 0.24), (1e5, 0.18), (1e6, 0.14), (1000.0, 0.30)] {
        let u = on_diameter(reynolds, SMOOTH);
        assert_printed(100.0 * u, documented, 0.01, &format!("at {reynolds}"));
    }
    // and of friction, with the measured friction's own part in the factor
    for (reynolds, roughness, documented) in [(1e5, 0.0, 2.4), (1e6, 1e-4, 12.0), (1e7, 1e-2, 2.5)]
    {
        let u = friction_uncertainty(reynolds, roughness);
        assert_printed(100.0 * u, documented, 1.0, &format!("at {reynolds}"));
    }
}

#[test]
fn it_grows_below_and_with_roughness_and_away_from_the_axis() {
    assert!(on_diameter(5300.0, SMOOTH) > 1.5 * on_diameter(3e4, SMOOTH));
    assert!(on_diameter(1e6, 1e-2) > 2.0 * on_diameter(1e6, SMOOTH));
    let chord = |h: f64| factor_uncertainty(&Conditions::chord(h), 1e5, SMOOTH, WAKE, COLEBROOK);
    assert_eq!(chord(0.0), on_diameter(1e5, SMOOTH));
    assert!(chord(0.7) > 1.4 * chord(0.0));
}

/// What the measurements reject does not become right by being chosen.
#[test]
fn another_law_has_its_distance_from_the_default_law_besides() {
    for law in LAWS.into_iter().filter(|law| *law != WAKE) {
        for reynolds in [1e4, 1e5, 1e6] {
            let distance = (factor(reynolds, law) / factor(reynolds, WAKE) - 1.0).abs();
            let c = Conditions::diameter();
            let u = factor_uncertainty(&c, reynolds, SMOOTH, law, COLEBROOK);
            let own = on_diameter(reynolds, SMOOTH);
            assert_relative(u, libm::hypot(own, distance), 1e-12, &format!("{law:?}"));
        }
    }
}

/// The closed form against the average over chords.
#[test]
fn a_beam_of_unknown_width_has_the_half_width_of_the_widest() {
    let c = Conditions::diameter();
    for reynolds in [1000.0, 5e3, 2e4, 1e5, 1e6, 1e7] {
        for beam in [0.05, 0.2, 0.5] {
            let wide = Conditions {
                beam: Some(beam),
                ..c
            };
            let k = factor_of(&wide, reynolds, SMOOTH, WAKE, COLEBROOK);
            let found = beam_half_width(&c, reynolds, SMOOTH, COLEBROOK, beam);
            let tolerance = if beam < 0.5 { 0.1 } else { 0.15 };
            assert_relative(found, k / factor(reynolds, WAKE) - 1.0, tolerance, "beam");
        }
    }
}

#[test]
fn laminar_flow_needs_a_long_pipe() {
    let c = Conditions::diameter();
    assert_eq!(laminar_entrance_length(1000.0), 60.0);
    let left = |run: f64| entrance_half_width(&c, 1000.0, run);
    // a flat profile at the inlet; a fiftieth of the difference after 60 diameters
    assert_relative(left(0.0), 1.0 / 3.0, 1e-15, "inlet");
    assert_relative(left(60.0), 1.0 / 150.0, 1e-14, "entrance length");
    assert_eq!(entrance_half_width(&c, 1e5, 0.0), 0.0, "turbulent flow");
    assert_relative(
        entrance_half_width(&c, TRANSITION_REYNOLDS, 0.0),
        1.0 / 6.0,
        1e-12,
        "laminar half of the time",
    );
}

proptest! {
    #[test]
    fn every_law_has_an_uncertainty_everywhere(
        (law, friction, roughness) in any_pipe(),
        reynolds in decades(1.0, 1e8),
        offset in 0.0..0.7_f64,
    ) {
        for c in [Conditions::diameter(), Conditions::chord(offset)] {
            let u = factor_uncertainty(&c, reynolds, roughness, law, friction);
            prop_assert!((5e-4..0.2).contains(&u), "{u}");
        }
        let u = friction_uncertainty(reynolds, roughness);
        prop_assert!((0.024..0.125).contains(&u), "{u}");
        prop_assert!(correction_factor(reynolds, roughness, law, friction).is_finite());
    }
}
