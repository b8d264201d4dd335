//! Turbulent flow: what a law says of the mean velocity on a path, and of the velocity.

use super::conditions::Conditions;
use super::friction::{FrictionLaw, friction_factor};
use super::law::ProfileLaw;
use super::power;
use super::wake::WakeProfile;
use crate::scalar::Scalar;

/// Profile factor `k` of turbulent flow: area mean velocity over the mean on a diametral path.
///
/// ```text
/// wake:         k = 1 / (1 + sqrt(f/8) Delta(R+)),   R+ = Re sqrt(f/8) / 2
/// logarithmic:  k = 1 / (1 + sqrt(f/8) / (2 kappa))
/// power:        k = 2 n / (2 n + 1)
/// ```
/// `Delta` is the excess of the path mean over the area mean in units of the friction velocity.
/// Roughness acts through the friction factor alone, as outer-layer similarity has it (A. A.
/// Townsend, *The Structure of Turbulent Shear Flow*, 2nd ed. 1976; from memory).
///
/// # Source
/// By integration of the profile; for those with wake see [`WakeProfile`](super::WakeProfile).
pub fn turbulent_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let conditions = Conditions::diameter();
    factor_on(&conditions, reynolds, relative_roughness, law, friction)
}

/// What a law says of the excess of the mean on a diametral path over the mean over the area, in
/// friction velocities, without knowing the friction.
#[derive(Debug, Clone, Copy)]
pub(super) enum PathExcess {
    /// That of a profile with wake.
    Wake(WakeProfile),
    /// The same everywhere.
    Constant(f64),
}

impl PathExcess {
    /// The excess of the law, if it can be told without friction.
    pub fn of(law: ProfileLaw) -> Option<PathExcess> {
        match law {
            ProfileLaw::Wake(profile) => Some(PathExcess::Wake(profile)),
            ProfileLaw::Logarithmic { kappa } => Some(PathExcess::Constant(0.5 / kappa)),
            ProfileLaw::Power(_) => None,
        }
    }

    /// The excess where `viscous` is the reciprocal of the friction Reynolds number.
    pub fn at<S: Scalar>(self, viscous: S) -> S {
        match self {
            PathExcess::Wake(profile) => profile.path_excess_at(viscous),
            PathExcess::Constant(excess) => S::constant(excess),
        }
    }
}

/// Friction velocity over area mean velocity, `sqrt(f / 8)`.
pub(super) fn friction_velocity<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    friction: FrictionLaw,
    ratio: Option<S>,
) -> S {
    let f = friction_factor(reynolds, relative_roughness, friction);
    let f = ratio.map_or(f, |ratio| f * ratio);
    (f / 8.0).sqrt()
}

/// Profile factor of turbulent flow on a path. At an offset of zero that of a chord is that of a
/// diameter to the last bit.
pub(super) fn factor_on<S: Scalar>(
    conditions: &Conditions<S>,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let ratio = conditions.friction_ratio;
    let friction_velocity = || friction_velocity(reynolds, relative_roughness, friction, ratio);
    match law {
        ProfileLaw::Wake(profile) => {
            let u = friction_velocity();
            let excess = wake_excess(conditions, profile, reynolds * u * 0.5);
            (u * excess + 1.0).recip()
        }
        ProfileLaw::Logarithmic { kappa } => {
            let u = friction_velocity();
            let diameter = u / (2.0 * kappa);
            let excess = match conditions.mean_over_chords(logarithmic_chord_difference) {
                Some(difference) => diameter + u * difference / kappa,
                None => diameter,
            };
            (excess + 1.0).recip()
        }
        ProfileLaw::Power(exponent) => {
            let n = exponent.n(reynolds, relative_roughness, friction, ratio);
            let diameter = n * 2.0 / (n * 2.0 + 1.0);
            match conditions.mean_over_chords(|h| power::chord_over_diameter(h, n)) {
                Some(chord) => diameter / chord,
                None => diameter,
            }
        }
    }
}

/// Mean over the chords of a beam less the mean over the area, of a profile with wake.
fn wake_excess<S: Scalar>(
    conditions: &Conditions<S>,
    profile: WakeProfile,
    friction_reynolds: S,
) -> S {
    let diameter = profile.path_excess(friction_reynolds);
    if conditions.is_thin_diameter() {
        return diameter;
    }
    let on_diameter = profile.chord_mean(S::constant(0.0), friction_reynolds);
    let difference =
        conditions.mean_over_chords(|h| profile.chord_mean(h, friction_reynolds) - on_diameter);
    difference.map_or(diameter, |difference| diameter + difference)
}

/// Mean of `ln(1 - r)` on the chord at `h` less that on a diameter, which is -1; with the half
/// length `l = sqrt(1 - h^2)`:
///
/// ```text
/// ln(2 l^2) - ln(1 + l)/l + (1/l - 1) ln(h)
/// ```
///
/// # Source
/// By integration, `r^2 = h^2 + s^2`.
fn logarithmic_chord_difference<S: Scalar>(offset: S) -> S {
    let h2 = offset * offset;
    let l2 = -h2 + 1.0;
    let l = l2.sqrt();
    // (1/l - 1) ln(h), which is nothing on the axis, where the logarithm is not finite
    let near_axis = h2 / (l * (l + 1.0)) * h2.max(S::constant(1e-300)).ln() * 0.5;
    // of equal terms on the axis, so that their difference is nothing to the last bit
    (l2 * 2.0).ln() - (l + 1.0).ln() / l + near_axis
}

/// Velocity `u` at the relative radius `r` over the area mean, in turbulent flow.
///
/// ```text
/// wake:         1 + sqrt(f/8) (u+(r) - mean of u+)
/// logarithmic:  1 + sqrt(f/8) (3/2 + ln(1 - r)) / kappa
/// power:        (1 - r)^(1/n) (n + 1)(2 n + 1)/(2 n^2)
/// ```
/// These are laws of the defect from the mean, with the friction of the friction law, so that
/// means on paths agree with [`turbulent_factor`]. Within some hundredths of a radius from the wall
/// they mean nothing: the logarithmic law goes to minus infinity, a wake profile ends above or
/// below zero.
pub(super) fn velocity<S: Scalar>(
    radius: S,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let friction_velocity = || friction_velocity(reynolds, relative_roughness, friction, None);
    match law {
        ProfileLaw::Wake(profile) => {
            let u = friction_velocity();
            u * profile.velocity_difference(radius, reynolds * u * 0.5) + 1.0
        }
        ProfileLaw::Logarithmic { kappa } => {
            friction_velocity() * ((-radius + 1.0).ln() + 1.5) / kappa + 1.0
        }
        ProfileLaw::Power(exponent) => {
            let n = exponent.n(reynolds, relative_roughness, friction, None);
            let axis = (n + 1.0) * (n * 2.0 + 1.0) / (n * n * 2.0);
            axis * (-radius + 1.0).powf(n.recip())
        }
    }
}
