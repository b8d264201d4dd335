//! The profile factor from laminar to turbulent flow, at a given Reynolds number.

use super::conditions::Conditions;
use super::friction::FrictionLaw;
use super::law::ProfileLaw;
use super::transition::{LEAST_TURBULENT, TRANSITION_REYNOLDS, intermittency};
use super::turbulent::{self, factor_on};
use crate::error::{Error, Result};
use crate::scalar::Scalar;

/// Largest Reynolds number and relative roughness of validity.
const MOST_REYNOLDS: f64 = 1e8;
const MOST_ROUGHNESS: f64 = 0.05;
/// Least Reynolds number of a friction factor that is asked for.
const LEAST_FRICTION: f64 = 2300.0;

/// Refuses a Reynolds number or relative roughness outside the validity of the laws.
///
/// # Errors
/// Reynolds number outside 0 to 1e8, relative roughness outside 0 to 0.05.
pub fn check(reynolds: f64, relative_roughness: f64) -> Result<()> {
    let inside = (0.0..=MOST_REYNOLDS).contains(&reynolds);
    Error::range(inside, "Reynolds number", reynolds, "", "0 to 1e8")?;
    let inside = (0.0..=MOST_ROUGHNESS).contains(&relative_roughness);
    let field = "relative roughness";
    Error::range(inside, field, relative_roughness, "", "0 to 0.05")
}

/// Refuses a Reynolds number or relative roughness for which there is no turbulent friction.
///
/// # Errors
/// Reynolds number outside 2300 to 1e8, relative roughness outside 0 to 0.05.
pub fn check_turbulent(reynolds: f64, relative_roughness: f64) -> Result<()> {
    check(reynolds, relative_roughness)?;
    let allowed = "2300 to 1e8: a friction law of turbulent flow";
    Error::range(
        reynolds >= LEAST_FRICTION,
        "Reynolds number",
        reynolds,
        "",
        allowed,
    )
}

/// Refuses what lies outside the validity of a profile law and a friction law.
///
/// # Errors
/// As [`check`], [`ProfileLaw::check`] and [`FrictionLaw::check`].
pub fn check_laws(
    reynolds: f64,
    relative_roughness: f64,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> Result<()> {
    check(reynolds, relative_roughness)?;
    law.check(reynolds)?;
    friction.check(reynolds, relative_roughness)
}

/// Refuses a relative radius, or a distance from the axis over the radius, outside the pipe.
///
/// # Errors
/// Outside 0 to 1, or 1 itself; the error names `field`.
pub fn check_radius(radius: f64, field: &str) -> Result<()> {
    let inside = (0.0..1.0).contains(&radius);
    Error::range(inside, field, radius, "", "0 to below 1")
}

/// Largest distance from the axis, over the radius, at which sensors are taken to be mounted.
pub const MOST_OFFSET: f64 = 0.7;

/// Refuses an offset outside the range of [`factor_for_chord_velocity`](super::factor_for_chord_velocity).
///
/// # Errors
/// Outside 0 to 0.7; the error names `field`.
pub fn check_offset(offset: f64, field: &str) -> Result<()> {
    let inside = (0.0..=MOST_OFFSET).contains(&offset);
    Error::range(inside, field, offset, "", "0 to 0.7")
}

/// Profile factor `k`: area mean velocity over the mean on a diametral path.
///
/// ```text
/// 1/k = (1 - gamma) / (3/4) + gamma / k_turbulent
/// ```
/// In the transition the flow is laminar and turbulent in turn at the same flow rate, since the liquid
/// in the pipe moves as a whole. So the path means, and with them the reciprocals of `k`, mix by
/// the share of time.
///
/// Two or more diametral paths, as crossed planes are, have the same factor in developed flow; so
/// has the mean of their velocities.
///
/// `reynolds >= 0`; the laws hold in the range that [`check_laws`] states in words.
pub fn correction_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let conditions = Conditions::diameter();
    factor_of(&conditions, reynolds, relative_roughness, law, friction)
}

/// Profile factor of a path beside the axis: area mean velocity over the mean on a chord.
///
/// `offset` is the distance of the chord from the axis over the radius, 0 to below 1. In laminar
/// flow `k = 3/4 / (1 - offset^2)`. At an offset of zero the result has the bits of
/// [`correction_factor`].
///
/// # Example
/// ```
/// use flowdoubt::profile::{Exponent, FrictionLaw, ProfileLaw, chord_factor};
/// let law = ProfileLaw::Power(Exponent::Fixed { n: 7.0 });
/// let k = chord_factor(1e5, 0.0, 0.5, law, FrictionLaw::Colebrook);
/// assert!((k - 0.992_825_0_f64).abs() < 1e-7);
/// ```
pub fn chord_factor<S: Scalar>(
    reynolds: S,
    relative_roughness: S,
    offset: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let conditions = Conditions::chord(offset);
    factor_of(&conditions, reynolds, relative_roughness, law, friction)
}

/// Profile factor for the mean of the velocities on several paths, such as crossed planes or
/// parallel chords of equal weight: `1/k` is the mean of the reciprocals.
pub fn mean_factor<S: Scalar, const N: usize>(
    reynolds: S,
    relative_roughness: S,
    offsets: [S; N],
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let zero = S::constant(0.0);
    let sum = offsets.into_iter().fold(zero, |sum, offset| {
        sum + chord_factor(reynolds, relative_roughness, offset, law, friction).recip()
    });
    sum.recip() * N as f64
}

/// Velocity `u` at the relative radius `radius` over the mean over the area: the profile that
/// [`correction_factor`] and [`chord_factor`] are the means of.
///
/// `0 <= radius < 1`. In the transition the profiles mix by intermittency. Turbulent laws mean
/// nothing within some hundredths of a radius from the wall: the logarithmic law goes to minus
/// infinity there, and a wake profile, whose friction is that of the friction law and not its own,
/// ends somewhat above or below zero.
pub fn velocity_shape<S: Scalar>(
    radius: S,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = intermittency(reynolds, S::constant(TRANSITION_REYNOLDS));
    let laminar = (-(radius * radius) + 1.0) * 2.0;
    let reynolds = reynolds.max(S::constant(LEAST_TURBULENT));
    let turbulent = turbulent::velocity(radius, reynolds, relative_roughness, law, friction);
    (-gamma + 1.0) * laminar + gamma * turbulent
}

/// The profile factor of any path in any state of flow; see [`correction_factor`].
pub fn factor_of<S: Scalar>(
    conditions: &Conditions<S>,
    reynolds: S,
    relative_roughness: S,
    law: ProfileLaw,
    friction: FrictionLaw,
) -> S {
    let gamma = conditions.intermittency(reynolds);
    let turbulent = reynolds.max(S::constant(LEAST_TURBULENT));
    let turbulent = factor_on(conditions, turbulent, relative_roughness, law, friction);
    ((-gamma + 1.0) / conditions.laminar_factor() + gamma / turbulent).recip()
}
