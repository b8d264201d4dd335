//! The doubt of the profile law, from the spread between laws.

use super::FrictionLaw;
use super::factor::correction_factor;
use super::law::ProfileLaw;
use super::power::Exponent;
use super::wake::WakeProfile;
use crate::scalar::Scalar;

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

/// Half-width of the relative doubt of the profile factor, for a rectangular distribution: the
/// largest distance of any of the laws between which the truth is taken to lie (all with wake,
/// logarithmic, power) from the one chosen.
///
/// Zero in laminar flow, whose profile is exact when fully developed. In the transition the share of
/// turbulent time is in doubt as well, see [`INTERMITTENCY_HALF_WIDTH`].
pub fn law_half_width<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let chosen = correction_factor(reynolds, relative_roughness, law, friction);
    let distance = |other: &ProfileLaw| {
        (correction_factor(reynolds, relative_roughness, *other, friction) / chosen - 1.0).abs()
    };
    LAWS.iter()
        .map(distance)
        .fold(S::constant(0.0), Scalar::max)
}

/// Half-width of the doubt of the intermittency in the transition, for a rectangular distribution of
/// the shift in [`SoundPath::intermittency_shift`](super::SoundPath::intermittency_shift).
///
/// Where the flow is turbulent half of the time by the model, it may be so from 12 % to 88 % of it: a
/// choice of ours, since inlet and roughness move the transition by more than its own width.
pub const INTERMITTENCY_HALF_WIDTH: f64 = 2.0;
