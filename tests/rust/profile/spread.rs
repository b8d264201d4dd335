//! The doubt of the profile law.

use super::{COLEBROOK, LOGARITHMIC, POWER, SMOOTH, WAKE, decades, factor};
use crate::support::{assert_printed, assert_relative};
use flowdoubt::profile::{
    LAMINAR_FACTOR, ProfileLaw, Regime, TRANSITION, WakeProfile, correction_factor, law_half_width,
    turbulent_factor,
};
use proptest::prelude::*;

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
    let half_width = |reynolds: f64| law_half_width(reynolds, SMOOTH, WAKE, COLEBROOK);
    let [begin, end] = TRANSITION;
    let middle = 0.5 * (begin + end);
    assert!(half_width(middle) > 2.0 * half_width(end));
    assert!(half_width(middle) > 2.0 * half_width(begin));
    // where the flow is turbulent half of the time: half of the way between both factors
    let turbulent = turbulent_factor(middle, SMOOTH, WAKE, COLEBROOK);
    let k = factor(middle, WAKE);
    let states = 0.5 * (turbulent - LAMINAR_FACTOR) / k;
    let laws = (factor(middle, LOGARITHMIC) / k - 1.0).max(factor(middle, POWER) / k - 1.0);
    assert_relative(half_width(middle), laws + states, 1e-14, "half-width");
    for edge in TRANSITION {
        let step = half_width(edge * (1.0 + 1e-9)) - half_width(edge * (1.0 - 1e-9));
        assert!(step.abs() < 1e-8, "step of {step} at {edge}");
    }
}

/// The laws between which the truth is taken to lie.
const SPREAD: [ProfileLaw; 6] = [
    WAKE,
    LOGARITHMIC,
    POWER,
    ProfileLaw::Wake(WakeProfile::Cess040),
    ProfileLaw::Wake(WakeProfile::Reichardt),
    ProfileLaw::Wake(WakeProfile::Cantwell),
];

proptest! {
    #[test]
    fn the_half_width_holds_every_law(
        reynolds in decades(1.0, 1e8),
        roughness in prop_oneof![Just(0.0), 0.0..0.05_f64],
        chosen in 0..6_usize,
    ) {
        let law = SPREAD[chosen];
        let half_width = law_half_width(reynolds, roughness, law, COLEBROOK);
        let k = |law: ProfileLaw| correction_factor(reynolds, roughness, law, COLEBROOK);
        for other in &SPREAD {
            let distance = (k(*other) / k(law) - 1.0).abs();
            prop_assert!(half_width >= distance, "{half_width} and {distance} to {other:?}");
        }
        match Regime::at(reynolds) {
            Regime::Laminar => prop_assert_eq!(half_width, 0.0),
            Regime::Transition => prop_assert!(half_width > 0.0),
            Regime::Turbulent => {
                let at_it = |other: &ProfileLaw| (k(*other) / k(law) - 1.0).abs() == half_width;
                prop_assert!(SPREAD.iter().any(at_it), "no law is at this distance");
            }
        }
    }
}
