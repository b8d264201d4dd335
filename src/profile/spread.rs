//! The doubt of the profile law, from the spread between laws.

use super::factor::{LAMINAR_FACTOR, correction_factor, intermittency};
use super::law::ProfileLaw;
use super::power::Exponent;
use super::turbulent::turbulent_factor;
use super::wake::WakeProfile;
use super::{FrictionLaw, TRANSITION};

/// The laws between which the truth is taken to lie: every profile with wake, and of those without
/// one the logarithmic law with the best estimate of kappa and the power law that follows friction.
///
/// Left out are logarithmic laws with a larger kappa: it was measured below a wake, and carried to
/// the axis without one it adds to what leaving out the wake does already. So are exponents from the
/// Reynolds number alone, which know no roughness.
const LAWS: [ProfileLaw; 6] = [
    ProfileLaw::Wake(WakeProfile::Cess),
    ProfileLaw::Wake(WakeProfile::Cess040),
    ProfileLaw::Wake(WakeProfile::Reichardt),
    ProfileLaw::Wake(WakeProfile::Cantwell),
    ProfileLaw::Logarithmic {
        kappa: ProfileLaw::KAPPA,
    },
    ProfileLaw::Power(Exponent::Friction),
];

/// Half-width of the relative doubt of the profile factor, for a rectangular distribution.
///
/// In turbulent flow the largest distance of any of the laws between which the truth is taken to
/// lie (all with wake, logarithmic, power) from the one chosen. In the transition the intermittency is in doubt as well: half the distance
/// between laminar and turbulent factor where `gamma = 1/2`, falling to none at the ends.
/// Zero in laminar flow, whose profile is exact when fully developed.
pub fn law_half_width(
    reynolds: f64,
    relative_roughness: f64,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> f64 {
    let chosen = correction_factor(reynolds, relative_roughness, law, friction);
    let distance = |other: &ProfileLaw| {
        (correction_factor(reynolds, relative_roughness, *other, friction) / chosen - 1.0).abs()
    };
    let between_laws = LAWS.iter().map(distance).fold(0.0, f64::max);
    let gamma = intermittency(reynolds);
    let turbulent = turbulent_factor(
        reynolds.max(TRANSITION[0]),
        relative_roughness,
        law,
        friction,
    );
    let states = (turbulent - LAMINAR_FACTOR).abs() / chosen;
    between_laws + 0.5 * states * 4.0 * gamma * (1.0 - gamma)
}
