//! The doubt of the profile law.

use super::{COLEBROOK, LOGARITHMIC, POWER, SMOOTH, WAKE, decades, factor};
use crate::support::{assert_printed, assert_relative};
use flowdoubt::profile::{
    INTERMITTENCY_HALF_WIDTH, LAMINAR_FACTOR, ProfileLaw, Regime, SoundPath, TRANSITION,
    WakeProfile, correction_factor, factor_for_velocity_on, law_half_width, turbulent_factor,
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
fn the_intermittency_has_a_doubt_of_its_own() {
    let [begin, end] = TRANSITION;
    let middle = 0.5 * (begin + end);
    let at = |reynolds: f64, shift: f64| {
        let path = SoundPath {
            offset: None,
            intermittency_shift: Some(shift),
        };
        let k = factor(reynolds, WAKE);
        factor_for_velocity_on(&path, reynolds / k, SMOOTH, WAKE, COLEBROOK)
    };
    // no shift is the model itself; the ends of the transition know of none
    assert_relative(at(middle, 0.0), factor(middle, WAKE), 1e-12, "no shift");
    for reynolds in [begin - 1.0, end + 100.0] {
        assert_eq!(at(reynolds, 2.0).to_bits(), at(reynolds, 0.0).to_bits());
    }
    // from 12 % to 88 % of the time: most of the way between both factors
    let (low, high) = (
        at(middle, -INTERMITTENCY_HALF_WIDTH),
        at(middle, INTERMITTENCY_HALF_WIDTH),
    );
    let turbulent = turbulent_factor(middle, SMOOTH, WAKE, COLEBROOK);
    let reach = (high - low) / (turbulent - LAMINAR_FACTOR);
    assert!((0.6..1.0).contains(&reach), "{reach}");
    assert!(low > LAMINAR_FACTOR && high < turbulent);
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
            _ => {
                let at_it = |other: &ProfileLaw| (k(*other) / k(law) - 1.0).abs() == half_width;
                prop_assert!(SPREAD.iter().any(at_it), "no law is at this distance");
            }
        }
    }
}
