//! Friction, profile laws and profile factor.

mod chord;
mod disturbance;
mod factor;
mod friction;
mod laws;
mod measured;
mod transition;
mod uncertainty;
mod wake;

use flowdoubt::profile::TRANSITION_REYNOLDS;
use flowdoubt::profile::{Exponent, FrictionLaw, ProfileLaw, WakeProfile, correction_factor};
use proptest::prelude::*;

const WAKE: ProfileLaw = ProfileLaw::Wake(WakeProfile::Fitted);
const LOGARITHMIC: ProfileLaw = ProfileLaw::Logarithmic { kappa: 0.40 };
const POWER: ProfileLaw = ProfileLaw::Power(Exponent::Friction);
const SEVENTH: ProfileLaw = ProfileLaw::Power(Exponent::Fixed { n: 7.0 });
const LAWS: [ProfileLaw; 11] = [
    WAKE,
    LOGARITHMIC,
    POWER,
    SEVENTH,
    ProfileLaw::Wake(WakeProfile::Cess),
    ProfileLaw::Wake(WakeProfile::Cess040),
    ProfileLaw::Wake(WakeProfile::Reichardt),
    ProfileLaw::Wake(WakeProfile::Cantwell),
    ProfileLaw::Power(Exponent::Miller),
    ProfileLaw::Power(Exponent::Barenblatt),
    ProfileLaw::Power(Exponent::Nikuradse),
];
const SMOOTH: f64 = 0.0;
const COLEBROOK: FrictionLaw = FrictionLaw::Colebrook;

/// Reynolds numbers at which the transition begins and ends where it is half over at the usual one.
fn edges() -> [f64; 2] {
    [-0.25, 0.25].map(|half_width| TRANSITION_REYNOLDS * libm::exp(half_width))
}

/// The factor of a smooth pipe.
fn factor(reynolds: f64, law: ProfileLaw) -> f64 {
    correction_factor(reynolds, SMOOTH, law, COLEBROOK)
}

/// A profile law, a friction law and a relative roughness that go together.
fn any_pipe() -> impl Strategy<Value = (ProfileLaw, FrictionLaw, f64)> {
    let laws = (0..LAWS.len(), 0..FrictionLaw::NAMED.len());
    let roughness = prop_oneof![Just(0.0), decades(1e-6, 0.049)];
    (laws, roughness).prop_map(|((law, friction), roughness)| {
        let (_, friction) = FrictionLaw::NAMED[friction];
        let smooth = friction.is_smooth();
        (LAWS[law], friction, if smooth { 0.0 } else { roughness })
    })
}

/// Numbers evenly spread over the decades from `low` to `high`.
fn decades(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (libm::log10(low)..libm::log10(high)).prop_map(libm::exp10)
}
